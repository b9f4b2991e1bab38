"""Examples and their results as they are kept: what the program makes of them today, cell by cell.

An example is kept as a workbook, its result as a text for each tab under tests/kept/ (see tests/kept_text.py).
`python -m pytest --renew-kept tests/test_example*.py` writes anew what has changed; `git diff` then shows what moved.
"""

import math
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railbook.estimate import Estimate, compute
from railbook.tabs import TABS
from tests.filled_form import Filled
from tests.kept_text import Moved, moved, texts_of

KEPT = Path(__file__).parent / "kept"
MOST_TOLD = 20

Cells = dict[str, tuple[Any, str]]  # place of a cell: what it holds and how it is shown


def cells_of(place: Path) -> Cells:
    """Every cell of every tab of a form."""
    cells = (each for sheet in openpyxl.load_workbook(place) for row in sheet.iter_rows() for each in row)
    return {f"{each.parent.title}!{each.coordinate}": (each.value, each.number_format) for each in cells}


def assert_form_is_kept(form: Filled, folder: Path, *, renew: bool) -> None:
    """The kept example is what its measurements make."""
    form.draw(folder / form.place.name)
    made = cells_of(folder / form.place.name)
    if renew and not (form.place.exists() and cells_of(form.place) == made):
        shutil.copy(folder / form.place.name, form.place)
    kept = cells_of(form.place)
    assert list(made) == list(kept)
    assert {at: (kept[at], cell) for at, cell in made.items() if cell != kept[at]} == {}


def assert_result_is_kept(computed: Estimate, form: Filled, *, renew: bool) -> None:
    """The kept result is what computing the example gives."""
    assert computed.result is not None
    made, folder = texts_of(computed.result), KEPT / form.place.stem
    assert list(made)[: len(TABS)] == [tab.title for tab in TABS]
    if renew:
        write_texts(made, folder)
    found = list(differences({each.stem: each.read_text(encoding="utf-8") for each in folder.glob("*.txt")}, made))
    told = [*map(str, found[:MOST_TOLD]), f"{len(found)} differences of the result of {form.place.name} in all"]
    assert not found, "\n".join(told)


def differences(kept: Mapping[str, str], made: Mapping[str, str]) -> Iterator[Moved]:
    """What differs between the texts of two workbooks: whole tabs first, then cells."""
    yield from (Moved(title, "no such tab", "a tab") for title in made if title not in kept)
    yield from (Moved(title, "a tab", "no such tab") for title in kept if title not in made)
    for title in (title for title in made if title in kept):
        yield from moved(title, kept[title], made[title])


def write_texts(made: Mapping[str, str], folder: Path) -> None:
    """Keep these texts, and no other."""
    folder.mkdir(parents=True, exist_ok=True)
    for gone in (each for each in folder.glob("*.txt") if each.stem not in made):
        gone.unlink()
    for title, text in made.items():
        (folder / f"{title}.txt").write_text(text, encoding="utf-8", newline="\n")


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
