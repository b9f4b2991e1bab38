"""The search for the cheapest plan, step by step, each only as long as the plan is not proven best."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from railbook.cutting.bound import Bound, lost_by, no_bound
from railbook.cutting.effort import Effort
from railbook.cutting.filling import everything, kept, rounded
from railbook.cutting.finish import near_patterns
from railbook.cutting.first_fit import Use, by_hand, cost_of, exchanged
from railbook.cutting.generation import Mixture, generate
from railbook.cutting.layout import trimmed
from railbook.cutting.master import Cut, Master, Shares, loss
from railbook.cutting.mixing import Goal, best_mix, fewest_cuts, numbers_of_boards
from railbook.cutting.whole import Question, Whole

ROUNDINGS = ((1.0, 1e-6), (0.7, 0.05), (0.45, 0.05), (1.0, 0.5))  # least share rounded up; weight of the width
COST, GENERATION = 0.95, 0.85  # of the work, at most, for the cost; of that for the linear program
VERY_MANY, NEAR_ENOUGH = 200, 0.1  # kinds of width; what the bound may miss then, in cheapest boards
KNOWN_SECONDS, KNOWN_CUTS = 1.0, 1_500
FEWEST_CUTS = 100
BY_HAND = 150e-6  # work for one board begun first-fit-decreasing [s]
FINISH_SHARES = (1.0, 0.3, 0.1)  # of what there is to gain: what a cut may lose


class Answer(NamedTuple):
    """The best plan that was found, and what is known about it.

    Attributes:
        use: cuts, and how many boards of each; some pieces may be cut too often.
        cost: of its boards [price units].
        bound: the whole-number proof of what no plan undercuts.
        by_hand: cost of first-fit-decreasing [price units].
        settled: whether the exact finish showed that no plan is cheaper.
    """

    use: Use
    cost: int
    bound: Bound
    by_hand: int
    settled: bool = False

    @property
    def proven(self) -> bool:
        """Whether no plan is cheaper."""
        return self.settled or self.cost <= self.bound.cost


def search(question: Question, effort: Effort) -> Answer:
    """Find the cheapest plan, or the best that so much work finds; among equal ones, one of few patterns."""
    use = by_hand(question)
    effort.spend(BY_HAND * len(use) * len(question.stocks))
    master = Master(question)
    master.add([cut for cut, _ in use])
    cost = cost_of(question, use)
    answer = _cheapest_plan(
        master, Answer(use, cost, no_bound(question), by_hand=cost), effort.part(COST * effort.left)
    )
    return _with_fewest_cuts(master, answer, effort.part((1 - COST) * effort.most))


def _cheapest_plan(master: Master, answer: Answer, effort: Effort) -> Answer:
    """From the linear mixture to whole boards, and to the proof."""
    question = master.question
    tolerance = NEAR_ENOUGH * _cheapest(question) if len(question.widths) > VERY_MANY else 1e-6
    mixture = generate(master, effort.part(GENERATION * effort.left), target=answer.cost, tolerance=tolerance)
    answer = _round_off(master, mixture, answer._replace(bound=mixture.bound), effort)
    answer = answer if answer.proven or effort.over else _mix_known(master, answer, effort)
    return answer if answer.proven or effort.over else _finish(question, mixture.bound, answer, effort)


def _with_fewest_cuts(master: Master, answer: Answer, effort: Effort) -> Answer:
    """The same answer without pieces too many, and cut in fewer ways, or for less, where known cuts allow it."""
    question = master.question
    answer = _improved(question, answer, exchanged(question, trimmed(question, answer.use)), or_equal=True)
    shares = master.solve()
    cuts = _cheapest_cuts(master, shares, answer.cost - shares.cost)[:FEWEST_CUTS]
    return _improved(question, answer, fewest_cuts(question, answer.use, cuts, effort), or_equal=True)


def _cheapest(question: Question) -> int:
    """Price of the cheapest board on sale [price units]; 0 when none is."""
    return min((stock.price for stock in question.stocks if stock.on_hand is None), default=0)


def relaxed_bound(floor: Question, answer: Answer, effort: Effort) -> Answer:
    """The same answer with a bound from a question that costs no more than the true one."""
    least = search(floor, effort)
    return answer._replace(bound=least.bound, settled=least.proven and answer.cost <= least.cost)


def _improved(question: Question, answer: Answer, use: Use | None, *, or_equal: bool = False) -> Answer:
    """The better of two plans."""
    if use is None:
        return answer
    cost = cost_of(question, use)
    return answer._replace(use=use, cost=cost) if cost < answer.cost + or_equal else answer


def _round_off(master: Master, mixture: Mixture, answer: Answer, effort: Effort) -> Answer:
    """Whole parts of the mixture, the rest filled board by board, in several ways."""
    for least, lean in ROUNDINGS:
        if answer.proven or (effort.over and answer.cost < answer.by_hand):
            break
        use = rounded(master, mixture.shares, least, lean, effort)
        answer = _improved(master.question, answer, use)
        master.add([cut for cut, _ in use])
    return answer


def _mix_known(master: Master, answer: Answer, effort: Effort) -> Answer:
    """The best whole mixture of the cuts that are known, whole parts kept when there are many boards."""
    question = master.question
    shares = master.solve()
    effort.spend(shares.work)
    use: Use = ()
    left = everything(question)
    if len(master.cuts) > KNOWN_CUTS or sum(number for _, number in answer.use) > 200:
        use, left = kept(master, np.maximum(shares.times - 1, 0.0), 2.0)
    cuts = _cheapest_cuts(master, shares, answer.cost - shares.cost)
    mix = best_mix(question, cuts, left.counts, left.free, effort=effort.part(KNOWN_SECONDS))
    return _improved(question, answer, _with(question, use, cuts, mix.times))


def _cheapest_cuts(master: Master, shares: Shares, most: float) -> list[Cut]:
    """The known cuts that lose least against the prices of their pieces, none more than `most`."""
    losses = np.array([loss(master.question, cut, shares) for cut in master.cuts])
    order = np.argsort(losses, kind="stable")[:KNOWN_CUTS]
    return [master.cuts[at] for at in order.tolist() if losses[at] <= most + 1e-6]


def _with(question: Question, use: Use, cuts: Sequence[Cut], times: Sequence[int] | None) -> Use | None:
    """The cuts that were kept and those of a mixture."""
    if times is None:
        return None
    return exchanged(question, (*use, *((cut, number) for cut, number in zip(cuts, times, strict=True) if number)))


def _finish(question: Question, bound: Bound, answer: Answer, effort: Effort) -> Answer:
    """The best mixture of all cuts that a cheaper plan can use; if they are too many, of those that lose least."""
    above = (answer.cost - 1) * bound.scale - bound.exact
    for share in FINISH_SHARES:
        cuts = near_patterns(question, bound, int(above * share), effort)
        if cuts is not None:
            return _settled(question, bound, cuts, answer, effort, complete=share == 1)
    return answer


def _settled(
    question: Question, bound: Bound, cuts: Sequence[Cut], answer: Answer, effort: Effort, *, complete: bool
) -> Answer:
    """Look for a cheaper mixture for every number of boards by itself: of most costs, few numbers come to them.

    A number that takes long waits until the others are done.
    """
    near = _Near(bound, cuts, np.array([lost_by(question, cut, bound) for cut in cuts]))
    waiting = _numbers(question, cuts, answer.cost - 1, effort)
    for share in (0.5, 1.0) if complete else (0.5,):
        answer, waiting = _looked_at(question, near, waiting, answer, effort, share)
    return answer._replace(settled=complete and not waiting)


class _Near(NamedTuple):
    """Cuts that a cheaper plan can use, and what each loses against the bound's prices."""

    bound: Bound
    cuts: Sequence[Cut]
    losses: Whole


def _looked_at(
    question: Question, near: _Near, numbers: Sequence[int | None], answer: Answer, effort: Effort, share: float
) -> tuple[Answer, Sequence[int | None]]:
    """The best mixture of some numbers of boards, and the numbers that a share of what is left did not settle."""
    waiting = []
    for boards in numbers:
        goal = _goal(question, answer.cost - 1, boards)
        if goal.most < near.bound.cost:
            continue
        some = np.flatnonzero(near.losses <= goal.most * near.bound.scale - near.bound.exact)
        cuts, part = [near.cuts[at] for at in some.tolist()], effort.part(effort.left * share)
        mix = best_mix(question, cuts, question.counts, everything(question).free, effort=part, goal=goal)
        answer = _improved(question, answer, _with(question, (), cuts, mix.times))
        waiting += [] if mix.settled else [boards]
    return answer, waiting


def _numbers(question: Question, cuts: Sequence[Cut], most: int, effort: Effort) -> Sequence[int | None]:
    """The numbers of boards to look at; None for all of them together where their prices tell nothing."""
    numbers = numbers_of_boards(question, cuts, most, effort) if question.price_step[1] > 1 else None
    return (None,) if numbers is None else numbers


def _goal(question: Question, most: int, boards: int | None) -> Goal:
    """The greatest cost, no more than `most`, that so many boards can have."""
    if boards is None:
        return Goal(most)
    first, step = question.price_step
    return Goal(most - (most - first * boards) % step, boards)
