"""The cutting plan of a job laid out: every row of its tabs, from the choices."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from railbook.basics.double_entry import Tab
from railbook.boards import cutting_plan, offers, paid, pieces, plans
from railbook.boards.cuts import Cut
from railbook.boards.cutting_plan import BoardCut, PlannedBoard
from railbook.boards.offers import Offer, Offered
from railbook.boards.paid import PaidCut
from railbook.boards.pieces import Planned, Planning
from railbook.boards.plans import Known, MaterialPlan
from railbook.job.build import Job
from railbook.takeoff.layout import Shop


class CuttingChoices(NamedTuple):
    """What was chosen for the cutting plan; the rows of its tabs, in order.

    Attributes:
        pieces: what is cut from boards.
        boards: how the boards are cut.
        offers: the boards that the plan chose from.
        plans: what is known of the plan of each material.
        listed: boards on tab Prices.
    """

    pieces: tuple[Planning, ...] = ()
    boards: tuple[BoardCut, ...] = ()
    offers: tuple[Offer, ...] = ()
    plans: tuple[Known, ...] = ()
    listed: int = 0


@dataclass(frozen=True)
class Sawn:
    """Rows of the tabs of the cutting plan."""

    planned: tuple[Planned, ...]
    cuts: tuple[PaidCut, ...]
    boards: tuple[PlannedBoard, ...]
    offers: tuple[Offered, ...]
    plans: tuple[MaterialPlan, ...]


TABS: Mapping[str, Tab] = {  # by the field of `Sawn` that holds their rows
    "planned": pieces.TAB,
    "cuts": paid.TAB,
    "boards": cutting_plan.TAB,
    "offers": offers.TAB,
    "plans": plans.TAB,
}


def lay_out_cutting(job: Job, shop: Shop, choices: CuttingChoices) -> Sawn:
    """Every row of the cutting plan of the job with these choices."""
    planned = planned_rows(shop, choices)
    offers = _offers(job, choices)
    plans = tuple(
        MaterialPlan(number, known, planned, offers, choices.listed, job.prices, job.settings)
        for number, known in enumerate(choices.plans, start=1)
    )
    boards = tuple(
        PlannedBoard(number, of, line, offers[of.offer_row - 1], plans[of.material - 1], job.settings)
        for number, (of, line) in enumerate(
            zip(choices.boards, _cuts(job, planned, choices.boards), strict=True), start=1
        )
    )
    return Sawn(planned, _paid(boards), boards, offers, plans)


def planned_rows(shop: Shop, choices: CuttingChoices) -> tuple[Planned, ...]:
    """One row for each chosen piece."""
    counts: Counter[int] = Counter()
    for board in choices.boards:
        for lying in board.lying:
            counts[lying.planned_row] += board.boards
    return tuple(planned_row(number, each, shop, counts) for number, each in enumerate(choices.pieces, start=1))


def planned_row(number: int, chosen: Planning, shop: Shop, counts: Counter[int]) -> Planned:
    """One row of tab Pieces planned."""
    cut = shop.pieces[chosen.piece_row - 1]
    crossing = next((each for each in cut.crossings if each.section_row == chosen.section_row), None)
    return Planned(number, chosen, cut, crossing, counts)


def _offers(job: Job, choices: CuttingChoices) -> tuple[Offered, ...]:
    """The boards that the plans chose from, with how many they use."""
    used: Counter[tuple[int, int]] = Counter()
    for board in choices.boards:
        used[board.offer_row, board.bought] += board.boards
    return tuple(
        Offered(row, each, used[row, 1], used[row, 0], job.prices) for row, each in enumerate(choices.offers, start=1)
    )


def _cuts(job: Job, planned: Sequence[Planned], boards: Sequence[BoardCut]) -> Iterator[list[Cut]]:
    """The pieces of each board, from its left end."""
    row = 0
    for plan_row, board in enumerate(boards, start=1):
        line: list[Cut] = []
        for lying in board.lying:
            row += 1
            piece, left = planned[lying.planned_row - 1], line[-1] if line else None
            line.append(Cut(row, plan_row, board.depth, lying, piece, left, job.settings))
        yield line


def _paid(boards: Sequence[PlannedBoard]) -> tuple[PaidCut, ...]:
    """Every cut with what it costs, added up for each row of the cut list."""
    latest: dict[int, PaidCut] = {}
    cuts = []
    for board in boards:
        for cut in board.cuts:
            earlier = latest.get(cut.piece.of.piece_row)
            cuts.append(PaidCut(cut, board, earlier, earlier.paid if earlier else 0.0))
            latest[cut.piece.of.piece_row] = cuts[-1]
    return tuple(cuts)
