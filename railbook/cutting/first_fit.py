"""First-fit-decreasing, as it is done by hand: the longest piece first, into the first board with room."""

from collections.abc import Iterator, Sequence

import numpy as np

from railbook.cutting.master import NO_STOCK, Cut, price_of
from railbook.cutting.whole import Question

Use = tuple[tuple[Cut, int], ...]  # cuts, and how many boards of each


def cost_of(question: Question, use: Use) -> int:
    """What the boards cost [price units]."""
    return sum(price_of(question, cut) * number for cut, number in use)


def by_hand(question: Question) -> Use:
    """The cheapest of first-fit-decreasing from each board alone, and from all of them, the longest first.

    Boards on hand come first, then the rest; a board that holds no piece longer than a shorter one would
    is exchanged for that one at the end.
    """
    endless = [at for at, stock in enumerate(question.stocks) if stock.on_hand is None]
    limited = [at for at, stock in enumerate(question.stocks) if stock.on_hand]
    longest_first = sorted(endless, key=lambda at: -question.stocks[at].most_room)
    orders = [[*limited, at, *longest_first] for at in longest_first] or [limited]
    if limited:
        orders += [[at, *longest_first, *limited] for at in longest_first]
    plans = [exchanged(question, first_fit(question, order)) for order in orders]
    return min(plans, key=lambda use: cost_of(question, use))


def first_fit(question: Question, order: Sequence[int]) -> Use:
    """Cut everything first-fit-decreasing.

    Args:
        question: widths and boards.
        order: which board to begin next: the first that is still there and can hold the piece.
    """
    free = [stock.on_hand for stock in question.stocks]
    lots, missing = _Lots(question), []
    for kind in sorted(range(len(question.widths)), key=lambda at: (-question.widths[at].width, at)):
        left = lots.put(kind, question.counts[kind])
        while left:
            stock = next((at for at in order if free[at] != 0 and question.holds(question.stocks[at], {kind: 1})), None)
            if stock is None:
                missing.append((Cut(NO_STOCK, ((kind, 1),)), left))
                break
            begun, left = lots.begin(stock, kind, left, free[stock])
            free[stock] = None if free[stock] is None else (free[stock] or 0) - begun
    return (*lots.cuts(), *missing)


class _Lots:
    """Boards that were begun, alike ones together, in the order they were begun."""

    def __init__(self, question: Question) -> None:
        self._question = question
        self._most = np.array([stock.room.max(axis=1) for stock in question.stocks])
        self._patterns: list[dict[int, int]] = []
        self._figures = np.zeros((5, 0), dtype=np.int64)  # a column for each lot; its lines have names below

    def put(self, kind: int, left: int) -> int:
        """Put pieces of a kind where they fit first, and say how many did not."""
        width = self._question.widths[kind]
        stock, _, used, steepest, saved = self._figures
        spare = self._most[stock, np.maximum(steepest, width.high)] - used + saved  # never less than what is left
        for lot in np.flatnonzero(spare >= width.first).tolist():
            left -= self._into(lot, kind, left)
            if not left:
                break
        return left

    def begin(self, stock: int, kind: int, left: int, free: int | None) -> tuple[int, int]:
        """Cut pieces from new boards; say how many boards, and how many pieces are left."""
        each = self._more(stock, {}, kind, left)
        full = left // each if free is None else min(free, left // each)
        left -= full * each
        more = left if left < each and free != full else 0
        lots = [(number, {kind: copies}) for number, copies in ((full, each), (1, more)) if number and copies]
        self._replace(len(self._patterns), len(self._patterns), stock, lots)
        return full + (more > 0), left - more

    def cuts(self) -> Iterator[tuple[Cut, int]]:
        """What was cut, board by board."""
        for stock, number, pattern in zip(*self._figures[:2].tolist(), self._patterns, strict=True):
            yield Cut(stock, tuple(sorted(pattern.items()))), number

    def _into(self, lot: int, kind: int, left: int) -> int:
        """Fill up alike boards one after the other; say how many pieces went in."""
        stock, number = (int(figure) for figure in self._figures[:2, lot])
        pattern = self._patterns[lot]
        each = self._more(stock, pattern, kind, left)
        if not each:
            return 0
        full = min(number, left // each)
        more = min(left - full * each, each) if full < number else 0
        parts = ((full, each), (1 if more else 0, more), (number - full - (more > 0), 0))
        lots = [(boards, {**pattern, kind: copies} if copies else pattern) for boards, copies in parts if boards]
        self._replace(lot, lot + 1, stock, lots)
        return full * each + more

    def _more(self, stock: int, pattern: dict[int, int], kind: int, left: int) -> int:
        """How many more pieces of a kind a board can hold."""
        board, width = self._question.stocks[stock], self._question.widths[kind].width
        used = sum(self._question.widths[at].width * copies for at, copies in pattern.items())
        copies = min(left, (board.most_room - used) // max(width, 1) + 1)
        while copies and not self._question.holds(board, {**pattern, kind: copies}):
            copies -= 1
        return copies

    def _replace(self, first: int, end: int, stock: int, lots: Sequence[tuple[int, dict[int, int]]]) -> None:
        """Lots for those from the first to before the end."""
        self._patterns[first:end] = [pattern for _, pattern in lots]
        figures = np.array([self._of(stock, number, pattern) for number, pattern in lots], dtype=np.int64).T
        if end - first == len(lots):
            self._figures[:, first:end] = figures
        else:
            parts = [self._figures[:, :first], figures.reshape(5, -1), self._figures[:, end:]]
            self._figures = np.concatenate(parts, axis=1)

    def _of(self, stock: int, number: int, pattern: dict[int, int]) -> tuple[int, ...]:
        """Stock, number, room that the pieces take up, steepest slope, what the first piece may save."""
        widths = [self._question.widths[kind] for kind in pattern]
        used = sum(width.width * copies for width, copies in zip(widths, pattern.values(), strict=True))
        saved = max(width.width - width.first for width in widths) if all(width.low for width in widths) else 0
        return stock, number, used, max(width.high for width in widths), saved


def exchanged(question: Question, use: Use) -> Use:
    """The same cuts, each from the cheapest board that holds it and is still there."""
    free = [None if stock.on_hand is None else stock.on_hand for stock in question.stocks]
    for cut, number in use:
        if cut.stock != NO_STOCK and free[cut.stock] is not None:
            free[cut.stock] = (free[cut.stock] or 0) - number
    ranks = [(stock.price, stock.length, at) for at, stock in enumerate(question.stocks)]
    return tuple(part for cut, number in use for part in _cheaper(question, cut, number, free, ranks))


def _cheaper(
    question: Question, cut: Cut, number: int, free: list[int | None], ranks: Sequence[tuple[int, float, int]]
) -> Iterator[tuple[Cut, int]]:
    """One cut, divided among the cheapest boards for it, at one price the shortest; `free` is brought up to date."""
    own = ranks[cut.stock] if cut.stock != NO_STOCK else (price_of(question, cut), 0.0, 0)
    pattern = dict(cut.pattern)
    for *_, at in sorted(rank for rank in ranks if rank < own):
        if not number:
            break
        there = free[at]
        if there == 0 or not question.holds(question.stocks[at], pattern):
            continue
        moved = number if there is None else min(number, there)
        free[at] = None if there is None else there - moved
        if cut.stock != NO_STOCK and free[cut.stock] is not None:
            free[cut.stock] = (free[cut.stock] or 0) + moved
        number -= moved
        yield Cut(at, cut.pattern), moved
    if number:
        yield Cut(cut.stock, cut.pattern), number
