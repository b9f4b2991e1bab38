"""The cutting plan of a job laid out: every row of its tabs, from the choices."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from railbook.boards.cuts import Cut
from railbook.boards.cutting_plan import BoardCut, PlannedBoard
from railbook.boards.offers import Offer, Offered
from railbook.boards.pieces import Planned, Planning
from railbook.boards.plans import Known, MaterialPlan
from railbook.geometry.survey import Site
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
    cuts: tuple[Cut, ...]
    boards: tuple[PlannedBoard, ...]
    offers: tuple[Offered, ...]
    plans: tuple[MaterialPlan, ...]


def lay_out_cutting(job: Job, site: Site, shop: Shop, choices: CuttingChoices) -> Sawn:
    """Every row of the cutting plan of the job with these choices."""
    planned = planned_rows(site, shop, choices)
    cuts = _cuts(job, planned, choices.boards)
    boards = _boards(job, cuts, choices.boards)
    offers = tuple(Offered(each, job.prices) for each in choices.offers)
    plans = tuple(
        MaterialPlan(number, known, boards, offers, choices.listed, job.prices)
        for number, known in enumerate(choices.plans, start=1)
    )
    return Sawn(planned, tuple(cut for row in cuts for cut in row), boards, offers, plans)


def planned_rows(site: Site, shop: Shop, choices: CuttingChoices) -> tuple[Planned, ...]:
    """One row for each chosen piece."""
    counts: Counter[int] = Counter()
    for board in choices.boards:
        for lying in board.lying:
            counts[lying.planned_row] += board.boards
    return tuple(planned_row(number, each, site, shop, counts) for number, each in enumerate(choices.pieces, start=1))


def planned_row(number: int, chosen: Planning, site: Site, shop: Shop, counts: Counter[int]) -> Planned:
    """One row of tab Pieces planned."""
    section = site.sections[chosen.section_row - 1] if chosen.section_row else None
    return Planned(number, chosen, shop.pieces[chosen.piece_row - 1], section, counts)


def _cuts(job: Job, planned: Sequence[Planned], boards: Sequence[BoardCut]) -> list[list[Cut]]:
    """The pieces of each board, from its left end."""
    rows: list[list[Cut]] = []
    row = 0
    for plan_row, board in enumerate(boards, start=1):
        line: list[Cut] = []
        for lying in board.lying:
            row += 1
            piece, left = planned[lying.planned_row - 1], line[-1] if line else None
            line.append(Cut(row, plan_row, board.boards, board.depth, lying, piece, left, job.settings))
        rows.append(line)
    return rows


def _boards(job: Job, cuts: Sequence[Sequence[Cut]], boards: Sequence[BoardCut]) -> tuple[PlannedBoard, ...]:
    """One row for each way a board is cut."""
    taken: Counter[int] = Counter()
    for board in boards:
        if not board.bought:
            taken[board.price_row] += board.boards
    return tuple(
        PlannedBoard(number, board, line, job.prices, taken, job.settings)
        for number, (board, line) in enumerate(zip(boards, cuts, strict=True), start=1)
    )
