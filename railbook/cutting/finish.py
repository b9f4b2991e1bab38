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
CHOICE, BOARD = 20e-6, 40e-9  # work for a number of one kind; for each board that it may be added to [s]
WRITTEN, MIXED = 6e-6, 40e-6  # work to write a pattern down; to find out with what it may be mixed, at least [s]

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
        chosen: the last choice of pieces, by its place among all choices; NO_CHOICE for none.
    """

    state: int
    stock: Whole
    room: Whole
    need: Whole
    chosen: Whole


class _Choices:
    """Choices of pieces, each with the one before it on its board.

    Attributes:
        work: what looking for them took [s].
    """

    def __init__(self) -> None:
        self.work = 0.0
        self._before: list[Whole] = []
        self._chosen: list[Whole] = []
        self._number = 0

    def after(self, before: Whole, choice: int) -> Whole:
        """One choice more for each of some boards; the places of the new choices."""
        self._before.append(before)
        self._chosen.append(np.full(len(before), choice))
        self._number += len(before)
        return np.arange(self._number - len(before), self._number)

    def spent(self) -> float:
        """Work since this was asked last [s]."""
        work, self.work = self.work, 0.0
        return work

    def on_boards(self, last: Whole) -> Whole:
        """All choices of some boards: a line for each, the last choice first."""
        if not self._number:
            return np.full((len(last), 1), _NO_CHOICE)
        before, chosen = (np.concatenate([*parts, [_NO_CHOICE]]) for parts in (self._before, self._chosen))
        columns: list[Whole] = []
        while (last != _NO_CHOICE).any() or not columns:
            columns.append(chosen[last])
            last = before[last]
        return np.stack(columns, axis=1)


class TooManyError(Exception):
    """More patterns than can be mixed: with what is left of the work, or with any."""

    def __init__(self, *, ever: bool) -> None:
        super().__init__()
        self.ever = ever


def near_patterns(question: Question, bound: Bound, above: int, effort: Effort) -> list[Cut]:
    """Every maximal cut that a plan costing at most `above` more than the bound can use.

    A plan costs the bound and, for each board, what that board costs more than its pieces are worth. So a
    cut that alone loses more than `above` is in no such plan.

    Args:
        question: widths and boards.
        bound: the prices that prove it.
        above: what a plan may cost more than the exact bound [parts of a price unit, as the bound has them].
        effort: when to give up.

    Raises:
        TooManyError: there are more than can be mixed.
    """
    if above < 0:
        return []
    cells = len(question.widths) * question.states * (question.longest + 1)
    if cells > MOST_CELLS:
        raise TooManyError(ever=True)
    tables = list(history(question, question.counts, np.array(bound.prices, dtype=np.int64)))
    effort.spend(len(question.widths) * question.states * 2 * LINE + 2 * CELL * cells)
    cuts = lone_cuts(question)
    for slope in range(question.slopes):
        for state in range(question.states):
            cuts += _search(question, bound, tables, _Place(slope, state, above), effort)
            if len(cuts) > 2 * MOST_PATTERNS:
                raise TooManyError(ever=True)
    cuts = list(dict.fromkeys(cuts))
    if len(cuts) > MOST_PATTERNS:
        raise TooManyError(ever=True)
    return cuts


class _Place(NamedTuple):
    """The steepest slope and the state of the boards that are looked for, and what they may lose."""

    slope: int
    state: int
    above: int


def _search(
    question: Question, bound: Bound, tables: Sequence[npt.NDArray[np.int32]], place: _Place, effort: Effort
) -> list[Cut]:
    """Every maximal cut of one slope and state whose pieces are worth enough."""
    slope, state, _ = place
    kinds = sum(width.high <= slope for width in question.widths)
    start = _start(question, bound, tables[kinds], place)
    parts, choices = [start] if len(start.room) else [], _Choices()
    for kind in range(kinds - 1, -1, -1):
        parts = _chosen(question, kind, bound.prices[kind], parts, tables[kind], choices)
        if slope and kind and question.widths[kind].high == slope > question.widths[kind - 1].high:
            parts = [_only(part, part.chosen != _NO_CHOICE) for part in parts]
        boards = sum(len(part.room) for part in parts)
        effort.spend(choices.spent())
        if effort.over or boards > 2 * MOST_PATTERNS:
            raise TooManyError(ever=not effort.over)
    boards = sum(len(part.room) for part in parts)
    if effort.left < MIXED * boards:
        raise TooManyError(ever=False)
    effort.spend(WRITTEN * boards)
    return [cut for part in parts for cut in _maximal(question, slope, state, part, choices)]


def _start(question: Question, bound: Bound, table: npt.NDArray[np.int32], place: _Place) -> _Part:
    """Empty boards, one line for each that can be worth enough."""
    slope, state, above = place
    lines = [
        (at, int(stock.room[slope, state]), stock.price * bound.scale + bound.savings[at] - above)
        for at, stock in enumerate(question.stocks)
        if stock.on_hand != 0 and stock.room[slope, state] >= 0
    ]
    stock, room, need = np.array([line for line in lines if table[state, line[1]] >= line[2]]).reshape(-1, 3).T
    return _Part(state, stock, room, need, np.full(len(room), _NO_CHOICE))


def _only(part: _Part, which: npt.NDArray[np.bool_]) -> _Part:
    return _Part(part.state, part.stock[which], part.room[which], part.need[which], part.chosen[which])


def _chosen(
    question: Question, kind: int, price: int, parts: list[_Part], before: npt.NDArray[np.int32], choices: _Choices
) -> list[_Part]:
    """Choose every number of one kind that lets the flatter and narrower pieces before it make up the rest."""
    by_state: dict[int, list[_Part]] = {}
    width = question.widths[kind].width
    for part in parts:
        for copies in range(_most(question, kind, part) + 1):
            for state, room in _before(question, kind, copies, part.state, part.room - copies * width):
                choices.work += CHOICE + BOARD * len(room)
                need = part.need - copies * price
                reach = 0 if state == _DONE else before[state, np.maximum(room, 0)]
                which = (room >= 0) & (reach >= need)
                if which.any():
                    after = _only(part._replace(state=state, room=room, need=need), which)
                    if copies:
                        after = after._replace(chosen=choices.after(after.chosen, kind * _COPIES + copies))
                    by_state.setdefault(state, []).append(after)
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
    lines = zip(*(part[1:] for part in parts), strict=True)
    return _Part(parts[0].state, *map(np.concatenate, lines))


def _maximal(question: Question, slope: int, state: int, part: _Part, choices: _Choices) -> Iterator[Cut]:
    """The cuts to which no further piece of one slope can be added."""
    full = np.ones(len(part.room), dtype=bool)
    lines = choices.on_boards(part.chosen)
    for kind, width in enumerate(question.widths):
        if width.low == width.high <= slope and (state < question.alike or width.low):
            roomy = np.flatnonzero(full & (part.room >= width.width))
            chosen = lines[roomy]
            taken = np.where(chosen // _COPIES == kind, chosen % _COPIES, 0).sum(axis=1)
            full[roomy] = taken >= question.counts[kind]
    for stock, line in zip(part.stock[full].tolist(), lines[full].tolist(), strict=True):
        pattern = tuple(divmod(choice, _COPIES) for choice in line if choice != _NO_CHOICE)
        if pattern:
            yield Cut(stock, pattern)
