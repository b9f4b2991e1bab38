"""Choose the cutting plan: which boards to cut, and how. The only file here that asks the solver.

Everything chosen is plain data, so that the plan can be laid out again for an edited job.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from math import prod
from typing import NamedTuple

from railbook.basics.kinds import MILLIMETRE
from railbook.basics.problem import Problem
from railbook.basics.progress import Tell, quiet
from railbook.basics.rounding import PLACES
from railbook.boards.cuts import Lying
from railbook.boards.cutting_plan import BoardCut
from railbook.boards.layout import CuttingChoices, planned_row
from railbook.boards.offers import Offer
from railbook.boards.pieces import Planned, Planning, depth_word
from railbook.boards.plans import Known, boards_listed
from railbook.boards.problems import (
    faulty,
    is_longer_than_trims,
    spliced,
    too_few,
    too_long,
    unlisted,
    unpriced,
    wide_kerf,
)
from railbook.boards.questions import Material, Question
from railbook.boards.rough import at_final_length, costs_more
from railbook.boards.splices import is_spliced, ways_to_splice
from railbook.boards.words import bar_text, pieces_text
from railbook.cutting.pieces import Board, Saw
from railbook.cutting.pieces import Material as Asked
from railbook.cutting.pieces import Piece as Wanted
from railbook.cutting.result import CutBoard, CutPiece, Plan
from railbook.job.build import Job
from railbook.job.prices import BOARDS, Price
from railbook.takeoff.cut_list import Piece
from railbook.takeoff.layout import Shop

MOST_PLANS = 6  # of one material, when pieces may be spliced in several ways
GRAINS = {MILLIMETRE: 0.25}  # of the search [mm]; 1/64 in else
INCH_GRAIN = 1 / 64


class Answered(NamedTuple):
    """A question and the plan that answers it."""

    question: Question
    plan: Plan

    @property
    def left_out(self) -> Mapping[int, int]:
        """Place among the pieces -> how many of them no board is left for."""
        places, plan = self.question.places, self.plan
        unplanned = range(len(places)) if plan.faults else plan.too_long
        too_long = {places[at]: self.question.pieces[places[at]].needed for at in unplanned}
        return too_long | {places[at]: number for at, number in plan.missing}


def choose_cutting(
    job: Job, shop: Shop, *, seconds: float | None = None, tell: Tell = quiet
) -> tuple[CuttingChoices, tuple[Problem, ...]]:
    """Choose the cheapest plan for every material; problems name what cannot be planned.

    Args:
        job: what is on sale, and the saw.
        shop: its cut list.
        seconds: work for all plans together; None for as much as suits the number of lengths.
        tell: is told how far the plans are.
    """
    problems: list[Problem] = []
    if boards_listed(job.prices):  # without them nobody asks for a plan
        problems += (*unlisted(job, shop), *wide_kerf(job))
    questions: list[list[Question]] = []
    materials = tuple(_materials(job, shop))
    for material in materials:
        fitting, told = _fitting(job, shop, material)
        problems += told
        questions.append([_question(job, shop, material, ways) for ways in _combined(fitting)])
    if any(price.price is not None for price in job.prices):
        problems += unpriced(job, materials)
    answers = _best(questions, seconds, tell)
    for each in answers:
        problems += faulty(job, each.question, each.plan.faults)
        problems += () if each.plan.faults else too_few(each.question, each.left_out)
    problems += _rough_posts(answers, seconds)
    return _choices(job, answers), tuple(dict.fromkeys(problems))


def _materials(job: Job, shop: Shop) -> Iterator[Material]:
    """Every item that the cut list needs and tab Prices lists in boards, in the order of the cut list."""
    boards: dict[str, list[int]] = {}
    for row, price in enumerate(job.prices, start=1):
        if price.sold_as in BOARDS and price.item and is_longer_than_trims(job, price):
            boards.setdefault(price.item, []).append(row)
    pieces: dict[str, list[int]] = {}
    for row, piece in enumerate(shop.pieces, start=1):
        if piece.item in boards and piece.length is not None and piece.tip_to_tip is not None:
            pieces.setdefault(piece.item or "", []).append(row)
    for item, rows in pieces.items():
        depth = max((_leaning_depth(shop.pieces[row - 1]) for row in rows), default=0.0)
        listed = boards[item]
        prices = tuple(job.prices[row - 1] for row in listed)
        material = Material(item, tuple(listed), prices, tuple(rows), depth)
        if material.longest:
            yield material


def _leaning_depth(piece: Piece) -> float:
    """What a leaning cut of this piece crosses; 0 when it has none, or in two planes [job unit]."""
    word = depth_word(piece)
    if not word or piece.planes > 1 or (piece.lower_cut == 0 and piece.upper_cut == 0):
        return 0.0
    return getattr(piece.assembly, word) or 0.0


def _fitting(job: Job, shop: Shop, material: Material) -> tuple[list[tuple[tuple[Planning, ...], ...]], list[Problem]]:
    """For each piece the ways to plan it, left out where no board holds it; and what is to be said of those."""
    room = material.longest - 2 * job.settings.trim
    found: list[tuple[tuple[Planning, ...], ...]] = []
    problems: list[Problem] = []
    for row in material.pieces:
        whole = _whole(shop, material, row)
        tip = whole.cut.tip_to_tip or 0.0
        if round(tip - room, PLACES) <= 0:
            found.append(((whole.of,),))
            continue
        ways = ways_to_splice(whole, room) if room > 0 and is_spliced(whole.cut) else ()
        found.append(ways or ((whole.of._replace(left_out=whole.needed),),))
        problems.append(spliced(whole, ways[0]) if ways else too_long(whole, room))
    return found, problems


def _whole(shop: Shop, material: Material, row: int) -> Planned:
    """A piece in one, with its leans where it leans across the depth of the material's boards."""
    piece = shop.pieces[row - 1]
    own = _leaning_depth(piece)
    chosen = Planning(row, item=material.item, depth=material.depth)
    planned = planned_row(0, chosen, shop, Counter())
    leans = piece.lower_cut != 0 or piece.upper_cut != 0
    crossed = planned.depth * abs(planned.right - planned.left)
    fits = piece.planes == 1 and round(own - material.depth, PLACES) == 0 and 2 * (planned.mid or 0.0) > crossed
    return planned_row(0, chosen._replace(wedge=int(fits or not leans)), shop, Counter())


def _combined(fitting: Sequence[tuple[tuple[Planning, ...], ...]]) -> Iterator[tuple[Planning, ...]]:
    """Every combination of ways to plan the pieces when they are few, else the first way of each."""
    several = fitting if prod(len(ways) for ways in fitting) <= MOST_PLANS else [ways[:1] for ways in fitting]
    for chosen in product(*several):
        yield tuple(part for way in chosen for part in way)


def _question(job: Job, shop: Shop, material: Material, chosen: Sequence[Planning]) -> Question:
    """What the solver is asked: of the pieces that a board holds."""
    pieces = tuple(_settled(number, each, shop) for number, each in enumerate(chosen, start=1))
    places = tuple(at for at, piece in enumerate(pieces) if piece.needed > piece.of.left_out)
    wanted = tuple(_wanted(pieces[at]) for at in places)
    offered = [offer for row, price in zip(material.rows, material.prices, strict=True)
               for offer in _offered(row, price, material)]  # fmt: skip
    settings = job.settings
    saw = Saw(settings.kerf, settings.trim, material.depth, settings.offcut, GRAINS.get(settings.unit, INCH_GRAIN))
    boards = tuple(board for _, board in offered)
    return Question(material, pieces, tuple(at for at, _ in offered), Asked(wanted, boards, saw), places)


def _settled(number: int, chosen: Planning, shop: Shop) -> Planned:
    """A row with the figures that it is planned with."""
    row = planned_row(number, chosen, shop, Counter())
    settled = chosen._replace(length=row.length, mid=row.mid, left=row.left, right=row.right)
    return planned_row(number, settled, shop, Counter())


def _wanted(piece: Planned) -> Wanted:
    return Wanted(str(piece.of.piece_row), piece.mid or 0.0, piece.left, piece.right, piece.needed)


def _offered(row: int, price: Price, material: Material) -> Iterator[tuple[tuple[int, int], Board]]:
    """Boards on hand, which cost nothing more, and as many to buy as one likes; without prices length counts."""
    length = price.length or 0.0
    if price.on_hand:
        yield (row, 0), Board(material.item, length, 0.0, price.on_hand)
    if material.is_bought(price):
        yield (row, 1), Board(material.item, length, (price.price or 0.0) if material.priced else length)


def _best(questions: Sequence[Sequence[Question]], seconds: float | None, tell: Tell) -> list[Answered]:
    """For each material the best plan of all ways to splice."""
    from railbook.cutting.plan import plan_all

    every = [question.asked for asked in questions for question in asked]
    plans = iter(plan_all(every, seconds=seconds, tell=tell))
    return [_cheapest([Answered(question, next(plans)) for question in asked]) for asked in questions]


def _cheapest(answers: Sequence[Answered]) -> Answered:
    """The plan that leaves least out, then the cheapest, of equal ones the first; as proven as all of them are."""
    best = min(answers, key=lambda each: (sum(each.left_out.values()), round(each.plan.cost, PLACES)))
    left_out = sum(best.left_out.values())
    rivals = [each.plan for each in answers if not each.plan.proven or sum(each.left_out.values()) == left_out]
    bound = min(plan.bound for plan in rivals)
    proven = best.plan.proven and round(best.plan.cost - bound, PLACES) <= 0
    work = sum(each.plan.work for each in answers)
    return best._replace(plan=replace(best.plan, bound=bound, proven=proven, work=work))


def _rough_posts(answers: Sequence[Answered], seconds: float | None) -> Iterator[Problem]:
    """What the rough lengths of posts cost; their final ones get no more work than the plan of their boards took."""
    from railbook.cutting.plan import plan

    left = None if seconds is None else seconds - sum(each.plan.work for each in answers)
    for each in answers:
        final = None if each.plan.faults or each.left_out or not each.plan.cost else at_final_length(each.question)
        if final is not None:
            work = each.plan.work if left is None else max(0.0, min(each.plan.work, left))
            told = costs_more(each.question, each.plan, plan(*final.asked, seconds=work))
            yield from () if told is None else (told,)


def _choices(job: Job, answers: Sequence[Answered]) -> CuttingChoices:
    """Everything chosen, as plain data; rows are numbered through all materials."""
    pieces: list[Planning] = []
    boards: list[BoardCut] = []
    offers: list[Offer] = []
    for number, each in enumerate(answers, start=1):
        material = each.question.material
        rows = {row: len(offers) + at for at, row in enumerate(material.rows, start=1)}
        boards += (_board(job, each, board, number, len(pieces), rows) for board in each.plan.boards)
        left_out = each.left_out
        pieces += (
            piece.of._replace(left_out=left_out.get(at, piece.of.left_out), material=number)
            for at, piece in enumerate(each.question.pieces)
        )
        offers += (
            Offer(number, row, material.item, price.sold_as or "", price.length or 0.0, price.price, price.on_hand or 0)
            for row, price in zip(material.rows, material.prices, strict=True)
        )
    plans = tuple(_known(each) for each in answers)
    return CuttingChoices(tuple(pieces), tuple(boards), tuple(offers), plans, boards_listed(job.prices))


def _known(answer: Answered) -> Known:
    """What is known of a plan; money only where every price is known, board too much only where none is."""
    plan, priced = answer.plan, answer.question.material.priced
    return Known(
        item=answer.question.material.item,
        by_hand=plan.by_hand if priced else None,
        gap=plan.gap if priced else None,
        proven=plan.proven,
        too_long=None if priced else plan.gap,
        searched=plan.work,
    )


def _board(
    job: Job, answer: Answered, board: CutBoard, material: int, above: int, offers: Mapping[int, int]
) -> BoardCut:
    """One row of the cutting plan; `above` rows of pieces belong to the materials before."""
    question = answer.question
    row, bought = question.sources[board.board]
    price = job.prices[row - 1]
    lying = tuple(_lying(cut, question) for cut in board.pieces)
    length = price.length or 0.0
    return BoardCut(
        material=material,
        offer_row=offers[row],
        price_row=row,
        bought=bought,
        boards=board.number,
        item=question.material.item,
        length=length,
        depth=question.material.depth,
        lying=tuple(each._replace(planned_row=each.planned_row + above) for each in lying),
        pieces=pieces_text(lying, question.pieces),
        bar=bar_text(board, length, question.material.longest),
    )


def _lying(cut: CutPiece, question: Question) -> Lying:
    """How a piece lies: turned end for end, rolled over, both, or as it is."""
    at = question.places[cut.piece]
    piece = question.pieces[at]
    for turned, over in ((0, 1), (1, 1), (0, -1), (1, -1)):
        left, right = (piece.right, piece.left) if turned else (piece.left, piece.right)
        if abs(over * left - cut.left) + abs(over * right - cut.right) < 1e-9:
            return Lying(at + 1, turned, over)
    raise ValueError(f"piece {piece.of.piece_row} lies on its board as it cannot lie")
