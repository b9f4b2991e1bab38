"""Bring along: fasteners with spares and packs, the drill bits and drivers that they need, and post trim.

Which things are listed was chosen; how many of each follows from the Fastener schedule.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import BOX, COUNT, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import ceiling, ceiling_excel
from railbook.job.prices import PACK, Price
from railbook.job.settings import Settings

FASTENER, BIT, DRIVER, SKIRT, POST_CAP = "Fastener", "Drill bit", "Driver", "Post skirt", "Post cap"
TRIM = {SKIRT: "skirt_item", POST_CAP: "post_cap_item"}  # what is trimmed -> its column of tab Assemblies


def to_bring(needed: int, spares: float) -> int:
    """Pieces with spares, rounded up.

    >>> to_bring(104, 0.05), to_bring(0, 0.05)
    (110, 0)
    """
    return ceiling(needed * (1 + spares))


@dataclass(frozen=True)
class Needs:
    """What is needed, summed once for all rows; what cannot be told is in `stale`.

    Attributes:
        totals: row of tab Bring along -> fasteners.
        trimmed: row of an assembly -> posts that get trim.
        stale: rows of tab Bring along with something that asks for another run.
        trim_is_stale: whether any run does, so that nobody can tell whose posts are counted.
        marks: assembly -> its row on tab Assemblies.
        items: (assembly, column) -> item that is named there now.
        prices: item -> its first row on tab Prices, and the row.
    """

    totals: Counter[int]
    trimmed: Counter[int]
    stale: frozenset[int]
    trim_is_stale: bool
    marks: Mapping[str, int]
    items: Mapping[tuple[str, str], str]
    prices: Mapping[str, tuple[int, Price]]


@dataclass(frozen=True)
class Listed:
    """One thing to bring along, as chosen.

    Attributes:
        what: fastener, bit, driver, skirt or post cap.
        item: its name; of a bit nothing.
        bit: diameter of a bit [job unit].
        use: what it is for.
        assembly: of trim, the railing that names it.
        spared: whether spares are brought.
    """

    what: str
    item: str
    bit: float | None
    use: str
    assembly: str = ""
    spared: bool = False


@dataclass(frozen=True)
class Brought:
    """One thing to bring along, at row `number`."""

    number: int
    listed: Listed
    settings: Settings
    needs: Needs = field(repr=False)
    box: str = BOX

    @property
    def what(self) -> str:
        """Fastener, bit, driver, skirt or post cap."""
        return self.listed.what

    @property
    def item(self) -> str:
        """Its name."""
        return self.listed.item

    @property
    def bit(self) -> float | None:
        """Diameter of a bit [job unit]."""
        return self.listed.bit

    @property
    def use(self) -> str:
        """What it is for."""
        return self.listed.use

    @property
    def assembly(self) -> str:
        """Railing that names it."""
        return self.listed.assembly

    @property
    def spared(self) -> int:
        """1 for a thing of which spares are brought."""
        return int(self.listed.spared)

    @cached_property
    def assembly_row(self) -> int:
        """Row of that railing on tab Assemblies; 0 for other things."""
        return self.needs.marks.get(self.assembly, 0)

    @property
    def counted_excel(self) -> str:
        """Formula part: how many are needed."""
        if self.what == FASTENER:
            return "SUMIFS({fasteners_total},{fasteners_item_row},{number})"
        if self.what in TRIM:
            return "SUMIFS({places_trimmed},{places_assembly_row},{assembly_row})"
        return '""'

    @cached_property
    def needed(self) -> int | None:
        """How many are needed; None for tools."""
        if self.what == FASTENER:
            return self.needs.totals[self.number]
        return self.needs.trimmed[self.assembly_row] if self.what in TRIM else None

    @cached_property
    def to_bring(self) -> int | None:
        """The same with spares."""
        spares = (self.settings.fastener_spares or 0.0) * self.spared
        return None if self.needed is None else to_bring(self.needed, spares)

    @cached_property
    def price_row(self) -> int:
        """First row of the item on tab Prices; 0 when it is not there, and for tools."""
        return 0 if self.needed is None else self.needs.prices.get(self.item, (0, None))[0]

    @cached_property
    def pack_of(self) -> int | None:
        """Pieces in a pack; None when it is not sold in packs."""
        if not self.price_row:
            return None
        price = self.needs.prices[self.item][1]
        return price.pack_of or None if price.sold_as == PACK else None

    @cached_property
    def packs(self) -> int | None:
        """Packs to bring."""
        return None if self.pack_of is None or self.to_bring is None else ceiling(self.to_bring / self.pack_of)

    @property
    def stale_excel(self) -> str:
        """Formula part: whether what it is counted from asks for another run."""
        if self.what in TRIM:
            other = f"INDEX({{assemblies_{TRIM[self.what]}}},{{assembly_row}})<>{{item}}"
            return f'{other},COUNTIF({{places_status}},"run again")>0'
        rows = {FASTENER: ("item",), DRIVER: ("driver",), BIT: ("pilot", "counterbore")}[self.what]
        return ",".join(
            f'COUNTIFS({{fasteners_{row}_row}},{{number}},{{fasteners_status}},"run again")>0' for row in rows
        )

    @property
    def status(self) -> str:
        """Asks for another run when what it is counted from does."""
        if self.what in TRIM:
            other = self.needs.items.get((self.assembly, TRIM[self.what])) != self.item
            return RUN_AGAIN if other or self.needs.trim_is_stale else ""
        return RUN_AGAIN if self.number in self.needs.stale else ""


_SOLD = "INDEX({prices_sold_as},{price_row})"
_PACK_OF = "INDEX({prices_pack_of},{price_row})"

TAB = Tab(
    "bring_along",
    "Bring along",
    Brought,
    (
        Column("box", "Packed", TICK),
        Column("what", "What", TEXT, width=11),
        Column("item", "Item", TEXT, width=18),
        Column("bit", "Bit", TAPE, width=7),
        Column("needed", "Needed", COUNT, "=[counted_excel]", width=7),
        Column("to_bring", "Bring", COUNT,
            '=IF({needed}="","",' + ceiling_excel("{needed}*(1+{spared}*" + or_zero("{fastener_spares}") + ")") + ")",
            width=7),
        Column("pack_of", "Pack of", COUNT,
            f'=IF({{price_row}}=0,"",IF(AND({_SOLD}="{PACK}",{or_zero(_PACK_OF)}>0),{_PACK_OF},""))', width=7),
        Column("packs", "Packs", COUNT,
            '=IF(COUNT({pack_of},{to_bring})<2,"",' + ceiling_excel("{to_bring}/{pack_of}") + ")", width=7),
        Column("use", "For", TEXT, width=30),
        Column("number", "Row", COUNT),
        Column("spared", "With spares", COUNT),
        Column("assembly", "Assembly", MARK, width=13),
        Column("assembly_row", "Assembly row", COUNT,
            '=IF({assembly}="",0,IFERROR(MATCH({assembly},{assemblies_assembly},0),0))'),
        Column("price_row", "Price row", COUNT,
            '=IF({needed}="",0,IFERROR(MATCH({item},{prices_item},0),0))'),
        Column(STATUS, "Status", VERDICT, ask_again("[stale_excel]")),
    ),
    purpose="Fasteners with spares, in the packs of tab Prices, and the tools that they need.",
    none="Nothing to bring along is known: fill in tab Fastenings and run again",
    crew=True,
    paper_to="use",
    key="number",
)  # fmt: skip
