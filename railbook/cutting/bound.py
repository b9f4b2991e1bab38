"""What no plan can undercut, proved by whole-number prices of the pieces and one table.

Put a price on every piece such that no board is worth more, full of pieces, than it costs. Then all the
pieces together are worth no more than any plan costs. Boards in limited number may be worth more than
they cost; what they can save at most is taken off.
"""

from collections.abc import Sequence
from typing import NamedTuple

from railbook.cutting.knapsack import Table
from railbook.cutting.master import NO_STOCK, Cut, price_of
from railbook.cutting.whole import Question, Whole


class Bound(NamedTuple):
    """A proof in whole numbers.

    Attributes:
        cost: no plan costs less [price units].
        exact: the same before it was rounded up, in parts of 1/scale.
        prices: of one piece of each width, in parts of 1/scale.
        savings: of each board, by how much a full one may be worth more than it costs, in parts of 1/scale.
        scale: what the prices are parts of.
    """

    cost: int
    exact: int
    prices: tuple[int, ...]
    savings: tuple[int, ...]
    scale: int

    @property
    def parts(self) -> float:
        """The exact bound as a floating-point number [price units]."""
        return self.exact / self.scale

    def ahead_of(self, other: "Bound") -> bool:
        """Whether it proves more."""
        return self.exact * other.scale > other.exact * self.scale


def no_bound(question: Question) -> Bound:
    """Pieces worth nothing: no plan costs less than nothing."""
    return Bound(0, 0, (0,) * len(question.counts), (0,) * len(question.stocks), 1)


def bound_of(question: Question, values: Whole, table: Table, scale: float) -> Bound:
    """Scale the values of a filled table down until they are prices that prove a bound."""
    parts = int(scale)
    if parts < 1 or not question.counts:
        return no_bound(question)
    worth = [
        max(table.value(place), *(int(values[kind]) for kind in stock.alone), 0)
        for place, stock in enumerate(question.stocks)
    ]
    over, under = 1, 1
    for stock, value in zip(question.stocks, worth, strict=True):
        if stock.on_hand is None and value * over > stock.price * parts * under:
            over, under = stock.price * parts, value
    most = question.missing_price * parts
    prices = [int(value) * over // under for value in values]
    prices = [min(price, most) if may else price for price, may in zip(prices, question.may_miss, strict=True)]
    savings = [
        0 if stock.on_hand is None else max(0, -(-value * over // under) - stock.price * parts)
        for stock, value in zip(question.stocks, worth, strict=True)
    ]
    return _summed(question, prices, savings, parts)


def lost_by(question: Question, cut: Cut, bound: Bound) -> int:
    """What a board costs more than its pieces are worth, in parts of 1/scale."""
    saving = 0 if cut.stock == NO_STOCK else bound.savings[cut.stock]
    worth = sum(bound.prices[kind] * copies for kind, copies in cut.pattern)
    return price_of(question, cut) * bound.scale + saving - worth


def _summed(question: Question, prices: Sequence[int], savings: Sequence[int], scale: int) -> Bound:
    exact = sum(price * count for price, count in zip(prices, question.counts, strict=True))
    exact -= sum(saving * (stock.on_hand or 0) for saving, stock in zip(savings, question.stocks, strict=True))
    return Bound(max(0, -(-exact // scale)), exact, tuple(prices), tuple(savings), scale)
