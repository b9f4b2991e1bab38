"""Finished jobs drawn in space: nothing laps, nothing gapes, on random sites and on the examples.

200 sites in every run, 2,000 with `--thorough`. What is set aside is named in
tests/drawn/known.py.
"""

import math
from dataclasses import replace

import pytest

from railbook.estimate import estimate
from railbook.job.runs import LEVEL, MEETS
from tests.drawn.carriers import BEND
from tests.drawn.checks import findings, reading_of
from tests.drawn.known import is_told_notch, wrong
from tests.drawn.reading import read
from tests.drawn.sites import ASKEW, COARSE, FINE, JOINED, TODAY, Kinds, Site, site
from tests.filled_form import EXAMPLES
from tests.small_jobs import PLAIN, WOOD, flight, level, stair

USUAL, THOROUGH = 200, 2000


def test_random_sites_stand_without_gap_or_lap(*, thorough: bool) -> None:
    seeds = range(THOROUGH if thorough else USUAL)

    assert {seed: those for seed in seeds if (those := wrong(reading_of(site(seed))))} == {}


@pytest.mark.parametrize("name", ["porch", "garden-ramp", "steep-stairs"])
def test_examples_stand_without_gap_or_lap(name: str) -> None:
    made = estimate(EXAMPLES / f"{name}.xlsx", seconds=0.0)

    assert wrong(read(made.rows)) == []


@pytest.mark.parametrize("kinds", [TODAY, JOINED, ASKEW], ids=["today", "joined", "askew"])
def test_posts_that_lean(kinds: Kinds) -> None:
    """At ends of level runs, flights and ramps, and between two or three runs, leaning one way or two: trimmed along
    their faces they come to the caps, and rails and caps end on them."""
    sites = [site(seed, replace(kinds, leaning=True)) for seed in range(USUAL // 4)]
    leaning = [each for each in sites if any(run.lean_from or run.lean_to for run in each.runs)]
    raked = [each for each in leaning if any((run.lean_from or run.lean_to) and run.kind != LEVEL for run in each.runs)]

    assert len(leaning) > len(raked) > 10
    assert [those for each in leaning if (those := wrong(reading_of(each)))] == []


def test_a_leaning_post_that_is_trimmed_as_if_it_stood_plumb_is_reported() -> None:
    """The schedule of the same site without its leans, where a flight or a ramp ends at the post."""
    seen = 0
    for seed in range(USUAL // 4):
        leaning = site(seed, Kinds(leaning=True, steps=(FINE,)))
        marks = {
            mark
            for run in leaning.runs
            for mark, lean in ((run.from_support, run.lean_from), (run.to_support, run.lean_to))
            if abs(lean or 0.0) >= 1.0 and run.kind != LEVEL
        }
        plumb = leaning._replace(runs=tuple(replace(run, lean_from=None, lean_to=None) for run in leaning.runs))
        reading, upright = reading_of(leaning), reading_of(plumb)
        trimmed = tuple(upright.post(row.post) or row if row.post in marks else row for row in reading.trimmed)
        if marks and any(row.stands != BEND for row in trimmed if row.post in marks):
            seen += 1
            found = wrong(reading._replace(trimmed=trimmed))
            assert any(each.check == "post top" and each.where[0] in marks for each in found)
    assert seen > 5


def test_posts_that_stand_proud_in_line() -> None:
    """Round a corner see tests/test_drawn_later.py."""
    sites = [site(seed, Kinds(proud=True, turns=(0.0,))) for seed in range(USUAL // 4)]

    assert any(each.assemblies[0].post_proud is not None for each in sites)
    assert [those for each in sites if (those := wrong(reading_of(each)))] == []


def test_rails_and_balusters_where_two_tapes_differ() -> None:
    """Without a lean that anybody recorded caps have no place, but rails fill what was taped at their own height."""
    of_rails = ("rail end", "balusters", "block", "guard height", "cut list")
    readings = [reading_of(site(seed, Kinds(unlike=True))) for seed in range(USUAL // 4)]

    assert any(run.clear_top != run.clear_bottom for reading in readings for run in reading.runs if run.kind == LEVEL)
    assert [found for reading in readings for found in wrong(reading) if found.check in of_rails] == []


def test_two_flights_in_line_a_tread_apart() -> None:
    """Setbacks and post between the last nosing of one and the first of the other are a tread: 3 1/4 + 3 1/2 + 3 1/4,
    so that one straightedge lies on both, and their caps run through."""
    steps = flight(7.5, 10.0)
    low = stair(66.25, 49.6875, run="A", lower_setback=3.0, upper_setback=3.25, direction=0.0)
    high = stair(
        66.25, 49.6875, run="B", flight="F2", lower_setback=3.25, upper_setback=3.0, direction=0.0,
        from_support="P2", to_support="P3",
    )  # fmt: skip

    assert findings(reading_of(Site((low, high), (steps, replace(steps, flight="F2")), (), (WOOD,), PLAIN))) == []


@pytest.mark.parametrize("step", [COARSE, FINE])
def test_a_raked_top_rail_runs_into_the_level_cap_round_a_corner(step: float) -> None:
    """By hand: 3 in of setback at 7 1/2 : 10, posts 3 1/2, caps 5 1/2 x 1. Where the caps are flush, 1 in before the
    face, the underside of the raked cap is a quarter lower than that of the level one (1 x 1.25 - 1); at the face it is
    3/4 higher than there, so the rail stands 1/2 in over the underside of the level cap. That wedge is 1/2 high and
    1/2 / 0.75 long; the circle in it is as thick as both together are longer than its slope."""
    high, long = 0.5, 0.5 / 0.75
    run = stair(66.0, 49.5, lower_setback=3.0, upper_setback=3.0, direction=0.0, height=MEETS)
    on = level(60.0, from_support="P2", to_support="P3", direction=90.0)
    reading = reading_of(Site((run, on), (flight(7.5, 10.0),), (), (WOOD,), replace(PLAIN, tape_step=step)))
    (found,) = findings(reading)

    assert is_told_notch(found, reading)
    assert found.by == pytest.approx(high + long - math.hypot(high, long), abs=step)
