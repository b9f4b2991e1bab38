"""Whole mixtures of known patterns: the cheapest, how many boards one can have, the one of fewest patterns."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import highspy
import numpy as np

from railbook.cutting.effort import Effort
from railbook.cutting.first_fit import Use
from railbook.cutting.master import (
    NO_STOCK,
    Cut,
    Numbers,
    add_columns,
    add_rows,
    limits,
    prices_of,
    silent,
    simplex_work,
)
from railbook.cutting.whole import Question

WAYS, WAYS_NODES = 4, 10  # figures of the column that says whether a cut is used; nodes, at most, to choose them
START, FIGURE, PAIR = 1e-3, 12e-6, 1e-9  # work to begin; for each figure; for each two of them [s]
STEP = 80e-6  # work for a step of the simplex [s]
STEPS, STEPS_LOOKING = 0.7, 3.7  # for each figure at the start; the same where the solver looks for mixtures by itself
STEPS_TO_GOAL = 0.1  # the same where it only has to settle whether there is a mixture at all
NODE, ROW = 2e-6, 0.1e-6  # work for each figure at a node; there for each row [s]
SMALL = 200  # figures
LOOKING = ("rins", "rens", "root_reduced_cost")  # smaller programs that the solver makes of one to look for mixtures


class Mix(NamedTuple):
    """What the whole program says.

    Attributes:
        times: how often each cut is used; None when no better mixture was found.
        settled: whether it is the best one, or none better exists.
    """

    times: tuple[int, ...] | None
    settled: bool


class Goal(NamedTuple):
    """A mixture that is looked for.

    Attributes:
        most: what it costs at most [price units].
        boards: how many boards it has; None for any number.
    """

    most: int
    boards: int | None = None


def best_mix(
    question: Question,
    cuts: Sequence[Cut],
    counts: Sequence[int],
    free: Sequence[int | None],
    *,
    effort: Effort,
    goal: Goal | None = None,
) -> Mix:
    """The cheapest whole mixture of some cuts that covers the counts.

    Args:
        question: widths and boards.
        cuts: the ways to cut that may be used.
        counts: how many of each width are still needed.
        free: how many of each board are left; None for no limit.
        effort: what may be spent on it; it goes by the nodes of the search.
        goal: what to look for, if proving that there is no such mixture matters more than finding one.
    """
    figures = sum(len(cut.pattern) for cut in cuts)
    nodes = _nodes(figures, len(counts), effort, STEPS_TO_GOAL if goal else STEPS)
    if nodes < 1 or not cuts:
        return Mix(None, settled=not cuts)
    weights = prices_of(question, cuts)
    solver = _program(question, cuts, counts, free)
    if goal:
        first, step = question.price_step if goal.boards is not None else (0, 1)
        weights = np.rint((weights - first) / step)
        solver.setOptionValue("objective_bound", (goal.most - first * (goal.boards or 0)) // step + 0.5)
        solver.setOptionValue("mip_heuristic_effort", 0.0)
    if goal and goal.boards is not None:
        _add_row(solver, goal.boards, goal.boards, np.ones(len(cuts)))
    everything = np.arange(len(cuts), dtype=np.int32)
    solver.changeColsCost(len(cuts), everything, weights)
    _all_whole(solver, len(cuts))
    _limit(solver, nodes, figures, effort)
    solver.run()
    effort.spend(_work(solver, figures))
    return _mix(solver)


def numbers_of_boards(question: Question, cuts: Sequence[Cut], most: int, effort: Effort) -> range | None:
    """How many boards a mixture of some cuts has that costs no more than `most`; None where the solver cannot tell."""
    free = [stock.on_hand for stock in question.stocks]
    solver = _program(question, cuts, question.counts, free)
    _add_row(solver, -highspy.kHighsInf, most, prices_of(question, cuts))
    ends = []
    for sign in (1.0, -1.0):
        solver.changeColsCost(len(cuts), np.arange(len(cuts), dtype=np.int32), np.full(len(cuts), sign))
        solver.run()
        effort.spend(simplex_work(solver, len(cuts)))
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return range(0) if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible else None
        ends.append(sign * solver.getObjectiveValue())
    return range(math.ceil(ends[0] - 1e-6), math.floor(ends[1] + 1e-6) + 1)


def _program(
    question: Question, cuts: Sequence[Cut], counts: Sequence[int], free: Sequence[int | None]
) -> highspy.Highs:
    """The rows and columns of a mixture of some cuts."""
    solver = silent()
    rows = [(float(count), highspy.kHighsInf) for count in counts]
    rows += [(0.0, float(free[place] or 0)) for place, _ in limits(question)]
    add_rows(solver, rows)
    most = np.array([_most(cut, counts) for cut in cuts], dtype=np.float64)
    add_columns(solver, question, cuts, prices_of(question, cuts), most)
    return solver


def _add_row(solver: highspy.Highs, low: float, high: float, figures: Numbers) -> None:
    """A row with a figure for every column."""
    solver.addRow(low, high, len(figures), np.arange(len(figures), dtype=np.int32), figures)


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


def _most(cut: Cut, counts: Sequence[int]) -> int:
    """More boards than this cannot be needed."""
    return max((-(-counts[kind] // copies) for kind, copies in cut.pattern), default=0)


def fewest_cuts(question: Question, use: Use, cuts: Sequence[Cut], effort: Effort) -> Use:
    """The same pieces from boards that cost no more and are no longer, cut in as few different ways as were found.

    Args:
        question: widths and boards.
        use: a plan that cuts no piece too often.
        cuts: other ways to cut that may be used.
        effort: what may be spent on it.
    """
    plan: dict[Cut, int] = {}
    for cut, number in use:
        plan[cut] = plan.get(cut, 0) + number
    counts = _pieces_of(question, plan)
    known = [*plan, *(cut for cut in dict.fromkeys(cuts) if cut not in plan and _fits(cut, counts))]
    figures = sum(len(cut.pattern) + WAYS for cut in known)
    nodes = min(WAYS_NODES, _nodes(figures, 2 * len(counts), effort, STEPS))
    if nodes < 1:
        return use
    solver = _ways_program(question, known, counts, [plan.get(cut, 0) for cut in known])
    _limit(solver, nodes, figures, effort)
    solver.run()
    effort.spend(_work(solver, figures))
    times = _mix(solver).times
    return use if times is None else tuple((cut, number) for cut, number in zip(known, times, strict=False) if number)


def _pieces_of(question: Question, plan: Mapping[Cut, int]) -> list[int]:
    """How many pieces of each kind a plan cuts."""
    counts = [0] * len(question.counts)
    for cut, number in plan.items():
        for kind, copies in cut.pattern:
            counts[kind] += copies * number
    return counts


def _fits(cut: Cut, counts: Sequence[int]) -> int:
    """How many such boards there can be without a piece too many."""
    return min(counts[kind] // copies for kind, copies in cut.pattern)


def _ways_program(question: Question, cuts: Sequence[Cut], counts: Sequence[int], plan: Sequence[int]) -> highspy.Highs:
    """Two columns for each cut: how often it is used, and whether it is; the plan to start from.

    One inch or millimetre of board counts for more than all ways to cut: least waste first.
    """
    solver, number = silent(), len(cuts)
    rows = [(float(count), float(count)) for count in counts]
    add_rows(solver, rows + [(0.0, float(there)) for _, there in limits(question)])
    most = np.array([_fits(cut, counts) for cut in cuts], dtype=np.float64)
    add_columns(solver, question, cuts, np.zeros(number), most)
    nowhere = np.zeros(number, dtype=np.int32)
    solver.addCols(number, np.ones(number), np.zeros(number), np.ones(number), 0, nowhere, nowhere[:0], np.zeros(0))
    for at in range(number):
        solver.addRow(
            -highspy.kHighsInf, 0.0, 2, np.array([at, number + at], dtype=np.int32), np.array([1.0, -most[at]])
        )
    lengths = np.array([0.0 if cut.stock == NO_STOCK else question.stocks[cut.stock].length for cut in cuts])
    solver.changeColsCost(number, np.arange(number, dtype=np.int32), lengths * (number + 1))
    for figures in (prices_of(question, cuts), lengths):
        _add_row(solver, -highspy.kHighsInf, float(figures @ np.array(plan)) + 1e-6, figures)
    _all_whole(solver, 2 * number)
    start = highspy.HighsSolution()
    start.col_value = [float(times) for times in plan] + [float(times > 0) for times in plan]
    solver.setSolution(start)
    return solver


def _root(figures: int, steps: float) -> float:
    """What the start of a whole program takes, with so many steps of the simplex for each figure [s]."""
    return START + (FIGURE + STEP * steps + PAIR * figures) * figures


def _nodes(figures: int, rows: int, effort: Effort, steps: float) -> int:
    """How many nodes what is left is enough for, after so many steps of the simplex for each figure."""
    return int((effort.left - _root(figures, steps)) / (NODE + ROW * rows) / max(1, figures))


def _work(solver: highspy.Highs, figures: int) -> float:
    """What a whole program took [s]."""
    return _root(figures, 0.0) + STEP * float(solver.getInfo().simplex_iteration_count)


def _limit(solver: highspy.Highs, nodes: int, figures: int, effort: Effort) -> None:
    """Stop at the best of all, after so many nodes, or when the clock has run out.

    The solver's own time limit goes by the clock on the wall, so it would stop earlier on a busy machine. What it
    does at the start to look for mixtures takes long, so it is left out unless there is work enough for it.
    """
    if figures > SMALL and effort.left < _root(figures, STEPS_LOOKING):
        solver.setOptionValue("mip_heuristic_effort", 0.0)
        for way in LOOKING:
            solver.setOptionValue(f"mip_heuristic_run_{way}", "false")

    def look_at_the_clock(event: "highspy.HighsCallbackEvent") -> None:
        if event.data_in is not None:
            event.data_in.user_interrupt = effort.out_of_time

    solver.cbMipInterrupt.subscribe(look_at_the_clock)
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.999)


def _all_whole(solver: highspy.Highs, number: int) -> None:
    """All columns are whole numbers."""
    everything = np.arange(number, dtype=np.int32)
    solver.changeColsIntegrality(number, everything, np.full(number, highspy.HighsVarType.kInteger))
