"""Opening: a file that is no sound workbook gives one clear sentence, and nothing hangs."""

import os
import re
import time
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.chart import BarChart
from openpyxl.worksheet.worksheet import Worksheet

from railbook.basics.problem import STOPS, Problem
from railbook.intake import package
from railbook.intake.layout import MOST_COLUMNS, MOST_ROWS
from railbook.intake.workbook import Book, Sheet, open_workbook

SHEET = "xl/worksheets/sheet1.xml"
BOOK = "xl/workbook.xml"


def _workbook(fill: Callable[[Worksheet], None] = lambda sheet: sheet.append(["Run", "A", 90.375])) -> bytes:
    """A workbook with one tab, Runs."""
    book, data = Workbook(), BytesIO()
    book.remove(book.worksheets[0])
    fill(book.create_sheet("Runs"))
    book.save(data)
    return data.getvalue()


def _with(data: bytes, change: Callable[[str, bytes], bytes]) -> bytes:
    """The same workbook with its parts changed."""
    changed = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as old, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
    return changed.getvalue()


def _in_part(part: str, old: bytes, new: bytes) -> bytes:
    """A sound workbook with one text of one part replaced."""
    changed = _with(_workbook(), lambda name, xml: xml.replace(old, new) if name == part else xml)
    with zipfile.ZipFile(BytesIO(changed)) as archive:
        assert new in archive.read(part)
    return changed


def _zip(*names: str) -> bytes:
    data = BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name in names:
            archive.writestr(name, "<x/>")
    return data.getvalue()


def _chart_only() -> bytes:
    book, data = Workbook(), BytesIO()
    book.create_chartsheet("Runs").add_chart(BarChart())
    book.remove(book.worksheets[0])
    book.save(data)
    return data.getvalue()


def _corrupt() -> bytes:
    """A workbook with a few bytes of its sheet turned over on the disk."""
    data = bytearray(_workbook())
    at = data.index(SHEET.encode()) + len(SHEET) + 20
    data[at : at + 4] = bytes(byte ^ 255 for byte in data[at : at + 4])
    return bytes(data)


def _open(folder: Path, data: bytes, name: str = "job.xlsx") -> Book | Problem:
    path = folder / name
    path.write_bytes(data)
    return open_workbook(path, ["runs"])


def _sheet(folder: Path, data: bytes) -> Sheet:
    book = _open(folder, data)
    assert isinstance(book, Book)
    return book.sheets[0]


DOCTYPE = '<!DOCTYPE x [<!ENTITY a "b">]>'
DECLARED = re.compile(rb"<\?xml[^>]*\?>")


def _in_utf16(name: str, xml: bytes) -> bytes:
    if name != SHEET:
        return xml
    return ('<?xml version="1.0" encoding="UTF-16"?>' + DOCTYPE + DECLARED.sub(b"", xml).decode()).encode("utf-16")


FAULTY = {
    "empty": (b"", "the file is empty"),
    "csv": (b"Run,Kind\nA,Level\n", "the file is not an Excel workbook"),
    "html": (b"<html><table><tr><td>Run</td></tr></table></html>", "the file is not an Excel workbook"),
    "old or encrypted": (
        bytes.fromhex("D0CF11E0A1B11AE1") + bytes(600),
        "the file cannot be opened: it is protected by a password, or is an old .xls",
    ),
    "other zip": (_zip("a.txt"), "the file is not an Excel workbook"),
    "text document": (_zip("[Content_Types].xml", "word/document.xml"), "the file is not an Excel workbook"),
    "ods": (_zip("mimetype", "content.xml"), "the file is an OpenDocument file"),
    "xlsb": (_zip("[Content_Types].xml", "xl/workbook.bin"), "the file is a binary workbook (.xlsb)"),
    "truncated": (_workbook()[:-200], "the file is damaged and cannot be read"),
    "zip mark only": (b"PK\x03\x04", "the file is damaged and cannot be read"),
    "corrupt member": (_corrupt(), "the file is damaged and cannot be read"),
    "bad xml": (_in_part(SHEET, b"</sheetData>", b"<oops>"), "the file is damaged and cannot be read"),
    "no such string": (
        _in_part(SHEET, b't="inlineStr"><is><t>Run</t></is>', b't="s"><v>99</v>'),
        "the file is damaged and cannot be read",
    ),
    "text as number": (
        _in_part(SHEET, b"<v>90.375</v>", b"<v>ninety</v>"),
        "the file is damaged and cannot be read",
    ),
    "bad address": (_in_part(SHEET, b'r="C1"', b'r="C"'), "the file is damaged and cannot be read"),
    "strict": (
        _in_part(
            BOOK,
            b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
            b"http://purl.oclc.org/ooxml/spreadsheetml/main",
        ),
        "the file is saved as Strict Open XML",
    ),
    "definition": (
        _in_part(SHEET, b"<worksheet", DOCTYPE.encode() + b"<worksheet"),
        "the file holds a document type definition, which no spreadsheet program writes",
    ),
    "definition in UTF-16": (
        _with(_workbook(), _in_utf16),
        "the file holds a document type definition, which no spreadsheet program writes",
    ),
    "chart only": (_chart_only(), "the file has no sheet with cells"),
}


@pytest.mark.parametrize(("data", "what"), FAULTY.values(), ids=FAULTY)
def test_what_is_no_workbook_is_refused_in_one_sentence(tmp_path: Path, data: bytes, what: str) -> None:
    problem = _open(tmp_path, data)

    assert isinstance(problem, Problem)
    assert (problem.where, problem.what, problem.severity) == ("job.xlsx", what, STOPS)
    assert problem.remedy


def test_a_workbook_that_unpacks_beyond_measure_is_refused_unread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = _in_part(SHEET, b"</sheetData>", b"</sheetData>" + b" " * 3_000_000)
    monkeypatch.setattr(package, "LARGEST", 2_000_000)
    monkeypatch.setattr(zipfile.ZipFile, "read", None)  # reading would raise
    problem = _open(tmp_path, data)

    assert len(data) < 20_000
    assert isinstance(problem, Problem)
    assert problem.what == "the file holds more than 2 MB"


def test_a_file_beyond_measure_is_refused_unread(tmp_path: Path) -> None:
    with (tmp_path / "job.xlsx").open("wb") as file:
        file.truncate(package.LARGEST + 1)  # takes no room on the disk
    problem = open_workbook(tmp_path / "job.xlsx", ["runs"])

    assert isinstance(problem, Problem)
    assert problem.what == "the file holds more than 200 MB"


def test_places_without_a_file_are_told_apart(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.xlsx")
    problems = [open_workbook(tmp_path / name, ["runs"]) for name in ("none.xlsx", "", "pipe.xlsx")]

    assert [problem.what for problem in problems if isinstance(problem, Problem)] == [
        "the file is not there",
        "the file is a folder",
        "the file is not a file",
    ]


@pytest.mark.parametrize(
    ("error", "what"),
    [
        (PermissionError(13, "Permission denied"), "the file may not be read"),
        (OSError(5, "Input/output error"), "the file cannot be read (Input/output error)"),
    ],
)
def test_a_file_that_cannot_be_read_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: OSError, what: str
) -> None:
    """Raised by hand, since a test may run as somebody who may read everything."""

    def refuse(_: Path) -> bytes:
        raise error

    (tmp_path / "job.xlsx").write_bytes(_workbook())
    monkeypatch.setattr(Path, "read_bytes", refuse)
    problem = open_workbook(tmp_path / "job.xlsx", ["runs"])

    assert isinstance(problem, Problem)
    assert problem.what == what


def test_the_name_of_the_file_does_not_matter(tmp_path: Path) -> None:
    assert isinstance(_open(tmp_path, _workbook(), "job.bak"), Book)


def test_a_picture_may_carry_a_definition(tmp_path: Path) -> None:
    """SVG pictures do, and no reader of cells looks into them."""
    data = BytesIO(_workbook())
    with zipfile.ZipFile(data, "a") as archive:
        archive.writestr("xl/media/logo.svg", DOCTYPE)

    assert isinstance(_open(tmp_path, data.getvalue()), Book)


def test_only_filled_cells_are_kept(tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, _workbook())

    assert sheet.title == "Runs"
    assert {at: cell.value for at, cell in sheet.rows[1].items()} == {1: "Run", 2: "A", 3: 90.375}


def test_what_the_file_says_about_its_size_is_not_believed(tmp_path: Path) -> None:
    data = _in_part(SHEET, b'<dimension ref="A1:C1"', b'<dimension ref="A1:A1"')

    assert sorted(_sheet(tmp_path, data).rows[1]) == [1, 2, 3]


def test_a_styled_cell_at_the_far_end_costs_nothing(tmp_path: Path) -> None:
    far = b'<row r="1048576"><c r="XFD1048576" s="0"/></row></sheetData>'
    start = time.perf_counter()
    sheet = _sheet(tmp_path, _in_part(SHEET, b"</sheetData>", far))

    assert time.perf_counter() - start < 5
    assert sheet.layout.last_row == 1
    assert list(sheet.rows) == [1]


def test_a_merged_column_costs_nothing(tmp_path: Path) -> None:
    merged = (
        b'</sheetData><mergeCells count="2"><mergeCell ref="A1:A1048576"/><mergeCell ref="XFC1:XFD1"/></mergeCells>'
    )
    start = time.perf_counter()
    sheet = _sheet(tmp_path, _in_part(SHEET, b"</sheetData>", merged))

    assert time.perf_counter() - start < 5
    assert max(sheet.layout.merges) == MOST_ROWS
    assert [merge.ref for merge in sheet.layout.merges[1]] == ["A1:A1048576"]


def test_something_far_below_or_far_right_is_noticed(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.cell(MOST_ROWS + 1, 1, "A")
        sheet.cell(3, MOST_COLUMNS + 1, "Kind")

    sheet = _sheet(tmp_path, _workbook(fill))

    assert sheet.layout.last_row == MOST_ROWS + 1
    assert sheet.layout.last_header == MOST_COLUMNS + 1
    assert not sheet.rows


def test_cells_and_rows_without_addresses_stand_one_after_the_other(tmp_path: Path) -> None:
    """Some programs leave the addresses out, as the file format allows."""
    data = _with(
        _workbook(lambda sheet: sheet.append(["Run", "A", "=1+1"])),
        lambda name, xml: re.sub(rb' r="[A-Z]*1"', b"", xml) if name == SHEET else xml,
    )
    sheet = _sheet(tmp_path, data)

    assert sorted(sheet.rows[1]) == [1, 2, 3]
    assert sheet.rows[1][3].uncalculated


def test_formulas_are_told_by_their_values(tmp_path: Path) -> None:
    """Number, empty text and nothing: only the last was never calculated."""
    cells = (
        b'<row r="2"><c r="A2"><f>1+1</f><v>2</v></c><c r="B2" t="str"><f>""</f><v></v></c>'
        b'<c r="C2"><f>1+1</f></c><c r="D2" t="e"><f>1/0</f><v>#DIV/0!</v></c></row></sheetData>'
    )
    row = _sheet(tmp_path, _in_part(SHEET, b"</sheetData>", cells)).rows[2]

    assert {at: (cell.value, cell.uncalculated, cell.error) for at, cell in row.items()} == {
        1: (2, False, False),
        3: (None, True, False),
        4: ("#DIV/0!", False, True),
    }


def test_a_date_that_no_calendar_has_is_an_error_and_no_warning(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A1"] = 1e10
        sheet["A1"].number_format = "d-mmm"

    assert _sheet(tmp_path, _workbook(fill)).rows[1][1].error


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    part=st.sampled_from((SHEET, BOOK, "xl/sharedStrings.xml", "xl/styles.xml", "[Content_Types].xml")), data=st.data()
)
def test_no_damage_raises(tmp_path: Path, part: str, data: st.DataObject) -> None:
    """A few bytes of one part overwritten, in a zip that is sound otherwise."""

    def damage(name: str, xml: bytes) -> bytes:
        if name != part:
            return xml
        at = data.draw(st.integers(0, len(xml)))
        return xml[:at] + data.draw(st.binary(max_size=6)) + xml[at + data.draw(st.integers(0, 40)) :]

    found = _open(tmp_path, _with(_workbook(), damage))

    assert isinstance(found, (Book, Problem))
