"""The search for the cheapest plan, step by step, each only as long as the plan is not proven best."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from railbook.cutting.bound import Bound, lost_by, no_bound
from railbook.cutting.effort import Effort
from railbook.cutting.filling import everything, kept, rounded
from railbook.cutting.finish import TooManyError, near_patterns
from railbook.cutting.first_fit import Use, by_hand, cost_of, exchanged
from railbook.cutting.generation import Generation
from railbook.cutting.layout import trimmed
from railbook.cutting.master import Cut, Master, Shares, loss
from railbook.cutting.mixing import Goal, best_mix, fewest_cuts, numbers_of_boards
from railbook.cutting.whole import Question, Whole

ROUNDINGS = ((1.0, 1e-6), (0.7, 0.05), (0.45, 0.05), (1.0, 0.5))  # least share rounded up; weight of the width
COST, GENERATION = 0.9, 0.85  # of the work, at most, for the cost; of that for the linear program
VERY_MANY, NEAR_ENOUGH = 200, 0.1  # kinds of width; what the bound may miss at first then, in cheapest boards
TIGHT = 1e-6  # what it may miss in the end [price units]
KNOWN_CUTS = 1_500
FEWEST_CUTS = 100
BY_HAND = 50e-6  # work for one board begun first-fit-decreasing [s]
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

    @property
    def least(self) -> int:
        """What no plan undercuts [price units]."""
        return self.cost if self.settled else self.bound.cost


class Search:
    """The search for the cheapest plan of a question; it goes on where it stopped, and what is known only gets better.

    Attributes:
        question: widths and boards.
        answer: the best plan so far, at first that of first-fit-decreasing, and what is known about it.
        begun: what finding that took [s].
    """

    def __init__(self, question: Question) -> None:
        use = by_hand(question)
        cost = cost_of(question, use)
        self.question = question
        self.answer = Answer(use, cost, no_bound(question), by_hand=cost)
        self.begun = BY_HAND * len(use) * len(question.stocks)
        self._master = Master(question)
        self._master.add([cut for cut, _ in use])
        self._generation = Generation(self._master)
        very_many = len(question.widths) > VERY_MANY
        self._tolerances = [NEAR_ENOUGH * _cheapest(question), TIGHT] if very_many else [TIGHT]
        self._rounded = self._mixed = False  # whether that was done with the best mixture
        self._too_many = np.inf  # what cuts may lose that are too many to be listed [price units]

    def go_on(self, effort: Effort) -> None:
        """Look for a cheaper plan and for a better bound; among equal plans, for one of few patterns."""
        part = effort.part(COST * effort.left)
        if not self._rounded or len(self._tolerances) > 1:
            self._mix_in_parts(part.part(GENERATION * part.left))
        steps = (self._mix_known, self._finish) if self._rounded else (self._round_off, self._mix_known, self._finish)
        for step in steps:
            if not (self.answer.proven or part.over):
                step(part)
        self.answer = _with_fewest_cuts(self._master, self.answer, effort)

    def _mix_in_parts(self, effort: Effort) -> None:
        """Take the linear program further."""
        if self._rounded:
            del self._tolerances[0]
            self._rounded = self._mixed = False
        self._mixture = self._generation.go_on(effort, target=self.answer.cost, tolerance=self._tolerances[0])
        if self._mixture.bound.ahead_of(self.answer.bound):
            self.answer = self.answer._replace(bound=self._mixture.bound)

    def _round_off(self, effort: Effort) -> None:
        """Whole parts of the mixture, the rest filled board by board, in several ways."""
        for least, lean in ROUNDINGS:
            if self.answer.proven or effort.over:
                break
            use = rounded(self._master, self._mixture.shares, least, lean, effort)
            self.answer = _improved(self.question, self.answer, use)
            self._master.add([cut for cut, _ in use])
        else:
            self._rounded = self._mixture.settled

    def _mix_known(self, effort: Effort) -> None:
        """The best whole mixture of the cuts that are known, whole parts kept when there are many boards."""
        if self._mixed or not self._rounded:
            return
        shares = self._master.solve()
        effort.spend(shares.work)
        use: Use = ()
        left = everything(self.question)
        if len(self._master.cuts) > KNOWN_CUTS or sum(number for _, number in self.answer.use) > 200:
            use, left = kept(self._master, np.maximum(shares.times - 1, 0.0), 2.0)
        cuts = _cheapest_cuts(self._master, shares, self.answer.cost - shares.cost)
        mix = best_mix(self.question, cuts, left.counts, left.free, effort=effort.part(effort.left / 2))
        self.answer = _improved(self.question, self.answer, _with(self.question, use, cuts, mix.times))
        self._mixed = mix.settled

    def _finish(self, effort: Effort) -> None:
        """The best mixture of all cuts that a cheaper plan can use; if they are too many, of those that lose least."""
        if not self._rounded:
            return
        bound = self.answer.bound
        above = (self.answer.cost - 1) * bound.scale - bound.exact
        for share in FINISH_SHARES:
            lost = int(above * share)
            if lost >= self._too_many * bound.scale:
                continue
            try:
                cuts = near_patterns(self.question, bound, lost, effort)
            except TooManyError as found:
                self._too_many = lost / bound.scale if found.ever else self._too_many
            else:
                self.answer = _settled(self.question, bound, cuts, self.answer, effort, complete=share == 1)
                break


def _with_fewest_cuts(master: Master, answer: Answer, effort: Effort) -> Answer:
    """The same answer without pieces too many, and cut in fewer ways, or for less, where known cuts allow it."""
    question = master.question
    answer = _improved(question, answer, exchanged(question, trimmed(question, answer.use)), or_equal=True)
    if len(question.widths) > VERY_MANY:
        return answer
    shares = master.solve()
    cuts = _cheapest_cuts(master, shares, answer.cost - shares.cost)[:FEWEST_CUTS]
    return _improved(question, answer, fewest_cuts(question, answer.use, cuts, effort), or_equal=True)


def _cheapest(question: Question) -> int:
    """Price of the cheapest board on sale [price units]; 0 when none is."""
    return min((stock.price for stock in question.stocks if stock.on_hand is None), default=0)


def _improved(question: Question, answer: Answer, use: Use | None, *, or_equal: bool = False) -> Answer:
    """The better of two plans."""
    if use is None:
        return answer
    cost = cost_of(question, use)
    return answer._replace(use=use, cost=cost) if cost < answer.cost + or_equal else answer


def _cheapest_cuts(master: Master, shares: Shares, most: float) -> list[Cut]:
    """The known cuts that lose least against the prices of their pieces, none more than `most`."""
    order = np.argsort(shares.losses, kind="stable")[:KNOWN_CUTS]
    cuts = [master.cuts[at] for at in sorted(order.tolist()) if shares.losses[at] <= most + 1e-6]
    return sorted(cuts, key=lambda cut: loss(master.question, cut, shares))


def _with(question: Question, use: Use, cuts: Sequence[Cut], times: Sequence[int] | None) -> Use | None:
    """The cuts that were kept and those of a mixture."""
    if times is None:
        return None
    return exchanged(question, (*use, *((cut, number) for cut, number in zip(cuts, times, strict=True) if number)))


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
