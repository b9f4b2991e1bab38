"""Examples and their results as they are kept: cell by cell what the program makes of them today."""

import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railbook.estimate import Estimate, compute
from railbook.tabs import TABS
from tests.filled_form import Filled

Cells = dict[str, tuple[Any, str]]  # place of a cell: what it holds and how it is shown


def cells_of(place: Path, *, values: bool = False) -> Cells:
    """Every cell of every tab: with its formula, or with the value that stands in it."""
    book = openpyxl.load_workbook(place, data_only=values)
    cells = (each for sheet in book for row in sheet.iter_rows() for each in row)
    return {f"{each.parent.title}!{each.coordinate}": (each.value, each.number_format) for each in cells}


def alike(left: Any, right: Any) -> bool:
    """Whether two cells hold the same; the last digit of a figure depends on the machine."""
    if isinstance(left, int | float) and isinstance(right, int | float):
        return math.isclose(left, right, rel_tol=1e-12, abs_tol=1e-12)
    return type(left) is type(right) and bool(left == right)


def assert_same_cells(made: Cells, kept: Cells) -> None:
    """Both hold the same cells."""
    assert list(made) == list(kept)
    moved = {at: (cell, kept[at]) for at, cell in made.items() if not all(map(alike, cell, kept[at]))}
    assert moved == {}


def kept_result(form: Filled) -> Path:
    """Where the result of an example is kept."""
    return form.place.with_name(f"{form.place.stem} result.xlsx")


def assert_form_is_kept(form: Filled, folder: Path) -> None:
    """The kept example is what its measurements make."""
    form.draw(folder / form.place.name)
    assert_same_cells(cells_of(folder / form.place.name), cells_of(form.place))


def assert_result_is_kept(computed: Estimate, form: Filled, *, values: bool) -> None:
    """The kept result is what computing the example gives."""
    assert computed.result is not None
    made, kept = (cells_of(place, values=values) for place in (computed.result, kept_result(form)))
    assert_same_cells(made, kept)
    assert {at.partition("!")[0] for at in made} >= {tab.title for tab in TABS}


def computed_anew(form: Filled, tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The kept example, computed in a folder of its own."""
    place = tmp_path_factory.mktemp(form.place.stem) / form.place.name
    place.write_bytes(form.place.read_bytes())
    return compute(place)


def row(computed: Estimate, tab: str, **wanted: object) -> Any:
    """The one row of a tab that has these values."""
    (found,) = [each for each in computed.rows[tab] if all(getattr(each, name) == v for name, v in wanted.items())]
    return found


def pieces(computed: Estimate, part: str) -> list[tuple[str, int, float, float]]:
    """Pieces of one part: where they go, how many, length, tip to tip."""
    found = [each for each in computed.rows["cut_list"] if each.part == part]
    return [(each.where, each.quantity, each.length, each.tip_to_tip) for each in found]


def nearest(length: float, step: float = 1 / 16) -> float:
    """To the nearest step of the tape; no figure of the examples lies half-way between two."""
    return math.floor(length / step + 0.5) * step
