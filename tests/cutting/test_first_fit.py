"""What cutting the longest pieces first would pay, against ten plain lines that do just that."""

import random
from collections.abc import Sequence

import pytest

from railbook.cutting.grains import in_whole
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.plan import plan
from tests.cutting.instances import WITHOUT_KERF, Instance, instances

KERF = 1 / 8
EVERY = [one for name in ("pm_small", "cutgen", "triplets") for one in instances(name)]


def longest_first(pieces: Sequence[float], boards: Sequence[Board], first: Board, kerf: float) -> float:
    """Each piece, the longest first, on the first board begun that has room; else a new one, `first` if it holds it.

    In the end each board is exchanged for the cheapest that holds what is cut from it.
    """
    begun: list[list[float]] = []
    room: list[float] = []
    for piece in sorted(pieces, reverse=True):
        at = next((at for at, left in enumerate(room) if left >= piece), None)
        if at is None:
            long = sorted(boards, key=lambda board: -board.length)
            begun.append([])
            room.append(next(board.length for board in (first, *long) if board.length >= piece))
            at = len(room) - 1
        begun[at].append(piece)
        room[at] -= piece + kerf
    used = [sum(cut) + kerf * (len(cut) - 1) for cut in begun]
    return sum(min(board.price for board in boards if board.length >= length) for length in used)


def told(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> float:
    """What a plan says that it would cost by hand."""
    return plan(pieces, boards, saw, seconds=0.0).by_hand


def drawn(seed: int, number: int) -> tuple[list[float], list[Board]]:
    """So many pieces in sixteenths, most of a length of their own, and boards at odd prices."""
    draw = random.Random(seed)
    boards = [Board(f"{feet} ft", 12.0 * feet, round(feet * draw.uniform(0.6, 1.1), 2)) for feet in (8, 10, 12, 16)]
    return [draw.randint(10 * 16, 94 * 16) / 16 for _ in range(number)], boards


@pytest.mark.parametrize("number", [40, 400, 2_000])
@pytest.mark.parametrize("seed", range(3))
def test_what_the_longest_first_would_pay_is_what_a_person_would_pay(seed: int, number: int) -> None:
    """The cheapest of beginning with each board; with few lengths and with more than a thousand."""
    lengths, boards = drawn(seed, number)
    pieces = [Piece(str(at), length) for at, length in enumerate(lengths)]
    kinds = len(in_whole(pieces, boards, Saw(KERF)).question.widths)

    assert kinds > 0.5 * min(number, 1_344)  # there are 1,344 sixteenths from 10 to 94
    assert told(pieces, boards, Saw(KERF)) == pytest.approx(
        min(longest_first(lengths, boards, first, KERF) for first in boards)
    )


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
def test_the_longest_first_from_boards_of_one_length(one: Instance) -> None:
    """First-fit-decreasing needs at most 11/9 of the best number and 6/9 of a board more (Dosa 2007)."""
    lengths = [piece.length for piece in one.pieces for _ in range(piece.count)]
    boards = told(one.pieces, [one.board], WITHOUT_KERF)

    assert boards == longest_first(lengths, [one.board], one.board, 0.0)
    assert one.optimum <= boards <= 11 / 9 * one.optimum + 6 / 9


def test_like_pieces_are_put_down_one_by_one() -> None:
    """By hand, 5 of 50, 7 of 30 and 9 of 19 from 100: 50 50, 50 50, 50 30 19, 30 30 30, 30 30 30, 19 x 5, 19 x 3."""
    pieces = [Piece("A", 50.0, count=5), Piece("B", 30.0, count=7), Piece("C", 19.0, count=9)]

    assert told(pieces, [Board("board", 100.0, 1.0)], WITHOUT_KERF) == 7.0
