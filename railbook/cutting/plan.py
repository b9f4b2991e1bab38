"""From pieces and boards to a cutting plan: the story, and several materials at once."""

from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import NamedTuple

from railbook.cutting.bound import Bound
from railbook.cutting.clock import Clock
from railbook.cutting.first_fit import cost_of, exchanged
from railbook.cutting.layout import laid_out, rows_of, trimmed, without_board
from railbook.cutting.offcuts import gathered
from railbook.cutting.pieces import Board, Piece, Saw, faults_in
from railbook.cutting.result import Plan, Proof
from railbook.cutting.search import Answer, relaxed_bound, search
from railbook.cutting.whole import Asked, in_whole

SECONDS = 10.0
WORTH_A_PROCESS = 300  # lines of pieces in all: with fewer, starting processes takes longer than planning


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


def plan(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, *, seconds: float = SECONDS) -> Plan:
    """The cheapest way to cut some pieces from some boards: least cost, then least waste, then fewest boards.

    Args:
        pieces: what is needed of one material.
        boards: on sale without limit, or on hand in limited number.
        saw: kerf, trims, depth of cut, shortest offcut worth keeping, grain of the search.
        seconds: when to stop with the best plan so far.

    Nine pieces of 36 in from boards of 10 ft: three boards, though a kerf is lost beside each cut (US Army
    course EN0069A, lesson 4).

    >>> nine = plan([Piece("A", 36.0, count=9)], [Board("10 ft", 120.0, 7.0)], Saw(kerf=1 / 8))
    >>> nine.board_count, nine.cost, nine.proven, nine.boards[0].offcut
    (3, 21.0, True, 11.625)
    """
    faults = faults_in(pieces, boards, saw)
    if faults:
        return Plan(faults=faults)
    asked = in_whole(pieces, boards, saw)
    if not asked.question.widths:
        return Plan(proven=True, too_long=asked.too_long)
    answer = search(asked.question, Clock(seconds))
    if asked.floor is not asked.question:
        answer = relaxed_bound(asked.floor, answer, Clock(seconds))
    return _told(asked, answer, Material(tuple(pieces), tuple(boards), saw))


def _told(asked: Asked, answer: Answer, material: Material) -> Plan:
    """The answer in the caller's words."""
    question = asked.question
    use = exchanged(question, trimmed(question, answer.use))
    missing = without_board(use, asked.places, material.pieces)
    unserved = question.missing_price * sum(number for _, number in missing)
    rows = gathered(rows_of(use, asked.places, material.pieces), *material)
    cost = cost_of(question, use)
    return Plan(
        boards=tuple(laid_out(row, material.pieces, material.boards[row.board], material.saw) for row in rows),
        cost=(cost - unserved) * question.price_unit,
        bound=max(0, (cost if answer.proven else answer.bound.cost) - unserved) * question.price_unit,
        proven=answer.proven,
        proof=_proof(asked, answer.bound, len(material.pieces)),
        by_hand=(answer.by_hand - unserved) * question.price_unit,
        out_of_time=answer.out_of_time,
        too_long=asked.too_long,
        missing=missing,
    )


def _proof(asked: Asked, bound: Bound, pieces: int) -> Proof:
    """The prices of the bound, piece by piece."""
    prices = [0] * pieces
    for kind, places in enumerate(asked.floor_places):
        for place in places:
            prices[place] = bound.prices[kind]
    return Proof(tuple(prices), bound.savings, bound.scale, asked.floor.price_unit)


def plan_all(materials: Sequence[Material], *, seconds: float = SECONDS, processes: int = 1) -> tuple[Plan, ...]:
    """One plan for each material, side by side in processes of their own when there is much to plan.

    Args:
        materials: independent of each other.
        seconds: for each.
        processes: at most so many at once; a script that asks for more must guard its main part, as every
            program that starts processes.
    """
    lines = sum(len(material.pieces) for material in materials)
    if processes < 2 or len(materials) < 2 or lines < WORTH_A_PROCESS:
        return tuple(plan(*material, seconds=seconds) for material in materials)
    longest_first = sorted(range(len(materials)), key=lambda at: -len(materials[at].pieces))
    with ProcessPoolExecutor(min(processes, len(materials)), mp_context=get_context("spawn")) as pool:
        waiting = {at: pool.submit(plan, *materials[at], seconds=seconds) for at in longest_first}
        return tuple(waiting[at].result() for at in range(len(materials)))
