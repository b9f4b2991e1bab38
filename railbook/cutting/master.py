"""The linear program that mixes known patterns, and how questions are put to the solver."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import highspy
import numpy as np
import numpy.typing as npt

from railbook.cutting.knapsack import Pattern
from railbook.cutting.whole import Question

Numbers = npt.NDArray[np.float64]

NO_STOCK = -1  # a piece for which boards do not suffice
ITERATION, COLUMN = 18e-6, 7e-9  # work for a step of the simplex; for each known cut in it [s]
PRIMAL = 4  # the simplex that goes on from an answer to which columns were added: a quarter of the time (measured)


class Cut(NamedTuple):
    """One way to cut one board.

    Attributes:
        stock: which board; NO_STOCK for a piece that gets none.
        pattern: what is cut from it.
    """

    stock: int
    pattern: Pattern


class Shares(NamedTuple):
    """What the linear program says.

    Attributes:
        cost: of the mixture, in price units.
        times: how often each known cut is used, in parts.
        prices: what one more piece of each width would cost.
        savings: what one more of each board in limited number would save; 0 for the others.
        losses: what a board of each known cut costs more than its pieces are worth at those prices.
        work: what finding it took [s].
    """

    cost: float
    times: Numbers
    prices: Numbers
    savings: Numbers
    losses: Numbers
    work: float


class _Silent(highspy.Highs):
    """A solver that does not even print its name, which it does when its callbacks are switched on."""

    def enableCallbacks(self) -> None:  # noqa: N802 (the library's name)
        """Switch callbacks on after output is off."""
        self.setOptionValue("output_flag", "false")
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def silent() -> highspy.Highs:
    """A solver that prints nothing, uses one thread and starts from one seed."""
    solver = _Silent()  # type: ignore[no-untyped-call]
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    return solver


def price_of(question: Question, cut: Cut) -> int:
    """Price of the board [price units].

    >>> from railbook.cutting.pieces import Board, Piece, Saw
    >>> from railbook.cutting.grains import in_whole
    >>> question = in_whole([Piece("A", 36.0)], [Board("8 ft", 96.0, 6.0)], Saw(kerf=1 / 8)).question
    >>> price_of(question, Cut(0, ((0, 2),))) * question.price_unit
    6.0
    """
    return question.missing_price if cut.stock == NO_STOCK else question.stocks[cut.stock].price


def loss(question: Question, cut: Cut, shares: Shares) -> float:
    """What a board costs more than its pieces are worth at the prices of a mixture [price units]."""
    worth = sum(shares.prices[kind] * copies for kind, copies in cut.pattern)
    saving = 0.0 if cut.stock == NO_STOCK else shares.savings[cut.stock]
    return float(price_of(question, cut) + saving - worth)


@dataclass
class Master:
    """The linear program, which remembers its last answer when cuts are added.

    Attributes:
        question: widths to cover and boards in limited number.
        cuts: the known ones, in the order they were added.
    """

    question: Question
    cuts: list[Cut] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._known: set[Cut] = set()
        self._solver = silent()
        self._solver.setOptionValue("simplex_strategy", PRIMAL)
        rows = [(float(count), highspy.kHighsInf) for count in self.question.counts]
        rows += [(0.0, float(number)) for _, number in limits(self.question)]
        add_rows(self._solver, rows)
        self.add(lone_cuts(self.question))

    def add(self, cuts: Sequence[Cut]) -> int:
        """Add the cuts that are not known yet, and say how many they were."""
        new = [cut for cut in dict.fromkeys(cuts) if cut not in self._known]
        if new:
            self._known.update(new)
            self.cuts += new
            prices = prices_of(self.question, new)
            add_columns(self._solver, self.question, new, prices, np.full(len(new), highspy.kHighsInf))
        return len(new)

    def solve(self) -> Shares:
        """The cheapest mixture of the known cuts, in parts."""
        self._solver.run()
        answer = self._solver.getSolution()
        duals, kinds = np.array(answer.row_dual), len(self.question.counts)
        savings = np.zeros(len(self.question.stocks))
        for row, (place, _) in enumerate(limits(self.question)):
            savings[place] = max(0.0, -duals[kinds + row])
        times = np.maximum(np.array(answer.col_value), 0.0)
        work = simplex_work(self._solver, len(self.cuts))
        prices, losses = np.maximum(duals[:kinds], 0.0), np.array(answer.col_dual)
        return Shares(self._solver.getObjectiveValue(), times, prices, savings, losses, work)


def lone_cuts(question: Question) -> list[Cut]:
    """Single pieces that may get no board, or one that holds them though not in whole grains."""
    missing = [Cut(NO_STOCK, ((kind, 1),)) for kind, may in enumerate(question.may_miss) if may]
    return missing + [Cut(at, ((kind, 1),)) for at, stock in enumerate(question.stocks) for kind in stock.alone]


def limits(question: Question) -> list[tuple[int, int]]:
    """The boards in limited number, and how many there are."""
    return [(place, stock.on_hand) for place, stock in enumerate(question.stocks) if stock.on_hand is not None]


def simplex_work(solver: highspy.Highs, cuts: int) -> float:
    """What the last linear program took [s]."""
    return float(solver.getInfo().simplex_iteration_count * (ITERATION + COLUMN * cuts))


def add_rows(solver: highspy.Highs, rows: Sequence[tuple[float, float]]) -> None:
    """Rows without figures so far, by what they come to at least and at most."""
    for low, high in rows:
        solver.addRow(low, high, 0, np.array([], dtype=np.int32), np.array([]))


def add_columns(
    solver: highspy.Highs, question: Question, cuts: Sequence[Cut], weights: Numbers, most: Numbers
) -> None:
    """A column for each cut, with its weight in the sum to be minimised and the most that it may be used."""
    starts, places, figures = _columns(question, cuts)
    solver.addCols(len(cuts), weights, np.zeros(len(cuts)), most, len(places), starts, places, figures)


def _columns(question: Question, cuts: Sequence[Cut]) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int32], Numbers]:
    """Cuts as columns: where each starts, its rows, its figures."""
    row_of = {place: len(question.counts) + row for row, (place, _) in enumerate(limits(question))}
    starts: list[int] = []
    places: list[int] = []
    figures: list[int] = []
    for cut in cuts:
        starts.append(len(places))
        places += [kind for kind, _ in cut.pattern]
        figures += [copies for _, copies in cut.pattern]
        if cut.stock in row_of:
            places.append(row_of[cut.stock])
            figures.append(1)
    return (
        np.array(starts, dtype=np.int32),
        np.array(places, dtype=np.int32),
        np.array(figures, dtype=np.float64),
    )


def prices_of(question: Question, cuts: Sequence[Cut]) -> Numbers:
    """Prices of the boards of some cuts [price units]."""
    return np.array([price_of(question, cut) for cut in cuts], dtype=np.float64)
