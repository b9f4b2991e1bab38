"""A written workbook as it stands: every formula, every value, every name; for whoever checks it."""

import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

from openpyxl import Workbook, load_workbook
from openpyxl.formula.translate import Translator
from openpyxl.utils import get_column_letter, range_boundaries

from railbook.basics.problem import STOPS, Problem
from railbook.basics.units import Refusal
from railbook.intake import package

FAR_ROW = 500_000  # formulas are compared as if they stood here; no absolute reference reaches it
Place = tuple[int, int]  # row and column, counted from 1
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
    fault = data if isinstance(data, Refusal) else package.fault(data)
    if isinstance(fault, Refusal):
        return Problem(path.name, f"the file {fault.why}", fault.remedy, STOPS)
    assert isinstance(data, bytes)  # a refusal has returned
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about looks that the library does not carry
            made, shown = load_workbook(BytesIO(data)), load_workbook(BytesIO(data), data_only=True)
    except Exception:  # noqa: BLE001 - a damaged workbook may raise anything in the library
        return Problem(path.name, f"the file {package.DAMAGED.why}", package.DAMAGED.remedy, STOPS)
    formulas = {sheet.title: dict(_formulas(sheet)) for sheet in made.worksheets}
    values = {sheet.title: dict(_filled(sheet)) for sheet in shown.worksheets}
    if _is_hollow(formulas, values):
        return Problem(
            path.name, "holds formulas without values", "open it in your spreadsheet program, save, run again", STOPS
        )
    return Written(formulas, values, dict(_names(made)))


def _is_hollow(formulas: Mapping[str, Mapping[Place, str]], values: Mapping[str, Mapping[Place, Any]]) -> bool:
    """Whether no formula has a value: a program that does not calculate has saved the workbook."""
    places = [(title, place) for title, cells in formulas.items() for place in cells]
    return bool(places) and not any(place in values[title] for title, place in places)


def _filled(sheet: Any) -> Iterator[tuple[Place, Any]]:
    """Every filled cell."""
    for row in sheet.iter_rows():
        for cell in row:
            if cell.value is not None:
                yield (cell.row, cell.column), cell.value


def _formulas(sheet: Any) -> Iterator[tuple[Place, str]]:
    """Every formula cell."""
    for row in sheet.iter_rows():
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
            letter = get_column_letter(column)
            far = Translator(formula, origin=f"{letter}{row}").translate_formula(f"{letter}{FAR_ROW}")
            found.setdefault((title, column, far), []).append((row, column))
    return tuple(Shape(title, far, tuple(places)) for (title, _, far), places in found.items())


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
