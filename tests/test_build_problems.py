"""What a measurement workbook can get wrong between its rows: each is one Problem that names the cell, says what
was read and what to do; every other run is computed all the same."""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

import pytest

from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Origin, Problem
from railbook.job.assemblies import ON_FACE
from railbook.job.build import build
from railbook.job.fastenings import BALUSTER_END, SCREW, Fastening
from railbook.job.flights import Flight
from railbook.job.runs import TAB as RUNS
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import POST, Support
from tests.small_jobs import PLAIN, WOOD, Worked, flight, level, ramp, stair, tabs, work


def typed(run: Run, row: int = 7) -> Run:
    """The run as if it had been read from that row, a column letter for each column."""
    letters = {column.name: f"Runs!{chr(ord('A') + number)}{row}" for number, column in enumerate(RUNS.columns)}
    return replace(run, origin=Origin("Runs", MappingProxyType(letters)))


GOOD = typed(level(60.0, run="GOOD", from_support="Q1", to_support="Q2"), row=5)


def beside_a_good_run(run: Run, **more: Any) -> tuple[Worked, Problem]:
    """The job of that run and a sound one, and the one problem that it has."""
    worked = work(GOOD, typed(run), **({"flights": (flight(7.5, 10.0),)} | more))
    (problem,) = worked.problems
    return worked, problem


def assert_left_out(worked: Worked, run: str) -> None:
    """That run is in no result, the good one is."""
    assert [each.run for each in worked.rows["lines"]] == ["GOOD"]
    assert run not in {each.run for each in worked.sections}
    assert (worked.only("summary").runs_left_out, worked.only("summary").runs_laid_out) == (1, 1)
    assert any(each.severity == LEFT_OUT for each in worked.rows["warnings"])
    assert worked.row("cut_list", part="Both rails").quantity == 2


SHORT_OF_RAILS = replace(WOOD, assembly="LOW", level_height=9.0)
# what is wrong, the run, the column of its cell, words of the fault, words of the remedy
LEFT_OUT_RUNS: Mapping[str, tuple[Run, str, str, str]] = {
    "unknown assembly": (
        level(60.0, assembly="WOOOD"), "assembly", "assembly WOOOD is not on tab Assemblies", "WOOD, COMPOSITE, METAL",
    ),
    "unknown flight": (
        stair(60.0, 45.0, flight="F9"), "flight", "flight F9 is not on tab Flights", "F1",
    ),
    "both ends at one support": (
        level(60.0, to_support="P1"), "to_support", "from P1 to itself", "two marks",
    ),
    "rise without a clear": (
        replace(ramp(0.0, 45.0), clear_bottom=None, clear_top=None),
        "rise", "a rise without a clear", "two of clear, rise and slope length",
    ),
    "level run without a clear": (
        replace(level(60.0), clear_bottom=None, clear_top=None), "clear_bottom", "no clear", "face to face",
    ),
    "slope without a length": (
        replace(stair(0.0, 0.0), clear_bottom=None, clear_top=None, rise=None, lower_setback=None),
        "clear_bottom", "no length", "clear, its rise or its slope length",
    ),
    "clear longer than the slope": (
        stair(60.0, 45.0, slope_length=59.0), "clear_bottom", "60 is not shorter than the slope length 59", "longest",
    ),
    "clear as long as the slope": (
        stair(60.0, 45.0, slope_length=60.0), "clear_bottom", "60 is not shorter than the slope length 60", "longest",
    ),
    "rise longer than the slope": (
        stair(40.0, 45.0, slope_length=44.0), "rise", "45 is not shorter than the slope length 44", "longest",
    ),
    "angle of a ladder": (
        stair(60.0, 45.0, angle=80.0), "angle", "angle of 80 degrees", "slope from level",
    ),
    "angle of nothing": (
        ramp(60.0, 5.0, angle=0.0), "angle", "angle of 0 degrees", "slope from level",
    ),
    "no sections": (
        level(60.0, sections=0), "sections", "0 sections", "leave it blank",
    ),
    "clear that the fits use up": (
        level(0.125, assembly="COMPOSITE"), "clear_bottom", "clear of 0.125", "Bracket fit and Fit allowance",
    ),
    "no room between the rails": (
        level(60.0, assembly="LOW"), "assembly", "no room between its rails: -2", "heights, clearances and rail depths",
    ),
    "guard without a From": (
        level(60.0, from_support=None), "from_support", "no From", "type the mark of the support",
    ),
    "guard without a To": (
        level(60.0, to_support=None), "to_support", "no To", "type the mark of the support",
    ),
    "guard not said how measured": (
        stair(60.0, 45.0, measured_to=None), "measured_to", "no Measured to", "finished faces or bare posts",
    ),
    "lean of a slope": (
        level(60.0, lean_from=45.0), "lean_from", "lean of 45 degrees", "degrees from plumb, at most 10",
    ),
    "lean the other way": (
        level(60.0, lean_to=-10.1), "lean_to", "lean of -10.1 degrees", "degrees from plumb, at most 10",
    ),
    "lean with the upper clear only": (
        replace(level(60.0, lean_to=1.0), clear_bottom=None), "clear_bottom", "its clear at the top only",
        "tape the clear at the bottom too",
    ),
    "lean on a stair with the upper clear only": (
        replace(stair(60.0, 45.0, lean_from=1.0), clear_bottom=None), "clear_bottom", "its clear at the top only",
        "tape the clear at the bottom too",
    ),
    "posts wider than their spacing": (
        level(60.0, assembly="NARROW"), "sections", "no section fits between its posts", "Greatest post spacing",
    ),
}  # fmt: skip
ASSEMBLIES = (WOOD, replace(WOOD, assembly="NARROW", greatest_spacing=3.0), SHORT_OF_RAILS)


def assemblies_for(what: str) -> dict[str, Any]:
    """The starting assemblies, or two that do not work."""
    return {"assemblies": ASSEMBLIES} if what in {"no room between the rails", "posts wider than their spacing"} else {}


@pytest.mark.parametrize("what", LEFT_OUT_RUNS)
def test_run_that_cannot_be_laid_out_is_left_out_with_its_reason(what: str) -> None:
    run, column, fault, remedy = LEFT_OUT_RUNS[what]
    worked, problem = beside_a_good_run(run, **assemblies_for(what))

    assert problem.severity == LEFT_OUT
    assert problem.where == typed(run).origin.cell(column)
    assert fault in problem.what
    assert remedy in problem.remedy
    assert_left_out(worked, run.run)


def test_clear_taped_at_the_top_only_is_named_by_its_own_cell() -> None:
    """The cell to look at is the one that holds the figure, not the blank one beside it."""
    run = replace(stair(60.0, 45.0, slope_length=59.0), clear_bottom=None)
    _, problem = beside_a_good_run(run)

    assert problem.where == typed(run).origin.cell("clear_top")


LONG_FLIGHT = flight(7.5, 10.0, risers=15)


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ({"lower_setback": None}, ()),
        ({}, (replace(LONG_FLIGHT, risers=None, total_rise=None),)),
        ({}, (replace(LONG_FLIGHT, tread=None),)),
    ],
)
def test_long_stair_needs_its_treads_to_be_divided(changes: dict[str, Any], missing: tuple[Flight, ...]) -> None:
    run = stair(146.0, 109.5, **changes)
    worked, problem = beside_a_good_run(run, flights=missing or (LONG_FLIGHT,))

    assert problem.severity == LEFT_OUT
    assert problem.where == typed(run).origin.cell("lower_setback")
    assert "too long for one section" in problem.what
    assert "risers and tread on tab Flights" in problem.remedy
    assert_left_out(worked, run.run)


def test_long_stair_with_its_treads_is_divided() -> None:
    """The same run is laid out once nothing is missing, so that the test above tests what it says."""
    worked = work(GOOD, typed(stair(146.0, 109.5)), flights=(LONG_FLIGHT,))

    assert worked.problems == ()
    assert worked.row("lines", run="S").sections == 3  # two posts 3.5 wide at 72 in: (146 + 3.5) / 72 = 2.08


def test_stair_without_a_flight_is_computed_and_looked_at() -> None:
    run = stair(60.0, 45.0, flight=None)
    worked, problem = beside_a_good_run(run)

    assert problem == Problem(
        typed(run).origin.cell("flight"),
        "run S names no flight: post heights and the triangle stay blank",
        "add its flight on tab Flights and name it here",
        LOOK,
    )
    assert worked.row("lines", run="S").sections == 1
    assert worked.row("posts", post="P1").worked.downhill is None
    assert worked.row("lines", run="S").triangle.triangle is None


@pytest.mark.parametrize("column", ["rise", "slope_length", "angle"])
def test_slope_typed_on_a_level_run_is_looked_at_and_not_used(column: str) -> None:
    plain, run = level(60.0), level(60.0, **{column: 5.0})
    worked, problem = beside_a_good_run(run)

    assert (problem.severity, problem.where) == (LOOK, typed(run).origin.cell(column))
    assert "level; this measurement is not used" in problem.what
    assert worked.section("A.1").top_edge == work(plain).only("sections").of.top_edge


def test_two_faults_of_one_run_are_both_told() -> None:
    run = typed(level(60.0, assembly="WOOOD", to_support="P1", sections=0))
    worked = work(GOOD, run)

    assert {each.where for each in worked.problems} == {
        run.origin.cell(column) for column in ("assembly", "to_support", "sections")
    }  # fmt: skip
    assert_left_out(worked, "A")


def test_run_with_an_unreadable_cell_is_left_out_without_a_second_problem() -> None:
    """The cell was reported when it was read; nothing more is said of it."""
    run = replace(
        level(60.0), clear_bottom=None, clear_top=None, origin=Origin("Runs", faulty=frozenset({"clear_top"}))
    )
    worked = work(GOOD, run)

    assert worked.problems == ()
    assert [each.run for each in worked.rows["lines"]] == ["GOOD"]


@pytest.mark.parametrize("tab", ["assemblies", "flights", "supports"])
def test_row_that_could_not_be_read_leaves_its_runs_out(tab: str) -> None:
    """A run is not laid out on half an assembly, flight or support."""
    bad = Origin(
        "Other", MappingProxyType(dict.fromkeys(("assembly", "flight", "support"), "Other!A9")), frozenset({"x"})
    )
    rows: dict[str, tuple[Any, ...]] = {
        "assemblies": (replace(WOOD, assembly="BAD", origin=bad),),
        "flights": (replace(flight(7.5, 10.0), flight="BAD", origin=bad),),
        "supports": (Support("BAD", POST, origin=bad),),
    }
    naming: dict[str, Run] = {
        "assemblies": level(60.0, assembly="BAD"),
        "flights": stair(60.0, 45.0, flight="BAD"),
        "supports": level(60.0, from_support="BAD"),
    }
    both = {"assemblies": (WOOD,), "flights": (), "supports": ()}
    worked = work(GOOD, typed(naming[tab]), **(both | {tab: (*both[tab], *rows[tab])}))
    (problem,) = worked.problems

    assert (problem.where, problem.severity) == ("Other!A9", LEFT_OUT)
    assert "BAD could not be read" in problem.what
    assert_left_out(worked, naming[tab].run)


@pytest.mark.parametrize("lean", [10.0, -10.0, 0.0])
def test_lean_of_ten_degrees_is_still_a_lean(lean: float) -> None:
    assert work(GOOD, typed(level(60.0, lean_from=lean))).problems == ()


def test_plumb_support_needs_no_lower_clear() -> None:
    assert work(GOOD, typed(replace(level(60.0, lean_to=0.0), clear_bottom=None))).problems == ()


def in_line(lean_to: float | None, lean_from: float | None, turn: float = 0.0) -> tuple[Problem, ...]:
    """Problems of run A arriving at P2 and run B leaving it, turned by that much."""
    arriving = typed(level(60.0, lean_to=lean_to, direction=359.9), row=6)
    leaving = level(60.0, run="B", from_support="P2", to_support="P3", lean_from=lean_from, direction=turn)
    return work(arriving, typed(leaving), assemblies=(WOOD,)).problems


@pytest.mark.parametrize(
    ("lean_to", "lean_from", "turn"),
    [
        (2.0, -2.0, 0.0), (2.0, -2.5, 0.0), (None, None, 0.0), (0.0, None, 0.0), (2.0, 2.0, 90.0), (2.0, None, 90.0),
        (2.0, 2.0, 5.5),
    ],
)  # fmt: skip
def test_leans_of_a_shared_support_that_agree_or_stand_round_a_corner(
    lean_to: float | None, lean_from: float | None, turn: float
) -> None:
    """Away from one run is towards the next one in line; half a degree is no matter, round a corner it is no matter."""
    assert in_line(lean_to, lean_from, turn) == ()


@pytest.mark.parametrize(("lean_to", "lean_from"), [(2.0, 2.0), (2.0, -2.6), (0.0, 1.0)])
def test_leans_of_a_shared_support_that_disagree_are_both_named(lean_to: float, lean_from: float) -> None:
    (problem,) = in_line(lean_to, lean_from)

    assert (problem.where, problem.severity) == (typed(level(60.0)).origin.cell("lean_from"), LOOK)
    assert f"support P2 leans {lean_to:g} degrees by run A and {lean_from:g} by run B" in problem.what
    assert "both signs" in problem.remedy


@pytest.mark.parametrize(
    ("lean_to", "lean_from", "column", "row", "other_sign"),
    [(2.0, None, "lean_from", 7, "-2"), (None, -1.5, "lean_to", 6, "1.5")],
)
def test_lean_recorded_on_one_run_is_asked_of_the_other(
    lean_to: float | None, lean_from: float | None, column: str, row: int, other_sign: str
) -> None:
    (problem,) = in_line(lean_to, lean_from)

    assert (problem.where, problem.severity) == (typed(level(60.0), row).origin.cell(column), LOOK)
    assert problem.remedy == f"type it on the other run too, with the other sign: {other_sign}"


def sized(cell: str, **changes: Any) -> dict[str, Any]:
    """The wood assembly with sizes changed, as if read from a workbook."""
    column = next(iter(changes))
    return {"assemblies": (replace(WOOD, **changes, origin=Origin("Assemblies", {column: cell})),)}


@pytest.mark.parametrize(("pitch", "is_left_out"), [(1.5, True), (1.0, True), (5.0, False)])
def test_fixed_pitch_must_leave_a_gap(pitch: float, *, is_left_out: bool) -> None:
    """Balusters of 1-1/2 in every 1-1/2 in touch."""
    problems = work(GOOD, **sized("Assemblies!AH5", baluster_pitch=pitch, baluster_width=1.5)).problems

    assert [(each.where, each.severity) for each in problems] == [("Assemblies!AH5", LEFT_OUT)] * is_left_out
    assert not problems or "no more than the width of a baluster" in problems[0].what


@pytest.mark.parametrize("column", ["let_in_top", "let_in_bottom", "seat_top", "seat_bottom"])
def test_let_ins_of_balusters_on_the_face_are_looked_at_once(column: str) -> None:
    """Once for the assembly, however many runs use it."""
    other = typed(level(60.0))
    problems = work(GOOD, other, **sized("Assemblies!AK5", **{column: 0.25}, baluster_place=ON_FACE)).problems

    assert [(each.where, each.severity) for each in problems] == [("Assemblies!AK5", LOOK)]
    assert "let-ins and seats are not used" in problems[0].what


@pytest.mark.parametrize("changes", [{"let_in_top": 0.0, "baluster_place": ON_FACE}, {"let_in_top": 0.25}])
def test_let_ins_that_are_used_or_nothing_say_nothing(changes: dict[str, Any]) -> None:
    assert work(GOOD, **sized("Assemblies!AK5", **changes)).problems == ()


def test_fastenings_of_an_unknown_assembly_are_looked_at_once() -> None:
    rows = [
        Fastening(mark, BALUSTER_END, SCREW, "#8", 1, origin=Origin("Fastenings", {"assembly": f"Fastenings!A{row}"}))
        for row, mark in enumerate(("WOOD", "OAK", "OAK", None), start=5)
    ]
    job, (problem,) = build(tabs(GOOD, assemblies=(WOOD,)) | {"fastenings": rows})

    assert job is not None
    assert (job.fastenings, job.left_out) == (tuple(rows), frozenset())
    assert (problem.where, problem.severity) == ("Fastenings!A6", NOTE)
    assert "assembly OAK, which is not on tab Assemblies" in problem.what


def test_job_whose_every_run_is_left_out_is_still_written_down() -> None:
    worked = work(level(60.0, assembly="WOOOD"))

    assert worked.rows["sections"] == ()
    assert worked.only("summary").runs_left_out == 1
    assert [row.severity for row in worked.rows["warnings"]] == ["left out"]


def test_job_without_runs_stops() -> None:
    job, (problem,) = build(tabs())

    assert job is None
    assert (problem.where, problem.severity) == ("Runs", STOPS)


@pytest.mark.parametrize("step", [-0.0625, 26.0])
def test_impossible_tape_step_stops(step: float) -> None:
    job, (problem,) = build(tabs(GOOD, settings=replace(PLAIN, tape_step=step)))

    assert job is None
    assert problem.severity == STOPS
    assert f"{step:g}" in problem.what


def test_tape_step_of_nothing_stops() -> None:
    """Every length is divided by the tape step: 0 must not get as far as that."""
    job, problems = build(tabs(GOOD, settings=replace(PLAIN, tape_step=0.0)))

    assert job is None
    assert [each.severity for each in problems] == [STOPS]


@pytest.mark.parametrize("margin", [2.0, 4.0, 5.5, 6.0])
def test_margin_that_leaves_no_gap_stops(margin: float) -> None:
    """A margin as large as the 4 in sphere leaves no gap at all between balusters; half of it is a slip already."""
    settings = replace(PLAIN, build_margin=margin, origin=Origin("Job", {"build_margin": "Job!B12"}))
    job, problems = build({"job": [settings], "runs": [GOOD], "assemblies": [WOOD]})

    assert job is None
    assert [(each.where, each.severity) for each in problems] == [("Job!B12", STOPS)]
    assert f"{margin:g}" in problems[0].what


def test_job_without_settings_is_no_job() -> None:
    assert build({"job": [], "runs": [GOOD]}) == (None, ())
    assert isinstance(PLAIN, Settings)
