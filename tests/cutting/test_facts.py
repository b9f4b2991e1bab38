"""Published worked examples of buying and cutting boards."""

import pytest

from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.plan import plan
from tests.cutting.instances import WITHOUT_KERF

FEET = (8, 10, 12, 14, 16, 18, 20)


def test_nine_pieces_of_36_inches() -> None:
    """US Army course EN0069A, lesson 4: three boards of 10 ft, with or without kerf; five of 8 ft."""
    nine = [Piece("A", 36.0, count=9)]

    for kerf in (0.0, 1 / 8):
        assert plan(nine, [Board("10 ft", 120.0, 1.0)], Saw(kerf)).board_count == 3
        assert plan(nine, [Board("8 ft", 96.0, 1.0)], Saw(kerf)).board_count == 5


@pytest.mark.parametrize(
    ("length", "count", "feet", "waste"),
    [(54.0, 2, 10, 12.0), (36.0, 2, 8, 24.0), (28.0, 4, 10, 8.0), (110.0, 1, 10, 10.0)],
)
def test_the_board_with_least_waste(length: float, count: int, feet: int, waste: float) -> None:
    """US Army course EN0069A, pages 95, 96, 133 and 132, without kerf; boards priced by the foot."""
    boards = [Board(f"{foot} ft", 12.0 * foot, float(foot)) for foot in FEET]

    found = plan([Piece("A", length, count=count)], boards, Saw(kerf=0.0, shortest_offcut=0.0))

    assert [(board.mark, board.number, board.offcut) for board in found.boards] == [(f"{feet} ft", 1, waste)]


@pytest.mark.parametrize(("kerf", "boards"), [(0.0, 1), (1 / 8, 2)])
def test_kerf_counts_at_round_numbers(kerf: float, boards: int) -> None:
    """Four pieces of 24 from 8 ft: by hand, 96 without kerf, 96 3/8 with three cuts of 1/8."""
    assert plan([Piece("A", 24.0, count=4)], [Board("8 ft", 96.0, 1.0)], Saw(kerf)).board_count == boards


@pytest.mark.parametrize(("length", "kerf", "boards"), [(32.0, 0.0, 13), (32.0, 1 / 8, 20), (31.875, 1 / 8, 13)])
def test_balusters_an_eighth_shorter_save_seven_boards(length: float, kerf: float, boards: int) -> None:
    """39 balusters from 8 ft: by hand, three a board or two; 3 x 31 7/8 and two cuts are 95 7/8."""
    assert plan([Piece("A", length, count=39)], [Board("8 ft", 96.0, 1.0)], Saw(kerf)).board_count == boards


def test_the_paper_roll_example() -> None:
    """Thirteen widths from rolls of 5600: 73 rolls are best.

    Data and bound from the public example of the cutting-stock problem (EPFL Graph Search, concept 826868).
    First-fit-decreasing needs 82.
    """
    demand = {
        1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12, 2100: 14,
        2140: 16, 2150: 18, 2200: 20,
    }  # fmt: skip
    rolls = [Piece(str(width), float(width), count=count) for width, count in demand.items()]

    found = plan(rolls, [Board("roll", 5600.0, 1.0)], WITHOUT_KERF)

    assert (found.cost, found.proven, found.by_hand) == (73.0, True, 82.0)
