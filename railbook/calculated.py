"""Which cells of a result hold a formula when it is made, so that one that holds none any more is found.

The names of the workbook tell where each declared column stands, wherever it was moved since.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from railbook.basics.double_entry import Column, Tab
from railbook.intake.written import Place, Written, address, edges
from railbook.report.layout import STALE_ROW, is_typed
from railbook.tabs import INPUT_TABS, RESULT_TABS, TABS


class Calculated(NamedTuple):
    """Where a workbook should hold formulas.

    Attributes:
        cells: title -> places.
        unknown: the tabs and columns of which nothing tells any more where they stand.
    """

    cells: Mapping[str, frozenset[Place]]
    unknown: tuple[str, ...]


class Lost(NamedTuple):
    """Calculated cells, one below the other, that hold no formula: one was typed or pasted over.

    >>> str(Lost("Cut list", (7, 6), (9, 6))), str(Lost("Cut list", (7, 6), (7, 6)))
    ('Cut list!F7:F9: 3 calculated cells hold no formula', 'Cut list!F7: a calculated cell holds no formula')
    """

    title: str
    first: Place
    last: Place

    @property
    def number(self) -> int:
        """How many cells."""
        return self.last[0] - self.first[0] + 1

    def __str__(self) -> str:
        if self.number == 1:
            return f"{self.title}!{address(*self.first)}: a calculated cell holds no formula"
        cells = f"{address(*self.first)}:{address(*self.last)}"
        return f"{self.title}!{cells}: {self.number} calculated cells hold no formula"


def calculated(book: Written) -> Calculated:
    """The calculated cells of a workbook, by what is declared of its tabs; a blank form has input tabs only."""
    is_result = any(_area(book, tab, column) for tab in RESULT_TABS for column in _columns(tab))
    cells: dict[str, set[Place]] = {}
    unknown: list[str] = []
    for tab in filter(_columns, TABS if is_result else INPUT_TABS):
        lacking = [column for column in _columns(tab) if not _area(book, tab, column)]
        if lacking == _columns(tab) or not (tab.down or _area(book, tab, tab.column(tab.key))):
            unknown.append(f"tab {tab.title}")
            continue
        unknown += [f'column "{column.header}" of tab {tab.title}' for column in lacking]
        for title, place in (*_figures(book, tab), *_opening(book, tab)):
            cells.setdefault(title, set()).add(place)
    return Calculated({title: frozenset(places) for title, places in cells.items()}, tuple(unknown))


def lost(book: Written, cells: Mapping[str, Iterable[Place]]) -> Iterator[Lost]:
    """Those of some cells that hold no formula, column by column."""
    for title, places in cells.items():
        bare = sorted((column, row) for row, column in places if (row, column) not in book.formulas[title])
        first = 0
        for at, (column, row) in enumerate(bare):
            first = first or row
            if bare[at + 1 : at + 2] != [(column, row + 1)]:
                yield Lost(title, (first, column), (row, column))
                first = 0


def _columns(tab: Tab) -> list[Column]:
    """Columns every row of which holds a formula."""
    return [column for column in tab.columns if column.in_every_row]


def _area(book: Written, tab: Tab, column: Column) -> tuple[str, str] | None:
    """Title and cells of a column, with the spare rows below it; None when its name is gone."""
    found = book.names.get(tab.word(column.name).upper())
    return found if found and found[0] in book.values else None


def _figures(book: Written, tab: Tab) -> Iterator[tuple[str, Place]]:
    """Cells of the calculated columns, in the rows that hold something."""
    last = None if tab.down else _last_row(book, tab)
    for column in _columns(tab):
        title, area = _area(book, tab, column) or ("", "")
        if title:
            low_column, low_row, high_column, high_row = edges(area)
            for row in range(low_row, (high_row if last is None else last) + 1):
                yield from ((title, (row, at)) for at in range(low_column, high_column + 1))


def _last_row(book: Written, tab: Tab) -> int:
    """The last row with something in the column that tells rows apart; 0 when there is none."""
    title, area = _area(book, tab, tab.column(tab.key)) or ("", "")
    column, low_row, _, high_row = edges(area)
    filled = (row for row in range(low_row, high_row + 1) if (row, column) in book.values[title])
    return max(filled, default=0)


def _opening(book: Written, tab: Tab) -> Iterator[tuple[str, Place]]:
    """The live line under the title: what the tab lacks, or how many of its rows are stale and a sentence beside."""
    counts = book.names.get(tab.stale_word.upper())
    if counts:
        column, row, *_ = edges(counts[1])
        yield counts[0], (row, column)
        yield counts[0], (row, column + 1)
    elif not is_typed(tab):
        title = next(found[0] for column in _columns(tab) if (found := _area(book, tab, column)))
        yield title, (STALE_ROW, 1)
