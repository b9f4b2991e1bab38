"""Remedies name figures: every one was worked by hand, limits are those of IRC 2021 R311.7 and R312.1 in inches.

On a slope of 7 1/2 in 10 the cosine is 4/5, and the triangle's circle is 2/3 of its height: 6 in at a height of 9.
"""

from dataclasses import replace
from typing import Any

import pytest

from railbook.checks import demands
from railbook.checks.check import FAIL, IN_DOUBT, NOT_MEASURED, Check, Demand
from railbook.job.assemblies import YES, Assembly
from railbook.job.flights import Flight
from railbook.job.runs import BARE, HANDRAIL, MEETS, Run
from railbook.job.supports import EXISTING, POST, Support
from tests.small_jobs import COMPOSITE, METAL, WOOD, flight, level, stair, work

STEEP = flight(7.5, 10.0)  # seven risers, clear 3 + 60 + 2
UP = stair(65.0, 48.75, upper_setback=2.0)


def of(assembly: Assembly, run: Run = UP, flights: Flight = STEEP, **sizes: Any) -> dict[str, Any]:
    """A job of one run on that flight, with sizes of its assembly changed."""
    changed = replace(assembly, **sizes)
    return {"runs": (replace(run, assembly=changed.assembly),), "assemblies": (changed,), "flights": (flights,)}


def on(**measures: Any) -> dict[str, Any]:
    """A job of one stair run, with measurements of its flight changed."""
    return of(WOOD, flights=replace(STEEP, **measures))


def at(**cells: Any) -> dict[str, Any]:
    """A level run to a support with a row of its own."""
    return {"runs": (level(60.0),), "supports": (Support(support="P2", kind=POST, **cells),)}


def checked(job: dict[str, Any], demand: Demand) -> Check:
    """The one check of that demand."""
    return work(*job["runs"], **{tab: rows for tab, rows in job.items() if tab != "runs"}).check(demand)


RAIL = Run(run="H", kind=HANDRAIL, flight="F1")
LONG = stair(118.0, 88.5, upper_setback=5.0)  # 3 + 11 x 10 + 5, two sections
CASES: dict[str, tuple[dict[str, Any], Demand, str, str]] = {  # job, demand, verdict, remedy
    "a low level guard": (
        of(WOOD, level(60.0), level_height=35.0), demands.GUARD_HEIGHT, FAIL,
        'raise the level guard height of assembly WOOD from 35" to at least 36"',
    ),
    "a stair guard that meets a low level guard": (  # 33 + 0.25 - (2 + 1.75) x 0.75 = 30.4
        of(WOOD, replace(UP, height=MEETS), level_height=33.0), demands.GUARD_HEIGHT, FAIL,
        'choose Height: Own, and a stair guard height of at least 34"',
    ),
    "a guard of unknown height": (
        of(WOOD, stair(65.0, 48.75, height=MEETS, lower_setback=None)), demands.GUARD_HEIGHT, NOT_MEASURED,
        "fill in its upper setback, or choose Height: Own",
    ),
    "bought balusters that are too short": (  # 3 + 8 + 24 = 35
        of(WOOD, level(60.0), baluster_level_length=24.0), demands.GUARD_HEIGHT, FAIL,
        'buy balusters of at least 25" instead of 24"',
    ),
    "a cap too low for a hand": (
        of(WOOD, stair_height=33.0, cap_graspable=YES), demands.HANDRAIL_LOW, FAIL,
        'raise the stair guard height of assembly WOOD from 33" to at least 34", or add a handrail of its own',
    ),
    "a cap too high for a hand": (
        of(WOOD, stair_height=39.0, cap_graspable=YES), demands.HANDRAIL_HIGH, FAIL,
        'lower the stair guard height of assembly WOOD from 39" to at most 38", or add a handrail of its own '
        "and say Cap graspable: No",
    ),
    "rails drilled too far apart": (  # 4 - 1/16 + 3/4
        of(METAL, level(60.0), baluster_pitch=5.0), demands.OPENING, FAIL,
        'rails drilled at most 4 11/16" from centre to centre, along the rail',
    ),
    "a high bottom rail": (  # 4 - 1/16
        of(WOOD, level(60.0), level_clearance=4.5), demands.UNDER_RAIL, FAIL,
        'reduce the level clearance of assembly WOOD from 4 1/2" to at most 3 15/16"',
    ),
    "a triangle too large": (  # 9 - 7 1/2 = 1 1/2, less 3/2 of 1/16: 1.406
        of(WOOD, stair_clearance=2.0), demands.TRIANGLE, FAIL,
        'lower the bottom rail: stair clearance of assembly WOOD from 2" to at most 1 3/8"',
    ),
    "open risers": (  # 4 3/8 at a height of 6.56, less than a riser
        on(open_risers="Yes"), demands.TRIANGLE, FAIL,
        "even a rail on the nosings would not pass: close the risers, or close the triangle",
    ),
    "an overhang that was not measured": (  # (9 - 7 1/2 - 1 - 0.094)/0.75 = 0.54
        of(WOOD, flights=replace(STEEP, nosing_overhang=None), stair_clearance=1.0), demands.TRIANGLE_DOUBT, IN_DOUBT,
        'passes with a nosing overhang of at most 1/2": measure it on tab Flights',
    ),
    "an overhang that must be none": (  # 9 - 7 1/2 - 1 7/16 is less than 0.094
        of(WOOD, flights=replace(STEEP, nosing_overhang=None), stair_clearance=1.4375), demands.TRIANGLE_DOUBT,
        IN_DOUBT, "passes only without overhang: measure the nosing overhang on tab Flights",
    ),
    "high risers": (  # 62 by 7 3/4 is exactly 8
        on(riser=None, total_rise=62.0), demands.RISER, FAIL,
        'rebuild the flight: total rise 62" in 8 risers of 7 3/4" instead of 7',
    ),
    "high risers without a total rise": (  # 7 x 8 = 56; 56 by 7 3/4 is 7.2
        on(riser=8.0), demands.RISER, FAIL, 'rebuild the flight: total rise 56" in 8 risers of 7" instead of 7'
    ),
    "risers that were counted as none": (
        on(risers=0, riser=8.0), demands.RISER, FAIL, 'rebuild the flight with risers of at most 7 3/4"'
    ),
    "high risers that nobody counted": (
        on(riser=8.0, risers=None), demands.RISER, FAIL, 'rebuild the flight with risers of at most 7 3/4"'
    ),
    "one high riser": (  # 52 1/2 by 7
        on(greatest_riser=8.0), demands.RISER, FAIL,
        'even the risers out: total rise 52 1/2" in 7 risers of 7 1/2"',
    ),
    "uneven risers": (
        on(least_riser=7.0), demands.RISER_SPREAD, FAIL,
        'even the risers out: they may vary by at most 3/8"',
    ),
    "risers that were measured once": (
        on(), demands.RISER_SPREAD, NOT_MEASURED, "measure the smallest and the largest riser"
    ),
    "a shallow tread": (
        on(least_tread=9.5), demands.TREAD, FAIL,
        'rebuild the flight with treads of at least 10": the smallest is 9 1/2"',
    ),
    "uneven treads": (
        on(greatest_tread=10.5), demands.TREAD_SPREAD, FAIL,
        'even the treads out: they may vary by at most 3/8"',
    ),
    "a long nosing": (
        on(nosing_overhang=1.5), demands.OVERHANG, FAIL,
        'cut the nosings back to an overhang of at most 1 1/4"',
    ),
    "a nosing that was not measured": (
        on(nosing_overhang=None), demands.OVERHANG, NOT_MEASURED, "measure it; type 0 where the nosing is flush"
    ),
    "posts too far apart": (
        of(WOOD, level(100.0, sections=1)), demands.SPACING, FAIL,
        'posts, centre to centre, at most 72": clear Sections of run A, which forces 1',
    ),
    "rails too long": (
        of(COMPOSITE, level(100.0, sections=1)), demands.RAIL, FAIL,
        'rails, tip to tip, at most 94": clear Sections of run A, which forces 1',
    ),
    "a slope too steep": (  # arctan 0.75
        of(WOOD, greatest_rake=35.0), demands.RAKE, FAIL,
        "choose an assembly made for slopes of 36.9 degrees and more",
    ),
    "a line post beyond its tread": (  # 10 - 3 1/2
        of(WOOD, LONG, flight(7.5, 10.0, risers=12), line_post_setback=8.0), demands.LINE_POST, FAIL,
        'reduce the line post setback of assembly WOOD from 8" to at most 6 1/2"',
    ),
    "a post far out": (
        of(WOOD, stair(74.5, 55.875, lower_setback=12.5, upper_setback=2.0)), demands.LOW_GUARD, FAIL,
        'move the lower post uphill by 2 1/2", to a lower setback of at most one tread, 10": '
        "in front of it the guard stands low over the lower floor",
    ),
    "a bare post far out": (  # its sleeve takes 1/2: 12 - 10 by the sleeve, 10 1/2 by the tape
        of(COMPOSITE, stair(74.5, 55.875, lower_setback=12.5, upper_setback=2.0, measured_to=BARE)),
        demands.LOW_GUARD, FAIL,
        'move the lower post uphill by 2", to a lower setback of at most one tread, 10 1/2": '
        "in front of it the guard stands low over the lower floor",
    ),
    "a low handrail": (
        of(WOOD, RAIL, handrail_height=33.0), demands.RAIL_LOW, FAIL,
        'raise the handrail height of assembly WOOD from 33" to at least 34"',
    ),
    "a high handrail": (
        of(WOOD, RAIL, handrail_height=38.5), demands.RAIL_HIGH, FAIL,
        'lower the handrail height of assembly WOOD from 38 1/2" to at most 38"',
    ),
    "a short existing post": (  # 36 1/2 - 1
        at(state=EXISTING, standing_height=34.0), demands.STANDING, FAIL,
        'measure it again: it must stand 35 1/2" high; replace it if it is too short',
    ),
    "an existing post that was not measured": (
        at(state=EXISTING), demands.STANDING, NOT_MEASURED,
        'measure its standing height: it must be at least 35 1/2"',
    ),
    "a wide gap beyond": (
        at(gap_beyond=4.0), demands.GAP_BEYOND, FAIL,
        'move the post until the gap is at most 3 15/16", or close the gap',
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", CASES)
def test_the_remedy_says_what_to_change_to_what(what: str) -> None:
    job, demand, verdict, remedy = CASES[what]
    check = checked(job, demand)

    assert (check.verdict, check.remedy) == (verdict, remedy)


MENDED: dict[str, tuple[dict[str, Any], Demand]] = {  # the figure named above, typed
    "level guard height": (of(WOOD, level(60.0), level_height=36.0), demands.GUARD_HEIGHT),
    "longer balusters": (of(WOOD, level(60.0), baluster_level_length=25.0), demands.GUARD_HEIGHT),
    "graspable cap": (of(WOOD, stair_height=38.0, cap_graspable=YES), demands.HANDRAIL_HIGH),
    "pitch": (of(METAL, level(60.0), baluster_pitch=4.6875), demands.OPENING),
    "level clearance": (of(WOOD, level(60.0), level_clearance=3.9375), demands.UNDER_RAIL),
    "stair clearance": (of(WOOD, stair_clearance=1.375), demands.TRIANGLE),
    "nosing overhang": (
        of(WOOD, flights=replace(STEEP, nosing_overhang=0.5), stair_clearance=1.0), demands.TRIANGLE,
    ),
    "risers": (on(riser=None, total_rise=62.0, risers=8), demands.RISER),
    "line post setback": (
        of(WOOD, LONG, flight(7.5, 10.0, risers=12), line_post_setback=6.5), demands.LINE_POST,
    ),
    "bare post": (
        of(COMPOSITE, stair(72.5, 54.375, lower_setback=10.5, upper_setback=2.0, measured_to=BARE)),
        demands.LOW_GUARD,
    ),
    "handrail": (of(WOOD, RAIL, handrail_height=38.0), demands.RAIL_HIGH),
    "existing post": (at(state=EXISTING, standing_height=35.5), demands.STANDING),
    "gap beyond": (at(gap_beyond=3.9375), demands.GAP_BEYOND),
}  # fmt: skip


@pytest.mark.parametrize("what", MENDED)
def test_the_figure_that_a_remedy_names_passes(what: str) -> None:
    job, demand = MENDED[what]

    assert checked(job, demand).verdict == "pass"
