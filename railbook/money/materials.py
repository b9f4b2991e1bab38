"""Materials: a row for each thing to buy, what it costs, and what was paid.

Boards come from the cutting plan, pieces from the cut list, fasteners and post trim from Bring along. What is on
hand is used first: it is charged, but not bought.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, number_at
from railbook.basics.kinds import CHOICE, COUNT, MARK, MONEY, TAPE, TEXT, VERDICT, YES_NO
from railbook.basics.rounding import ceiling, ceiling_excel, same
from railbook.job.assemblies import NO, YES
from railbook.job.paid import Paid
from railbook.job.prices import BOARDS, PACK, Price, price_at
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


@dataclass(frozen=True)
class Demand:
    """Everything that materials are counted from, summed once.

    Attributes:
        boards: row of tab Prices -> boards of the cutting plan; `from_yard` those of them that are on hand.
        stale_boards: rows of tab Prices with a board that asks for another run.
        needed: row of tab Materials -> pieces or kits; `stale` those with a need that asks for another run.
        brought: rows of tab Bring along.
        prices: rows of tab Prices; `first_rows` item -> its first row.
        paid: rows of tab Paid.
    """

    boards: Mapping[int, int]
    from_yard: Mapping[int, int]
    stale_boards: frozenset[int]
    needed: Mapping[int, int]
    stale: frozenset[int]
    brought: Sequence[Any]
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
    def use(self) -> str:
        """What it is for."""
        return self.chosen.use

    @property
    def sold_as(self) -> str:
        """How it is sold."""
        return self.chosen.sold_as

    @property
    def length(self) -> float | None:
        """Length of a board [job unit]."""
        return self.chosen.length

    @property
    def price_row(self) -> int:
        """Row of tab Prices."""
        return self.chosen.price_row

    @property
    def listed_row(self) -> int:
        """First row of the item on tab Prices."""
        return self.chosen.listed_row

    @property
    def brought_row(self) -> int:
        """Row of tab Bring along that tells the spares."""
        return self.chosen.brought_row

    @cached_property
    def price(self) -> Price:
        """That row of tab Prices."""
        return price_at(self.demand.prices, self.price_row)

    @property
    def description(self) -> str:
        """In the words of the supplier."""
        return self.price.description or ""

    @property
    def _is_board(self) -> bool:
        return self.sold_as in BOARDS

    @cached_property
    def needed(self) -> int:
        """Boards, pieces or kits."""
        return self.demand.boards.get(self.price_row, 0) if self._is_board else self.demand.needed.get(self.number, 0)

    @property
    def needed_excel(self) -> str:
        """Formula part: how many are needed."""
        if self._is_board:
            return "SUMIFS({cutting_plan_boards},{cutting_plan_price_row},{price_row})"
        return "SUMIFS({needs_needed},{needs_material_row},{number})"

    @cached_property
    def spares(self) -> int:
        """Fasteners beyond what is needed."""
        if not self.brought_row:
            return 0
        row = self.demand.brought[self.brought_row - 1]
        spares: int = (row.to_bring or 0) - (row.needed or 0)
        return spares

    @property
    def on_hand(self) -> int:
        """How many are in the yard."""
        return self.price.on_hand or 0

    @cached_property
    def from_yard(self) -> int:
        """How many of those are used."""
        if self._is_board:
            return self.demand.from_yard.get(self.price_row, 0)
        return min(self.on_hand, self.needed + self.spares)

    @property
    def yard_excel(self) -> str:
        """Formula part: how many of those are used."""
        if self._is_board:
            return "SUMIFS({cutting_plan_boards},{cutting_plan_price_row},{price_row},{cutting_plan_bought},0)"
        return "MIN({on_hand},{needed}+{spares})"

    @property
    def pack_of(self) -> int | None:
        """Pieces in a pack; None when it is not sold in packs."""
        return self.price.pack_of or None if self.sold_as == PACK else None

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
    def _is_listed_otherwise(self) -> bool:
        """Whether tab Prices has something else in its row, or the item elsewhere."""
        demand, price = self.demand, self.price
        if (demand.first_rows.get(self.item, 0) if self.item else 0) != self.listed_row:
            return True
        if not self.price_row:
            return False
        other = (price.item or "") != self.item or (price.sold_as or "") != self.sold_as
        unpacked = self.sold_as == PACK and not price.pack_of
        resized = self._is_board and not same(price.length or 0.0, self.length or 0.0)
        return other or unpacked or resized

    @property
    def stale_excel(self) -> str:
        """Formula part: whether what it is counted from asks for another run."""
        if self._is_board:
            return 'COUNTIFS({cutting_plan_price_row},{price_row},{cutting_plan_status},"run again")>0'
        return "SUMIFS({needs_stale},{needs_material_row},{number})>0"

    @property
    def status(self) -> str:
        """Asks for another run when it is listed otherwise, or when what it is counted from does."""
        at, rows = (self.price_row, self.demand.stale_boards) if self._is_board else (self.number, self.demand.stale)
        brought = self.demand.brought[self.brought_row - 1].status if self.brought_row else ""
        return RUN_AGAIN if self._is_listed_otherwise or at in rows or brought == RUN_AGAIN else ""


def _words(column: str) -> str:
    """Formula: a text of tab Prices."""
    return f'=IF({{price_row}}=0,"",INDEX({{prices_{column}}},{{price_row}})&"")'


_PER_PACK = 'IF({pack_of}="",1,{pack_of})'
_LENGTH = or_zero("{length}")
_OWN_PAYMENTS = (  # a function of a whole column is not computed alike by every program, comparing one is
    f"({{paid_item}}={{item}})*({{paid_length}}>{_LENGTH}-0.000001)*({{paid_length}}<{_LENGTH}+0.000001)"
)
_READABLE = f"SUMPRODUCT({_OWN_PAYMENTS}*1,{{paid_paid}})"  # without those that stand there as text
_LISTED = 'IF({item}="",0,IFERROR(MATCH({item},{prices_item},0),0))'
_BROUGHT = "INDEX({bring_along_to_bring},{brought_row})-INDEX({bring_along_needed},{brought_row})"

TAB = Tab(
    "materials",
    "Materials",
    Material,
    (
        Column("number", "No.", COUNT, width=5),
        Column("item", "Item", MARK, width=15),
        Column("description", "Description", TEXT, _words("description"), width=16),
        Column("sold_as", "Sold as", CHOICE, width=7),
        Column("length", "Length", TAPE, width=8),
        Column("needed", "Needed", COUNT, "=[needed_excel]", width=7),
        Column("spares", "Spares", COUNT, f"=IF({{brought_row}}=0,0,{_BROUGHT})", width=7),
        Column("from_yard", "On hand", COUNT, "=[yard_excel]", width=7),
        Column("pack_of", "Pack of", COUNT,
            f'=IF(AND({{price_row}}>0,{{sold_as}}="{PACK}"),'
            f'IF({or_zero("INDEX({prices_pack_of},{price_row})")}=0,"",INDEX({{prices_pack_of}},{{price_row}})),"")'),
        Column("to_buy", "To buy", COUNT, "=" + ceiling_excel(f"({{needed}}+{{spares}}-{{from_yard}})/{_PER_PACK}")),
        Column("unit_price", "Price", MONEY, f'=IF({{price_row}}=0,"",{number_at("prices_price", "price_row")})'),
        Column("price_date", "Price date", TEXT, width=11),
        Column("bought_cost", "Bought", MONEY, f'=IF({{missing}}=1,"",{or_zero("{unit_price}")}*{{to_buy}})'),
        Column("yard_cost", "From yard", MONEY,
            f'=IF({{missing}}=1,"",{or_zero("{unit_price}")}*{{from_yard}}/{_PER_PACK})'),
        Column("total", "Charged", MONEY, '=IF({missing}=1,"",{bought_cost}+{yard_cost})'),
        Column("says", "Incomplete", TEXT, f'=IF({{missing}}=1,"{NO_PRICE}","")', width=10),
        Column("taxable", "Taxed", YES_NO,
            f'=IF({{price_row}}=0,"{YES}",IF(INDEX({{prices_taxable}},{{price_row}})="{NO}","{NO}","{YES}"))', width=7),
        Column("line_tax", "Tax", MONEY,
            f'=IF({{missing}}=1,"",IF({{taxable}}="{YES}",{{bought_cost}}*{or_zero("{tax}")},0))', width=9),
        Column("paid", "Paid", MONEY,
            f'=IFERROR(IF(SUMPRODUCT({_OWN_PAYMENTS}*({{paid_paid}}<>""))=0,"",'
            f'IF({_READABLE}=0,SUMPRODUCT({_OWN_PAYMENTS}*{{paid_paid}}),{_READABLE})),"")'),
        Column("difference", "Difference", MONEY,
            '=IF(OR({paid}="",{missing}=1),"",{paid}-{bought_cost}-{line_tax})'),
        Column("supplier", "Supplier", TEXT, _words("supplier"), width=14),
        Column("use", "For", TEXT, width=24),
        Column("on_hand", "In the yard", COUNT,
            f"=IF({{price_row}}=0,0,{or_zero('INDEX({prices_on_hand},{price_row})')})"),
        Column("missing", "No price", COUNT, '=IF(AND({unit_price}="",{needed}+{spares}>0),1,0)'),
        Column("price_row", "Price row", COUNT),
        Column("listed_row", "First price row", COUNT),
        Column("brought_row", "Bring along row", COUNT),
        Column(
            STATUS, "Status", VERDICT,
            ask_again(
                f"{_LISTED}<>{{listed_row}}",
                "IF({price_row}=0,FALSE,OR(INDEX({prices_item},{price_row})<>{item},"
                "INDEX({prices_sold_as},{price_row})<>{sold_as},"
                f'AND({{sold_as}}="{PACK}",{{pack_of}}=""),'
                f'AND({{length}}<>"",ROUND(ABS({or_zero("INDEX({prices_length},{price_row})")}-{_LENGTH}),6)>0)))',
                "[stale_excel]",
                'IF({brought_row}=0,FALSE,INDEX({bring_along_status},{brought_row})="run again")',
            ),
        ),
    ),
    purpose="What is bought and what it costs; totals stand on tab Cost. On hand is used first: charged, not bought, "
    "not taxed. Type what was really paid on tab Paid.",
    none="Nothing to buy is known.",
    paper_to="supplier",
    key="number",
)  # fmt: skip
