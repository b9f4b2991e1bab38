"""Finished jobs drawn in space: nothing laps, nothing gapes, on random sites and on the examples.

200 sites in every run, 2,000 with `--thorough`. What the product is known to lay out wrongly today is set aside by name
below, and held by a test of its own until it is mended.
"""

import math
from dataclasses import replace

import pytest

from railbook.estimate import estimate
from railbook.job.runs import LEVEL, MEETS
from tests.drawn.checks import findings, reading_of
from tests.drawn.finding import Finding
from tests.drawn.reading import CAP, TOP_RAIL, Reading, read
from tests.drawn.sites import FINE, Kinds, Site, site
from tests.filled_form import EXAMPLES
from tests.small_jobs import PLAIN, WOOD, flight, level, stair

USUAL, THOROUGH = 200, 2000


def is_unsnipped(found: Finding, reading: Reading) -> bool:
    """KNOWN FAULT: where a flight or a ramp comes to a level guard round a corner, the upper corner of its top rail
    runs into the level cap, which overhangs the post there. It wants a snip, which no tab of the result tells."""
    if found.check != "overlap":
        return False
    kinds = {run.run: run.kind for run in reading.runs}
    rail, cap = sorted(found.where, key=lambda name: name.startswith(CAP))
    raked = rail.startswith(TOP_RAIL) and kinds[rail.removeprefix(f"{TOP_RAIL} ").rpartition(".")[0]] != LEVEL
    return raked and cap.startswith(CAP) and kinds[cap.removeprefix(f"{CAP} ")] == LEVEL


def wrong(reading: Reading) -> list[Finding]:
    """What the witness finds, but for the known faults."""
    return [found for found in findings(reading) if not is_unsnipped(found, reading)]


def test_random_sites_stand_without_gap_or_lap(*, thorough: bool) -> None:
    seeds = range(THOROUGH if thorough else USUAL)

    assert {seed: those for seed in seeds if (those := wrong(reading_of(site(seed))))} == {}


def test_leaning_posts_of_level_runs() -> None:
    """The cut of a rail and the end of a cap follow the face of a post that leans."""
    sites = (site(seed, Kinds(leaning=True)) for seed in range(USUAL))
    leaning = [each for each in sites if any((run.lean_from or run.lean_to) and run.kind == LEVEL for run in each.runs)]

    assert len(leaning) > 20
    assert [those for each in leaning if (those := wrong(reading_of(each)))] == []


def test_rails_and_balusters_where_two_tapes_differ() -> None:
    """Without a lean that anybody recorded caps have no place, but rails fill what was taped at their own height."""
    of_rails = ("rail end", "balusters", "block", "guard height")
    for seed in range(50):
        found = findings(reading_of(site(seed, Kinds(unlike=True))))
        assert [each for each in found if each.check in of_rails] == [], seed


@pytest.mark.parametrize("name", ["porch", "garden-ramp", "steep-stairs"])
def test_examples_stand_without_gap_or_lap(name: str) -> None:
    made = estimate(EXAMPLES / f"{name}.xlsx", seconds=0.0)

    assert wrong(read(made.rows)) == []


def test_a_raked_top_rail_runs_into_the_level_cap_round_a_corner() -> None:
    """The known fault, by hand. 3 in of setback at 7 1/2 : 10, posts 3 1/2, caps 5 1/2 x 1: where the caps are flush,
    1 in before the face, the underside of the raked cap is a quarter lower than that of the level one (1 x 1.25 - 1);
    at the face it is 0.75 higher than there, so the rail stands 1/2 in over the underside of the level cap. That wedge
    is 1/2 high and 1/2 / 0.75 long; the circle in it is as thick as its sides are longer than its slope."""
    high, long = 0.5, 0.5 / 0.75
    run = stair(66.0, 49.5, lower_setback=3.0, upper_setback=3.0, direction=0.0, height=MEETS)
    on = level(60.0, from_support="P2", to_support="P3", direction=90.0)
    reading = reading_of(Site((run, on), (flight(7.5, 10.0),), (), (WOOD,), replace(PLAIN, tape_step=FINE)))
    (found,) = findings(reading)

    assert is_unsnipped(found, reading)
    assert found.by == pytest.approx(high + long - math.hypot(high, long), abs=FINE)
