"""Every plan can be sawn: each piece once, no board overfull as polygons, money and proof add up."""

import math
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from railbook.cutting import plan as story
from railbook.cutting.geometry import sec
from railbook.cutting.pieces import (
    BOARD,
    NEGATIVE,
    NO_BOARDS,
    NOT_A_NUMBER,
    NOT_POSITIVE,
    NOTHING_BETWEEN_TRIMS,
    PIECE,
    PLAN,
    SAW,
    SHORTER_THAN_ITS_CUTS,
    SHORTER_THAN_KERF,
    Board,
    Fault,
    Material,
    Piece,
    Saw,
)
from railbook.cutting.plan import plan, plan_all
from railbook.cutting.proof import check_bound
from railbook.cutting.result import CutBoard, CutPiece, Plan
from tests.benchmarks.jobs import job
from tests.cutting.drawn import BOARDS, ENDS_OF_ALL_KINDS, EXACT, pieces_with

EIGHT, TEN = Board("8 ft", 96.0, 6.0), Board("10 ft", 120.0, 7.0)
PLAIN = Saw(kerf=1 / 8)


def polygon(piece: CutPiece, depth: float) -> Polygon:
    """A piece as it lies; the mid-line at height 0."""
    half, end = depth / 2, piece.start + piece.length
    return Polygon(
        [
            (piece.start - half * piece.left, -half),
            (end - half * piece.right, -half),
            (end + half * piece.right, half),
            (piece.start + half * piece.left, half),
        ]
    )


def kerf(place: float, lean: float, width: float, depth: float) -> Polygon:
    """The strip that the saw takes, from a cut at a place on the mid-line to one side of it."""
    half = depth / 2
    near, far = sorted((place, place + width))
    return Polygon(
        [(near - half * lean, -half), (far - half * lean, -half), (far + half * lean, half), (near + half * lean, half)]
    )


def can_be_sawn(cut: CutBoard, board: Board, saw: Saw) -> None:
    """As polygons: between the trims, and the saw touches nobody's neighbour."""
    shapes = [polygon(piece, saw.depth) for piece in cut.pieces]
    left, right = min(shape.bounds[0] for shape in shapes), max(shape.bounds[2] for shape in shapes)
    assert left >= saw.trim - 1e-6
    assert right <= board.length - saw.trim + 1e-6
    assert right - left == pytest.approx(cut.used, abs=1e-6)
    for (one, shape), (other, next_shape) in pairwise(zip(cut.pieces, shapes, strict=True)):
        after = kerf(one.start + one.length, one.right, saw.kerf * sec(one.right), saw.depth)
        before = kerf(other.start, other.left, -saw.kerf * sec(other.left), saw.depth)
        assert after.intersection(next_shape).area < 1e-6
        assert before.intersection(shape).area < 1e-6
    lost = saw.kerf * sec(cut.pieces[-1].right)
    assert cut.offcut == pytest.approx(max(0.0, board.length - saw.trim - right - lost), abs=1e-6)


def holds(found: Plan, material: Material) -> None:
    """What must hold for every plan."""
    pieces, boards, saw = material
    cut = Counter[int]()
    for row in found.boards:
        can_be_sawn(row, boards[row.board], saw)
        cut.update({piece: number * row.number for piece, number in Counter(p.piece for p in row.pieces).items()})
        assert all(
            (abs(p.left), abs(p.right)) in {(abs(a.left), abs(a.right)), (abs(a.right), abs(a.left))}
            and p.length == a.length
            for p, a in ((piece, pieces[piece.piece]) for piece in row.pieces)
        )
    missing = dict(found.missing)
    for place, piece in enumerate(pieces):
        assert cut[place] == (0 if place in found.too_long else piece.count - missing.get(place, 0))
    for place, board in enumerate(boards):
        used = sum(row.number for row in found.boards if row.board == place)
        assert board.on_hand is None or used <= board.on_hand
    assert found.cost == pytest.approx(sum(boards[row.board].price * row.number for row in found.boards))
    assert found.bound <= found.cost + 1e-9
    assert found.cost <= found.by_hand + 1e-9
    if not found.missing:
        assert check_bound(pieces, boards, saw, found.proof) <= found.bound + 1e-9


@settings(max_examples=60)
@given(pieces_with(ENDS_OF_ALL_KINDS, kinds=7, count=5), BOARDS)
def test_every_plan_can_be_sawn(pieces: list[Piece], boards: list[Board]) -> None:
    material = Material(tuple(pieces), tuple(boards), EXACT)

    holds(plan(*material, seconds=20.0), material)


@pytest.mark.parametrize("custom", [False, True])
@pytest.mark.parametrize("sections", [10, 30])
def test_railing_jobs_are_within_one_board_of_the_bound(sections: int, custom: bool) -> None:  # noqa: FBT001
    """Random jobs of rails, balusters and caps."""
    for seed in range(2):
        for material in job(sections, seed, custom=custom):
            found = plan(*material, seconds=2.0)

            holds(found, material)
            assert found.gap < min(board.price for board in material.boards)
            assert check_bound(*material, found.proof) > 0


def test_what_is_on_hand_is_used_first_when_it_costs_nothing() -> None:
    """Six pieces, three a board: the one on hand, and one bought."""
    found = plan([Piece("A", 36.0, count=6)], [TEN, Board("on hand", 120.0, 0.0, 1)], PLAIN)

    assert (found.cost, found.proven) == (7.0, True)
    assert {board.mark: board.number for board in found.boards} == {"10 ft": 1, "on hand": 1}


def test_what_is_on_hand_is_left_when_it_costs_more() -> None:
    found = plan([Piece("A", 36.0, count=6)], [TEN, Board("on hand", 120.0, 7.5, 1)], PLAIN)

    assert [(board.mark, board.number) for board in found.boards] == [("10 ft", 2)]


def test_boards_that_do_not_suffice_leave_pieces_out() -> None:
    """One board of 8 ft holds two of the three pieces."""
    found = plan([Piece("A", 40.0, count=3)], [EIGHT._replace(on_hand=1)], PLAIN)

    assert (found.missing, found.board_count, found.cost) == (((0, 1),), 1, 6.0)


def test_a_piece_longer_than_any_board_is_named_and_the_rest_planned() -> None:
    found = plan([Piece("A", 97.0), Piece("B", 40.0)], [EIGHT], PLAIN)

    assert (found.too_long, found.board_count, found.proven) == ((0,), 1, True)


def test_trims_count_at_both_ends() -> None:
    """96 in: whole without trim; with 1/4 at each end a piece of 95 1/2 still fits and one of 95 9/16 does not."""
    trimmed = Saw(kerf=1 / 8, trim=1 / 4)

    assert plan([Piece("A", 96.0)], [EIGHT], PLAIN).board_count == 1
    assert plan([Piece("A", 95.5)], [EIGHT], trimmed).board_count == 1
    assert plan([Piece("A", 95.5625)], [EIGHT], trimmed).too_long == (0,)


@pytest.mark.parametrize(
    ("length", "lean", "board"), [(4788.0, -1.0, "4.8 m"), (4787.9, 0.0, "4.8 m"), (4788.1, 0.0, "6 m")]
)
def test_a_piece_that_fits_to_a_hair_is_planned(length: float, lean: float, board: str) -> None:
    """4800 less two trims of 6 is 4788; a lean without depth loses no wedge, and its kerf runs into the trim."""
    saw = Saw(kerf=3.0, trim=6.0, grain=0.25)

    found = plan([Piece("A", length, lean)], [Board("4.8 m", 4800.0, 10.0), Board("6 m", 6000.0, 13.0)], saw)

    assert [cut.mark for cut in found.boards] == [board]
    assert (found.proven, found.missing, found.too_long) == (True, (), ())


def test_a_piece_of_two_slopes_that_fits_alone_gets_a_board() -> None:
    """Tip to tip 32 1/4 + 1 3/4 * 3/4 = 33 9/16 out of 34 1/2; beside the other one it would not fit."""
    pieces = [Piece("A", 11.0, 5 / 12, 0.75), Piece("B", 32.25, 0.0, 0.75)]

    found = plan(pieces, [Board("3 ft", 35.0, 1.0)], EXACT)

    assert (found.board_count, found.missing) == (2, ())


def test_at_one_cost_there_are_few_patterns() -> None:
    """By hand: six of 50 and six of 40 from boards of 95 in one way, one of each a board."""
    found = plan([Piece("A", 50.0, count=6), Piece("B", 40.0, count=6)], [Board("8 ft", 95.0, 1.0)], PLAIN)

    assert [(cut.number, len(cut.pieces)) for cut in found.boards] == [(6, 2)]


def test_at_one_cost_the_shorter_boards_and_the_longer_offcuts_win() -> None:
    """Both boards cost 6: two pieces of 40 from the shorter one leave less."""
    found = plan([Piece("A", 40.0, count=2)], [Board("10 ft", 120.0, 6.0), EIGHT], PLAIN)

    assert [board.mark for board in found.boards] == ["8 ft"]


def test_a_stopped_search_says_so_and_still_cuts_everything() -> None:
    material = job(100, 1, custom=True)[0]

    found = plan(*material, seconds=0.0)

    holds(found, material)
    assert found.out_of_time
    assert not found.proven


def test_the_same_question_has_the_same_answer() -> None:
    for material in job(30, 5, custom=True):
        assert plan(*material) == plan(*material)


def test_materials_side_by_side_are_planned_as_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    materials = job(10, 3, custom=False)
    alone = plan_all(materials, processes=1)
    monkeypatch.setattr(story, "WORTH_A_PROCESS", 0)
    side_by_side = plan_all(materials, processes=2)

    assert [replace(found, work=0.0) for found in side_by_side] == [replace(found, work=0.0) for found in alone]


def test_of_boards_on_hand_the_short_ones_do_where_they_can() -> None:
    """Three pieces of 60 need three boards either way, since 120 does not hold two and a kerf between them."""
    boards = [Board("10 ft", 120.0, 0.0, 3), Board("leftover", 66.0, 0.0, 2), Board("8 ft", 96.0, 5.0)]
    found = plan([Piece("A", 60.0, count=3)], boards, Saw(kerf=1 / 8))

    assert {board.mark: board.number for board in found.boards} == {"10 ft": 1, "leftover": 2}
    assert (found.cost, found.proven) == (0.0, True)


def test_nothing_to_cut_costs_nothing() -> None:
    assert plan([], [EIGHT], PLAIN) == Plan(proven=True)
    assert plan([Piece("A", 10.0, count=0)], [EIGHT], PLAIN).cost == 0.0


@pytest.mark.parametrize(
    ("pieces", "boards", "saw", "fault"),
    [
        ([], [], PLAIN, Fault(PLAN, 0, "boards", NO_BOARDS)),
        ([Piece("A", 0.1)], [EIGHT], PLAIN, Fault(PIECE, 0, "length", SHORTER_THAN_KERF)),
        ([Piece("A", 0.0)], [EIGHT], PLAIN, Fault(PIECE, 0, "length", NOT_POSITIVE)),
        ([Piece("A", math.nan)], [EIGHT], PLAIN, Fault(PIECE, 0, "length", NOT_A_NUMBER)),
        ([Piece("A", 9.0, count=-1)], [EIGHT], PLAIN, Fault(PIECE, 0, "count", NEGATIVE)),
        (
            [Piece("A", 2.0, 1.0, -1.0)],
            [EIGHT],
            Saw(1 / 8, depth=5.5),
            Fault(PIECE, 0, "length", SHORTER_THAN_ITS_CUTS),
        ),
        ([], [EIGHT._replace(price=-1.0)], PLAIN, Fault(BOARD, 0, "price", NEGATIVE)),
        ([], [EIGHT, TEN._replace(length=0.0)], PLAIN, Fault(BOARD, 1, "length", NOT_POSITIVE)),
        ([], [EIGHT], Saw(1 / 8, trim=48.0), Fault(BOARD, 0, "length", NOTHING_BETWEEN_TRIMS)),
        ([], [EIGHT], Saw(-1.0), Fault(SAW, 0, "kerf", NEGATIVE)),
        ([], [EIGHT], Saw(1 / 8, grain=0.0), Fault(SAW, 0, "grain", NOT_POSITIVE)),
    ],
)
def test_a_bad_question_is_answered_with_its_fault(
    pieces: list[Piece], boards: list[Board], saw: Saw, fault: Fault
) -> None:
    assert plan(pieces, boards, saw) == Plan(faults=(fault,))


@given(st.floats(), st.floats(), st.floats(), st.floats(), st.floats())
def test_no_number_is_too_odd(length: float, lean: float, board: float, price: float, blade: float) -> None:
    """Anything is answered, with a plan or with faults."""
    found = plan([Piece("A", length, lean)], [Board("B", board, price)], Saw(blade, depth=1.0), seconds=1.0)

    assert found.faults or found.too_long or found.board_count == 1
