"""The cost of small plans against another program, which sees every way to fill every board."""

from collections.abc import Sequence
from functools import cache
from itertools import permutations, product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from railbook.cutting.geometry import Placed, needed_length
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.plan import plan
from railbook.cutting.proof import check_bound
from tests.cutting.drawn import (
    BOARDS,
    ENDS_NEARLY_ALIKE,
    ENDS_OF_ALL_KINDS,
    ENDS_OF_ONE_ANGLE,
    ENDS_SQUARE_OR_SLOPED,
    EXACT,
    pieces_with,
)


@cache
def least(pieces: tuple[Placed, ...], saw: Saw) -> float:
    """The least length over every order of every turn."""
    turned = [{(p.left, p.right), (p.right, p.left), (-p.right, -p.left), (-p.left, -p.right)} for p in pieces]
    lying = [[Placed(p.length, *leans) for leans in sorted(ways)] for p, ways in zip(pieces, turned, strict=True)]
    return min(needed_length(row, saw) for order in set(permutations(range(len(pieces))))
               for row in product(*(lying[at] for at in order)))  # fmt: skip


def fillings(pieces: Sequence[Piece], board: Board, saw: Saw) -> list[tuple[int, ...]]:
    """Every number of each piece that goes into one board."""
    between = board.length - 2 * saw.trim
    fits = []
    for counts in product(*(range(piece.count + 1) for piece in pieces)):
        row = tuple(Placed(p.length, p.left, p.right) for p, n in zip(pieces, counts, strict=True) for _ in range(n))
        if row and sum(p.length for p in row) <= between and least(tuple(sorted(row)), saw) <= between + 1e-9:
            fits.append(counts)
    return fits


def least_cost(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> float | None:
    """The least cost over all mixtures of fillings; None when the boards do not suffice."""
    columns = [(at, counts) for at, board in enumerate(boards) for counts in fillings(pieces, board, saw)]
    if not columns:
        return None
    prices = [boards[at].price for at, _ in columns]
    cover = np.array([counts for _, counts in columns], dtype=float).T
    stock = np.array([[float(at == place) for at, _ in columns] for place in range(len(boards))])
    on_hand = [np.inf if board.on_hand is None else board.on_hand for board in boards]
    found = milp(
        prices,
        constraints=[LinearConstraint(cover, [piece.count for piece in pieces]), LinearConstraint(stock, ub=on_hand)],
        integrality=np.ones(len(columns)),
        bounds=Bounds(0, np.inf),
        options={"mip_rel_gap": 0.0},
    )
    return float(found.fun) if found.success else None


def same_cost(pieces: list[Piece], boards: list[Board]) -> None:
    best, found = least_cost(pieces, boards, EXACT), plan(pieces, boards, EXACT, seconds=30.0)

    assert (best is None) == bool(found.missing or found.too_long)
    if best is not None:
        assert found.proven
        assert abs(found.cost - best) < 1e-6
        assert check_bound(pieces, boards, EXACT, found.proof) <= best + 1e-6


def encloses_the_best(pieces: list[Piece], boards: list[Board]) -> None:
    """Bound and plan enclose the best cost; a proven plan has it."""
    endless = [board._replace(on_hand=None) for board in boards]
    best, found = least_cost(pieces, endless, EXACT), plan(pieces, endless, EXACT, seconds=30.0)

    assert (best is None) == bool(found.too_long)
    if best is not None:
        assert found.bound <= best + 1e-6
        assert found.cost >= best - 1e-6
        assert not found.proven or abs(found.cost - best) < 1e-6


@settings(max_examples=50)
@given(pieces_with(ENDS_SQUARE_OR_SLOPED, kinds=3, count=4), BOARDS)
def test_squares_and_parallelograms_of_several_slopes(pieces: list[Piece], boards: list[Board]) -> None:
    same_cost(pieces, boards)


@settings(max_examples=50)
@given(pieces_with(ENDS_OF_ONE_ANGLE, kinds=3, count=4), BOARDS)
def test_any_ends_of_one_angle(pieces: list[Piece], boards: list[Board]) -> None:
    same_cost(pieces, boards)


@settings(max_examples=40)
@given(pieces_with(ENDS_NEARLY_ALIKE, kinds=3, count=3), BOARDS)
def test_slopes_that_hardly_differ_are_one_and_promise_nothing_wrong(pieces: list[Piece], boards: list[Board]) -> None:
    """Two flights are seldom measured alike: 36.87 and 36.89 degrees."""
    encloses_the_best(pieces, boards)


def test_posts_of_two_flights_that_hardly_differ_are_proven() -> None:
    """Plumb cut at 35.09 and 35.06 degrees; three square ones."""
    posts = [
        Piece("level", 44.75, count=3),
        Piece("left", 48.58, left=0.0, right=0.7025),
        Piece("right", 46.58, left=0.7017, right=0.0),
    ]
    boards = [Board("8 ft", 96.0, 13.9), Board("12 ft", 144.0, 22.9)]
    found = plan(posts, boards, EXACT._replace(depth=3.5), seconds=30.0)

    assert found.proven
    assert abs(found.cost - (least_cost(posts, boards, EXACT._replace(depth=3.5)) or 0.0)) < 1e-6


@settings(max_examples=40)
@given(pieces_with(ENDS_OF_ALL_KINDS, kinds=3, count=3), BOARDS)
def test_what_is_rare_is_never_promised_too_much(pieces: list[Piece], boards: list[Board]) -> None:
    """Mixtures of several angles may be charged too much, but bound and plan enclose the best cost."""
    encloses_the_best(pieces, boards)


@settings(max_examples=40)
@given(
    pieces_with([(0.0, 0.0)], kinds=6, count=9, shortest=8),
    st.integers(1, 3),
    st.sampled_from([(3.1, 3.77, 5.05), (3.24, 4.49, 5.74), (2.98, 3.48, 4.98)]),
)
def test_many_square_pieces(pieces: list[Piece], boards: int, prices: tuple[float, ...]) -> None:
    """More pieces, so without orders: squares need their lengths and the kerfs between them.

    Some prices are 1.25 or 0.50 apart, which the search makes use of.
    """
    lengths = (("4 ft", 48.0), ("5 ft", 60.0), ("7 ft", 84.0))
    some = [Board(*board, price) for board, price in zip(lengths, prices, strict=True)][:boards]
    shown = [piece for piece in pieces if piece.length <= some[-1].length - 0.5]
    columns = [(board, counts) for board in some for counts in _square_fillings(shown, board)]
    if not columns:
        return
    cover = np.array([counts for _, counts in columns], dtype=float).T
    best = milp(
        [board.price for board, _ in columns],
        constraints=LinearConstraint(cover, [piece.count for piece in shown]),
        integrality=np.ones(len(columns)),
        options={"mip_rel_gap": 0.0},
    )

    assert abs(plan(shown, some, EXACT, seconds=30.0).cost - best.fun) < 1e-6


def _square_fillings(pieces: Sequence[Piece], board: Board) -> list[tuple[int, ...]]:
    """What fills a board so that no other piece goes in beside: less is never needed to cover the pieces."""
    between = board.length - 2 * EXACT.trim + EXACT.kerf
    most = [range(min(piece.count, int(between / (piece.length + EXACT.kerf))) + 1) for piece in pieces]
    takes = [piece.length + EXACT.kerf for piece in pieces]
    left = {counts: between - sum(n * t for n, t in zip(counts, takes, strict=True)) for counts in product(*most)}
    return [
        counts
        for counts, room in left.items()
        if any(counts) and room >= -1e-9
        and all(n == p.count or room < t - 1e-9 for n, p, t in zip(counts, pieces, takes, strict=True))
    ]  # fmt: skip
