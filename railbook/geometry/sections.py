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
from railbook.geometry.lines import Line
from railbook.geometry.rails import edge_length, places_between, tip_to_tip
from railbook.job import assemblies
from railbook.job.assemblies import Assembly
from railbook.job.runs import STAIR


@dataclass(frozen=True)
class Section:
    """One section; lengths in the job's unit.

    Attributes:
        section: its mark: run, dot, number from the From end.
        number: its place in the run, from 1.
        line: its run, at `line_row` of Working runs.
        lower_tread: stairs: tread of the line post at its lower end; None at the run's own support.
        upper_tread: the same at its upper end.
        like_row: the first section cut exactly like this one, counted from 1.
        first: that section; None when it is this one.
    """

    section: str
    run: str
    number: int
    line: Line
    line_row: int
    lower_tread: int | None
    upper_tread: int | None
    like_row: int
    first: "Section | None" = None

    @property
    def like(self) -> "Section":
        """The first section cut exactly like this one."""
        return self.first or self

    @cached_property
    def of(self) -> int:
        """Number of sections of the run, as chosen."""
        return self.line.sections

    @cached_property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @cached_property
    def assembly(self) -> Assembly:
        """Its assembly."""
        return self.line.measures.assembly

    @cached_property
    def tangent(self) -> float:
        """Tangent of the slope."""
        return self.line.tangent

    @cached_property
    def secant(self) -> float:
        """Length along the slope for each unit of level length."""
        return self.line.secant

    @cached_property
    def lower_face(self) -> float:
        """Level distance from the run's From face to this section's lower face."""
        measures = self.line.measures
        if self.number == 1:
            return 0.0
        if self.lower_tread is None:
            return (self.number - 1) * (self._equal_clear + measures.post_face)
        return self._nosing(self.lower_tread) + measures.post_face

    def _nosing(self, tread: int) -> float:
        """Downhill face of a line post on that tread."""
        measures = self.line.measures
        behind = self.assembly.line_post_setback or 0.0
        return (measures.lower_setback or 0.0) + tread * (measures.tread or 0.0) + behind

    @cached_property
    def _equal_clear(self) -> float:
        measures = self.line.measures
        return (measures.clear - (self.of - 1) * measures.post_face) / self.of

    @cached_property
    def clear(self) -> float:
        """Level distance between its faces, low down."""
        if self.line.kind != STAIR or self.of == 1:
            return self._equal_clear
        upper = self.line.measures.clear if self.upper_tread is None else self._nosing(self.upper_tread)
        return upper - self.lower_face

    @property
    def is_first(self) -> bool:
        """Whether it begins at the run's From support."""
        return self.number == 1

    @property
    def is_last(self) -> bool:
        """Whether it ends at the run's To support."""
        return self.number == self.of

    @cached_property
    def lower_spread(self) -> float:
        """Gain of its lower face for each unit of height, by a recorded lean; a line post stands plumb."""
        return self.line.lean.from_spread if self.is_first else 0.0

    @cached_property
    def upper_spread(self) -> float:
        """The same at its upper face."""
        return self.line.lean.to_spread if self.is_last else 0.0

    @cached_property
    def clear_top(self) -> float:
        """Its clear along the middle of the top rail."""
        lean = self.line.lean
        return self.clear + (lean.from_more if self.is_first else 0.0) + (lean.to_more if self.is_last else 0.0)

    @cached_property
    def lower_more(self) -> float:
        """What its lower end has more where the balusters meet the top rail than where they meet the bottom one."""
        return self._more(self.lower_spread, self.line.lean.from_more if self.is_first else 0.0)

    @cached_property
    def upper_more(self) -> float:
        """The same at its upper end."""
        return self._more(self.upper_spread, self.line.lean.to_more if self.is_last else 0.0)

    def _more(self, spread: float, shared: float) -> float:
        return spread * (self.line.guard.opening or 0.0) if self.line.lean.recorded else shared

    @cached_property
    def top_meets(self) -> float:
        """Clear along the underside of the top rail, where the balusters meet it."""
        return self.clear_top - self._half(self.assembly.top_rail_depth) * (self.lower_spread + self.upper_spread)

    @cached_property
    def bottom_meets(self) -> float:
        """Clear along the upper side of the bottom rail."""
        return self.clear + self._half(self.assembly.bottom_rail_depth) * (self.lower_spread + self.upper_spread)

    def _half(self, depth: float | None) -> float:
        """Half the depth of a rail as it stands, plumb."""
        return (depth or 0.0) * self.secant / 2

    @cached_property
    def spacing(self) -> float:
        """Level distance between the centres of its supports; a wall counts with its face."""
        measures = self.line.measures
        low = measures.from_face if self.number == 1 else measures.post_face
        high = measures.to_face if self.number == self.of else measures.post_face
        return max(self.clear, self.clear_top) + (low + high) / 2

    @cached_property
    def top_edge(self) -> float:
        """Edge length of the top rail, on its underside."""
        return edge_length(clear=self.top_meets, fit=self.line.guard.fit, secant=self.secant)

    @cached_property
    def bottom_edge(self) -> float:
        """Edge length of the bottom rail, on its upper side."""
        return edge_length(clear=self.bottom_meets, fit=self.line.guard.fit, secant=self.secant)

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
        return tip_to_tip(edge=self.top_edge, depth=depth, lower=self.lower_tangent, upper=self.upper_tangent)

    @cached_property
    def bottom_tip(self) -> float:
        """Bottom rail, tip to tip: seen from its upper side the cuts run the other way."""
        depth = self.assembly.bottom_rail_depth or 0.0
        return tip_to_tip(edge=self.bottom_edge, depth=depth, lower=-self.lower_tangent, upper=-self.upper_tangent)

    @cached_property
    def cap_edge(self) -> float:
        """Cap board between posts that stand proud, on its underside."""
        clear = self.clear_top + self._half(self.assembly.top_rail_depth) * (self.lower_spread + self.upper_spread)
        return edge_length(clear=clear, fit=self.line.guard.settings.fit_allowance, secant=self.secant)

    @cached_property
    def cap_other(self) -> float:
        """The same on its upper side."""
        thickness = self.assembly.cap_thickness or 0.0
        return self.cap_edge + thickness * (self.upper_tangent - self.lower_tangent)

    @cached_property
    def cap_tip(self) -> float:
        """The same, tip to tip."""
        thickness = self.assembly.cap_thickness or 0.0
        return tip_to_tip(edge=self.cap_edge, depth=thickness, lower=self.lower_tangent, upper=self.upper_tangent)

    @cached_property
    def longest_tip(self) -> float:
        """The longer of its rails, tip to tip."""
        return max(self.top_tip, self.bottom_tip)

    @property
    def lower_cut(self) -> float:
        """Cut at the lower ends of its rails, from square [degrees]."""
        return self.line.measures.slope_angle - (self.line.lean.from_lean if self.is_first else 0.0)

    @property
    def upper_cut(self) -> float:
        """Cut at the upper ends of its rails, from square [degrees]."""
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


def _tip(edge: str, depth: str) -> str:
    """Formula: tip to tip; seen from its upper side a rail's depth counts the other way."""
    return _TIP.replace("EDGE", edge).replace("DEPTH", depth)


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
        Column("top_tip", "Top rail tip to tip", LENGTH, _tip("top_edge", "assembly.top_rail_depth")),
        Column("bottom_tip", "Bottom rail tip to tip", LENGTH, _tip("bottom_edge", "seen_from_above")),
        Column(
            "cap_edge", "Cap between posts", LENGTH,
            "=({clear_top}+{assembly.top_rail_depth}*{secant}/2*({lower_spread}+{upper_spread})"
            "-2*{fit_allowance})*{secant}",
        ),
        Column("cap_other", "Cap, upper side", LENGTH, "={cap_edge}+{assembly.cap_thickness}*{splay}"),
        Column("cap_tip", "Cap tip to tip", LENGTH, _tip("cap_edge", "assembly.cap_thickness")),
        Column("longest_tip", "Longest rail", LENGTH, "=MAX({top_tip},{bottom_tip})"),
        Column("lower_cut", "Lower cut", CUT, "={line.slope_angle}-IF({number}=1,{line.from_lean},0)"),
        Column("upper_cut", "Upper cut", CUT, "={line.slope_angle}+IF({number}={of},{line.to_lean},0)"),
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
            "line.opening": "like_line.opening",
        },
    ),
)
