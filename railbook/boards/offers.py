"""Working boards: the boards on sale and on hand that the cutting plan chose from, then and now."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Tab, look_up, number_at
from railbook.basics.kinds import CHOICE, COUNT, LENGTH, MARK, MONEY
from railbook.basics.rounding import PLACES
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
    """A board on sale, then and now; length in the job's unit."""

    of: Offer
    prices: Sequence[Price]

    @property
    def material(self) -> int:
        """Row of tab Working plans."""
        return self.of.material

    @property
    def price_row(self) -> int:
        """Row of tab Prices."""
        return self.of.price_row

    @property
    def chosen_item(self) -> str:
        """What it was."""
        return self.of.item

    @property
    def chosen_sold_as(self) -> str:
        """How it was sold."""
        return self.of.sold_as

    @property
    def chosen_length(self) -> float:
        """How long it was [job unit]."""
        return self.of.length

    @property
    def chosen_price(self) -> float | None:
        """What it cost."""
        return self.of.price

    @property
    def chosen_on_hand(self) -> int:
        """How many were on hand."""
        return self.of.on_hand

    @cached_property
    def _now(self) -> Price:
        return price_at(self.prices, self.price_row)

    @property
    def item(self) -> str:
        """What it is."""
        return self._now.item or ""

    @property
    def length(self) -> float | None:
        """How long it is [job unit]."""
        return self._now.length

    @property
    def price(self) -> float | None:
        """What it costs."""
        return self._now.price

    @property
    def on_hand(self) -> int:
        """How many are on hand."""
        return self._now.on_hand or 0

    @property
    def moved(self) -> int:
        """1 when any of it changed."""
        now, then = self._now, self.of
        same_figures = all(
            round(abs((left or 0.0) - (right or 0.0)), PLACES) == 0
            for left, right in ((now.length, then.length), (now.price, then.price), (self.on_hand, then.on_hand))
        )
        blanks = (now.price is None) == (then.price is None)
        return int(not (same_figures and blanks and self.item == then.item and now.sold_as == then.sold_as))


TAB = Tab(
    "offers",
    "Working boards",
    Offered,
    (
        Column("material", "Material", COUNT),
        Column("price_row", "Price row", COUNT),
        Column("chosen_item", "Planned item", MARK, width=13),
        Column("chosen_sold_as", "Planned sold as", CHOICE),
        Column("chosen_length", "Planned length", LENGTH),
        Column("chosen_price", "Planned price", MONEY),
        Column("chosen_on_hand", "Planned on hand", COUNT),
        Column("item", "Item", MARK, '=INDEX({prices_item},{price_row})&""', width=13),
        Column("length", "Length", LENGTH, "=" + look_up("prices_length", "price_row")),
        Column("price", "Price", MONEY, "=" + number_at("prices_price", "price_row")),
        Column("on_hand", "On hand", COUNT, "=" + or_zero("INDEX({prices_on_hand},{price_row})")),
        Column("moved", "Changed", COUNT,
            f"=IF(OR({{item}}<>{{chosen_item}},ROUND(ABS({or_zero('{length}')}-{{chosen_length}}),6)>0,"
            f"ROUND(ABS({or_zero('{price}')}-{or_zero('{chosen_price}')}),6)>0,COUNT({{price}})<>COUNT({{chosen_price}}),"
            "{on_hand}<>{chosen_on_hand},INDEX({prices_sold_as},{price_row})<>{chosen_sold_as}),1,0)"),
    ),
    purpose="The boards that the cutting plan chose from, then and now.",
    none="No boards are planned.",
    key="price_row",
)  # fmt: skip
