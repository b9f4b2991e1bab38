"""Stairs and ramps: what no check looks at is told, with the figure that mends it."""

from dataclasses import replace
from typing import Any

import pytest

from railbook.basics.problem import LOOK, Problem
from railbook.checks import demands
from railbook.checks.check import FAIL, NOT_MEASURED, NOT_REQUIRED
from railbook.checks.raked import raked_problems, sphere_behind_nosing
from railbook.geometry.survey import lay_out_site
from railbook.job.runs import BARE, CLOSED, HANDRAIL, MEETS, Run
from tests.small_jobs import COMPOSITE, WOOD, flight, level, ramp, stair, work

STEPS = flight(7.75, 10.0)
SLOPE = 0.775


def told(*runs: Run, **more: Any) -> list[Problem]:
    """What is told of these runs."""
    worked = work(*runs, **{"flights": (STEPS,), **more})
    return list(raked_problems(lay_out_site(worked.job, worked.choices.site)))


def up(setback: float, **changes: Any) -> Run:
    """A flight of seven risers whose upper post stands so far back."""
    clear = 3.0 + 60.0 + setback
    return stair(clear, clear * SLOPE, upper_setback=setback, **changes)


# behind the top nosing


@pytest.mark.parametrize(
    ("setback", "passes"), [(1.25, 1.295), (4.0, 2.697), (7.0, 4.227), (12.0, 6.776), (6.555, 4.0), (7.291, 4.375)]
)
def test_sphere_behind_the_top_nosing(setback: float, passes: float) -> None:
    """Drawn circles at 7 3/4 in 10, the rail 1 in over the nosings; a 4 in sphere passes from 6.555 on."""
    found = sphere_behind_nosing(clearance=1.0, setback=setback, tangent=SLOPE)

    assert found == pytest.approx(passes, abs=0.0006)


HIGH = replace(WOOD, stair_clearance=1.0)


def test_a_post_too_far_back_is_told_with_the_setback_that_passes() -> None:
    """(3 15/16 x (1 + 0.775 + 1.2652)/2 - 1)/0.775 = 6.433: 6 7/16 would be over it."""
    assert told(up(6.5), assemblies=(HIGH,)) == []
    (problem,) = told(up(7.0), assemblies=(HIGH,))

    assert problem.severity == LOOK
    assert 'sphere of 4 1/4" passes behind the top nosing' in problem.what  # 4.227
    assert 'a setback of at most 6 3/8"' in problem.remedy
    assert told(up(6.375), assemblies=(HIGH,)) == []


def test_where_no_guard_is_required_no_sphere_is_asked_for() -> None:
    assert told(up(7.0, drop=12.0), assemblies=(HIGH,)) == []


# open risers


def test_open_risers_are_told() -> None:
    (problem,) = told(up(2.0), flights=(replace(STEPS, open_risers="Yes"),))

    assert "the opening between its treads is not looked at" in problem.what


# ramps


RAIL = Run(run="H", kind=HANDRAIL, assembly="WOOD", clear_bottom=60.0, rise=6.0)


def test_a_ramp_steeper_than_1_in_12_needs_a_handrail() -> None:
    """IRC 2021 R311.8.3, from memory: more than 1 in 12."""
    (problem,) = told(ramp(60.0, 6.0), flights=())

    assert "(1 in 10.00) and has no handrail" in problem.what
    assert told(ramp(60.0, 5.0), flights=()) == []
    assert told(ramp(60.0, 6.0), flights=(), assemblies=(replace(WOOD, cap_graspable="Yes"),)) == []
    high = replace(WOOD, cap_graspable="Yes", level_height=42.0)  # out of reach: 34 to 38 in (IRC 2021 R311.7.8.1)
    assert len(told(ramp(60.0, 6.0), flights=(), assemblies=(high,))) == 1


def test_a_handrail_of_its_slope_mends_it_and_one_of_another_does_not() -> None:
    assert told(ramp(60.0, 6.0), RAIL, flights=()) == []
    assert len(told(ramp(60.0, 6.0), replace(RAIL, rise=20.0), flights=())) == 1


# Closed


def verdicts(*runs: Run, **more: Any) -> dict[str, str]:
    """Verdicts of the first demands of a run."""
    worked = work(*runs, **more)
    return {row.asked.what: row.verdict for row in worked.rows["code_checks"]}


LOW = replace(WOOD, level_height=30.0, stair_height=30.0)


def test_closed_is_believed_of_a_stair_without_a_drop_only() -> None:
    beside_a_wall = up(2.0, stair_side=CLOSED, drop=None)

    found = verdicts(beside_a_wall, flights=(STEPS,), assemblies=(LOW,))
    assert found[demands.GUARD_HEIGHT.what] == found[demands.GUARD_NEEDED.what] == NOT_REQUIRED
    assert told(beside_a_wall) == []


@pytest.mark.parametrize(
    "run", [level(60.0, stair_side=CLOSED), ramp(60.0, 4.0, stair_side=CLOSED), up(2.0, stair_side=CLOSED)]
)
def test_closed_beside_a_drop_passes_nothing_in_silence(run: Run) -> None:
    found = verdicts(run, flights=(STEPS,), assemblies=(LOW,))
    (problem,) = [each for each in told(run) if "Closed" in each.what]

    assert found[demands.GUARD_HEIGHT.what] == FAIL
    assert problem.severity == LOOK


def test_closed_on_the_level_without_a_drop_is_not_measured() -> None:
    run = level(60.0, stair_side=CLOSED, drop=None)

    assert verdicts(run, assemblies=(LOW,))[demands.GUARD_NEEDED.what] == NOT_MEASURED
    assert verdicts(run, assemblies=(LOW,))[demands.GUARD_HEIGHT.what] == FAIL


# the greatest tread in the triangle


@pytest.mark.parametrize(
    ("measured", "passes"), [({}, 5.937), ({"greatest_tread": 10.375}, 6.128), ({"greatest_riser": 8.125}, 6.184)]
)
def test_one_long_tread_opens_the_triangle(measured: dict[str, Any], passes: float) -> None:
    """Drawn circles at 7 3/4 in 10, clearance 1/2, overhang 1 in."""
    steps = replace(STEPS, nosing_overhang=1.0, **measured)
    worked = work(up(2.0), flights=(steps,))

    assert worked.only("lines").triangle.triangle == pytest.approx(passes, abs=0.0006)
    assert worked.check(demands.TRIANGLE).verdict == (FAIL if passes >= 6.0 else "pass")


def test_smaller_risers_do_not_mend_a_long_tread() -> None:
    """No rail is low enough: 10 7/8 x 0.775 + 0.775 is 9.2, and the circle is 6 in at 9.12 x 0.987."""
    steps = replace(STEPS, nosing_overhang=1.0, greatest_tread=11.0)
    check = work(up(2.0), flights=(steps,)).check(demands.TRIANGLE)

    assert check.remedy == (
        "even a rail on the nosings would not pass: smaller risers and even treads, or close the triangle"
    )


# two sides of a flight, and the notch under the level cap


def test_the_height_that_makes_both_sides_alike_is_named_and_passes() -> None:
    """Meeting a level guard of 36 1/2 in line: 36.5 + 0.25 - (3 + 1 3/4) x 3/4 = 33 3/16; the other side has 36."""
    other = replace(WOOD, assembly="OTHER")
    low = stair(60.0, 45.0, run="L", from_support="P3", to_support="P4", assembly="OTHER")
    meets = stair(60.0, 45.0, from_support="P5", to_support="P1", upper_setback=3.0, height=MEETS)
    runs = level(60.0, direction=0.0), low, replace(meets, direction=0.0)
    sevens = flight(7.5, 10.0)
    (problem,) = [each for each in told(*runs, flights=(sevens,), assemblies=(WOOD, other)) if "differ" in each.what]

    assert 'the stair guard height of assembly OTHER to 33 3/16"' in problem.remedy
    mended = (WOOD, replace(other, stair_height=33.1875))
    assert not [each for each in told(*runs, flights=(sevens,), assemblies=mended) if "differ" in each.what]


@pytest.mark.parametrize(("fit", "notch"), [(0.0, '1/2"'), (0.25, '5/16"')])
def test_the_notch_is_told_where_the_rail_ends(fit: float, notch: str) -> None:
    """Flush round a corner the rail rises (5 1/2 - 3 1/2)/2 x 3/4 - 1 x (5/4 - 1) = 1/2 into the overhang at the face,
    less 3/4 of what it stops short of it."""
    bracketed = replace(WOOD, bracket_fit=fit)
    up_to_it = stair(60.0, 45.0, to_support="P1", from_support="P5", upper_setback=1.75, height=MEETS, direction=90.0)
    runs = level(60.0, direction=0.0), up_to_it
    (problem,) = [
        each for each in told(*runs, flights=(flight(7.5, 10.0),), assemblies=(bracketed,)) if "overhang" in each.what
    ]
    assert notch in problem.what


def test_a_return_that_leaves_no_room_for_a_hand_is_told() -> None:
    """2 1/2 less a rail of 1 1/2 is 1 in; 1 1/2 are asked for (IRC 2021 R311.7.8.3, from memory)."""
    rail = Run(run="H", kind=HANDRAIL, assembly="WOOD", clear_bottom=60.0)
    short = replace(WOOD, handrail_return=2.5)
    wall = level(60.0)
    (problem,) = told(wall, rail, flights=(), assemblies=(short,))

    assert 'return of 2 1/2" leaves no hand room' in problem.what
    assert told(wall, rail, flights=()) == []


def test_the_setback_to_a_bare_post_is_named_as_it_is_taped() -> None:
    """Its sleeve takes (4 1/2 - 3 1/2)/2: taped to the bare post 7 1/2, of which 7 is left; 6 3/8 + 1/2 passes."""
    sleeved = replace(COMPOSITE, stair_clearance=1.0)
    bare = {"assembly": sleeved.assembly, "measured_to": BARE, "lower_setback": 3.5}

    def taped(setback: float) -> Run:
        clear = 3.5 + 60.0 + setback
        return stair(clear, clear * SLOPE, upper_setback=setback, **bare)

    (problem,) = [each for each in told(taped(7.5), assemblies=(sleeved,)) if "nosing" in each.what]
    assert 'a setback of at most 6 7/8"' in problem.remedy
    assert not [each for each in told(taped(6.875), assemblies=(sleeved,)) if "nosing" in each.what]
