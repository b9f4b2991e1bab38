"""Verify: every formula of a workbook evaluated afresh by another program, against the value beside it.

Each is evaluated on the values that stand in the cells it names. No formula leads back to itself, so when
each agrees with the values before it, the whole workbook is right. A calculated cell that holds no formula
any more agrees with nothing: it is named.
"""

import importlib.util
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import Any, NamedTuple

from railbook import referee
from railbook.basics.problem import STOPS, Problem
from railbook.calculated import Lost, calculated, lost
from railbook.intake.written import FAR_ROW, Place, Shape, Written, address, edges, shapes_of, written
from railbook.recalculate import recalculated
from railbook.referee import UnansweredError

TOLERANCE = 1e-9  # relative
EXTRA = 'pip install "railbook[verify]"'
PROCESSES = min(8, os.cpu_count() or 1)  # at most so many at once, each with the whole workbook in memory
WORTH_A_PROCESS = 10_000  # cells to evaluate: with fewer, starting processes takes longer than they save
MOST_CELLS = 2_000_000  # that a word of a formula may stand for
_AREA = re.compile(r"[A-Z]{1,3}\d{1,7}(:[A-Z]{1,3}\d{1,7})?")


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
        lost: calculated cells that hold no formula.
        unknown: tabs and columns whose calculated cells were not found.
    """

    formulas: int
    shapes: int
    evaluated: int
    differences: tuple[Difference, ...]
    lost: tuple[Lost, ...]
    unknown: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Whether nothing was found, and nothing is missing that should have been looked at."""
        return not (self.differences or self.lost or self.unknown)

    def __str__(self) -> str:
        left = self.formulas - self.evaluated
        told = (
            f"{self.formulas} formula cells, {self.shapes} formulas",
            f"{self.evaluated} evaluated, {left} NOT evaluated" if left else "every cell evaluated",
            f"{sum(each.number for each in self.lost)} calculated cells without a formula",
            *((f"not found, so not looked at: {', '.join(self.unknown)}",) if self.unknown else ()),
            f"{len(self.differences)} differ",
        )
        return "; ".join(told)


def missing_extra() -> Problem | None:
    """The problem when the evaluating program is not installed."""
    if importlib.util.find_spec("formulas") is not None:
        return None
    return Problem("verify", "the program that evaluates formulas is not installed", f"run: {EXTRA}", STOPS)


def verify(
    path: Path, *, sample: bool = False, processes: int = 1, progress: Callable[[int, int], None] | None = None
) -> Verdict | Problem:
    """Evaluate a workbook's formulas afresh.

    Args:
        path: the workbook.
        sample: evaluate the first, middle and last cell of every formula only.
        processes: at most so many at once; a script that asks for more must guard its main part, as every
            program that starts processes.
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
    looked_at = [shape._replace(places=_sample(shape.places)) for shape in shapes] if sample else shapes
    differences: list[Difference] = []
    found = _evaluated(book, looked_at, processes)
    for done, shape in enumerate(looked_at, start=1):
        try:
            differences += next(found)
        except UnansweredError as fault:
            where = f"{shape.title}!{address(*shape.places[0])}"
            return Problem(where, f"its formula {fault}", "was a name or a tab deleted? compute the job again", STOPS)
        if progress is not None:
            progress(done, len(shapes))
    return _verdict(book, shapes, sum(len(shape.places) for shape in looked_at), differences)


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
    return _verdict(book, shapes_of(book), len(cells), differences)


def _verdict(book: Written, shapes: Sequence[Shape], evaluated: int, differences: Sequence[Difference]) -> Verdict:
    """What was found, and what should have held a formula."""
    where = calculated(book)
    return Verdict(
        formulas=sum(len(shape.places) for shape in shapes),
        shapes=len(shapes),
        evaluated=evaluated,
        differences=tuple(differences),
        lost=tuple(lost(book, where.cells)),
        unknown=where.unknown,
    )


def _evaluated(book: Written, shapes: Sequence[Shape], processes: int) -> Iterator[list[Difference]]:
    """The differences of each shape, in turn; of large workbooks side by side."""
    if processes < 2 or sum(len(shape.places) for shape in shapes) < WORTH_A_PROCESS:
        bench = Bench(book)
        yield from map(bench.differences, shapes)
        return
    begin = get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=begin, initializer=_begin, initargs=(book,)) as pool:
        yield from pool.map(_differences, shapes, chunksize=4)


_BENCH: list["Bench"] = []  # of this process, when it is one of several


def _begin(book: Written) -> None:
    """Make a process ready to evaluate formulas of a workbook."""
    _BENCH[:] = [Bench(book)]


def _differences(shape: Shape) -> list[Difference]:
    """What one of several processes finds."""
    return _BENCH[0].differences(shape)


def _sample(places: Sequence[Place]) -> Sequence[Place]:
    """First, middle and last."""
    return sorted({places[0], places[len(places) // 2], places[-1]})


@dataclass(frozen=True)
class Bench:
    """Evaluates formulas on the values that stand in a workbook."""

    book: Written
    _blocks: dict[tuple[str, str], Any] = field(default_factory=dict)

    def differences(self, shape: Shape) -> list[Difference]:
        """Cells of a shape that do not show what their formula gives; what is given the same is evaluated once."""
        evaluate = referee.ready(shape.formula)
        computed: dict[tuple[object, ...], Any] = {}
        found = []
        for row, column in shape.places:
            given = [self._block(shape.title, word, row) for word in evaluate.inputs]
            told = tuple(map(referee.told_apart, given))
            if told not in computed:
                computed[told] = referee.plain(evaluate(*given))
            stands = self.book.values[shape.title].get((row, column))
            if not agree(stands, computed[told]):
                found.append(Difference(f"{shape.title}!{address(row, column)}", stands, computed[told]))
        return found

    def _block(self, title: str, word: str, row: int) -> Any:
        """The cells that a word of a formula stands for."""
        name = word.replace("$", "")
        if name in self.book.names:
            there, place = self.book.names[name]
        else:
            sheet, _, area = name.rpartition("!")
            there = self._title(sheet) if sheet else title
            place = re.sub(r"\d{6,}", lambda far: str(int(far[0]) - FAR_ROW + row), area)
        if there not in self.book.values or not _AREA.fullmatch(place):
            raise UnansweredError(f"asks for {name}, which is nowhere in this workbook")
        return self._cells(there, place)

    def _title(self, sheet: str) -> str:
        """Title of a sheet as the workbook spells it; nothing when it has no such sheet."""
        plain = sheet.strip("'").replace("''", "'").upper()
        return next((title for title in self.book.values if title.upper() == plain), "")

    def _cells(self, title: str, area: str) -> Any:
        """Values of an area."""
        if (title, area) not in self._blocks:
            low_column, low_row, high_column, high_row = edges(area)
            if (high_row - low_row + 1) * (high_column - low_column + 1) > MOST_CELLS:
                raise UnansweredError(f"asks for all of {area} on tab {title}")
            values, formulas = self.book.values[title], self.book.formulas[title]
            rows = [
                [_shown(values, formulas, (row, column)) for column in range(low_column, high_column + 1)]
                for row in range(low_row, high_row + 1)
            ]
            self._blocks[title, area] = referee.given(rows)
        return self._blocks[title, area]


def _shown(values: Mapping[Place, Any], formulas: Mapping[Place, str], place: Place) -> Any:
    """What a cell holds: a formula that shows nothing holds an empty text, a blank cell nothing at all."""
    return values.get(place, "" if place in formulas else None)


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
