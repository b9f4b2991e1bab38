"""The same boards with less waste: what is left is brought together in offcuts that are worth keeping."""

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

from railbook.cutting.layout import Row, laid_out
from railbook.cutting.pieces import Board, Piece, Saw

MOST_BOARDS = 40  # in larger plans moving single pieces takes long and gains little

Lying = list[tuple[int, tuple[int, ...]]]  # board and pieces, board by board


def gathered(rows: Sequence[Row], pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> list[Row]:
    """Move single pieces to other boards as long as more is left in offcuts worth keeping.

    Without kerf, 60 and 16, 50 and 16 on two boards of 96 leave 20 and 30; with both 16 beside the 60, 46 are left.

    >>> four = [Piece("A", 60.0), Piece("B", 50.0), Piece("C", 16.0, count=2)]
    >>> gathered([Row(0, 1, (0, 2)), Row(0, 1, (1, 2))], four, [Board("8 ft", 96.0, 6.0)], Saw(0.0, shortest_offcut=24))
    [Row(board=0, number=1, pieces=(0, 2, 2)), Row(board=0, number=1, pieces=(1,))]
    """
    lying = [(row.board, row.pieces) for row in rows for _ in range(row.number)]
    if math.isinf(saw.shortest_offcut) or len(lying) > MOST_BOARDS:
        return list(rows)
    better = _better(lying, pieces, boards, saw)
    while better is not None:
        lying = better
        better = _better(lying, pieces, boards, saw)
    return [Row(board, len(list(same)), held) for (board, held), same in groupby(sorted(lying))]


def _better(lying: Lying, pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> Lying | None:
    """The move of one piece that leaves most worth keeping; None when no move leaves more than now."""
    best, gain = None, 1e-6
    kept = [_kept(board, held, pieces, boards, saw) or 0.0 for board, held in lying]
    for giver, taker, piece in _moves(lying):
        (board, held), (other, others) = lying[giver], lying[taker]
        fewer, more = list(held), tuple(sorted((*others, piece)))
        fewer.remove(piece)
        most = _kept(other, more, pieces, boards, saw)
        least = None if most is None else _kept(board, tuple(fewer), pieces, boards, saw)
        gained = -1.0 if most is None or least is None else most + least - kept[giver] - kept[taker]
        if gained > gain:
            changed = {giver: (board, tuple(fewer)), taker: (other, more)}
            best, gain = [changed.get(at, was) for at, was in enumerate(lying)], gained
    return best


def _moves(lying: Lying) -> Iterator[tuple[int, int, int]]:
    """Every piece that has company, to every other board."""
    for giver, (_, held) in enumerate(lying):
        for piece in sorted(set(held)) if len(held) > 1 else ():
            yield from ((giver, taker, piece) for taker in range(len(lying)) if taker != giver)


def _kept(
    board: int, held: tuple[int, ...], pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw
) -> float | None:
    """The offcut of a board if it is worth keeping, else 0; None where the pieces do not fit."""
    between = boards[board].length - 2 * saw.trim
    if sum(pieces[place].length for place in held) > between:
        return None
    cut = laid_out(Row(board, 1, held), pieces, boards[board], saw)
    if cut.used > between + 1e-9:
        return None
    return cut.offcut if cut.offcut >= saw.shortest_offcut else 0.0
