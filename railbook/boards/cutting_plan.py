"""Cutting plan: a row for each way a board is cut. Which pieces lie on it was chosen; what they use is live."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up, number_at
from railbook.basics.kinds import BAR, BOX, CHOICE, COUNT, LENGTH, MARK, MONEY, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import PLACES, floor, floor_excel
from railbook.basics.units import tape_text, tape_text_excel
from railbook.boards.cuts import Cut, Lying
from railbook.job.prices import Price, price_at
from railbook.job.settings import USUAL_KERF, USUAL_OFFCUT, USUAL_TRIM, Settings, or_usual

BUY, ON_HAND = "buy", "on hand"
KEEP = "keep"


class BoardCut(NamedTuple):
    """Boards that are cut alike, as chosen.

    Attributes:
        material: row of tab Working plans.
        price_row: row of tab Prices.
        bought: 1 for boards to buy, 0 for boards on hand.
        boards: how many.
        item: of that row of tab Prices when it was planned; `sold_as` and `length` alike.
        depth: depth of cut [job unit].
        lying: pieces from the left end.
        pieces: the same in words.
        bar: the same as a bar to scale.
    """

    material: int
    price_row: int
    bought: int
    boards: int
    item: str
    sold_as: str
    length: float
    depth: float
    lying: tuple[Lying, ...]
    pieces: str
    bar: str


@dataclass(frozen=True)
class PlannedBoard:
    """Boards that are cut alike; lengths in the job's unit.

    Attributes:
        number: its row.
        of: what was chosen.
        cuts: its pieces, from the left end.
        prices: every row of tab Prices.
        taken: row of tab Prices -> boards on hand that the plan uses.
    """

    number: int
    of: BoardCut
    cuts: Sequence[Cut]
    prices: Sequence[Price]
    taken: Mapping[int, int]
    settings: Settings
    box: str = BOX

    @cached_property
    def _price(self) -> Price:
        return price_at(self.prices, self.of.price_row)

    @property
    def material(self) -> int:
        """Row of tab Working plans."""
        return self.of.material

    @property
    def price_row(self) -> int:
        """Row of tab Prices."""
        return self.of.price_row

    @property
    def item(self) -> str:
        """What it is."""
        return self._price.item or ""

    @property
    def buy_length(self) -> float | None:
        """Length over all [job unit]."""
        return self._price.length

    @property
    def buy_text(self) -> str:
        """The same as it is read off the tape."""
        return tape_text(self.buy_length, self.settings.tape_step, self.settings.unit)

    @property
    def boards(self) -> int:
        """How many are cut so."""
        return self.of.boards

    @property
    def source(self) -> str:
        """Where they come from."""
        return BUY if self.of.bought else ON_HAND

    @property
    def pieces(self) -> str:
        """What is cut from it, from the left end."""
        return self.of.pieces

    @property
    def bar(self) -> str:
        """The board to scale."""
        return self.of.bar

    @property
    def bought(self) -> int:
        """1 for boards to buy, 0 for boards on hand."""
        return self.of.bought

    @property
    def depth(self) -> float:
        """Depth of cut that it was planned for [job unit]."""
        return self.of.depth

    @property
    def trim(self) -> float:
        """Cut away at each end before the pieces [job unit]."""
        return self.settings.trim

    @property
    def kerf(self) -> float:
        """Width of the blade [job unit]."""
        return self.settings.kerf

    @property
    def last_row(self) -> int:
        """Row of its last piece on tab Working cuts."""
        return self.cuts[-1].row

    @cached_property
    def used(self) -> float:
        """What the pieces need between the trims, kerfs and wedges among it [job unit]."""
        return sum(cut.width for cut in self.cuts) + self.depth / 2 * abs(self.cuts[-1].right)

    @cached_property
    def spare(self) -> float:
        """What is left between the trims; negative when the pieces no longer fit [job unit]."""
        return (self.buy_length or 0.0) - 2 * self.trim - self.used

    @cached_property
    def offcut(self) -> float:
        """What is left behind one more cut, at its shorter edge, in whole steps of the tape [job unit]."""
        step, behind = self.settings.tape_step, self.spare - self.kerf * math.hypot(1, self.cuts[-1].right)
        return floor(max(0.0, behind) / step) * step

    @property
    def keep(self) -> str:
        """Whether the offcut is worth keeping."""
        return KEEP if self.offcut > 0 and round(self.offcut - self.settings.offcut, PLACES) >= 0 else ""

    @property
    def price(self) -> float | None:
        """Of one board."""
        return self._price.price

    @property
    def cost(self) -> float | None:
        """Of all of them; boards on hand are paid for; None when the price is not known."""
        if not self.bought:
            return 0.0
        return None if self.price is None else self.boards * self.price

    @property
    def unpriced(self) -> int:
        """1 when the price of a board to buy is not known."""
        return int(self.cost is None)

    @property
    def chosen_item(self) -> str:
        """What it was when it was planned."""
        return self.of.item

    @property
    def chosen_sold_as(self) -> str:
        """How it was sold when it was planned."""
        return self.of.sold_as

    @property
    def chosen_length(self) -> float:
        """How long it was when it was planned [job unit]."""
        return self.of.length

    @cached_property
    def status(self) -> str:
        """Asks for another run when its pieces changed or no longer fit, or tab Prices lists another board."""
        other = self._price.sold_as != self.of.sold_as or self.item != self.of.item or self.buy_length is None
        other = other or round(abs((self.buy_length or 0.0) - self.of.length), PLACES) > 0
        short = not self.bought and self.taken.get(self.price_row, 0) > (self._price.on_hand or 0)
        stale = any(cut.stale for cut in self.cuts)
        return RUN_AGAIN if other or short or stale or round(self.spare, PLACES) < 0 else ""


_SOLD_AS = "INDEX({prices_sold_as},{price_row})"
_LAST = "INDEX({cuts_right},{last_row})"
_BEHIND = f"MAX(0,{{spare}}-{{kerf}}*SQRT(1+{_LAST}*{_LAST}))/{{tape_step}}"
_SHORTEST = or_usual("shortest_offcut", USUAL_OFFCUT)

TAB = Tab(
    "cutting_plan",
    "Cutting plan",
    PlannedBoard,
    (
        Column("box", "Cut", TICK),
        Column("number", "No.", COUNT, width=5),
        Column("item", "Board", MARK, '=INDEX({prices_item},{price_row})&""', width=12),
        Column("boards", "How many", COUNT, width=6),
        Column("buy_text", "Length", TEXT, tape_text_excel("buy_length"), width=10),
        Column("source", "From", TEXT, width=9),
        Column("trim", "Trim each end", TAPE, f"={or_usual('end_trim', USUAL_TRIM)}", width=8),
        Column("pieces", "Cut from the left end", TEXT, width=44),
        Column("bar", "To scale", BAR),
        Column("kerf", "Kerf", TAPE, f"={or_usual('saw_kerf', USUAL_KERF)}", width=6),
        Column("used", "Used", LENGTH, "=SUMIFS({cuts_width},{cuts_plan_row},{number})+{depth}/2*ABS(" + _LAST + ")",
            width=9),
        Column("offcut", "Offcut", TAPE, f"={floor_excel(_BEHIND)}*{{tape_step}}", width=9),
        Column("keep", "Keep", TEXT,
            f'=IF(AND({{offcut}}>0,ROUND({{offcut}}-{_SHORTEST},6)>=0),"{KEEP}","")', width=7),
        Column(STATUS, "Status", VERDICT, ask_again(
            "{item}<>{chosen_item}", f"{_SOLD_AS}<>{{chosen_sold_as}}", "ROUND(ABS({buy_length}-{chosen_length}),6)>0",
            "ROUND({spare},6)<0",
            "AND({bought}=0,SUMIFS({cutting_plan_boards},{cutting_plan_price_row},{price_row},{cutting_plan_bought},0)"
            f">{or_zero('INDEX({prices_on_hand},{price_row})')})",
            "SUMIFS({cuts_stale},{cuts_plan_row},{number})>0"), width=10),
        Column("material", "Material", COUNT),
        Column("price_row", "Price row", COUNT),
        Column("bought", "Bought", COUNT),
        Column("buy_length", "Board length", LENGTH, "=" + look_up("prices_length", "price_row")),
        Column("spare", "Left over", LENGTH, "=" + or_zero("{buy_length}") + "-2*{trim}-{used}"),
        Column("depth", "Depth of cut", LENGTH),
        Column("last_row", "Last cut", COUNT),
        Column("price", "Price", MONEY, "=" + number_at("prices_price", "price_row")),
        Column("cost", "Cost", MONEY, '=IF({bought}=0,0,IF({price}="","",{boards}*{price}))'),
        Column("unpriced", "No price", COUNT, '=IF({cost}="",1,0)'),
        Column("chosen_item", "Planned board", MARK, width=13),
        Column("chosen_sold_as", "Planned sold as", CHOICE),
        Column("chosen_length", "Planned length", LENGTH),
    ),
    purpose="Numbers are those of the cut list. Beside a piece stand its cuts as it lies, in degrees from square: "
    "/ the far edge lies further right, \\ further left, | square; tilt: the upper face instead of the far edge. "
    "Lengths run along an edge, the longer one where one end is square or the cuts oppose. Trim both ends first.",
    none="No boards are planned: list boards and their lengths on tab Prices",
    crew=True,
    paper_to="status",
    key="number",
)  # fmt: skip
