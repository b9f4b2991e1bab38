"""Materials: a row for each thing to buy, what it costs, and what was paid.

Boards come from the cutting plan, pieces from the cut list, fasteners and post trim from Bring along. What is on
hand is used first: it is charged, but not bought.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, number_at
from railbook.basics.joins import Join, Rests, differ, written
from railbook.basics.kinds import CHOICE, COUNT, MARK, MONEY, TAPE, TEXT, VERDICT, YES_NO
from railbook.basics.rounding import ceiling, ceiling_excel, same
from railbook.boards import offers
from railbook.boards.offers import Offered
from railbook.fastening import bring_along
from railbook.fastening.bring_along import Brought
from railbook.job import prices
from railbook.job.assemblies import NO, YES
from railbook.job.paid import Paid
from railbook.job.prices import PACK, Price, price_at
from railbook.job.settings import Settings

NO_PRICE = "no price"


class MaterialChosen(NamedTuple):
    """One thing to buy, as chosen.

    Attributes:
        item: its mark; `use` what it is for.
        price_row: row of tab Prices by which it is bought; 0 when it is not listed there.
        sold_as: board, yard board, each, pack or kit, as listed there; `length` that of a board [job unit].
        listed_row: first row of the item on tab Prices; 0 when there is none.
        brought_row: of fasteners, the row of tab Bring along that tells the spares; else 0.
        offer_row: of boards, the row of tab Working boards; else 0.
        price_date: when its price was asked.
    """

    item: str
    use: str
    price_row: int
    sold_as: str
    length: float | None
    listed_row: int = 0
    brought_row: int = 0
    price_date: dt.date | None = None
    offer_row: int = 0


@dataclass(frozen=True)
class Demand:
    """Everything that materials are counted from, summed once.

    Attributes:
        offers: boards that the cutting plan chose from.
        stale_boards: rows of tab Working boards with a board that asks for another run.
        needed: row of tab Materials -> pieces or kits; `stale` those with a need that asks for another run.
        brought: rows of tab Bring along.
        prices: rows of tab Prices; `first_rows` item -> its first row.
        paid: rows of tab Paid.
    """

    offers: Sequence[Offered]
    stale_boards: frozenset[int]
    needed: Mapping[int, int]
    stale: frozenset[int]
    brought: Sequence[Brought]
    prices: Sequence[Price]
    first_rows: Mapping[str, int]
    paid: Sequence[Paid]


@dataclass(frozen=True)
class Material:
    """One thing to buy, at row `number`."""

    number: int
    chosen: MaterialChosen
    settings: Settings
    demand: Demand = field(repr=False)

    @property
    def item(self) -> str:
        """Its mark."""
        return self.chosen.item

    @property
    def length(self) -> float | None:
        """Length of a board [job unit]."""
        return self.chosen.length

    @property
    def offer(self) -> Offered | None:
        """Of boards, the row of tab Working boards."""
        return self.demand.offers[self.chosen.offer_row - 1] if self.chosen.offer_row else None

    @property
    def brought(self) -> Brought | None:
        """Of fasteners, the row of tab Bring along; else None."""
        return self.demand.brought[self.chosen.brought_row - 1] if self.chosen.brought_row else None

    @cached_property
    def price(self) -> Price:
        """That row of tab Prices."""
        return price_at(self.demand.prices, self.chosen.price_row)

    @property
    def description(self) -> str:
        """In the words of the supplier."""
        return self.price.description or ""

    @cached_property
    def needed(self) -> int:
        """Boards, pieces or kits."""
        if self.offer is not None:
            return self.offer.bought + self.offer.taken
        return self.demand.needed.get(self.number, 0)

    @property
    def needed_excel(self) -> str:
        """Formula part: how many are needed."""
        if self.offer is not None:
            return written("{offer.bought}+{offer.taken}", JOINS, {})
        return "SUMIFS({needs_needed},{needs_material_row},{number})"

    @cached_property
    def spares(self) -> int:
        """Fasteners beyond what is needed."""
        row = self.brought
        return 0 if row is None else (row.to_bring or 0) - (row.needed or 0)

    @property
    def on_hand(self) -> int:
        """How many are in the yard."""
        return self.price.on_hand or 0

    @cached_property
    def from_yard(self) -> int:
        """How many of those are used."""
        if self.offer is not None:
            return self.offer.taken
        return min(self.on_hand, self.needed + self.spares)

    @property
    def yard_excel(self) -> str:
        """Formula part: how many of those are used."""
        if self.offer is not None:
            return written("{offer.taken}", JOINS, {})
        return "MIN({on_hand},{needed}+{spares})"

    @property
    def pack_of(self) -> int | None:
        """Pieces in a pack; None when it is not sold in packs."""
        return self.price.pack_of or None if self.chosen.sold_as == PACK else None

    @cached_property
    def to_buy(self) -> int:
        """Boards, pieces, packs or kits to buy."""
        return ceiling((self.needed + self.spares - self.from_yard) / (self.pack_of or 1))

    @property
    def unit_price(self) -> float | None:
        """Of one board, piece, pack or kit."""
        return self.price.price

    @property
    def price_date(self) -> str:
        """When it was asked, year-month-day, as it was when the job was computed."""
        return "" if self.chosen.price_date is None else self.chosen.price_date.isoformat()

    @cached_property
    def missing(self) -> int:
        """1 when something is charged whose price is not known."""
        return int(self.unit_price is None and self.needed + self.spares > 0)

    @property
    def bought_cost(self) -> float | None:
        """Of what is bought, before tax."""
        return None if self.missing else (self.unit_price or 0.0) * self.to_buy

    @property
    def yard_cost(self) -> float | None:
        """Of what is on hand, charged but not bought."""
        return None if self.missing else (self.unit_price or 0.0) * self.from_yard / (self.pack_of or 1)

    @cached_property
    def total(self) -> float | None:
        """What the job is charged, before tax; None while the price is not known."""
        bought, yard = self.bought_cost, self.yard_cost
        return None if bought is None or yard is None else bought + yard

    @property
    def rate(self) -> float:
        """What one that is needed costs, spares and rests of packs among it; 0 while the price is not known."""
        return (self.total or 0.0) / self.needed if self.needed else 0.0

    @property
    def taxable(self) -> str:
        """Yes unless tab Prices says No."""
        return NO if self.price.taxable == NO else YES

    @cached_property
    def line_tax(self) -> float | None:
        """On what is bought."""
        if self.bought_cost is None:
            return None
        return self.bought_cost * (self.settings.tax or 0.0) if self.taxable == YES else 0.0

    @property
    def supplier(self) -> str:
        """Who sells it."""
        return self.price.supplier or ""

    @cached_property
    def _payments(self) -> list[float]:
        """What was paid for it."""
        return [
            row.paid
            for row in self.demand.paid
            if row.paid is not None
            and (row.item or "").casefold() == self.item.casefold()
            and same(row.length or 0.0, self.length or 0.0)
        ]

    @cached_property
    def paid(self) -> float | None:
        """What was paid for it, tax included; None: nothing yet."""
        return sum(self._payments) if self._payments else None

    @property
    def difference(self) -> float | None:
        """What was paid beyond what was computed, tax included."""
        if self.paid is None or self.bought_cost is None or self.line_tax is None:
            return None
        return self.paid - self.bought_cost - self.line_tax

    @property
    def says(self) -> str:
        """What is missing from its total."""
        return NO_PRICE if self.missing else ""

    @property
    def listed_otherwise(self) -> bool:
        """Whether tab Prices has the item elsewhere."""
        return (self.demand.first_rows.get(self.item, 0) if self.item else 0) != self.chosen.listed_row

    @property
    def priced_otherwise(self) -> bool:
        """Whether its row of tab Prices has something else in it."""
        of, price = self.chosen, self.price
        if not of.price_row:
            return False
        other = differ(price.item, of.item) or differ(price.sold_as, of.sold_as)
        unpacked = of.sold_as == PACK and not price.pack_of
        return other or unpacked or (of.offer_row > 0 and differ(price.length or 0.0, of.length))

    @property
    def counted_otherwise(self) -> bool:
        """Whether what it is counted from asks for another run."""
        if self.offer is not None:
            return self.chosen.offer_row in self.demand.stale_boards
        return self.number in self.demand.stale

    @property
    def counted_excel(self) -> str:
        """Formula part: the same."""
        if self.offer is not None:
            return f'COUNTIFS({{cutting_plan_offer_row}},{{offer_row}},{{cutting_plan_status}},"{RUN_AGAIN}")>0'
        return f'COUNTIFS({{needs_material_row}},{{number}},{{needs_status}},"{RUN_AGAIN}")>0'

    @cached_property
    def status(self) -> str:
        """Asks for another run when it is listed otherwise, or when what it is counted from does."""
        return TAB.status_of(self)


JOINS = {
    "price": Join(prices.TAB, "price_row", "price", maybe=True),
    "offer": Join(offers.TAB, "offer_row", "offer", maybe=True),
    "brought": Join(bring_along.TAB, "brought_row", "brought", maybe=True),
}
_OWN_PAYMENTS = (  # a function of a whole column is not computed alike by every program, comparing one is
    "({paid_item}={item})*({paid_length}>{size}-0.000001)*({paid_length}<{size}+0.000001)"
)
_READABLE = "SUMPRODUCT(" + _OWN_PAYMENTS + "*1,{paid_paid})"  # without those that stand there as text


def _words(column: str) -> str:
    """Formula: a text of tab Prices."""
    return '=IF({price_row}=0,"",{price.' + column + '}&"")'


def _unless_missing(expression: str) -> str:
    """Formula: blank while the price is not known."""
    return '=IF({missing}=1,"",' + expression + ")"


TAB = Tab(
    "materials",
    "Materials",
    Material,
    (
        Column("number", "No.", COUNT, width=5),
        Column("item", "Item", MARK, width=15),
        Column("description", "Description", TEXT, _words("description"), width=16),
        Column("sold_as", "Sold as", CHOICE, path="chosen.sold_as", width=7),
        Column("length", "Length", TAPE, width=8),
        Column("needed", "Needed", COUNT, "=[needed_excel]", width=7),
        Column("spares", "Spares", COUNT, "=IF({brought_row}=0,0,{brought.to_bring}-{brought.needed})", width=7),
        Column("from_yard", "On hand", COUNT, "=[yard_excel]", width=7),
        Column(
            "pack_of", "Pack of", COUNT,
            '=IF(AND({price_row}>0,{sold_as}="' + PACK + '"),IF(' + or_zero("{price.pack_of}")
            + '=0,"",{price.pack_of}),"")',
        ),
        Column("to_buy", "To buy", COUNT, "=" + ceiling_excel("({needed}+{spares}-{from_yard})/{per_pack}")),
        Column("unit_price", "Price", MONEY, '=IF({price_row}=0,"",' + number_at("prices_price", "price_row") + ")"),
        Column("price_date", "Price date", TEXT, width=11),
        Column("bought_cost", "Bought", MONEY, _unless_missing("{known}*{to_buy}")),
        Column("yard_cost", "From yard", MONEY, _unless_missing("{known}*{from_yard}/{per_pack}")),
        Column("total", "Charged", MONEY, _unless_missing("{bought_cost}+{yard_cost}")),
        Column("says", "Incomplete", TEXT, '=IF({missing}=1,"' + NO_PRICE + '","")', width=10),
        Column(
            "taxable", "Taxed", YES_NO,
            f'=IF({{price_row}}=0,"{YES}",IF({{price.taxable}}="{NO}","{NO}","{YES}"))', width=7,
        ),
        Column(
            "line_tax", "Tax", MONEY,
            _unless_missing('IF({taxable}="' + YES + '",{bought_cost}*' + or_zero("{tax}") + ",0)"), width=9,
        ),
        Column(
            "paid", "Paid", MONEY,
            f'=IFERROR(IF(SUMPRODUCT({_OWN_PAYMENTS}*({{paid_paid}}<>""))=0,"",'
            f'IF({_READABLE}=0,SUMPRODUCT({_OWN_PAYMENTS}*{{paid_paid}}),{_READABLE})),"")',
        ),
        Column(
            "difference", "Difference", MONEY,
            '=IF(OR({paid}="",{missing}=1),"",{paid}-{bought_cost}-{line_tax})',
        ),
        Column("supplier", "Supplier", TEXT, _words("supplier"), width=14),
        Column("use", "For", TEXT, path="chosen.use", width=24),
        Column("on_hand", "In the yard", COUNT, "=IF({price_row}=0,0," + or_zero("{price.on_hand}") + ")"),
        Column("missing", "No price", COUNT, '=IF(AND({unit_price}="",{needed}+{spares}>0),1,0)'),
        Column("rate", "Of one needed", MONEY, "=IF({needed}=0,0," + or_zero("{total}") + "/{needed})"),
        Column("price_row", "Price row", COUNT, path="chosen.price_row"),
        Column("listed_row", "First price row", COUNT, path="chosen.listed_row"),
        Column("brought_row", "Bring along row", COUNT, path="chosen.brought_row"),
        Column("offer_row", "Row of Working boards", COUNT, path="chosen.offer_row"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="What is bought and what it costs; totals stand on tab Cost. On hand is used first: charged, not bought, "
    "not taxed. Type what was really paid on tab Paid.",
    none="Nothing to buy is known.",
    paper_to="supplier",
    key="number",
    joins=JOINS,
    terms={
        "per_pack": 'IF({pack_of}="",1,{pack_of})',
        "size": or_zero("{length}"),
        "known": or_zero("{unit_price}"),
    },
    rests=Rests(
        on=("brought",),
        unless={
            "listed_otherwise": 'IF({item}="",0,IFERROR(MATCH({item},{prices_item},0),0))<>{listed_row}',
            "priced_otherwise": "IF({price_row}=0,FALSE,OR({price.item}<>{item},{price.sold_as}<>{sold_as},"
            'AND({sold_as}="' + PACK + '",{pack_of}=""),'
            "AND({offer_row}>0,ABS(" + or_zero("{price.length}") + "-{size})>=0.000001)))",
            "counted_otherwise": "[counted_excel]",
        },
    ),
)  # fmt: skip
