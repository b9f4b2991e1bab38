"""Whole workbooks computed afresh by other programs give what the engine wrote, in every formula cell."""

import random
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import formulas
import numpy as np
import pytest
import schedula
from openpyxl.formula.translate import Translator
from xlsxwriter.utility import xl_col_to_name

from railbook import estimate
from railbook.basics.double_entry import Tab
from railbook.estimate import Estimate
from railbook.report.layout import Sheet, first_row, is_typed
from railbook.tabs import TABS
from tests.conftest import CELLS
from tests.garden_ramp import RAMP_JOB
from tests.kept_results import computed_anew
from tests.porch import PORCH
from tests.recalculation import Book, Difference, Gnumeric, LibreOffice, Value, differences, formula_cells, same
from tests.steep_stairs import STAIRS_JOB
from tests.strategies import computed, random_job, random_rows

SEEDS = range(1000, 1020)  # other jobs than the tests of single columns draw
MANY_SECTIONS = 100
FAR_DOWN = "987654"  # a row whose number no formula holds


class Written(NamedTuple):
    """A computed job and its workbook."""

    job: Estimate
    path: Path
    cells: Book


@pytest.fixture(scope="module")
def random_books(tmp_path_factory: pytest.TempPathFactory) -> list[Written]:
    """Workbooks of random jobs; the last is the one with many sections."""
    place = tmp_path_factory.mktemp("books")
    jobs = [*(random_job(seed) for seed in SEEDS), random_job(SEEDS.stop, MANY_SECTIONS)]
    return [_written(job, place / f"job {number}.xlsx") for number, job in enumerate(jobs)]


@pytest.fixture(scope="module")
def example_books(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The results of the examples, as they come out today."""
    made = [computed_anew(form, tmp_path_factory).result for form in (PORCH, STAIRS_JOB, RAMP_JOB)]
    return [result for result in made if result is not None]


def _written(job: Estimate, path: Path) -> Written:
    estimate.write(job, path)
    return Written(job, path, formula_cells(path))


def _addresses(tab: Tab, rows: Any) -> Iterator[tuple[str, str, str]]:
    """Every calculated cell of a tab: its sheet column, the formula in the row's words, and its address."""
    for span in Sheet(tab, rows).spans:
        if span.column.excel:
            for at in range(span.first, span.last + 1):
                for number, row in enumerate(rows, start=first_row(tab)):
                    column = xl_col_to_name(at)
                    if formula := span.column.formula(row):
                        yield column, formula, f"{column}{number}"


def test_every_row_is_the_translate_of_its_tabs_first_row(random_books: list[Written], record_property: Any) -> None:
    """So what holds for the formulas of one row holds for all that speak the same words."""
    compared = 0
    for job, path, cells in random_books:
        for tab in (tab for tab in TABS if not tab.down):
            alike: dict[tuple[str, str], list[str]] = defaultdict(list)
            for column, formula, address in _addresses(tab, job.rows[tab.name]):
                alike[column, formula].append(address)
            for (column, _), (first, *others) in alike.items():
                translator = Translator(cells[tab.title][first].formula, origin=first)
                far_down = translator.translate_formula(f"{column}{FAR_DOWN}")
                for other in others:
                    expected = far_down.replace(FAR_DOWN, other.removeprefix(column))
                    assert cells[tab.title][other].formula == expected, (path, tab.title, other)
                compared += 1 + len(others)
    record_property(CELLS, compared)

    assert compared > 50_000


def test_every_formula_cell_stands_where_a_column_is_calculated(random_books: list[Written]) -> None:
    """No formula is hidden outside the declared columns, but the line under the tab's title."""
    for job, _, cells in random_books:
        for tab in (tab for tab in TABS if not tab.down):
            declared = {address for _, _, address in _addresses(tab, job.rows[tab.name])}
            opening = {"A3", "B3"} if tab.has_status else set() if is_typed(tab) else {"A3"}
            assert set(cells[tab.title]) - declared == opening
            assert declared <= set(cells[tab.title])


def test_libreoffice_finds_no_difference(
    libreoffice: LibreOffice, random_books: list[Written], record_property: Any
) -> None:
    """A hard recalculation of every formula cell of every book."""
    made = libreoffice.recalculated([book.path for book in random_books])
    found: list[Difference] = []
    for book, path in zip(random_books, made, strict=True):
        found += differences(book.cells, formula_cells(path))
    compared = sum(len(cells) for book in random_books for cells in book.cells.values())
    record_property(CELLS, compared)

    assert not found
    assert compared > 50_000
    assert len(random_books[-1].job.rows["sections"]) >= MANY_SECTIONS


def test_gnumeric_finds_no_difference(
    gnumeric: Gnumeric, random_books: list[Written], example_books: list[Path], record_property: Any
) -> None:
    """A third program recalculates the examples, and the same random books as the second."""
    books = [*example_books, *(book.path for book in random_books)]
    found: list[Difference] = []
    compared = 0
    for ours, made in zip(books, gnumeric.recalculated(books), strict=True):
        cells = formula_cells(ours)
        found += differences(cells, formula_cells(made))
        compared += sum(map(len, cells.values()))
    record_property(CELLS, compared)

    assert not found
    assert compared > 50_000


@pytest.mark.parametrize("name", ["libreoffice", "gnumeric"])
def test_the_other_programs_really_compute_afresh(name: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    """A wrong value, planted in a workbook beside its formula, is found."""
    program: LibreOffice | Gnumeric = request.getfixturevalue(name)
    job = random_job(SEEDS.start, sections=2)
    lines = job.rows["lines"]
    planted = _with_kerb(lines[0])
    estimate.write(
        Estimate(job.job, job.choices, {**job.rows, "lines": (planted, *lines[1:])}, ()), tmp_path / "wrong.xlsx"
    )
    ours = formula_cells(tmp_path / "wrong.xlsx")
    found = differences(ours, formula_cells(program.recalculated([tmp_path / "wrong.xlsx"])[0]))

    assert [difference.ours for difference in found if difference.title == "Working runs"] == [0.123]


def _with_kerb(row: Any) -> Any:
    """A copy of a row with a wrong length along the slope."""
    import copy

    wrong, measures = copy.copy(row), copy.copy(row.measures)
    vars(measures)["along"] = 0.123  # takes the place of the cached property
    vars(wrong)["measures"] = measures
    return wrong


def _by_formulas(model: Any, path: Path, titles: list[str]) -> dict[tuple[str, str], Value]:
    """What `formulas` computes, by title and address."""
    solution = model.calculate()
    by_upper = {title.upper(): title for title in titles}
    found = {}
    for key, node in solution.items():
        head, _, address = str(key).rpartition("!")
        title = by_upper.get(head.strip("'").removeprefix(f"[{path.name}]"))
        if title and ":" not in address:
            found[title, address] = _plain(np.asarray(node.value, dtype=object).ravel()[0])
    return found


def _plain(value: Any) -> Value:
    if value is schedula.EMPTY:
        return None
    if isinstance(value, str):
        return str(value)
    return float(value) if isinstance(value, int | float | np.number) else str(value)


def test_formulas_finds_no_difference_in_a_small_book(tmp_path: Path, record_property: Any) -> None:
    """One flight with its guard: every formula of the book, each taken from the file as it stands there."""
    book = _written(computed(random_rows(random.Random(1), 1)), tmp_path / "small.xlsx")
    theirs = _by_formulas(formulas.ExcelModel().loads(str(book.path)).finish(), book.path, list(book.cells))
    expected = {(title, at): cell.value for title, cells in book.cells.items() for at, cell in cells.items()}
    record_property(CELLS, len(expected))

    assert {
        at: (value, theirs.get(at)) for at, value in expected.items() if not same(value, theirs.get(at, "#missing"))
    } == {}
    assert len(expected) > 600
