"""The exact finish: every pattern that a better plan could use."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from railbook.cutting.bound import Bound
from railbook.cutting.effort import Effort
from railbook.cutting.knapsack import CELL, LINE, history
from railbook.cutting.master import Cut, lone_cuts
from railbook.cutting.whole import Question, Whole

MOST_PATTERNS = 40_000
MOST_CELLS = 60_000_000  # of the tables that are kept, one for each kind of width
CHOICE, BOARD = 60e-6, 0.3e-6  # work for a number of one kind; for each board that is filled with it [s]

_DONE = -1  # nothing more can come before the first piece of a board ALIKE
_COPIES = 1_000_000_000  # one choice is kind * _COPIES + copies; -1 for none
_NO_CHOICE = -1


class _Part(NamedTuple):
    """Boards whose steeper pieces are chosen: one line each, all in one state.

    Attributes:
        state: of the board before these pieces.
        stock: which board.
        room: what is left of it [grains].
        need: what the flatter pieces must be worth.
        chosen: the pieces, the last choice first.
    """

    state: int
    stock: Whole
    room: Whole
    need: Whole
    chosen: Whole


def near_patterns(question: Question, bound: Bound, above: int, effort: Effort) -> list[Cut] | None:
    """Every maximal cut that a plan costing at most `above` more than the bound can use; None if too many.

    A plan costs the bound and, for each board, what that board costs more than its pieces are worth. So a
    cut that alone loses more than `above` is in no such plan.

    Args:
        question: widths and boards.
        bound: the prices that prove it.
        above: what a plan may cost more than the exact bound [parts of a price unit, as the bound has them].
        effort: when to give up.
    """
    if above < 0:
        return []
    cells = len(question.widths) * question.states * (question.longest + 1)
    if cells > MOST_CELLS:
        return None
    tables = list(history(question, question.counts, np.array(bound.prices, dtype=np.int64)))
    effort.spend(len(question.widths) * question.states * 2 * LINE + 2 * CELL * cells)
    cuts = lone_cuts(question)
    for slope in range(question.slopes):
        for state in range(question.states):
            found = _search(question, bound, tables, _Place(slope, state, above), effort)
            if found is None or len(cuts) + len(found) > 2 * MOST_PATTERNS:
                return None
            cuts += found
    cuts = list(dict.fromkeys(cuts))
    return cuts if len(cuts) <= MOST_PATTERNS else None


class _Place(NamedTuple):
    """The steepest slope and the state of the boards that are looked for, and what they may lose."""

    slope: int
    state: int
    above: int


def _search(
    question: Question, bound: Bound, tables: Sequence[npt.NDArray[np.int32]], place: _Place, effort: Effort
) -> list[Cut] | None:
    """Every maximal cut of one slope and state whose pieces are worth enough; None if too many."""
    slope, state, _ = place
    kinds = sum(width.high <= slope for width in question.widths)
    start = _start(question, bound, tables[kinds], place)
    parts = [start] if len(start.room) else []
    for kind in range(kinds - 1, -1, -1):
        parts = _chosen(question, kind, bound.prices[kind], parts, tables[kind])
        if slope and kind and question.widths[kind].high == slope > question.widths[kind - 1].high:
            parts = [_only(part, part.chosen[:, 0] != _NO_CHOICE) for part in parts]
        boards = sum(len(part.room) for part in parts)
        effort.spend(CHOICE * len(parts) + BOARD * boards)
        if effort.over or boards > 2 * MOST_PATTERNS:
            return None
    return [cut for part in parts for cut in _maximal(question, slope, state, part)]


def _start(question: Question, bound: Bound, table: npt.NDArray[np.int32], place: _Place) -> _Part:
    """Empty boards, one line for each that can be worth enough."""
    slope, state, above = place
    lines = [
        (at, int(stock.room[slope, state]), stock.price * bound.scale + bound.savings[at] - above)
        for at, stock in enumerate(question.stocks)
        if stock.on_hand != 0 and stock.room[slope, state] >= 0
    ]
    stock, room, need = np.array([line for line in lines if table[state, line[1]] >= line[2]]).reshape(-1, 3).T
    narrowest = min(min(width.first, width.width) for width in question.widths)
    chosen = np.full((len(room), question.longest // max(1, narrowest) + 1), _NO_CHOICE)
    return _Part(state, stock, room, need, chosen)


def _only(part: _Part, which: npt.NDArray[np.bool_]) -> _Part:
    return _Part(part.state, part.stock[which], part.room[which], part.need[which], part.chosen[which])


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
                    after = _only(part._replace(state=state, room=room, need=need), which)
                    by_state.setdefault(state, []).append(_with_choice(after, kind, copies))
    return [_joined(lines) for _, lines in sorted(by_state.items())]


def _with_choice(part: _Part, kind: int, copies: int) -> _Part:
    """The same boards with so many pieces more."""
    if not copies:
        return part
    chosen = np.roll(part.chosen, 1, axis=1)
    chosen[:, 0] = kind * _COPIES + copies
    return part._replace(chosen=chosen)


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
    lines = zip(*(part[1:] for part in parts), strict=True)
    return _Part(parts[0].state, *map(np.concatenate, lines))


def _maximal(question: Question, slope: int, state: int, part: _Part) -> Iterator[Cut]:
    """The cuts to which no further piece of one slope can be added."""
    full = np.ones(len(part.room), dtype=bool)
    for kind, width in enumerate(question.widths):
        if width.low == width.high <= slope and (state < question.alike or width.low):
            roomy = np.flatnonzero(full & (part.room >= width.width))
            chosen = part.chosen[roomy]
            taken = np.where(chosen // _COPIES == kind, chosen % _COPIES, 0).sum(axis=1)
            full[roomy] = taken >= question.counts[kind]
    for stock, line in zip(part.stock[full].tolist(), part.chosen[full].tolist(), strict=True):
        pattern = tuple(divmod(choice, _COPIES) for choice in line if choice != _NO_CHOICE)
        if pattern:
            yield Cut(stock, pattern)
