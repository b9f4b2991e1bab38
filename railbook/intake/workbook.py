"""Open a workbook safely: its sheets as plain cells, or the one problem that forbids it."""

import re
import warnings
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple, TypeVar
from xml.etree.ElementTree import ParseError

from openpyxl.reader.excel import ExcelReader
from openpyxl.styles.stylesheet import apply_stylesheet

from railbook.basics.machine import LOW_MEMORY
from railbook.basics.problem import STOPS, Problem
from railbook.basics.units import Refusal
from railbook.intake import package
from railbook.intake.layout import MOST_COLUMNS, MOST_ROWS, Layout, Place, layout
from railbook.intake.package import DAMAGED, Package, RefusedError

MOST_NAMES = 400_000  # tags of what is read whole: tabs, names and looks
MOST_ENTRIES = 8_000_000  # tags of all sheets that are read, and of the workbook's texts

Found = TypeVar("Found")


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
_NO_MEMORY = 1  # the XML reader's own word for it
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
        return stop(path, data)
    wanted = {same_title(title) for title in titles}
    book = believed(data, lambda: _read(data, wanted))
    return stop(path, book) if isinstance(book, Refusal) else book


def stop(path: Path, refusal: Refusal) -> Problem:
    """The problem with a whole file."""
    return Problem(path.name or str(path), f"the file {refusal.why}", refusal.remedy, STOPS)


def believed(data: bytes, read: Callable[[], Found | Refusal]) -> Found | Refusal:
    """What reading a file gives, or why it cannot be read: everything that the library does happens in here."""
    try:
        if fault := package.fault(data):
            return fault
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about looks that it does not carry; nothing is written back
            return read()
    except RefusedError as refused:
        return refused.refusal
    except MemoryError:
        return LOW_MEMORY
    except ParseError as fault:
        return LOW_MEMORY if fault.code == _NO_MEMORY else DAMAGED
    except Exception:  # noqa: BLE001 - a damaged workbook may raise anything in the library
        return DAMAGED


class Opened(NamedTuple):
    """A workbook whose tabs are known and whose sheets can be streamed.

    Attributes:
        reader: the library's.
        archive: the parts of the file, each within bounds; the reader reads from it.
        parts: title of each sheet with cells -> its part.
    """

    reader: ExcelReader
    archive: Package
    parts: Mapping[str, str]


def opened(data: bytes, *, data_only: bool) -> Opened:
    """Everything but texts and cells: tabs, names and number formats.

    Raises:
        RefusedError: when the file holds too much.
        Exception: whatever the library makes of a damaged file.
    """
    reader = ExcelReader(BytesIO(data), read_only=True, data_only=data_only, keep_links=False)
    reader.archive.close()
    reader.archive = archive = Package(data)
    archive.allow(MOST_NAMES, "its list of tabs, names and looks")
    reader.read_manifest()
    reader.read_workbook()
    apply_stylesheet(archive, reader.wb)
    there = frozenset(archive.namelist())
    links = [(sheet.name, link) for sheet, link in reader.parser.find_sheets() if link.target in there]
    found = [(str(name), str(link.target)) for name, link in links if "chartsheet" not in link.Type]
    if len(dict(found)) < len(found):
        raise RefusedError(DAMAGED)
    return Opened(reader, archive, dict(found))


def sheets_of(book: Opened, titles: Sequence[str], entries: int) -> Iterator[tuple[str, Layout, Any]]:
    """Those sheets: title, layout, and the library's own to stream cells from.

    All are looked through before any is streamed, so that nothing is built of a sheet that holds too much.

    Args:
        book: an opened workbook.
        titles: of the sheets.
        entries: how many tags they and the workbook's texts may have together.
    """
    reader, layouts = book.reader, {}
    parts = [book.parts[title] for title in titles]
    if len(set(parts)) < len(parts):
        raise RefusedError(DAMAGED)
    book.archive.expect(parts)
    book.archive.allow(entries, "")
    for title, part in zip(titles, parts, strict=True):
        book.archive.what = f"tab {title}"
        with book.archive.open(part) as xml:
            layouts[title] = layout(xml, title)
    book.archive.what = "its texts"
    reader.read_strings()
    reader.valid_files = parts
    reader.read_worksheets()
    for title in titles:
        yield title, layouts[title], reader.wb[title]


def _read(data: bytes, wanted: Collection[str]) -> Book | Refusal:
    """Stream the wanted sheets."""
    book = opened(data, data_only=True)
    with closing(book.archive):
        if not book.parts:
            return Refusal("has no sheet with cells", "use the workbook with the tabs that were filled in")
        titles = [title for title in book.parts if same_title(title) in wanted]
        found = sheets_of(book, _first_two(titles), MOST_ENTRIES)
        return Book(tuple(book.parts), tuple(_sheet(*each) for each in found))


def _first_two(titles: Iterable[str]) -> list[str]:
    """The titles without a third one that is spelled alike: two are one too many already."""
    alike: dict[str, list[str]] = {}
    for title in titles:
        alike.setdefault(same_title(title), []).append(title)
    return [title for group in alike.values() for title in group[:2]]


def _sheet(title: str, found: Layout, sheet: Any) -> Sheet:
    """One sheet with its filled cells."""
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
