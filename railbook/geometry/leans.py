"""Leans: how far the two end supports of a run lean, and what that adds between its rails.

Both clears are taped level along the middle of a rail. A face that leans by alpha gains, for each unit of
height above the bottom rail's middle at one place of the slope, s = tan(alpha) / (1 + t tan(alpha)) at the
lower end and tan(alpha) / (1 - t tan(alpha)) at the upper one. Where both clears were taped they tell the
sum of both gains to the width of a pencil mark. A new post is set plumb, so what the two clears differ by is
at the support that stands already; where both stand, the leans tell how it is shared, and half is at each
end where they do not. Between two new posts nothing can differ: the clear at the bottom holds. Without a
recorded lean rails are cut plumb.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import through
from railbook.basics.kinds import ANGLE, COUNT, FACTOR, LENGTH
from railbook.geometry.guards import Guard
from railbook.geometry.measures import JOINS, Measures
from railbook.job.supports import COLUMN, EXISTING, WALL, Support

SETTLED = 12  # places
BOTH_ENDS = 0.5  # share of each end where both supports stand, and both or neither lean was recorded


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


def stands(support: Support | None, lean: float | None) -> bool:
    """Whether a support stood there when the clears were taped: by its row, or because its lean was taped.

    >>> stands(None, None), stands(None, 0.0), stands(Support(kind=WALL), None), stands(Support(state=EXISTING), None)
    (False, True, True, True)
    """
    by_row = support is not None and (support.kind in (WALL, COLUMN) or support.state == EXISTING)
    return by_row or lean is not None


@dataclass(frozen=True)
class Lean:
    """The two ends of one run; lengths in the job's unit.

    Attributes:
        guard: its working guard.
    """

    guard: Guard

    @property
    def _measures(self) -> Measures:
        return self.guard.measures

    @cached_property
    def recorded(self) -> int:
        """1 when a lean was taped."""
        return int(self._measures.typed.lean_from is not None or self._measures.typed.lean_to is not None)

    @cached_property
    def lines_apart(self) -> float | None:
        """From the middle of the bottom rail to the middle of the top rail, plumb."""
        assembly, secant = self._measures.assembly, self.guard.secant
        rails = ((assembly.top_rail_depth or 0.0) + (assembly.bottom_rail_depth or 0.0)) / 2 * secant
        return when_known(lambda opening: opening + rails, self.guard.opening)

    @cached_property
    def taped_more(self) -> float:
        """What the clear at the top has more, as taped; 0 where one clear holds for both."""
        return self._measures.clear_top - self._measures.clear

    @cached_property
    def both_taped(self) -> int:
        """1 when both clears were taped."""
        typed = self._measures.typed
        return int(typed.clear_top is not None and typed.clear_bottom is not None)

    @cached_property
    def from_gain(self) -> float:
        """Gain of the From face by its recorded lean."""
        return gain(lean=self._measures.typed.lean_from or 0.0, tangent=self.guard.tangent)

    @cached_property
    def to_gain(self) -> float:
        """Gain of the To face by its recorded lean."""
        return gain(lean=self._measures.typed.lean_to or 0.0, tangent=-self.guard.tangent)

    @cached_property
    def top_expected(self) -> float | None:
        """Clear at the top that the recorded leans give; None where none was recorded."""
        if not self.recorded:
            return None
        return when_known(
            lambda apart: self._measures.clear + apart * (self.from_gain + self.to_gain), self.lines_apart
        )

    @cached_property
    def top_differs(self) -> float | None:
        """How far the taped clear at the top is from it."""
        if not self.both_taped:
            return None
        return when_known(lambda expected: abs(self._measures.clear + self.taped_more - expected), self.top_expected)

    @cached_property
    def left_over(self) -> float:
        """Gain that the clears show beyond the recorded leans."""
        if not self.both_taped or self.lines_apart is None:
            return 0.0
        # settled, so that leans which agree with the clears leave nothing over
        return round(self.taped_more / self.lines_apart - self.from_gain - self.to_gain, SETTLED)

    @cached_property
    def from_stands(self) -> bool:
        """Whether the From support stood there when the clears were taped."""
        return stands(self._measures.from_typed, self._measures.typed.lean_from)

    @cached_property
    def to_stands(self) -> bool:
        """The same of the To support."""
        return stands(self._measures.to_typed, self._measures.typed.lean_to)

    @property
    def from_share(self) -> float:
        """From's share of what the clears differ by beyond the recorded leans: a new post has none."""
        if not (self.from_stands and self.to_stands):
            return float(self.from_stands)
        if (self._measures.typed.lean_from is None) == (self._measures.typed.lean_to is None):
            return BOTH_ENDS
        return 1.0 if self._measures.typed.lean_from is None else 0.0

    @property
    def to_share(self) -> float:
        """The same of To."""
        return 1 - self.from_share if self.to_stands else 0.0

    @cached_property
    def from_spread(self) -> float:
        """Gain of the From face that the rails are cut to; 0 without a recorded lean."""
        return self.from_gain + self.left_over * self.from_share if self.recorded else 0.0

    @cached_property
    def to_spread(self) -> float:
        """The same at To."""
        return self.to_gain + self.left_over * self.to_share if self.recorded else 0.0

    @cached_property
    def from_more(self) -> float:
        """What the From end has more at the middle of the top rail than at that of the bottom rail, level."""
        return self.from_spread * (self.lines_apart or 0.0) if self.recorded else self.taped_more * self.from_share

    @cached_property
    def to_more(self) -> float:
        """The same at To."""
        return self.to_spread * (self.lines_apart or 0.0) if self.recorded else self.taped_more * self.to_share

    @cached_property
    def cap_clear(self) -> float:
        """Clear along the underside of the cap, where posts end and walls meet it."""
        above = (self._measures.assembly.top_rail_depth or 0.0) / 2 * self.guard.secant
        return self._measures.clear + self.from_more + self.to_more + above * (self.from_spread + self.to_spread)

    @cached_property
    def from_lean(self) -> float:
        """Lean that rails are cut to at From [degrees]."""
        return lean_of(gained=self.from_spread, tangent=self.guard.tangent)

    @cached_property
    def to_lean(self) -> float:
        """Lean that rails are cut to at To [degrees]."""
        return lean_of(gained=self.to_spread, tangent=-self.guard.tangent)


def _at(end: str, formula: str) -> str:
    """A formula for one end: seen from the To end the slope has the other sign."""
    plus, minus = ("+", "-") if end == "from" else ("-", "+")
    return formula.replace("END", end).replace("PLUS", plus).replace("MINUS", minus)


_LEANING = f"TAN(RADIANS({or_zero('{END_taped}')}))"
_GAIN = f"={_LEANING}/(1PLUS{{tangent}}*{_LEANING})"
_STANDS = (
    'OR({END_taped}<>"",IF({END_row}=0,FALSE,OR({END_support.kind}="Wall",{END_support.kind}="Column",'
    '{END_support.state}="Existing")))'
)
_MORE = f"=IF({{recorded}}=1,{{END_spread}}*{or_zero('{lines_apart}')},{{taped_more}}*{{END_share}})"
_LEAN = "=DEGREES(ATAN({END_spread}/(1MINUS{tangent}*{END_spread})))"

PART = Part(
    "lines",
    Lean,
    (
        Column("from_taped", "Lean at From", ANGLE, of="typed.lean_from"),
        Column("to_taped", "Lean at To", ANGLE, of="typed.lean_to"),
        Column("recorded", "Lean recorded", COUNT, "=IF(COUNT({from_taped},{to_taped})>0,1,0)"),
        Column(
            "lines_apart", "Between the rails' middles", LENGTH,
            '=IF({opening}="","",{opening}+({assembly.top_rail_depth}+{assembly.bottom_rail_depth})/2*{secant})',
        ),
        Column("taped_more", "More at the top, taped", LENGTH, "={clear_top}-{clear}"),
        Column("both_taped", "Both taped", COUNT, "=IF(COUNT({typed.clear_top},{typed.clear_bottom})=2,1,0)"),
        Column("from_gain", "Gain at From", FACTOR, _at("from", _GAIN)),
        Column("to_gain", "Gain at To", FACTOR, _at("to", _GAIN)),
        Column(
            "top_expected", "Clear at top by the leans", LENGTH,
            '=IF(OR({recorded}=0,{lines_apart}=""),"",{clear}+{apart}*({from_gain}+{to_gain}))',
        ),
        Column(
            "top_differs", "Differs by", LENGTH,
            '=IF(OR({both_taped}=0,{top_expected}=""),"",ABS({clear}+{taped_more}-' + or_zero("{top_expected}") + "))",
        ),
        Column(
            "left_over", "Gain left over", FACTOR,
            '=IF(OR({both_taped}=0,{lines_apart}=""),0,'
            'ROUND(IF({lines_apart}="",0,{taped_more}/{lines_apart})-{from_gain}-{to_gain},' + f"{SETTLED}))",
        ),
        Column(
            "from_share", "Share of From", FACTOR,
            '=IF(NOT({from_stands}),0,IF(NOT({to_stands}),1,'
            'IF(({from_taped}="")=({to_taped}=""),0.5,IF({from_taped}="",1,0))))',
        ),
        Column("to_share", "Share of To", FACTOR, "=IF({to_stands},1-{from_share},0)"),
        Column("from_spread", "Spread at From", FACTOR, "=IF({recorded}=1,{from_gain}+{left_over}*{from_share},0)"),
        Column("to_spread", "Spread at To", FACTOR, "=IF({recorded}=1,{to_gain}+{left_over}*{to_share},0)"),
        Column("from_more", "More at From", LENGTH, _at("from", _MORE)),
        Column("to_more", "More at To", LENGTH, _at("to", _MORE)),
        Column(
            "cap_clear", "Clear under the cap", LENGTH,
            "={clear}+{from_more}+{to_more}+{assembly.top_rail_depth}/2*{secant}*({from_spread}+{to_spread})",
        ),
        Column("from_lean", "Cut to lean at From", ANGLE, _at("from", _LEAN)),
        Column("to_lean", "Cut to lean at To", ANGLE, _at("to", _LEAN)),
    ),
    joins=through("guard.measures", JOINS),
    terms={
        "apart": or_zero("{lines_apart}"),
        "from_stands": _at("from", _STANDS),
        "to_stands": _at("to", _STANDS),
    },
)  # fmt: skip
