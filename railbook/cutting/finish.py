"""The exact finish: every pattern that a better plan could use, and the best mixture of them."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from railbook.cutting.bound import Bound
from railbook.cutting.clock import Clock
from railbook.cutting.knapsack import Pattern, history
from railbook.cutting.master import NO_STOCK, Cut
from railbook.cutting.whole import Question, Whole

MOST_PATTERNS = 40_000
MOST_CELLS = 60_000_000  # of the tables that are kept, one for each kind of width

_DONE = -1  # nothing more can come before the first piece of a board ALIKE


class _Part(NamedTuple):
    """Boards whose steeper pieces are chosen: one line each, all in one state."""

    state: int
    room: Whole
    need: Whole
    taken: npt.NDArray[np.uint16]


def near_patterns(question: Question, bound: Bound, above: int, clock: Clock) -> list[Cut] | None:
    """Every maximal cut that a plan costing at most `above` more than the bound can use; None if too many.

    A plan costs the bound and, for each board, what that board costs more than its pieces are worth. So a
    cut that alone loses more than `above` is in no such plan.

    Args:
        question: widths and boards.
        bound: the prices that prove it.
        above: what a plan may cost more than the exact bound [parts of a price unit, as the bound has them].
        clock: when to give up.
    """
    if above < 0:
        return []
    states = question.alike + question.has_alike
    if len(question.widths) * states * (question.longest + 1) > MOST_CELLS:
        return None
    tables = list(history(question, question.counts, np.array(bound.prices, dtype=np.int64)))
    cuts = [Cut(NO_STOCK, ((kind, 1),)) for kind, may in enumerate(question.may_miss) if may]
    for at, slope, state in _places(question):
        stock = question.stocks[at]
        need = stock.price * bound.scale + bound.savings[at] - above
        found = _search(question, bound, tables, (slope, state, int(stock.room[slope, state])), need, clock)
        if found is None or len(cuts) + len(found) > 2 * MOST_PATTERNS:
            return None
        cuts += [Cut(at, pattern) for pattern in found]
    cuts = list(dict.fromkeys(cuts))
    return cuts if len(cuts) <= MOST_PATTERNS else None


def _places(question: Question) -> Iterator[tuple[int, int, int]]:
    """Every board that is there, with every slope and state that it can have."""
    for at, stock in enumerate(question.stocks):
        if stock.on_hand != 0:
            for slope, state in np.argwhere(stock.room >= 0).tolist():
                yield at, slope, state


def _search(
    question: Question,
    bound: Bound,
    tables: list[npt.NDArray[np.int32]],
    place: tuple[int, int, int],
    need: int,
    clock: Clock,
) -> list[Pattern] | None:
    """Every maximal pattern of one board, slope and state whose pieces are worth enough; None if too many."""
    slope, state, room = place
    if tables[sum(width.high <= slope for width in question.widths)][state, room] < need:
        return []
    start = np.zeros((1, len(question.widths)), dtype=np.uint16)
    parts = [_Part(state, np.array([room]), np.array([need]), start)]
    for kind in range(len(question.widths) - 1, -1, -1):
        if question.widths[kind].high > slope:
            continue
        parts = _chosen(question, kind, bound.prices[kind], parts, tables[kind])
        if slope and kind and question.widths[kind].high == slope > question.widths[kind - 1].high:
            parts = [_only(part, np.any(part.taken[:, kind:] > 0, axis=1)) for part in parts]
        if clock.over or sum(len(part.room) for part in parts) > 2 * MOST_PATTERNS:
            return None
    return [pattern for part in parts for pattern in _maximal(question, slope, state, part)]


def _only(part: _Part, which: npt.NDArray[np.bool_]) -> _Part:
    return _Part(part.state, part.room[which], part.need[which], part.taken[which])


def _chosen(
    question: Question, kind: int, price: int, parts: list[_Part], before: npt.NDArray[np.int32]
) -> list[_Part]:
    """Choose every number of one kind that lets the flatter and narrower pieces before it make up the rest."""
    by_state: dict[int, list[_Part]] = {}
    width = question.widths[kind].width
    for part in parts:
        for copies in range(_most(question, kind, part) + 1):
            for state, room in _before(question, kind, copies, part.state, part.room - copies * width):
                need = part.need - copies * price
                reach = 0 if state == _DONE else before[state, np.maximum(room, 0)]
                which = (room >= 0) & (reach >= need)
                if which.any():
                    taken = part.taken[which]
                    taken[:, kind] = copies
                    by_state.setdefault(state, []).append(_Part(state, room[which], need[which], taken))
    return [_joined(lines) for _, lines in sorted(by_state.items())]


def _most(question: Question, kind: int, part: _Part) -> int:
    """No more than this many of a kind can be in any of these boards."""
    if part.state == _DONE:
        return 0
    width = question.widths[kind]
    return min(question.counts[kind], int(part.room.max(initial=0) + width.width - width.first) // max(width.width, 1))


def _before(question: Question, kind: int, copies: int, state: int, room: Whole) -> Iterator[tuple[int, Whole]]:
    """The states from which so many copies lead to this one, and the room that was left there."""
    width = question.widths[kind]
    if not copies or state == _DONE:
        if not copies:
            yield state, room
    elif width.low != width.high:
        for earlier in range(question.alike):
            if state < question.alike and question.after(earlier, kind, copies) == state:
                yield earlier, room
    elif state < question.alike:
        yield state, room
    elif width.low:
        yield state, room
        yield _DONE, room + width.width - width.first


def _joined(parts: list[_Part]) -> _Part:
    return _Part(
        parts[0].state,
        np.concatenate([part.room for part in parts]),
        np.concatenate([part.need for part in parts]),
        np.concatenate([part.taken for part in parts]),
    )


def _maximal(question: Question, slope: int, state: int, part: _Part) -> Iterator[Pattern]:
    """The patterns to which no further piece of one slope can be added."""
    full = np.ones(len(part.room), dtype=bool)
    for kind, width in enumerate(question.widths):
        if width.low == width.high <= slope and (state < question.alike or width.low):
            full &= (part.room < width.width) | (part.taken[:, kind] >= question.counts[kind])
    for line in part.taken[full]:
        kinds = np.flatnonzero(line)
        if len(kinds):
            yield tuple(zip(kinds.tolist(), line[kinds].tolist(), strict=True))
