"""The room that mitred pieces need: worked by hand, against every order.

Polygons laid side by side: test_plans.
"""

import math
from collections.abc import Sequence
from itertools import permutations, product

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from railbook.cutting.geometry import Placed, best_order, lost, needed_length, sec
from railbook.cutting.pieces import Saw

RAIL, CAP = Saw(kerf=1 / 8, depth=3.5), Saw(kerf=1 / 8, depth=5.5)
STAIR, LEVEL = Placed(40.0, 0.75, 0.75), Placed(30.0)
PLUMB_END = Placed(38.6875, 0.0, 0.75)  # 40 to the long point less half of 3 1/2 * 3/4
MITRED_CAP = Placed(54.5, 1.0, -1.0)  # 60 to the long points less 5 1/2

LEANS = st.sampled_from([0.0, 0.5, -0.5, 0.75, -0.75, 1.0, -1.0])
PIECES = st.builds(Placed, length=st.integers(6, 40).map(float), left=LEANS, right=LEANS)


def least(pieces: Sequence[Placed], saw: Saw) -> float:
    """Best order's length."""
    turns = best_order(pieces, saw)
    return needed_length([Placed(pieces[turn.piece].length, turn.left, turn.right) for turn in turns], saw)


def turns(piece: Placed) -> list[Placed]:
    """The four ways in which plain lumber can lie."""
    length, left, right = piece
    return [piece, Placed(length, right, left), Placed(length, -right, -left), Placed(length, -left, -right)]


@pytest.mark.parametrize(
    ("pieces", "saw", "length"),
    [
        ([STAIR] * 3, RAIL, 122 + 15 / 16),
        ([LEVEL, STAIR, LEVEL, STAIR], RAIL, 143 + 1 / 16),
        ([Placed(40.0, 0.5, 0.5), Placed(50.0, -0.75, -0.75)], RAIL, 92 + 25 / 32),
        ([PLUMB_END], RAIL, 40.0),
        ([PLUMB_END] * 2, RAIL, 77 + 17 / 32),
        ([MITRED_CAP], CAP, 60.0),
        ([MITRED_CAP] * 2, CAP, 2 * 54.5 + 5.5 + math.sqrt(2) / 8),
        ([MITRED_CAP] * 5, CAP, 5 * 54.5 + 5.5 + 4 * math.sqrt(2) / 8),
    ],
)
def test_worked_lengths(pieces: list[Placed], saw: Saw, length: float) -> None:
    """By hand: wedge 3 1/2 * 3/4 = 2 5/8, kerf along a cut at 3/4: 1/8 * 5/4 = 5/32; kerf at 45 degrees 0.1768."""
    assert least(pieces, saw) == pytest.approx(length, abs=1e-9)


@settings(max_examples=60)
@given(st.lists(PIECES, min_size=1, max_size=4))
def test_no_order_and_no_turn_needs_less(pieces: list[Placed]) -> None:
    """Against every order of every turn."""
    rows = (row for order in permutations(pieces) for row in product(*map(turns, order)))

    assert least(pieces, RAIL) == pytest.approx(min(needed_length(row, RAIL) for row in rows), abs=1e-9)


@settings(max_examples=200)
@given(st.lists(PIECES, min_size=1, max_size=6))
@example([*[Placed(1.0, 0.0, 1.0)] * 2, Placed(1.0, 0.5, 0.5), Placed(1.0, 0.75, 0.75)])
def test_what_a_set_loses_is_what_its_best_order_needs(pieces: list[Placed]) -> None:
    """The formula over slopes and crossings against the row itself; two neighbours may be passed over by one piece."""
    slopes = sorted({abs(lean) for piece in pieces for lean in (piece.left, piece.right)})
    ends = [sorted((abs(piece.left), abs(piece.right))) for piece in pieces]
    crossing = [sum(low <= step < high for low, high in ends) for step in slopes[:-1]]
    widths = sum(piece.length + RAIL.kerf / 2 * (sec(piece.left) + sec(piece.right)) for piece in pieces)

    state = [0 if not count else 2 - count % 2 for count in crossing]

    over = [at for at, slope in enumerate(slopes) if any(low < slope < high for low, high in ends)]
    charged = widths + lost(slopes, state, RAIL, passed_over=over)

    assert charged >= least(pieces, RAIL) - 1e-9
    assert over or charged == pytest.approx(least(pieces, RAIL), abs=1e-9)


@settings(max_examples=100)
@given(st.lists(PIECES, min_size=2, max_size=6), st.integers(0, 5))
def test_a_piece_fewer_never_needs_more(pieces: list[Placed], without: int) -> None:
    """So a plan that cuts a piece too often can leave it out."""
    at = without % len(pieces)

    assert least([*pieces[:at], *pieces[at + 1 :]], RAIL) <= least(pieces, RAIL) + 1e-9


def test_the_row_that_was_worked_by_hand_is_measured_as_it_stands() -> None:
    """Two level and two stair rails badly mixed pay the wedge at every change: 3 more half wedges of 1 5/16."""
    mixed = [LEVEL, STAIR, LEVEL, STAIR]

    assert needed_length(mixed, RAIL) == 140 + 3 * 5 / 32 + 3 * (1 + 5 / 16) + 1 + 5 / 16
