"""What the eye misses on a sheet: hidden rows and columns that were read, and cells that a merge has swallowed."""

from collections.abc import Collection, Iterator, Sequence

from openpyxl.utils.cell import get_column_letter

from railbook.basics.double_entry import Tab
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.intake.cells import is_blank
from railbook.intake.layout import Merge
from railbook.intake.rows import address
from railbook.intake.workbook import Sheet

MOST_NAMED = 10  # hidden rows or columns that a note names one by one


def hidden_sheet(sheet: Sheet, tab: Tab) -> Iterator[Problem]:
    """A note where nobody sees the whole tab."""
    if sheet.hidden:
        yield Problem(tab.title, "the tab is hidden; it was read", "show it, and check what stands there", NOTE)


def hidden_rows(sheet: Sheet, tab: Tab, numbers: Sequence[int]) -> Iterator[Problem]:
    """A note on those of the read rows that nobody sees."""
    hidden = [str(number) for number in numbers if number in sheet.layout.hidden]
    if hidden:
        yield Problem(
            f"{tab.title}!A{hidden[0]}",
            f"row is hidden; it was read (hidden rows: {_named(hidden)})",
            "show the rows, and delete those that do not belong to the job",
            NOTE,
        )


def hidden_columns(sheet: Sheet, tab: Tab, rows: Sequence[int], columns: Collection[int]) -> Iterator[Problem]:
    """A note on those of the read columns that hold something and that nobody sees."""
    hidden = [
        column
        for column in sorted(sheet.layout.hidden_columns.intersection(columns))
        if not all(is_blank(sheet.cell(row, column)) for row in rows)
    ]
    if hidden:
        letters = [get_column_letter(column) for column in hidden]
        yield Problem(
            f"{tab.title}!{letters[0]}1",
            f"column is hidden; it was read (hidden columns: {_named(letters)})",
            "show the columns, and check what stands in them",
            NOTE,
        )


def _named(hidden: Sequence[str]) -> str:
    """The first ones by name, the others by number."""
    more = f" and {len(hidden) - MOST_NAMED} more" if len(hidden) > MOST_NAMED else ""
    return ", ".join(hidden[:MOST_NAMED]) + more


def merged_cells(sheet: Sheet, tab: Tab, rows: Sequence[int], columns: Collection[int]) -> Iterator[Problem]:
    """Merged ranges that have swallowed a cell that would have been read, each with the first of those rows."""
    told: set[Merge] = set()
    for row in rows:
        for merge in sheet.layout.merges.get(row, ()):
            if merge not in told and any(merge.swallows(row, column) for column in columns):
                told.add(merge)
                yield _merged(tab, row, merge)


def _merged(tab: Tab, row: int, merge: Merge) -> Problem:
    first = merge.ref.partition(":")[0]
    return Problem(
        address(tab.title, row, merge.first_column),
        f"cells {merge.ref} are merged; only {first} holds a value, the others were read as blank",
        "unmerge them and fill in each cell",
        LOOK,
    )
