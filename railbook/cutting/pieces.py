"""What the cutting plan is asked: pieces, boards and the saw; and what is wrong with the question.

A lean is the tangent of a cut's angle from square, positive when the top of the cut lies further right.
Plain lumber may be turned every way, so that only the size of each lean matters.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

NOT_A_NUMBER = "not a number"
NOT_POSITIVE = "not positive"
NEGATIVE = "negative"
NOT_WHOLE = "not a whole number"
SHORTER_THAN_ITS_CUTS = "shorter than its cuts"
SHORTER_THAN_KERF = "shorter than the kerf"
NOTHING_BETWEEN_TRIMS = "nothing left between the trims"
NO_BOARDS = "no boards"
GRAIN_TOO_FINE = "too long for the grain"
TOO_MUCH = "too much"

PLAN, SAW, PIECE, BOARD = "plan", "saw", "piece", "board"

FINEST = 600_000  # grains on the longest board: the tables that search for patterns must fit into memory
DEAREST = 100_000.0  # of one board: sums stay exact in whole numbers
MOST = 1_000_000  # pieces or boards of one kind


@dataclass(frozen=True)
class Piece:
    """Pieces to cut, all alike; lengths in the caller's unit.

    Attributes:
        mark: what the caller calls them.
        length: along the mid-line: the mean of the two edges (see `mid_line`). The edge length of a
            parallelogram; the length of a square piece.
        left: lean of the left end.
        right: lean of the right end.
        count: how many.
    """

    mark: str
    length: float
    left: float = 0.0
    right: float = 0.0
    count: int = 1


class Board(NamedTuple):
    """Boards of one length.

    Attributes:
        mark: what the caller calls them.
        length: over all, in the caller's unit.
        price: of one board; 0 for one on hand that is to be used first.
        on_hand: how many there are; None for as many as one likes.
    """

    mark: str
    length: float
    price: float
    on_hand: int | None = None


class Saw(NamedTuple):
    """The saw, and what is fixed for one material; lengths in the caller's unit.

    Attributes:
        kerf: width of the blade.
        trim: wood at each end of a board that no piece may contain, the trimming cut inside it.
        depth: the width of the board that a leaning cut crosses, such as 3.5 for a 2x4 cut on edge.
        shortest_offcut: an offcut of at least this length is kept and is no waste.
        grain: the whole unit of the search. Squarely cut lengths that are multiples of it are exact, all
            others take up one grain more at the most.
    """

    kerf: float
    trim: float = 0.0
    depth: float = 0.0
    shortest_offcut: float = math.inf
    grain: float = 1 / 64


class Material(NamedTuple):
    """Everything that is cut from one section and grade.

    Attributes:
        pieces: what is needed.
        boards: what it can be cut from.
        saw: and how.
    """

    pieces: tuple[Piece, ...]
    boards: tuple[Board, ...]
    saw: Saw


class Fault(NamedTuple):
    """Something that cannot be planned with.

    Attributes:
        about: PLAN, SAW, PIECE or BOARD.
        number: its place in the list that was given, from 0; 0 for the saw and the plan.
        field: the figure that is at fault, by its name above.
        fault: one of the constants above.
    """

    about: str
    number: int
    field: str
    fault: str


def faults_in(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> tuple[Fault, ...]:
    """Everything that keeps a plan from being made.

    >>> for fault in faults_in([Piece("A", 0.1)], [Board("8 ft", 96.0, -1.0)], Saw(kerf=0.125)):
    ...     print(*fault)
    board 0 price negative
    piece 0 length shorter than the kerf
    """
    of_saw = tuple(_of_saw(saw))
    if of_saw:
        return of_saw
    if not boards:
        return (Fault(PLAN, 0, "boards", NO_BOARDS),)
    of_boards = (fault for number, board in enumerate(boards) for fault in _of_board(number, board, saw))
    of_pieces = (fault for number, piece in enumerate(pieces) for fault in _of_piece(number, piece, saw))
    return (*of_boards, *of_pieces)


def _of_saw(saw: Saw) -> Iterator[Fault]:
    """Kerf, trim, depth and offcut may be nothing, but no less; an endless offcut means: keep none."""
    for word, figure in zip(saw._fields, saw, strict=True):
        if math.isnan(figure) or (math.isinf(figure) and word != "shortest_offcut"):
            yield Fault(SAW, 0, word, NOT_A_NUMBER)
        elif figure < 0:
            yield Fault(SAW, 0, word, NEGATIVE)
    if saw.grain == 0:
        yield Fault(SAW, 0, "grain", NOT_POSITIVE)


def _of_board(number: int, board: Board, saw: Saw) -> Iterator[Fault]:
    if not math.isfinite(board.length):
        yield Fault(BOARD, number, "length", NOT_A_NUMBER)
    elif board.length <= 0:
        yield Fault(BOARD, number, "length", NOT_POSITIVE)
    elif board.length <= 2 * saw.trim:
        yield Fault(BOARD, number, "length", NOTHING_BETWEEN_TRIMS)
    elif board.length / saw.grain > FINEST:
        yield Fault(BOARD, number, "length", GRAIN_TOO_FINE)
    yield from _of_price(number, board.price)
    if board.on_hand is not None:
        yield from _of_count(BOARD, number, "on_hand", board.on_hand)


def _of_price(number: int, price: float) -> Iterator[Fault]:
    if not math.isfinite(price):
        yield Fault(BOARD, number, "price", NOT_A_NUMBER)
    elif price < 0:
        yield Fault(BOARD, number, "price", NEGATIVE)
    elif price > DEAREST:
        yield Fault(BOARD, number, "price", TOO_MUCH)


def _of_piece(number: int, piece: Piece, saw: Saw) -> Iterator[Fault]:
    if not all(map(math.isfinite, (piece.length, piece.left, piece.right))):
        yield Fault(PIECE, number, "length" if not math.isfinite(piece.length) else "left", NOT_A_NUMBER)
    elif piece.length <= 0:
        yield Fault(PIECE, number, "length", NOT_POSITIVE)
    elif piece.length < saw.kerf:
        yield Fault(PIECE, number, "length", SHORTER_THAN_KERF)
    elif 2 * piece.length < saw.depth * abs(piece.right - piece.left) - 1e-9:
        yield Fault(PIECE, number, "length", SHORTER_THAN_ITS_CUTS)
    yield from _of_count(PIECE, number, "count", piece.count)


def _of_count(about: str, number: int, field: str, count: float) -> Iterator[Fault]:
    if not math.isfinite(count) or count != int(count):
        yield Fault(about, number, field, NOT_WHOLE)
    elif count < 0:
        yield Fault(about, number, field, NEGATIVE)
    elif count > MOST:
        yield Fault(about, number, field, TOO_MUCH)
