"""Posts and walls that some run does not meet square: which way they are turned, and how askew a run comes to them.

A square post looks four ways, so its bearing counts within a quarter turn. Where nobody typed it, it is set so that the
runs that meet there come to its faces as little askew as can be: with a face or with a corner on the bisector of two
of them. No two of them come to one face if that can be helped: there the rails of runs less than 45 degrees apart lap,
while a corner between them parts their rails on every post that could hold both on one face. A run that is turned
clockwise off the face that it meets is askew by a positive angle, the same at both ends.

Along the middle of such a run the post is as wide as its side over the cosine of that angle; a rail fits its face while
it is no wider than the side times cosine less sine. Checked by coordinates in `tests/test_turned_posts.py`.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import NamedTuple

from railbook.basics.blank import when_known
from railbook.basics.double_entry import Column, Tab, first_rows
from railbook.basics.kinds import ANGLE, COUNT, MARK
from railbook.basics.rounding import PLACES
from railbook.geometry.joints import SHARPEST, STRAIGHT
from railbook.job.build import Job
from railbook.job.runs import HANDRAIL, Run
from railbook.job.supports import POST, Support

LEAST = STRAIGHT / 2  # a run askew by no more is square: two runs share a turn that is none [degrees]
QUARTER = 90.0
AT_CORNER = (SHARPEST - QUARTER) / 2  # off by more, which no sharper turn asks, a run comes to a corner [degrees]


def askew(direction: float, bearing: float) -> float:
    """How far a run is turned off the face that it meets, clockwise positive, within 45 to either side [degrees].

    By hand, a post that looks along 22.5 between runs along 0 and 45:

    >>> askew(0.0, 22.5), askew(45.0, 22.5), askew(180.0, 22.5), askew(90.0, 180.0)
    (-22.5, 22.5, -22.5, 0.0)
    """
    return (direction - bearing + QUARTER / 2) % QUARTER - QUARTER / 2


def side_of(skew: float) -> int:
    """To which side a run is askew: 1 clockwise, -1 the other way, 0 where it is as good as square.

    >>> side_of(22.5), side_of(-0.5), side_of(-15.0)
    (1, 0, -1)
    """
    return 0 if abs(skew) <= LEAST else 1 if skew > 0 else -1


def widest_rail(side: float, skew: float) -> float:
    """Widest rail whose whole end lies on a face that it meets askew [unit of the side].

    Askew by 45 degrees nothing does; square to it all of the face.

    >>> widest_rail(4.25, 0.0), round(widest_rail(4.25, 45.0), 12)
    (4.25, 0.0)
    """
    return side * (math.cos(math.radians(skew)) - math.sin(math.radians(abs(skew))))


class Turning(NamedTuple):
    """How one post is turned, as chosen.

    Attributes:
        support: its mark.
        first: run on whose directions it rests, and `second`; empty where its bearing was typed.
        on_corner: 1 where a corner of the post lies on the bisector of the two, 0 where a face does.
    """

    support: str
    first: str = ""
    second: str = ""
    on_corner: int = 0


class Askew(NamedTuple):
    """To which side a run is askew at its two ends, as found: 1 clockwise, -1 the other way, 0 square."""

    at_from: int = 0
    at_to: int = 0


@dataclass(frozen=True)
class TurnedPost:
    """One support with the way that it is turned.

    Attributes:
        turning: what was chosen.
        typed: its row on tab Supports; None where it has none.
        directions: of the two runs that it rests on, as typed [degrees].
    """

    turning: Turning
    typed: Support | None
    directions: tuple[float | None, float | None]

    @property
    def support(self) -> str:
        """Its mark."""
        return self.turning.support

    @property
    def first(self) -> str:
        """Run that it rests on."""
        return self.turning.first

    @property
    def second(self) -> str:
        """The other one."""
        return self.turning.second

    @property
    def on_corner(self) -> int:
        """1 where a corner of the post lies on the bisector of the two."""
        return self.turning.on_corner

    @property
    def is_typed(self) -> bool:
        """Whether its bearing was typed."""
        return not self.first

    @cached_property
    def bearing(self) -> float | None:
        """Where one of its faces looks, within a quarter turn; None where a direction is not known [degrees]."""
        if self.is_typed:
            return when_known(lambda typed: typed % QUARTER, None if self.typed is None else self.typed.bearing)
        return when_known(
            lambda one, other: ((one + other) / 2 + QUARTER / 2 * self.on_corner) % QUARTER, *self.directions
        )

    @property
    def bearing_excel(self) -> str:
        """Formula part of the same."""
        if self.is_typed:
            return f'IF({_TYPED}="","",MOD({_TYPED},90))'
        one, other = _direction("first"), _direction("second")
        return f'IF(COUNT({one},{other})<2,"",MOD(({one}+{other})/2+45*{{on_corner}},90))'


_TYPED = "INDEX({supports_bearing},MATCH({support},{supports_support},0))"


def _direction(which: str) -> str:
    return f"INDEX({{runs_direction}},MATCH({{{which}}},{{runs_run}},0))"


def choose_turnings(job: Job) -> tuple[Turning, ...]:
    """How every post is turned that two runs with a direction share, or whose bearing was typed.

    All rows of tab Runs count, those too that are not laid out: the post stands as it must for them.
    """
    at: dict[str, list[Run]] = {}
    firsts: dict[str, Run] = {}
    for run in job.runs:
        firsts.setdefault(run.run, run)
    for run in firsts.values():
        for mark in (run.from_support, run.to_support):
            if mark and run.kind != HANDRAIL and run.direction is not None:
                at.setdefault(mark, []).append(run)
    return tuple(sorted(_turnings(job, at)))


def _turnings(job: Job, at: Mapping[str, Sequence[Run]]) -> Iterator[Turning]:
    for mark, runs in at.items():
        support = job.support_of.get(mark)
        if support is not None and support.bearing is not None:
            yield Turning(mark)
        elif len(runs) > 1 and (support is None or (support.kind or POST) == POST):
            yield _least_askew(mark, runs)


def _least_askew(mark: str, runs: Sequence[Run]) -> Turning:
    """The way of turning a post that leaves its runs a face each, and least askew; a face on a bisector wins a tie."""

    def most(two: tuple[Run, Run], on_corner: int) -> tuple[int, float]:
        bearing = sum(each.direction or 0.0 for each in two) / 2 + QUARTER / 2 * on_corner
        faces = {_face_met((each.direction or 0.0) + 180.0 * (each.to_support == mark), bearing) for each in runs}
        return -len(faces - {None}), round(max(abs(askew(each.direction or 0.0, bearing)) for each in runs), PLACES)

    ways = [(two, on_corner) for two in combinations(runs, 2) for on_corner in (0, 1)]
    (first, second), on_corner = min(ways, key=lambda way: most(*way))
    return Turning(mark, first.run, second.run, on_corner)


def _face_met(away: float, bearing: float) -> int | None:
    """Which of the four faces a run comes to that leaves the post in that direction; None: its corner.

    >>> _face_met(0.0, 22.5), _face_met(45.0, 22.5), _face_met(45.0, 67.5), _face_met(180.0, 22.5), _face_met(41.0, 0.0)
    (0, 0, 0, 2, None)
    """
    turns = (away - bearing) / QUARTER
    return None if round(abs(askew(away, bearing)) - AT_CORNER, PLACES) > 0 else round(turns) % 4


def turned_posts_of(job: Job, turnings: Sequence[Turning]) -> tuple[TurnedPost, ...]:
    """One row for each of them."""
    rows = first_rows([run.run for run in job.runs])

    def direction(mark: str) -> float | None:
        return job.runs[rows[mark] - 1].direction if mark in rows else None

    return tuple(
        TurnedPost(each, job.support_of.get(each.support), (direction(each.first), direction(each.second)))
        for each in turnings
    )


TAB = Tab(
    "turned_posts",
    "Working turned posts",
    TurnedPost,
    (
        Column("support", "Support", MARK),
        Column("first", "Set by run", MARK),
        Column("second", "And by run", MARK),
        Column("on_corner", "Corner on the bisector", COUNT),
        Column("bearing", "Bearing", ANGLE, "=[bearing_excel]"),
    ),
    purpose="How posts are turned that two runs share, or whose bearing was typed, within a quarter turn.",
    none="No two runs with a direction share a post.",
    key="support",
)
