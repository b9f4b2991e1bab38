"""What the question in whole numbers knows of its boards."""

from railbook.cutting.grains import in_whole
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.whole import Question


def asked(*boards: Board) -> Question:
    """One piece of 20 and one of 47 7/8, grain 1/8."""
    pieces = [Piece("A", 20.0), Piece("B", 47.875)]
    return in_whole(pieces, boards, Saw(kerf=1 / 8, grain=1 / 8)).question


def test_prices_a_step_apart() -> None:
    """3.24, 4.49 and 5.74 are 1.25 apart: in cents 324 and 125, though nothing divides the three of them."""
    question = asked(Board("4 ft", 48.0, 3.24), Board("5 ft", 60.0, 4.49), Board("6 ft", 72.0, 5.74))

    first, step = question.price_step

    assert (first * question.price_unit, step * question.price_unit) == (3.24, 1.25)


def test_prices_without_a_step() -> None:
    question = asked(Board("4 ft", 48.0, 3.24), Board("5 ft", 60.0, 4.49), Board("6 ft", 72.0, 4.50))

    assert question.price_step[1] == 1


def test_a_board_that_a_piece_fills_to_a_hair_holds_it_alone() -> None:
    """In grains of 1/8, 47.9 counts as 48 and 47.95 is room for 47 7/8 only; but 47.9 is less than 47.95."""
    pieces = [Piece("A", 20.0), Piece("B", 47.9)]

    question = in_whole(pieces, [Board("4 ft", 47.95, 3.0)], Saw(kerf=1 / 8, grain=1 / 8)).question

    assert question.stocks[0].alone == (0,)
    assert question.holds(question.stocks[0], {0: 1})
    assert not question.holds(question.stocks[0], {0: 1, 1: 1})
