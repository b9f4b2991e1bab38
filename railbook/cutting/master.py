"""The programs that choose among known patterns, linear and whole: the only file that knows the solver."""

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
    """

    cost: float
    times: Numbers
    prices: Numbers
    savings: Numbers


class Mix(NamedTuple):
    """What the whole program says.

    Attributes:
        times: how often each cut is used; None when no better mixture was found.
        settled: whether it is the best one, or none better exists.
    """

    times: tuple[int, ...] | None
    settled: bool


def price_of(question: Question, cut: Cut) -> int:
    """Price of the board [price units].

    >>> from railbook.cutting.pieces import Board, Piece, Saw
    >>> from railbook.cutting.whole import in_whole
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
        self._solver = _silent()
        self._solver.setOptionValue("simplex_strategy", PRIMAL)
        rows = [(float(count), highspy.kHighsInf) for count in self.question.counts]
        rows += [(0.0, float(number)) for _, number in limits(self.question)]
        _add_rows(self._solver, rows)
        self.add([Cut(NO_STOCK, ((kind, 1),)) for kind, may in enumerate(self.question.may_miss) if may])

    def add(self, cuts: Sequence[Cut]) -> int:
        """Add the cuts that are not known yet, and say how many they were."""
        new = [cut for cut in dict.fromkeys(cuts) if cut not in self._known]
        if new:
            self._known.update(new)
            self.cuts += new
            prices = _prices(self.question, new)
            _add_columns(self._solver, self.question, new, prices, np.full(len(new), highspy.kHighsInf))
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
        return Shares(self._solver.getObjectiveValue(), times, np.maximum(duals[:kinds], 0.0), savings)


def limits(question: Question) -> list[tuple[int, int]]:
    """The boards in limited number, and how many there are."""
    return [(place, stock.on_hand) for place, stock in enumerate(question.stocks) if stock.on_hand is not None]


def best_mix(
    question: Question,
    cuts: Sequence[Cut],
    counts: Sequence[int],
    free: Sequence[int | None],
    *,
    nodes: int,
    seconds: float,
    below: int | None = None,
) -> Mix:
    """The cheapest whole mixture of some cuts that covers the counts.

    Args:
        question: widths and boards.
        cuts: the ways to cut that may be used.
        counts: how many of each width are still needed.
        free: how many of each board are left; None for no limit.
        nodes: where the search stops, so that the same question gets the same answer.
        seconds: where it stops at the latest.
        below: the price of a known plan, if proving that none is cheaper matters more than finding one. (A row
            that asks for less would make the search many times slower, measured.)
    """
    solver = _silent()
    rows = [(float(count), highspy.kHighsInf) for count in counts]
    rows += [(0.0, float(free[place] or 0)) for place, _ in limits(question)]
    _add_rows(solver, rows)
    most = np.array([_most(cut, counts) for cut in cuts], dtype=np.float64)
    _add_columns(solver, question, cuts, _prices(question, cuts), most)
    everything = np.arange(len(cuts), dtype=np.int32)
    solver.changeColsIntegrality(len(cuts), everything, np.full(len(cuts), highspy.HighsVarType.kInteger))
    solver.setOptionValue("time_limit", max(seconds, 0.01))
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.999)
    if below is not None:
        solver.setOptionValue("objective_bound", below - 0.5)
        solver.setOptionValue("mip_heuristic_effort", 0.0)
    solver.run()
    return _mix(solver)


def _add_rows(solver: highspy.Highs, rows: Sequence[tuple[float, float]]) -> None:
    for low, high in rows:
        solver.addRow(low, high, 0, np.array([], dtype=np.int32), np.array([]))


def _add_columns(
    solver: highspy.Highs, question: Question, cuts: Sequence[Cut], weights: Numbers, most: Numbers
) -> None:
    starts, places, figures = _columns(question, cuts)
    solver.addCols(len(cuts), weights, np.zeros(len(cuts)), most, len(places), starts, places, figures)


def _mix(solver: highspy.Highs) -> Mix:
    status = solver.getModelStatus()
    settled = status in {
        highspy.HighsModelStatus.kOptimal,
        highspy.HighsModelStatus.kInfeasible,
        highspy.HighsModelStatus.kObjectiveBound,
    }
    if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Mix(None, settled)
    times = np.rint(np.array(solver.getSolution().col_value)).astype(np.int64)
    return Mix(tuple(times.tolist()), settled)


class _Silent(highspy.Highs):
    """A solver that does not even print its name, which it does when its callbacks are switched on."""

    def enableCallbacks(self) -> None:  # noqa: N802 (the library's name)
        """Switch callbacks on after output is off."""
        self.setOptionValue("output_flag", "false")
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def _silent() -> highspy.Highs:
    """A solver that prints nothing, uses one thread and starts from one seed."""
    solver = _Silent()  # type: ignore[no-untyped-call]
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    return solver


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


def _prices(question: Question, cuts: Sequence[Cut]) -> Numbers:
    return np.array([price_of(question, cut) for cut in cuts], dtype=np.float64)


def _most(cut: Cut, counts: Sequence[int]) -> int:
    """More boards than this cannot be needed."""
    return max((-(-counts[kind] // copies) for kind, copies in cut.pattern), default=0)
