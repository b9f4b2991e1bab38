"""Which cells of a result should hold a formula: every one of a fresh stairs_result, and each that lost it is named."""

import re
import zipfile
from pathlib import Path

import pytest

from railbook import blank_form
from railbook.basics.problem import Problem
from railbook.calculated import calculated, lost
from railbook.intake.written import Written, written
from railbook.report.layout import STALE_ROW
from railbook.tabs import TABS
from tests.changed_cells import EMPTIED, TYPED, changed
from tests.recalculation import formula_cells


def read(path: Path) -> Written:
    book = written(path)
    assert not isinstance(book, Problem)
    return book


def said(path: Path) -> list[str]:
    """The cells that lost their formula."""
    book = read(path)
    return [str(each) for each in lost(book, calculated(book).cells)]


def _columns_of_some_rows(title: str) -> set[int]:
    """Sheet columns of a tab, from 1, in which only some rows hold a formula."""
    (tab,) = [tab for tab in TABS if tab.title == title]
    return {at for at, column in enumerate(tab.columns, start=1) if column.excel and not column.in_every_row}


def test_every_formula_of_a_fresh_result_stands_where_one_is_declared(stairs_result: Path) -> None:
    book = read(stairs_result)
    where = calculated(book)

    for title, formulas in book.formulas.items():
        declared = where.cells.get(title, frozenset())
        others = {column for row, column in set(formulas) - declared if row > STALE_ROW}
        assert declared <= set(formulas), title
        assert others <= _columns_of_some_rows(title), title
    assert where.unknown == ()
    assert not list(lost(book, where.cells))


@pytest.mark.parametrize(
    ("place", "becomes"),
    [
        ("cut_list_length", TYPED),
        ("cut_list_length", EMPTIED),
        ("cut_list_status_count", TYPED),
        ("stale_rows", TYPED),  # on a tab that runs down
        ("rules_in_force", TYPED),  # on an input tab
        ("lines_clear", TYPED),  # the only row
        ("Summary!A3", EMPTIED),  # the live line under a title
    ],
)
def test_a_calculated_cell_without_its_formula_is_named(
    stairs_result: Path, tmp_path: Path, place: str, becomes: str
) -> None:
    """Typed over with the very number that it showed, or emptied."""
    title, area = read(stairs_result).names.get(place.upper()) or place.split("!")
    cell = f"{title}!{area.partition(':')[0]}"

    assert said(changed(stairs_result, tmp_path / "faulty.xlsx", {cell: becomes})) == [
        f"{cell}: a calculated cell holds no formula"
    ]


def test_a_column_pasted_as_values_is_one_line(stairs_result: Path, tmp_path: Path) -> None:
    rows = [int(cell[1:]) for cell in formula_cells(stairs_result)["Cut list"] if re.fullmatch(r"F\d+", cell)]
    faulty = changed(stairs_result, tmp_path / "faulty.xlsx", {f"Cut list!F{row}": TYPED for row in rows})

    assert said(faulty) == [f"Cut list!F{rows[0]}:F{rows[-1]}: {len(rows)} calculated cells hold no formula"]


def without_names(stairs_result: Path, place: Path, start: str) -> Path:
    """A copy that lacks the names which begin so."""
    name = rf'<definedName name="{start}[^"]*">[^<]*</definedName>'
    with zipfile.ZipFile(stairs_result) as old, zipfile.ZipFile(place, "w") as new:
        for part in old.namelist():
            text = old.read(part)
            new.writestr(part, re.sub(name.encode(), b"", text) if part == "xl/workbook.xml" else text)
    return place


@pytest.mark.parametrize(
    ("start", "unknown"),
    [
        ("cut_list_length_text", 'column "On the tape" of tab Cut list'),
        ("cut_list_piece", "tab Cut list"),  # what tells its rows apart
        ("cut_list", "tab Cut list"),
    ],
)
def test_what_the_names_no_longer_tell_is_told(stairs_result: Path, tmp_path: Path, start: str, unknown: str) -> None:
    assert calculated(read(without_names(stairs_result, tmp_path / "nameless.xlsx", start))).unknown == (unknown,)


def test_a_blank_form_is_not_asked_for_the_tabs_of_a_result(tmp_path: Path) -> None:
    blank_form.write_form(tmp_path / "form.xlsx", "in")
    where = calculated(read(tmp_path / "form.xlsx"))

    assert set(where.cells) == {"Rules"}
    assert where.unknown == ()
