"""Working plans: what the plan of each material costs, and what is known of it.

Tab Prices may change after the plan was made. The boards are then still cut as listed, but nobody knows whether
that is still the cheapest way: `moved` says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.double_entry import RUN_AGAIN, Column, Tab
from railbook.basics.kinds import COUNT, MARK, MONEY, TEXT
from railbook.basics.units import tape_text
from railbook.boards.offers import Offered
from railbook.boards.pieces import Planned
from railbook.job.prices import BOARDS, Price
from railbook.job.settings import Settings

BEST, NOT_BEST = "proven best", "not proven best"


class Known(NamedTuple):
    """What is known of the plan of one material, as chosen.

    Attributes:
        item: the material.
        by_hand: what its boards would cost by first-fit-decreasing; None when a price is missing.
        gap: what the plan may cost more than the best one; None when a price is missing.
        proven: whether no plan is better.
        too_long: by how much its boards may be longer than those of the best one; None where prices count [job unit].
        searched: work that the search for it took, counted, in seconds.
    """

    item: str
    by_hand: float | None
    gap: float | None
    proven: bool
    too_long: float | None = None
    searched: float = 0.0


def boards_listed(prices: Sequence[Price]) -> int:
    """Rows of tab Prices that are boards."""
    return sum(price.sold_as in BOARDS for price in prices)


@dataclass(frozen=True)
class MaterialPlan:
    """The plan of one material, at row `number`; `listed` boards stood on tab Prices when it was made."""

    number: int
    of: Known
    pieces: Sequence[Planned] = field(repr=False)
    offered: Sequence[Offered] = field(repr=False)
    listed: int
    prices: Sequence[Price] = field(repr=False)
    settings: Settings = field(repr=False)

    @cached_property
    def _own(self) -> list[Offered]:
        """The boards that it chose from."""
        return [each for each in self.offered if each.of.material == self.number]

    @property
    def boards(self) -> int:
        """Boards that are cut."""
        return sum(each.bought + each.taken for each in self._own)

    @property
    def cost(self) -> float:
        """What those to buy cost, as far as prices are known."""
        return sum(each.cost or 0.0 for each in self._own)

    @property
    def proof(self) -> str:
        """Whether no plan is better, and if nobody knows, how long one was looked for."""
        if self.of.proven:
            return BEST
        step, unit = self.settings.tape_step, self.settings.unit
        much = "" if self.of.too_long is None else f", at most {tape_text(self.of.too_long, step, unit)} too much"
        return f"{NOT_BEST}{much}, after {self.of.searched:.1f} s of search"

    @property
    def unproven(self) -> int:
        """1 when the plan is not proven."""
        return int(not self.of.proven)

    @property
    def moved(self) -> int:
        """1 when the boards on sale are no longer those that the plan chose from."""
        other = boards_listed(self.prices) != self.listed
        return int(other or any(each.moved for each in self._own))

    @cached_property
    def stale(self) -> int:
        """Pieces of it that ask for another run: its boards then do too."""
        return sum(each.of.material == self.number and each.status == RUN_AGAIN for each in self.pieces)


_LISTED = "+".join('COUNTIF({prices_sold_as},"' + kind + '")' for kind in BOARDS)


def _sum(column: str) -> str:
    """Formula part: a figure of its rows of Working boards, summed."""
    return "SUMIFS({offers_" + column + "},{offers_material},{number})"


TAB = Tab(
    "plans",
    "Working plans",
    MaterialPlan,
    (
        Column("number", "No.", COUNT),
        Column("item", "Item", MARK, path="of.item", width=13),
        Column("boards", "Boards", COUNT, f"={_sum('bought')}+{_sum('taken')}"),
        Column("cost", "Cost", MONEY, f"={_sum('cost')}"),
        Column("by_hand", "First fit, longest first", MONEY, path="of.by_hand"),
        Column("gap", "At most above the best", MONEY, path="of.gap"),
        Column("proof", "Plan", TEXT),
        Column("unproven", "Not proven", COUNT),
        Column("listed", "Boards listed", COUNT),
        Column("moved", "Prices changed", COUNT, f"=IF(OR({_LISTED}<>{{listed}},{_sum('moved')}>0),1,0)"),
        Column(
            "stale", "Pieces that ask for another run", COUNT,
            f'=COUNTIFS({{planned_material}},{{number}},{{planned_status}},"{RUN_AGAIN}")',
        ),
    ),
    purpose="What is known of the plan of each material.",
    none="No boards are planned.",
    key="number",
)  # fmt: skip
