"""Working boards: the boards that the cutting plan chose from, then and now, and how many of them it uses."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Tab, number_at
from railbook.basics.joins import Join, differ
from railbook.basics.kinds import CHOICE, COUNT, LENGTH, MARK, MONEY
from railbook.job import prices
from railbook.job.prices import Price, price_at


class Offer(NamedTuple):
    """A row of tab Prices that a plan chose from, as it was then."""

    material: int
    price_row: int
    item: str
    sold_as: str
    length: float
    price: float | None
    on_hand: int


@dataclass(frozen=True)
class Offered:
    """A board on sale, then and now, at row `number`; length in the job's unit.

    Attributes:
        bought: how many of it the plan buys; `taken` how many it takes from those on hand.
        prices: rows of tab Prices.
    """

    number: int
    of: Offer
    bought: int
    taken: int
    prices: Sequence[Price] = field(repr=False)

    @cached_property
    def now(self) -> Price:
        """Its row of tab Prices."""
        return price_at(self.prices, self.of.price_row)

    @property
    def on_hand(self) -> int:
        """How many are on hand."""
        return self.now.on_hand or 0

    @property
    def cost(self) -> float | None:
        """Of those that are bought; None when the price is not known."""
        if not self.bought:
            return 0.0
        return None if self.now.price is None else self.bought * self.now.price

    @property
    def unpriced(self) -> int:
        """1 when the price of a board to buy is not known."""
        return int(self.cost is None)

    @property
    def lacks(self) -> int:
        """1 when boards are charged, bought or on hand, whose price is not known."""
        return int(self.now.price is None and self.bought + self.taken > 0)

    @property
    def replaced(self) -> int:
        """1 when it is another board than was planned with, or too few are on hand."""
        other = differ(self.now.item, self.of.item) or differ(self.now.sold_as, self.of.sold_as)
        return int(other or differ(self.now.length or 0.0, self.of.length) or self.taken > self.on_hand)

    @property
    def moved(self) -> int:
        """1 when anything of it changed."""
        dearer = differ(self.now.price, self.of.price)
        return int(self.replaced or dearer or self.on_hand != self.of.on_hand)


def _used(bought: int) -> str:
    """Formula: boards of the plan, to buy or on hand."""
    return "=SUMIFS({cutting_plan_boards},{cutting_plan_offer_row},{number},{cutting_plan_bought}," + f"{bought})"


TAB = Tab(
    "offers",
    "Working boards",
    Offered,
    (
        Column("number", "Row", COUNT),
        Column("material", "Material", COUNT, path="of.material"),
        Column("price_row", "Price row", COUNT, path="of.price_row"),
        Column("chosen_item", "Planned item", MARK, path="of.item", width=13),
        Column("chosen_sold_as", "Planned sold as", CHOICE, path="of.sold_as"),
        Column("chosen_length", "Planned length", LENGTH, path="of.length"),
        Column("chosen_price", "Planned price", MONEY, path="of.price"),
        Column("chosen_on_hand", "Planned on hand", COUNT, path="of.on_hand"),
        Column("price", "Price", MONEY, "=" + number_at("prices_price", "price_row"), path="now.price"),
        Column("on_hand", "On hand", COUNT, "=" + or_zero("{now.on_hand}")),
        Column("bought", "Bought", COUNT, _used(1)),
        Column("taken", "Taken from those on hand", COUNT, _used(0)),
        Column("cost", "Cost", MONEY, '=IF({bought}=0,0,IF({price}="","",{bought}*{price}))'),
        Column("unpriced", "No price", COUNT, '=IF({cost}="",1,0)'),
        Column("lacks", "Charged without a price", COUNT, '=IF(AND({price}="",{bought}+{taken}>0),1,0)'),
        Column(
            "replaced", "Another board", COUNT,
            "=IF(OR({now.item}<>{chosen_item},{now.sold_as}<>{chosen_sold_as},"
            "ABS(" + or_zero("{now.length}") + "-{chosen_length})>=0.000001,{taken}>{on_hand}),1,0)",
        ),
        Column(
            "moved", "Changed", COUNT,
            "=IF(OR({replaced}=1,COUNT({price})<>COUNT({chosen_price}),"
            "ABS(" + or_zero("{price}") + "-" + or_zero("{chosen_price}") + ")>=0.000001,"
            "{on_hand}<>{chosen_on_hand}),1,0)",
        ),
    ),
    purpose="The boards that the cutting plan chose from, then and now, and how many of them it uses.",
    none="No boards are planned.",
    key="price_row",
    joins={"now": Join(prices.TAB, "price_row", "now")},
)  # fmt: skip
