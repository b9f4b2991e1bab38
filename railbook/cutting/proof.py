"""A bound checked again without the search: one table in whole numbers, filled piece by piece."""

from collections.abc import Sequence

import numpy as np

from railbook.cutting.grains import in_whole
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.result import Proof
from railbook.cutting.whole import Question, Whole

NEVER = -(2**60)


def check_bound(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, proof: Proof) -> float:
    """The cost that no plan undercuts, as far as some prices prove it; 0 when they prove nothing.

    Every board, as full of pieces as it can be, must be worth no more than it costs (and what it may
    save, for boards in limited number). Then all pieces together are worth no more than any plan costs.

    Args:
        pieces: what is needed.
        boards: what it can be cut from.
        saw: and how.
        proof: a price for each piece, a saving for each board.

    Nine pieces of 36 from boards of 10 ft at 7.00: three fit on a board, so a third of its price each.

    >>> nine, ten_foot, saw = [Piece("A", 36.0, count=9)], [Board("10 ft", 120.0, 7.0)], Saw(kerf=1 / 8)
    >>> check_bound(nine, ten_foot, saw, Proof(prices=(1,), savings=(0,), scale=3, price_unit=7.0))
    21.0
    >>> check_bound(nine, ten_foot, saw, Proof(prices=(2,), savings=(0,), scale=3, price_unit=7.0))
    0.0
    """
    asked = in_whole(pieces, boards, saw)
    question = asked.floor
    prices = [max(proof.prices[place] for place in places) for places in asked.floor_places]
    if not prices or any(saving and board.on_hand is None for saving, board in zip(proof.savings, boards, strict=True)):
        return 0.0
    most = question.missing_price * proof.scale
    if any(may and price > most for may, price in zip(question.may_miss, prices, strict=True)):
        return 0.0
    worth = _worth(question, prices)
    for stock, saving, value in zip(question.stocks, proof.savings, worth, strict=True):
        if value > stock.price * proof.scale + saving:
            return 0.0
    total = sum(price * count for price, count in zip(prices, question.counts, strict=True))
    total -= sum(saving * (board.on_hand or 0) for saving, board in zip(proof.savings, boards, strict=True))
    return max(0, -(-total // proof.scale)) * proof.price_unit


def _worth(question: Question, prices: Sequence[int]) -> list[int]:
    """What each board is worth when it is as full as it can be."""
    lines = {state: np.full(question.longest + 1, NEVER, dtype=np.int64) for state in range(question.alike + 1)}
    lines[0][:] = 0
    worth = [max((prices[kind] for kind in stock.alone), default=0) for stock in question.stocks]
    for kind, width in enumerate(question.widths):
        for _ in range(min(question.counts[kind], question.longest // max(1, min(width.first, width.width)) + 1)):
            lines = _with_one_more(question, kind, prices[kind], lines)
        if kind + 1 == len(question.widths) or question.widths[kind + 1].high > width.high:
            for place, stock in enumerate(question.stocks):
                rooms = stock.room[width.high]
                worth[place] = max(worth[place], *(int(lines[at][rooms[at]]) for at in lines if rooms[at] >= 0), 0)
    return worth


def _with_one_more(question: Question, kind: int, price: int, lines: dict[int, Whole]) -> dict[int, Whole]:
    """Every line with the choice of one more piece of a kind."""
    width = question.widths[kind]
    more = {state: line.copy() for state, line in lines.items()}
    for state, line in lines.items():
        if state == question.alike and (width.low == 0 or width.low != width.high):
            continue
        to = state if state == question.alike else question.after(state, kind, 1)
        _raise(more[to], width.width, line + price)
    if width.low and width.low == width.high:
        _raise(more[question.alike], width.first, np.full(question.longest + 1, price, dtype=np.int64))
    return more


def _raise(line: Whole, width: int, value: Whole) -> None:
    """Put a value where it is greater, so much further right."""
    if width < len(line):
        np.maximum(line[width:], value[: len(line) - width], out=line[width:])
