"""Leans: how far the two end supports of a run lean, and what that adds between its rails.

Both clears are taped level along the middle of a rail. A face that leans by alpha gains, for each unit of
height above the bottom rail's middle at one place of the slope, s = tan(alpha) / (1 + t tan(alpha)) at the
lower end and tan(alpha) / (1 - t tan(alpha)) at the upper one. Where both clears were taped they tell the
sum of both gains to the width of a pencil mark; the leans tell how it is shared. Without a recorded lean
the difference is shared by both ends, and rails are cut plumb.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import ANGLE, COUNT, FACTOR, LENGTH, MARK
from railbook.geometry.cells import of_assembly, of_guard, of_measures, of_run
from railbook.geometry.guards import Guard

SETTLED = 12  # places
BOTH_ENDS = 0.5  # share of each end where both or neither were recorded


def gain(*, lean: float, tangent: float) -> float:
    """Level gain of a leaning face for each unit of height, taken at one place of the slope.

    Args:
        lean: of the face, + when its top leans away from the run [degrees].
        tangent: of the slope; with the other sign at the upper end.

    On the level a lean of 45 degrees gains 1 in in 1 in; up a 3-4-5 slope the lower face is met sooner.

    >>> gain(lean=45.0, tangent=0.0), gain(lean=45.0, tangent=0.75)
    (1.0, 0.5714)
    """
    leaning = math.tan(math.radians(lean))
    return leaning / (1 + tangent * leaning)


def lean_of(*, gained: float, tangent: float) -> float:
    """The lean that has that gain [degrees].

    >>> lean_of(gained=4 / 7, tangent=0.75)
    45.0
    """
    return math.degrees(math.atan(gained / (1 - tangent * gained)))


@dataclass(frozen=True)
class Lean:
    """The two ends of one run; lengths in the job's unit.

    Attributes:
        run: its mark, at `line_row` of the working tabs.
        guard: its working guard.
    """

    run: str
    line_row: int
    guard: Guard

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.guard.assembly_row

    @cached_property
    def tangent(self) -> float:
        """Tangent of the slope."""
        return self.guard.tangent

    @property
    def from_taped(self) -> float | None:
        """Lean of the From support as taped [degrees]."""
        return self.guard.measures.typed.lean_from

    @property
    def to_taped(self) -> float | None:
        """Lean of the To support as taped [degrees]."""
        return self.guard.measures.typed.lean_to

    @cached_property
    def recorded(self) -> int:
        """1 when a lean was taped."""
        return int(self.from_taped is not None or self.to_taped is not None)

    @cached_property
    def lines_apart(self) -> float | None:
        """From the middle of the bottom rail to the middle of the top rail, plumb."""
        assembly, secant = self.guard.measures.assembly, self.guard.secant
        rails = ((assembly.top_rail_depth or 0.0) + (assembly.bottom_rail_depth or 0.0)) / 2 * secant
        return when_known(lambda opening: opening + rails, self.guard.opening)

    @property
    def clear(self) -> float:
        """Clear along the middle of the bottom rail, level."""
        return self.guard.measures.clear

    @cached_property
    def taped_more(self) -> float:
        """What the clear at the top has more, as taped; 0 where one clear holds for both."""
        return self.guard.measures.clear_top - self.clear

    @cached_property
    def both_taped(self) -> int:
        """1 when both clears were taped."""
        typed = self.guard.measures.typed
        return int(typed.clear_top is not None and typed.clear_bottom is not None)

    @cached_property
    def from_gain(self) -> float:
        """Gain of the From face by its recorded lean."""
        return gain(lean=self.from_taped or 0.0, tangent=self.tangent)

    @cached_property
    def to_gain(self) -> float:
        """Gain of the To face by its recorded lean."""
        return gain(lean=self.to_taped or 0.0, tangent=-self.tangent)

    @cached_property
    def top_expected(self) -> float | None:
        """Clear at the top that the recorded leans give; None where none was recorded."""
        if not self.recorded:
            return None
        return when_known(lambda apart: self.clear + apart * (self.from_gain + self.to_gain), self.lines_apart)

    @cached_property
    def top_differs(self) -> float | None:
        """How far the taped clear at the top is from it."""
        if not self.both_taped:
            return None
        return when_known(lambda expected: abs(self.clear + self.taped_more - expected), self.top_expected)

    @cached_property
    def left_over(self) -> float:
        """Gain that the clears show beyond the recorded leans."""
        if not self.both_taped or self.lines_apart is None:
            return 0.0
        # settled, so that leans which agree with the clears leave nothing over
        return round(self.taped_more / self.lines_apart - self.from_gain - self.to_gain, SETTLED)

    @property
    def from_share(self) -> float:
        """Share of it that belongs to From: the end that leans, or half."""
        if (self.from_taped is None) == (self.to_taped is None):
            return BOTH_ENDS
        return 0.0 if self.from_taped is None else 1.0

    @cached_property
    def from_spread(self) -> float:
        """Gain of the From face that the rails are cut to; 0 without a recorded lean."""
        return self.from_gain + self.left_over * self.from_share if self.recorded else 0.0

    @cached_property
    def to_spread(self) -> float:
        """The same at To."""
        return self.to_gain + self.left_over * (1 - self.from_share) if self.recorded else 0.0

    @cached_property
    def from_more(self) -> float:
        """What the From end has more at the middle of the top rail than at that of the bottom rail, level."""
        return self.from_spread * (self.lines_apart or 0.0) if self.recorded else self.taped_more / 2

    @cached_property
    def to_more(self) -> float:
        """The same at To."""
        return self.to_spread * (self.lines_apart or 0.0) if self.recorded else self.taped_more / 2

    @cached_property
    def cap_clear(self) -> float:
        """Clear along the underside of the cap, where posts end and walls meet it."""
        above = (self.guard.measures.assembly.top_rail_depth or 0.0) / 2 * self.guard.secant
        return self.clear + self.from_more + self.to_more + above * (self.from_spread + self.to_spread)

    @cached_property
    def from_lean(self) -> float:
        """Lean that rails are cut to at From [degrees]."""
        return lean_of(gained=self.from_spread, tangent=self.tangent)

    @cached_property
    def to_lean(self) -> float:
        """Lean that rails are cut to at To [degrees]."""
        return lean_of(gained=self.to_spread, tangent=-self.tangent)


def _taped(end: str) -> str:
    """Formula: a lean as taped, blank when it is blank."""
    return f'=IF({of_run(f"lean_{end}")}="","",{of_run(f"lean_{end}")})'


def _gain(end: str, sign: str) -> str:
    """Formula: gain of a face by its recorded lean."""
    leaning = f"TAN(RADIANS({or_zero(f'{{{end}_taped}}')}))"
    return f"={leaning}/(1{sign}{{tangent}}*{leaning})"


def _lean(end: str, sign: str) -> str:
    """Formula: the lean of a spread."""
    return f"=DEGREES(ATAN({{{end}_spread}}/(1{sign}{{tangent}}*{{{end}_spread}})))"


def _more(end: str) -> str:
    """Formula: what one end has more at the top."""
    return f"=IF({{recorded}}=1,{{{end}_spread}}*{or_zero('{lines_apart}')},{{taped_more}}/2)"


TAB = Tab(
    "leans",
    "Working leans",
    Lean,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Row", COUNT),
        Column("assembly_row", "Assembly row", COUNT, f"={of_measures('assembly_row')}"),
        Column("tangent", "Tangent", FACTOR, f"={of_measures('tangent')}"),
        Column("from_taped", "Lean at From", ANGLE, _taped("from")),
        Column("to_taped", "Lean at To", ANGLE, _taped("to")),
        Column("recorded", "Lean recorded", COUNT, "=IF(COUNT({from_taped},{to_taped})>0,1,0)"),
        Column(
            "lines_apart", "Between the rails' middles", LENGTH,
            f'=IF({of_guard("opening")}="","",{of_guard("opening")}+({of_assembly("top_rail_depth")}'
            f"+{of_assembly('bottom_rail_depth')})/2*{of_measures('secant')})",
        ),
        Column("clear", "Clear at bottom", LENGTH, f"={of_measures('clear')}"),
        Column("taped_more", "More at the top, taped", LENGTH, f"={of_measures('clear_top')}-{{clear}}"),
        Column("both_taped", "Both taped", COUNT, f"=IF(COUNT({of_run('clear_top')},{of_run('clear_bottom')})=2,1,0)"),
        Column("from_gain", "Gain at From", FACTOR, _gain("from", "+")),
        Column("to_gain", "Gain at To", FACTOR, _gain("to", "-")),
        Column(
            "top_expected", "Clear at top by the leans", LENGTH,
            f'=IF(OR({{recorded}}=0,{{lines_apart}}=""),"",{{clear}}+{or_zero("{lines_apart}")}*({{from_gain}}+{{to_gain}}))',
        ),
        Column(
            "top_differs", "Differs by", LENGTH,
            f'=IF(OR({{both_taped}}=0,{{top_expected}}=""),"",ABS({{clear}}+{{taped_more}}-{or_zero("{top_expected}")}))',
        ),
        Column(
            "left_over", "Gain left over", FACTOR,
            '=IF(OR({both_taped}=0,{lines_apart}=""),0,'
            f'ROUND(IF({{lines_apart}}="",0,{{taped_more}}/{{lines_apart}})-{{from_gain}}-{{to_gain}},{SETTLED}))',
        ),
        Column("from_share", "Share of From", FACTOR,
            '=IF(({from_taped}="")=({to_taped}=""),0.5,IF({from_taped}="",0,1))'),
        Column("from_spread", "Spread at From", FACTOR, "=IF({recorded}=1,{from_gain}+{left_over}*{from_share},0)"),
        Column("to_spread", "Spread at To", FACTOR, "=IF({recorded}=1,{to_gain}+{left_over}*(1-{from_share}),0)"),
        Column("from_more", "More at From", LENGTH, _more("from")),
        Column("to_more", "More at To", LENGTH, _more("to")),
        Column(
            "cap_clear", "Clear under the cap", LENGTH,
            f"={{clear}}+{{from_more}}+{{to_more}}+{of_assembly('top_rail_depth')}/2*{of_measures('secant')}"
            "*({from_spread}+{to_spread})",
        ),
        Column("from_lean", "Cut to lean at From", ANGLE, _lean("from", "-")),
        Column("to_lean", "Cut to lean at To", ANGLE, _lean("to", "+")),
    ),
    purpose="Every run: how its end supports lean, and what that adds between the rails.",
    key="run",
)  # fmt: skip
