"""What a plan says that it costs is what its boards cost; its bound and what it would cost by hand go with that."""

import random
from math import fsum

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from railbook.cutting.pieces import Board, Material, Piece, Saw
from railbook.cutting.plan import plan
from railbook.cutting.proof import check_bound
from railbook.cutting.result import Plan
from tests.cutting.drawn import ENDS_SQUARE_OR_SLOPED, EXACT, pieces_with
from tests.cutting.test_against_whole_programs import least_cost
from tests.cutting.test_plans import holds

FINEST = 1e-4  # what a price is rounded by for the search, at most
ODD_PRICES = st.sampled_from([7.333, 22 / 3, 0.1 + 0.2, 1 / 7, 11.00005, 0.00004, 99_999.99999]) | st.floats(0.0, 60.0)
ODD_BOARDS = st.lists(
    st.tuples(st.integers(28, 54), ODD_PRICES, st.none() | st.integers(0, 3)), min_size=1, max_size=3
).map(lambda drawn: [Board(f"B{at}", float(length), price, there) for at, (length, price, there) in enumerate(drawn)])


def hard(seed: int) -> Material:
    """Many lengths from boards of several lengths that cost as much as they are long, some of them on hand."""
    drawn = random.Random(seed)
    pieces = [
        Piece(str(at), float(drawn.randint(500, 6000)), count=drawn.choice([1, 2, 5, 20]))
        for at in range(drawn.choice((25, 50)))
    ]
    boards = [Board("0", 10_000.0, 10_000.0)]
    for at in range(1, drawn.choice((3, 5, 7))):
        length = float(drawn.randint(3000, 9999))
        boards.append(Board(str(at), length, length, drawn.choice((None, 3, 10))))
    return Material(tuple(pieces), tuple(boards), Saw(kerf=0.0, grain=1.0))


def adds_up(found: Plan, material: Material) -> None:
    """The money that is told of a plan is that of its boards, and the bound is no more."""
    costs = fsum(material.boards[row.board].price * row.number for row in found.boards)

    assert found.cost == pytest.approx(costs, rel=1e-12, abs=1e-12)
    assert 0 <= found.bound <= found.cost
    assert found.gap == (0.0 if found.proven else found.cost - found.bound)
    assert found.by_hand >= found.cost


@pytest.mark.parametrize("seed", [9, 17, 32])
def test_the_told_cost_of_a_hard_set_is_that_of_its_boards(seed: int) -> None:
    """Sets that are stopped before the proof, where the last step, fewer ways to cut, finds a cheaper plan as well."""
    material = hard(seed)

    adds_up(plan(*material, seconds=1.5), material)


@settings(max_examples=150)
@given(st.integers(0, 10_000), st.sampled_from((0.0, 0.01, 0.05)))
def test_a_search_that_is_stopped_early_tells_what_its_boards_cost(seed: int, seconds: float) -> None:
    material = hard(seed)

    adds_up(plan(*material, seconds=seconds), material)


@settings(max_examples=150)
@given(pieces_with(ENDS_SQUARE_OR_SLOPED, kinds=5, count=5), ODD_BOARDS, st.sampled_from((0.0, 0.02, 5.0)))
def test_a_plan_at_odd_prices_tells_what_its_boards_cost(
    pieces: list[Piece], boards: list[Board], seconds: float
) -> None:
    """A third of a coin is no whole number of ten-thousandths, in which the search counts."""
    material = Material(tuple(pieces), tuple(boards), EXACT)
    found = plan(*material, seconds=seconds)

    adds_up(found, material)
    holds(found, material)


@settings(max_examples=40)
@given(pieces_with(ENDS_SQUARE_OR_SLOPED, kinds=3, count=4), ODD_BOARDS, st.sampled_from((0.0, 30.0)))
def test_no_plan_undercuts_the_bound_at_odd_prices(pieces: list[Piece], boards: list[Board], seconds: float) -> None:
    """Against another program with the prices as they are; a proven plan has the best cost but for the rounding."""
    endless = [board._replace(on_hand=None) for board in boards]
    best, found = least_cost(pieces, endless, EXACT), plan(pieces, endless, EXACT, seconds=seconds)

    if best is not None:
        assert check_bound(pieces, endless, EXACT, found.proof) <= best * (1 + 1e-9)
        assert found.bound <= best * (1 + 1e-9) + (FINEST * found.board_count if found.proven else 0.0)
        assert found.cost <= best * (1 + 1e-9) + FINEST * sum(p.count for p in pieces) or not found.proven


def test_a_board_on_hand_longer_than_any_price_is_cut() -> None:
    """120 m in the yard, in millimetres: its length is no price too much."""
    found = plan(
        [Piece("A", 3000.0)], [Board("yard", 120_000.0, 0.0, 1), Board("4 m", 4000.0, 5.0)], Saw(3.0, grain=0.25)
    )

    assert [board.mark for board in found.boards] == ["yard"]
