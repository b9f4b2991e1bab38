"""One row of a tab from its cells: values, where each came from, and what could not be read."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from openpyxl.utils.cell import get_column_letter

from railbook.basics.double_entry import Column, Tab
from railbook.basics.problem import LEFT_OUT, LOOK, STOPS, Origin, Problem
from railbook.basics.units import Refusal
from railbook.intake.cells import as_shown, is_blank, read_cell, shown
from railbook.intake.headers import is_needed, read_columns
from railbook.intake.workbook import Cell

NOT_CALCULATED = "#N/A"  # the spreadsheet's own word for a value that is not there
Cells = Mapping[str, tuple[str, Cell]]  # column name -> address and cell


class BuiltRow(NamedTuple):
    """A row, and a problem for each of its cells that could not be read."""

    row: Any
    problems: tuple[Problem, ...]


def address(title: str, row: int, column: int) -> str:
    """Cell as people name it.

    >>> address("Runs", 7, 4)
    'Runs!D7'
    """
    return f"{title}!{get_column_letter(column)}{row}"


def build(tab: Tab, cells: Cells, unit: str) -> BuiltRow:
    """The tab's row class filled in; a cell that is blank or cannot be read gives None."""
    columns = read_columns(tab)
    found = {column.name: _value(tab, column, cells, unit) for column in columns}
    problems = {name: value for name, value in found.items() if isinstance(value, Problem)}
    values = {name: None if name in problems else value for name, value in found.items()}
    filled = {name: cell for name, (_, cell) in cells.items() if cell.value is not None or cell.uncalculated}
    origin = Origin(
        tab.title,
        MappingProxyType({name: where for name, (where, _) in cells.items() if name in found}),
        frozenset(problems),
        MappingProxyType({name: _text_of(filled[name]) for name in problems if name in filled}),
    )
    return BuiltRow(tab.row(**values, origin=origin), tuple(problems.values()))


def _text_of(cell: Cell) -> str:
    """What a copy of the row holds instead; a formula without a value is refused there too."""
    return NOT_CALCULATED if cell.uncalculated else as_shown(cell)


def _value(tab: Tab, column: Column, cells: Cells, unit: str) -> Any:
    """Value of one column, None for a blank, or the problem with it."""
    if column.name not in cells:
        return None
    where, cell = cells[column.name]
    if is_blank(cell):
        return _nothing(tab, column, where) if is_needed(tab, column) else None
    value = read_cell(cell, column, unit)
    if isinstance(value, Refusal):
        return Problem(where, f"{column.header}: {shown(cell)} {value.why}", value.remedy, _weight(tab, column))
    return value


def _nothing(tab: Tab, column: Column, where: str) -> Problem:
    """A needed cell that is blank."""
    remedy = column.hint or f"type the {column.header}"
    return Problem(where, f"{column.header} is blank", remedy, _weight(tab, column))


def _weight(tab: Tab, column: Column) -> str:
    """How grave an unread cell is: a row is left out, but what holds for the whole job stops it."""
    if not tab.down:
        return LEFT_OUT
    return STOPS if is_needed(tab, column) else LOOK
