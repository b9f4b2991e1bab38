"""Whole boards from parts: keep most of the linear mixture, fill the rest board by board."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from railbook.cutting.coarse import coarsened
from railbook.cutting.effort import Effort
from railbook.cutting.first_fit import Use, exchanged, first_fit
from railbook.cutting.knapsack import fill, scaled
from railbook.cutting.master import NO_STOCK, Cut, Master, Numbers, Shares
from railbook.cutting.whole import Question

MANY, VERY_MANY = 60, 200  # kinds of width that are left
COARSE = 2_000  # rooms of the longest board while very many are left
ALMOST = 0.999  # of the best board's rate: good enough to be cut from the same table


class Left(NamedTuple):
    """What is still to be cut, and from what.

    Attributes:
        counts: pieces of each width.
        free: boards of each stock; None for no limit.
    """

    counts: tuple[int, ...]
    free: tuple[int | None, ...]

    def fits(self, cut: Cut) -> int:
        """How many times a cut can be used without a piece too many."""
        times = min((self.counts[kind] // copies for kind, copies in cut.pattern), default=0)
        free = None if cut.stock == NO_STOCK else self.free[cut.stock]
        return times if free is None else min(times, free)

    def less(self, cut: Cut, times: int) -> "Left":
        """What is left after a cut; a piece too many is not missed."""
        counts, free = list(self.counts), list(self.free)
        for kind, copies in cut.pattern:
            counts[kind] = max(0, counts[kind] - copies * times)
        if cut.stock != NO_STOCK:
            there = free[cut.stock]
            free[cut.stock] = None if there is None else there - times
        return Left(tuple(counts), tuple(free))


def everything(question: Question) -> Left:
    """All that is asked for."""
    return Left(question.counts, tuple(stock.on_hand for stock in question.stocks))


def kept(master: Master, times: Numbers, least: float) -> tuple[Use, Left]:
    """The whole parts of a mixture, and one more board wherever the rest of a share is at least so much."""
    left, use = everything(master.question), []
    for at in np.argsort(np.floor(times) - times, kind="stable").tolist():
        if times[at] < 1e-9:
            continue
        cut, number = master.cuts[at], int(times[at] + 1e-6)
        number = min(number + bool(times[at] + 1e-6 - number >= least), left.fits(cut))
        if number:
            use.append((cut, number))
            left = left.less(cut, number)
    return tuple(use), left


def filled(question: Question, left: Left, prices: Numbers, lean: float, effort: Effort) -> Use:
    """Cut what is left: always the board that is worth most for its price.

    Args:
        question: widths and boards.
        left: what to cut and from what.
        prices: of each width, from the linear program.
        lean: how much a piece's width counts beside its price.
        effort: when to cut the rest by hand.
    """
    dearest = prices.sum() / max(1, question.taken.sum())
    weights = prices + lean * dearest * question.taken + 1e-9
    use: list[tuple[Cut, int]] = []
    searched = coarsened(question, COARSE)
    while any(left.counts):
        if effort.over:
            return (*use, *_by_hand(question, left))
        searched = searched if sum(1 for count in left.counts if count) > VERY_MANY else question
        chosen = _next_boards(searched, left, weights, effort)
        for cut, times in chosen:
            left = left.less(cut, times)
        use += chosen
        if not chosen:
            use += [(Cut(NO_STOCK, ((kind, 1),)), count) for kind, count in enumerate(left.counts) if count]
            break
    return tuple(use)


def _by_hand(question: Question, left: Left) -> Use:
    """What is left, first-fit-decreasing."""
    stocks = tuple(replace(stock, on_hand=free) for stock, free in zip(question.stocks, left.free, strict=True))
    rest = replace(question, counts=left.counts, stocks=stocks)
    return first_fit(rest, sorted(range(len(stocks)), key=lambda at: -stocks[at].length))


def _next_boards(question: Question, left: Left, weights: Numbers, effort: Effort) -> list[tuple[Cut, int]]:
    """The best board for what is left, or more of them when much is left."""
    kinds_left = sum(1 for count in left.counts if count)
    values, _ = scaled(question, np.where(np.array(left.counts) > 0, weights, 0.0))
    table = fill(question, left.counts, values)
    costs = {at: max(question.stocks[at].price, 1e-3) for at, free in enumerate(left.free) if free != 0}
    full = [found for at in costs if (found := table.best_of(at))]
    if not full:
        return []
    best = max(full, key=lambda one: one.value / costs[one.stock])
    rate = best.value / costs[best.stock]
    more = table.with_each(costs, rate * ALMOST) if kinds_left > MANY else []
    effort.spend(table.work + (table.work_found(len(more)) if kinds_left > MANY else 0.0))
    return list(_together([Cut(one.stock, one.pattern) for one in (best, *more)], left))


def _together(cuts: Sequence[Cut], left: Left) -> Iterator[tuple[Cut, int]]:
    """Those of some cuts that can be made beside each other, the first ones first."""
    for cut in cuts:
        times = left.fits(cut)
        if times:
            yield cut, times
            left = left.less(cut, times)


def rounded(master: Master, shares: Shares, least: float, lean: float, effort: Effort) -> Use:
    """A plan near the mixture: its whole parts, the rest filled."""
    use, left = kept(master, shares.times, least)
    rest = filled(master.question, left, shares.prices, lean, effort)
    return exchanged(master.question, (*use, *rest))
