"""Forms as they come back from a site and from other programs: each cell is read rightly or refused in a sentence.

Every workbook is the filled-in porch (runs A, B, S1 and S2) with many things done to it at once; each is
computed, and its result, which is an input too, is computed again. Columns are found by their headers.
"""

import datetime as dt
import re
import shutil
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Problem
from railbook.cli import main
from railbook.estimate import Estimate, compute, estimate, result_path
from tests.recalculation import LibreOffice, differences, formula_cells

pytestmark = pytest.mark.usefixtures("first_plans")

HEADERS, FIRST = 5, 8  # rows of a tab across
RUNS = ("A", "B", "S1", "S2")
Spoil = Callable[[Workbook], None]
Make = Callable[[Spoil], Path]

needs_libreoffice = pytest.mark.skipif(LibreOffice.is_missing(), reason="LibreOffice is not installed")


@pytest.fixture
def make(tmp_path: Path, porch_form: Path) -> Make:
    """Spoils a copy of the porch and saves it, as openpyxl does."""

    def make(spoil: Spoil) -> Path:
        book = openpyxl.load_workbook(porch_form)
        spoil(book)
        book.save(tmp_path / "job.xlsx")
        return tmp_path / "job.xlsx"

    return make


def column(book: Workbook, title: str, header: str) -> int:
    """Number of the column under a header."""
    (found,) = [each.column for each in book[title][HEADERS] if each.value == header]
    assert isinstance(found, int)
    return found


def cell(book: Workbook, title: str, header: str, row: int | str = "A") -> Cell:
    """The cell under a header, in the row of a number or of a mark."""
    marks = {str(each.value): each.row for each in book[title]["A"]}
    found = book[title].cell(row if isinstance(row, int) else marks[row], column(book, title, header))
    assert isinstance(found, Cell)
    return found


def copy_row(book: Workbook, title: str, row: int) -> None:
    """The first row of a tab once more, in another row."""
    for at, (value,) in enumerate(book[title].iter_cols(min_row=FIRST, max_row=FIRST, values_only=True), start=1):
        book[title].cell(row, at).value = value


def setting(book: Workbook, header: str) -> Cell:
    """The cell beside a label of tab Job."""
    found = next(row[1] for row in book["Job"].iter_rows() if row[0].value == header)
    assert isinstance(found, Cell)
    return found


def put_text(place: Cell, text: str) -> None:
    """Text that stays text, whatever it looks like."""
    place.value = text
    place.data_type = "s"


def renamed(names: Mapping[str, str]) -> Spoil:
    """Other names for runs, supports, flights and assemblies, on every tab that knows them."""

    def spoil(book: Workbook) -> None:
        for title in ("Runs", "Flights", "Supports", "Assemblies", "Fastenings"):
            for row in book[title].iter_rows(min_row=FIRST, max_row=FIRST + 100):
                for each in row:
                    if isinstance(each, Cell) and str(each.value) in names:
                        put_text(each, names[str(each.value)])

    return spoil


def told(computed: Estimate) -> dict[str, Problem]:
    """Where -> problem, each one line with a fault and a remedy."""
    for problem in computed.problems:
        assert all((problem.where, problem.what, problem.remedy)), problem
        assert not re.search(r"\n|Traceback|\bNone\b|Error\b", str(problem)), problem
    return {problem.where: problem for problem in computed.problems}


def pieces(computed: Estimate) -> list[tuple[Any, ...]]:
    """The cut list, without the marks of its runs."""
    return [(each.part, each.quantity, each.length, each.lower_cut) for each in computed.rows["cut_list"]]


def laid_out(computed: Estimate) -> tuple[str, ...]:
    return tuple(line.run for line in computed.rows["lines"])


def with_parts(book: Path, change: Callable[[str, bytes], bytes]) -> Path:
    """The same workbook with its parts changed."""
    with zipfile.ZipFile(book) as old:
        parts = {name: change(name, old.read(name)) for name in old.namelist()}
    with zipfile.ZipFile(book, "w", zipfile.ZIP_DEFLATED) as new:
        for name, part in parts.items():
            new.writestr(name, part)
    return book


# the shape of the workbook


def test_nothing_that_is_hidden_is_lost_and_all_of_it_is_named(make: Make, porch_form: Path) -> None:
    def spoil(book: Workbook) -> None:
        letter = cell(book, "Runs", "Clear at bottom").column_letter
        book["Runs"].column_dimensions[letter].hidden = True
        book["Runs"].column_dimensions["DZ"].hidden = True  # nobody reads it
        book["Supports"].sheet_state = "hidden"
        book["Assemblies"].sheet_state = "veryHidden"
        book["Job"].row_dimensions[setting(book, "Fit allowance").row].hidden = True
        book["Flights"].row_dimensions[FIRST].hidden = True

    computed = estimate(make(spoil))
    found = told(computed)
    assert {problem.severity for problem in found.values()} == {NOTE}
    assert sorted(re.sub(r"!.*", "", where) for where in found) == ["Assemblies", "Flights", "Job", "Runs", "Supports"]
    assert "the tab is hidden; it was read" in found["Supports"].what
    assert pieces(computed) == pieces(estimate(porch_form))


def test_extra_tabs_columns_rows_and_blank_rows_change_no_piece(make: Make, porch_form: Path) -> None:
    notes: dict[str, int] = {}

    def spoil(book: Workbook) -> None:
        book.create_sheet("My notes", 0)["A1"] = "=1/0"
        sheet = book["Runs"]
        sheet.insert_rows(FIRST + 1, 3)
        sheet.cell(FIRST + 2, 2, "\N{NO-BREAK SPACE}")
        last = sheet.max_column
        notes.update(sums=last + 2, clock=last + 3, stray=last + 4)
        sheet.cell(HEADERS, last + 2, "My sum")
        sheet.cell(FIRST, last + 2, "=1+1")
        sheet.cell(HEADERS, last + 3, "=NOW()")  # never calculated
        sheet.cell(FIRST, last + 3, 7)
        sheet.cell(FIRST + 30, last + 4, "a word without a header")

    computed = estimate(make(spoil))
    found = told(computed)
    assert {problem.severity for problem in found.values()} == {LOOK}
    assert [bool(re.match(r'the header "My sum" is not one', each.what)) for each in found.values()] == [True, False]
    assert "the header, a formula without a calculated value, is not one" in list(found.values())[1].what
    assert pieces(computed) == pieces(estimate(porch_form))


def test_merged_cells_are_named_in_headers_rows_and_settings(make: Make) -> None:
    merged: list[str] = []

    def spoil(book: Workbook) -> None:
        sheet = book["Runs"]
        clear, rise = (cell(book, "Runs", header, HEADERS) for header in ("Clear at top", "Clear at bottom"))
        address = setting(book, "Address")
        merged.extend((f"{clear.coordinate}:{rise.coordinate}", f"B{address.row}:B{address.row + 1}", "A8:A9"))
        sheet.merge_cells(merged[0])
        book["Job"].merge_cells(merged[1])
        sheet.merge_cells(merged[2])

    computed = estimate(make(spoil))
    told(computed)
    for area in merged:
        assert any(f"cells {area} are merged" in problem.what for problem in computed.problems)
    assert any('has no header "Clear at bottom"' in problem.what for problem in computed.problems)
    assert "B" not in laid_out(computed)


def test_second_rows_of_one_mark_are_left_out_on_every_tab(make: Make, porch_form: Path) -> None:
    """The first one counts; the second is named with the place of the first, and stands in the result."""
    rows = {"Flights": FIRST + 1, "Supports": FIRST + 4, "Assemblies": FIRST + 3}

    def spoil(book: Workbook) -> None:
        for title, row in rows.items():
            copy_row(book, title, row)
        cell(book, "Assemblies", "Baluster width", rows["Assemblies"]).value = 3

    computed = compute(make(spoil))
    found = told(computed)
    assert {problem.severity for problem in found.values()} == {LEFT_OUT}
    for title, row in rows.items():
        assert f"stands in {title}!A{FIRST} already" in found[f"{title}!A{row}"].what
    assert pieces(computed) == pieces(estimate(porch_form))
    assert computed.result is not None
    assert told(compute(computed.result)) == found


def test_a_row_that_took_the_example_s_mark_is_not_passed_over_in_silence(make: Make) -> None:
    """The form has its example above everything else."""

    def spoil(book: Workbook) -> None:
        book["Runs"].cell(FIRST + 1, 1).value = "Example"

    computed = estimate(make(spoil))
    assert told(computed)[f"Runs!A{FIRST + 1}"].severity == LOOK
    assert laid_out(computed) == ("A", "S1", "S2")


# single cells


def test_numbers_shown_as_percentages_are_no_lengths_and_no_angles(make: Make) -> None:
    """A slope of 70 % is an angle of 35 degrees, not one of 0.7."""
    spoilt: Mapping[str, tuple[str, float]] = {
        "A": ("Clear at top", 0.9), "B": ("Direction", 1.8), "S1": ("Rise", 47.0625), "S2": ("Angle", 0.7),
    }  # fmt: skip

    def spoil(book: Workbook) -> None:
        for run, (header, value) in spoilt.items():
            cell(book, "Runs", header, run).value = value
            cell(book, "Runs", header, run).number_format = "0.0%"
        notes = cell(book, "Runs", "Notes", "A")
        notes.value, notes.number_format = 0.05, "0%"

    computed = compute(make(spoil))
    assert [problem.severity for problem in told(computed).values()] == [LEFT_OUT] * 4
    assert all("is a percentage" in problem.what for problem in computed.problems)
    assert computed.rows["runs"][0].notes == "5%"
    assert computed.result is not None
    assert set(told(compute(computed.result))) == set(told(computed))


def test_a_word_of_yes_or_no_is_a_word_where_words_are_asked_for(make: Make) -> None:
    """A spreadsheet turns a typed TRUE into a yes."""

    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Notes", "A").value = True
        cell(book, "Runs", "Run", "B").value = True
        cell(book, "Runs", "Rise", "S1").value = True

    computed = estimate(make(spoil))
    (problem,) = told(computed).values()
    assert "is a yes or no" in problem.what
    assert laid_out(computed) == ("A", "TRUE", "S2")


def test_number_formats_with_words_make_no_dates(make: Make) -> None:
    """The letters d, m and y of a quoted or escaped unit say nothing about a day."""
    formats = ('0.0 "mm"', "0.0\\ \\m\\m", '# ??/??\\"', "[$-409]0.00", "[Red]0.00", "0.00E+00", "#,##0.0 [$yd-407]")

    def spoil(book: Workbook) -> None:
        for row, number_format in enumerate(formats, start=FIRST + 4):
            copy_row(book, "Runs", row)
            book["Runs"].cell(row, 1).value = f"N{row}"
            for header in ("Clear at top", "Clear at bottom"):
                place = cell(book, "Runs", header, row)
                place.value, place.number_format = 90.5, number_format

    computed = estimate(make(spoil))
    assert [row.clear_top for row in computed.rows["runs"][4:]] == [90.5] * len(formats)
    assert not [problem for problem in computed.problems if problem.severity == LEFT_OUT]


@pytest.mark.parametrize("system", ["1900", "1904"])
def test_fractions_that_became_dates_are_offered_back_in_both_date_systems(make: Make, system: str) -> None:
    def spoil(book: Workbook) -> None:
        if system == "1904":
            book.epoch = CALENDAR_MAC_1904
        place = cell(book, "Runs", "Upper setback", "S1")
        place.value, place.number_format = dt.datetime(2026, 3, 8), "d-mmm"
        setting(book, "Date measured").value = dt.datetime(2026, 4, 30)
        cell(book, "Runs", "Run", "B").value = dt.datetime(2026, 1, 2)

    computed = compute(make(spoil))
    assert sorted(re.sub(r"^.*: ", "", problem.what) for problem in told(computed).values()) == [
        "2026-01-02 is a date or a time, not a mark",
        "2026-03-08 is a date, most probably 3/8 that the spreadsheet turned into one",
    ]
    assert computed.rows["job"][0].date == dt.date(2026, 4, 30)
    assert computed.result is not None
    again = compute(computed.result)
    assert laid_out(again) == laid_out(computed) == ("A", "S2")


def test_a_measurement_that_was_never_calculated_is_no_blank_in_the_result_either(make: Make) -> None:
    """Otherwise the result, computed again, would lay the run out without it."""

    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Lower setback", "S1").value = "=2+1/4"
        cell(book, "Runs", "Clear at top", "A").value = "#DIV/0!"

    first = compute(make(spoil))
    assert first.result is not None
    again = compute(first.result)
    assert [each.severity for each in (*told(first).values(), *told(again).values())] == [LEFT_OUT] * 4
    assert laid_out(first) == laid_out(again) == ("B", "S2")


def test_control_characters_spelled_out_by_the_file_format_are_blanks(make: Make) -> None:
    """As a line break typed on another system is stored (ECMA-376 part 1, 22.9.2.19)."""

    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Location", "A").value = "ZZTOP"

    place = with_parts(make(spoil), lambda _, part: part.replace(b"ZZTOP", b"first_x000D_\nsecond _x0041_"))
    assert estimate(place).rows["runs"][0].location == "first second _x0041_"


def test_long_text_is_refused_and_kept(make: Make) -> None:
    """32767 characters are the most that a cell holds."""

    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Notes", "A").value = "n" * 32767
        cell(book, "Runs", "From", "B").value = "m" * 41
        cell(book, "Runs", "Rise", "S1").value = "z" * 5000
        cell(book, "Assemblies", "Description", "COMPOSITE").value = "q" * 1000
        setting(book, "Job name").value = "\N{WAVING BLACK FLAG}&P" * 300

    computed = compute(make(spoil))
    assert computed.result is not None
    assert laid_out(computed) == ("S2",)
    assert all(len(str(problem)) < 300 for problem in told(computed).values())
    kept = openpyxl.load_workbook(computed.result)
    notes = [each.value for each in kept["Runs"][FIRST]]
    assert "n" * 32767 in notes


# text and marks, as far as another program's recalculation

SCRIPTS: Mapping[str, str] = {
    "A": "\u0421\u0442\u0443\u043f\u0435\u043d\u044c", "B": "\u697c\u68af\u2460", "S1": "\u062f\u0631\u062c",
    "S2": "\U0001f6aa1", "P1": "\u00c91", "P2": "STRASSE", "P3": "stra\u00dfe2", "P4": "\uff30\uff38",
    "W1": "PX", "P5": "\u0130I", "F1": "(X)", "WOOD": "[A]", "METAL": "A", "COMPOSITE": "\\A",
}  # fmt: skip
CRITERIA: Mapping[str, str] = {
    "A": "01", "B": "1E3", "S1": ">5", "S2": "TRUE", "P1": "1", "P2": "001", "P3": "<>", "P4": "=1", "P5": "+1",
    "W1": "A1", "F1": ".+", "WOOD": "^W", "METAL": "W", "COMPOSITE": "1E0",
}  # fmt: skip


@needs_libreoffice
def test_odd_marks_stay_joined_to_their_rows_when_libreoffice_recalculates(make: Make, porch_form: Path) -> None:
    """The same pieces as under plain marks; every formula gives the same; what LibreOffice saved is read alike."""
    usual = pieces(estimate(porch_form))
    books: list[Path] = []
    for at, names in enumerate((SCRIPTS, CRITERIA)):
        computed = compute(make(renamed(names)))
        assert told(computed) == {}
        assert pieces(computed) == usual
        assert set(laid_out(computed)) == {names[run].upper() for run in RUNS}
        assert computed.result is not None
        books.append(computed.result.rename(computed.result.with_name(f"odd {at}.xlsx")))
    form = Path(shutil.copy(porch_form, books[0].with_name("form.xlsx")))
    place = books[0].parent / "office"
    place.mkdir()
    saved = LibreOffice(place).recalculated([*books, form])
    for ours, theirs in zip(books, saved, strict=False):
        assert differences(formula_cells(ours), formula_cells(theirs)) == []
    for other in saved:
        assert pieces(estimate(other)) == usual


def test_a_letter_is_the_same_letter_however_it_is_stored(make: Make, porch_form: Path) -> None:
    """Some systems store an accent as a character of its own."""

    def spoil(book: Workbook) -> None:
        renamed({"P2": "\u00c9"})(book)
        cell(book, "Runs", "To", "A").value = "E\u0301"

    computed = estimate(make(spoil))
    assert told(computed) == {}
    assert pieces(computed) == pieces(estimate(porch_form))


LIVE: tuple[tuple[str, str, int | str, str], ...] = (  # tab, header, row, text
    ("Runs", "Notes", "A", "=cmd|' /C calc'!A0"), ("Runs", "Location", "B", "+1"), ("Runs", "Rise", "S1", "=1+1"),
    ("Runs", "Kind", "S2", "@x"), ("Flights", "Notes", "F1", "@SUM(A1)"), ("Supports", "Notes", "W1", "-1"),
    ("Assemblies", "Description", "METAL", "=1+1"), ("Prices", "Item", FIRST, "=PRICE"),
    ("Prices", "Description", FIRST, "-2+3"),
)  # fmt: skip


def test_text_that_looks_like_a_formula_is_text_wherever_it_is_copied(make: Make) -> None:
    def spoil(book: Workbook) -> None:
        for title, header, row, text in LIVE:
            put_text(cell(book, title, header, row), text)

    computed = compute(make(spoil))
    assert computed.result is not None
    book = openpyxl.load_workbook(computed.result)
    for title, _, _, text in LIVE:
        found = [each for row in book[title].iter_rows() for each in row if each.value == text]
        assert {each.data_type for each in found} == {"s"}, (title, text)
    assert [problem.severity for problem in told(computed).values()] == [LEFT_OUT, LEFT_OUT]


# other programs and other files


def test_a_result_saved_by_a_program_that_does_not_calculate_is_still_an_input(make: Make, porch_form: Path) -> None:
    """It has no formula values then, but the input tabs hold what was typed."""
    computed = compute(make(lambda _: None))
    assert computed.result is not None
    openpyxl.load_workbook(computed.result).save(computed.result)
    again = compute(computed.result)
    assert told(again) == {}
    assert pieces(again) == pieces(estimate(porch_form))


def test_files_that_are_no_workbook_end_in_one_line_and_write_nothing(tmp_path: Path, porch_form: Path) -> None:
    whole = porch_form.read_bytes()
    for name, data in {
        "cut short.xlsx": whole[: len(whole) // 2],
        "password.xlsx": bytes.fromhex("D0CF11E0A1B11AE1") + bytes(512),
        "list.xlsx": b"Run,Kind\nA,Level\n",
        "nothing.xlsx": b"",
    }.items():
        (tmp_path / name).write_bytes(data)
        said = CliRunner().invoke(main, ["compute", str(tmp_path / name)])
        assert said.exit_code == 2
        assert isinstance(said.exception, SystemExit)
        assert said.output.startswith(f"{STOPS}: {name}: the file ")
        assert not result_path(tmp_path / name).exists()
