"""All that is done otherwise than xlsxwriter does it; a test compares what comes of the two ways, cell by cell.

The library searches each formula for function names that need a prefix, each text for signs that XML keeps for
itself, and keeps its cells as things to be told apart later. Here a formula is made ready once for a column, and
a cell is kept as its XML. It also holds all cells of all sheets until the end, where here a finished sheet is packed.
"""

from functools import cache
from html import escape
from io import BytesIO, StringIO
from typing import IO, Any, cast
from zlib import compress, decompress

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.packager import Packager
from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from railbook.report.seal import NAME

ERRORS = frozenset(("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"))
BLOCK = 1_024  # rows that are packed at a time; the library marks the width of every 16
_letters = cache(xl_col_to_name)


def ready(formula: str) -> str:
    """A formula as XML holds it: without its equals sign, and escaped.

    >>> ready('=IF(A1<2,"&","")')
    'IF(A1&lt;2,"&amp;","")'
    """
    return escape(formula.removeprefix("="), quote=False)


class Sheaf(StringIO):
    """One part of the workbook as it is written; what comes packed is opened when the whole is asked for, once.

    >>> import zlib
    >>> sheaf = Sheaf()
    >>> sheaf.write("<row>")
    5
    >>> sheaf.add(zlib.compress(b"</row>"))
    >>> sheaf.getvalue(), sheaf.getvalue()
    (b'<row></row>', b'')
    """

    def __init__(self) -> None:
        super().__init__()
        self._pieces: list[str | bytes] = []

    def write(self, text: str) -> int:
        """Text that follows; how long it is."""
        self._pieces.append(text)
        return len(text)

    def add(self, packed: bytes) -> None:
        """Packed text that follows."""
        self._pieces.append(packed)

    def getvalue(self) -> Any:
        """The whole as bytes: the library asks for that of parts which are no text, and makes no copy."""
        pieces, self._pieces = self._pieces, []
        whole = BytesIO()
        for each in pieces:
            whole.write(each.encode() if isinstance(each, str) else decompress(each))
        return whole.getvalue()


class QuickSheet(Worksheet):
    """A worksheet that keeps its cells as XML; rows and columns count from 0."""

    str_table: Any  # declared by the library as none, as long as it is not in use
    fh: Any
    dim_rowmin: Any
    dim_rowmax: Any

    def __init__(self) -> None:
        super().__init__()
        self.packed: list[bytes] = []  # blocks of rows

    def put_blank(self, row: int, column: int, look: Format) -> None:
        """A cell that has only a look."""
        self._keep(row, column, look, "/>")

    def put_number(self, row: int, column: int, number: float, look: Format) -> None:
        """A finite number."""
        self._keep(row, column, look, f"><v>{number:.16G}</v></c>")

    def put_text(self, row: int, column: int, text: str, look: Format) -> None:
        """A text that a cell can hold."""
        place = self.str_table._get_shared_string_index(text)  # noqa: SLF001
        self._keep(row, column, look, f' t="s"><v>{place}</v></c>')

    def put_formula(self, row: int, column: int, formula: str, look: Format, result: float | str) -> None:
        """A formula that was made ready, prefixes and all, and what it gives."""
        if isinstance(result, str):
            kind = ' t="e"' if result in ERRORS else ' t="str"' if result else ""
            end = f"{kind}><f>{formula}</f><v>{escape(result, quote=False)}</v></c>"
        elif isinstance(result, bool):
            end = f' t="b"><f>{formula}</f><v>{result:d}</v></c>'
        else:
            end = f"><f>{formula}</f><v>{result}</v></c>"
        self._keep(row, column, look, end)

    def _keep(self, row: int, column: int, look: Any, end: str) -> None:
        """Keep a cell, of whose XML the end is given: what follows its look.

        Raises:
            ValueError: no sheet is that large.
        """
        if self._check_dimensions(row, column):
            raise ValueError(f"no sheet has row {row + 1}, column {column + 1}")
        look_number = look._get_xf_index()  # noqa: SLF001
        self.table[row][column] = f'<c r="{_letters(column)}{row + 1}" s="{look_number}"{end}'

    def pack(self) -> None:
        """The sheet has all its cells and heights of rows: keep them in a tenth of the room."""
        whole, first, last = self.fh, self.dim_rowmin, self.dim_rowmax
        for start in range(0, (last or 0) + 1, BLOCK):
            self.fh, self.dim_rowmin, self.dim_rowmax = StringIO(), start, min(start + BLOCK - 1, last or 0)
            super()._write_rows()
            self.packed.append(compress(self.fh.getvalue().encode(), level=1))
            for row in range(start, start + BLOCK):
                self.table.pop(row, None)
        self.fh, self.dim_rowmin, self.dim_rowmax = whole, first, last

    def _write_rows(self) -> None:
        """Write every row that has anything."""
        for block in self.packed:
            self.fh.add(block)
        if not self.packed:
            super()._write_rows()

    def _write_cell(self, row: int, col: int, cell: object) -> None:
        """Write a cell, the library's own ones its own way."""
        if isinstance(cell, str):
            self.fh.write(cell)
        else:
            super()._write_cell(row, col, cell)

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002, FBT001, FBT002 - the library's own signature
        """Formulas of rules hold no function that needs a prefix."""
        return formula.removeprefix("=")


def add_sheet(book: Workbook, title: str) -> QuickSheet:
    """A new sheet, after those that the book has."""
    return cast("QuickSheet", book.add_worksheet(title, QuickSheet))


class SheafPackager(Packager):
    """Gathers every part in memory."""

    def _filename(self, xml_filename: str) -> Sheaf:
        """What a part is written to."""
        sheaf = Sheaf()
        self.filenames.append((sheaf, xml_filename, True))
        return sheaf


class UnsealedPackager(SheafPackager):
    """Writes every part but the one that the seal is for: it is known when the others are done."""

    def _write_custom_file(self) -> None:
        """Leave it to `seal`."""


class QuickWorkbook(Workbook):
    """A workbook whose sheets may be packed."""

    def _get_packager(self) -> Packager:
        return SheafPackager()


class SealedWorkbook(QuickWorkbook):
    """A workbook that announces the part of its seal; `seal` puts it there."""

    def __init__(self, place: IO[bytes], options: dict[str, object]) -> None:
        super().__init__(place, options)
        self.set_custom_property(NAME, "to come", "text")

    def _get_packager(self) -> Packager:
        return UnsealedPackager()
