"""Where everything of a tab stands on its sheet; rows are counted from 1, columns from 0."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.double_entry import SPARE_ROWS, Column, Tab

TITLE_ROW, PURPOSE_ROW, STALE_ROW, LABEL_ROW, HEADER_ROW, UNIT_ROW, HINT_ROW = range(1, 8)
LABEL_ACROSS = 4
LABELS, VALUES, UNITS, HINTS = range(4)  # columns of a tab that runs down the page


class Span(NamedTuple):
    """The sheet columns of one quantity: one, or as many as its tuple is long."""

    column: Column
    first: int
    across: int

    @property
    def last(self) -> int:
        """Its last sheet column."""
        return self.first + self.across - 1

    @property
    def label_across(self) -> int:
        """Sheet columns that the label of a repeating quantity is wrapped over, so that no page's edge cuts it."""
        return LABEL_ACROSS if self.across >= LABEL_ACROSS else 1


@dataclass(frozen=True)
class Sheet:
    """A tab and its rows, to be drawn.

    Attributes:
        tab: what is declared.
        rows: one for each thing; exactly one for a tab that runs down the page.
        blank_rows: empty rows below that are ready to be filled in.
        hidden: out of sight until somebody asks for it.
    """

    tab: Tab
    rows: Sequence[object]
    blank_rows: int = 0
    hidden: bool = False

    def __post_init__(self) -> None:
        if self.tab.down and (len(self.rows) != 1 or any(column.repeats for column in self.tab.columns)):
            raise ValueError(f"tab {self.tab.title} runs down: one row, and no column that repeats")

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """The columns from left to right; found once, since it looks at every repeating tuple."""
        found: list[Span] = []
        for column in self.tab.columns:
            first = found[-1].last + 1 if found else 0
            found.append(Span(column, first, across(column, self.rows)))
        return tuple(found)

    @property
    def last_on_paper(self) -> int:
        """The last sheet column that is printed; those after it only carry the sums."""
        return self.span(self.tab.paper_to).last if self.tab.paper_to else self.spans[-1].last

    def span(self, name: str) -> Span:
        """Where one column stands; KeyError when there is none of that name."""
        return {span.column.name: span for span in self.spans}[name]


def is_typed(tab: Tab) -> bool:
    """Whether a person fills in any column of the tab."""
    return any(column.typed for column in tab.columns)


def is_protected(tab: Tab) -> bool:
    """Whether a tab is locked: not where people type, since they also sort.

    A tab whose single cells are names is locked all the same, its typed cells aside: sorting it
    would leave each name on another row's figure. So is a page that tells what was typed on it.

    >>> is_protected(Tab("cuts", "Cuts", object, (Column("length", "Length"),)))
    True
    >>> is_protected(Tab("runs", "Runs", object, (Column("rise", "Rise", typed=True),)))
    False
    """
    tells = tab.down and any(column.excel for column in tab.columns)
    return bool(tab.row_word) or tells or not is_typed(tab)


def first_row(tab: Tab) -> int:
    """Number of the first row that holds data, as the spreadsheet counts.

    >>> first_row(Tab("cuts", "Cuts", object, (Column("length", "Length"),)))
    7
    >>> first_row(Tab("runs", "Runs", object, (Column("rise", "Rise", typed=True),)))
    8
    """
    if tab.down:
        return HEADER_ROW
    return HINT_ROW + 1 if is_typed(tab) else UNIT_ROW + 1


def last_row(sheet: Sheet) -> int:
    """Number of the last row that is drawn; at least one row is."""
    if sheet.tab.down:
        return max(rows_down(sheet.tab).values())
    return first_row(sheet.tab) + max(1, len(sheet.rows) + sheet.blank_rows) - 1


def rows_down(tab: Tab) -> dict[str, int]:
    """The row of each quantity of a tab that runs down; a heading has a row of its own, over its line.

    >>> columns = (Column("rise", "Rise"), Column("clear", "Clear"))
    >>> rows_down(Tab("run", "Run", object, columns, down=True, headings={"clear": "On the level"}))
    {'rise': 5, 'clear': 7}
    """
    rows, row = {}, first_row(tab)
    for column in tab.columns:
        row += column.name in tab.headings
        rows[column.name] = row
        row += 1
    return rows


def last_printed_row(sheet: Sheet, *, form: bool) -> int:
    """Number of the last row on paper: a form is printed to be filled in, a result is not."""
    return last_row(sheet) if form else last_row(sheet) - (sheet.blank_rows if sheet.rows else sheet.blank_rows - 1)


def last_named_row(sheet: Sheet) -> int:
    """How far down the names of the columns reach: past the last row, so that added rows count."""
    return first_row(sheet.tab) + len(sheet.rows) + max(SPARE_ROWS, sheet.blank_rows) - 1


def across(column: Column, rows: Sequence[object]) -> int:
    """Sheet columns that a column takes: one, or as many as its tuples are long.

    Raises:
        ValueError: when the tuples of a repeating column differ in length.
    """
    if not column.repeats:
        return 1
    lengths = {len(column.value(row)) for row in rows}
    if len(lengths) > 1:
        raise ValueError(f"rows of {column.name} differ in length: {sorted(lengths)}")
    return max(1, *lengths, 1)
