"""Every limit of every rule set at its boundary: a hair below, exactly on it, a hair above, through the engine.

Openings are strict, because the code forbids that the sphere passes: a gap of exactly 4 in fails (IRC 2018
R312.1.3). Heights, risers and treads are inclusive. A guard is required where the drop is *more* than 30 in.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, NamedTuple

import pytest

from railbook.basics.kinds import INCH, JOB_UNITS, MILLIMETRE
from railbook.checks import demands, measuring
from railbook.checks.check import FAIL, IN_DOUBT, NOT_MEASURED, NOT_REQUIRED, PASS, REQUIRED, Demand
from railbook.job.flights import Flight
from railbook.job.limits import published
from railbook.job.runs import Run
from railbook.job.settings import RULE_SETS, Settings
from railbook.job.starters import assemblies
from railbook.job.supports import NEW, POST, Support
from tests.small_jobs import Worked, level, ramp, stair, work

HAIR = {INCH: 1 / 32, MILLIMETRE: 0.5}
STEP = {INCH: 1 / 64, MILLIMETRE: 0.5}
# word -> inches and millimetres as the residential code prints them (variation of risers and of treads from
# memory); the numbers of risers and degrees have no unit
PRINTED: dict[str, tuple[float, float]] = {
    "guard_drop": (30.0, 762.0),
    "level_guard_height": (36.0, 914.0),
    "stair_guard_height": (34.0, 864.0),
    "handrail_least": (34.0, 864.0),
    "handrail_greatest": (38.0, 965.0),
    "level_sphere": (4.0, 102.0),
    "stair_sphere": (4.375, 111.0),
    "triangle_sphere": (6.0, 152.0),
    "riser_greatest": (7.75, 196.0),
    "riser_variation": (0.375, 9.5),
    "tread_least": (10.0, 254.0),
    "tread_variation": (0.375, 9.5),
    "overhang_greatest": (1.25, 32.0),
    "handrail_risers": (4.0, 4.0),
}


class Trade(NamedTuple):
    """Sizes of a usual stair in one unit: a 3-4-5 slope, so that every figure is exact."""

    riser: float
    tread: float
    clear: float


TRADE = {INCH: Trade(7.5, 10.0, 60.0), MILLIMETRE: Trade(192.0, 256.0, 1536.0)}


class Case(NamedTuple):
    """How a limit is reached: the job with that figure, and the check that looks at it."""

    build: Callable[..., Worked]
    demand: Demand
    verdicts: tuple[str, str, str]  # below, exactly on, above


def made(unit: str, **changes: Any) -> dict[str, Any]:
    """The wood assembly of that unit with some sizes changed, posts as far apart as you like."""
    far = 1000 * TRADE[unit].tread
    wood = replace(assemblies(unit)[0], greatest_spacing=far, greatest_rake=None, block_spacing=None)
    return {"assemblies": (replace(wood, **changes),)}


def settled(unit: str, rule_set: str, amendments: dict[str, float]) -> dict[str, Any]:
    return {
        "settings": Settings(job_name="TEST", unit=unit, rule_set=rule_set, tape_step=STEP[unit]),
        "amendments": amendments,
    }


def level_run(unit: str, **changes: Any) -> Run:
    return level(TRADE[unit].clear, **({"drop": 200 * HAIR[unit] * 32} | changes))


def stair_run(unit: str, **changes: Any) -> Run:
    size = TRADE[unit]
    wanted = {"drop": 200 * HAIR[unit] * 32, "lower_setback": size.tread / 4} | changes
    return stair(size.clear, size.clear * size.riser / size.tread, **wanted)


def flight_of(unit: str, **changes: Any) -> tuple[Flight, ...]:
    size = TRADE[unit]
    even = Flight(
        flight="F1", risers=7, riser=size.riser, tread=size.tread, nosing_overhang=0.0, open_risers="No"
    )  # fmt: skip
    return (replace(even, **changes),)


def drop(found: float, unit: str, **more: Any) -> Worked:
    return work(level_run(unit, drop=found), **made(unit), **more)


def level_height(found: float, unit: str, **more: Any) -> Worked:
    return work(level_run(unit), **made(unit, level_height=found), **more)


def stair_height(found: float, unit: str, **more: Any) -> Worked:
    sizes = made(unit, stair_height=found, cap_graspable="Yes")
    return work(stair_run(unit), flights=flight_of(unit), **sizes, **more)


def under_rail(found: float, unit: str, **more: Any) -> Worked:
    return work(level_run(unit), **made(unit, level_clearance=found), **more)


def gap_beyond(found: float, unit: str, **more: Any) -> Worked:
    return work(
        level_run(unit), supports=(Support("P2", POST, NEW, gap_beyond=found),), **made(unit), **more
    )  # fmt: skip


def triangle(found: float, unit: str, open_risers: str = "No", **more: Any) -> Worked:
    """By hand, 3-4-5: a right triangle of plumb leg b has a sphere of b + 4 b / 3 - 5 b / 3 = 2 b / 3."""
    size = TRADE[unit]
    riser = size.riser if found * 1.5 > size.riser else size.riser - 2 * size.riser / 5
    tread = riser * 4 / 3
    run = stair(6 * tread, 6 * riser, drop=200 * HAIR[unit] * 32)
    flights = flight_of(unit, riser=riser, tread=tread, open_risers=open_risers)
    return work(run, flights=flights, **made(unit, stair_clearance=found * 1.5 - riser), **more)


def open_triangle(found: float, unit: str, **more: Any) -> Worked:
    return triangle(found, unit, "Yes", **more)


def flight_figure(column: str) -> Callable[..., Worked]:
    """A job whose flight has that figure measured."""

    def job(found: float, unit: str, **more: Any) -> Worked:
        return work(stair_run(unit), flights=flight_of(unit, **{column: found}), **made(unit), **more)

    return job


def riser_spread(found: float, unit: str, **more: Any) -> Worked:
    riser = TRADE[unit].riser
    flights = flight_of(unit, least_riser=riser - found, greatest_riser=riser)
    return work(stair_run(unit), flights=flights, **made(unit), **more)


def tread_spread(found: float, unit: str, **more: Any) -> Worked:
    tread = TRADE[unit].tread
    flights = flight_of(unit, least_tread=tread, greatest_tread=tread + found)
    return work(stair_run(unit), flights=flights, **made(unit), **more)


CASES: dict[str, Case] = {
    "guard_drop": Case(drop, demands.GUARD_NEEDED, (NOT_REQUIRED, NOT_REQUIRED, REQUIRED)),
    "level_guard_height": Case(level_height, demands.GUARD_HEIGHT, (FAIL, PASS, PASS)),
    "stair_guard_height": Case(stair_height, demands.GUARD_HEIGHT, (FAIL, PASS, PASS)),
    "handrail_least": Case(stair_height, demands.HANDRAIL_LOW, (FAIL, PASS, PASS)),
    "handrail_greatest": Case(stair_height, demands.HANDRAIL_HIGH, (PASS, PASS, FAIL)),
    "level_sphere": Case(under_rail, demands.UNDER_RAIL, (PASS, FAIL, FAIL)),
    "level_sphere beyond": Case(gap_beyond, demands.GAP_BEYOND, (PASS, FAIL, FAIL)),
    "stair_sphere": Case(open_triangle, demands.TRIANGLE, (PASS, FAIL, FAIL)),
    "triangle_sphere": Case(triangle, demands.TRIANGLE, (PASS, FAIL, FAIL)),
    "riser_greatest": Case(flight_figure("greatest_riser"), demands.RISER, (PASS, PASS, FAIL)),
    "riser_variation": Case(riser_spread, demands.RISER_SPREAD, (PASS, PASS, FAIL)),
    "tread_least": Case(flight_figure("tread"), demands.TREAD, (FAIL, PASS, PASS)),
    "tread_variation": Case(tread_spread, demands.TREAD_SPREAD, (PASS, PASS, FAIL)),
}
EVERYWHERE = [(unit, rule_set) for unit in JOB_UNITS for rule_set in RULE_SETS]


def limit_of(case: str) -> str:
    """Word of the limit that a case is about."""
    return case.partition(" ")[0]


def triplet(word: str, at: float, unit: str, rule_set: str, amendments: dict[str, float]) -> tuple[str, ...]:
    """Verdicts a hair below, on and above that figure."""
    case, hair = CASES[word], HAIR[unit]
    more = settled(unit, rule_set, amendments)
    checks = [case.build(found, unit, **more).check(case.demand) for found in (at - hair, at, at + hair)]
    assert [each.found for each in checks] == pytest.approx([at - hair, at, at + hair])
    return tuple(each.verdict for each in checks)


@pytest.mark.parametrize("rule_set", RULE_SETS)
@pytest.mark.parametrize(("unit", "place"), [(INCH, 0), (MILLIMETRE, 1)])
def test_limits_are_as_printed(unit: str, place: int, rule_set: str) -> None:
    """Millimetres are the printed ones, never converted inches: 914, not 914.4."""
    held = {row.limit: row.published for row in published(rule_set, unit)}

    assert {word: held[word] for word in PRINTED} == {word: both[place] for word, both in PRINTED.items()}


@pytest.mark.parametrize("rule_set", RULE_SETS)
def test_every_limit_of_the_code_has_its_boundary_here(rule_set: str) -> None:
    """A limit added to a rule set must be added to this file."""
    ours = {limit_of(word) for word in CASES} | {"overhang_greatest", "handrail_risers", "ramp_slope"}
    measuring_words = {"short_slope", "length_tolerance", "tread_tolerance", "angle_tolerance"}

    assert {row.limit for row in published(rule_set, INCH)} == ours | measuring_words


@pytest.mark.parametrize("word", CASES)
@pytest.mark.parametrize(("unit", "rule_set"), EVERYWHERE)
def test_verdict_turns_exactly_at_the_printed_limit(word: str, unit: str, rule_set: str) -> None:
    at = PRINTED[limit_of(word)][JOB_UNITS.index(unit)]

    assert triplet(word, at, unit, rule_set, {}) == CASES[word].verdicts


@pytest.mark.parametrize("word", CASES)
@pytest.mark.parametrize("unit", JOB_UNITS)
def test_amendment_moves_the_verdict(word: str, unit: str) -> None:
    """The local figure counts, and the published one no longer does."""
    at = PRINTED[limit_of(word)][JOB_UNITS.index(unit)] + 4 * HAIR[unit]

    assert triplet(word, at, unit, RULE_SETS[0], {limit_of(word): at}) == CASES[word].verdicts


@pytest.mark.parametrize("unit", JOB_UNITS)
def test_converted_millimetres_would_give_other_verdicts(unit: str) -> None:
    """914 mm passes as a level guard although 36 in is 914.4 mm; in inches 35.99 fails."""
    height, verdict = {INCH: (35.99, FAIL), MILLIMETRE: (914.0, PASS)}[unit]
    worked = level_height(height, unit, **settled(unit, RULE_SETS[0], {}))

    assert worked.check(demands.GUARD_HEIGHT).verdict == verdict


@pytest.mark.parametrize(("risers", "needed"), [(3, 0), (4, 1), (5, 1)])
@pytest.mark.parametrize("rule_set", RULE_SETS)
def test_handrail_from_four_risers_on(risers: int, needed: int, rule_set: str) -> None:
    """R311.7.8: four or more risers."""
    worked = work(
        stair_run(INCH), flights=flight_of(INCH, risers=risers), **made(INCH), **settled(INCH, rule_set, {})
    )  # fmt: skip
    check = worked.check(demands.HANDRAIL)

    assert (check.limit, check.verdict) == (needed, FAIL if needed else PASS)


def test_amended_number_of_risers() -> None:
    """Some places ask for a handrail from three risers on (WAC 246-359-520)."""
    worked = work(
        stair_run(INCH), flights=flight_of(INCH, risers=3), **made(INCH),
        **settled(INCH, RULE_SETS[0], {"handrail_risers": 3.0}),
    )  # fmt: skip

    assert worked.check(demands.HANDRAIL).verdict == FAIL


@pytest.mark.parametrize(("overhang", "verdict"), [(1.25 - 1 / 32, PASS), (1.25, IN_DOUBT), (1.25 + 1 / 32, IN_DOUBT)])
def test_doubt_about_the_overhang_takes_the_greatest_one_allowed(overhang: float, verdict: str) -> None:
    """7-1/2 on 10 in: with k of clearance and q of overhang the sphere is (7.5 + k + 0.75 q) 2 / 3; at
    k = 9/16 it is exactly 6 in when q is 1-1/4 (by hand)."""
    worked = work(
        stair_run(INCH), flights=flight_of(INCH, nosing_overhang=None), **made(INCH, stair_clearance=0.5625),
        **settled(INCH, RULE_SETS[0], {"overhang_greatest": overhang}),
    )  # fmt: skip

    assert worked.check(demands.TRIANGLE_DOUBT).verdict == verdict


def test_printed_greatest_overhang_is_the_one_in_doubt() -> None:
    """Without an amendment it is 1-1/4 in (R311.7.5.3, from memory)."""
    worked = work(
        stair_run(INCH), flights=flight_of(INCH, nosing_overhang=None), **made(INCH, stair_clearance=0.5625)
    )  # fmt: skip

    assert worked.check(demands.TRIANGLE_DOUBT).found == pytest.approx(6.0)


@pytest.mark.parametrize("demand", [demands.RISER, demands.TREAD, demands.RISER_SPREAD, demands.TREAD_SPREAD])
def test_blank_is_not_measured_never_a_pass(demand: Demand) -> None:
    blank = (Flight(flight="F1", risers=7),)
    worked = work(stair_run(INCH), flights=blank, **made(INCH))

    assert worked.check(demand).verdict == NOT_MEASURED


def test_blank_drop_is_not_measured() -> None:
    worked = work(level_run(INCH, drop=None), **made(INCH))

    assert worked.check(demands.GUARD_NEEDED).verdict == NOT_MEASURED


def test_unknown_drop_excuses_no_failure() -> None:
    """Whether the guard is required is not known, so a low guard fails."""
    worked = work(level_run(INCH, drop=None), **made(INCH, level_height=30.0))

    assert worked.check(demands.GUARD_HEIGHT).verdict == FAIL


def test_failure_of_a_guard_that_is_not_required_says_so() -> None:
    sizes = made(INCH, level_height=30.0, level_clearance=5.0)
    worked = work(level_run(INCH, drop=30.0), **sizes)

    assert worked.check(demands.GUARD_HEIGHT).verdict == NOT_REQUIRED
    assert worked.check(demands.UNDER_RAIL).verdict == NOT_REQUIRED


def test_guard_that_is_not_required_may_still_pass() -> None:
    assert work(level_run(INCH, drop=30.0), **made(INCH)).check(demands.GUARD_HEIGHT).verdict == PASS


@pytest.mark.parametrize(("pitch", "verdict"), [(5.5, FAIL), (5.5 - 1 / 16, PASS)])
def test_opening_that_the_maker_drilled_is_checked_too(pitch: float, verdict: str) -> None:
    """Balusters of 1 1/2 in at a fixed pitch of 5 1/2 in leave exactly 4 in: no number of them cures that."""
    found = work(level(80.0), **made(INCH, baluster_pitch=pitch)).check(demands.OPENING)

    assert (found.found, found.verdict) == (pitch - 1.5, verdict)


# tolerances of measuring: 1/4 in and 1/16 in for each of six treads make 5/8 in (common practice, no source)
@pytest.mark.parametrize(("off", "verdict"), [(0.625 - 1 / 32, PASS), (0.625, PASS), (0.625 + 1 / 32, FAIL)])
def test_tolerance_of_lengths(off: float, verdict: str) -> None:
    run = stair_run(INCH, slope_length=75.0 + off)
    worked = work(run, flights=flight_of(INCH), **made(INCH))

    assert worked.check(measuring.SLOPE).verdict == verdict


@pytest.mark.parametrize(("run", "verdict"), [(12.1, PASS), (12.0, PASS), (11.9, IN_DOUBT)])
def test_ramp_of_one_in_twelve_passes(run: float, verdict: str) -> None:
    """IRC R311.8.1 (from memory): 1 in 12 at most where the ramp serves the required door."""
    assert work(ramp(10 * run, 10.0), **made(INCH)).check(demands.RAMP_SLOPE).verdict == verdict


@pytest.mark.parametrize(("word", "value"), [("length_tolerance", 0.5), ("tread_tolerance", 0.125)])
def test_amended_tolerances(word: str, value: float) -> None:
    run = stair_run(INCH, slope_length=75.875)

    assert work(run, flights=flight_of(INCH), **made(INCH)).check(measuring.SLOPE).verdict == FAIL
    amended = work(run, flights=flight_of(INCH), amendments={word: value}, **made(INCH))
    assert amended.check(measuring.SLOPE).verdict == PASS


@pytest.mark.parametrize(("off", "verdict"), [(0.49, PASS), (0.5, PASS), (0.51, FAIL)])
def test_tolerance_of_angles(off: float, verdict: str) -> None:
    """Half a degree (common practice, no source); a slope of 45 degrees is exact in floating point."""
    run = stair(60.0, 60.0, angle=45.0 + off)
    check = work(run, flights=flight_of(INCH), **made(INCH)).check(measuring.ANGLE)

    assert check.verdict == verdict


@pytest.mark.parametrize(
    ("slope_length", "source"),
    [(36.0 - 1 / 32, "angle"), (36.0, "slope length and rise"), (36.0 + 1 / 32, "slope length and rise")],
)
def test_taped_angle_is_trusted_first_on_slopes_shorter_than_36_inches(slope_length: float, source: str) -> None:
    """A sixteenth on a short tape turns the slope more than a bevel does (common practice, no source)."""
    run = replace(stair(0.0, 21.6, slope_length=slope_length, angle=37.0), clear_bottom=None, clear_top=None)
    worked = work(run, flights=flight_of(INCH), **made(INCH))

    assert worked.only("lines").measures.source == source
