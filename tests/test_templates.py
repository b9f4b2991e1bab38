"""The blank forms that lie beside the program are the ones that it writes, and every cell to fill in says how."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from railbook import blank_form
from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import INCH, JOB_UNITS, MILLIMETRE
from railbook.estimate import read
from railbook.intake.read import read as read_tabs
from railbook.tabs import INPUT_TABS

SHELF = Path(__file__).parent.parent / "workbook_templates"
FORMS = {INCH: SHELF / "measurements-inch.xlsx", MILLIMETRE: SHELF / "measurements-millimetre.xlsx"}
HEADER_ROW, UNIT_ROW, HINT_ROW, FIRST_ROW = 5, 6, 7, 8
LENGTH_FORMATS = {INCH: "# ??/??", MILLIMETRE: "0.0"}  # in a fraction's cell a typed 3/8 is 0.375 and no date
LENGTHS = ("measured", "allowance", "signed", "tape", "length")
ACROSS = [tab for tab in INPUT_TABS if not tab.down]
TYPED = [(tab, column) for tab in INPUT_TABS for column in tab.columns if column.typed]


@pytest.fixture(scope="module", params=JOB_UNITS)
def unit(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def shelved(unit: str) -> Workbook:
    """The form on the shelf."""
    return openpyxl.load_workbook(FORMS[unit])


@pytest.fixture(scope="module")
def drawn(unit: str, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    """The form as the program writes it now."""
    place = tmp_path_factory.mktemp("form") / "form.xlsx"
    blank_form.draw_form(place, unit)
    return openpyxl.load_workbook(place)


def look(cell: Any) -> tuple[Any, ...]:
    """What a cell holds and how it is shown; neither depends on how the file is put together."""
    if not isinstance(cell, Cell):
        return (cell.coordinate, "merged")
    font, side, fill = cell.font, cell.alignment, cell.fill
    letters = (font.b, font.i, font.sz, font.color and font.color.rgb)
    return (
        cell.coordinate, cell.value, cell.data_type, cell.number_format, letters, fill.fgColor.rgb,
        (side.horizontal, side.vertical, side.wrap_text, side.indent), cell.border.top.style, cell.protection.locked,
    )  # fmt: skip


def rule(validation: DataValidation) -> tuple[Any, ...]:
    """What a validation accepts, where, and what it says."""
    return (
        str(validation.sqref), validation.type, validation.operator, validation.formula1, validation.formula2,
        validation.promptTitle, validation.prompt, validation.errorTitle, validation.error, validation.errorStyle,
    )  # fmt: skip


def rules(sheet: Worksheet) -> list[tuple[Any, ...]]:
    return sorted(map(rule, sheet.data_validations.dataValidation), key=repr)


def test_both_units_have_a_form_on_the_shelf_and_nothing_else_does() -> None:
    assert set(SHELF.iterdir()) == set(FORMS.values())


def test_the_form_on_the_shelf_has_the_tabs_of_the_program(shelved: Workbook, drawn: Workbook) -> None:
    assert shelved.sheetnames == drawn.sheetnames
    assert shelved.sheetnames[: len(INPUT_TABS)] == [tab.title for tab in INPUT_TABS]
    assert [sheet.sheet_state for sheet in shelved] == [sheet.sheet_state for sheet in drawn]


def test_the_form_on_the_shelf_has_the_cells_of_the_program(shelved: Workbook, drawn: Workbook) -> None:
    for title in drawn.sheetnames:
        cells = [[look(cell) for row in book[title].iter_rows() for cell in row] for book in (shelved, drawn)]
        assert cells[0] == cells[1], title


def test_the_form_on_the_shelf_has_the_rules_of_the_program(shelved: Workbook, drawn: Workbook) -> None:
    for title in drawn.sheetnames:
        assert rules(shelved[title]) == rules(drawn[title]), title
    assert any(rules(sheet) for sheet in drawn)


def test_the_form_on_the_shelf_has_the_names_of_the_program(shelved: Workbook, drawn: Workbook) -> None:
    named = [{word: name.attr_text for word, name in book.defined_names.items()} for book in (shelved, drawn)]

    assert named[0] == named[1]
    assert {"tape_step", "runs_clear_bottom", "level_sphere"} <= set(named[0])


def test_the_form_on_the_shelf_is_as_wide_and_printed_as_that_of_the_program(
    shelved: Workbook, drawn: Workbook
) -> None:
    for title in drawn.sheetnames:
        made = [
            (
                {letter: each.width for letter, each in book[title].column_dimensions.items()},
                {number: each.height for number, each in book[title].row_dimensions.items()},
                book[title].freeze_panes, book[title].print_title_rows, book[title].page_setup.paperSize,
                book[title].page_setup.orientation, book[title].protection.sheet,
            )
            for book in (shelved, drawn)
        ]  # fmt: skip
        assert made[0] == made[1], title


# what each cell to fill in tells


def place(sheet: Worksheet, tab: Tab, column: Column) -> tuple[int, int]:
    """Row and column of the first cell to fill in under (or beside) a header."""
    if tab.down:
        (row,) = [cells[0].row for cells in sheet.iter_rows() if cells[0].value == column.header]
        return row, 2
    (at,) = [cell.column for cell in sheet[HEADER_ROW] if cell.value == column.header]
    return FIRST_ROW, int(at)


def last_row(sheet: Worksheet, tab: Tab, row: int) -> int:
    """The last row that is ready to be filled in."""
    return row if tab.down else sheet.max_row


def rules_of(sheet: Worksheet, row: int, at: int) -> Iterator[DataValidation]:
    """The validations that take in a cell."""
    cell = sheet.cell(row, at).coordinate
    return (each for each in sheet.data_validations.dataValidation if cell in each.sqref)


@pytest.mark.parametrize("tab", ACROSS, ids=lambda tab: tab.title)
def test_every_column_of_a_tab_has_header_unit_and_hint(drawn: Workbook, unit: str, tab: Tab) -> None:
    sheet = drawn[tab.title]
    over = [[sheet.cell(row, at + 1).value or "" for at in range(len(tab.columns))] for row in (5, 6, 7)]

    assert over == [
        [column.header for column in tab.columns],
        [column.kind.units[unit] for column in tab.columns],
        [column.hint for column in tab.columns],
    ]
    assert all(column.hint for column in tab.columns if column.typed)
    assert len({column.header for column in tab.columns}) == len(tab.columns)


def test_every_setting_has_its_label_unit_and_hint(drawn: Workbook, unit: str) -> None:
    (tab,) = [tab for tab in INPUT_TABS if tab.down]
    shown = [[cell.value or "" for cell in row] for row in drawn[tab.title].iter_rows(min_row=HEADER_ROW)]

    assert [row[0] for row in shown] == [column.header for column in tab.columns]
    for row, column in zip(shown, tab.columns, strict=True):
        assert row[2] == column.kind.units[unit]
        assert str(row[3]).startswith(column.hint)
        assert column.hint


@pytest.mark.parametrize("tab", INPUT_TABS, ids=lambda tab: tab.title)
def test_every_cell_to_fill_in_is_unlocked_and_shaded_and_shows_its_hint(drawn: Workbook, tab: Tab) -> None:
    sheet = drawn[tab.title]
    paper = sheet.cell(1, 1).fill.fgColor.rgb
    for column in (column for column in tab.columns if column.typed):
        first, at = place(sheet, tab, column)
        for row in (first, last_row(sheet, tab, first)):
            cell = sheet.cell(row, at)
            assert not cell.protection.locked, cell
            assert cell.fill.fgColor.rgb != paper, cell
            assert any(each.prompt and column.hint[:200] in each.prompt for each in rules_of(sheet, row, at)), cell


@pytest.mark.parametrize(("tab", "column"), TYPED, ids=lambda each: each.name)
def test_a_column_with_choices_offers_them_on_every_row(drawn: Workbook, tab: Tab, column: Column) -> None:
    """Choices stand in the cell's own rule; marks of another tab are offered by the name of their column."""
    sheet = drawn[tab.title]
    first, at = place(sheet, tab, column)
    choices = column.choices or (("Yes", "No") if column.kind.name == "yes/no" else ())
    offered = f'"{",".join(choices)}"' if choices else column.listed_in
    for row in (first, last_row(sheet, tab, first)):
        lists = [each.formula1 for each in rules_of(sheet, row, at) if each.type == "list"]
        assert lists == ([offered] if offered else [])


@pytest.mark.parametrize("tab", INPUT_TABS, ids=lambda tab: tab.title)
def test_every_measurement_cell_is_kept_from_turning_into_a_date(drawn: Workbook, unit: str, tab: Tab) -> None:
    sheet = drawn[tab.title]
    for column in (column for column in tab.columns if column.typed and column.kind.name in LENGTHS):
        first, at = place(sheet, tab, column)
        formats = {sheet.cell(row, at).number_format for row in range(first, last_row(sheet, tab, first) + 1)}
        assert formats == {LENGTH_FORMATS[unit]}, column.header


@pytest.mark.parametrize("title", ["Runs", "Flights", "Supports", "Assemblies", "Prices"])
def test_room_is_left_to_fill_in(drawn: Workbook, title: str) -> None:
    assert drawn[title].max_row >= FIRST_ROW + 12


def test_example_rows_stand_in_the_form_and_are_passed_over(unit: str, shelved: Workbook) -> None:
    titles = ("Runs", "Flights", "Supports")
    assert [shelved[title].cell(FIRST_ROW, 1).value for title in titles] == ["EXAMPLE"] * 3

    rows = read_tabs(FORMS[unit], INPUT_TABS).rows
    assert [len(rows[tab.name]) for tab in INPUT_TABS if tab.title in titles] == [0, 0, 0]
    assert len(rows["assemblies"]) == 3


def test_the_form_on_the_shelf_lacks_only_what_the_job_has_to_tell(unit: str) -> None:
    job, problems = read(FORMS[unit])

    assert job is None
    assert [problem.what for problem in problems] == ["Job name is blank"]
