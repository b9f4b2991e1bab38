"""Sections: the clear of every section between two supports, and the rails that fill it.

A rail on a rake is a parallelogram: both ends are plumb cuts, both edges have one length. At a support
that leans the cut leans with it and the edges differ; the length named is that of the edge that meets
the balusters: the underside of the top rail, the upper side of the bottom rail.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Part
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import COUNT, CUT, FACTOR, LENGTH, MARK, VERDICT
from railbook.basics.rounding import ceiling_excel
from railbook.geometry import lines
from railbook.geometry.askew_sections import ASKEW, ASKEW_TERMS, AskewSection
from railbook.geometry.rails import places_between, tip_to_tip
from railbook.job import assemblies
from railbook.job.runs import LEVEL


@dataclass(frozen=True)
class Section(AskewSection):
    """One section with its rails; lengths in the job's unit."""

    @property
    def like(self) -> "Section":
        """The first section cut exactly like this one."""
        return self.first or self

    @cached_property
    def lower_tangent(self) -> float:
        """Tangent of the cut at the lower ends of its rails, from square."""
        return self.tangent - self.secant**2 * self.lower_spread

    @cached_property
    def upper_tangent(self) -> float:
        """Tangent of the cut at the upper ends."""
        return self.tangent + self.secant**2 * self.upper_spread

    @cached_property
    def top_other(self) -> float:
        """Edge length of the top rail on its upper side."""
        depth = self.assembly.top_rail_depth or 0.0
        return self.top_edge + depth * (self.upper_tangent - self.lower_tangent)

    @cached_property
    def bottom_other(self) -> float:
        """Edge length of the bottom rail on its underside."""
        depth = self.assembly.bottom_rail_depth or 0.0
        return self.bottom_edge - depth * (self.upper_tangent - self.lower_tangent)

    @cached_property
    def top_tip(self) -> float:
        """Top rail, tip to tip."""
        depth = self.assembly.top_rail_depth or 0.0
        tip = tip_to_tip(edge=self.top_edge, depth=depth, lower=self.lower_tangent, upper=self.upper_tangent)
        return tip + self.points(self.assembly.top_wide(self.line.unit))

    @cached_property
    def bottom_tip(self) -> float:
        """Bottom rail, tip to tip: seen from its upper side the cuts run the other way."""
        depth = self.assembly.bottom_rail_depth or 0.0
        tip = tip_to_tip(edge=self.bottom_edge, depth=depth, lower=-self.lower_tangent, upper=-self.upper_tangent)
        return tip + self.points(self.assembly.bottom_wide(self.line.unit))

    @cached_property
    def cap_other(self) -> float:
        """The same on its upper side."""
        thickness = self.assembly.cap_thickness or 0.0
        return self.cap_edge + thickness * (self.upper_tangent - self.lower_tangent)

    @cached_property
    def cap_tip(self) -> float:
        """The same, tip to tip."""
        thickness = self.assembly.cap_thickness or 0.0
        tip = tip_to_tip(edge=self.cap_edge, depth=thickness, lower=self.lower_tangent, upper=self.upper_tangent)
        return tip + self.points(self.assembly.cap_width or 0.0)

    @cached_property
    def longest_tip(self) -> float:
        """The longer of its rails, tip to tip."""
        return max(self.top_tip, self.bottom_tip)

    @property
    def lower_cut(self) -> float:
        """Cut at the lower ends of its rails, from square: of level ones turned where they end askew [degrees]."""
        if self.lower_side and self.line.kind == LEVEL:
            return -self.lower_skew
        return self.line.measures.slope_angle - (self.line.lean.from_lean if self.is_first else 0.0)

    @property
    def upper_cut(self) -> float:
        """The same at the upper ends [degrees]."""
        if self.upper_side and self.line.kind == LEVEL:
            return -self.upper_skew
        return self.line.measures.slope_angle + (self.line.lean.to_lean if self.is_last else 0.0)

    @cached_property
    def blocks(self) -> int:
        """Support blocks under the bottom rail."""
        spacing = self.assembly.block_spacing
        return 0 if spacing is None else places_between(edge=self.bottom_edge, spacing=spacing)

    @cached_property
    def status(self) -> str:
        """Asks for another run when its run does, or when it is no longer cut like the section named."""
        return PART.status_of(self)


_TIP = "={EDGE}+MAX(0,{DEPTH}*{upper_tangent})-MIN(0,{DEPTH}*{lower_tangent})"  # of a rail with that edge


def _tip(edge: str, depth: str, rail: str = "") -> str:
    """Formula: tip to tip, a rail's with points; seen from its upper side its depth counts the other way."""
    return _TIP.replace("EDGE", edge).replace("DEPTH", depth) + (f"[{rail}_points_excel]" if rail else "")


def _line_post(tread: str) -> str:
    """Formula part: downhill face of a line post on that tread."""
    return "{line.lower_setback}+{TREAD}*{line.tread}+{assembly.line_post_setback}".replace("TREAD", tread)


JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
}

FIGURES = Part(  # by which sections are told alike; the status of one rests on them
    "sections",
    Section,
    (
        Column("section", "Section", MARK),
        Column("run", "Run", MARK),
        Column("number", "Number", COUNT),
        Column("line_row", "Run row", COUNT),
        Column("lower_tread", "Lower tread", COUNT),
        Column("upper_tread", "Upper tread", COUNT),
        Column("like_row", "Like row", COUNT),
        Column("of", "Of", COUNT),
        Column("assembly_row", "Assembly row", COUNT, of="line"),
        Column("secant", "Secant", FACTOR, of="line"),
        Column(
            "lower_face", "Lower face at", LENGTH,
            '=IF({number}=1,0,IF({lower_tread}="",({number}-1)*({equal}+{line.post_face}),'
            "{lower_post}+{line.post_face}))",
        ),
        Column(
            "clear", "Clear", LENGTH,
            '=IF(OR({line.kind}<>"Stair",{of}=1),{equal},IF({upper_tread}="",{line.clear},{upper_post})-{lower_face})',
        ),
        Column("clear_top", "Clear at top", LENGTH, "={clear}+{first_more}+{last_more}"),
        Column("lower_spread", "Spread, lower", FACTOR, "={line.from_spread}", when="is_first"),
        Column("upper_spread", "Spread, upper", FACTOR, "={line.to_spread}", when="is_last"),
        Column(
            "lower_more", "More at top, lower", LENGTH,
            "=IF({line.recorded}=1,{lower_spread}*{opening},{line.from_more})",
            when="is_first",
        ),
        Column(
            "upper_more", "More at top, upper", LENGTH,
            "=IF({line.recorded}=1,{upper_spread}*{opening},{line.to_more})",
            when="is_last",
        ),
        Column(
            "top_meets", "Clear under the top rail", LENGTH,
            "={clear_top}-{assembly.top_rail_depth}*{secant}/2*({lower_spread}+{upper_spread})",
        ),
        Column(
            "bottom_meets", "Clear over the bottom rail", LENGTH,
            "={clear}+{assembly.bottom_rail_depth}*{secant}/2*({lower_spread}+{upper_spread})",
        ),
        Column(
            "spacing", "Spacing", LENGTH,
            "=MAX({clear},{clear_top})+(IF({number}=1,{line.from_face},{line.post_face})"
            "+IF({number}={of},{line.to_face},{line.post_face}))/2",
        ),
        Column("top_edge", "Top rail edge", LENGTH, "=({top_meets}-2*{line.fit})*{secant}"),
        Column("bottom_edge", "Bottom rail edge", LENGTH, "=({bottom_meets}-2*{line.fit})*{secant}"),
        Column("lower_tangent", "Tangent of the lower cut", FACTOR, "={line.tangent}-{secant}^2*{lower_spread}"),
        Column("upper_tangent", "Tangent of the upper cut", FACTOR, "={line.tangent}+{secant}^2*{upper_spread}"),
        Column("top_other", "Top rail, upper side", LENGTH, "={top_edge}+{assembly.top_rail_depth}*{splay}"),
        Column("bottom_other", "Bottom rail, underside", LENGTH, "={bottom_edge}-{assembly.bottom_rail_depth}*{splay}"),
        Column("top_tip", "Top rail tip to tip", LENGTH, _tip("top_edge", "assembly.top_rail_depth", "top")),
        Column("bottom_tip", "Bottom rail tip to tip", LENGTH, _tip("bottom_edge", "seen_from_above", "bottom")),
        *ASKEW,
        Column(
            "cap_edge", "Cap between posts", LENGTH,
            "=({clear_top}+{assembly.top_rail_depth}*{secant}/2*({lower_spread}+{upper_spread})"
            "-2*{fit_allowance})*{secant}",
        ),
        Column("cap_other", "Cap, upper side", LENGTH, "={cap_edge}+{assembly.cap_thickness}*{splay}"),
        Column("cap_tip", "Cap tip to tip", LENGTH, _tip("cap_edge", "assembly.cap_thickness", "cap")),
        Column("longest_tip", "Longest rail", LENGTH, "=MAX({top_tip},{bottom_tip})"),
        Column("lower_cut", "Lower cut", CUT, "=[lower_cut_excel]"),
        Column("upper_cut", "Upper cut", CUT, "=[upper_cut_excel]"),
        Column(
            "blocks", "Blocks", COUNT,
            '=IF({assembly.block_spacing}="",0,'
            f"MAX(0,{ceiling_excel('{bottom_edge}/{assembly.block_spacing}')}-1))",
        ),
    ),
    joins=JOINS,
    terms={
        "equal": "({line.clear}-({of}-1)*{line.post_face})/{of}",
        "lower_post": _line_post("lower_tread"),
        "upper_post": _line_post("upper_tread"),
        "first_more": "IF({number}=1,{line.from_more},0)",
        "last_more": "IF({number}={of},{line.to_more},0)",
        "opening": or_zero("{line.opening}"),
        "splay": "{upper_tangent}-{lower_tangent}",
        "seen_from_above": "-{assembly.bottom_rail_depth}",
        **ASKEW_TERMS,
    },
)  # fmt: skip

PART = Part(
    "sections",
    Section,
    (*FIGURES.columns, Column(STATUS, "Status", VERDICT)),
    joins={
        **JOINS,
        "like": Join(FIGURES, "like_row", "like"),
        "like_line": Join(lines.TAB, "like.line_row", "like.line"),
    },
    key="section",
    rests=Rests(
        on=("line",),
        free=("like", "like_line"),
        kept={
            "clear": "like.clear",
            "clear_top": "like.clear_top",
            "line.tangent": "like_line.tangent",
            "lower_spread": "like.lower_spread",
            "upper_spread": "like.upper_spread",
            "lower_more": "like.lower_more",
            "upper_more": "like.upper_more",
            "lower_skew": "like.lower_skew",
            "upper_skew": "like.upper_skew",
            "line.opening": "like_line.opening",
        },
    ),
)
