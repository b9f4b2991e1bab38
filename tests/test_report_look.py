"""What a drawn tab looks like, accepts and prints, read back with another library."""

import datetime as dt
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from railbook.basics.double_entry import Column, Tab, asked
from railbook.basics.kinds import (
    CHOICE,
    COUNT,
    DATE,
    LENGTH,
    MARK,
    MEASURED,
    MONEY,
    PERCENT,
    TEXT,
    TICK,
    VERDICT,
    YES_NO,
)
from railbook.report.book import Sheet, write_book
from tests.recalculation import LibreOffice

HOSTILE = ("=1+1", "+1", "-1", "@x", "{=1}", "http://x.example", "1E3", "0012", "bell\x07", "lone\ud800", 'a&<b>\n"c"')


@dataclass(frozen=True)
class Plank:
    mark: str | None = None
    length: float | str | None = None
    pieces: int | None = None
    price: float | None = None
    waste: float | None = None
    bought: dt.date | None = None
    grade: str | None = None
    supplier: str | None = None
    dry: str | None = None
    notes: str | None = None


GRADES = tuple(f"grade number {number} of the long list" for number in range(12))
TYPED = Tab(
    "planks",
    "Planks",
    Plank,
    (
        asked("mark", "Mark", MARK, "Your mark", needed=True),
        asked("length", "Length", MEASURED, "Along the grain"),
        asked("pieces", "Pieces", COUNT, "How many"),
        asked("price", "Price", MONEY, "Each"),
        asked("waste", "Waste", PERCENT, "Share that is lost"),
        asked("bought", "Bought", DATE, "Day of the bill"),
        asked("grade", "Grade", CHOICE, "From the stamp", choices=GRADES),
        asked("supplier", "Supplier", MARK, "A mark of this very tab", listed_in="planks_mark"),
        asked("dry", "Dry", YES_NO, "Yes when under 19 percent"),
        asked("notes", "Notes", TEXT, "Anything"),
    ),
    purpose="One row for each plank.",
    key="mark",
)
CREW = Tab(
    "cuts",
    "Cut list",
    SimpleNamespace,
    (
        Column("mark", "Mark", MARK),
        Column("length", "Length", LENGTH, "=2*3"),
        Column("verdict", "Verdict", VERDICT, '="pass"'),
        Column("status", "Status", VERDICT, '=""'),
        Column("done", "Done", TICK),
    ),
    crew=True,
    key="mark",
)
CUTS = [SimpleNamespace(mark=mark, length=6, verdict="pass", status="", done="\N{BALLOT BOX}") for mark in "ABC"]
ROWS = [
    Plank("EXAMPLE", 90.375, 2, 18.5, 0.075, dt.date(2026, 4, 30), GRADES[0], "LEE", "Yes", "An example"),
    Plank("P1"),
]


def written(path: Path, *sheets: Sheet, **how: Any) -> openpyxl.Workbook:
    """A workbook with these sheets, read back."""
    options = {"unit": "in", "footer": "Job", "form": False, **how}
    write_book(path / "book.xlsx", sheets, **options)
    return openpyxl.load_workbook(path / "book.xlsx")


def rules(sheet: Worksheet) -> dict[str, DataValidation]:
    """The rule of every column, by its header."""
    found = {}
    for each in sheet.data_validations.dataValidation:
        column = re.match("[A-Z]+", str(each.sqref))
        assert column is not None
        found[str(sheet[f"{column[0]}5"].value)] = each
    return found


def sheet_xml(path: Path) -> str:
    """The first sheet as it stands in the file."""
    return zipfile.ZipFile(path / "book.xlsx").read("xl/worksheets/sheet1.xml").decode()


def test_hostile_text_stays_text_and_no_formula(tmp_path: Path) -> None:
    """What a user typed comes back as typed, less the signs that no workbook can hold."""
    rows = [Plank(mark=text, notes=text) for text in HOSTILE]
    sheet = written(tmp_path, Sheet(TYPED, rows))["Planks"]
    cells = [sheet.cell(8 + index, 10) for index in range(len(HOSTILE))]

    assert [cell.value for cell in cells] == [text.replace("\x07", "").replace("\ud800", "") for text in HOSTILE]
    assert {cell.data_type for cell in cells} == {"s"}
    assert [cell.quotePrefix for cell in cells[:4]] == [True] * 4
    assert not any(cell.hyperlink for cell in cells)


def test_typed_values_come_back_as_they_were(tmp_path: Path) -> None:
    sheet = written(tmp_path, Sheet(TYPED, ROWS))["Planks"]

    assert [cell.value for cell in sheet[8]][:6] == ["EXAMPLE", 90.375, 2, 18.5, 0.075, dt.datetime(2026, 4, 30)]
    assert [cell.value for cell in sheet[9]] == ["P1"] + [None] * 9


def test_opening_headers_units_and_hints_stand_over_the_rows(tmp_path: Path) -> None:
    sheet = written(tmp_path, Sheet(TYPED, ROWS))["Planks"]

    assert [sheet[cell].value for cell in ("A1", "A2", "A3")] == ["Planks", "One row for each plank.", None]
    assert [sheet[cell].value for cell in ("B5", "B6", "B7")] == ["Length", "in", "Along the grain"]
    assert (sheet["A7"].value, rules(sheet)["Mark"].prompt) == ("Your mark", "Your mark (needed)")
    assert [sheet["A7"].font.bold, sheet["B7"].font.bold] == [True, False]


def test_length_cells_keep_fractions_from_turning_into_dates(tmp_path: Path) -> None:
    inch = written(tmp_path, Sheet(TYPED, ROWS, blank_rows=2))["Planks"]
    metric = written(tmp_path, Sheet(TYPED, ROWS), unit="mm")["Planks"]

    assert [inch[f"B{row}"].number_format for row in (8, 9, 10, 11)] == ["# ??/??"] * 4
    assert metric["B8"].number_format == "0.0"
    assert [inch[f"{column}8"].number_format for column in "DEF"] == ["#,##0.00", "0.0##%", "yyyy-mm-dd"]


def test_result_takes_lengths_as_numbers_only_and_says_what_to_type(tmp_path: Path) -> None:
    rule = rules(written(tmp_path, Sheet(TYPED, ROWS, blank_rows=2))["Planks"])["Length"]

    assert (rule.type, rule.errorStyle or "stop", str(rule.sqref)) == ("decimal", "stop", "B8:B11")
    assert rule.error == "Type a number of inches, such as 90 3/8 or 90.375."


def test_form_takes_lengths_as_text_too_but_shows_the_hint(tmp_path: Path) -> None:
    found = rules(written(tmp_path, Sheet(TYPED, ROWS, blank_rows=2), form=True)["Planks"])

    assert found["Length"].type in (None, "none")
    assert (found["Length"].promptTitle, found["Length"].prompt) == ("Length", "Along the grain")
    assert found["Pieces"].type == "decimal"
    assert found["Bought"].type == "date"


def test_drop_downs_offer_choices_and_marks_of_another_column(tmp_path: Path) -> None:
    book = written(tmp_path, Sheet(TYPED, ROWS), form=True)
    found = rules(book["Planks"])

    assert found["Dry"].formula1 == '"Yes,No"'
    assert found["Grade"].formula1 == "Lists!$A$1:$A$12"
    assert tuple(cell.value for (cell,) in book["Lists"]["A1:A12"]) == GRADES
    assert book["Lists"].sheet_state == "hidden"
    assert (found["Supplier"].formula1, found["Supplier"].errorStyle) == ("planks_mark", "warning")


def test_example_row_is_drawn_grey_and_italic(tmp_path: Path) -> None:
    sheet = written(tmp_path, Sheet(TYPED, ROWS))["Planks"]

    assert [sheet["A8"].font.italic, sheet["A9"].font.italic] == [True, False]
    assert sheet["A8"].font.color.rgb == "FF7F7F7F"


def test_calculated_tab_is_locked_without_a_password_and_typed_tab_is_not(tmp_path: Path) -> None:
    book = written(tmp_path, Sheet(TYPED, ROWS), Sheet(CREW, CUTS))

    assert book["Cut list"].protection.sheet
    assert book["Cut list"].protection.password is None
    assert not book["Planks"].protection.sheet
    assert not book["Planks"]["B8"].protection.locked
    assert book["Planks"].auto_filter.ref == "A7:J9"
    assert book["Cut list"].auto_filter.ref is None


def test_tab_whose_rows_are_names_is_locked_but_for_its_typed_cells(tmp_path: Path) -> None:
    """Sorting it would leave the names on other rows."""
    limits = Tab(
        "limits",
        "Limits",
        SimpleNamespace,
        (Column("limit", "Limit", MARK), asked("amended", "Amended", MEASURED, "Only where it differs")),
        row_word="limit",
        row_cell="amended",
    )
    sheet = written(tmp_path, Sheet(limits, [SimpleNamespace(limit="gap", amended=4.0)]))["Limits"]

    assert sheet.protection.sheet
    assert [sheet["A8"].protection.locked, sheet["B8"].protection.locked] == [True, False]


@pytest.mark.parametrize(("unit", "paper"), [("in", 1), ("mm", 9)])
def test_tab_prints_on_the_paper_of_its_unit_one_page_wide(tmp_path: Path, unit: str, paper: int) -> None:
    """1 is letter, 9 is A4 (ECMA-376 part 1, 18.3.1.63 pageSetup, paperSize)."""
    sheet = written(tmp_path, Sheet(TYPED, ROWS, blank_rows=2), unit=unit, footer="Lee & Sons")["Planks"]

    assert str(sheet.page_setup.paperSize) == str(paper)
    assert sheet.page_setup.orientation == "landscape"
    assert 'fitToPage="1"' in sheet_xml(tmp_path)
    assert (sheet.page_setup.fitToWidth or 1, str(sheet.page_setup.fitToHeight)) == (1, "0")
    assert sheet.print_title_rows == "$4:$6"
    assert sheet.print_area == "'Planks'!$A$1:$J$9"  # the two blank rows are for typing, not for paper
    assert str(sheet.HeaderFooter.oddFooter) == "&LLee && Sons&C&A&RPage &P of &N"


def test_narrow_tab_prints_upright(tmp_path: Path) -> None:
    assert written(tmp_path, Sheet(CREW, CUTS))["Cut list"].page_setup.orientation != "landscape"


def test_headers_and_key_stay_in_view(tmp_path: Path) -> None:
    book = written(tmp_path, Sheet(TYPED, ROWS), Sheet(CREW, CUTS))

    assert [book["Planks"].freeze_panes, book["Cut list"].freeze_panes] == ["B8", "B7"]


def test_tab_for_the_crew_is_large_ruled_and_banded_with_boxes_to_tick(tmp_path: Path) -> None:
    sheet = written(tmp_path, Sheet(CREW, CUTS))["Cut list"]

    assert {cell.font.sz >= 12 for cell in sheet[7]} == {True}
    assert {cell.border.bottom.style for cell in sheet[7]} == {"thin"}
    assert [sheet[f"A{row}"].fill.fill_type for row in (7, 8, 9)] == [None, "solid", None]
    assert [sheet[f"E{row}"].value for row in (7, 8, 9)] == ["☐"] * 3


def test_very_wide_tab_for_the_crew_spreads_over_pages_that_repeat_the_key(tmp_path: Path) -> None:
    tab = Tab(
        "marks",
        "Marks",
        SimpleNamespace,
        (Column("mark", "Mark", MARK), Column("at", "Marks", LENGTH, repeats=True)),
        crew=True,
        key="mark",
    )
    sheet = written(tmp_path, Sheet(tab, [SimpleNamespace(mark="A", at=(1.0,) * 30)]))["Marks"]

    assert str(sheet.page_setup.fitToWidth) == "2"
    assert sheet.print_title_cols == "$A:$A"
    assert [sheet["B4"].value, sheet["B5"].value, sheet["AE5"].value] == ["Marks", 1, 30]


def test_failures_stand_out_and_stale_rows_are_struck_through(tmp_path: Path) -> None:
    sheet = written(tmp_path, Sheet(CREW, CUTS))["Cut list"]
    looks = {
        (str(where.sqref), rule.formula[0]): rule.dxf for where in sheet.conditional_formatting for rule in where.rules
    }

    assert looks["A7:E9", '$D7="run again"'].font.strike
    assert looks["C7:C9", '"fail"'].fill.bgColor.rgb == "FF000000"
    assert looks["C7:C9", '"fail"'].font.color.rgb == "FFFFFFFF"
    assert looks["C7:C9", '"not measured"'].font.i
    assert ("C7:C9", '"pass"') not in looks


def test_purpose_longer_than_its_table_wraps_over_it(tmp_path: Path) -> None:
    tab = Tab(
        "cuts", "Cuts", SimpleNamespace, (Column("a_cut", "A", MARK), Column("b_cut", "B", MARK)), purpose="why " * 40
    )
    sheet = written(tmp_path, Sheet(tab, []))["Cuts"]

    assert [str(cells) for cells in sheet.merged_cells.ranges] == ["A2:B2"]
    assert sheet["A2"].alignment.wrap_text


def test_row_is_high_enough_for_text_that_wraps(tmp_path: Path) -> None:
    """Programs that do not fit rows by themselves would cut the second line; a line of 11 pt takes 15."""
    rows = [Plank("P1", notes="short"), Plank("P2", notes="a note of many words " * 6)]
    sheet = written(tmp_path, Sheet(TYPED, rows))["Planks"]

    assert sheet.row_dimensions[8].height is None
    assert 45 <= sheet.row_dimensions[9].height <= 75


def test_column_is_wide_enough_for_its_largest_figure(tmp_path: Path) -> None:
    """1,234,567.89 has twelve signs; a figure that does not fit would show as ####."""
    sheet = written(tmp_path, Sheet(TYPED, [Plank("P1", price=1234567.89, length=12345 + 15 / 16)]))["Planks"]

    assert sheet.column_dimensions["D"].width >= 12
    assert sheet.column_dimensions["B"].width >= len("12345 15/16")


def test_tab_that_runs_down_labels_every_figure(tmp_path: Path) -> None:
    shop = Tab(
        "shop",
        "Shop",
        SimpleNamespace,
        (
            asked("kerf", "Kerf", MEASURED, "Width of the saw's cut", needed=True),
            Column("twice", "Twice", MEASURED, "=2*{kerf}"),
        ),
        down=True,
    )
    sheet = written(tmp_path, Sheet(shop, [SimpleNamespace(kerf=0.125, twice=0.25)]))["Shop"]

    assert [cell.value for cell in sheet[5]] == ["Kerf", 0.125, "in", "Width of the saw's cut (needed)"]
    assert [cell.value for cell in sheet[6]] == ["Twice", "=2*$B$5", "in", None]
    assert str(sheet.data_validations.dataValidation[0].sqref) == "B5"
    assert sheet["B5"].number_format == "# ??/??"


def test_workbook_computes_everything_afresh_when_opened(tmp_path: Path) -> None:
    assert written(tmp_path, Sheet(CREW, CUTS)).calculation.fullCalcOnLoad


def test_every_format_is_shared(tmp_path: Path) -> None:
    """Ten thousand rows use no more formats than three."""
    few, many = tmp_path / "few", tmp_path / "many"
    for folder, rows in ((few, CUTS[:2]), (many, CUTS * 1000)):
        folder.mkdir()
        written(folder, Sheet(CREW, rows))
    styles = [zipfile.ZipFile(folder / "book.xlsx").read("xl/styles.xml") for folder in (few, many)]

    assert styles[0] == styles[1]


def crew_rows(count: int) -> list[SimpleNamespace]:
    return [SimpleNamespace(mark=f"M{number}", length=6, verdict="pass", status="", done="") for number in range(count)]


@pytest.mark.parametrize(("unit", "rows"), [("in", 33), ("mm", 35)])
def test_no_page_holds_the_last_rows_alone(tmp_path: Path, libreoffice: LibreOffice, unit: str, rows: int) -> None:
    """Rows of 20 pt under 114: letter has 702 pt between the margins, so 29 rows; A4 752, so 31."""
    written(tmp_path, Sheet(CREW, crew_rows(rows)), unit=unit)

    assert len(libreoffice.printed(tmp_path / "book.xlsx").pages) == 1


def test_many_more_rows_take_another_page_and_keep_their_size(tmp_path: Path, libreoffice: LibreOffice) -> None:
    sheet = written(tmp_path, Sheet(CREW, crew_rows(50)))["Cut list"]

    assert str(sheet.page_setup.fitToHeight) == "0"
    assert len(libreoffice.printed(tmp_path / "book.xlsx").pages) == 2


def test_lines_down_a_page_stand_under_headings_and_text_runs_on(tmp_path: Path) -> None:
    """A heading has a row of its own; a text without a hint or unit takes the columns of both."""
    page = Tab(
        "page",
        "Page",
        SimpleNamespace,
        (
            Column("pieces", "Pieces", COUNT),
            Column("twice", "Twice", COUNT, "=2*{pieces}", hint="both sides"),
            Column("said", "Said", TEXT, '="never less than "&{twice}'),
        ),
        down=True,
        headings={"twice": "What follows"},
    )
    row = SimpleNamespace(pieces=2, twice=4, said="never less than 4")
    book = written(tmp_path, Sheet(page, [row]))
    sheet = book["Page"]

    assert [[cell.value for cell in sheet[number]] for number in (5, 6, 7)] == [
        ["Pieces", 2, None, None],
        ["What follows", None, None, None],
        ["Twice", "=2*$B$5", None, "both sides"],
    ]
    assert [sheet["A8"].value, sheet["B8"].value] == ["Said", '="never less than "&$B$7']
    assert [str(cells) for cells in sheet.merged_cells.ranges] == ["B8:D8"]
    assert sheet["A6"].border.top.style == "thin"
    assert book.defined_names["said"].attr_text == "Page!$B$8"
    assert sheet.print_area == "'Page'!$A$1:$D$8"


def test_label_over_many_columns_is_not_cut_where_a_page_ends(tmp_path: Path, libreoffice: LibreOffice) -> None:
    """It wraps over the first four of them, which stand on one page; the row is as high as it needs."""
    label = "Running marks from the lower or left end, on the centre of each one"
    tab = Tab(
        "marks",
        "Marks",
        SimpleNamespace,
        (Column("mark", "Mark", MARK, width=70), Column("at", label, LENGTH, repeats=True)),
        crew=True,
        key="mark",
    )
    sheet = written(tmp_path, Sheet(tab, [SimpleNamespace(mark="A", at=(1.0,) * 16)]))["Marks"]
    pages = [" ".join(page.extract_text().split()) for page in libreoffice.printed(tmp_path / "book.xlsx").pages]

    assert [str(cells) for cells in sheet.merged_cells.ranges] == ["B4:E4"]
    assert sheet.row_dimensions[4].height >= 30
    assert len(pages) == 2
    assert label in pages[0]
