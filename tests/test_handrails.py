"""Handrails of their own: lengths, end cuts, returns, brackets, and the checks that look at them.

Lengths are hand-worked; heights are held against IRC 2018 R311.7.8.1, length against R311.7.8.4.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.kinds import INCH, JOB_UNITS, MILLIMETRE
from railbook.basics.problem import LEFT_OUT, LOOK
from railbook.checks import demands, measuring
from railbook.checks.check import FAIL, PASS, Demand
from railbook.estimate import lay_out
from railbook.geometry.handrails import Handrail, brackets_needed
from railbook.job.assemblies import Assembly
from railbook.job.build import build
from railbook.job.flights import Flight
from railbook.job.prices import BOARD, Price
from railbook.job.runs import HANDRAIL, Run
from railbook.job.settings import Settings
from railbook.job.starters import assemblies
from tests.small_jobs import SIXTEENTH, WOOD, Worked, flight, level, stair, tabs, work

ROUND = replace(WOOD, handrail_item="ROUND", handrail_height=36.0, handrail_bracket_spacing=48.0, handrail_return=None)
RETURNED = replace(ROUND, handrail_return=3.0)
BEYOND = replace(ROUND, handrail_past_top=12.0, handrail_past_bottom=11.0)
ON_STAIRS: Mapping[str, Any] = {"flight": "F1"}
STEEP = flight(7.75, 10.0, risers=7)  # six treads: a run of 60 in
COMMERCIAL = flight(7.0, 11.0, risers=13)  # 13 nosings, 12 treads


def handrail(**measured: Any) -> Run:
    """A handrail H, measured as told."""
    return Run(run="H", kind=HANDRAIL, assembly=WOOD.assembly, **measured)


def worked(run: Run, assembly: Assembly = ROUND, flights: tuple[Flight, ...] = (STEEP,), **more: Any) -> Worked:
    return work(run, assemblies=(assembly,), flights=flights, **more)


def rail(run: Run, assembly: Assembly = ROUND, flights: tuple[Flight, ...] = (STEEP,), **more: Any) -> Handrail:
    made = worked(run, assembly, flights, **more).only("handrails")
    assert isinstance(made, Handrail)
    return made


# lengths


def test_nosing_to_nosing_along_the_rake() -> None:
    """Six treads of 10 in and risers of 7-3/4: 60 x sqrt(1 + 0.775^2) = 75.9095 at 37.7757 degrees (by hand)."""
    made = rail(handrail(**ON_STAIRS))

    assert made.total == pytest.approx(75.9095, abs=5e-5)
    assert made.slope.slope_angle == pytest.approx(37.7757, abs=5e-5)
    assert made.rail_length == 75 + 15 / 16  # 75.9095 is 0.55 of a sixteenth above 75 7/8
    assert (made.level_end, made.returns) == (None, 0)


def test_commercial_handrail_with_both_extensions() -> None:
    """12 in level past the top nosing, one tread along the slope past the lowest (Americans with Disabilities Act
    standards 505.10; the lower one from memory): 12 x 13.0384 + 12 + 13.0384 = 181.50."""
    made = rail(handrail(**ON_STAIRS), BEYOND, (COMMERCIAL,))

    assert made.total == pytest.approx(181.4992, abs=5e-4)
    assert made.rail_exact == pytest.approx(13 * 13.0384, abs=5e-4)
    assert (made.level_end, made.rail_length) == (12.0, 169.5)


def test_flight_by_its_total_rise() -> None:
    """54-1/4 in over seven risers are 7-3/4 each: the same rail."""
    made = rail(handrail(**ON_STAIRS), flights=(replace(STEEP, riser=None, total_rise=54.25),))

    assert made.total == pytest.approx(75.9095, abs=5e-5)


@pytest.mark.parametrize(
    ("measured", "total"),
    [
        ({"clear_bottom": 60.0, "rise": 45.0}, 75.0),
        ({"slope_length": 75.0, "rise": 45.0}, 75.0),
        ({"slope_length": 75.0, "clear_bottom": 60.0}, 75.0),
        ({"clear_top": 60.0, "rise": 45.0}, 75.0),
        ({"slope_length": 75.0, "angle": 36.8699}, 75.0),
        ({"clear_bottom": 96.0}, 96.0),
    ],
)
def test_length_by_its_own_measurements(measured: dict[str, float], total: float) -> None:
    """3-4-5: 45 in up and 60 in out are 75 in along; on the level the clear itself."""
    assert rail(handrail(**measured)).total == pytest.approx(total)


@pytest.mark.parametrize("measured", [{"slope_length": 80.0}, {"clear_bottom": 64.0}, {"rise": 48.0}])
def test_one_measurement_beside_the_flights_pitch(measured: dict[str, float]) -> None:
    """7-1/2 on 10 is 3-4-5: 48 in up, 64 in out or 80 in along are one and the same; the flight has 75 in."""
    made = rail(handrail(**ON_STAIRS, **measured), flights=(flight(7.5, 10.0),))

    assert made.total == pytest.approx(80.0)


def test_extensions_are_of_slopes_only() -> None:
    """On the level there is no nosing to run past."""
    made = rail(handrail(clear_bottom=96.0), BEYOND)

    assert (made.total, made.level_end, made.slope.slope_angle) == (96.0, None, 0.0)


# cuts and pieces


def test_return_is_mitred_in_the_plane_of_rail_and_return() -> None:
    """A return stands square to the rail, also to a raked one: 45 degrees each."""
    made = rail(handrail(**ON_STAIRS), RETURNED)

    assert (made.lower_cut, made.upper_cut, made.return_cut, made.square_cut) == (-45.0, 45.0, 45.0, 0.0)
    assert (made.returns, made.return_length) == (2, 3.0)


def test_bend_before_a_level_end_shares_the_slope() -> None:
    """A 3-4-5 slope of 36.8699 degrees: 18.4349 on each piece."""
    made = rail(handrail(**ON_STAIRS), replace(BEYOND, handrail_return=3.0), (flight(7.5, 10.0),))

    assert (made.upper_cut, made.level_cut) == pytest.approx((18.4349, 18.4349), abs=5e-5)
    assert (made.lower_cut, made.return_cut) == (-45.0, 45.0)


def test_plain_rail_is_cut_square() -> None:
    made = rail(handrail(**ON_STAIRS))

    assert (made.lower_cut, made.upper_cut, made.level_cut, made.return_cut) == (0.0, 0.0, 0.0, 0.0)


def pieces(assembly: Assembly) -> list[tuple[str, int, float | None, str]]:
    rows = worked(handrail(**ON_STAIRS), assembly, (flight(7.5, 10.0),)).rows["cut_list"]
    return [(each.part, each.quantity, each.length, each.ends) for each in rows]


def test_cut_list_holds_rail_level_end_and_returns() -> None:
    """75 in between the nosings, and 11 in level past the lowest one are 13-3/4 in along."""
    assert pieces(replace(BEYOND, handrail_return=3.0)) == [
        ("Handrail", 1, 88.75, "see Saw"),
        ("Handrail, level end", 1, 12.0, "see Saw"),
        ("Handrail return", 2, 3.0, "one square"),
    ]
    assert pieces(RETURNED) == [("Handrail", 1, 75.0, "opposed"), ("Handrail return", 2, 3.0, "one square")]
    assert pieces(ROUND) == [("Handrail", 1, 75.0, "square")]


def test_pieces_name_their_run_and_stock() -> None:
    (piece,) = worked(handrail(**ON_STAIRS)).rows["cut_list"]

    assert (piece.item, piece.where, piece.status) == ("ROUND", "H", "")


def test_handrail_longer_than_any_board_is_spliced_at_a_bracket() -> None:
    short = Price(item="ROUND", sold_as=BOARD, length=72.0)
    found = worked(handrail(**ON_STAIRS), prices=(short,)).rows["warnings"]

    assert [each.remedy for each in found if "longer than any board of ROUND" in each.what] == [
        "splice it at a bracket, or list a longer board"
    ]


# brackets


@pytest.mark.parametrize(
    ("length", "brackets"),
    [(20.0, 2), (48.0, 2), (48.0625, 3), (96.0, 3), (96.0625, 4), (144.0, 4)],
)
def test_brackets_at_the_greatest_spacing(length: float, brackets: int) -> None:
    """One at each end and as many between as 48 in allow: a rail of 96 in has 3 (by hand)."""
    assert brackets_needed(length=length, spacing=48.0) == brackets
    assert rail(handrail(clear_bottom=length)).brackets == brackets


def test_level_end_counts_for_the_brackets() -> None:
    """90 in along the slope alone have 3; with 12 in level, 102 in have 4."""
    run, flights = handrail(**ON_STAIRS, slope_length=90.0), (flight(7.5, 10.0),)

    assert rail(run, ROUND, flights).brackets == 3
    assert rail(run, replace(ROUND, handrail_past_top=12.0), flights).brackets == 4


# checks

HEIGHTS = {INCH: (34.0, 38.0, 0.01), MILLIMETRE: (864.0, 965.0, 0.1)}


@pytest.mark.parametrize("unit", JOB_UNITS)
@pytest.mark.parametrize(
    ("demand", "place", "verdicts"),
    [(demands.RAIL_LOW, 0, (FAIL, PASS, PASS)), (demands.RAIL_HIGH, 1, (PASS, PASS, FAIL))],
)
def test_height_of_a_handrail(demand: Demand, place: int, verdicts: tuple[str, ...], unit: str) -> None:
    """34 to 38 in, 864 to 965 mm, both allowed (R311.7.8.1): 33.99 and 38.01 fail."""
    at, hair = HEIGHTS[unit][place], HEIGHTS[unit][2]
    spacing = {INCH: 48.0, MILLIMETRE: 1200.0}[unit]
    found = []
    for height in (at - hair, at, at + hair):
        made = replace(
            assemblies(unit)[0], handrail_item="ROUND", handrail_height=height, handrail_bracket_spacing=spacing
        )
        settings = Settings(job_name="TEST", unit=unit, tape_step=SIXTEENTH if unit == INCH else 1.0)
        job = work(handrail(clear_bottom=2 * spacing), assemblies=(made,), settings=settings)
        found.append(job.check(demand).verdict)

    assert tuple(found) == verdicts


@pytest.mark.parametrize("count", [0, 1, 2])
def test_handrails_count_as_sides_that_a_hand_can_grasp(count: int) -> None:
    """R311.7.8: at least one side of a flight of four or more risers; the flat cap of the guard is none."""
    rails = [replace(handrail(**ON_STAIRS), run=f"H{number}") for number in range(count)]
    job = work(stair(60.0, 45.0), *rails, assemblies=(ROUND,), flights=(flight(7.5, 10.0),))
    check = job.check(demands.HANDRAIL)

    assert (check.found, check.verdict) == (count, PASS if count else FAIL)


def test_handrail_of_another_flight_does_not_count() -> None:
    flights = (flight(7.5, 10.0), replace(flight(7.5, 10.0), flight="F2"))
    job = work(stair(60.0, 45.0), handrail(flight="F2"), assemblies=(ROUND,), flights=flights)

    assert job.check(demands.HANDRAIL, "flight F1").verdict == FAIL
    assert job.check(demands.HANDRAIL, "flight F2").verdict == PASS


@pytest.mark.parametrize(("slope_length", "verdict"), [(74.74, FAIL), (74.75, PASS), (75.0, PASS), (90.0, PASS)])
def test_measured_handrail_reaches_along_its_flight(slope_length: float, verdict: str) -> None:
    """From above the top riser to above the lowest (R311.7.8.4): 75 in, less 1/4 in that two tapes may differ."""
    job = worked(handrail(**ON_STAIRS, slope_length=slope_length), flights=(flight(7.5, 10.0),))

    assert job.check(demands.RAIL_COVERS).verdict == verdict


def test_handrail_taken_from_its_flight_reaches_along_it() -> None:
    check = worked(handrail(**ON_STAIRS)).check(demands.RAIL_COVERS)

    assert check.verdict == PASS
    assert (check.found or 0) - (check.limit or 0) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("measured", "demand"),
    [
        ({"clear_bottom": 60.0, "rise": 45.0, "slope_length": 76.0}, measuring.SLOPE),
        ({"clear_bottom": 60.0, "rise": 45.0, "angle": 38.0}, measuring.ANGLE),
        ({"clear_bottom": 60.0, "rise": 43.5}, measuring.PITCH),
        ({"clear_bottom": 24.0, "rise": 21.0, "angle": 36.87}, measuring.RISE),
    ],
)
def test_spare_measurements_are_held_against_the_answer(measured: dict[str, float], demand: Demand) -> None:
    """7-1/2 on 10 in is 36.87 degrees; allowed are 5/8 in over six treads, and half a degree (common practice)."""
    check = worked(handrail(**ON_STAIRS, **measured), flights=(flight(7.5, 10.0),)).check(demand, "handrail H")

    assert check.verdict == FAIL
    assert "the other measurements give" in check.remedy


def test_measurements_that_agree_pass() -> None:
    run = handrail(**ON_STAIRS, clear_bottom=60.0, rise=45.0, slope_length=75.5, angle=37.0)
    job = worked(run, flights=(flight(7.5, 10.0),))
    verdicts = {check.asked: check.verdict for check in job.rows["code_checks"] if check.source == "handrail_slopes"}

    assert verdicts == dict.fromkeys((demands.RAIL_COVERS, measuring.SLOPE, measuring.ANGLE, measuring.PITCH), PASS)


# the page, and later edits


def test_summary_counts_handrails_apart_from_guards() -> None:
    job = work(level(60.0), handrail(clear_bottom=96.0), assemblies=(BEYOND,))
    page = job.only("summary")

    assert (page.handrail, page.level_guard) == (96.0, 60.0)
    assert (page.runs_laid_out, page.runs_left_out) == (2, 0)
    assert [each.run for each in job.rows["lines"]] == ["A"]
    assert {each.post for each in job.rows["posts"]} == {"P1", "P2"}


EDITS: Mapping[str, dict[str, Any]] = {
    "level end added": {"handrail_past_top": 12.0},
    "returns added": {"handrail_return": 3.0},
    "spacing cleared": {"handrail_bracket_spacing": None},
    "height cleared": {"handrail_height": None},
}


def laid_out_again(before: Worked, run: Run, assembly: Assembly, flights: tuple[Flight, ...]) -> Handrail:
    """The handrail of an edited job, with the choices of old."""
    job, _ = build(tabs(run, assemblies=(assembly,), flights=flights))
    assert job is not None
    (made,) = lay_out(job, before.choices)["handrails"]
    assert isinstance(made, Handrail)
    return made


@pytest.mark.parametrize("what", EDITS)
def test_other_pieces_ask_for_another_run(what: str) -> None:
    run = handrail(**ON_STAIRS)
    before = worked(run)

    assert before.only("handrails").status == ""
    assert laid_out_again(before, run, replace(ROUND, **EDITS[what]), (STEEP,)).status == RUN_AGAIN


@pytest.mark.parametrize("changes", [{"kind": "Level"}, {"flight": "F9"}])
def test_run_that_is_no_longer_this_handrail_asks_for_another_run(changes: dict[str, Any]) -> None:
    run = handrail(**ON_STAIRS)
    before = worked(run)

    assert laid_out_again(before, replace(run, **changes), ROUND, (STEEP,)).status == RUN_AGAIN


def test_edited_sizes_move_the_rail_and_ask_nothing() -> None:
    run = handrail(**ON_STAIRS)
    made = laid_out_again(worked(run), run, replace(ROUND, handrail_height=37.0), (flight(7.5, 10.0),))

    assert made.total == pytest.approx(75.0)
    assert (made.height, made.status) == (37.0, "")


def test_flight_that_loses_its_treads_leaves_blanks() -> None:
    run = handrail(**ON_STAIRS)
    made = laid_out_again(worked(run), run, ROUND, (replace(STEEP, tread=None),))

    assert (made.total, made.rail_length, made.brackets, made.upper_cut) == (None, None, None, 0.0)
    assert made.status == RUN_AGAIN


# what a handrail needs


@pytest.mark.parametrize("column", ["handrail_item", "handrail_height", "handrail_bracket_spacing"])
def test_size_that_the_assembly_lacks_leaves_the_handrail_out(column: str) -> None:
    lacking: dict[str, Any] = {column: None}
    job = worked(handrail(**ON_STAIRS), replace(ROUND, **lacking))
    (problem,) = job.problems

    assert problem.severity == LEFT_OUT
    assert "no handrail" in problem.what
    assert job.rows["handrails"] == ()


NOT_ENOUGH: Mapping[str, tuple[dict[str, Any], Flight, str]] = {
    "nothing": ({}, STEEP, "no length"),
    "flight without treads": ({"flight": "F1"}, replace(STEEP, tread=None), "no length"),
    "flight without risers": ({"flight": "F1"}, replace(STEEP, risers=None), "no length"),
    "flight of one riser": ({"flight": "F1"}, replace(STEEP, risers=1), "no length"),
    "flight without a riser": ({"flight": "F1"}, replace(STEEP, riser=None), "too few measurements"),
    "clear beside a flight without a riser": (
        {"flight": "F1", "clear_bottom": 60.0}, replace(STEEP, riser=None), "too few measurements",
    ),
    "rise alone": ({"rise": 45.0}, STEEP, "too few measurements"),
    "slope alone": ({"slope_length": 75.0}, STEEP, "too few measurements"),
    "slope shorter than its clear": ({"slope_length": 59.0, "clear_bottom": 60.0}, STEEP, "not shorter"),
    "angle of a ladder": ({"clear_bottom": 60.0, "angle": 80.0}, STEEP, "angle of 80 degrees"),
    "unknown flight": ({"flight": "F9"}, STEEP, "flight F9 is not on tab Flights"),
}  # fmt: skip


@pytest.mark.parametrize("what", NOT_ENOUGH)
def test_handrail_without_slope_or_length_is_left_out(what: str) -> None:
    measured, of, fault = NOT_ENOUGH[what]
    job = worked(handrail(**measured), flights=(of,))
    (problem,) = job.problems

    assert problem.severity == LEFT_OUT
    assert fault in problem.what
    assert job.rows["handrails"] == ()
    assert job.only("summary").runs_left_out == 1


def test_what_a_handrail_does_not_use_is_no_problem() -> None:
    run = handrail(
        **ON_STAIRS, sections=0, lean_from=45.0, lean_to=-45.0, lower_setback=3.0, height="Own", clear_top=None,
        from_support="P1", to_support="P1", measured_to=None,
    )  # fmt: skip

    assert worked(run).problems == ()
    assert rail(run).total == pytest.approx(75.9095, abs=5e-5)


def test_sizes_of_the_guard_do_not_stop_a_handrail() -> None:
    """Its assembly may lack a baluster that fits: only the handrail of it is used."""
    job = worked(handrail(**ON_STAIRS), replace(ROUND, baluster_pitch=0.5, baluster_width=1.5))

    assert not [each for each in job.problems if each.severity in (LEFT_OUT, LOOK)]
