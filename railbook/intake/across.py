"""A tab with one row per thing: find its header row, then read what stands below it."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import dropwhile
from types import MappingProxyType
from typing import Any, NamedTuple

from railbook.basics.double_entry import EXAMPLE, Column, Tab
from railbook.basics.kinds import JOB_UNITS
from railbook.basics.problem import LEFT_OUT, LOOK, STOPS, Origin, Problem
from railbook.intake.cells import is_blank, said, written
from railbook.intake.down import TabRows
from railbook.intake.headers import Label, header_problems, places, read_columns, spelled
from railbook.intake.hiding import hidden_columns, hidden_rows, merged_cells
from railbook.intake.layout import HEADER_ROWS
from railbook.intake.rows import BuiltRow, Cells, address, build
from railbook.intake.workbook import Cell, Sheet

Line = Mapping[int, Cell]  # column number -> cell


class _Found(NamedTuple):
    """A row that somebody filled in: its number in the sheet, its cells, and what marks it as an example."""

    number: int
    cells: Cells
    example: str


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
    filled = tuple(_filled(sheet, tab, header_row, found_places))
    lines = tuple(line for line in filled if not line.example)
    built = _told_apart(tab, [(line, build(tab, line.cells, unit)) for line in lines])
    laid_out = _layout_problems(sheet, tab, header_row, lines, columns)
    problems = (*found, *laid_out, *_examples_in_use(tab, filled), *built.problems)
    example = next((build(tab, line.cells, unit).row for line in filled if line.example), None)
    return TabRows(built.rows, problems, example)


def _header_row(sheet: Sheet, tab: Tab) -> int:
    """Number of the row with most headers of the tab among the first ones; 0 when there is none."""
    known = {spelled(column.header) for column in tab.columns}
    found = {
        number: len(known & {spelled(said(cell)) for cell in row.values()})
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
        Label(said(cell), column, address(tab.title, header_row, column), column in used)
        for column, cell in sheet.rows[header_row].items()
        if not is_blank(cell)
    )


def _filled(sheet: Sheet, tab: Tab, header_row: int, found: Mapping[str, int]) -> Iterator[_Found]:
    """Rows below the header that somebody filled in: no blanks, no units or hints."""
    below = sorted(number for number in sheet.rows if number > header_row)
    data = dropwhile(lambda number: _repeats_form(sheet.rows[number], tab, found), below)
    names = [column.name for column in read_columns(tab) if column.name in found]
    first = tab.key or tab.columns[0].name
    for number in data:
        cells = {name: (address(tab.title, number, found[name]), sheet.cell(number, found[name])) for name in names}
        mark = said(cells[first][1]) if first in cells else ""
        if not all(is_blank(cell) for _, cell in cells.values()):
            yield _Found(number, cells, mark if mark.upper() == EXAMPLE else "")


def _examples_in_use(tab: Tab, filled: Sequence[_Found]) -> Iterator[Problem]:
    """Rows that are passed over as the form's example, although they do not stand where the form has it."""
    first = tab.key or tab.columns[0].name
    for at, line in enumerate(filled):
        if line.example and at:
            yield Problem(
                line.cells[first][0],
                f"{tab.column(first).header}: {line.example} marks the form's example; this row was not read",
                "give the row a mark of its own, or delete it",
                LOOK,
            )


def _repeats_form(row: Line, tab: Tab, found: Mapping[str, int]) -> bool:
    """Whether a row below the header says units and hints; a few of an older form's hints may be worded otherwise."""
    said = [(tab.column(name), row[at]) for name, at in found.items() if at in row and not is_blank(row[at])]
    of_form = sum(_is_of_form(column, cell) for column, cell in said)
    return not said or 2 * of_form > len(said)


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


def _layout_problems(
    sheet: Sheet, tab: Tab, header_row: int, lines: Sequence[_Found], columns: Collection[int]
) -> Iterator[Problem]:
    """Hidden rows and columns that were read, and cells that a merge has swallowed."""
    numbers = [line.number for line in lines]
    yield from hidden_rows(sheet, tab, numbers)
    yield from hidden_columns(sheet, tab, numbers, columns)
    used = {column for number in numbers for column, cell in sheet.rows[number].items() if not is_blank(cell)}
    yield from merged_cells(sheet, tab, [header_row], used)  # a swallowed header leaves no column to go by
    yield from merged_cells(sheet, tab, numbers, columns)
