"""The question in whole numbers: what every piece takes up, what every board has room for.

A piece takes up its mid-line length and half the kerf of either end, in grains, rounded up. What a board
has room for depends on the steepest cut on it and on how its pieces lead from slope to slope
(`geometry.lost`); the search keeps one table for each such state. The state ALIKE is for boards without
the flattest slope: there the steep cut is shared, and the first piece takes up no kerf at all.
"""

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from railbook.basics.rounding import half_up
from railbook.cutting.geometry import lost, sec
from railbook.cutting.pieces import Board, Piece, Saw

Whole = npt.NDArray[np.int64]

MONEY = 10_000  # prices are counted in ten-thousandths
PLAY = 1e-6  # of a grain: what floating point may take
TRACKED = 2  # steps between slopes that pieces may bridge before the search charges them as if square
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
    """

    price: int
    on_hand: int | None
    room: Whole
    length: float

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
    def longest(self) -> int:
        """The most room of any board [grains]."""
        return max((stock.most_room for stock in self.stocks), default=0)

    @cached_property
    def taken(self) -> Whole:
        """Width of every kind [grains]."""
        return np.array([width.width for width in self.widths], dtype=np.int64)

    @cached_property
    def may_miss(self) -> tuple[bool, ...]:
        """For each width, whether only boards in limited number can hold it."""
        endless = [stock for stock in self.stocks if stock.on_hand is None]
        return tuple(not any(self.holds(stock, {kind: 1}) for stock in endless) for kind in range(len(self.widths)))

    @cached_property
    def missing_price(self) -> int:
        """What a piece counts for which boards do not suffice [price units]."""
        return MISSING * max(1, *(stock.price for stock in self.stocks))

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


class Asked(NamedTuple):
    """The question, and the way back from it.

    Attributes:
        question: in whole numbers; every answer to it can be sawn.
        floor: a question whose answers never cost more; the same one where nothing was simplified.
        places: for each width of the question, the pieces that have it, by place in the list given.
        floor_places: the same for the other question.
        too_long: places of pieces that no board can hold.
    """

    question: Question
    floor: Question
    places: tuple[tuple[int, ...], ...]
    floor_places: tuple[tuple[int, ...], ...]
    too_long: tuple[int, ...]


@dataclass(frozen=True)
class _Cut:
    """A piece with its ends folded: only the sizes of its leans matter to plain lumber."""

    place: int
    length: float
    low: float
    high: float
    count: int


def in_whole(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> Asked:
    """Gather pieces that take up the same room and put everything in whole numbers.

    A piece of 36 and one of 18 from 8 ft, kerf 1/8: in eighths, 289 and 145 out of 769.

    >>> asked = in_whole([Piece("A", 36.0), Piece("B", 18.0)], [Board("8 ft", 96.0, 6.0)], Saw(kerf=1 / 8))
    >>> [width.width for width in asked.question.widths], asked.question.stocks[0].most_room
    ([289, 145], 769)
    """
    cuts = [_folded(place, piece) for place, piece in enumerate(pieces) if piece.count]
    long = [cut for cut in cuts if not any(_fits(cut, board, saw) for board in boards if board.on_hand != 0)]
    too_long = {cut.place for cut in long}
    wanted = [cut for cut in cuts if cut.place not in too_long]
    slopes = _distinct(lean for cut in wanted for lean in (cut.low, cut.high))
    bridged = {step for cut in wanted for step in range(slopes.index(cut.low), slopes.index(cut.high))}
    planned = wanted
    if len(bridged) > TRACKED:
        longest = max(board.length for board in boards if board.on_hand != 0) - 2 * saw.trim
        planned = [_as_if_square(cut, longest, saw) for cut in wanted]
    question, places = _ask(planned, boards if planned else (), saw)
    exact = planned is wanted and all(cut.low == cut.high or [cut.low, cut.high] == [0.0, slopes[1]] for cut in wanted)
    floor, floor_places = (question, places) if exact else _relaxed(wanted, boards, saw)
    return Asked(question, floor, places, floor_places, tuple(sorted(too_long)))


def _folded(place: int, piece: Piece) -> _Cut:
    low, high = sorted(half_up(abs(lean) * 1e9) / 1e9 for lean in (piece.left, piece.right))
    return _Cut(place, piece.length, low, high, int(piece.count))


def _fits(cut: _Cut, board: Board, saw: Saw) -> bool:
    """Whether a board holds the piece alone."""
    tips = cut.length + saw.depth / 2 * (cut.low + cut.high)
    return tips <= board.length - 2 * saw.trim + PLAY * saw.grain


def _distinct(leans: Iterable[float]) -> list[float]:
    return sorted(set(leans))


def _as_if_square(cut: _Cut, longest: float, saw: Saw) -> _Cut:
    """A piece of two slopes as a square one that can stand between any others, or else fills the longest board.

    Beside its own length each leaning end takes its half wedge and what its kerf is wider.
    """
    if cut.low == cut.high:
        return cut
    wedge = saw.depth / 2 * (cut.low + cut.high)
    between_others = cut.length + wedge + saw.kerf * (sec(cut.low) + sec(cut.high) - 2)
    return replace(cut, length=min(between_others, longest), low=0.0, high=0.0)


def _ask(cuts: Sequence[_Cut], boards: Sequence[Board], saw: Saw) -> tuple[Question, tuple[tuple[int, ...], ...]]:
    """The question, and for each of its widths the pieces that have it."""
    slopes = _distinct(lean for cut in cuts for lean in (cut.low, cut.high)) or [0.0]
    groups: dict[Width, list[_Cut]] = {}
    for cut in cuts:
        groups.setdefault(_width(cut, slopes, saw), []).append(cut)
    kinds = sorted(groups, key=lambda width: (width.high, -width.width, width.low, width.first))
    steps = tuple(sorted({step for kind in kinds for step in range(kind.low, kind.high)}))
    passed_over = {slope for kind in kinds for slope in range(kind.low + 1, kind.high)}
    rooms = [_room(board, slopes, steps, saw, passed_over) for board in boards]
    counts = tuple(sum(cut.count for cut in groups[kind]) for kind in kinds)
    question = _coarsest(kinds, counts, rooms, boards, steps)
    return question, tuple(tuple(cut.place for cut in groups[kind]) for kind in kinds)


def _coarsest(
    kinds: Sequence[Width],
    counts: tuple[int, ...],
    rooms: Sequence[Whole],
    boards: Sequence[Board],
    steps: tuple[int, ...],
) -> Question:
    """Count in the greatest grain and the greatest price unit that divide everything."""
    alike = any(kind.high for kind in kinds)
    grain = math.gcd(*(kind.width for kind in kinds), *(kind.first for kind in kinds if alike)) or 1
    widths = tuple(kind._replace(width=kind.width // grain, first=kind.first // grain) for kind in kinds)
    money = [int(half_up(board.price * MONEY)) for board in boards]
    unit = math.gcd(*money) or 1
    stocks = tuple(
        Stock(price // unit, board.on_hand, room // grain, board.length)
        for price, board, room in zip(money, boards, rooms, strict=True)
    )
    return Question(widths, counts, stocks, steps, unit / MONEY)


def _width(cut: _Cut, slopes: Sequence[float], saw: Saw) -> Width:
    kerf = saw.kerf / 2 * (sec(cut.low) + sec(cut.high))
    width, first = _grains_up(cut.length + kerf, saw), _grains_up(cut.length, saw)
    return Width(slopes.index(cut.high), slopes.index(cut.low), width, first)


def _grains_up(length: float, saw: Saw) -> int:
    return math.ceil(length / saw.grain - PLAY)


def _grains_down(length: float, saw: Saw) -> int:
    return max(-1, math.floor(length / saw.grain + PLAY))


def _room(board: Board, slopes: Sequence[float], steps: Sequence[int], saw: Saw, passed_over: Collection[int]) -> Whole:
    """Grains between the trims, by steepest slope and state."""
    states = 3 ** len(steps)
    between = board.length - 2 * saw.trim
    room = np.full((len(slopes), states + 1), -1, dtype=np.int64)
    for steepest, slope in enumerate(slopes):
        room[steepest, states] = _grains_down(between - saw.depth * slope, saw) if steepest else -1
        for state in range(states):
            digits = {step: state // 3**at % 3 for at, step in enumerate(steps)}
            if all(step < steepest for step, digit in digits.items() if digit):
                crossings = [digits.get(step, 0) for step in range(steepest)]
                away = lost(slopes[: steepest + 1], crossings, saw, passed_over=passed_over)
                room[steepest, state] = _grains_down(between - away, saw)
    return room


def _relaxed(cuts: Sequence[_Cut], boards: Sequence[Board], saw: Saw) -> tuple[Question, tuple[tuple[int, ...], ...]]:
    """A question whose answers never cost more: no wedges, only what no order can avoid.

    Every row has two ends, which cost at least their half wedge less half a kerf.
    """
    slopes = _distinct(lean for cut in cuts for lean in (cut.low, cut.high))
    ends = 2 * min((saw.depth / 2 * slope - saw.kerf / 2 * sec(slope) for slope in slopes), default=0.0)
    longer = [board._replace(length=board.length - ends - saw.kerf) for board in boards]
    widths = [cut.length + saw.kerf / 2 * (sec(cut.low) + sec(cut.high) - 2) for cut in cuts]
    square = [replace(cut, length=width, low=0.0, high=0.0) for cut, width in zip(cuts, widths, strict=True)]
    rounded = [replace(cut, length=_down_to_grain(cut.length + saw.kerf, saw) - saw.kerf) for cut in square]
    return _ask(rounded, longer, saw)


def _down_to_grain(length: float, saw: Saw) -> float:
    return _grains_down(length, saw) * saw.grain
