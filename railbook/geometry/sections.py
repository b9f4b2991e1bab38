"""Sections: the clear of every section between two supports, and the rails that fill it.

A rail on a rake is a parallelogram: both ends are plumb cuts, both edges have one length. At a support
that leans the cut leans with it and the edges differ; the length named is that of the edge that meets
the balusters: the underside of the top rail, the upper side of the bottom rail.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up
from railbook.basics.kinds import COUNT, CUT, FACTOR, LENGTH, MARK, VERDICT
from railbook.basics.rounding import ceiling_excel, same
from railbook.geometry.cells import of_assembly, of_guard, of_measures
from railbook.geometry.lines import Line
from railbook.geometry.rails import edge_length, places_between, tip_to_tip
from railbook.job.assemblies import Assembly
from railbook.job.runs import STAIR


@dataclass(frozen=True)
class Section:
    """One section; lengths in the job's unit.

    Attributes:
        section: its mark: run, dot, number from the From end.
        number: its place in the run, from 1.
        line: its run; `line_row` is the row of it on the working tabs.
        lower_tread: stairs: tread of the line post at its lower end; None at the run's own support.
        upper_tread: the same at its upper end.
        like_row: the first section cut exactly like this one, counted from 1.
    """

    section: str
    run: str
    number: int
    line: Line
    line_row: int
    lower_tread: int | None
    upper_tread: int | None
    like_row: int
    like: "Section | None" = None

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
    def _is_first(self) -> bool:
        return self.number == 1

    @property
    def _is_last(self) -> bool:
        return self.number == self.of

    @cached_property
    def lower_spread(self) -> float:
        """Gain of its lower face for each unit of height, by a recorded lean; a line post stands plumb."""
        return self.line.lean.from_spread if self._is_first else 0.0

    @cached_property
    def upper_spread(self) -> float:
        """The same at its upper face."""
        return self.line.lean.to_spread if self._is_last else 0.0

    @cached_property
    def clear_top(self) -> float:
        """Its clear along the middle of the top rail."""
        lean = self.line.lean
        return self.clear + (lean.from_more if self._is_first else 0.0) + (lean.to_more if self._is_last else 0.0)

    @cached_property
    def lower_more(self) -> float:
        """What its lower end has more where the balusters meet the top rail than where they meet the bottom one."""
        return self._more(self.lower_spread, self.line.lean.from_more if self._is_first else 0.0)

    @cached_property
    def upper_more(self) -> float:
        """The same at its upper end."""
        return self._more(self.upper_spread, self.line.lean.to_more if self._is_last else 0.0)

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

    @property
    def spacing_most(self) -> float | None:
        """Greatest spacing that its assembly allows."""
        return self.assembly.greatest_spacing

    @property
    def rail_most(self) -> float | None:
        """Greatest rail length that its assembly allows; None: no limit of its own."""
        return self.assembly.greatest_rail

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
    def plumb_face(self) -> float:
        """Height of the top rail's plumb-cut face: its depth over the cosine [job unit]."""
        return (self.assembly.top_rail_depth or 0.0) * self.secant

    @property
    def lower_cut(self) -> float:
        """Cut at the lower ends of its rails, from square [degrees]."""
        return self.line.measures.slope_angle - (self.line.lean.from_lean if self._is_first else 0.0)

    @property
    def upper_cut(self) -> float:
        """Cut at the upper ends of its rails, from square [degrees]."""
        return self.line.measures.slope_angle + (self.line.lean.to_lean if self._is_last else 0.0)

    @cached_property
    def blocks(self) -> int:
        """Support blocks under the bottom rail."""
        spacing = self.assembly.block_spacing
        return 0 if spacing is None else places_between(edge=self.bottom_edge, spacing=spacing)

    @cached_property
    def status(self) -> str:
        """Asks for another run when its run does, or when it is no longer cut like the section named."""
        like = self.like or self
        alike = same(self.clear, like.clear) and same(self.clear_top, like.clear_top)
        alike = alike and same(self.tangent, like.tangent)
        alike = alike and same(self.lower_spread, like.lower_spread) and same(self.upper_spread, like.upper_spread)
        alike = alike and same(self.line.guard.opening, like.line.guard.opening)
        return RUN_AGAIN if self.line.status == RUN_AGAIN or not alike else ""


_EQUAL = f"({of_measures('clear')}-({{of}}-1)*{of_measures('post_face')})/{{of}}"


def _line_post(tread: str) -> str:
    """Formula part: downhill face of a line post on that tread."""
    return f"{of_measures('lower_setback')}+{{{tread}}}*{of_measures('tread')}+{of_assembly('line_post_setback')}"


def _at_first(column: str) -> str:
    """Formula part: a figure of the run's From end where this is its first section, else 0."""
    return f"IF({{number}}=1,INDEX({{lines_{column}}},{{line_row}}),0)"


def _at_last(column: str) -> str:
    """Formula part: a figure of the run's To end where this is its last section, else 0."""
    return f"IF({{number}}={{of}},INDEX({{lines_{column}}},{{line_row}}),0)"


def _more(spread: str, shared: str) -> str:
    """Formula: what an end has more between the edges that meet the balusters."""
    return f"=IF(INDEX({{lines_recorded}},{{line_row}})=1,{{{spread}}}*{or_zero(of_guard('opening'))},{shared})"


def _tip(edge: str, depth: str) -> str:
    """Formula: tip to tip of a rail with that edge; seen from its upper side its depth counts the other way."""
    return f"={{{edge}}}+MAX(0,{depth}*{{upper_tangent}})-MIN(0,{depth}*{{lower_tangent}})"


_SPLAY = "INDEX({{assemblies_{}_rail_depth}},{{assembly_row}})*({{upper_tangent}}-{{lower_tangent}})"


def _unlike(column: str) -> str:
    """Formula part: whether a figure differs from that of the section it is said to be like."""
    return f"ABS({{{column}}}-INDEX({{sections_{column}}},{{like_row}}))>=0.000001"


TAB = Tab(
    "sections",
    "Working sections",
    Section,
    (
        Column("section", "Section", MARK),
        Column("run", "Run", MARK),
        Column("number", "Number", COUNT),
        Column("line_row", "Run row", COUNT),
        Column("lower_tread", "Lower tread", COUNT),
        Column("upper_tread", "Upper tread", COUNT),
        Column("like_row", "Like row", COUNT),
        Column("of", "Of", COUNT, "=INDEX({lines_sections},{line_row})"),
        Column("assembly_row", "Assembly row", COUNT, f"={of_measures('assembly_row')}"),
        Column("tangent", "Tangent", FACTOR, f"={of_measures('tangent')}"),
        Column("secant", "Secant", FACTOR, f"={of_measures('secant')}"),
        Column(
            "lower_face", "Lower face at", LENGTH,
            f'=IF({{number}}=1,0,IF({{lower_tread}}="",({{number}}-1)*({_EQUAL}+{of_measures("post_face")}),'
            f"{_line_post('lower_tread')}+{of_measures('post_face')}))",
        ),
        Column(
            "clear", "Clear", LENGTH,
            f'=IF(OR({of_measures("kind")}<>"Stair",{{of}}=1),{_EQUAL},'
            f'IF({{upper_tread}}="",{of_measures("clear")},{_line_post("upper_tread")})-{{lower_face}})',
        ),
        Column(
            "clear_top", "Clear at top", LENGTH,
            f"={{clear}}+{_at_first('from_more')}+{_at_last('to_more')}",
        ),
        Column("lower_spread", "Spread, lower", FACTOR, f"={_at_first('from_spread')}"),
        Column("upper_spread", "Spread, upper", FACTOR, f"={_at_last('to_spread')}"),
        Column("lower_more", "More at top, lower", LENGTH, _more("lower_spread", _at_first("from_more"))),
        Column("upper_more", "More at top, upper", LENGTH, _more("upper_spread", _at_last("to_more"))),
        Column(
            "top_meets", "Clear under the top rail", LENGTH,
            f"={{clear_top}}-{of_assembly('top_rail_depth')}*{{secant}}/2*({{lower_spread}}+{{upper_spread}})",
        ),
        Column(
            "bottom_meets", "Clear over the bottom rail", LENGTH,
            f"={{clear}}+{of_assembly('bottom_rail_depth')}*{{secant}}/2*({{lower_spread}}+{{upper_spread}})",
        ),
        Column(
            "spacing", "Spacing", LENGTH,
            f"=MAX({{clear}},{{clear_top}})+(IF({{number}}=1,{of_measures('from_face')},{of_measures('post_face')})"
            f"+IF({{number}}={{of}},{of_measures('to_face')},{of_measures('post_face')}))/2",
        ),
        Column("top_edge", "Top rail edge", LENGTH, f"=({{top_meets}}-2*{of_guard('fit')})*{{secant}}"),
        Column("bottom_edge", "Bottom rail edge", LENGTH, f"=({{bottom_meets}}-2*{of_guard('fit')})*{{secant}}"),
        Column("lower_tangent", "Tangent of the lower cut", FACTOR, "={tangent}-{secant}^2*{lower_spread}"),
        Column("upper_tangent", "Tangent of the upper cut", FACTOR, "={tangent}+{secant}^2*{upper_spread}"),
        Column("top_other", "Top rail, upper side", LENGTH, f"={{top_edge}}+{_SPLAY.format('top')}"),
        Column("bottom_other", "Bottom rail, underside", LENGTH, f"={{bottom_edge}}-{_SPLAY.format('bottom')}"),
        Column(
            "top_tip", "Top rail tip to tip", LENGTH, _tip("top_edge", of_assembly("top_rail_depth")),
        ),
        Column(
            "bottom_tip", "Bottom rail tip to tip", LENGTH, _tip("bottom_edge", f"-{of_assembly('bottom_rail_depth')}"),
        ),
        Column(
            "cap_edge", "Cap between posts", LENGTH,
            f"=({{clear_top}}+{of_assembly('top_rail_depth')}*{{secant}}/2*({{lower_spread}}+{{upper_spread}})"
            "-2*{fit_allowance})*{secant}",
        ),
        Column(
            "cap_other", "Cap, upper side", LENGTH,
            f"={{cap_edge}}+{of_assembly('cap_thickness')}*({{upper_tangent}}-{{lower_tangent}})",
        ),
        Column(
            "cap_tip", "Cap tip to tip", LENGTH, _tip("cap_edge", of_assembly("cap_thickness")),
        ),
        Column("longest_tip", "Longest rail", LENGTH, "=MAX({top_tip},{bottom_tip})"),
        Column("spacing_most", "Spacing allowed", LENGTH, f"={of_assembly('greatest_spacing')}"),
        Column("rail_most", "Rail allowed", LENGTH, "=" + look_up("assemblies_greatest_rail", "assembly_row")),
        Column("plumb_face", "Top rail plumb face", LENGTH, f"={of_assembly('top_rail_depth')}*{{secant}}"),
        Column("lower_cut", "Lower cut", CUT, f"={of_measures('slope_angle')}-{_at_first('from_lean')}"),
        Column("upper_cut", "Upper cut", CUT, f"={of_measures('slope_angle')}+{_at_last('to_lean')}"),
        Column(
            "blocks", "Blocks", COUNT,
            f'=IF({of_assembly("block_spacing")}="",0,'
            f"MAX(0,{ceiling_excel('{bottom_edge}/' + of_assembly('block_spacing'))}-1))",
        ),
        Column(
            STATUS, "Status", VERDICT,
            ask_again(
                'INDEX({lines_status},{line_row})="run again"',
                _unlike("clear"), _unlike("clear_top"), _unlike("tangent"),
                _unlike("lower_spread"), _unlike("upper_spread"),
                f"{of_guard('opening')}<>INDEX({{lines_opening}},INDEX({{sections_line_row}},{{like_row}}))",
            ),
        ),
    ),
    purpose="Every section: its clear, its rails and its support blocks.",
    key="section",
)  # fmt: skip
