"""Pieces, boards and saw put in whole numbers.

A piece takes up its mid-line length and half the kerf of either end, in grains, rounded up; what a board has
room for is rounded down. So whatever the search puts together can be sawn.
"""

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from railbook.basics.rounding import half_up
from railbook.cutting.geometry import lost, sec
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.whole import Question, Stock, Whole, Width

MONEY = 10_000  # prices are counted in ten-thousandths, rounded down: the bound then holds for what is really paid
PLAY = 1e-6  # of a grain, or of a ten-thousandth: what floating point may take
NEAR = 0.5  # of a grain: slopes that lead to no more on half the depth of cut count as one
TRACKED = 2  # steps between slopes that pieces may bridge before the search charges them as if square


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
    tips: float  # between its farthest points: what it needs alone


def in_whole(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> Asked:
    """Gather pieces that take up the same room and put everything in whole numbers.

    A piece of 36 and one of 18 from 8 ft, kerf 1/8: in eighths, 289 and 145 out of 769.

    >>> asked = in_whole([Piece("A", 36.0), Piece("B", 18.0)], [Board("8 ft", 96.0, 6.0)], Saw(kerf=1 / 8))
    >>> [width.width for width in asked.question.widths], asked.question.stocks[0].most_room
    ([289, 145], 769)
    """
    cuts = [_folded(place, piece, saw) for place, piece in enumerate(pieces) if piece.count]
    there = [board for board in boards if board.on_hand != 0]
    too_long = {cut.place for cut in cuts if not any(_fits_alone(cut, board, saw) for board in there)}
    wanted = [cut for cut in cuts if cut.place not in too_long]
    at_most, at_least = (wanted, wanted) if _is_exact(wanted) else _near_slopes_as_one(wanted, saw)
    planned = at_most if _bridged(at_most) <= TRACKED else [_as_if_square(cut, saw) for cut in wanted]
    question, places = _ask(planned, boards if planned else (), saw)
    floor, floor_places = question, places
    if not _is_exact(at_most):
        floor, floor_places = _relaxed(wanted, boards, saw)
    elif at_least is not at_most:
        floor, floor_places = _ask(at_least, boards, saw, _grains_down)
    return Asked(question, floor, places, floor_places, tuple(sorted(too_long)))


def _bridged(cuts: Sequence[_Cut]) -> int:
    """Steps between slopes that pieces bridge."""
    place_of = {slope: place for place, slope in enumerate(_slopes_of(cuts))}
    return len({step for cut in cuts for step in range(place_of[cut.low], place_of[cut.high])})


def _is_exact(cuts: Sequence[_Cut]) -> bool:
    """Whether room and widths tell exactly what fits: pieces of one slope each, and from square to the flattest."""
    flattest = next((slope for slope in _slopes_of(cuts) if slope > 0), 0.0)
    return all(cut.low == cut.high or (cut.low == 0 and cut.high == flattest) for cut in cuts)


def _folded(place: int, piece: Piece, saw: Saw) -> _Cut:
    low, high = sorted(half_up(abs(lean) * 1e9) / 1e9 for lean in (piece.left, piece.right))
    tips = piece.length + saw.depth / 2 * (low + high)
    return _Cut(place, piece.length, low, high, int(piece.count), tips)


def _fits_alone(cut: _Cut, board: Board, saw: Saw) -> bool:
    """Whether a board holds the piece and nothing else."""
    return cut.tips <= board.length - 2 * saw.trim + PLAY * saw.grain


def _slopes_of(cuts: Sequence[_Cut]) -> list[float]:
    """The slopes of all ends, the flattest first."""
    return sorted({lean for cut in cuts for lean in (cut.low, cut.high)})


def _near_slopes_as_one(cuts: Sequence[_Cut], saw: Saw) -> tuple[list[_Cut], list[_Cut]]:
    """The same pieces with slopes that hardly differ taken as one: as long as that can make them, and as short.

    Two flights are seldom measured alike to the hundredth of a degree. Where two ends meet, each takes up at most
    half the depth times what its slope was moved by, and what its kerf is wider.
    """
    one_of: dict[float, float] = {}
    for slope in _slopes_of(cuts):
        last = next(reversed(one_of.values()), slope)
        one_of[slope] = last if saw.depth / 2 * (slope - last) <= NEAR * saw.grain else slope
    at_most, at_least = [], []
    for cut in cuts:
        low, high = one_of[cut.low], one_of[cut.high]
        moved = saw.depth / 2 * (cut.low - low + cut.high - high)
        wider = saw.kerf * (sec(cut.low) - sec(low) + sec(cut.high) - sec(high))
        at_most.append(replace(cut, length=cut.length + moved + wider, low=low, high=high))
        at_least.append(replace(cut, length=cut.length - moved, low=low, high=high))
    return at_most, at_least


def _as_if_square(cut: _Cut, saw: Saw) -> _Cut:
    """A piece of two slopes as a square one that can stand between any others.

    Beside its own length each leaning end takes its half wedge and what its kerf is wider.
    """
    if cut.low == cut.high:
        return cut
    wedge = saw.depth / 2 * (cut.low + cut.high)
    between_others = cut.length + wedge + saw.kerf * (sec(cut.low) + sec(cut.high) - 2)
    return replace(cut, length=between_others, low=0.0, high=0.0)


def _ask(
    cuts: Sequence[_Cut], boards: Sequence[Board], saw: Saw, rounded: Callable[[float, Saw], int] | None = None
) -> tuple[Question, tuple[tuple[int, ...], ...]]:
    """The question, and for each of its widths the pieces that have it; widths are rounded up unless told otherwise."""
    slopes = _slopes_of(cuts) or [0.0]
    place_of = {slope: place for place, slope in enumerate(slopes)}
    ends = {(place_of[cut.low], place_of[cut.high]) for cut in cuts}
    steps = tuple(sorted({step for low, high in ends for step in range(low, high)}))
    passed_over = {slope for low, high in ends for slope in range(low + 1, high)}
    away = _away(slopes, steps, saw, passed_over)
    rooms = [_room(board, slopes, away, saw) for board in boards]
    groups: dict[tuple[Width, tuple[int, ...]], list[_Cut]] = {}
    for cut in cuts:
        width = _width(cut, place_of, saw, rounded or _grains_up)
        tight = [at for at, room in enumerate(rooms) if not _holds_one(room, steps, width)]
        alone = tuple(at for at in tight if _fits_alone(cut, boards[at], saw))
        groups.setdefault((width, alone), []).append(cut)
    order = sorted(groups, key=lambda key: (key[0].high, -key[0].width, key[0].low, key[0].first, key[1]))
    counts = tuple(sum(cut.count for cut in groups[key]) for key in order)
    question = _coarsest([width for width, _ in order], counts, rooms, boards, steps)
    stocks = tuple(
        replace(stock, alone=tuple(kind for kind, (_, alone) in enumerate(order) if at in alone))
        for at, stock in enumerate(question.stocks)
    )
    return replace(question, stocks=stocks), tuple(tuple(cut.place for cut in groups[key]) for key in order)


def _holds_one(room: Whole, steps: Sequence[int], width: Width) -> bool:
    """Whether a board has room for one piece."""
    state = sum(3**at for at, step in enumerate(steps) if width.low <= step < width.high)
    alike = width.low == width.high > 0 and width.first <= room[width.high, -1]
    return bool(alike or width.width <= room[width.high, state])


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
    money = [math.floor(board.price * MONEY + PLAY) for board in boards]
    unit = math.gcd(*money) or 1
    stocks = tuple(
        Stock(price // unit, board.on_hand, room // grain, board.length)
        for price, board, room in zip(money, boards, rooms, strict=True)
    )
    return Question(widths, counts, stocks, steps, unit / MONEY)


def _width(cut: _Cut, place_of: Mapping[float, int], saw: Saw, rounded: Callable[[float, Saw], int]) -> Width:
    kerf = saw.kerf / 2 * (sec(cut.low) + sec(cut.high))
    width, first = rounded(cut.length + kerf, saw), rounded(cut.length, saw)
    return Width(place_of[cut.high], place_of[cut.low], width, first)


def _grains_up(length: float, saw: Saw) -> int:
    return math.ceil(length / saw.grain - PLAY)


def _grains_down(length: float, saw: Saw) -> int:
    return max(-1, math.floor(length / saw.grain + PLAY))


def _away(
    slopes: Sequence[float], steps: Sequence[int], saw: Saw, passed_over: Collection[int]
) -> dict[tuple[int, int], float]:
    """What a board needs beyond its pieces' own widths, by steepest slope and state, where such a board can be."""
    away = {}
    for steepest in range(len(slopes)):
        for state in range(3 ** len(steps)):
            digits = {step: state // 3**at % 3 for at, step in enumerate(steps)}
            if all(step < steepest for step, digit in digits.items() if digit):
                crossings = [digits.get(step, 0) for step in range(steepest)]
                away[steepest, state] = lost(slopes[: steepest + 1], crossings, saw, passed_over=passed_over)
    return away


def _room(board: Board, slopes: Sequence[float], away: Mapping[tuple[int, int], float], saw: Saw) -> Whole:
    """Grains between the trims, by steepest slope and state."""
    between = board.length - 2 * saw.trim
    states = 1 + max(state for _, state in away)
    room = np.full((len(slopes), states + 1), -1, dtype=np.int64)
    for place, lost_there in away.items():
        room[place] = _grains_down(between - lost_there, saw)
    for steepest, slope in enumerate(slopes[1:], start=1):
        room[steepest, states] = _grains_down(between - saw.depth * slope, saw)
    return room


def _relaxed(cuts: Sequence[_Cut], boards: Sequence[Board], saw: Saw) -> tuple[Question, tuple[tuple[int, ...], ...]]:
    """A question whose answers never cost more: no wedges, only what no order can avoid.

    Every row has two ends, which cost at least their half wedge less half a kerf.
    """
    slopes = _slopes_of(cuts)
    ends = 2 * min((saw.depth / 2 * slope - saw.kerf / 2 * sec(slope) for slope in slopes), default=0.0)
    longer = [board._replace(length=board.length - ends - saw.kerf) for board in boards]
    widths = [cut.length + saw.kerf / 2 * (sec(cut.low) + sec(cut.high) - 2) for cut in cuts]
    square = [replace(cut, length=width, low=0.0, high=0.0) for cut, width in zip(cuts, widths, strict=True)]
    return _ask(square, longer, saw, _grains_down)
