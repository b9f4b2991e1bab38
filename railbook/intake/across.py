"""A tab with one row per thing: find its header row, then read what stands below it."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import dropwhile
from types import MappingProxyType
from typing import Any, NamedTuple

from railbook.basics.double_entry import EXAMPLE, Column, Tab
from railbook.basics.kinds import JOB_UNITS
from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Origin, Problem
from railbook.intake.cells import is_blank, written
from railbook.intake.down import TabRows
from railbook.intake.headers import Label, header_problems, places, read_columns, spelled
from railbook.intake.layout import HEADER_ROWS, Merge
from railbook.intake.rows import BuiltRow, Cells, address, build
from railbook.intake.workbook import Cell, Sheet

MOST_NAMED = 10  # hidden rows that a note names one by one

Line = Mapping[int, Cell]  # column number -> cell


class _Found(NamedTuple):
    """A row that is to be read: its number in the sheet and its cells."""

    number: int
    cells: Cells


def read_across(sheet: Sheet, tab: Tab, unit: str) -> TabRows:
    """The rows of the tab in the order of the sheet, and what was wrong."""
    header_row = _header_row(sheet, tab)
    if not header_row:
        return TabRows((), (_no_header(tab),))
    labels = _labels(sheet, tab, header_row)
    found = tuple(header_problems(tab, labels))
    if any(problem.severity == STOPS for problem in found):
        return TabRows((), found)
    found_places = places(tab, labels)
    columns = [found_places[column.name] for column in read_columns(tab) if column.name in found_places]
    lines = tuple(_lines(sheet, tab, header_row, found_places))
    built = _told_apart(tab, [(line, build(tab, line.cells, unit)) for line in lines])
    return TabRows(built.rows, (*found, *_layout_problems(sheet, tab, lines, columns), *built.problems))


def _header_row(sheet: Sheet, tab: Tab) -> int:
    """Number of the row with most headers of the tab among the first ones; 0 when there is none."""
    known = {spelled(column.header) for column in tab.columns}
    found = {
        number: len(known & {spelled(written(cell.value)) for cell in row.values()})
        for number, row in sheet.rows.items()
        if number <= HEADER_ROWS
    }
    best = max(found, key=lambda number: found[number], default=0)
    return best if found.get(best) else 0


def _no_header(tab: Tab) -> Problem:
    headers = ", ".join(f'"{column.header}"' for column in read_columns(tab)[:3])
    return Problem(
        tab.title,
        f"has no row of headers in its first {HEADER_ROWS} rows",
        f"type the headers of the form, {headers} and so on, over the columns",
        STOPS,
    )


def _labels(sheet: Sheet, tab: Tab, header_row: int) -> Sequence[Label]:
    """The headers, and whether anything stands below each."""
    used = {
        column
        for number, row in sheet.rows.items()
        if number > header_row
        for column, cell in row.items()
        if not is_blank(cell)
    }
    return tuple(
        Label(written(cell.value), column, address(tab.title, header_row, column), column in used)
        for column, cell in sheet.rows[header_row].items()
        if not is_blank(cell)
    )


def _lines(sheet: Sheet, tab: Tab, header_row: int, found: Mapping[str, int]) -> Iterator[_Found]:
    """Rows below the header that somebody filled in: no blanks, no units or hints, no example."""
    below = sorted(number for number in sheet.rows if number > header_row)
    data = dropwhile(lambda number: _repeats_form(sheet.rows[number], tab, found), below)
    names = [column.name for column in read_columns(tab) if column.name in found]
    first = tab.key or tab.columns[0].name
    for number in data:
        cells = {name: (address(tab.title, number, found[name]), sheet.cell(number, found[name])) for name in names}
        filled = {name: cell for name, (_, cell) in cells.items() if not is_blank(cell)}
        example = first in filled and written(filled[first].value).upper() == EXAMPLE
        if filled and not example:
            yield _Found(number, cells)


def _repeats_form(row: Line, tab: Tab, found: Mapping[str, int]) -> bool:
    """Whether a row below the header says only units and hints."""
    said = {name: row[place] for name, place in found.items() if place in row and not is_blank(row[place])}
    return all(_is_of_form(tab.column(name), cell) for name, cell in said.items())


def _is_of_form(column: Column, cell: Cell) -> bool:
    said = {written(column.hint).casefold(), written(column.help).casefold()}
    words = said | {column.kind.units[unit] for unit in JOB_UNITS}
    return written(cell.value).casefold() in words


def _told_apart(tab: Tab, built: Iterable[tuple[_Found, BuiltRow]]) -> TabRows:
    """The rows that have a mark of their own, then, each with a problem, the others without their mark."""
    rows: list[Any] = []
    unmarked: list[Any] = []
    problems: list[Problem] = []
    first: dict[str, str] = {}
    for line, row in built:
        problems += row.problems
        if tab.key:
            where = line.cells[tab.key][0]
            mark = getattr(row.row, tab.key)
            if mark is None:  # blank or unreadable, which is a problem of the row already
                unmarked.append(row.row)
                continue
            if str(mark).casefold() in first:
                problems.append(_twice(tab, where, str(mark), first[str(mark).casefold()]))
                unmarked.append(_without_mark(row.row, tab.key, str(mark)))
                continue
            first[str(mark).casefold()] = where
        rows.append(row.row)
    return TabRows((*rows, *unmarked), tuple(problems))


def _without_mark(row: Any, key: str, mark: str) -> Any:
    """A row whose mark is taken: it keeps it as text, for whoever copies the row."""
    origin: Origin = row.origin
    texts = MappingProxyType({**origin.texts, key: mark})
    return replace(row, **{key: None}, origin=replace(origin, faulty=origin.faulty | {key}, texts=texts))


def _twice(tab: Tab, where: str, mark: str, first: str) -> Problem:
    return Problem(
        where,
        f"{tab.column(tab.key).header}: {mark} stands in {first} already; this row is left out",
        "give each row a mark of its own",
        LEFT_OUT,
    )


def _layout_problems(sheet: Sheet, tab: Tab, lines: Sequence[_Found], columns: Collection[int]) -> Iterator[Problem]:
    """Hidden rows that were read, and cells that a merge has swallowed."""
    hidden = [str(line.number) for line in lines if line.number in sheet.layout.hidden]
    if hidden:
        more = f" and {len(hidden) - MOST_NAMED} more" if len(hidden) > MOST_NAMED else ""
        named = ", ".join(hidden[:MOST_NAMED]) + more
        yield Problem(
            f"{tab.title}!A{hidden[0]}",
            f"row is hidden; it was read (hidden rows: {named})",
            "show the rows, and delete those that do not belong to the job",
            NOTE,
        )
    for line in lines:
        for merge in sheet.layout.merges.get(line.number, ()):
            if any(merge.swallows(line.number, column) for column in columns):
                yield _merged(tab, line.number, merge)


def _merged(tab: Tab, row: int, merge: Merge) -> Problem:
    first = merge.ref.partition(":")[0]
    return Problem(
        address(tab.title, row, merge.first_column),
        f"cells {merge.ref} are merged; only {first} holds a value, the others were read as blank",
        "unmerge them and fill in each cell",
        LOOK,
    )
