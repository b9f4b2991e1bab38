"""A result workbook is live: after an edit it shows what the engine says of the edited job, or asks for another run.

Every input column is edited: the workbook as it was computed, with that one cell changed, is computed
afresh by LibreOffice and held against the engine, which lays the edited job out with the choices of old.
Edits share books (see tests/live_edits.py).
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.tabs import TABS, Rows
from tests.conftest import CELLS
from tests.live_edits import (
    COLUMNS,
    SEEDS,
    Edited,
    books,
    computed_job,
    sorted_tabs,
    stretched,
    typed_rows,
    unplaced_line_posts,
    with_edits,
)
from tests.recalculation import SAME, STALE, WRONG, Book, LibreOffice, Missing, Outcome, Shown, formula_cells

# What is renamed under those who name it: all that leaves the engine nothing to lay out with the choices
# of old, and the exception by which it says so.
GONE = {
    "runs.run": KeyError,  # posts that were chosen stand on that run
    "assemblies.assembly": KeyError,  # a run is of that assembly
    "flights.flight": ValueError,  # a stair has the slope of its flight
}


@cache
def edits() -> tuple[Edited, ...]:
    """Every edited book."""
    return (
        *books(),
        *sorted_tabs(),
        unplaced_line_posts(),
        stretched("more balusters than marks", forced=True),
        stretched("more sections than chosen", forced=False),
    )


def _outcomes(book: Edited, cells: Book) -> Iterator[Outcome]:
    """Every cell of the workbook after the edit that nobody types: a plain one that must move lacks a formula."""
    shown, new = Shown(book.job.rows, cells), book.laid_out
    for tab in TABS:
        now = {**(new or book.job.rows), "rules": book.typed["rules"]}[tab.name]
        for row in range(len(book.job.rows[tab.name])):
            for column in (column for column in tab.columns if not column.typed):
                engine = column.value(now[row]) if row < len(now) else Missing("row")
                where = f"{book.what}: {tab.name}.{column.name}, row {row + 1}"
                slots = shown.sheets[tab.name].span(column.name).across if column.repeats else 1
                for nth in range(slots):
                    value = engine[nth] if column.repeats and isinstance(engine, tuple) else engine
                    is_stale = shown.is_stale(tab.name, row, column.name)
                    yield Outcome(where, value, shown.value(tab, column.name, row, nth), is_stale)


@pytest.fixture(scope="module")
def outcomes(libreoffice: LibreOffice, tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Outcome]]:
    """Every formula cell of every edited workbook, by edit; all books go through LibreOffice together."""
    place = tmp_path_factory.mktemp("edited")
    written = [each.written(place / f"edit {number}.xlsx") for number, each in enumerate(edits())]
    made = libreoffice.recalculated(written)
    return {each.what: list(_outcomes(each, formula_cells(book))) for each, book in zip(edits(), made, strict=True)}


def _wrong(outcomes: Mapping[str, Sequence[Outcome]], edits: Collection[str]) -> str:
    """Cells that are neither what the engine says nor in a row that asks for another run; a line for each."""
    wrong = [str(each) for what in edits for each in outcomes[what] if each.verdict == WRONG]
    return "\n".join([*wrong[:40], f"and {len(wrong) - 40} more"] if len(wrong) > 40 else wrong)


def test_an_edited_cell_is_followed_or_its_rows_ask_for_another_run(
    outcomes: dict[str, list[Outcome]], record_property: Any
) -> None:
    record_property(CELLS, sum(map(len, outcomes.values())))

    assert not _wrong(outcomes, outcomes.keys() - set(GONE))


@pytest.mark.parametrize("what", GONE)
def test_rows_that_rest_on_what_is_gone_ask_for_another_run(outcomes: dict[str, list[Outcome]], what: str) -> None:
    """A status that shows an error is counted by nobody: the line under the title would say that all is well."""
    assert not _wrong(outcomes, [what])


def test_only_what_is_gone_leaves_nothing_to_lay_out() -> None:
    assert {each.what: each.gone for each in edits() if each.laid_out is None} == GONE


@pytest.mark.parametrize("fault", [KeyError("slope"), TypeError(), ZeroDivisionError(), ValueError("no section fits")])
def test_a_fault_of_the_engine_is_not_taken_for_a_choice_that_is_gone(
    fault: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lay_out(*_: object) -> Rows:
        raise fault

    job = computed_job(SEEDS[0])
    monkeypatch.setattr(estimate, "lay_out", lay_out)
    with pytest.raises(type(fault)):
        assert Edited("", job, typed_rows(job)).laid_out


def test_every_input_column_was_edited() -> None:
    small = {(edit.tab, edit.column) for book in edits() for edit in book.edits if edit.value is not None}

    assert {(tab.name, column.name) for tab, column in COLUMNS} == small


def test_every_measurement_moves_a_figure() -> None:
    """A length or an angle that no figure follows would be asked for in vain."""
    sizes = {(tab.name, column.name) for tab, column in COLUMNS if tab.name != "prices" and column.kind.numeric}
    moves = {
        (edit.tab, edit.column)
        for book in edits()
        for edit in book.edits
        if edit.value is not None and with_edits(book.job, [edit]).tells
    }

    assert sizes - moves == {("job", "date")}


def test_a_sorted_input_tab_changes_nothing(outcomes: dict[str, list[Outcome]]) -> None:
    for what, cells in outcomes.items():
        if what.endswith(" sorted"):
            assert {outcome.verdict for outcome in cells} == {SAME}, what
            assert not any(outcome.is_stale for outcome in cells), what


@pytest.mark.parametrize("what", ["more balusters than marks", "more sections than chosen"])
def test_what_outgrows_the_workbook_says_so(outcomes: dict[str, list[Outcome]], what: str) -> None:
    totals = [cell for cell in outcomes[what] if ": summary." in cell.where and "_total," in cell.where]

    assert {cell.shown for cell in totals} == {RUN_AGAIN}
    assert any(cell.is_stale and ".marks" in cell.where for cell in outcomes[what])
    assert any(cell.verdict == SAME and not cell.is_stale for cell in outcomes[what])


def test_both_outcomes_are_seen_among_small_edits(outcomes: dict[str, list[Outcome]]) -> None:
    seen = Counter(
        STALE if any(cell.is_stale for cell in cells) else SAME for what, cells in outcomes.items() if "." in what
    )

    assert seen[SAME] > 5
    assert seen[STALE] > 5
