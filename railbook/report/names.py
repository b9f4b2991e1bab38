"""Words into cells: every word a formula may use, checked, and formulas compiled to cell addresses."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from xlsxwriter.utility import quote_sheetname, xl_col_to_name, xl_range_abs

from railbook.basics.double_entry import Column, Tab, in_cells
from railbook.report.layout import (
    HEADER_ROW,
    STALE_ROW,
    VALUES,
    Sheet,
    Span,
    first_row,
    last_named_row,
    rows_down,
)
from railbook.report.overrides import ready

NTH = "nth"
NUMBER = "_number"  # ends the word for the header cells 1, 2, 3 ... of a repeating column
LONGEST_TITLE = 31
LONGEST_FORMULA = 8000  # characters; programs stop at 8192
LAST_ROW_NUMBER = "1048576"
ROW = "\0"  # stands for the row number while a formula is compiled

PLAIN_WORD = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
LOOKS_LIKE_CELL = re.compile(r"[a-z]{1,3}\d+|r(\d*c)?\d*|c\d*|(true|false)(_.*)?", re.IGNORECASE)
UNFIT_IN_TITLE = re.compile(r"[:\\/?*\[\]'%]")
# Functions younger than the file format: programs look them up under a prefix.
YOUNGER = re.compile(r"(?<![\w.])(?=(?:CONCAT|IFS|MAXIFS|MINIFS|SWITCH|TEXTJOIN)\()")


class Formula(NamedTuple):
    """A formula compiled and made ready for one column: the row number goes between its parts.

    >>> Formula(("A", "*B", "")).at(7)
    'A7*B7'
    """

    parts: tuple[str, ...]

    def at(self, row: int) -> str:
        """The formula for the cell in that row."""
        return str(row).join(self.parts)


def checked_word(word: str) -> str:
    """The word itself, when every spreadsheet program can use it as a name.

    >>> checked_word("runs_rise")
    'runs_rise'

    Raises:
        ValueError: when it looks like a cell or a truth value, or holds other characters.
    """
    if not PLAIN_WORD.fullmatch(word) or LOOKS_LIKE_CELL.fullmatch(word):
        raise ValueError(f"{word!r} cannot name cells: it looks like a cell or is no plain word")
    return word


def checked_titles(titles: Iterable[str]) -> tuple[str, ...]:
    """The titles themselves, when they can stand on tabs side by side.

    Raises:
        ValueError: when one is empty, too long, holds a sign that links cannot bear, or comes twice.
    """
    seen: dict[str, str] = {}
    for title in titles:
        if not 0 < len(title) <= LONGEST_TITLE or UNFIT_IN_TITLE.search(title) or title.lower() == "history":
            raise ValueError(f"{title!r} cannot be the title of a tab")
        if title.lower() in seen:
            raise ValueError(f"two tabs are called {title!r}")
        seen[title.lower()] = title
    return tuple(seen.values())


def names_of(sheets: Sequence[Sheet]) -> dict[str, str]:
    """Every word of the book with the cells it names.

    Raises:
        ValueError: when a word cannot be a name, or two are alike but for their capitals.
    """
    found: dict[str, str] = {}
    alike: set[str] = set()
    for word, cells in (pair for sheet in sheets for pair in _names_on(sheet)):
        if word.lower() in alike:
            raise ValueError(f"two places are called {word!r}")
        alike.add(word.lower())
        found[checked_word(word)] = cells
    return found


def _names_on(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Words and cells of one sheet."""
    tab = sheet.tab
    if tab.down:
        for name, row in rows_down(tab).items():
            yield tab.word(name), _cells(tab, row, VALUES)
        return
    for span in sheet.spans:
        word, last = tab.word(span.column.name), last_named_row(sheet)
        yield word, _cells(tab, first_row(tab), span.first, last, span.last)
        if span.column.repeats:
            yield word + NUMBER, _cells(tab, HEADER_ROW, span.first, HEADER_ROW, span.last)
    if tab.has_status:
        yield tab.stale_word, _cells(tab, STALE_ROW, 0)
    if tab.row_word:
        yield from _row_names(sheet)


def _row_names(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """The word of each row, for the cell that holds its figure."""
    tab, at = sheet.tab, sheet.span(sheet.tab.row_cell).first
    for row, thing in enumerate(sheet.rows, start=first_row(tab)):
        yield str(getattr(thing, tab.row_word)), _cells(tab, row, at)


def _cells(tab: Tab, first: int, first_column: int, last: int | None = None, last_column: int | None = None) -> str:
    """Absolute reference to a cell, or to the cells between two corners."""
    end, end_column = first if last is None else last, first_column if last_column is None else last_column
    cells = xl_range_abs(first - 1, first_column, end - 1, end_column)
    return f"={quote_sheetname(tab.title)}!{cells}"


def compiled(sheet: Sheet, column: Column, names: Mapping[str, str], *, formula: str, nth: int = 0) -> Formula:
    """A formula in words as a formula in cells.

    Args:
        sheet: where it stands.
        column: the column it fills.
        names: words of the book.
        formula: in words, the row's own words already put in.
        nth: which cell of a repeating column, counted from 0.

    Raises:
        ValueError: for an unknown word, or a formula longer than programs take.
    """
    where = f"{sheet.tab.title}, column {column.name}"
    if "{}" in formula or "{[" in formula:
        raise ValueError(f"{where}: a word of the formula is empty")
    cell_of = _down_cell(sheet.tab) if sheet.tab.down else _row_cell(sheet, column, nth)

    def place(word: str) -> str:
        cell = cell_of(word)
        if not cell and word not in names:
            raise ValueError(f"{where}: nothing is called {word!r}")
        return cell or word

    cells = YOUNGER.sub("_xlfn.", in_cells(formula, place))
    if len(cells.replace(ROW, LAST_ROW_NUMBER)) > LONGEST_FORMULA:
        raise ValueError(f"{where}: the formula is longer than {LONGEST_FORMULA} characters")
    return Formula(tuple(ready(cells).split(ROW)))


def _down_cell(tab: Tab) -> Callable[[str], str]:
    """Cell of a word on a tab that runs down; empty for a word from elsewhere."""
    places = {name: f"${xl_col_to_name(VALUES)}${row}" for name, row in rows_down(tab).items()}
    return lambda word: places.get(word, "")


def _row_cell(sheet: Sheet, column: Column, nth: int) -> Callable[[str], str]:
    """Cell of a word in the same row; empty for a word from elsewhere."""
    places = {span.column.name: span for span in sheet.spans}

    def cell(word: str) -> str:
        if word == NTH and column.repeats:
            return f"{xl_col_to_name(places[column.name].first + nth)}${HEADER_ROW}"
        return _in_row(places[word], column, nth) if word in places else ""

    return cell


def _in_row(span: Span, column: Column, nth: int) -> str:
    """The cell of a word in the row: of a repeating word its nth cell, or all of them from a single cell.

    Raises:
        ValueError: when both repeat, but not equally often.
    """
    if not span.column.repeats:
        return f"{xl_col_to_name(span.first)}{ROW}"
    if not column.repeats:
        return f"{xl_col_to_name(span.first)}{ROW}:{xl_col_to_name(span.last)}{ROW}"
    if nth >= span.across:
        raise ValueError(f"{column.name} repeats more often than {span.column.name}, which it uses")
    return f"{xl_col_to_name(span.first + nth)}{ROW}"
