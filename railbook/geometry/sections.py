"""Sections: the clear of every section between two supports, and the rails that fill it.

A rail on a rake is a parallelogram: both ends are plumb cuts, both edges have one length.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up
from railbook.basics.kinds import COUNT, CUT, FACTOR, LENGTH, MARK, VERDICT
from railbook.basics.rounding import ceiling, ceiling_excel, same
from railbook.geometry.cells import of_assembly, of_guard, of_measures
from railbook.geometry.lines import Line
from railbook.job.assemblies import Assembly
from railbook.job.runs import STAIR


def edge_length(*, clear: float, fit: float, secant: float) -> float:
    """Edge of a rail between plumb cuts [unit of the clear].

    Args:
        clear: level distance between the support faces.
        fit: level gap left at each end.
        secant: length along the slope for each unit of level length.

    By hand, 3-4-5: five 10 in treads at 7.5 in risers.

    >>> edge_length(clear=50.0, fit=0.0, secant=1.25)
    62.5
    """
    return (clear - 2 * fit) * secant


def tip_to_tip(*, edge: float, depth: float, tangent: float) -> float:
    """What the stock must hold: the edge and the point of one plumb cut [unit of the edge].

    >>> tip_to_tip(edge=62.5, depth=3.5, tangent=0.75)
    65.125
    """
    return edge + depth * tangent


def blocks_needed(*, edge: float, spacing: float) -> int:
    """Support blocks under a rail: no part of it is longer than the spacing between supports.

    Common practice, no source: 24 in gives 2 blocks in a 6 ft section and 3 in an 8 ft section.

    >>> blocks_needed(edge=68.5, spacing=24.0), blocks_needed(edge=92.5, spacing=24.0)
    (2, 3)
    """
    return max(0, ceiling(edge / spacing) - 1)


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

    @cached_property
    def clear_top(self) -> float:
        """The same high up: end supports lean, posts between sections stand plumb."""
        measures = self.line.measures
        ends = (self.number == 1) + (self.number == self.of)
        return self.clear + (measures.clear_top - measures.clear) * ends / 2

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
        """Edge length of the top rail."""
        return edge_length(clear=self.clear_top, fit=self.line.guard.fit, secant=self.secant)

    @cached_property
    def bottom_edge(self) -> float:
        """Edge length of the bottom rail."""
        return edge_length(clear=self.clear, fit=self.line.guard.fit, secant=self.secant)

    @cached_property
    def top_tip(self) -> float:
        """Top rail, tip to tip."""
        depth = self.assembly.top_rail_depth or 0.0
        return tip_to_tip(edge=self.top_edge, depth=depth, tangent=self.tangent)

    @cached_property
    def bottom_tip(self) -> float:
        """Bottom rail, tip to tip."""
        depth = self.assembly.bottom_rail_depth or 0.0
        return tip_to_tip(edge=self.bottom_edge, depth=depth, tangent=self.tangent)

    @cached_property
    def longest_tip(self) -> float:
        """The longer of its rails, tip to tip."""
        return max(self.top_tip, self.bottom_tip)

    @property
    def plumb_face(self) -> float:
        """Height of the top rail's plumb-cut face: its depth over the cosine [job unit]."""
        return (self.assembly.top_rail_depth or 0.0) * self.secant

    @property
    def plumb_cut(self) -> float:
        """Both end cuts of its rails, from square [degrees]."""
        return self.line.measures.slope_angle

    @cached_property
    def blocks(self) -> int:
        """Support blocks under the bottom rail."""
        spacing = self.assembly.block_spacing
        return 0 if spacing is None else blocks_needed(edge=self.bottom_edge, spacing=spacing)

    @cached_property
    def status(self) -> str:
        """Asks for another run when its run does, or when it is no longer cut like the section named."""
        like = self.like or self
        alike = same(self.clear, like.clear) and same(self.clear_top, like.clear_top)
        alike = alike and same(self.tangent, like.tangent)
        alike = alike and same(self.line.guard.opening, like.line.guard.opening)
        return RUN_AGAIN if self.line.status == RUN_AGAIN or not alike else ""


_EQUAL = f"({of_measures('clear')}-({{of}}-1)*{of_measures('post_face')})/{{of}}"


def _line_post(tread: str) -> str:
    """Formula part: downhill face of a line post on that tread."""
    return f"{of_measures('lower_setback')}+{{{tread}}}*{of_measures('tread')}+{of_assembly('line_post_setback')}"


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
            f"={{clear}}+({of_measures('clear_top')}-{of_measures('clear')})"
            "*(IF({number}=1,1,0)+IF({number}={of},1,0))/2",
        ),
        Column(
            "spacing", "Spacing", LENGTH,
            f"=MAX({{clear}},{{clear_top}})+(IF({{number}}=1,{of_measures('from_face')},{of_measures('post_face')})"
            f"+IF({{number}}={{of}},{of_measures('to_face')},{of_measures('post_face')}))/2",
        ),
        Column("top_edge", "Top rail edge", LENGTH, f"=({{clear_top}}-2*{of_guard('fit')})*{{secant}}"),
        Column("bottom_edge", "Bottom rail edge", LENGTH, f"=({{clear}}-2*{of_guard('fit')})*{{secant}}"),
        Column("top_tip", "Top rail tip to tip", LENGTH, f"={{top_edge}}+{of_assembly('top_rail_depth')}*{{tangent}}"),
        Column(
            "bottom_tip", "Bottom rail tip to tip", LENGTH,
            f"={{bottom_edge}}+{of_assembly('bottom_rail_depth')}*{{tangent}}",
        ),
        Column("longest_tip", "Longest rail", LENGTH, "=MAX({top_tip},{bottom_tip})"),
        Column("spacing_most", "Spacing allowed", LENGTH, f"={of_assembly('greatest_spacing')}"),
        Column("rail_most", "Rail allowed", LENGTH, "=" + look_up("assemblies_greatest_rail", "assembly_row")),
        Column("plumb_face", "Top rail plumb face", LENGTH, f"={of_assembly('top_rail_depth')}*{{secant}}"),
        Column("plumb_cut", "Plumb cut", CUT, f"={of_measures('slope_angle')}"),
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
                f"{of_guard('opening')}<>INDEX({{guards_opening}},INDEX({{sections_line_row}},{{like_row}}))",
            ),
        ),
    ),
    purpose="Every section: its clear, its rails and its support blocks.",
    key="section",
)  # fmt: skip
