"""The jobs that the whole-job benchmark measures are sound, and their formula cells are counted as they are written."""

import inspect
import sys
from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import stale_rows
from railbook.checks.check import FAIL
from railbook.estimate import Estimate
from railbook.intake.read import read
from railbook.job.build import build
from railbook.job.runs import STAIR
from railbook.tabs import INPUT_TABS, TABS
from tests.benchmarks.formula_cells import formula_cells, written_formula_cells
from tests.benchmarks.houses import Rows, draw, rows

KINDS = pytest.mark.parametrize("alike", [True, False], ids=["alike", "different"])
OPENING = 2  # cells of the live line under a title
DEEPEST = 90  # calls within calls to a figure, of any job; 70 are made, and 110 by asking from cut to cut
SECONDS = 0.05  # of work for the cutting plan: whether it is a good one is not asked here


@cache
def typed(sections: int, *, alike: bool) -> Rows:
    return rows(sections, alike=alike)


@cache
def computed(*, alike: bool) -> Estimate:
    """The job of ten sections."""
    job, problems = build(typed(10, alike=alike))
    assert job is not None
    choices, undivided = estimate.choose(job, seconds=SECONDS)
    problems = (*problems, *undivided)
    return Estimate(job, choices, estimate.lay_out(job, choices, problems), problems)


@KINDS
def test_every_run_is_laid_out_without_a_problem(*, alike: bool) -> None:
    made = computed(alike=alike)
    assert made.problems == ()
    assert len(made.rows["sections"]) == 10
    assert sum(stale_rows(tab, made.rows[tab.name]) for tab in TABS) == 0
    assert not [each for each in made.rows["warnings"] if each.severity == FAIL]


@KINDS
def test_cells_counted_from_the_rows_are_those_of_the_workbook(*, alike: bool, tmp_path: Path) -> None:
    made, place = computed(alike=alike), tmp_path / "result.xlsx"
    estimate.write(made, place)
    written = written_formula_cells(place)
    above = {tab.title: written[tab.title] - formula_cells(made.rows)[tab.name] for tab in TABS}
    assert {title: cells for title, cells in above.items() if not 0 <= cells <= OPENING} == {}
    assert sum(written.values()) > 1000


def test_no_row_asks_all_the_rows_before_it() -> None:
    """Figures that are added up along a job would end at the depth to which Python lets functions call one another."""
    job, _ = build(typed(100, alike=True))
    assert job is not None
    choices, undivided = estimate.choose(job, seconds=SECONDS)
    deepest, allowed = sys.getrecursionlimit(), len(inspect.stack()) + DEEPEST
    sys.setrecursionlimit(allowed)
    try:
        made = estimate.lay_out(job, choices, undivided)
        told = [column.value(row) for tab in TABS for row in made[tab.name] for column in tab.columns]
    finally:
        sys.setrecursionlimit(deepest)
    assert len(told) > 10_000


def test_the_workbook_holds_the_rows(tmp_path: Path) -> None:
    wanted, place = typed(10, alike=False), tmp_path / "site.xlsx"
    draw(place, wanted)
    reading = read(place, INPUT_TABS)
    assert reading.problems == ()
    for tab, those in wanted.items():
        assert [_cells(row) for row in reading.rows[tab]] == [_cells(row) for row in those]


def _cells(row: Any) -> Mapping[str, object]:
    return {each.name: getattr(row, each.name) for each in fields(row) if each.name != "origin"}


def test_a_job_has_a_flight_for_seven_sections_and_four_guards_for_a_flight() -> None:
    job = typed(1_000, alike=True)
    guards = [run for run in job["runs"] if run.from_support]
    assert len(job["flights"]) == 1_000 // 7 + 1
    assert len(guards) == 4 * len(job["flights"])
    ends = [mark for run in guards for mark in (run.from_support, run.to_support)]
    shared = {mark for mark in ends if ends.count(mark) == 2}
    assert len(shared) == 2 * len(job["flights"])  # its corner, and the head of its stairs


@pytest.mark.parametrize(("alike", "most"), [(True, 24), (False, None)], ids=["alike", "different"])
def test_lengths_are_those_of_a_few_houses_or_each_its_own(*, alike: bool, most: int | None) -> None:
    guards = [run for run in typed(1_000, alike=alike)["runs"] if run.from_support]
    taped = {(run.assembly, run.clear_bottom, run.rise, run.slope_length) for run in guards}
    assert len(taped) == (most or len(guards))


def test_the_same_job_every_time() -> None:
    assert rows(30, alike=False) == rows(30, alike=False)
    assert rows(30, alike=False) != rows(30, alike=False, seed=2)


def test_stairs_name_their_flight() -> None:
    job = typed(1_000, alike=False)
    named = [run.flight for run in job["runs"] if run.kind == STAIR]
    assert named == [flight.flight for flight in job["flights"] for _ in range(2)]


@pytest.mark.parametrize(("alike", "most"), [(False, 350), (True, 310)], ids=["different", "alike"])
def test_a_section_costs_no_more_formula_cells_than_its_budget(*, alike: bool, most: int) -> None:
    """What a section adds to a workbook of a hundred of them; more of them make a book slow in every program."""
    job, problems = build(typed(100, alike=alike))
    assert job is not None
    choices, _ = estimate.choose(job)  # with the usual plan: a poor one has more rows
    cells = formula_cells(estimate.lay_out(job, choices, problems))

    assert sum(cells.values()) <= most * 100
