"""What the report does otherwise than its library comes to the same cells as the library's own way.

The library's own way is its public methods alone. A release of it that keeps or writes cells otherwise turns
these tests red.
"""

import datetime as dt
import html
import random
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.packager import Packager
from xlsxwriter.worksheet import Worksheet

from railbook import estimate
from railbook.blank_form import draw_form
from railbook.report import overrides
from railbook.report.book import CREATED
from railbook.report.cells import LONGEST, accepted, put, put_formula, put_label
from railbook.report.names import YOUNGER
from railbook.report.overrides import (
    BLOCK,
    QuickSheet,
    QuickWorkbook,
    SealedWorkbook,
    SheafPackager,
    UnsealedPackager,
    add_sheet,
    ready,
)
from railbook.report.styles import Ink
from tests.conftest import CELLS
from tests.drawn_cells import Drawn, taken_apart

VALUES = (
    None, "", 0, 1, -1, 7, 10**15, 0.0, -0.0, 2.5, -2.5, 1 / 3, 0.1 + 0.2, 90.375, 1e-7, 1e300, -123456789.12345678,
    12345678901234567, True, False, dt.date(2026, 5, 4), dt.date(1990, 1, 1), "rail", "a & b", "<rail>", "\"12\" & 'x'",
    " before", "after ", "  ", "two\nlines", "tab\there", "\x0bcontrol\x1f\x00", "_x0041_", "&amp;", "12 1/2", "½ ⅜",
    "木", "\N{SNOWMAN}\N{GRINNING FACE}", "=1+1", "+1", "-x", "@here", "{=1}", "http://a.b", "#N/A", "TRUE",
    "x" * LONGEST, "x" * (LONGEST + 5),
)  # fmt: skip
RESULTS = (
    *(each for each in VALUES if not isinstance(each, dt.date)), *overrides.ERRORS, "#SPILL!", "#CALC!",
    "#N/A ", "#n/a", "fail", "run again",
)  # fmt: skip
FORMULAS = (
    "=A1", "=SUM(A1:B2)", '=IF(A1<2,"&",A1&"<>")', '="quoted ""x"""', "=A1>=B1", "='Cut list'!$A$1", "=-1.5*2^3",
    '=IF(A1="","",INDEX(runs_rise,A1))', '=MAXIFS(A1:A9,B1:B9,"<3")+_xlfn.MINIFS(A1:A9,B1:B9,1)', '="two\nlines"',
    '="_x0041_"', '="&amp;"', '=TEXTJOIN(" ",TRUE,A1:A9)', '="½ 木"', '=SUM({1,2})', "=TRUE", '=IFS(A1=1,"a",TRUE,"b")',
)  # fmt: skip
LOOKS: tuple[dict[str, Any], ...] = (
    {"num_format": "General"},
    {"num_format": "# ??/??", "valign": "vcenter", "font_size": 12},
    {"num_format": "0.00", "bold": True, "border": 1, "border_color": "#A6A6A6"},
    {"text_wrap": True, "align": "left", "indent": 1, "bg_color": "#FFF8E1", "locked": False},
    {"bold": True},
    {"italic": True, "font_color": "#7F7F7F", "num_format": "yyyy-mm-dd"},
    {"italic": True, "bold": False, "font_color": "#7F7F7F", "num_format": "yyyy-mm-dd"},  # the last one once more
)
COLUMNS = (0, 1, 2, 25, 26, 27, 51, 52, 701, 702)  # A to AB, AZ, BA, ZZ, AAA


class OwnWay(Worksheet):
    """The same cells by the library's public methods; it finds which functions need a prefix itself."""

    def pack(self) -> None:
        """It keeps its cells as they are."""

    def put_blank(self, row: int, column: int, look: Format) -> None:
        accepted(self.write_blank(row, column, None, look))

    def put_number(self, row: int, column: int, number: float, look: Format) -> None:
        accepted(self.write_number(row, column, number, look))

    def put_text(self, row: int, column: int, text: str, look: Format) -> None:
        accepted(self.write_string(row, column, text, look))

    def put_formula(self, row: int, column: int, formula: str, look: Format, result: float | str) -> None:
        self.use_future_functions = True
        plain = "=" + html.unescape(formula).replace("_xlfn.", "")
        accepted(self.write_formula(row, column, plain, look, result))


def both(monkeypatch: pytest.MonkeyPatch, folder: Path, write: Callable[[Path], None]) -> tuple[Drawn, Drawn]:
    """A workbook written our way, and the library's."""
    quick, own = folder / "quick.xlsx", folder / "own.xlsx"
    write(quick)
    with monkeypatch.context() as patched:
        patched.setattr(overrides, "QuickSheet", OwnWay)
        write(own)
    return taken_apart(quick), taken_apart(own)


def cells_alike(quick: Drawn, own: Drawn) -> int:
    """Compare two workbooks; how many cells they have."""
    assert quick.cells.keys() == own.cells.keys()
    for part, cells in own.cells.items():
        unlike = {
            at: (quick.cells[part].get(at), cell) for at, cell in cells.items() if quick.cells[part].get(at) != cell
        }
        assert unlike == {}, part
        assert quick.cells[part].keys() == cells.keys()
    assert quick.rest == own.rest
    return sum(map(len, own.cells.values()))


def draw_varied(path: Path) -> None:
    """Every value and every formula with every result, in every look and column by turns."""
    draw = random.Random(1)
    book = Workbook(path, {"strings_to_formulas": False, "strings_to_urls": False})
    looks = [Ink(book.add_format(look), book.add_format({**look, "quote_prefix": True})) for look in LOOKS]
    sheet = add_sheet(book, "Typed")
    for row, value in enumerate(VALUES * len(LOOKS), start=1):
        put(sheet, row, draw.choice(COLUMNS), value, looks[row % len(looks)])
        put_label(
            sheet,
            row,
            3,
            value if isinstance(value, str) and len(value) < LONGEST else "",
            looks[row % len(looks)].plain,
        )
    sheet = add_sheet(book, "Calculated")
    for row, (formula, result) in enumerate(((f, r) for f in FORMULAS for r in RESULTS), start=5):
        told = ready(YOUNGER.sub("_xlfn.", formula.replace("_xlfn.", "")))
        put_formula(sheet, row, draw.choice(COLUMNS), told, result, draw.choice(looks).plain)
    add_rules(sheet, looks[2].plain)
    add_sheet(book, "Blank")
    book.set_properties({"created": CREATED})
    book.close()


def add_rules(sheet: QuickSheet, look: Format) -> None:
    """Merged cells under a text, heights, widths, and rules with formulas of every kind in use."""
    accepted(sheet.merge_range(0, 0, 0, 5, "", look))
    put_label(sheet, 1, 0, "over all & more", look)
    accepted(sheet.write_row(1, 0, range(1, 6), look))
    accepted(sheet.set_row(2, 30))
    accepted(sheet.set_column(0, 3, 12.5))
    when = {"type": "formula", "criteria": '=AND($A5="run again",A5*64<>ROUND(A5*64,0))', "format": look}
    accepted(sheet.conditional_format(4, 0, 90, 2, when))
    accepted(
        sheet.conditional_format(4, 3, 90, 3, {"type": "cell", "criteria": "==", "value": '"<fail>"', "format": look})
    )
    accepted(sheet.data_validation(4, 0, 90, 0, {"validate": "list", "source": "=Typed!$A$1:$A$5"}))
    accepted(sheet.data_validation(4, 1, 90, 1, {"validate": "list", "source": ["Yes", "No & never"]}))
    accepted(sheet.data_validation(4, 2, 90, 2, {"validate": "decimal", "criteria": ">=", "value": "=MAX(A1,1)"}))


def test_varied_cells_come_out_as_by_the_librarys_own_way(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    quick, own = both(monkeypatch, tmp_path, draw_varied)
    number = cells_alike(quick, own)

    assert number > len(VALUES) * len(LOOKS) + len(FORMULAS) * len(RESULTS)
    record_property(CELLS, number)


def test_every_cell_of_the_porch_comes_out_as_by_the_librarys_own_way(
    porch_form: Path,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    record_property: Callable[[str, object], None],
) -> None:
    computed = estimate.estimate(porch_form)
    number = cells_alike(*both(monkeypatch, tmp_path, lambda path: estimate.write(computed, path)))

    assert number > 10_000
    record_property(CELLS, number)


def test_every_cell_of_the_blank_form_comes_out_as_by_the_librarys_own_way(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    number = cells_alike(*both(monkeypatch, tmp_path, lambda path: draw_form(path, "in")))

    assert number > 5_000
    record_property(CELLS, number)


def test_a_cell_says_what_the_file_format_wants(tmp_path: Path) -> None:
    """By ECMA-376, part 1, 18.3.1.4 and 18.18.11: t is s, str, b, e, or nothing for a number; v of true is 1."""
    path = tmp_path / "cells.xlsx"
    book = Workbook(path)
    look = book.add_format({"bold": True})
    sheet = add_sheet(book, "Cells")
    results: tuple[float | str, ...] = (2.5, "a<b", True, "#N/A", "")
    for column, result in enumerate(results):
        sheet.put_formula(0, column, ready('=IF(1<2,"&")'), look, result)
    sheet.put_number(1, 0, -0.125, look)
    sheet.put_text(1, 1, "a<b", look)
    sheet.put_blank(1, 2, look)
    book.close()
    cells = taken_apart(path).cells["xl/worksheets/sheet1.xml"]

    assert {at: cell[:3] for at, cell in cells.items()} == {
        "A1": ("", 'IF(1<2,"&")', "2.5"),
        "B1": ("str", 'IF(1<2,"&")', "a<b"),
        "C1": ("b", 'IF(1<2,"&")', "1"),
        "D1": ("e", 'IF(1<2,"&")', "#N/A"),
        "E1": ("", 'IF(1<2,"&")', ""),
        "A2": ("", None, "-0.125"),
        "B2": ("s", None, cells["B2"].value),
        "C2": ("", None, None),
    }
    assert "a&lt;b" in str(cells["B2"].value)
    assert all("<b/>" in cell.look for cell in cells.values())


@pytest.mark.parametrize(
    "fault",
    [
        lambda cell: cell.replace("<v>", "<v>1", 1),
        lambda cell: cell.replace("</f>", "+1</f>"),
        lambda cell: cell.replace(' t="str"', ""),
        lambda cell: re.sub(r' s="\d+"', ' s="1"', cell),
    ],
    ids=["value", "formula", "type", "look"],
)
def test_a_cell_that_is_written_otherwise_is_found(
    fault: Callable[[str], str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class Faulty(QuickSheet):
        def _write_cell(self, row: int, col: int, cell: object) -> None:
            super()._write_cell(row, col, fault(cell) if (row, col) == (6, 0) and isinstance(cell, str) else cell)

    def write(path: Path) -> None:
        book = Workbook(path)
        looks = [book.add_format({"font_size": size}) for size in range(8, 20)]
        sheet = add_sheet(book, "Cells")
        for row, look in enumerate(looks):
            put_formula(sheet, row + 1, 0, "A1", "fail", look)
        book.set_properties({"created": CREATED})
        book.close()

    quick, own = both(monkeypatch, tmp_path, write)
    assert cells_alike(quick, own) == 12
    monkeypatch.setattr(overrides, "QuickSheet", Faulty)
    write(tmp_path / "faulty.xlsx")

    with pytest.raises(AssertionError, match="'A7'"):
        cells_alike(taken_apart(tmp_path / "faulty.xlsx"), own)


def long_sheet(*, pack: bool) -> bytes:
    """The XML of a sheet of several blocks of rows, one of them empty, with heights of rows."""
    made = BytesIO()
    book = QuickWorkbook(made, {"in_memory": True})
    sheet, look = add_sheet(book, "Long"), book.add_format({"bold": True})
    for row in (0, 1, 17, BLOCK - 1, BLOCK, 3 * BLOCK, 3 * BLOCK + 5, 4 * BLOCK - 1):
        sheet.put_number(row, row % 5, row, look)
        sheet.put_text(row, 7, f"row {row}", look)
        sheet.write_boolean(row, 8, row % 2 == 0, look)
    for row in (1, 2, BLOCK + 3, 3 * BLOCK):
        sheet.set_row(row, 30)
    if pack:
        sheet.pack()
        assert not sheet.table
    book.close()
    with ZipFile(made) as parts:
        return parts.read("xl/worksheets/sheet1.xml")


def test_a_packed_sheet_is_the_same_sheet() -> None:
    packed = long_sheet(pack=True)

    assert packed == long_sheet(pack=False)
    assert packed.count(b"<row ") == 8 + 2
    assert packed.count(b"<v>") == 24


def test_what_is_replaced_of_the_library_is_still_there() -> None:
    """A private method that a release renames would be ours alone, and never called."""
    replaced = {
        (base, name)
        for own, base in (
            (QuickSheet, Worksheet),
            (QuickWorkbook, Workbook),
            (SealedWorkbook, Workbook),
            (SheafPackager, Packager),
            (UnsealedPackager, Packager),
        )
        for name, value in vars(own).items()
        if name.startswith("_") and not name.startswith("__") and callable(value)
    }

    assert replaced - {(Worksheet, "_keep")} == {
        (Worksheet, "_write_cell"),
        (Worksheet, "_write_rows"),
        (Worksheet, "_prepare_formula"),
        (Workbook, "_get_packager"),
        (Packager, "_filename"),
        (Packager, "_write_custom_file"),
    }
    assert not hasattr(Worksheet, "_keep")
    assert all(hasattr(base, name) for base, name in replaced - {(Worksheet, "_keep")})


@pytest.mark.parametrize(("row", "column"), [(1_048_576, 0), (0, 16_384), (-1, 0)])
def test_a_cell_beyond_the_sheet_is_refused(row: int, column: int, tmp_path: Path) -> None:
    """1,048,576 rows and 16,384 columns, as spreadsheet programs have them."""
    book = Workbook(tmp_path / "cells.xlsx")

    with pytest.raises(ValueError, match="no sheet has row"):
        add_sheet(book, "Cells").put_blank(row, column, book.add_format({}))
    book.close()


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_typed_figure_that_no_cell_shows_is_refused(value: float, tmp_path: Path) -> None:
    book = Workbook(tmp_path / "cells.xlsx")
    look = book.add_format({})

    with pytest.raises(ValueError, match="no cell shows"):
        put(add_sheet(book, "Cells"), 1, 0, value, Ink(look, look))
    book.close()
