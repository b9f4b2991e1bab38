"""A written workbook as it stands: every formula, every value, every name; for whoever checks it."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any, NamedTuple

from openpyxl import Workbook
from openpyxl.formula.tokenizer import TokenizerError
from openpyxl.formula.translate import Translator
from openpyxl.utils import get_column_letter, range_boundaries

from railbook.basics.problem import STOPS, Problem
from railbook.basics.units import Refusal
from railbook.intake import package
from railbook.intake.package import RefusedError
from railbook.intake.workbook import Opened, believed, opened, sheets_of, stop

MOST_ENTRIES = 12_000_000  # tags of all sheets and texts
MOST_CELLS = 20_000_000  # of one sheet, blank ones too
FAR_ROW = 500_000  # formulas are compared as if they stood here; no absolute reference reaches it
Place = tuple[int, int]  # row and column, counted from 1
Rows = Iterable[Iterable[Any]]  # cells
_AREA = re.compile(r"'?((?:[^'!]|'')+)'?!(\$?[A-Z]+\$?\d+(?::\$?[A-Z]+\$?\d+)?)")


class Written(NamedTuple):
    """What a workbook holds.

    Attributes:
        formulas: title -> place -> formula.
        values: title -> place -> what the cell shows.
        names: name in upper case -> title and area.
    """

    formulas: Mapping[str, Mapping[Place, str]]
    values: Mapping[str, Mapping[Place, Any]]
    names: Mapping[str, tuple[str, str]]


def written(path: Path) -> Written | Problem:
    """Everything in a workbook, or why it cannot be opened."""
    data = package.contents(path)
    if isinstance(data, Refusal):
        return stop(path, data)
    found = believed(data, lambda: _read(data))
    if isinstance(found, Refusal):
        return stop(path, found)
    if _is_hollow(found.formulas, found.values):
        return Problem(
            path.name, "holds formulas without values", "open it in your spreadsheet program, save, run again", STOPS
        )
    return found


def _read(data: bytes) -> Written:
    """Every sheet twice: what is written in its cells, and what they show."""
    made, shown = opened(data, data_only=False), opened(data, data_only=True)
    with closing(made.archive), closing(shown.archive):
        formulas = {title: dict(_formulas(rows)) for title, rows in _streams(made)}
        made.reader.parser.assign_names()
        values = {title: dict(_filled(rows)) for title, rows in _streams(shown)}
        return Written(formulas, values, dict(_names(made.reader.wb)))


def _streams(book: Opened) -> Iterator[tuple[str, Rows]]:
    """The rows of every sheet, as far as anything stands in them.

    Raises:
        RefusedError: when a sheet reaches so far that walking over its blank cells would take for ever.
    """
    for title, found, sheet in sheets_of(book, tuple(book.parts), MOST_ENTRIES):
        if found.last_row * found.last_column > MOST_CELLS:
            raise RefusedError(Refusal(f"has cells far out on tab {title}", "clear what stands far below or beside"))
        sheet.reset_dimensions()
        yield title, sheet.iter_rows(max_row=max(1, found.last_row), max_col=max(1, found.last_column))


def _is_hollow(formulas: Mapping[str, Mapping[Place, str]], values: Mapping[str, Mapping[Place, Any]]) -> bool:
    """Whether no formula has a value: a program that does not calculate has saved the workbook."""
    places = [(title, place) for title, cells in formulas.items() for place in cells]
    return bool(places) and not any(place in values[title] for title, place in places)


def _filled(rows: Rows) -> Iterator[tuple[Place, Any]]:
    """Every filled cell."""
    for row in rows:
        for cell in row:
            if cell.value is not None:
                yield (cell.row, cell.column), cell.value


def _formulas(rows: Rows) -> Iterator[tuple[Place, str]]:
    """Every formula cell."""
    for row in rows:
        for cell in row:
            if cell.data_type == "f":
                yield (cell.row, cell.column), str(cell.value)


def _names(book: Workbook) -> Iterator[tuple[str, tuple[str, str]]]:
    """Names that point at cells."""
    for name, defined in book.defined_names.items():
        area = _AREA.fullmatch(defined.attr_text or "")
        if area:
            yield name.upper(), (area[1].replace("''", "'"), area[2].replace("$", ""))


class Shape(NamedTuple):
    """One formula and every cell that holds a translate of it."""

    title: str
    formula: str
    places: Sequence[Place]


def shapes_of(book: Written) -> tuple[Shape, ...]:
    """Every formula with the cells that hold a translate of it, tab by tab."""
    found: dict[tuple[str, int, str], list[Place]] = {}
    for title, cells in book.formulas.items():
        for (row, column), formula in cells.items():
            far = _far(formula, row, get_column_letter(column))
            found.setdefault((title, column, far), []).append((row, column))
    return tuple(Shape(title, far, tuple(places)) for (title, _, far), places in found.items())


def _far(formula: str, row: int, letter: str) -> str:
    """The formula as it would stand far below; one that is none, as it is."""
    try:
        return str(Translator(formula, origin=f"{letter}{row}").translate_formula(f"{letter}{FAR_ROW}"))
    except (TokenizerError, LookupError):
        return formula


def address(row: int, column: int) -> str:
    """A cell as formulas name it.

    >>> address(7, 4)
    'D7'
    """
    return f"{get_column_letter(column)}{row}"


def edges(area: str) -> tuple[int, int, int, int]:
    """First column and row, last column and row of an area.

    >>> edges("B2:D9"), edges("B2")
    ((2, 2, 4, 9), (2, 2, 2, 2))
    """
    low_column, low_row, high_column, high_row = range_boundaries(area)
    assert low_column is not None
    assert low_row is not None
    assert high_column is not None
    assert high_row is not None  # areas of this workbook have all four edges
    return low_column, low_row, high_column, high_row
