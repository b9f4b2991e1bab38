"""Stairs and the residential code against published and hand-worked figures, through the whole engine.

Clauses are those of the International Residential Code, 2018 edition, unless said otherwise; "from memory"
marks what was not at hand in print.
"""

import math
from dataclasses import replace
from typing import Any

import pytest
import shapely

from railbook.checks.check import CLOSE, FAIL, IN_DOUBT, NOT_MEASURED, NOT_REQUIRED, PASS, REQUIRED
from railbook.checks.demands import (
    GUARD_HEIGHT,
    GUARD_NEEDED,
    HANDRAIL,
    HANDRAIL_HIGH,
    OPENING,
    RISER,
    RISER_SPREAD,
    TREAD,
    TRIANGLE,
    TRIANGLE_DOUBT,
    UNDER_RAIL,
)
from railbook.job.flights import Flight
from railbook.job.starters import assemblies
from tests.small_jobs import WOOD, Worked, flight, level, stair, work

LONG = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)


def steps(riser: float, tread: float, *, clearance: float = 0.0, **changes: Any) -> Worked:
    """Six treads of stairs with one guard, its bottom rail that far above the nosings."""
    made = replace(LONG, stair_clearance=clearance)
    run = stair(6 * tread, 6 * riser)
    return work(run, assemblies=(made,), flights=(flight(riser, tread, **changes),))


# total rise, risers, one riser [in]
@pytest.mark.parametrize(
    ("total", "risers", "riser"),
    [
        (107.0, 15, 107 / 15),  # NAVEDTRA 14044 ch. 6: 8'-11" divided by 7, the fraction dropped; 7.1333
        (94.0, 13, 94 / 13),  # a carpentry textbook, 7'-10": 7.2308
        (45.0, 6, 7.5),  # the same
        (31.0, 4, 7.75),  # derived
    ],
)
def test_riser_from_the_total_rise(total: float, risers: int, riser: float) -> None:
    typed = Flight(flight="F1", risers=risers, total_rise=total, tread=10.375)
    worked = work(stair(60.0, 60.0 * riser / 10.375), assemblies=(LONG,), flights=(typed,))

    assert worked.only("flight_working").riser == pytest.approx(riser)
    assert worked.check(RISER).verdict == PASS


def test_rounded_unit_run_of_the_navy_example() -> None:
    """7-1/8 and 10-3/8 by the rule rise + run = 17-1/2 (NAVEDTRA 14044; run from memory): 34.48 degrees, and
    14 treads run 145.25 in."""
    worked = steps(7.125, 10.375, risers=15)

    assert worked.only("lines").measures.slope_angle == pytest.approx(34.48, abs=0.005)
    assert 14 * 10.375 == 145.25


def test_31_inches_in_four_risers_is_exactly_the_greatest_riser_and_needs_a_handrail() -> None:
    """4 x 7.75 = 31: floating point must not make it a failure, and four risers ask for a handrail (R311.7.8)."""
    typed = Flight(flight="F1", risers=4, total_rise=31.0, tread=10.0)
    worked = work(stair(30.0, 23.25), assemblies=(LONG,), flights=(typed,))

    assert worked.check(RISER).verdict == PASS
    assert worked.check(HANDRAIL).limit == 1
    assert worked.check(HANDRAIL).verdict == FAIL  # a flat 2x6 cannot be grasped: R311.7.8.5, type II


def test_three_risers_need_no_handrail() -> None:
    """R311.7.8 asks for one on flights with four or more risers."""
    worked = steps(7.5, 10.0, risers=3)

    assert (worked.check(HANDRAIL).limit, worked.check(HANDRAIL).verdict) == (0, PASS)


def test_no_starting_cap_can_be_grasped() -> None:
    """R311.7.8.5: round 1-1/4 to 2 in, or perimeter 4 to 6-1/4 in with at most 2-1/4 across, or recessed for the
    fingers. A flat 2x6 or 5/4x6 has a perimeter of 13 in or more and no recess."""
    assert all(2 * (each.cap_width or 0.0) + 2 * (each.cap_thickness or 0.0) >= 13.0 for each in assemblies("in"))
    assert {each.cap_graspable for unit in ("in", "mm") for each in assemblies(unit)} == {"No"}


def test_rake_of_six_treads_at_the_steepest_stair() -> None:
    """7-3/4 on 10 in over 60 in: 75.9095 in along the nosings at 37.7757 degrees (derived)."""
    measures = steps(7.75, 10.0).only("lines").measures

    assert measures.along == pytest.approx(75.9095, abs=5e-5)
    assert measures.slope_angle == pytest.approx(37.7757, abs=5e-5)


# riser, tread; sphere with the rail on the nosings; clearance at which it is exactly 6 in (derived from the
# incircle of the right triangle; R312.1.3 exception 1 sets the 6 in). Nosings without overhang.
TRIANGLES = (
    (7.5, 10.0, 5.0, 1.5),
    (7.75, 10.0, 5.0984, 1.3705),
    (7.0, 11.0, 4.9616, 1.4650),
    (7.5, 11.0, 5.1865, 1.1764),
    (8.25, 9.0, 5.0409, 1.5697),
    (6.5, 12.0, 4.8527, 1.5368),
)


@pytest.mark.parametrize(("riser", "tread", "sphere", "clearance"), TRIANGLES)
def test_triangle_of_riser_tread_and_bottom_rail(riser: float, tread: float, sphere: float, clearance: float) -> None:
    on_nosings = steps(riser, tread).only("lines").triangle
    at_limit = steps(riser, tread, clearance=clearance).only("lines").triangle

    assert on_nosings.triangle == pytest.approx(sphere, abs=5e-5)
    assert on_nosings.clearance_passing == pytest.approx(clearance, abs=5e-5)
    assert at_limit.triangle == pytest.approx(6.0, abs=1e-4)


@pytest.mark.parametrize(("riser", "tread", "sphere", "clearance"), TRIANGLES)
def test_triangle_agrees_with_the_largest_circle_found_by_search(
    riser: float, tread: float, sphere: float, clearance: float
) -> None:
    """A geometry library searches the triangle itself; it knows no formula of ours."""
    del clearance
    triangle = shapely.Polygon([(0.0, 0.0), (tread, 0.0), (tread, riser)])
    searched = 2 * shapely.maximum_inscribed_circle(triangle, tolerance=1e-7).length

    assert steps(riser, tread).only("lines").triangle.triangle == pytest.approx(searched, abs=1e-5)
    assert searched == pytest.approx(sphere, abs=5e-5)


@pytest.mark.parametrize(("riser", "tread"), [each[:2] for each in TRIANGLES])
def test_two_inches_over_the_nosings_fail_on_every_usual_stair(riser: float, tread: float) -> None:
    """6.25 to 6.57 in, all above 6 in (derived)."""
    check = steps(riser, tread, clearance=2.0).check(TRIANGLE)

    assert check.found is not None
    assert 6.25 <= round(check.found, 2) <= 6.57
    assert check.verdict == FAIL


def test_exactly_six_inches_lets_the_sphere_through() -> None:
    """7-1/2 on 10 in with 1-1/2 in of clearance: exactly 6 in, so it fails (3-4-5 triangles, by hand)."""
    assert steps(7.5, 10.0, clearance=1.5).check(TRIANGLE).verdict == FAIL
    assert steps(7.5, 10.0, clearance=1.46875).check(TRIANGLE).verdict == CLOSE  # by less than 1/16
    assert steps(7.5, 10.0, clearance=1.375).check(TRIANGLE).verdict == PASS


def test_overhang_makes_the_triangle_bigger() -> None:
    """With the nosing q in front of the riser the legs grow to R + k + q t and that over t (derived): 1 in of
    overhang on 7-1/2 on 10 in with 3/4 in of clearance is 9 + 12 - 15 = 6."""
    assert steps(7.5, 10.0, clearance=0.75, nosing_overhang=1.0).only("lines").triangle.triangle == pytest.approx(6.0)


def test_unmeasured_overhang_leaves_a_doubt_not_a_pass() -> None:
    """At 3/4 in of clearance 7-1/2 on 10 in passes flush (5.5 in); with 1-1/4 in of overhang it is 6.125 in."""
    worked = steps(7.5, 10.0, clearance=0.75, nosing_overhang=None)

    assert worked.check(TRIANGLE).found == pytest.approx(5.5)
    assert worked.check(TRIANGLE).verdict == PASS
    assert worked.check(TRIANGLE_DOUBT).found == pytest.approx(6.125)
    assert worked.check(TRIANGLE_DOUBT).verdict == IN_DOUBT


def test_open_risers_leave_no_triangle_to_excuse() -> None:
    """Without a riser there is no triangle, so the 4-3/8 in sphere governs (R312.1.3)."""
    check = steps(7.5, 10.0, open_risers="Yes").check(TRIANGLE)

    assert (check.limit, check.verdict) == (4.375, FAIL)


# R311.7.5.1: largest less smallest riser at most 3/8 in (the 3/8 also in WAC 246-359-520; the rest from memory)
@pytest.mark.parametrize(("greatest", "verdict"), [(7.875, PASS), (7.9, FAIL)])
def test_variation_of_risers(greatest: float, verdict: str) -> None:
    assert steps(7.5, 10.0, greatest_riser=greatest, least_riser=7.5).check(RISER_SPREAD).verdict == verdict


def test_unmeasured_variation_is_not_a_pass() -> None:
    assert steps(7.5, 10.0).check(RISER_SPREAD).verdict == NOT_MEASURED


def test_local_amendments_for_steep_stairs() -> None:
    """8-1/4 on 9 in is allowed in some states (Virginia, Montana and Pennsylvania amendments): 42.51 degrees."""
    plain = steps(8.25, 9.0)
    made = replace(LONG, stair_clearance=0.0)
    local = work(
        stair(54.0, 49.5), assemblies=(made,), flights=(flight(8.25, 9.0),),
        amendments={"riser_greatest": 8.25, "tread_least": 9.0},
    )  # fmt: skip

    assert local.only("lines").measures.slope_angle == pytest.approx(42.51, abs=0.005)
    assert [plain.check(RISER).verdict, plain.check(TREAD).verdict] == [FAIL, FAIL]
    assert [local.check(RISER).verdict, local.check(TREAD).verdict] == [PASS, PASS]


# R312.1.1: a guard where the drop is more than 30 in
@pytest.mark.parametrize(("drop", "verdict"), [(30.0, NOT_REQUIRED), (30.01, REQUIRED), (31.0, REQUIRED)])
def test_guard_is_required_above_30_inches(drop: float, verdict: str) -> None:
    assert work(level(60.0, drop=drop)).check(GUARD_NEEDED).verdict == verdict


def test_state_that_asks_for_guards_from_24_inches() -> None:
    """Wisconsin SPS 320-325 appendix B: the trigger is 24 in; entered as an amendment."""
    worked = work(level(60.0, drop=24.5), amendments={"guard_drop": 24.0})

    assert worked.check(GUARD_NEEDED).verdict == REQUIRED


# R312.1.2: 36 in on the level, 34 in on stairs; 34 to 38 in where the guard's top is the handrail
@pytest.mark.parametrize(("height", "verdict"), [(36.0, PASS), (35.9, FAIL)])
def test_level_guard_height(height: float, verdict: str) -> None:
    made = replace(LONG, level_height=height)

    assert work(level(60.0), assemblies=(made,)).check(GUARD_HEIGHT).verdict == verdict


@pytest.mark.parametrize(
    ("height", "as_guard", "as_handrail"),
    [(34.0, PASS, PASS), (38.0, PASS, PASS), (38.5, PASS, FAIL), (33.9, FAIL, PASS)],
)
def test_stair_guard_that_is_the_handrail(height: float, as_guard: str, as_handrail: str) -> None:
    made = replace(LONG, stair_height=height, cap_graspable="Yes")
    worked = work(stair(60.0, 45.0), assemblies=(made,), flights=(flight(7.5, 10.0),))

    assert worked.check(GUARD_HEIGHT).verdict == as_guard
    assert worked.check(HANDRAIL_HIGH).verdict == as_handrail


def test_voluntary_guard_is_held_to_no_dimension() -> None:
    """Height and opening limits bind required guards (reading of R312.1.1): a rail over a 20 in drop is free."""
    low = replace(LONG, level_height=30.0, level_clearance=5.0)
    worked = work(level(60.0, drop=20.0), assemblies=(low,))

    assert worked.check(GUARD_HEIGHT).verdict == NOT_REQUIRED
    assert worked.check(UNDER_RAIL).verdict == NOT_REQUIRED
    assert worked.check(OPENING).verdict == PASS


def test_level_opening_limit_is_4_and_stairs_4_and_three_eighths() -> None:
    """R312.1.3 and its exception 2."""
    assert work(level(60.0)).check(OPENING).limit == 4.0
    assert steps(7.5, 10.0).check(OPENING).limit == 4.375


def test_flight_of_commercial_pitch() -> None:
    """7 on 11 in, the steepest commercial stair (IBC 1011.5.2): 32.47 degrees."""
    assert steps(7.0, 11.0).only("lines").measures.slope_angle == pytest.approx(32.47, abs=0.005)
    assert math.degrees(math.atan(7 / 11)) == pytest.approx(32.47, abs=0.005)
