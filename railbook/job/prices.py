"""Prices: what is on sale, in which lengths and packs. The same item has a row for each length."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import CHOICE, COUNT, DATE, MARK, MEASURED, MONEY, TEXT, YES_NO
from railbook.basics.problem import Origin

BOARD, YARD_BOARD, EACH, PACK, KIT = "Board", "Yard board", "Each", "Pack", "Kit"
BOARDS = (BOARD, YARD_BOARD)  # what is cut to length


@dataclass(frozen=True)
class Price:
    """One thing on sale.

    Attributes:
        item: the mark under which assemblies name it.
        sold_as: board of a length, board that is only in the yard, each, pack or kit.
        length: length of a board [job unit].
        pack_of: pieces in a pack.
        on_hand: boards, pieces (also of what is sold in packs) or kits already in the yard.
        taxable: Yes or No; None is taxed.
    """

    item: str | None = None
    description: str | None = None
    sold_as: str | None = None
    length: float | None = None
    pack_of: int | None = None
    price: float | None = None
    price_date: dt.date | None = None
    supplier: str | None = None
    taxable: str | None = None
    on_hand: int | None = None
    origin: Origin = Origin()


def price_at(prices: Sequence[Price], row: int) -> Price:
    """A row of tab Prices, counted from 1; a blank one where there is none any more, or never was.

    >>> price_at([Price(item="2X4")], 1).item, price_at([Price(item="2X4")], 2).item, price_at([], 0).item
    ('2X4', None, None)
    """
    return prices[row - 1] if 0 < row <= len(prices) else Price()


TAB = Tab(
    "prices",
    "Prices",
    Price,
    (
        asked("item", "Item", MARK, "The name that tab Assemblies uses: 2X4, CAP 5/4X6", needed=True, width=16),
        asked("description", "Description", TEXT, "In the words of your supplier", width=26),
        asked(
            "sold_as",
            "Sold as",
            CHOICE,
            "Board of a length, each, pack or kit; Yard board: on hand, but not on sale",
            choices=(BOARD, YARD_BOARD, EACH, PACK, KIT),
            needed=True,
            width=9,
        ),
        asked("length", "Length", MEASURED, "Boards: full length on sale; one row for each length"),
        asked("pack_of", "Pack of", COUNT, "Packs: pieces in a pack"),
        asked(
            "price",
            "Price",
            MONEY,
            "For one board, piece, pack or kit; blank: not known. Yard board: what the job is charged",
        ),
        asked("price_date", "Price date", DATE, "When the price was asked"),
        asked("supplier", "Supplier", TEXT, "Who sells it"),
        asked("taxable", "Taxable", YES_NO, "Yes or No; blank: taxed"),
        asked(
            "on_hand", "On hand", COUNT, "Boards, pieces or kits in the yard already: used first, charged, not bought"
        ),
    ),
    purpose="What is on sale: a row for each length of board, and for each way that a thing is sold. A kit holds what "
    "one section needs of it.",
    optional=True,
)
