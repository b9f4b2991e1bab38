"""A run typed into a result: every tab says that it lacks it, whether or not its own rows are up to date."""

import openpyxl
import pytest

from railbook.basics.double_entry import STATUS, Tab
from railbook.estimate import compute
from railbook.job import runs
from railbook.report.layout import first_row, is_typed
from railbook.tabs import RESULT_TABS
from tests.porch import PORCH
from tests.recalculation import Book, LibreOffice, formula_cells

ADDED = "A run was added on tab Runs: run railbook again"
NEVER_TYPED = [tab for tab in RESULT_TABS if not is_typed(tab)]


def line_under_title(tab: Tab, book: Book) -> object:
    """What a tab says of its own freshness: beside the count of its stale rows, or by itself."""
    counts = tab.has_status and not tab.down
    return book[tab.title]["B3" if counts else "A3"].value


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory, libreoffice: LibreOffice) -> dict[str, Book]:
    """The porch as it was computed, with a run typed below the last one, and with a run lengthened besides."""
    place = tmp_path_factory.mktemp("added")
    form = PORCH._replace(place=place / "porch.xlsx")
    form.draw(form.place)
    result = compute(form.place).result
    assert result is not None
    paths = {"computed": result, "added": place / "added.xlsx", "both": place / "both.xlsx"}
    for what in ("added", "both"):
        book = openpyxl.load_workbook(result)
        below = first_row(runs.TAB) + len(form.tabs["runs"])
        assert book["Runs"].cell(below, 1).value is None
        book["Runs"].cell(below, 1).value = "NEW"
        if what == "both":
            clear = next(cell.column_letter for cell in book["Runs"][5] if cell.value == "Clear at bottom")
            book["Runs"][f"{clear}{first_row(runs.TAB)}"].value = 300
        book.save(paths[what])
    recalculated = libreoffice.recalculated(list(paths.values()))
    return {what: formula_cells(path) for what, path in zip(paths, recalculated, strict=True)}


def test_a_computed_workbook_says_of_no_tab_that_it_lacks_something(books: dict[str, Book]) -> None:
    for tab in NEVER_TYPED:
        said = line_under_title(tab, books["computed"])

        assert said == "All rows are up to date" if tab.has_status and not tab.down else said in ("", None)


def test_every_tab_says_that_a_run_was_added(books: dict[str, Book]) -> None:
    assert {tab.title: line_under_title(tab, books["added"]) for tab in NEVER_TYPED} == {
        tab.title: ADDED for tab in NEVER_TYPED
    }


def test_tabs_that_lack_totals_are_among_them() -> None:
    titles = {tab.title for tab in NEVER_TYPED}

    assert {"Summary", "Fastener schedule", "Bring along", "Buying list", "Materials", "Cost"} <= titles


def test_a_tab_with_stale_rows_says_both(books: dict[str, Book]) -> None:
    """A level run of 300 in can no longer be one of 187 in cut in as many sections."""
    lines = next(tab for tab in NEVER_TYPED if tab.name == "lines")
    stale = [
        at for at, cell in books["both"][lines.title].items()
        if cell.value == "run again" and cell.formula.startswith("=IFERROR")
    ]  # fmt: skip

    assert STATUS in {column.name for column in lines.columns}
    assert len(stale) == 1
    assert line_under_title(lines, books["both"]) == (
        "row rests on older figures, and a run was added on tab Runs: run railbook again"
    )
