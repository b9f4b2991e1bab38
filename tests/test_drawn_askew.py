"""Posts that runs meet askew: small jobs worked by hand, and figures of random ones that were changed.

The first half are faults that the witness found when free turns came, each by the least that shows it again.
"""

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from railbook.job.assemblies import Assembly
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, NEW, POST, WALL, Support
from tests.drawn.checks import findings, reading_of
from tests.drawn.finding import Finding
from tests.drawn.known import wrong
from tests.drawn.reading import BOTH_RAILS, BOTTOM_RAIL, CAP, TOP_RAIL, Reading, Sawn, Trimmed
from tests.drawn.saws import FAR, WALKING, Slant, flat_slant, rail_slants, sides_of
from tests.drawn.sites import ASKEW, FINE, Site, site
from tests.drawn.told import names
from tests.drawn.turned import CORNER, FACE, turned
from tests.small_jobs import PLAIN, WOOD, flight, level, stair

STEPS = (flight(7.5, 10.0),)  # 3 in 4
FIRST = level(60.0, run="A", direction=0.0)
NEXT = level(60.0, run="B", from_support="P2", to_support="P3", direction=45.0)
UP = stair(66.0, 49.5, upper_setback=3.0, direction=0.0)
HIGH = replace(WOOD, assembly="HIGH", level_height=42.0)


def job(*runs: Run, supports: tuple[Support, ...] = (), assemblies: tuple[Assembly, ...] = (WOOD,)) -> Reading:
    """The result of these runs."""
    return reading_of(Site(runs, STEPS, supports, assemblies, PLAIN))


def post(mark: str, bearing: float, **more: Any) -> Support:
    """A post that is set as typed."""
    return Support(support=mark, kind=POST, state=NEW, bearing=bearing, **more)


@pytest.mark.parametrize("turn", [22.5, 30.0, 45.0, 60.0, 120.0, 135.0])
@pytest.mark.parametrize("hand", [1, -1])
def test_two_level_runs_round_a_corner(turn: float, hand: int) -> None:
    """Posts of 3 1/2 and rails of 1 1/2: at every one of these turns both sides of a rail lie on the face."""
    assert findings(job(FIRST, replace(NEXT, direction=hand * turn % 360))) == []


@pytest.mark.parametrize("turn", [22.5, 45.0, 120.0, 135.0])
def test_a_flight_that_comes_to_a_tall_guard_askew(turn: float) -> None:
    """Its cap ends under that of the tall guard, turned and tilted, on the face of a post that has no sleeve."""
    tall = replace(HIGH, level_height=48.0, level_clearance=20.0)
    on = replace(NEXT, direction=turn, assembly="HIGH")

    assert wrong(job(UP, on, assemblies=(WOOD, tall))) == []


def test_where_a_post_stands_that_is_turned() -> None:
    """By hand: round 45 degrees a post of 3 1/2 is turned by 22 1/2, and 1.75 / cos 22.5 = 1.894 deep along both runs;
    square to A as before it was 1.75, and the cap of B was laid out as if it began there."""
    askew = job(FIRST, NEXT)

    assert askew.reached["B"].from_reach == pytest.approx(1.894, abs=0.0005)
    assert names(askew, "P2", "off the faces of post P2: run A 22.5 degrees, run B 22.5 degrees")


def test_two_runs_have_a_face_each() -> None:
    """Round 135 degrees, with a face on the bisector, both come to it 22 1/2 off: on a post of 3 1/2 their middles are
    1.75 tan 22.5 = 0.72 to either side, and their rails 0.81 to either side of that, so that they lap. With a corner on
    the bisector they are as much askew, on a face each."""
    sharp = job(FIRST, replace(NEXT, direction=135.0))
    row = sharp.post("P2")

    assert row is not None
    assert row.turned.startswith(CORNER)
    assert findings(sharp) == []


def test_three_runs_within_a_square_turn_are_told() -> None:
    """Two of three that are 45 degrees apart share a face, whatever the bearing."""
    third = replace(NEXT, run="C", to_support="P4", direction=90.0)
    within = job(replace(FIRST, direction=180.0), NEXT, third)

    assert any("Top rail" in name for found in findings(within) for name in found.where)
    assert wrong(within) == []


def test_two_rails_on_one_face_are_told() -> None:
    """The same post with a bearing of its own: a face looks along the bisector of the two."""
    sharp = job(FIRST, replace(NEXT, direction=135.0), supports=(post("P2", 157.5),))

    assert any(found.where == ("Top rail A.1", "Top rail B.1") for found in findings(sharp))
    assert wrong(sharp) == []
    assert names(sharp, "P2", "the rails of runs A and B lap beside the post")


def test_a_run_that_would_meet_a_corner_is_refused_and_no_other() -> None:
    """Round 150 degrees the post is 30 off both, and holds 3.5 (cos 30 - sin 30) = 1.28: less than a rail."""
    back = job(FIRST, replace(NEXT, direction=150.0))

    assert [run.run for run in back.refused] == ["A", "B"]
    assert wrong(back) == []


@pytest.mark.parametrize("turn", [30.0, 45.0])
def test_a_cap_ends_under_another_with_its_nearest_corner(turn: float) -> None:
    """A flight's cap falls from the post: where its end lies askew on the face, a corner of it is nearer to the post
    than its middle, and higher. At every height of the level guard it is clear of its cap, or told."""
    on = replace(NEXT, direction=turn, assembly="HIGH")
    heights = [36.0 + step / 4 for step in range(24)]
    readings = [job(UP, on, assemblies=(WOOD, replace(HIGH, level_height=height))) for height in heights]

    assert [(height, those) for height, each in zip(heights, readings, strict=True) if (those := wrong(each))] == []


def test_a_low_cap_and_the_rails_beside_it() -> None:
    """Caps of 7 1/2 between posts that stand proud, round 120 degrees: the lower one reaches under the higher rail."""
    proud = replace(WOOD, post_proud=1.0, cap_width=7.5)
    high = replace(proud, assembly="HIGH", level_height=39.0)
    apart = job(FIRST, replace(NEXT, direction=120.0, assembly="HIGH"), assemblies=(proud, high))

    assert findings(apart) != []
    assert wrong(apart) == []
    assert names(apart, "P2", "the cap of run A laps the rails of run B beside the post")


def test_a_post_stands_proud_of_the_higher_of_two_flights() -> None:
    """One rises to the post, and ends at its downhill face; the other leaves it, an inch and more higher there."""
    leaving = replace(UP, run="T", from_support="P2", to_support="P3", direction=90.0, assembly="PROUD")
    proud = replace(WOOD, assembly="PROUD", post_proud=1.0)

    assert wrong(job(UP, leaving, assemblies=(WOOD, proud))) == []


@pytest.mark.parametrize(("overhang", "told"), [(0.0, 1), (0.34, 1), (0.375, 0), (1.0, 0)])
def test_a_cap_that_ends_before_the_far_corner_is_told(overhang: float, told: int) -> None:
    """A post turned by 22 1/2 reaches 1.75 (cos + sin) = 2.287 from its middle: 0.393 past its far face, 1.894."""
    short = job(FIRST, supports=(post("P2", 22.5),), assemblies=(replace(WOOD, cap_overhang=overhang),))

    assert wrong(short) == []
    assert names(short, "P2", "does not cover post P2") == bool(told)


def test_a_standing_post_is_not_sawn_off_below_its_highest_corner() -> None:
    """A flight of 3 in 4 meets a post of 3 1/2 22 1/2 off: its highest corner is 1.75 (cos + sin - 1 / cos) = 0.392
    further up than the middle of its face, and 0.294 higher."""
    old = post("P2", 22.5)
    reading = job(UP, supports=(replace(old, state=EXISTING, standing_height=60.0),))
    row = reading.post("P2")

    assert row is not None
    assert row.needed == pytest.approx((row.post_uphill or 0.0) + 5 / 16)
    assert wrong(reading) == []


def test_a_wall_that_is_met_askew() -> None:
    wall = Support(support="P2", kind=WALL, bearing=150.0)

    assert findings(job(FIRST, supports=(wall,))) == []
    assert findings(job(UP, supports=(wall,))) == []


def test_directions_of_posts() -> None:
    """Of runs that leave along 0 and 90 a face on the bisector looks along 45, and a corner there makes it square."""
    reading = job(FIRST, replace(NEXT, direction=270.0))
    row = reading.post("P2")
    assert row is not None
    for words, look in ((f"{FACE}A, B", (-1.0, -1.0)), (f"{CORNER}A, B", (0.0, 1.0))):
        said = reading._replace(trimmed=(row._replace(turned=words),))
        stands = turned(said, "P2")
        assert stands is not None
        wanted = np.array((*look, 0.0)) / math.hypot(*look)
        assert max(float(each @ wanted) for each in stands.looks) == pytest.approx(1.0)


def sawn(saw: str, cut: float, tilt: float = 0.0) -> Sawn:
    """A board of 60 whose upper end is cut so."""
    return Sawn(TOP_RAIL, ("A.1",), 1, 60.0, 60.0, 0.0, cut, saw, 59.0, WALKING, 0.0, tilt)


def test_what_a_saw_cuts() -> None:
    """By hand: turned by 22 1/2 a rail gains 0.4142 for each unit across. On its side, turned to a slope of 3 in 4 and
    tilted by as much, it is plumb and gains as much level: 1 1/4 times that along the slope. A cap flat, turned by
    atan(0.4142 x 1.25) and tilted by asin(cos 22.5 x 3/5): the same plane."""
    assert rail_slants(sawn(f"upper: turn, {WALKING} long", -22.5))[1] == pytest.approx((0.4142, 0.0), abs=1e-4)
    on_its_side = sawn(f"on its side: lower: turn; upper: turn and tilt, {FAR} long", 36.8699, 22.5)
    assert rail_slants(on_its_side)[1] == pytest.approx((-0.5178, 0.75), abs=1e-4)
    assert flat_slant(f"turn and tilt, {WALKING} long", 27.3733, 33.6644, 1) == pytest.approx((0.5178, 0.75), abs=1e-4)
    assert rail_slants(sawn("", 0.0))[1] == Slant()
    assert list(sides_of(on_its_side)) == [59.0, 60.0]


EIGHTH, DEGREE = 1 / 8, 1.0
SITES = 40
Change = Callable[[Any], Any]


def _askew_rail(row: Any) -> bool:
    return isinstance(row, Sawn) and row.part in (TOP_RAIL, BOTTOM_RAIL, BOTH_RAILS) and row.other_edge is not None


def _compound(row: Any, *parts: str) -> bool:
    return isinstance(row, Sawn) and row.part in parts and bool(row.upper_tilt) and "tilt" in row.saw


def _swapped(words: str) -> str:
    return words.replace(WALKING, "?").replace(FAR, WALKING).replace("?", FAR)


def _turned_otherwise(row: Trimmed) -> Trimmed:
    words = (FACE, CORNER) if row.turned.startswith(FACE) else (CORNER, FACE)
    return row._replace(turned=row.turned.replace(*words))


CHANGES: dict[str, tuple[str, Callable[[Any], bool], Change]] = {
    "the longer side": ("sawn", _askew_rail, lambda row: row._replace(length=row.length + EIGHTH)),
    "the shorter side": ("sawn", _askew_rail, lambda row: row._replace(other_edge=row.other_edge - EIGHTH)),
    "which side is longer": ("sawn", _askew_rail, lambda row: row._replace(long_edge=_swapped(row.long_edge))),
    "the hand of its cuts": ("sawn", _askew_rail, lambda row: row._replace(saw=_swapped(row.saw))),
    "the cut of a rail": ("sawn", _askew_rail, lambda row: row._replace(upper_cut=row.upper_cut + DEGREE)),
    "the tilt of a rail": (
        "sawn", lambda row: _compound(row, TOP_RAIL, BOTTOM_RAIL, BOTH_RAILS),
        lambda row: row._replace(upper_tilt=row.upper_tilt + DEGREE),
    ),
    "the tilt of a cap": (
        "sawn", lambda row: _compound(row, CAP), lambda row: row._replace(upper_tilt=row.upper_tilt + DEGREE),
    ),
    "the turn of a cap": (
        "sawn", lambda row: _compound(row, CAP) and row.upper_cut,
        lambda row: row._replace(upper_cut=row.upper_cut + DEGREE),
    ),
    "a face for a corner": (
        "trimmed", lambda row: row.turned.startswith((FACE, CORNER)), _turned_otherwise,
    ),
    "how a post is set": ("trimmed", lambda row: bool(row.turned), lambda row: row._replace(turned="")),
}  # fmt: skip


@cache
def results() -> tuple[tuple[Reading, frozenset[Finding]], ...]:
    """Results of askew sites, each with what the witness finds in it as it is."""
    readings = [reading_of(site(seed, replace(ASKEW, steps=(FINE,)))) for seed in range(SITES)]
    return tuple((reading, frozenset(findings(reading))) for reading in readings)


def changed(reading: Reading, what: str) -> Iterator[Reading]:
    """Copies of a result, each with that figure changed in one row that has it."""
    tab, applies, change = CHANGES[what]
    rows = getattr(reading, tab)
    for at, row in enumerate(rows):
        if applies(row):
            others: dict[str, Any] = {tab: (*rows[:at], change(row), *rows[at + 1 :])}
            yield reading._replace(**others)


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_figure_of_an_askew_end_is_reported(what: str) -> None:
    draw, tried = random.Random(what), 0
    for reading, found in results():
        if copies := list(changed(reading, what)):
            assert set(findings(draw.choice(copies))) - found
            tried += 1

    assert tried >= 3
