"""Verify: every formula of a workbook evaluated afresh by another program, against the value beside it.

Formulas that are translates of one another are proven alike by their text, so that one compiled
formula serves them all. Each is evaluated on the values that stand in the cells it names. No formula
leads back to itself, so when each agrees with the values before it, the whole workbook is right.
"""

import importlib.util
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from railbook.basics.problem import STOPS, Problem
from railbook.intake.written import FAR_ROW, Place, Shape, Written, address, edges, shapes_of, written
from railbook.recalculate import recalculated

TOLERANCE = 1e-9  # relative
EXTRA = 'pip install "railbook[verify]"'


def _said(value: Any) -> str:
    """A value as a person writes it: whole numbers without a point."""
    return str(int(value)) if isinstance(value, float) and value.is_integer() else repr(value)


class Difference(NamedTuple):
    """A cell whose value is not what its formula gives."""

    cell: str
    stands: Any
    computed: Any

    def __str__(self) -> str:
        return f"{self.cell}: shows {_said(self.stands)}, its formula gives {_said(self.computed)}"


class Verdict(NamedTuple):
    """What verifying a workbook gave.

    Attributes:
        formulas: formula cells of the workbook.
        shapes: formulas that differ by more than their place.
        evaluated: cells evaluated afresh.
        differences: those that do not agree.
    """

    formulas: int
    shapes: int
    evaluated: int
    differences: tuple[Difference, ...]

    def __str__(self) -> str:
        alike = self.formulas - self.evaluated
        said = f"{self.evaluated} cells evaluated" + (f", {alike} more proven alike by their text" if alike else "")
        return f"{self.formulas} formula cells, {self.shapes} formulas; {said}; {len(self.differences)} differ"


def missing_extra() -> Problem | None:
    """The problem when the evaluating program is not installed."""
    if importlib.util.find_spec("formulas") is not None:
        return None
    return Problem("verify", "the program that evaluates formulas is not installed", f"run: {EXTRA}", STOPS)


def verify(path: Path, *, every: bool = False, progress: Callable[[int, int], None] | None = None) -> Verdict | Problem:
    """Evaluate a workbook's formulas afresh.

    Args:
        path: the workbook.
        every: evaluate every cell; else the first, middle and last cell of every formula.
        progress: told how many shapes are done, of how many.

    Returns:
        the verdict, or why nothing could be verified.
    """
    book = written(path)
    if isinstance(book, Problem):
        return book
    shapes = shapes_of(book)
    if not shapes:
        return Problem(path.name, "holds no formula", "verify a result that railbook computed", STOPS)
    bench, evaluated = Bench(book), 0
    differences: list[Difference] = []
    for done, shape in enumerate(shapes, start=1):
        places = shape.places if every else _sample(shape.places)
        evaluated += len(places)
        differences += bench.differences(shape, places)
        if progress is not None:
            progress(done, len(shapes))
    return Verdict(sum(len(shape.places) for shape in shapes), len(shapes), evaluated, tuple(differences))


def verify_by_libreoffice(path: Path) -> Verdict | Problem:
    """Compare every formula cell with a hard recalculation by LibreOffice."""
    book, afresh = written(path), recalculated(path)
    if isinstance(book, Problem):
        return book
    if isinstance(afresh, Problem):
        return afresh
    cells = [(title, place) for title, formulas in book.formulas.items() for place in formulas]
    differences = [
        Difference(f"{title}!{address(*place)}", book.values[title].get(place), afresh.values[title].get(place))
        for title, place in cells
        if not agree(book.values[title].get(place), afresh.values[title].get(place))
    ]
    return Verdict(len(cells), len(shapes_of(book)), len(cells), tuple(differences))


def _sample(places: Sequence[Place]) -> Sequence[Place]:
    """First, middle and last."""
    return sorted({places[0], places[len(places) // 2], places[-1]})


@dataclass(frozen=True)
class Bench:
    """Evaluates formulas on the values that stand in a workbook."""

    book: Written
    _blocks: dict[tuple[str, str], Any] = field(default_factory=dict)

    def differences(self, shape: Shape, places: Sequence[Place]) -> Iterator[Difference]:
        """Cells of a shape that do not show what their formula gives."""
        evaluate = _compiled(shape.formula)
        for row, column in places:
            stands = self.book.values[shape.title].get((row, column))
            computed = self._computed(evaluate, shape.title, row)
            if not agree(stands, computed):
                yield Difference(f"{shape.title}!{address(row, column)}", stands, computed)

    def _computed(self, evaluate: Any, title: str, row: int) -> Any:
        """One formula in one row."""
        import numpy as np
        import schedula

        result = evaluate(*(self._block(title, word, row) for word in evaluate.inputs))
        value = np.asarray(result, object).ravel()[0]
        if value is schedula.EMPTY:
            return None
        return (
            value.item()
            if isinstance(value, np.generic)
            else value
            if isinstance(value, (str, int, float))
            else str(value)
        )

    def _block(self, title: str, word: str, row: int) -> Any:
        """The cells that a word of a formula stands for."""
        name = word.replace("$", "")
        if name in self.book.names:
            return self._cells(*self.book.names[name])
        sheet, _, area = name.rpartition("!")
        place = re.sub(rf"(?<=[A-Z]){FAR_ROW}", str(row), area)
        return self._cells(self._title(sheet) if sheet else title, place)

    def _title(self, sheet: str) -> str:
        """Title of a sheet as the workbook spells it."""
        plain = sheet.strip("'").upper()
        return next(title for title in self.book.values if title.upper() == plain)

    def _cells(self, title: str, area: str) -> Any:
        """Values of an area, blank cells as the evaluating program has them."""
        import numpy as np
        import schedula
        from formulas.ranges import Ranges

        if (title, area) not in self._blocks:
            low_column, low_row, high_column, high_row = edges(area)
            values = self.book.values[title]
            formulas = self.book.formulas[title]
            rows = [
                [
                    _shown(values, formulas, (row, column), schedula.EMPTY)
                    for column in range(low_column, high_column + 1)
                ]
                for row in range(low_row, high_row + 1)
            ]
            made = np.array(rows, dtype=object)
            self._blocks[title, area] = Ranges().push(f"A1:{address(*made.shape)}", made)
        return self._blocks[title, area]


def _shown(values: Mapping[Place, Any], formulas: Mapping[Place, str], place: Place, empty: Any) -> Any:
    """What a cell holds: a formula that shows nothing holds an empty text, a blank cell nothing at all."""
    return values.get(place, "" if place in formulas else empty)


def _compiled(formula: str) -> Any:
    """A formula ready to evaluate."""
    os.environ["TQDM_DISABLE"] = "1"  # the program draws progress bars of its own
    import formulas

    return formulas.Parser().ast(formula)[1].compile()


def agree(left: Any, right: Any) -> bool:
    """Whether two cells show the same; nothing and an empty text do.

    >>> agree(None, ""), agree(0.1 + 0.2, 0.3), agree(0.0, None)
    (True, True, False)
    """
    if left in (None, "") or right in (None, ""):
        return left in (None, "") and right in (None, "")
    if isinstance(left, int | float) and isinstance(right, int | float):
        return abs(left - right) <= TOLERANCE * max(1.0, abs(left), abs(right))
    return bool(left == right)
