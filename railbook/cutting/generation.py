"""Column generation: the linear program asks for better patterns until there are none."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from railbook.cutting.bound import Bound, bound_of, no_bound
from railbook.cutting.coarse import coarsened
from railbook.cutting.effort import Effort
from railbook.cutting.knapsack import Table, fill, scaled
from railbook.cutting.master import Cut, Master, Numbers, Shares, loss
from railbook.cutting.merging import Merged, dealt, merged
from railbook.cutting.whole import Question

NEARLY = 0.98  # of its cost: what a new pattern must be worth
STEADY = 0.6  # how much the best prices so far count beside the newest when there are many kinds
MANY = 60  # kinds of width
MERGED = 240  # rooms of the longest board in the smaller question that one with many kinds starts from
COARSE = 3_000  # rooms of the longest board in the next tables
SLIGHTLY = 0.001  # of the cost: near enough in a coarse grain


class Mixture(NamedTuple):
    """Where the linear program stands.

    Attributes:
        shares: how often each known cut is used, in parts.
        bound: the best one proved on the way.
        prices: of the widths, at which the last patterns were looked for.
        settled: whether patterns that are not known yet would not help, or hardly.
    """

    shares: Shares
    bound: Bound
    prices: Numbers
    settled: bool


class Generation:
    """The linear program on its way from the first patterns to the best mixture; it goes on where it stopped.

    With many kinds of width the first patterns come from a smaller question, the next from a coarser grain.
    """

    def __init__(self, master: Master) -> None:
        question = master.question
        master.add(list(_one_kind_each(question)))
        self._master = master
        self._prices = _by_width(question)
        self._below: Merged | None = None
        self._coarse: Question | None = None
        if len(question.widths) > MANY:
            self._below, self._coarse = merged(question, MERGED), coarsened(question, COARSE)
            self._smaller = Master(self._below.question)
            self._smaller.add(list(_one_kind_each(self._below.question)))
            self._prices_below = _by_width(self._below.question)

    def go_on(self, effort: Effort, *, target: int | None = None, tolerance: float = 1e-6) -> Mixture:
        """Add patterns until none would make the mixture cheaper, or the bound has reached the target.

        Args:
            effort: when to stop in any case.
            target: a cost that a plan has; a bound that reaches it settles the matter.
            tolerance: how near to the mixture's cost a bound is good enough [price units].
        """
        if self._below and not effort.over:
            self._from_below(self._below, effort)
        if self._coarse and not effort.over:
            mixture = converge(self._master, self._coarse, effort, near=self._prices)
            self._prices = mixture.prices
            self._coarse = None if mixture.settled else self._coarse
        question = self._master.question
        mixture = converge(self._master, question, effort, near=self._prices, target=target, tolerance=tolerance)
        self._prices = mixture.prices
        return mixture

    def _from_below(self, below: Merged, effort: Effort) -> None:
        """Add the cuts of the best mixture for the same job with widths rounded up, and take on its prices."""
        mixture = converge(self._smaller, below.question, effort, near=self._prices_below)
        self._prices_below = mixture.prices
        self._master.add(dealt(self._master.question, below.groups, self._smaller.cuts, mixture.shares.times))
        for price, group in zip(mixture.prices.tolist(), below.groups, strict=True):
            self._prices[list(group)] = price
        self._below = None if mixture.settled else below


def _by_width(question: Question) -> Numbers:
    """Prices in proportion to the widths, such as the cheapest full board has."""
    rates = [stock.price / stock.most_room for stock in question.stocks if stock.most_room > 0]
    return np.asarray(question.taken * min(rates, default=0.0), dtype=np.float64)


def _one_kind_each(question: Question) -> Iterator[Cut]:
    """For every width as many as a board holds, of the board that is cheapest for each."""
    for kind, width in enumerate(question.widths):
        best = None
        for at, stock in enumerate(question.stocks):
            copies = min(question.counts[kind], stock.most_room // max(1, width.width) + 1)
            while copies and not question.holds(stock, {kind: copies}):
                copies -= 1
            if copies and stock.on_hand is None and (best is None or stock.price / copies < best[0]):
                best = stock.price / copies, Cut(at, ((kind, copies),))
        if best:
            yield best[1]


def converge(
    master: Master,
    searched: Question,
    effort: Effort,
    *,
    near: Numbers,
    target: int | None = None,
    tolerance: float | None = None,
) -> Mixture:
    """Add patterns of one grain until none pays; without a tolerance, until they hardly help.

    With many kinds the prices swing from round to round; asking at prices between the newest and the best so
    far halves the rounds (measured).
    """
    best = no_bound(searched)
    middle: Numbers | None = near
    steady = STEADY if len(searched.widths) > MANY else 0.0
    while True:
        shares = master.solve()
        calm = 0.0 if middle is None else steady
        prices = shares.prices if middle is None else (1 - calm) * shares.prices + calm * middle
        values, scale = scaled(searched, prices)
        table = fill(searched, searched.counts, values)
        bound = bound_of(searched, values, table, scale)
        if bound.ahead_of(best):
            best, middle = bound, prices
        enough = SLIGHTLY * shares.cost if tolerance is None else tolerance
        settled = (target is not None and best.cost >= target) or shares.cost - best.parts < enough
        effort.spend(shares.work + table.work)
        if settled or effort.over:
            return Mixture(shares, best, prices, settled)
        better = _better(table, shares, scale)
        effort.spend(table.work_found(len(better)))
        new = master.add(_paying(master.question, better, shares))
        if not new and not calm:
            return Mixture(shares, best, prices, settled=True)
        middle = middle if new else None


def _paying(question: Question, cuts: Sequence[Cut], shares: Shares) -> Sequence[Cut]:
    """All of them when one is worth more than its board at the prices of the mixture itself, else none."""
    return cuts if any(loss(question, cut, shares) < -1e-7 for cut in cuts) else ()


def _better(table: Table, shares: Shares, scale: float) -> Sequence[Cut]:
    """With every kind of width a pattern that is worth about what its board costs, or more."""
    stocks = table.question.stocks
    costs = {at: max(1.0, (stocks[at].price + saving) * scale) for at, saving in enumerate(shares.savings.tolist())}
    there = {at: cost for at, cost in costs.items() if stocks[at].on_hand != 0}
    return [Cut(one.stock, one.pattern) for one in table.with_each(there, NEARLY)]
