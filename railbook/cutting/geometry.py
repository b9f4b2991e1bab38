"""How much board a row of mitred pieces needs, exactly, and which order needs least.

Every cut goes straight across a board of `depth`; a cut with lean t takes kerf * sec along an edge,
sec = sqrt(1 + t * t). Board ends are square and need no saw.
"""

import math
from collections.abc import Collection, Sequence
from functools import cache
from itertools import pairwise
from typing import NamedTuple

from railbook.cutting.pieces import Saw


class Placed(NamedTuple):
    """One piece as it lies on the board.

    Attributes:
        length: along the mid-line.
        left: lean of its left end as it lies.
        right: lean of its right end as it lies.
    """

    length: float
    left: float = 0.0
    right: float = 0.0


class Turn(NamedTuple):
    """Where a piece stands in a row.

    Attributes:
        piece: its place in the list that was ordered.
        left: lean of its left end as it lies.
        right: lean of its right end as it lies.
    """

    piece: int
    left: float
    right: float


def sec(lean: float) -> float:
    """How much wider a leaning cut is than a square one, along an edge.

    >>> sec(0.75)
    1.25
    """
    return math.sqrt(1 + lean * lean)


def mid_line(long_edge: float, left: float, right: float, depth: float) -> float:
    """Mid-line length of a piece that was measured along its longer edge.

    One end plumb cut at 3/4 on a 2x4, long point 40: 38 11/16. A cap 5 1/2 wide, 45 degrees at both ends,
    60 long point to long point: 54 1/2.

    >>> mid_line(40, 0, 0.75, 3.5), mid_line(60, 1, -1, 5.5)
    (38.6875, 54.5)
    """
    return long_edge - depth * abs(right - left) / 2


def gap(right: float, left: float, saw: Saw) -> float:
    """Mid-line distance from one piece's right end to the next one's left end.

    Cuts of one lean are shared; otherwise a wedge is lost beside the kerf of the steeper one.

    >>> gap(0.75, 0.75, Saw(1 / 8, depth=3.5)), gap(0, 0.75, Saw(1 / 8, depth=3.5))
    (0.15625, 1.46875)
    """
    return saw.kerf * max(sec(right), sec(left)) + saw.depth / 2 * abs(right - left)


def needed_length(row: Sequence[Placed], saw: Saw) -> float:
    """Board between the trims that a row of pieces needs in just this order.

    Three stair rails with an edge of 40 at 3/4 from a 2x4 need 120 + 2 * 5/32 + 2 5/8; two of one plumb
    end, 40 to the long point, tip to tail: 77 17/32.

    >>> stair = Saw(kerf=1 / 8, depth=3.5)
    >>> needed_length([Placed(40, 0.75, 0.75)] * 3, stair)
    122.9375
    >>> needed_length([Placed(38.6875, 0, 0.75), Placed(38.6875, 0.75, 0)], stair)
    77.53125
    """
    if not row:
        return 0.0
    ends = saw.depth / 2 * (abs(row[0].left) + abs(row[-1].right))
    gaps = sum(gap(one.right, other.left, saw) for one, other in pairwise(row))
    return ends + gaps + sum(piece.length for piece in row)


def best_order(pieces: Sequence[Placed], saw: Saw) -> tuple[Turn, ...]:
    """Order and turn the pieces of one board so that they need least, steep cuts first.

    Each may be turned in its plane, end for end or over. The last cut is left as square as possible:
    that is the end of the offcut.

    >>> two_level_two_stair = [Placed(30), Placed(40, 0.75, 0.75)] * 2
    >>> [turn.piece for turn in best_order(two_level_two_stair, Saw(1 / 8, depth=3.5))]
    [1, 3, 0, 2]
    """
    longest_first = sorted(range(len(pieces)), key=lambda at: (-pieces[at].length, at))
    if all(abs(piece.left) == abs(piece.right) for piece in pieces):
        nested = sorted(longest_first, key=lambda at: -abs(pieces[at].left))
        return _turned([(at, False) for at in nested], pieces)
    waiting: dict[tuple[float, float], list[int]] = {}
    for at in longest_first:
        waiting.setdefault(_ends(pieces[at]), []).append(at)
    kinds = tuple(sorted(waiting))
    steps = _route(kinds, tuple(len(waiting[kind]) for kind in kinds), saw)
    return _turned(_named(steps, kinds, waiting, pieces), pieces)


def _ends(piece: Placed) -> tuple[float, float]:
    """The sizes of its two leans, the flatter one first."""
    return min(abs(piece.left), abs(piece.right)), max(abs(piece.left), abs(piece.right))


def _route(kinds: tuple[tuple[float, float], ...], counts: tuple[int, ...], saw: Saw) -> tuple[tuple[int, bool], ...]:
    """The cheapest sequence of kinds, each with whether its steeper end comes first."""

    @cache
    def rest(left: tuple[int, ...], last: float) -> tuple[float, tuple[tuple[int, bool], ...]]:
        """Cost and steps from here to the end of the board, and the lean that the last cut has."""
        if not any(left):
            return saw.depth / 2 * last, ()
        best: tuple[float, tuple[tuple[int, bool], ...]] = (math.inf, ())
        for at, steep_first in ((at, first) for at, count in enumerate(left) if count for first in (True, False)):
            low, high = kinds[at]
            start, end = (high, low) if steep_first else (low, high)
            fewer = (*left[:at], left[at] - 1, *left[at + 1 :])
            follow, steps = rest(fewer, end)
            lead = saw.depth / 2 * start if last < 0 else gap(last, start, saw)
            if lead + follow < best[0] - 1e-9:
                best = (lead + follow, ((at, steep_first), *steps))
        return best

    return rest(counts, -1.0)[1]


def _named(
    steps: Sequence[tuple[int, bool]],
    kinds: Sequence[tuple[float, float]],
    waiting: dict[tuple[float, float], list[int]],
    pieces: Sequence[Placed],
) -> list[tuple[int, bool]]:
    """Put pieces, longest first, for kinds; and whether each is turned end for end."""
    queues = {kind: iter(places) for kind, places in waiting.items()}
    named = []
    for at, steep_first in steps:
        place = next(queues[kinds[at]])
        steep_is_left = abs(pieces[place].left) >= abs(pieces[place].right)
        named.append((place, steep_first != steep_is_left))
    return named


def _turned(order: Sequence[tuple[int, bool]], pieces: Sequence[Placed]) -> tuple[Turn, ...]:
    """Roll each piece over where its left end would otherwise lean against its neighbour's right end."""
    turns: list[Turn] = []
    lean = 0.0
    for at, end_for_end in order:
        left, right = pieces[at].left, pieces[at].right
        if end_for_end:
            left, right = right, left
        if left * lean < 0:
            left, right = -left, -right
        turns.append(Turn(at, left, right))
        lean = right
    return tuple(turns)


def lost(slopes: Sequence[float], crossings: Sequence[int], saw: Saw, *, passed_over: Collection[int] = ()) -> float:
    """Board that a set of pieces needs beyond its own widths, kerfs shared; plain lumber.

    A piece's own width is its mid-line length and half the kerf of either end.

    Args:
        slopes: sizes of the leans that occur, ascending, the flattest and the steepest of them on the board.
        crossings: for each step from one slope to the next, how many pieces have ends on both sides of
            it: 0, 1 for an odd number, 2 for an even one.
        saw: kerf and depth.
        passed_over: places of slopes between the ends of one piece. A row may have to go there and back, which
            is charged always; so with them the answer may be too much, never too little.

    Squares alone save one kerf; level and stair rails pay the steepest wedge once; an even number of
    pieces with one square end pays nothing, an odd one half a wedge.

    >>> rail = Saw(kerf=1 / 8, depth=3.5)
    >>> lost([0], [], rail), lost([0, 0.75], [0], rail), lost([0, 0.75], [2], rail)
    (-0.125, 2.5, -0.125)
    >>> 38.6875 + (0.125 + 0.15625) / 2 + lost([0, 0.75], [1], rail)
    40.0
    """
    steps = [saw.depth / 2 * (high - low) + saw.kerf / 2 * (sec(high) - sec(low)) for low, high in pairwise(slopes)]
    ends = [saw.depth / 2 * slope - saw.kerf / 2 * sec(slope) for slope in slopes]
    outside = [_walked(step, crossing, 0) for step, crossing in zip(steps, crossings, strict=True)]
    between = [_walked(step, crossing, 1) for step, crossing in zip(steps, crossings, strict=True)]
    at_ends = _cheapest_ends(ends, [b - o for b, o in zip(between, outside, strict=True)])
    return _detours(steps, passed_over) + sum(outside) + at_ends


def _detours(steps: Sequence[float], passed_over: Collection[int]) -> float:
    """Most that a row pays to reach slopes between the ends of its pieces, there and back.

    Slopes that follow each other are reached from either side of them all, so that one step of theirs, the dearest, is
    never walked: the piece that passes over it joins its two sides.
    """
    paid, run = 0.0, list[float]()
    for at in range(1, len(steps) + 1):
        if at in passed_over and at < len(steps):
            run = [*(run or [steps[at - 1]]), steps[at]]
        elif run:
            paid, run = paid + 2 * (sum(run) - max(run)), []
    return paid


def _cheapest_ends(ends: Sequence[float], more: Sequence[float]) -> float:
    """The least sum of the row's two ends, and of what each step between them costs more than one outside them."""
    best, begun = math.inf, math.inf
    for end, step in zip(ends, (0.0, *more), strict=True):
        begun = min(begun + step, end)
        best = min(best, begun + end)
    return best


def _walked(step: float, crossing: int, between: int) -> float:
    """What one step between slopes costs: nothing when pieces carry the row across as often as it must go.

    `between` is 1 for a step between the two ends of the board's row, else 0.
    """
    if (crossing + between) % 2:
        return step
    return 0.0 if crossing else 2 * step
