"""Working plans: what the plan of each material costs, and what is known of it.

Tab Prices may change after the plan was made. The boards are then still cut as listed, but nobody knows whether
that is still the cheapest way: `moved` says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import COUNT, MARK, MONEY, TEXT
from railbook.boards.cutting_plan import PlannedBoard
from railbook.boards.offers import Offered
from railbook.job.prices import BOARDS, Price

BEST, NOT_BEST = "proven best", "not proven best"


class Known(NamedTuple):
    """What is known of the plan of one material, as chosen.

    Attributes:
        item: the material.
        by_hand: what its boards would cost by first-fit-decreasing; None when a price is missing.
        gap: what the plan may cost more than the best one; None when a price is missing.
        proven: whether no plan is better.
    """

    item: str
    by_hand: float | None
    gap: float | None
    proven: bool


def boards_listed(prices: Sequence[Price]) -> int:
    """Rows of tab Prices that are boards."""
    return sum(price.sold_as in BOARDS for price in prices)


@dataclass(frozen=True)
class MaterialPlan:
    """The plan of one material, at row `number`; `listed` boards stood on tab Prices when it was made."""

    number: int
    of: Known
    boards_of: Sequence[PlannedBoard]
    offered: Sequence[Offered]
    listed: int
    prices: Sequence[Price]

    @property
    def item(self) -> str:
        """The material."""
        return self.of.item

    @property
    def boards(self) -> int:
        """Boards that are cut."""
        return sum(board.boards for board in self.boards_of if board.material == self.number)

    @property
    def cost(self) -> float:
        """What those to buy cost, as far as prices are known."""
        return sum(board.cost or 0.0 for board in self.boards_of if board.material == self.number)

    @property
    def by_hand(self) -> float | None:
        """What they would cost by first-fit-decreasing."""
        return self.of.by_hand

    @property
    def gap(self) -> float | None:
        """What the plan may cost more than the best one."""
        return self.of.gap

    @property
    def proof(self) -> str:
        """Whether no plan is better."""
        return BEST if self.of.proven else NOT_BEST

    @property
    def unproven(self) -> int:
        """1 when the plan is not proven."""
        return int(not self.of.proven)

    @property
    def moved(self) -> int:
        """1 when the boards on sale are no longer those that the plan chose from."""
        other = boards_listed(self.prices) != self.listed
        return int(other or any(each.moved for each in self.offered if each.material == self.number))


_LISTED = "+".join(f'COUNTIF({{prices_sold_as}},"{kind}")' for kind in BOARDS)

TAB = Tab(
    "plans",
    "Working plans",
    MaterialPlan,
    (
        Column("number", "No.", COUNT),
        Column("item", "Item", MARK, width=13),
        Column("boards", "Boards", COUNT, "=SUMIFS({cutting_plan_boards},{cutting_plan_material},{number})"),
        Column("cost", "Cost", MONEY, "=SUMIFS({cutting_plan_cost},{cutting_plan_material},{number})"),
        Column("by_hand", "First fit, longest first", MONEY),
        Column("gap", "At most above the best", MONEY),
        Column("proof", "Plan", TEXT),
        Column("unproven", "Not proven", COUNT),
        Column("listed", "Boards listed", COUNT),
        Column("moved", "Prices changed", COUNT,
            f'=IF(OR({_LISTED}<>{{listed}},'
            "SUMIFS({offers_moved},{offers_material},{number})>0),1,0)"),
    ),
    purpose="What is known of the plan of each material.",
    none="No boards are planned.",
    key="number",
)  # fmt: skip
