"""The witness itself, on what was worked by hand: solids that lap, and where supports stand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from railbook.job.runs import LEVEL, MEETS, Run
from tests.drawn.checks import reading_of
from tests.drawn.ground import Ground, place
from tests.drawn.measured import taped
from tests.drawn.reading import Reading
from tests.drawn.sites import Kinds, Site, site
from tests.drawn.solids import Plane, Solid, across, depth, frame, laps
from tests.drawn.stacks import Face
from tests.drawn.tops import OPEN, UNDER_CAP, top_of
from tests.drawn.witness import draw
from tests.small_jobs import PLAIN, WOOD, flight, level, ramp, stair

SIXTEENTH = 1 / 16
X, Z = np.array((1.0, 0.0, 0.0)), np.array((0.0, 0.0, 1.0))


def box(x: float, z: float, *, bearing: float = 90.0) -> Solid:
    """A cube of 2 with its middle there."""
    drawing = frame((x, 0.0, z), bearing)
    return drawing.solid(*across(-1.0, 1.0), *(Plane(way * side, way * side) for way in (X, Z) for side in (-1, 1)))


def test_a_cube_has_eight_corners() -> None:
    corners = box(5.0, 0.0).corners

    assert len(corners) == 8
    assert sorted({tuple(corner) for corner in corners.round(9).tolist()}) == [
        (x, y, z) for x in (4.0, 6.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)
    ]


@pytest.mark.parametrize(
    ("x", "z", "deep"), [(2 - SIXTEENTH, 0.0, SIXTEENTH), (2.0, 1.0, 0.0), (2.5, 0.0, -0.5), (0.0, 0.0, 2.0)]
)
def test_how_deep_two_cubes_reach(x: float, z: float, deep: float) -> None:
    assert depth(box(0.0, 0.0), box(x, z)) == pytest.approx(deep, abs=1e-7)


def test_a_cube_on_its_edge() -> None:
    """Turned by 45 degrees in plan it reaches sqrt 2 from its middle; an edge that goes 0.1 into a face leaves a wedge
    of a right angle, in which the thickest ball is 2 x 0.1 / (1 + sqrt 2)."""
    other = box(1.0 + math.sqrt(2) - 0.1, 0.0, bearing=45.0)

    assert depth(box(0.0, 0.0), other) == pytest.approx(0.2 / (1 + math.sqrt(2)), abs=1e-7)


def test_laps_are_told_beyond_what_is_allowed() -> None:
    cubes = [box(0.0, 0.0), box(2 - SIXTEENTH, 0.0), box(4.0, 0.0), box(4.0, 1.9)]

    assert [(lap.one, lap.other) for lap in laps(cubes, 0.05)] == [(0, 1), (2, 3)]
    assert [(lap.one, lap.other) for lap in laps(cubes, 0.07)] == [(2, 3)]


def test_a_leaning_face_is_met_lower_down_a_slope() -> None:
    """A face through (0, 3) that loses 1 in 10: a line 11 over the origin that rises 1 in 2 crosses it where
    x = -(11 + x / 2 - 3) / 10, so x = -8 / 10.5."""
    face = Face(0.0, 3.0, -0.1)

    assert face.on(11.0, 0.5) == pytest.approx(-8 / 10.5)
    assert face.at(13.0) == -1.0


def result(*runs: Run) -> Reading:
    """The result of these runs, with a flight of seven risers of 7 1/2 on treads of 10."""
    return reading_of(Site(runs, (flight(7.5, 10.0),), (), (WOOD,), PLAIN))


def ground(*runs: Run) -> Ground:
    """Where their supports stand."""
    return place(result(*runs))


def test_supports_of_an_l_with_a_flight_down() -> None:
    """By hand: 60 east from P1, posts 3 1/2, so P2 is 63.5 east; 40 north, so P3 is 43.5 north of it. A flight of 7
    risers arrives at P1 from the west, 66 long at 3 in 4: its top nosing is 3 before P1's face and level with the deck,
    its lowest 60 further down: 45 lower, and a riser of 7 1/2 over the lower floor."""
    up = stair(66.0, 49.5, from_support="P0", to_support="P1", lower_setback=3.0, upper_setback=3.0, direction=90.0)
    along, on = level(60.0, direction=90.0), level(40.0, run="B", from_support="P2", to_support="P3", direction=0.0)
    stands = ground(replace(up, height=MEETS), along, on).stands

    assert stands["P2"].foot - stands["P1"].foot == pytest.approx((63.5, 0.0, 0.0))
    assert stands["P3"].foot - stands["P2"].foot == pytest.approx((0.0, 43.5, 0.0), abs=1e-9)
    assert stands["P1"].foot - stands["P0"].foot == pytest.approx((69.5, 0.0, 52.5))


def test_a_ramp_begins_at_its_setback() -> None:
    """By hand: 1 in 12 over 96 of a clear of 100, so the landing is 8 higher."""
    run = ramp(100.0, 100 / 12, lower_setback=4.0, direction=0.0)
    stands = ground(replace(run, rise=8.3125)).stands

    assert stands["P2"].foot[2] == pytest.approx(8.3125 * 0.96)


def test_the_run_that_closes_a_loop_is_not_placed() -> None:
    corners = [("P1", "P2", 0.0), ("P2", "P3", 90.0), ("P3", "P4", 180.0), ("P4", "P1", 270.0)]
    runs = [
        level(60.0, run=f"R{at}", from_support=low, to_support=high, direction=bearing)
        for at, (low, high, bearing) in enumerate(corners)
    ]
    assert ground(*runs).unplaced == {"R3": "closes a loop"}


def test_a_flight_without_setbacks_is_not_placed() -> None:
    reading = result(stair(66.0, 49.5))

    assert taped(reading, replace(reading.runs[0], lower_setback=None)) == "no setbacks or no flight"


def test_tops_are_under_their_cap_or_open() -> None:
    """A cap that is cut a foot short leaves the far post open."""
    reading = result(level(60.0))
    caps = [row for row in reading.sawn if row.part == "Cap board"]
    others = [row for row in reading.sawn if row.part != "Cap board"]
    short = [row._replace(tip_to_tip=row.tip_to_tip - 12.0) for row in caps]

    for sawn, states in ((caps, [UNDER_CAP, UNDER_CAP]), (short, [UNDER_CAP, OPEN])):
        drawn = draw(reading._replace(sawn=(*others, *sawn)))
        assert [top_of(drawn, post).state for post in drawn.posts] == states


def test_sites_are_drawn_alike_for_a_seed_and_differ_between_seeds() -> None:
    assert site(7) == site(7)
    assert all(site(seed).runs != site(seed + 1).runs for seed in range(40))


def test_sites_hold_every_kind_of_run_both_ways_and_every_end() -> None:
    sites = [site(seed) for seed in range(100)]
    runs = [run for each in sites for run in each.runs]

    assert {run.kind for run in runs} == {LEVEL, "Stair", "Ramp"}
    assert {len(each.runs) for each in sites} == {1, 2, 3, 4}
    assert {run.from_support == "P1" for run in runs if run.kind != LEVEL} == {True, False}
    assert {support.kind for each in sites for support in each.supports} == {"Wall", "Post"}
    assert {run.height for run in runs if run.kind != LEVEL} == {"Own", MEETS}


def test_other_kinds_of_sites_are_asked_for() -> None:
    wide = [site(seed, Kinds(turns=(22.5,), assemblies=2, branches=True)) for seed in range(20)]

    assert any(len({run.assembly for run in each.runs}) == 2 for each in wide)
    assert any(run.run == "R9" for each in wide for run in each.runs)
