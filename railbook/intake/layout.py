"""How a sheet is laid out: what a stream of its cells does not tell.

Hidden rows, merged cells and formulas that were never calculated are read from the sheet's own XML,
because the streaming reader leaves them out and the full one would build every cell of a merged column.
The tags are looked at one by one and not kept, so that a sheet of any size takes little memory here;
and one that would make the library take much is refused.
"""

from collections.abc import Iterable, Mapping
from typing import IO, NamedTuple
from xml.etree.ElementTree import XMLParser

from openpyxl.utils.cell import coordinate_to_tuple, range_boundaries

from railbook.basics.units import Refusal
from railbook.intake.package import CHUNK, RefusedError

HEADER_ROWS = 15  # a header row is looked for in these
MOST_ROWS = 12_000
MOST_COLUMNS = 120
MOST_MERGES = 1000  # on a sheet
MOST_OTHERS = 50_000  # tags of a sheet that are no rows and cells: widths, rules, looks ...
LAST_ROW, LAST_COLUMN = 1 << 20, 1 << 14  # of any sheet, as the file format has it
ROW, CELL, PART, DEEPEST = 1, 2, 3, 50  # how deep a tag stands inside a row

_ANEW = "copy what belongs to the job into a new form"
_UNMERGE = "unmerge them"

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
        last_column: the last column that holds anything.
        last_header: the last column that holds anything in the first rows.
    """

    hidden: frozenset[int]
    hidden_columns: frozenset[int]
    uncalculated: frozenset[Place]
    merges: Mapping[int, tuple[Merge, ...]]
    last_row: int
    last_column: int
    last_header: int


class _Tags:
    """Takes the tags of a sheet as they come, and keeps only what the layout tells.

    Rows have cells, cells have parts: `_depth` says how deep inside a row the reading stands.
    """

    def __init__(self, title: str) -> None:
        self.hidden: set[int] = set()
        self.hidden_columns: set[int] = set()
        self.uncalculated: set[Place] = set()
        self.merges: list[Merge] = []
        self.last_row = self.last_column = self.last_header = 0
        self._title = title
        self._names: dict[str, str] = {}
        self._others = self._depth = self._row = self._at = 0
        self._cell: Mapping[str, str] = {}
        self._parts: dict[str, str] = {}
        self._part = ""

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        """A tag opens."""
        name = self._names.get(tag) or self._names.setdefault(tag, tag.rpartition("}")[2])
        if self._depth == 0 and name != "row":
            self._other(name, attributes)
            return
        self._depth += 1
        if self._depth == ROW:
            self._open_row(attributes)
        elif self._depth == CELL:
            self._open_cell(attributes)
        elif self._depth == PART:
            self._part = name
            self._parts[name] = ""
        elif self._depth > DEEPEST:
            raise ValueError(f"tags inside tags in row {self._row}")

    def data(self, text: str) -> None:
        """Text inside a tag."""
        if self._depth == PART:
            self._parts[self._part] = text  # whether there is any is all that matters

    def end(self, _: str) -> None:
        """A tag closes."""
        if self._depth == CELL and self._parts:
            self._close_cell()
        self._depth = max(0, self._depth - 1)

    def close(self) -> Layout:
        """The layout of what was read."""
        return Layout(
            frozenset(self.hidden),
            frozenset(self.hidden_columns),
            frozenset(self.uncalculated),
            _by_row(self.merges, self._title),
            self.last_row,
            self.last_column,
            self.last_header,
        )

    def _open_row(self, row: Mapping[str, str]) -> None:
        number = int(float(row.get("r") or self._row + 1))
        if not self._row < number <= LAST_ROW:
            raise ValueError(f"row {number} after row {self._row}")
        self._row, self._at = number, 0
        if number <= MOST_ROWS and _is_hidden(row):
            self.hidden.add(number)

    def _open_cell(self, cell: Mapping[str, str]) -> None:
        self._cell, self._at = cell, self._at + 1
        self._parts.clear()
        if self._at > LAST_COLUMN:
            raise ValueError(f"{self._at} cells in row {self._row}")

    def _close_cell(self) -> None:
        """A cell that holds something."""
        ref = self._cell.get("r")  # a cell without an address stands next to the one before it
        column = coordinate_to_tuple(ref)[1] if ref else self._at
        self.last_row, self.last_column = self._row, max(self.last_column, column)
        if self._row <= HEADER_ROWS:
            self.last_header = max(self.last_header, column)
        waits = "f" in self._parts and not self._parts.get("v") and self._cell.get("t") != "str"
        if waits and self._row <= MOST_ROWS and column <= MOST_COLUMNS:
            self.uncalculated.add((self._row, column))

    def _other(self, name: str, attributes: Mapping[str, str]) -> None:
        """A tag outside the rows."""
        self._others += 1
        if self._others > MOST_OTHERS:
            raise RefusedError(Refusal(f"has far more rules and looks on tab {self._title} than a job needs", _ANEW))
        if name == "col" and _is_hidden(attributes):
            self.hidden_columns.update(_span(attributes))
        elif name == "mergeCell":
            if len(self.merges) == MOST_MERGES:
                raise RefusedError(Refusal(f"has more than {MOST_MERGES} merged areas on tab {self._title}", _UNMERGE))
            self.merges.append(_merge(attributes.get("ref", "")))


def layout(part: IO[bytes], title: str) -> Layout:
    """Layout of the sheet whose XML this is.

    Raises:
        RefusedError: it holds more than a sheet to read may.
        ValueError: its rows do not follow one another, or an address is none.
        ParseError: it is no XML.
    """
    parser = XMLParser(target=_Tags(title))
    while piece := part.read(CHUNK):
        parser.feed(piece)
    found = parser.close()
    assert isinstance(found, Layout)  # what the target gives
    return found


def _is_hidden(row_or_columns: Mapping[str, str]) -> bool:
    return row_or_columns.get("hidden") in {"1", "true"}


def _span(columns: Mapping[str, str]) -> range:
    """Numbers of neighbouring columns that look alike, as far as columns are read."""
    return range(int(columns.get("min", 1)), min(int(columns.get("max", 0)), MOST_COLUMNS) + 1)


def _merge(ref: str) -> Merge:
    first_column, first_row, last_column, last_row = range_boundaries(ref)
    return Merge(ref, int(first_column or 1), int(first_row or 1), int(last_column or 0), int(last_row or 0))


def _by_row(merges: Iterable[Merge], title: str) -> Mapping[int, tuple[Merge, ...]]:
    """Merged ranges by row, as far as rows and columns are read."""
    found: dict[int, list[Merge]] = {}
    for merge in merges:
        if merge.first_column > MOST_COLUMNS:
            continue
        for row in range(merge.first_row, min(merge.last_row, MOST_ROWS) + 1):
            in_row = found.setdefault(row, [])
            in_row.append(merge)
            if len(in_row) > MOST_COLUMNS:
                raise RefusedError(Refusal(f"has merged areas on tab {title} that lie over one another", _UNMERGE))
    return {row: tuple(in_row) for row, in_row in found.items()}
