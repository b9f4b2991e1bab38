"""The most valuable board: one table over every length, slope and state at once, in whole numbers.

Pieces come in bundles of 1, 2, 4 ... so that every number up to the count can be put together. The table
says for each state and each room the greatest value that fits; `took` says which bundles made it.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from railbook.cutting.whole import Question, Whole

Pattern = tuple[tuple[int, int], ...]  # kind of width and how many, ascending by kind

NOTHING = -(2**30)  # no such board
GREATEST = 2**29  # values are scaled to stay below this
STAYED, STARTED = 1, 255  # marks in `took`: from the same state; as the first piece
LINE, CELL = 3e-6, 0.4e-9  # work for a bundle in one state; for each of its rooms [s]
FOUND, STEP = 15e-6, 12e-9  # work to follow a pattern back; for each bundle that was offered [s]
LAST = 10e-9  # work for each way in which a piece can come last [s]
CAME_FROM = 2  # marks in `took` from here on: from the state that is added to it


class Bundle(NamedTuple):
    """So many pieces of a kind, taken together or not at all."""

    kind: int
    copies: int


class Found(NamedTuple):
    """A board that one can fill.

    Attributes:
        stock: which board.
        pattern: what is cut from it.
        value: of its pieces, in the table's scale.
    """

    stock: int
    pattern: Pattern
    value: int


def bundles(question: Question, counts: Sequence[int]) -> list[Bundle]:
    """Bundles that make up any number of each kind, no more than a board can hold.

    Seven pieces come as 1, 2 and 4; five as 1, 2 and 2.
    """
    made = []
    for kind, count in enumerate(counts):
        width = question.widths[kind]
        fit = (question.longest + width.width - width.first) // max(width.width, 1)
        left, size = min(count, fit), 1
        while left > 0:
            made.append(Bundle(kind, min(size, left)))
            left -= size
            size *= 2
    return made


@dataclass(frozen=True)
class Table:
    """The filled table.

    Attributes:
        question: widths and boards.
        bundles: in the order they were offered.
        ends: for each slope, how many bundles are no steeper.
        counts: how many of each kind may be taken.
        values: of one piece of each kind.
        best: greatest value by slope, state and room.
        took: by bundle, state and room, how the value was reached.
    """

    question: Question
    bundles: Sequence[Bundle]
    ends: Sequence[int]
    counts: Sequence[int]
    values: Whole
    best: npt.NDArray[np.int32]
    took: npt.NDArray[np.uint8]

    @property
    def work(self) -> float:
        """What filling it took [s]."""
        _, states, rooms = self.best.shape
        return float(len(self.bundles) * states * (LINE + CELL * rooms))

    def work_found(self, number: int) -> float:
        """What looking for patterns and following so many of them back takes [s]."""
        return LAST * len(self.question.lasts.kind) + number * (FOUND + STEP * len(self.bundles))

    def value(self, stock: int) -> int:
        """The greatest value of one board's pieces."""
        return max((int(self.best[place]) for place in self.question.places[stock]), default=0)

    def best_of(self, stock: int) -> Found | None:
        """The most valuable pattern of one board; None when nothing fits."""
        place = max(self.question.places[stock], key=lambda at: int(self.best[at]), default=None)
        if place is None or self.best[place] <= 0:
            return None
        return Found(stock, self._pattern(*place), int(self.best[place]))

    def with_each(self, costs: Mapping[int, float], least: float) -> list[Found]:
        """For every kind of width, the board with a piece of it that is worth most for what it costs.

        Asking for one pattern with every kind instead of the best ones alone more than halves the rounds of the
        linear program (measured). A kind is left out where its pattern would need one piece too many.

        Args:
            costs: of the boards that may be used, in the table's scale.
            least: leave out boards worth less than this, for each unit of their cost.
        """
        lasts = self.question.lasts
        if not len(lasts.kind):
            return []
        worth = self.best.reshape(-1)[lasts.before] + self.values[lasts.kind]
        prices = np.array([costs.get(stock, np.inf) for stock in range(len(self.question.stocks))])[lasts.stock]
        full = np.array([int(self.best[place]) for places in self.question.places for place in places])
        rates = np.where(full[lasts.place] > least * prices, worth / prices, 0.0)
        best = np.maximum.reduceat(rates, lasts.begins)
        firsts = np.flatnonzero(rates == np.repeat(best, np.diff(lasts.begins, append=len(rates))))
        firsts = firsts[np.diff(lasts.kind[firsts], prepend=-1) > 0]
        firsts = firsts[rates[firsts] > least]
        order = firsts[np.argsort(-rates[firsts], kind="stable")]
        found = (self._found(int(lasts.stock[at]), int(lasts.kind[at]), int(lasts.before[at])) for at in order)
        return [one for one in found if one]

    def _found(self, stock: int, kind: int, before: int) -> Found | None:
        """A pattern with one more piece of a kind, unless that is more than are needed."""
        slope, state, room = (int(at) for at in np.unravel_index(before, self.best.shape))
        value = int(self.best[slope, state, room] + self.values[kind])
        taken = dict(self._pattern(slope, state, room))
        taken[kind] = taken.get(kind, 0) + 1
        return Found(stock, tuple(sorted(taken.items())), value) if taken[kind] <= self.counts[kind] else None

    def _pattern(self, slope: int, state: int, room: int) -> Pattern:
        """What made the value at this place, followed back from bundle to bundle."""
        taken: dict[int, int] = {}
        until = self.ends[slope]
        while until:
            steps = self.took[:until, state, room].nonzero()[0]
            if not len(steps):
                break
            until = int(steps[-1])
            kind, copies = self.bundles[until]
            mark = int(self.took[until, state, room])
            taken[kind] = taken.get(kind, 0) + copies
            if mark == STARTED:
                break
            room -= self.question.widths[kind].width * copies
            state = mark - CAME_FROM if mark >= CAME_FROM else state
        return tuple(sorted(taken.items()))


def fill(question: Question, counts: Sequence[int], values: Whole) -> Table:
    """The greatest value for every room, state and steepest slope, with at most so many of each kind.

    Values are whole numbers, and no full board may be worth more than GREATEST.
    """
    offered = [bundle for bundle in bundles(question, counts) if values[bundle.kind] > 0]
    table = _empty(question)
    took = np.zeros((len(offered), *table.shape), dtype=np.uint8)
    offer = _offers(question, table)
    best, ends, row = [], [], 0
    for slope in range(question.slopes):
        while row < len(offered) and question.widths[offered[row].kind].high == slope:
            offer(offered[row], int(values[offered[row].kind]), took[row])
            row += 1
        ends.append(row)
        best.append(table.copy() if slope + 1 < question.slopes else table)
    return Table(question, offered, ends, counts, values, np.stack(best) if len(best) > 1 else table[None], took)


def _empty(question: Question) -> npt.NDArray[np.int32]:
    """The table before anything was offered: an empty board in the first state."""
    table = np.full((question.states, question.longest + 1), NOTHING, dtype=np.int32)
    table[0] = 0
    return table


def history(question: Question, counts: Sequence[int], values: Whole) -> Iterator[npt.NDArray[np.int32]]:
    """The table before the first kind of width, and after each of them: value by state and room."""
    table = _empty(question)
    forgotten = np.zeros(table.shape, dtype=np.uint8)
    offer = _offers(question, table)
    offered = bundles(question, counts)
    yield table.copy()
    for kind in range(len(question.widths)):
        for bundle in offered:
            if bundle.kind == kind:
                offer(bundle, int(values[kind]), forgotten)
        yield table.copy()


def _offers(question: Question, table: npt.NDArray[np.int32]) -> Callable[[Bundle, int, npt.NDArray[np.uint8]], None]:
    """What offers one bundle to every state, filling the table and the bundle's marks in place.

    This is the innermost step of the search: it makes no lines of its own.
    """
    size, alike = table.shape[1], question.alike
    states, sums = list(enumerate(table)), np.empty(size, dtype=np.int32)

    def offer(bundle: Bundle, value: int, took: npt.NDArray[np.uint8]) -> None:
        kind, copies = bundle
        high, low, width, first = question.widths[kind]
        total, worth = width * copies, np.int32(value * copies)
        if low != high:
            if total < size:
                leads = question.leads[low, high, copies % 2]
                _bridge(leads, [line[: size - total] + worth for _, line in states[:alike]], total, table, took)
            return
        if total < size:
            marks, offers = took.view(bool), sums[total:]
            for state, line in states if low else states[:alike]:
                if line[-1] < 0:
                    continue
                into = line[total:]
                np.add(line[: size - total], worth, out=offers)
                np.greater(offers, into, out=marks[state, total:])
                np.maximum(offers, into, out=into)
        if low and alike < len(states):
            line = table[alike, total - width + first :]
            less = int(line.searchsorted(worth))
            line[:less] = worth
            took[alike, total - width + first :][:less] = STARTED

    return offer


def _bridge(
    leads: Sequence[int],
    before: Sequence[npt.NDArray[np.int32]],
    total: int,
    table: npt.NDArray[np.int32],
    took: npt.NDArray[np.uint8],
) -> None:
    """Offer pieces with ends on two slopes: each state that is reached leads to another."""
    for state, (to, offers) in enumerate(zip(leads, before, strict=True)):
        if offers[-1] >= 0:
            line, marks = table[to, total:], took[to, total:]
            came = (offers > line).view(np.uint8)
            came *= np.uint8(CAME_FROM + state)
            np.maximum(marks, came, out=marks)
            np.maximum(offers, line, out=line)


def scaled(question: Question, prices: npt.NDArray[np.float64]) -> tuple[Whole, float]:
    """Prices of the widths as whole numbers, as fine as the table allows, and the scale."""
    density = float(np.max(prices / np.maximum(question.taken, 1), initial=0.0))
    slack = max((width.width - width.first for width in question.widths), default=0)
    most = density * (question.longest + slack) + 1e-9
    scale = GREATEST / most
    return np.floor(np.maximum(prices, 0.0) * scale).astype(np.int64), scale
