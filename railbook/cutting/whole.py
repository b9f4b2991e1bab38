"""The question in whole numbers: what every piece takes up, what every board has room for.

What a board has room for depends on the steepest cut on it and on how its pieces lead from slope to slope
(`geometry.lost`); the search keeps one table for each such state. The state ALIKE is for boards without
the flattest slope: there the steep cut is shared, and the first piece takes up no kerf at all.
"""

import math
from dataclasses import dataclass
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


class Lasts(NamedTuple):
    """Ways in which one piece comes last on a board, by kind of piece; all of one length but the last.

    Attributes:
        kind: of the piece.
        before: where the table has the value of the board before it, counted through slopes, states and rooms.
        stock: which board.
        place: which of all boards' places it is then.
        begins: where each kind begins that can come last at all.
    """

    kind: npt.NDArray[np.int32]
    before: npt.NDArray[np.int32]
    stock: npt.NDArray[np.int32]
    place: npt.NDArray[np.int32]
    begins: Whole


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

    @cached_property
    def slopes(self) -> int:
        """How many slopes occur."""
        return max((width.high for width in self.widths), default=0) + 1

    @cached_property
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

    @cached_property
    def places(self) -> list[list[tuple[int, int, int]]]:
        """For each board, the slope, state and room that it can be."""
        return [
            [
                (slope, state, int(stock.room[slope, state]))
                for slope in range(self.slopes)
                for state in range(self.states)
                if stock.room[slope, state] >= 0
            ]
            for stock in self.stocks
        ]

    @cached_property
    def lasts(self) -> Lasts:
        """Every way in which one piece comes last on a board."""
        fits, befores, heads = [], [], []
        places = ((stock, place) for stock, all_of in enumerate(self.places) for place in all_of)
        for number, (stock, (slope, state, room)) in enumerate(places):
            for (low, high), kinds in self.ends.items():
                fitting = kinds[self.taken[kinds] <= room] if high <= slope else kinds[:0]
                for earlier in self._before(low, high, state) if len(fitting) else ():
                    fits.append(fitting)
                    befores.append((slope * self.states + earlier) * (self.longest + 1) + room - self.taken[fitting])
                    heads.append((stock, number, len(fitting)))
        if not heads:
            none = np.zeros(0, dtype=np.int32)
            return Lasts(none, none, none, none, np.zeros(0, dtype=np.int64))
        stocks, numbers, sizes = np.array(heads, dtype=np.int32).T
        kind, before = (np.concatenate(each, dtype=np.int32) for each in (fits, befores))
        order = np.argsort(kind, kind="stable")
        kind = kind[order]
        stock_of, place_of = (np.repeat(each, sizes)[order] for each in (stocks, numbers))
        return Lasts(kind, before[order], stock_of, place_of, np.flatnonzero(np.diff(kind, prepend=-1)))

    def _before(self, low: int, high: int, state: int) -> list[int]:
        """The states from which one piece leads to a state."""
        if low == high:
            return [state] if low or state < self.alike else []
        return [before for before, to in enumerate(self.leads[low, high, 1]) if to == state]

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
