"""Read a workbook: open it, learn the job's length unit, then read every declared tab."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from types import MappingProxyType, SimpleNamespace
from typing import Any, NamedTuple

from openpyxl.utils.cell import get_column_letter

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import UNIT
from railbook.basics.problem import LOOK, NOTE, STOPS, Problem
from railbook.intake.across import read_across
from railbook.intake.down import TabRows, read_down
from railbook.intake.hiding import hidden_sheet
from railbook.intake.layout import MOST_COLUMNS, MOST_ROWS
from railbook.intake.workbook import Book, Sheet, open_workbook, same_title


class Reading(NamedTuple):
    """What a workbook gave.

    Attributes:
        rows: name of a tab -> its rows; a tab that runs down the page has one, or none.
        problems: everything that somebody should know: absent tabs, then tab by tab and row by row.
        examples: name of a tab -> its row that is marked as the form's example.
    """

    rows: Mapping[str, tuple[Any, ...]]
    problems: tuple[Problem, ...]
    examples: Mapping[str, Any]


def read(path: Path, tabs: Sequence[Tab]) -> Reading:
    """Rows of every tab, and problems; a user's mistake never raises.

    Args:
        path: the workbook.
        tabs: what to read; one that runs down the page has the column of kind UNIT.

    Returns:
        rows of the tab's own row class, each with its origin. A row whose cell could not be read is
        there too, with None for the cell and its name in `origin.faulty`.
    """
    if not any(_unit_column(tab) for tab in tabs):
        raise ValueError("none of the tabs asks for the length unit of the job")
    book = open_workbook(path, [tab.title for tab in tabs])
    if isinstance(book, Problem):
        return _reading(tabs, {}, [book])
    sheets = [(tab, _sheet(book, tab, tabs)) for tab in tabs]
    absent = [sheet for _, sheet in sheets if isinstance(sheet, Problem)]
    present = [(tab, sheet) for tab, sheet in sheets if isinstance(sheet, Sheet)]
    unit = _unit(present)
    if not isinstance(unit, str):
        return _reading(tabs, {}, [*absent, *unit])
    found = {tab.name: _tab_rows(sheet, tab, unit) for tab, sheet in present}
    problems = [problem for tab_rows in found.values() for problem in tab_rows.problems]
    return _reading(tabs, found, [*absent, *problems])


def _reading(tabs: Sequence[Tab], found: Mapping[str, TabRows], problems: Sequence[Problem]) -> Reading:
    rows = {tab.name: found[tab.name].rows if tab.name in found else () for tab in tabs}
    examples = {name: tab_rows.example for name, tab_rows in found.items() if tab_rows.example is not None}
    return Reading(MappingProxyType(rows), tuple(problems), MappingProxyType(examples))


def _sheet(book: Book, tab: Tab, tabs: Sequence[Tab]) -> Sheet | Problem:
    """The sheet of a tab, whatever the case of its title."""
    found = [sheet for sheet in book.sheets if same_title(sheet.title) == same_title(tab.title)]
    if not found:
        return _missing(book, tab, tabs)
    if len(found) > 1:
        return Problem(tab.title, "there are two tabs of this name", "rename or delete one of them", STOPS)
    if found[0].layout.last_row > MOST_ROWS:
        last = found[0].layout.last_row
        return Problem(
            f"{tab.title}!A{last}",
            f"something stands in row {last}; no more than {MOST_ROWS} rows are read",
            "clear what stands far below, or divide the job",
            STOPS,
        )
    return found[0]


def _missing(book: Book, tab: Tab, tabs: Sequence[Tab]) -> Problem:
    """A tab that the workbook lacks, with the one whose title looks most like it and is not itself asked for."""
    asked_for = {same_title(each.title) for each in tabs}
    by_title = {same_title(title): title for title in book.titles if same_title(title) not in asked_for}
    near = get_close_matches(same_title(tab.title), list(by_title), n=1)
    renamed = f'; did you rename it "{by_title[near[0]]}"?' if near else ""
    if tab.optional:
        return Problem(tab.title, f"the workbook has no such tab{renamed}", "nothing to do if none is needed", NOTE)
    remedy = "give the tab its name back, or copy it from a new form"
    return Problem(tab.title, f"the workbook has no such tab{renamed}", remedy, STOPS)


def _unit(present: Sequence[tuple[Tab, Sheet]]) -> str | Sequence[Problem]:
    """The job's length unit, or what stops it from being known: without it no length can be read."""
    for tab, sheet in present:
        if column := _unit_column(tab):
            alone = replace(tab, columns=(column,), row=SimpleNamespace)
            found = read_down(sheet, alone, unit="")
            stops = [problem for problem in found.problems if problem.severity == STOPS]
            return stops or str(column.value(found.rows[0]))
    return ()


def _unit_column(tab: Tab) -> Column | None:
    """The column that asks for the job's length unit."""
    asking = (column for column in tab.columns if tab.down and column.kind.name == UNIT.name)
    return next(asking, None)


def _tab_rows(sheet: Sheet, tab: Tab, unit: str) -> TabRows:
    """What the tab's sheet gave."""
    found = read_down(sheet, tab, unit) if tab.down else read_across(sheet, tab, unit)
    return found._replace(problems=(*hidden_sheet(sheet, tab), *_too_wide(sheet, tab), *found.problems))


def _too_wide(sheet: Sheet, tab: Tab) -> Iterator[Problem]:
    """Headers past the last column that is read."""
    if sheet.layout.last_header > MOST_COLUMNS:
        edge = get_column_letter(MOST_COLUMNS)
        yield Problem(
            f"{tab.title}!{get_column_letter(sheet.layout.last_header)}1",
            f"something stands past column {edge}; it was not read",
            "move what belongs to the job nearer to the left",
            LOOK,
        )
