"""Property and formula of every calculated column agree, row by row, on random jobs.

The formula is computed by `formulas`, in words: a word of the row is the row's value, any other word is
a name for a setting, a limit, or the whole column of another tab as the workbook shows it.
"""

import random
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

import formulas
import numpy as np
import pytest
import schedula
from formulas.ranges import Ranges
from hypothesis import HealthCheck, Phase, given, settings
from openpyxl.utils import get_column_letter

from railbook.basics.double_entry import Column, Tab, in_cells, stale_rows
from railbook.basics.kinds import INCH, JOB_UNITS
from railbook.estimate import Estimate
from railbook.tabs import INPUT_TABS, TABS
from tests.conftest import CELLS
from tests.recalculation import Value, same
from tests.strategies import computed, random_job, typed_rows

SEEDS = (
    *range(12),
    16,
    25,
    27,
    34,
    54,
    84,
)  # enough for every column to show more than blanks; the last test says which does not
CELLS_OF_A_TAB = 12  # of each job: a few rows, fewer where they are wide
UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # a whole job would shrink for minutes
SLOTS = 2  # of a column that repeats
EMPTY = [[schedula.EMPTY]]  # the name of an empty tab's column reaches one blank row

Names = Mapping[str, Ranges]


class Compared(NamedTuple):
    """One cell: what the engine says, and what the formula gives."""

    where: str
    engine: Value
    formula: Value
    words: str


@cache
def _computes(formula: str) -> tuple[Callable[..., Any], tuple[str, ...]]:
    """A formula in words, compiled once, and the names of its arguments in order."""
    function = formulas.Parser().ast(in_cells(formula, lambda word: word))[1].compile()
    return function, tuple(function.inputs)


def _cell(column: Column, value: object) -> Any:
    """What a cell holds: a calculated blank is an empty text, a typed or chosen one is nothing at all."""
    if value is None or value == "":
        return "" if column.excel else schedula.EMPTY
    return value


def _names(job: Estimate) -> Names:
    """Every name of the workbook with what it names."""
    assert job.job is not None
    names = {word: _cells([[limit]]) for word, limit in job.job.in_force.items()}
    for tab in TABS:
        names |= dict(_names_of(tab, job.rows[tab.name]))
    return {word.upper(): value for word, value in names.items()}


def _names_of(tab: Tab, rows: Sequence[object]) -> Iterator[tuple[str, Any]]:
    """Names of one tab: a value for a tab that runs down, else a column."""
    for column in tab.columns:
        values = [column.value(row) for row in rows]
        if tab.down:
            yield column.name, _cells([[_cell(column, values[0])]])
        elif column.repeats:
            numbers = [*range(1, len(values[0]) + 1)] if values else [1]
            yield f"{tab.word(column.name)}_number", _cells([numbers])
            yield tab.word(column.name), _cells([[_cell(column, each) for each in value] for value in values] or EMPTY)
        else:
            yield tab.word(column.name), _cells([[_cell(column, value)] for value in values] or EMPTY)
    if tab.has_status:
        yield tab.stale_word, _cells([[stale_rows(tab, rows)]])


def _cells(rows: Sequence[Sequence[Any]]) -> Ranges:
    """Cells as a formula is given them: a reference, with what stands there row by row."""
    made = np.empty((len(rows), len(rows[0])), dtype=object)
    for at, row in enumerate(rows):
        made[at] = row
    return Ranges().push(f"A1:{get_column_letter(made.shape[1])}{made.shape[0]}", made)


def _row_cells(
    tab: Tab, row: object, names: Names, columns: Sequence[Column], draw: random.Random
) -> Iterator[Compared]:
    """Calculated cells of one row, in those columns."""
    own, repeating = ([column for column in tab.columns if column.repeats is each] for each in (False, True))
    here = {column.name.upper(): _cells([[_cell(column, column.value(row))]]) for column in own}
    for column in columns:
        formula, value = column.formula(row), column.value(row)
        if not formula:
            continue
        slots = draw.sample([*enumerate(value, start=1)], min(SLOTS, len(value))) if column.repeats else [(0, value)]
        for nth, slot in slots:
            beside = [(each, each.value(row)[nth - 1 : nth]) for each in repeating]  # in the same slot
            there = {each.name.upper(): _cells([[_cell(each, *slot)]]) for each, slot in beside if slot}
            known = {**names, **here, **there, "NTH": _cells([[nth]])}
            yield Compared(f"{tab.name}.{column.name}", slot, _result(formula, known), formula)


def _calculated(tab: Tab) -> list[Column]:
    return [column for column in tab.columns if column.excel]


def _result(formula: str, known: Names) -> Value:
    """What `formulas` makes of a formula in words."""
    try:
        function, inputs = _computes(formula)
    except formulas.errors.FormulaError:
        return "not a formula"
    result = np.asarray(function(*(known[name] for name in inputs)), dtype=object).ravel()[0]
    if result is schedula.EMPTY:
        return None
    if isinstance(result, str):
        return str(result)
    return float(result) if isinstance(result, int | float | np.number) else str(result)


def _disagreements(cells: Sequence[Compared]) -> list[Compared]:
    return [cell for cell in cells if not same(cell.engine, cell.formula)]


def _some_cells(job: Estimate, draw: random.Random) -> Iterator[Compared]:
    """The calculated cells of a few rows of every tab."""
    names = _names(job)
    for tab in TABS:
        rows, columns = job.rows[tab.name], _calculated(tab)
        some = 1 + CELLS_OF_A_TAB // len(columns) if columns else 0
        for row in draw.sample(rows, min(some, len(rows))):
            yield from _row_cells(tab, row, names, columns, draw)


def _new_cells(job: Estimate, draw: random.Random, met: set[tuple[str, str]]) -> Iterator[Compared]:
    """Cells that show what their column has not shown before: a blank, a figure, a text, another verdict."""
    names = _names(job)
    for tab in TABS:
        for row in job.rows[tab.name]:
            new = [each for each in _calculated(tab) if (f"{tab.name}.{each.name}", _shows(each.value(row))) not in met]
            met |= {(f"{tab.name}.{each.name}", _shows(each.value(row))) for each in new}
            yield from _row_cells(tab, row, names, new, draw)


def _shows(value: object) -> str:
    """What a value says of the branch that its formula took: a word in small letters says itself."""
    if value is None or value == "":
        return "blank"
    return value if isinstance(value, str) and re.fullmatch("[a-z ]+", value) else type(value).__name__


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck), phases=UNSHRUNK)
@given(rows=typed_rows())
def test_property_and_formula_agree_on_any_job(rows: dict[str, tuple[Any, ...]]) -> None:
    assert not _disagreements(list(_some_cells(computed(rows), random.Random(0))))


@pytest.fixture(scope="module")
def cells() -> list[Compared]:
    """A few rows of every tab of seeded jobs, and every cell that shows something new."""
    met: set[tuple[str, str]] = set()
    made: list[Compared] = []
    for seed in SEEDS:
        job, draw = random_job(seed, sections=5), random.Random(seed)
        made += [*_some_cells(job, draw), *_new_cells(job, draw, met)]
    return made


def test_property_and_formula_agree_on_seeded_jobs(cells: list[Compared], record_property: Any) -> None:
    record_property(CELLS, len(cells))

    assert not _disagreements(cells)
    assert len(cells) > 5_000


def test_every_calculated_column_was_compared_with_a_value_in_it(cells: list[Compared]) -> None:
    """A status is blank in a fresh result; the tests of edited workbooks see it filled."""
    calculated = {f"{tab.name}.{column.name}" for tab in TABS for column in tab.columns if column.excel}
    filled = {cell.where for cell in cells if cell.engine not in (None, "")}

    assert {each for each in calculated - filled if not each.endswith("status")} == set()
    assert calculated == {cell.where for cell in cells}


def test_every_verdict_and_source_was_met(cells: list[Compared]) -> None:
    """The branches that a job takes in words: no formula is compared on one side of its IF only."""
    met: dict[str, set[Value]] = {}
    for cell in cells:
        met.setdefault(cell.where, set()).add(cell.engine)

    assert met["code_checks.verdict"] == {
        "pass", "fail", "not measured", "not required", "in doubt", "guard required", "close",
    }  # fmt: skip
    assert met["lines.source"] == {
        "rise and clear", "slope length and rise", "slope length and clear", "angle", "riser and tread",
    }  # fmt: skip
    assert met["cut_list.ends"] == {"square", "one square", "parallel", "opposed", "see Saw"}


def test_random_jobs_fill_every_input_column_and_leave_every_optional_one_blank() -> None:
    rows = [(tab, row) for job in map(random_job, SEEDS) for tab in INPUT_TABS for row in job.rows[tab.name]]
    filled = {(tab.name, name) for tab, row in rows for name in _typed(tab) if getattr(row, name) not in (None, "")}
    blank = {(tab.name, name) for tab, row in rows for name in _typed(tab) if getattr(row, name) in (None, "")}
    optional = {(tab.name, column.name) for tab in INPUT_TABS for column in tab.columns
                if column.typed and not column.needed}  # fmt: skip

    assert filled == {(tab.name, name) for tab in INPUT_TABS for name in _typed(tab)}
    assert optional <= blank


def _typed(tab: Tab) -> list[str]:
    return [column.name for column in tab.columns if column.typed]


def test_random_jobs_come_in_both_units_and_are_mostly_sound() -> None:
    made = [random_job(seed).job for seed in SEEDS]
    runs = [run for job in made if job for run in job.runs]
    sound = [run for job in made if job for run in (*job.sound_runs, *job.sound_handrails)]

    assert {job.settings.unit for job in made if job} == set(JOB_UNITS)
    assert len(sound) > 0.9 * len(runs)
    assert any(re.search(r"[=>\W]", run.run) for run in runs)
    assert any(job.settings.unit == INCH and job.settings.build_margin == 0 for job in made if job)
