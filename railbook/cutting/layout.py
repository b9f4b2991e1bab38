"""Real pieces for kinds of width: which piece lies where on which board."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from railbook.cutting.first_fit import Use
from railbook.cutting.geometry import Placed, best_order, gap, needed_length, sec
from railbook.cutting.master import NO_STOCK, Cut
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.result import CutBoard, CutPiece
from railbook.cutting.whole import Question


class Row(NamedTuple):
    """Boards cut alike, as places of boards and pieces.

    Attributes:
        board: place in the list that was given.
        number: how many.
        pieces: places in the list that was given.
    """

    board: int
    number: int
    pieces: tuple[int, ...]


def trimmed(question: Question, use: Use) -> Use:
    """Leave out what is cut too often, from the boards that have most left already."""
    surplus = [-count for count in question.counts]
    for cut, number in use:
        for kind, copies in cut.pattern:
            surplus[kind] += copies * number
    lots = [(cut, number) for cut, number in use if number]
    for kind, many in enumerate(surplus):
        for _ in range(many):
            lots = _one_less(question, lots, kind)
    return tuple((cut, number) for cut, number in lots if cut.pattern)


def _one_less(question: Question, lots: list[tuple[Cut, int]], kind: int) -> list[tuple[Cut, int]]:
    """Take one piece off the board that has most left."""
    with_it = [at for at, (cut, _) in enumerate(lots) if any(one == kind for one, _ in cut.pattern)]
    at = max(with_it, key=lambda place: (_spare(question, lots[place][0]), -place))
    cut, number = lots[at]
    fewer = tuple((one, copies - (one == kind)) for one, copies in cut.pattern if copies > (one == kind))
    rest = [(cut, number - 1)] if number > 1 else []
    return [*lots[:at], (Cut(cut.stock, fewer), 1), *rest, *lots[at + 1 :]]


def _spare(question: Question, cut: Cut) -> int:
    """What is left of a board [grains]; a piece without a board is the first to be left out."""
    if cut.stock == NO_STOCK:
        return question.longest + 1
    return question.stocks[cut.stock].most_room - sum(
        int(question.taken[kind]) * copies for kind, copies in cut.pattern
    )


def rows_of(use: Use, places: Sequence[Sequence[int]], pieces: Sequence[Piece]) -> list[Row]:
    """Hand the real pieces out to the boards, in the order they were given; boards cut alike gathered."""
    waiting = [_queue(kind, pieces) for kind in places]
    ordered = sorted(use, key=lambda part: (part[0].stock, part[0].pattern))
    dealt = (
        (cut.stock, tuple(next(waiting[kind]) for kind, copies in cut.pattern for _ in range(copies)))
        for cut, number in ordered
        if cut.stock != NO_STOCK
        for _ in range(number)
    )
    return [Row(stock, len(list(same)), dealt_pieces) for (stock, dealt_pieces), same in groupby(dealt)]


def without_board(use: Use, places: Sequence[Sequence[int]], pieces: Sequence[Piece]) -> tuple[tuple[int, int], ...]:
    """The pieces that get no board, and how many: the last of each kind."""
    number: Counter[int] = Counter()
    for cut, times in use:
        if cut.stock == NO_STOCK:
            number.update({kind: copies * times for kind, copies in cut.pattern})
    missing: Counter[int] = Counter()
    for kind, many in number.items():
        missing.update(list(_queue(places[kind], pieces))[-many:])
    return tuple(sorted(missing.items()))


def _queue(kind: Sequence[int], pieces: Sequence[Piece]) -> Iterator[int]:
    """The pieces of one kind, one by one."""
    return (place for place in kind for _ in range(int(pieces[place].count)))


def laid_out(row: Row, pieces: Sequence[Piece], board: Board, saw: Saw) -> CutBoard:
    """Put a board's pieces in the order that needs least, and say where each begins.

    Three stair rails with an edge of 40 at 3/4: the first mark on the mid-line stands half a wedge behind the trim.

    >>> three = [Piece("A", 40.0, 0.75, 0.75, 3)]
    >>> cut = laid_out(Row(0, 1, (0, 0, 0)), three, Board("12 ft", 144.0, 9.0), Saw(1 / 8, 1 / 4, 3.5))
    >>> [piece.start for piece in cut.pieces], cut.used, cut.offcut
    ([1.5625, 41.71875, 81.875], 122.9375, 20.40625)
    """
    placed = [Placed(pieces[place].length, pieces[place].left, pieces[place].right) for place in row.pieces]
    turns = best_order(placed, saw)
    lying = [Placed(placed[turn.piece].length, turn.left, turn.right) for turn in turns]
    used = needed_length(lying, saw)
    spare = board.length - 2 * saw.trim - used
    start, cut = saw.trim + saw.depth / 2 * abs(lying[0].left), []
    for at, (turn, piece) in enumerate(zip(turns, lying, strict=True)):
        place = row.pieces[turn.piece]
        start += gap(lying[at - 1].right, piece.left, saw) if at else 0.0
        cut.append(CutPiece(place, pieces[place].mark, start, piece.length, piece.left, piece.right))
        start += piece.length
    offcut = max(0.0, spare - saw.kerf * sec(lying[-1].right))
    return CutBoard(row.board, board.mark, row.number, tuple(cut), used, offcut)
