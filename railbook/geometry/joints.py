"""Joints: how the cap board of every run ends at its two supports, and the plan turns there.

The kind of a joint is chosen from the runs that meet at a support. `fits` says whether the directions
still agree with it: an edited bearing asks for another run.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import ANGLE, COUNT, MARK, TEXT
from railbook.geometry import measures
from railbook.geometry.measures import Measures
from railbook.job import runs
from railbook.job.runs import Run

AT_WALL, OPEN_END, CORNER, BEND, BUTT, OVER_CENTRE = "Wall", "End", "Corner", "Bend", "Butt", "Over post"
DOUBLED_BACK = "Doubled back"  # two bearings that all but reverse: no mitre is meant
STRAIGHT = 1.0  # a turn no greater is none: nobody takes a bearing closer [degrees]
SHARPEST = 170.0  # greatest turn that is still a corner [degrees]


def turn(*, arriving: float, leaving: float) -> float:
    """Signed plan turn between two bearings, clockwise positive, within -180 to 180 [degrees].

    >>> turn(arriving=0.0, leaving=90.0), turn(arriving=350.0, leaving=10.0), turn(arriving=90.0, leaving=45.0)
    (90.0, 20.0, -45.0)
    """
    return (leaving - arriving + 540.0) % 360.0 - 180.0


@dataclass(frozen=True)
class End:
    """How a cap ends at one support, as chosen.

    Attributes:
        kind: one of the words above.
        other: measures of the run that it meets, at `other_row` of Working runs; None when there is none.
        reverse: degrees added to that run's direction when it arrives there rather than leaves.
        upper: 1 when the upper surface is the longer one at a bend: at the top of a flight.
    """

    kind: str
    other: Measures | None = None
    other_row: int | None = None
    reverse: float = 0.0
    upper: int = 0

    def turn_from(self, direction: float | None, own: float) -> float:
        """Plan turn on arriving with that bearing, plus `own`; 0 where a direction is blank [degrees]."""
        leaving = None if self.other is None else self.other.typed.direction
        if direction is None or leaving is None:
            return 0.0
        return turn(arriving=direction + own, leaving=leaving + self.reverse)

    def fits(self, turned: float) -> int:
        """1 while the turn agrees with the kind."""
        straight = abs(turned) <= STRAIGHT
        demands = {
            CORNER: abs(turned) <= SHARPEST,
            DOUBLED_BACK: abs(turned) > SHARPEST,
            BEND: straight,
            BUTT: not straight,
            OPEN_END: self.other is None or not straight,
        }
        return int(demands.get(self.kind, True))


@dataclass(frozen=True)
class Joints:
    """The two joints of one run.

    Attributes:
        measures: of that run, at `line_row` of Working runs.
        from_end: how its cap ends at From; `to_end` at To.
    """

    measures: Measures
    line_row: int
    from_end: End
    to_end: End

    @property
    def _typed(self) -> Run:
        return self.measures.typed

    @property
    def from_joint(self) -> str:
        """How it ends at From."""
        return self.from_end.kind

    @property
    def to_joint(self) -> str:
        """How it ends at To."""
        return self.to_end.kind

    @cached_property
    def from_turn(self) -> float:
        """Plan turn at From, seen when walking To to From [degrees]; 0 where a direction is blank."""
        return self.from_end.turn_from(self._typed.direction, 180.0)

    @cached_property
    def to_turn(self) -> float:
        """Plan turn at To, seen when walking From to To [degrees]."""
        return self.to_end.turn_from(self._typed.direction, 0.0)

    @cached_property
    def fits(self) -> int:
        """1 while both joints agree with the directions."""
        return self.from_end.fits(self.from_turn) * self.to_end.fits(self.to_turn)


_TURN = (  # 0 where a direction is blank
    '=IF({END_other}="",0,IF(COUNT({typed.direction},{END_met.direction})<2,0,'
    "MOD({END_met.direction}+{END_reverse}-({typed.direction}+OWN)+540,360)-180))"
)
_FITS = (
    'IF({END_joint}="Corner",{turned}<={sharpest},IF({END_joint}="Doubled back",{turned}>{sharpest},'
    'IF({END_joint}="Bend",{turned}<={straight},IF({END_joint}="Butt",{turned}>{straight},'
    'IF({END_joint}="End",IF({END_other}="",TRUE,{turned}>{straight}),TRUE)))))'
)


def _at(end: str, formula: str) -> str:
    """A formula for one end: the run is walked from To to From to arrive at From."""
    turned = "ABS({END_turn})"
    return formula.replace("{turned}", turned).replace("END", end).replace("OWN", "180" if end == "from" else "0")


TAB = Tab(
    "joints",
    "Working joints",
    Joints,
    (
        Column("run", "Run", MARK, path="measures.run"),
        Column("line_row", "Row", COUNT),
        Column("from_joint", "At From", TEXT, width=12),
        Column("to_joint", "At To", TEXT, width=12),
        Column("from_other", "Meets row at From", COUNT, path="from_end.other_row"),
        Column("to_other", "Meets row at To", COUNT, path="to_end.other_row"),
        Column("from_reverse", "Reversed at From", COUNT, path="from_end.reverse"),
        Column("to_reverse", "Reversed at To", COUNT, path="to_end.reverse"),
        Column("from_upper", "Top of flight at From", COUNT, path="from_end.upper"),
        Column("to_upper", "Top of flight at To", COUNT, path="to_end.upper"),
        Column("from_turn", "Turn at From", ANGLE, _at("from", _TURN)),
        Column("to_turn", "Turn at To", ANGLE, _at("to", _TURN)),
        Column("fits", "Directions agree", COUNT, "=IF(AND({from_fits},{to_fits}),1,0)"),
    ),
    purpose="How the cap of every run ends at its two supports, and the plan turns there.",
    key="run",
    joins={
        "line": Join(measures.PART, "line_row", "measures"),
        "typed": Join(runs.TAB, "line.run_row", "measures.typed"),
        "from_line": Join(measures.PART, "from_other", "from_end.other", maybe=True),
        "from_met": Join(runs.TAB, "from_line.run_row", "from_end.other.typed", maybe=True),
        "to_line": Join(measures.PART, "to_other", "to_end.other", maybe=True),
        "to_met": Join(runs.TAB, "to_line.run_row", "to_end.other.typed", maybe=True),
    },
    terms={
        "from_fits": _at("from", _FITS),
        "to_fits": _at("to", _FITS),
        "sharpest": f"{SHARPEST:g}",
        "straight": f"{STRAIGHT:g}",
    },
)
