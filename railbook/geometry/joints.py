"""Joints: how the cap board of every run ends at its two supports, and the plan turns there.

The kind of a joint is chosen from the runs that meet at a support. `fits` says whether the directions
still agree with it: an edited bearing asks for another run.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import ANGLE, COUNT, MARK, TEXT
from railbook.geometry.cells import of_measures
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
        other: the run that it meets, at `other_row` of the working tabs; None when there is none.
        reverse: degrees added to that run's direction when it arrives there rather than leaves.
        upper: 1 when the upper surface is the longer one at a bend: at the top of a flight.
    """

    kind: str
    other: Run | None = None
    other_row: int | None = None
    reverse: float = 0.0
    upper: int = 0

    def turn_from(self, direction: float | None, own: float) -> float:
        """Plan turn on arriving with that bearing, plus `own`; 0 where a direction is blank [degrees]."""
        if direction is None or self.other is None or self.other.direction is None:
            return 0.0
        return turn(arriving=direction + own, leaving=self.other.direction + self.reverse)

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
        run: its mark, at `line_row` of the working tabs.
        typed: what was typed for it.
        from_end: how its cap ends at From; `to_end` at To.
    """

    run: str
    line_row: int
    typed: Run
    from_end: End
    to_end: End

    @property
    def from_joint(self) -> str:
        """How it ends at From."""
        return self.from_end.kind

    @property
    def to_joint(self) -> str:
        """How it ends at To."""
        return self.to_end.kind

    @property
    def from_other(self) -> int | None:
        """Row of the run met at From."""
        return self.from_end.other_row

    @property
    def to_other(self) -> int | None:
        """Row of the run met at To."""
        return self.to_end.other_row

    @property
    def from_reverse(self) -> float:
        """180 when the run met at From ends there."""
        return self.from_end.reverse

    @property
    def to_reverse(self) -> float:
        """180 when the run met at To ends there."""
        return self.to_end.reverse

    @property
    def from_upper(self) -> int:
        """1 when a bend at From is at the top of a flight."""
        return self.from_end.upper

    @property
    def to_upper(self) -> int:
        """1 when a bend at To is at the top of a flight."""
        return self.to_end.upper

    @cached_property
    def from_turn(self) -> float:
        """Plan turn at From, seen when walking To to From [degrees]; 0 where a direction is blank."""
        return self.from_end.turn_from(self.typed.direction, 180.0)

    @cached_property
    def to_turn(self) -> float:
        """Plan turn at To, seen when walking From to To [degrees]."""
        return self.to_end.turn_from(self.typed.direction, 0.0)

    @cached_property
    def fits(self) -> int:
        """1 while both joints agree with the directions."""
        return self.from_end.fits(self.from_turn) * self.to_end.fits(self.to_turn)


def _turn(end: str, own: int) -> str:
    """Formula: plan turn at one end, 0 where a direction is blank."""
    mine = f"INDEX({{runs_direction}},{of_measures('run_row')})"
    other = f"INDEX({{runs_direction}},INDEX({{lines_run_row}},{{{end}_other}}))"
    return (
        f'=IF({{{end}_other}}="",0,IF(COUNT({mine},{other})<2,0,'
        f"MOD({other}+{{{end}_reverse}}-({mine}+{own})+540,360)-180))"
    )


def _fits(end: str) -> str:
    """Formula part: whether one joint agrees with its turn."""
    turned, joint = f"ABS({{{end}_turn}})", f"{{{end}_joint}}"
    return (
        f'IF({joint}="Corner",{turned}<={SHARPEST:.0f},IF({joint}="Doubled back",{turned}>{SHARPEST:.0f},'
        f'IF({joint}="Bend",{turned}<={STRAIGHT:g},IF({joint}="Butt",{turned}>{STRAIGHT:g},'
        f'IF({joint}="End",IF({{{end}_other}}="",TRUE,{turned}>{STRAIGHT:g}),TRUE)))))'
    )


TAB = Tab(
    "joints",
    "Working joints",
    Joints,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Row", COUNT),
        Column("from_joint", "At From", TEXT, width=12),
        Column("to_joint", "At To", TEXT, width=12),
        Column("from_other", "Meets row at From", COUNT),
        Column("to_other", "Meets row at To", COUNT),
        Column("from_reverse", "Reversed at From", COUNT),
        Column("to_reverse", "Reversed at To", COUNT),
        Column("from_upper", "Top of flight at From", COUNT),
        Column("to_upper", "Top of flight at To", COUNT),
        Column("from_turn", "Turn at From", ANGLE, _turn("from", 180)),
        Column("to_turn", "Turn at To", ANGLE, _turn("to", 0)),
        Column("fits", "Directions agree", COUNT, f"=IF(AND({_fits('from')},{_fits('to')}),1,0)"),
    ),
    purpose="How the cap of every run ends at its two supports, and the plan turns there.",
    key="run",
)
