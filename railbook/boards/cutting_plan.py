"""Cutting plan: a row for each way a board is cut. Which pieces lie on it was chosen; what they use is live."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import BAR, BOX, COUNT, FACTOR, LENGTH, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import PLACES, floor, floor_excel
from railbook.basics.units import tape_text
from railbook.boards import cuts, offers, plans
from railbook.boards.cuts import Cut, Lying
from railbook.boards.offers import Offered
from railbook.boards.plans import MaterialPlan
from railbook.job.settings import USUAL_KERF, USUAL_OFFCUT, USUAL_TRIM, Settings, or_usual

BUY, ON_HAND = "buy", "on hand"
KEEP = "keep"


class BoardCut(NamedTuple):
    """Boards that are cut alike, as chosen.

    Attributes:
        material: row of tab Working plans.
        offer_row: row of tab Working boards.
        price_row: row of tab Prices.
        bought: 1 for boards to buy, 0 for boards on hand.
        boards: how many.
        item: of that row of tab Prices when it was planned; `length` alike.
        depth: depth of cut [job unit].
        lying: pieces from the left end.
        pieces: the same in words.
        bar: the same as a bar to scale.
    """

    material: int
    offer_row: int
    price_row: int
    bought: int
    boards: int
    item: str
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
        offer: its row of tab Working boards.
        plan: its row of tab Working plans.
    """

    number: int
    of: BoardCut
    cuts: Sequence[Cut] = field(repr=False)
    offer: Offered = field(repr=False)
    plan: MaterialPlan = field(repr=False)
    settings: Settings = field(repr=False)
    box: str = BOX

    @property
    def length_text(self) -> str:
        """Its length over all as it is read off the tape."""
        return tape_text(self.of.length, self.settings.tape_step, self.settings.unit)

    @property
    def source(self) -> str:
        """Where they come from."""
        return BUY if self.of.bought else ON_HAND

    @property
    def trim(self) -> float:
        """Cut away at each end before the pieces [job unit]."""
        return self.settings.trim

    @property
    def last(self) -> Cut:
        """Its piece at the right end."""
        return self.cuts[-1]

    @property
    def last_row(self) -> int:
        """Row of its last piece on tab Working cuts."""
        return self.last.row

    @cached_property
    def used(self) -> float:
        """What the pieces need between the trims, kerfs and wedges among it [job unit]."""
        return self.last.end + self.of.depth / 2 * abs(self.last.right)

    @cached_property
    def spare(self) -> float:
        """What is left between the trims; negative when the pieces no longer fit [job unit]."""
        return self.of.length - 2 * self.trim - self.used

    @cached_property
    def offcut(self) -> float:
        """What is left behind one more cut, at its shorter edge, in whole steps of the tape [job unit]."""
        step, behind = self.settings.tape_step, self.spare - self.settings.kerf * math.hypot(1, self.last.right)
        return floor(max(0.0, behind) / step) * step

    @property
    def keep(self) -> str:
        """Whether the offcut is worth keeping."""
        return KEEP if self.offcut > 0 and round(self.offcut - self.settings.offcut, PLACES) >= 0 else ""

    @cached_property
    def rate(self) -> float:
        """What all of them cost for each unit of length that the pieces take up; 0 while the price is not known."""
        taken = self.last.end
        return (self.offer.now.price or 0.0) * self.of.boards / taken if taken else 0.0

    @property
    def too_short(self) -> bool:
        """Whether the pieces no longer fit."""
        return round(self.spare, PLACES) < 0

    @property
    def replaced(self) -> bool:
        """Whether tab Prices lists another board, or too few on hand."""
        return bool(self.offer.replaced)

    @property
    def out_of_date(self) -> bool:
        """Whether a piece of its material changed: the material is planned as a whole."""
        return self.plan.stale > 0

    @cached_property
    def status(self) -> str:
        """Asks for another run when pieces changed or no longer fit, or tab Prices lists another board."""
        return TAB.status_of(self)


TAB = Tab(
    "cutting_plan",
    "Cutting plan",
    PlannedBoard,
    (
        Column("box", "Cut", TICK),
        Column("number", "No.", COUNT, width=5),
        Column("item", "Board", MARK, path="of.item", width=12),
        Column("boards", "How many", COUNT, path="of.boards", width=6),
        Column("length_text", "Length", TEXT, width=10),
        Column("source", "From", TEXT, width=9),
        Column("trim", "Trim each end", TAPE, f"={or_usual('end_trim', USUAL_TRIM)}", width=8),
        Column("pieces", "Cut from the left end", TEXT, path="of.pieces", width=44),
        Column("bar", "To scale", BAR, path="of.bar"),
        Column("used", "Used", LENGTH, "={last.end}+{depth}/2*ABS({last.right})", width=9),
        Column("offcut", "Offcut", TAPE, f"={floor_excel('{behind}/{tape_step}')}*{{tape_step}}", width=9),
        Column(
            "keep", "Keep", TEXT, '=IF(AND({offcut}>0,ROUND({offcut}-{shortest},6)>=0),"' + KEEP + '","")', width=7,
        ),
        Column(STATUS, "Status", VERDICT, width=10),
        Column("material", "Material", COUNT, path="of.material"),
        Column("offer_row", "Row of Working boards", COUNT, path="of.offer_row"),
        Column("price_row", "Price row", COUNT, path="of.price_row"),
        Column("bought", "Bought", COUNT, path="of.bought"),
        Column("length", "Board length", LENGTH, path="of.length"),
        Column("depth", "Depth of cut", LENGTH, path="of.depth"),
        Column("last_row", "Last cut", COUNT),
        Column("spare", "Left over", LENGTH, "={length}-2*{trim}-{used}"),
        Column(
            "rate", "Price of a unit taken up", FACTOR,
            "=IF({last.end}=0,0," + or_zero("{offer.price}") + "*{boards}/{last.end})",
        ),
    ),
    purpose="Numbers are those of the cut list. Beside a piece stand its cuts as it lies, in degrees from square: "
    "/ the far edge lies further right, \\ further left, | square; tilt: the upper face instead of the far edge. "
    "Lengths run along an edge, the longer one where one end is square or the cuts oppose. Trim both ends first.",
    none="No boards are planned: list boards and their lengths on tab Prices",
    crew=True,
    paper_to="status",
    key="number",
    joins={
        "last": Join(cuts.PART, "last_row", "last"),
        "offer": Join(offers.TAB, "offer_row", "offer"),
        "plan": Join(plans.TAB, "material", "plan"),
    },
    terms={
        "kerf": or_usual("saw_kerf", USUAL_KERF),
        "behind": "MAX(0,{spare}-{kerf}*SQRT(1+{last.right}^2))",
        "shortest": or_usual("shortest_offcut", USUAL_OFFCUT),
    },
    rests=Rests(
        unless={
            "too_short": "ROUND({spare},6)<0",
            "replaced": "{offer.replaced}=1",
            "out_of_date": "{plan.stale}>0",
        }
    ),
)  # fmt: skip
