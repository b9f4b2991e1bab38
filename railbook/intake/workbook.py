"""Open a workbook safely: its sheets as plain cells, or the one problem that forbids it."""

import re
import warnings
from collections.abc import Collection, Mapping
from contextlib import closing
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

from openpyxl.reader.excel import ExcelReader

from railbook.basics.problem import STOPS, Problem
from railbook.basics.units import Refusal
from railbook.intake import package
from railbook.intake.layout import MOST_COLUMNS, MOST_ROWS, Layout, Place, layout


class Cell(NamedTuple):
    """What a cell holds.

    Attributes:
        value: as the workbook stores it; a date where its format says so.
        number_format: how the spreadsheet shows it.
        error: the value is an error such as #REF!.
        uncalculated: a formula whose value was never calculated.
    """

    value: Any
    number_format: str = "General"
    error: bool = False
    uncalculated: bool = False


EMPTY = Cell(None)
_ESCAPED_CONTROL = re.compile(r"_x00[01][0-9A-Fa-f]_")  # how the file format writes a carriage return and its like


@dataclass(frozen=True)
class Sheet:
    """A sheet as plain data.

    Attributes:
        title: what stands on the tab in this workbook.
        rows: row number -> column number -> cell, for filled cells only.
        layout: hidden rows, merged cells and how far the sheet reaches.
        hidden: nobody sees the sheet when the workbook is opened.
    """

    title: str
    rows: Mapping[int, Mapping[int, Cell]]
    layout: Layout
    hidden: bool = False

    def cell(self, row: int, column: int) -> Cell:
        """The cell at that place, empty where nothing stands."""
        return self.rows.get(row, {}).get(column, EMPTY)


class Book(NamedTuple):
    """An opened workbook: the titles of all its sheets, and the sheets that were asked for."""

    titles: tuple[str, ...]
    sheets: tuple[Sheet, ...]


def same_title(title: str) -> str:
    """Title of a sheet as it is compared: case and blanks around it do not matter.

    >>> same_title(" Cut List ") == same_title("cut list")
    True
    """
    return " ".join(title.casefold().split())


def open_workbook(path: Path, titles: Collection[str]) -> Book | Problem:
    """The sheets of those titles, or why the workbook cannot be opened."""
    data = package.contents(path)
    if isinstance(data, Refusal):
        return _stop(path, data)
    if fault := package.fault(data):
        return _stop(path, fault)
    book = _book(data, {same_title(title) for title in titles})
    return _stop(path, book) if isinstance(book, Refusal) else book


def _stop(path: Path, refusal: Refusal) -> Problem:
    return Problem(path.name or str(path), f"the file {refusal.why}", refusal.remedy, STOPS)


def _book(data: bytes, wanted: Collection[str]) -> Book | Refusal:
    """Everything that the library has to do with the file happens in here."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about looks that it does not carry; nothing is written back
            return _read(data, wanted)
    except Exception:  # noqa: BLE001 - a damaged workbook may raise anything in the library
        return package.DAMAGED


def _read(data: bytes, wanted: Collection[str]) -> Book | Refusal:
    """Stream the wanted sheets."""
    reader = ExcelReader(BytesIO(data), read_only=True, data_only=True, keep_links=False)
    with closing(reader.archive):
        reader.read()
        parts = {sheet.name: relation.target for sheet, relation in reader.parser.find_sheets()}
        titles = tuple(str(sheet.title) for sheet in reader.wb.worksheets)
        if not titles:
            return Refusal("has no sheet with cells", "use the workbook with the tabs that were filled in")
        wanted_titles = [title for title in titles if same_title(title) in wanted]
        return Book(titles, tuple(_sheet(reader, title, str(parts[title])) for title in wanted_titles))


def _sheet(reader: ExcelReader, title: str, part: str) -> Sheet:
    """One sheet: first how it is laid out, then its cells."""
    with reader.archive.open(part) as xml:
        found = layout(xml)
    sheet: Any = reader.wb[title]
    sheet.reset_dimensions()  # what the file says about its size may be wrong, and rows would be lost
    stream = sheet.iter_rows(max_row=MOST_ROWS, max_col=MOST_COLUMNS)
    rows = {number: _cells(row, number, found.uncalculated) for number, row in enumerate(stream, start=1)}
    filled = {number: cells for number, cells in rows.items() if cells}
    return Sheet(title, filled, found, hidden=sheet.sheet_state != "visible")


def _cells(row: tuple[Any, ...], number: int, uncalculated: frozenset[Place]) -> dict[int, Cell]:
    """The filled cells of one row."""
    cells = {
        column: Cell(_without_controls(cell.value), cell.number_format, error=cell.data_type == "e")
        for column, cell in enumerate(row, start=1)
        if cell.value is not None
    }
    waiting = (at for at in range(1, MOST_COLUMNS + 1) if (number, at) in uncalculated) if uncalculated else ()
    return cells | {column: Cell(None, uncalculated=True) for column in waiting}


def _without_controls(value: Any) -> Any:
    """A text with blanks for the control characters that the file spells out; anything else as it is."""
    return _ESCAPED_CONTROL.sub(" ", value) if isinstance(value, str) and "_x00" in value else value
