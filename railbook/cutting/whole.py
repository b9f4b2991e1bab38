"""The question in whole numbers: what every piece takes up, what every board has room for.

What a board has room for depends on the steepest cut on it and on how its pieces lead from slope to slope
(`geometry.lost`); the search keeps one table for each such state. The state ALIKE is for boards without
the flattest slope: there the steep cut is shared, and the first piece takes up no kerf at all.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]

MISSING = 100  # a piece for which boards do not suffice counts as much as so many of the dearest board


class Width(NamedTuple):
    """What pieces of one kind take up on a board.

    Attributes:
        high: place of the steeper end's slope.
        low: place of the flatter end's slope.
        width: with half the kerf of either end [grains].
        first: as the first piece of a board in state ALIKE [grains].
    """

    high: int
    low: int
    width: int
    first: int


@dataclass(frozen=True)
class Stock:
    """A board as the search sees it.

    Attributes:
        price: in whole price units.
        on_hand: how many; None for no limit.
        room: grains, by steepest slope and state; negative where nothing fits.
        length: over all, in the caller's unit.
        alone: kinds of width of which one piece fits by its true measure, though not in whole grains.
    """

    price: int
    on_hand: int | None
    room: Whole
    length: float
    alone: tuple[int, ...] = ()

    @cached_property
    def most_room(self) -> int:
        """The most that any state has [grains]."""
        return int(self.room.max())


@dataclass(frozen=True)
class Question:
    """Widths to cut and boards to cut them from.

    Attributes:
        widths: distinct, ascending by steepest slope, the widest first.
        counts: how many of each are needed.
        stocks: the boards.
        steps: steps between slopes that pieces bridge; the state has a digit 0, 1 or 2 for each, the
            lowest for the first: none bridges it, an odd number does, an even one.
        price_unit: what one whole price unit is worth.
    """

    widths: tuple[Width, ...]
    counts: tuple[int, ...]
    stocks: tuple[Stock, ...]
    steps: tuple[int, ...]
    price_unit: float

    @property
    def slopes(self) -> int:
        """How many slopes occur."""
        return max((width.high for width in self.widths), default=0) + 1

    @property
    def alike(self) -> int:
        """The state ALIKE: the one after all others."""
        return int(3 ** len(self.steps))

    @cached_property
    def has_alike(self) -> bool:
        """With one slope it is no state of its own, and in a coarse grain it gains nothing."""
        return any(bool((stock.room[:, self.alike] >= 0).any()) for stock in self.stocks)

    @cached_property
    def states(self) -> int:
        """How many states a table keeps lines for."""
        return self.alike + self.has_alike

    @cached_property
    def longest(self) -> int:
        """The most room of any board [grains]."""
        return max((stock.most_room for stock in self.stocks), default=0)

    @cached_property
    def taken(self) -> Whole:
        """Width of every kind [grains]."""
        return np.array([width.width for width in self.widths], dtype=np.int64)

    @cached_property
    def ends(self) -> dict[tuple[int, int], Whole]:
        """The kinds of width by their flatter and steeper slope."""
        pairs = sorted({(width.low, width.high) for width in self.widths})
        kinds = [[at for at, width in enumerate(self.widths) if (width.low, width.high) == pair] for pair in pairs]
        return {pair: np.array(those, dtype=np.int64) for pair, those in zip(pairs, kinds, strict=True)}

    @cached_property
    def may_miss(self) -> tuple[bool, ...]:
        """For each width, whether only boards in limited number can hold it."""
        endless = [stock for stock in self.stocks if stock.on_hand is None]
        return tuple(not any(self.holds(stock, {kind: 1}) for stock in endless) for kind in range(len(self.widths)))

    @cached_property
    def missing_price(self) -> int:
        """What a piece counts for which boards do not suffice [price units]."""
        return MISSING * max(1, *(stock.price for stock in self.stocks))

    @cached_property
    def price_step(self) -> tuple[int, int]:
        """A price, and what divides its distance to every other one [price units]; 0 for the latter if all are equal.

        So many boards cost so many times the first and a multiple of the second: boards at 4.24, 5.49 and 6.74
        differ by 1.25, so ten of them cost 42.40, 43.65, 44.90 ...
        """
        prices = [stock.price for stock in self.stocks if stock.on_hand != 0]
        prices += [self.missing_price] if any(self.may_miss) else []
        return prices[0], math.gcd(*(price - prices[0] for price in prices))

    def after(self, state: int, kind: int, copies: int) -> int:
        """The state that more pieces of a kind lead to."""
        width = self.widths[kind]
        digits = [state // 3**at % 3 for at in range(len(self.steps))]
        for at, step in enumerate(self.steps):
            if width.low <= step < width.high:
                digits[at] = 2 - (digits[at] + copies) % 2
        return sum(digit * 3**at for at, digit in enumerate(digits))

    @cached_property
    def leads(self) -> dict[tuple[int, int, int], tuple[int, ...]]:
        """For pieces from one slope to another and an even or odd number of them, where each state leads."""
        ends = {(width.low, width.high): kind for kind, width in enumerate(self.widths)}
        return {
            (low, high, copies % 2): tuple(self.after(state, kind, copies) for state in range(self.alike))
            for (low, high), kind in ends.items()
            for copies in (1, 2)
        }

    def holds(self, stock: Stock, pattern: dict[int, int]) -> bool:
        """Whether a board has room for so many of each kind."""
        if any(pattern == {kind: 1} for kind in stock.alone):
            return True
        total = sum(self.widths[kind].width * copies for kind, copies in pattern.items())
        if total > stock.most_room + max((self.widths[kind].width - self.widths[kind].first) for kind in pattern):
            return False
        steepest, state = self.state_of(pattern)
        if total <= stock.room[steepest, state]:
            return True
        saved = self._saved(pattern)
        return saved > 0 and total - saved <= stock.room[steepest, self.alike]

    def state_of(self, pattern: dict[int, int]) -> tuple[int, int]:
        """The steepest slope and the state of a board with so many of each kind."""
        state = 0
        for kind, copies in pattern.items():
            state = self.after(state, kind, copies) if copies else state
        return max(self.widths[kind].high for kind in pattern), state

    def _saved(self, pattern: dict[int, int]) -> int:
        """What the first piece saves where the board is ALIKE; 0 where it is not."""
        if not self.has_alike or any(
            self.widths[kind].low == 0 or self.widths[kind].low != self.widths[kind].high for kind in pattern
        ):
            return 0
        flattest = self.widths[min(pattern)]
        return flattest.width - flattest.first


def coarsened(question: Question, rooms: int) -> Question:
    """The same question in grains so coarse that the longest board has not many more than so many.

    Widths are rounded up and rooms down, so that what fits here fits there. The grain is a power of two of
    the old one, in which the sixteenths of a tape stay exact as long as possible. Boards ALIKE are left out.
    """
    grain = 1 << max(0, question.longest // rooms).bit_length() - 1 if question.longest > rooms else 1
    widths = tuple(
        kind._replace(width=-(-kind.width // grain), first=-(-kind.first // grain)) for kind in question.widths
    )
    rooms_of = [stock.room // grain for stock in question.stocks]
    for room in rooms_of:
        room[:, question.alike] = -1
    stocks = tuple(replace(stock, room=room) for stock, room in zip(question.stocks, rooms_of, strict=True))
    return replace(question, widths=widths, stocks=stocks)
