"""From pieces and boards to a cutting plan: the story, and several materials at once."""

import math
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from typing import NamedTuple

from railbook.cutting.bound import Bound
from railbook.cutting.effort import effort_of
from railbook.cutting.grains import Asked, in_whole
from railbook.cutting.layout import laid_out, rows_of, without_board
from railbook.cutting.offcuts import gathered
from railbook.cutting.pieces import Board, Piece, Saw, faults_in
from railbook.cutting.result import Plan, Proof
from railbook.cutting.search import Answer, relaxed_bound, search

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
    """The cheapest way to cut some pieces from some boards: least cost, then least waste, then fewest patterns.

    Args:
        pieces: what is needed of one material.
        boards: on sale without limit, or on hand in limited number.
        saw: kerf, trims, depth of cut, shortest offcut worth keeping, grain of the search.
        seconds: of work, counted and not timed, until it stops with the best plan so far; the processor's clock
            stops it only after eight times as long. So the same question gets the same plan on a busy machine.

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
    effort = effort_of(seconds)
    if asked.floor is asked.question:
        answer = search(asked.question, effort)
    else:
        answer = relaxed_bound(asked.floor, search(asked.question, effort.part(seconds / 2)), effort)
    found = _told(asked, answer, effort.done, Material(tuple(pieces), tuple(boards), saw))
    return _shorter_where_free(found, pieces, boards, saw, effort.left)


def _shorter_where_free(
    found: Plan, pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, seconds: float
) -> Plan:
    """The same plan with what is cut from boards on hand, which cost nothing, cut from as little length as can be.

    Cost alone would take a long board for a short piece as soon as a short one.
    """
    free = [at for at, board in enumerate(boards) if board.on_hand and board.price == 0]
    on_free = [board for board in found.boards if board.board in free]
    counts: Counter[int] = Counter()
    for board in on_free:
        for cut in board.pieces:
            counts[cut.piece] += board.number
    if not counts:
        return found
    places = sorted(counts)
    some = [replace(pieces[at], count=counts[at]) for at in places]
    again = plan(some, [boards[at]._replace(price=boards[at].length) for at in free], saw, seconds=seconds)
    if (
        again.faults
        or again.missing
        or again.too_long
        or again.cost >= sum(boards[b.board].length * b.number for b in on_free)
    ):
        return replace(found, work=found.work + again.work)
    cuts = (
        board._replace(board=free[board.board], pieces=tuple(c._replace(piece=places[c.piece]) for c in board.pieces))
        for board in again.boards
    )
    kept = (board for board in found.boards if board.board not in free)
    every = tuple(sorted((*kept, *cuts), key=lambda board: board.board))
    return replace(found, boards=every, work=found.work + again.work)


def _told(asked: Asked, answer: Answer, work: float, material: Material) -> Plan:
    """The answer in the caller's words: money is that of the boards, at the prices that were given."""
    question = asked.question
    missing = without_board(answer.use, asked.places, material.pieces)
    unserved = question.missing_price * sum(number for _, number in missing)
    rows = gathered(rows_of(answer.use, asked.places, material.pieces), *material)
    cost = math.fsum(material.boards[row.board].price * row.number for row in rows)
    least = min(cost, max(0, answer.bound.cost - unserved) * question.price_unit)
    return Plan(
        boards=tuple(laid_out(row, material.pieces, material.boards[row.board], material.saw) for row in rows),
        cost=cost,
        bound=cost if answer.proven else least,
        proven=answer.proven,
        proof=_proof(asked, answer.bound, len(material.pieces)),
        by_hand=cost + (answer.by_hand - answer.cost) * question.price_unit,
        work=work,
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
    """One plan for each material; of large jobs side by side in processes of their own.

    Args:
        materials: independent of each other.
        seconds: for all of them together, in each process: what short lists leave, long ones have.
        processes: at most so many at once; a script that asks for more must guard its main part, as every
            program that starts processes.
    """
    lines = sum(len(material.pieces) for material in materials)
    hands = _dealt(materials, processes if lines >= WORTH_A_PROCESS else 1)
    told = [([materials[at] for at in hand], seconds) for hand in hands]
    if len(hands) < 2:
        done = [_in_turn(*each) for each in told]
    else:
        with ProcessPoolExecutor(len(hands), mp_context=get_context("spawn")) as pool:
            done = list(pool.map(_in_turn, *zip(*told, strict=True)))
    plans = {at: found for hand, some in zip(hands, done, strict=True) for at, found in zip(hand, some, strict=True)}
    return tuple(plans[at] for at in range(len(materials)))


def _dealt(materials: Sequence[Material], hands: int) -> list[list[int]]:
    """Places of the materials dealt to so many hands, the longest list first, each hand's shortest list first."""
    dealt: list[list[int]] = [[] for _ in range(max(1, min(hands, len(materials))))]
    for at in sorted(range(len(materials)), key=lambda at: -len(materials[at].pieces)):
        lightest = min(dealt, key=lambda hand: sum(len(materials[each].pieces) for each in hand))
        lightest.insert(0, at)
    return dealt


def _in_turn(materials: Sequence[Material], seconds: float) -> list[Plan]:
    """A plan for each, one after the other; what one leaves of its part of the time, the next ones have.

    Lists four times as long get twice the time.
    """
    shares = [math.sqrt(1 + len(material.pieces)) for material in materials]
    plans: list[Plan] = []
    for at, material in enumerate(materials):
        left = max(0.0, seconds - sum(found.work for found in plans))
        plans.append(plan(*material, seconds=left * shares[at] / sum(shares[at:])))
    return plans
