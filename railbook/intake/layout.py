"""How a sheet is laid out: what a stream of its cells does not tell.

Hidden rows, merged cells and formulas that were never calculated are read from the sheet's own XML,
because the streaming reader leaves them out and the full one would build every cell of a merged column.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import IO, NamedTuple
from xml.etree.ElementTree import Element, iterparse

from openpyxl.utils.cell import coordinate_to_tuple, range_boundaries

HEADER_ROWS = 15  # a header row is looked for in these
MOST_ROWS = 12_000
MOST_COLUMNS = 120

Place = tuple[int, int]


class Merge(NamedTuple):
    """A range of merged cells; only its first cell holds a value."""

    ref: str
    first_column: int
    first_row: int
    last_column: int
    last_row: int

    def swallows(self, row: int, column: int) -> bool:
        """Whether that cell is a part of the range other than its first.

        >>> Merge("B2:C3", 2, 2, 3, 3).swallows(2, 3), Merge("B2:C3", 2, 2, 3, 3).swallows(2, 2)
        (True, False)
        """
        inside = self.first_row <= row <= self.last_row and self.first_column <= column <= self.last_column
        return inside and (row, column) != (self.first_row, self.first_column)


class Layout(NamedTuple):
    """What a sheet's XML tells beside its values.

    Attributes:
        hidden: numbers of the hidden rows.
        hidden_columns: numbers of the hidden columns.
        uncalculated: places of formulas without a calculated value.
        merges: row number -> merged ranges that take it in.
        last_row: the last row that holds anything.
        last_header: the last column that holds anything in the first rows.
    """

    hidden: frozenset[int]
    hidden_columns: frozenset[int]
    uncalculated: frozenset[Place]
    merges: Mapping[int, tuple[Merge, ...]]
    last_row: int
    last_header: int


class _Row(NamedTuple):
    number: int
    hidden: bool
    filled: tuple[int, ...]  # columns
    uncalculated: tuple[int, ...]  # columns


def layout(part: IO[bytes]) -> Layout:
    """Layout of the sheet whose XML this is."""
    rows: list[_Row] = []
    merges: list[Merge] = []
    hidden_columns: set[int] = set()
    number = 0
    for _, element in iterparse(part):
        name = _name(element)
        if name == "row":
            number = int(float(element.get("r") or number + 1))
            rows.append(_row(element, number))
            element.clear()
        elif name == "col" and _is_hidden(element):
            hidden_columns.update(_span(element))
        elif name == "mergeCell":
            merges.append(_merge(element.get("ref", "")))
    return Layout(
        frozenset(row.number for row in rows if row.hidden),
        frozenset(hidden_columns),
        frozenset((row.number, column) for row in rows for column in row.uncalculated),
        _by_row(merges),
        max((row.number for row in rows if row.filled), default=0),
        max((column for row in rows if row.number <= HEADER_ROWS for column in row.filled), default=0),
    )


def _row(element: Element, number: int) -> _Row:
    """One row; which columns are filled matters among the headers only, afterwards one will do."""
    filled = ((at, cell) for at, cell in enumerate(element, start=1) if len(cell))
    if number > HEADER_ROWS:
        first = next(filled, None)
        return _Row(number, _is_hidden(element), (first[0],) if first else (), tuple(_uncalculated(element)))
    columns = tuple(_column(cell, at) for at, cell in filled)
    return _Row(number, _is_hidden(element), columns, tuple(_uncalculated(element)))


def _is_hidden(row_or_columns: Element) -> bool:
    return row_or_columns.get("hidden") in {"1", "true"}


def _span(columns: Element) -> range:
    """Numbers of neighbouring columns that look alike, as far as columns are read."""
    return range(int(columns.get("min", 1)), min(int(columns.get("max", 0)), MOST_COLUMNS) + 1)


def _uncalculated(row: Element) -> Iterator[int]:
    """Columns of formulas that no spreadsheet program has calculated; a calculated empty text is one."""
    for at, cell in enumerate(row, start=1):
        parts = {_name(part): part.text for part in cell}
        if "f" in parts and not parts.get("v") and cell.get("t") != "str":
            yield _column(cell, at)


def _column(cell: Element, at: int) -> int:
    """Column of a cell; a cell without an address stands next to the one before it."""
    ref = cell.get("r")
    return coordinate_to_tuple(ref)[1] if ref else at


def _merge(ref: str) -> Merge:
    first_column, first_row, last_column, last_row = range_boundaries(ref)
    return Merge(ref, int(first_column or 1), int(first_row or 1), int(last_column or 0), int(last_row or 0))


def _by_row(merges: Iterable[Merge]) -> Mapping[int, tuple[Merge, ...]]:
    """Merged ranges by row, as far as rows and columns are read."""
    found: dict[int, tuple[Merge, ...]] = {}
    for merge in merges:
        if merge.first_column <= MOST_COLUMNS:
            for row in range(merge.first_row, min(merge.last_row, MOST_ROWS) + 1):
                found[row] = (*found.get(row, ()), merge)
    return found


def _name(element: Element) -> str:
    """Tag without its namespace."""
    return element.tag.rpartition("}")[2]
