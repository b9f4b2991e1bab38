"""The search for the cheapest plan, step by step, each only as long as the plan is not proven best."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from railbook.cutting.bound import Bound
from railbook.cutting.clock import Clock
from railbook.cutting.filling import everything, kept, rounded
from railbook.cutting.finish import near_patterns
from railbook.cutting.first_fit import Use, by_hand, cost_of, exchanged
from railbook.cutting.generation import Mixture, generate
from railbook.cutting.master import Cut, Master, Shares, best_mix, loss
from railbook.cutting.whole import Question

ROUNDINGS = ((1.0, 1e-6), (0.7, 0.05), (0.45, 0.05), (1.0, 0.5))  # least share rounded up; weight of the width
GENERATION = 0.85  # of the time, at most, for the linear program
VERY_MANY, NEAR_ENOUGH = 200, 0.1  # kinds of width; what the bound may miss then, in cheapest boards
KNOWN_SECONDS, KNOWN_NODES, KNOWN_CUTS = 2.0, 2_000, 1_500
FINISH_NODES = 20_000
FINISH_SHARES = (0.1, 0.3, 1.0)


class Answer(NamedTuple):
    """The best plan that was found, and what is known about it.

    Attributes:
        use: cuts, and how many boards of each; some pieces may be cut too often.
        cost: of its boards [price units].
        bound: the whole-number proof of what no plan undercuts.
        by_hand: cost of first-fit-decreasing [price units].
        settled: whether the exact finish showed that no plan is cheaper.
        out_of_time: whether the search was stopped by the clock.
    """

    use: Use
    cost: int
    bound: Bound
    by_hand: int
    settled: bool = False
    out_of_time: bool = False

    @property
    def proven(self) -> bool:
        """Whether no plan is cheaper."""
        return self.settled or self.cost <= self.bound.cost


def search(question: Question, clock: Clock) -> Answer:
    """Find the cheapest plan, or the best until the clock runs out."""
    use = by_hand(question)
    first = cost = cost_of(question, use)
    master = Master(question)
    master.add([cut for cut, _ in use])
    tolerance = NEAR_ENOUGH * _cheapest(question) if len(question.widths) > VERY_MANY else 1e-6
    mixture = generate(master, clock.part(clock.left * GENERATION), target=cost, tolerance=tolerance)
    answer = Answer(use, cost, mixture.bound, by_hand=first)
    answer = _round_off(master, mixture, answer, clock)
    answer = answer if answer.proven or clock.over else _mix_known(master, answer, clock)
    answer = answer if answer.proven or clock.over else _finish(question, mixture.bound, answer, clock)
    return answer._replace(out_of_time=clock.over and not answer.proven)


def _cheapest(question: Question) -> int:
    """Price of the cheapest board on sale [price units]; 0 when none is."""
    return min((stock.price for stock in question.stocks if stock.on_hand is None), default=0)


def relaxed_bound(floor: Question, answer: Answer, clock: Clock) -> Answer:
    """The same answer with a bound from a question that costs no more than the true one."""
    master = Master(floor)
    bound = generate(master, clock, target=answer.cost).bound
    return answer._replace(bound=bound, settled=False)


def _improved(question: Question, answer: Answer, use: Use | None) -> Answer:
    """The better of two plans."""
    if use is None:
        return answer
    cost = cost_of(question, use)
    return answer._replace(use=use, cost=cost) if cost < answer.cost else answer


def _round_off(master: Master, mixture: Mixture, answer: Answer, clock: Clock) -> Answer:
    """Whole parts of the mixture, the rest filled board by board, in several ways."""
    for least, lean in ROUNDINGS:
        if answer.proven or (clock.over and answer.cost < answer.by_hand):
            break
        use = rounded(master, mixture.shares, least, lean, clock)
        answer = _improved(master.question, answer, use)
        master.add([cut for cut, _ in use])
    return answer


def _mix_known(master: Master, answer: Answer, clock: Clock) -> Answer:
    """The best whole mixture of the cuts that are known, whole parts kept when there are many boards."""
    question = master.question
    shares = master.solve()
    use: Use = ()
    left = everything(question)
    if len(master.cuts) > KNOWN_CUTS or sum(number for _, number in answer.use) > 200:
        use, left = kept(master, np.maximum(shares.times - 1, 0.0), 2.0)
    cuts = _cheapest_cuts(master, shares, answer.cost - shares.cost)
    part = clock.part(KNOWN_SECONDS)
    mix = best_mix(question, cuts, left.counts, left.free, nodes=KNOWN_NODES, seconds=part.left)
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


def _finish(question: Question, bound: Bound, answer: Answer, clock: Clock) -> Answer:
    """The best mixture of all cuts that a cheaper plan can use; first of those that lose least."""
    for share in FINISH_SHARES:
        if answer.proven or clock.over:
            break
        answer = _finish_within(question, bound, answer, share, clock)
    return answer


def _finish_within(question: Question, bound: Bound, answer: Answer, share: float, clock: Clock) -> Answer:
    """One such mixture, of cuts that lose no more than a share of what there is to gain."""
    above = (answer.cost - 1) * bound.scale - bound.exact
    cuts = near_patterns(question, bound, int(above * share), clock)
    if cuts is None or clock.over:
        return answer
    whole = everything(question)
    nodes, seconds = (FINISH_NODES, clock.left) if share == 1 else (KNOWN_NODES, clock.part(KNOWN_SECONDS).left)
    below = answer.cost if share == 1 else None
    mix = best_mix(question, cuts, whole.counts, whole.free, nodes=nodes, seconds=seconds, below=below)
    better = _improved(question, answer, _with(question, (), cuts, mix.times))
    return better._replace(settled=mix.settled and share == 1)
