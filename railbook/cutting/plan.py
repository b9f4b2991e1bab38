"""From pieces and boards to a cutting plan: the story, and several materials at once."""

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context

from railbook.basics.progress import Tell, quiet
from railbook.cutting.pieces import Board, Material, Piece, Saw
from railbook.cutting.planning import Planning, begun
from railbook.cutting.result import Plan
from railbook.cutting.turns import take_turns, usual_seconds

SECONDS = 10.0
WORTH_A_PROCESS = 300  # lines of pieces in all: with fewer, starting processes takes longer than planning


def plan(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, *, seconds: float | None = SECONDS) -> Plan:
    """The cheapest way to cut some pieces from some boards: least cost, then least waste, then fewest patterns.

    Args:
        pieces: what is needed of one material.
        boards: on sale without limit, or on hand in limited number.
        saw: kerf, trims, depth of cut, shortest offcut worth keeping, grain of the search.
        seconds: of work, counted and not timed, until it stops with the best plan so far; the processor's clock
            stops it only after eight times as long. So the same question gets the same plan on a busy machine.
            None for as many as suit the kinds of length.

    Nine pieces of 36 in from boards of 10 ft: three boards, though a kerf is lost beside each cut (US Army
    course EN0069A, lesson 4).

    >>> nine = plan([Piece("A", 36.0, count=9)], [Board("10 ft", 120.0, 7.0)], Saw(kerf=1 / 8))
    >>> nine.board_count, nine.cost, nine.proven, nine.boards[0].offcut
    (3, 21.0, True, 11.625)
    """
    return plan_all([Material(tuple(pieces), tuple(boards), saw)], seconds=seconds)[0]


def plan_all(
    materials: Sequence[Material],
    *,
    seconds: float | None = SECONDS,
    processes: int = 1,
    tell: Tell = quiet,
) -> tuple[Plan, ...]:
    """One plan for each material; of large jobs side by side in processes of their own.

    Args:
        materials: independent of each other.
        seconds: for all of them together, in each process; what one does not need, the others have. None for as
            many as suit their kinds of length.
        processes: at most so many at once; a script that asks for more must guard its main part, as every
            program that starts processes.
        tell: is told how far they are, in words, as long as there is one process.
    """
    lines = sum(len(material.pieces) for material in materials)
    hands = _dealt(materials, processes if lines >= WORTH_A_PROCESS else 1)
    told = [([materials[at] for at in hand], seconds) for hand in hands]
    if len(hands) < 2:
        done = [_together(*each, tell) for each in told]
    else:
        with ProcessPoolExecutor(len(hands), mp_context=get_context("spawn")) as pool:
            done = list(pool.map(_together, *zip(*told, strict=True)))
    plans = {at: found for hand, some in zip(hands, done, strict=True) for at, found in zip(hand, some, strict=True)}
    return tuple(plans[at] for at in range(len(materials)))


def _dealt(materials: Sequence[Material], hands: int) -> list[list[int]]:
    """Places of the materials dealt to so many hands, the longest list first."""
    dealt: list[list[int]] = [[] for _ in range(max(1, min(hands, len(materials))))]
    for at in sorted(range(len(materials)), key=lambda at: -len(materials[at].pieces)):
        lightest = min(dealt, key=lambda hand: sum(len(materials[each].pieces) for each in hand))
        lightest.append(at)
    return dealt


def _together(materials: Sequence[Material], seconds: float | None, tell: Tell = quiet) -> list[Plan]:
    """A plan for each, searched for in turns."""
    tell("planning boards: the longest pieces first")
    every = [begun(material) for material in materials]
    searched = [each for each in every if isinstance(each, Planning)]
    take_turns(searched, usual_seconds(searched) if seconds is None else seconds, tell)
    plans = [each.plan() if isinstance(each, Planning) else each for each in every]
    return [_shorter_where_free(found, *each, seconds) for found, each in zip(plans, materials, strict=True)]


def _shorter_where_free(
    found: Plan, pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, seconds: float | None
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
    some = tuple(replace(pieces[at], count=counts[at]) for at in places)
    by_length = tuple(boards[at]._replace(price=boards[at].length) for at in free)
    again = _short(Material(some, by_length, saw), seconds)
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


def _short(material: Material, seconds: float | None) -> Plan:
    """A plan that no more than the usual work finds."""
    planning = begun(material)
    if isinstance(planning, Plan):
        return planning
    usual = usual_seconds([planning])
    take_turns([planning], usual if seconds is None else min(usual, seconds))
    return planning.plan()
