"""Bring along: fasteners with spares and packs, the drill bits and drivers that they need, and post trim.

Which things are listed was chosen; how many of each follows from the Fastener schedule.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Part, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import BOX, COUNT, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import ceiling, ceiling_excel
from railbook.fastening.counting import STALE
from railbook.job import prices
from railbook.job.fastenings import PLACES_TAB
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
        spared: 1 for a thing of which spares are brought.
    """

    what: str
    item: str
    bit: float | None
    use: str
    assembly: str = ""
    spared: int = 0


LISTED = Part(
    "bring_along",
    Listed,
    (
        Column("what", "What", TEXT, width=11),
        Column("item", "Item", TEXT, width=18),
        Column("bit", "Bit", TAPE, width=7),
        Column("use", "For", TEXT, width=30),
        Column("spared", "With spares", COUNT),
        Column("assembly", "Assembly", MARK, width=13),
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Brought:
    """One thing to bring along, at row `number`."""

    number: int
    listed: Listed
    settings: Settings
    needs: Needs = field(repr=False)
    box: str = BOX

    @cached_property
    def assembly_row(self) -> int:
        """Row of that railing on tab Assemblies; 0 for other things."""
        return self.needs.marks.get(self.listed.assembly, 0)

    @property
    def counted_excel(self) -> str:
        """Formula part: how many are needed."""
        if self.listed.what == FASTENER:
            return "SUMIFS({fasteners_total},{fasteners_item_row},{number})"
        if self.listed.what in TRIM:
            return "SUMIFS({places_trimmed},{lines_assembly_row},{assembly_row})"
        return '""'

    @cached_property
    def needed(self) -> int | None:
        """How many are needed; None for tools."""
        if self.listed.what == FASTENER:
            return self.needs.totals[self.number]
        return self.needs.trimmed[self.assembly_row] if self.listed.what in TRIM else None

    @cached_property
    def to_bring(self) -> int | None:
        """The same with spares."""
        spares = (self.settings.fastener_spares or 0.0) * self.listed.spared
        return None if self.needed is None else to_bring(self.needed, spares)

    @cached_property
    def price_row(self) -> int:
        """First row of the item on tab Prices; 0 when it is not there, and for tools."""
        return 0 if self.needed is None else self.needs.prices.get(self.listed.item, (0, None))[0]

    @property
    def price(self) -> Price | None:
        """That row."""
        return self.needs.prices[self.listed.item][1] if self.price_row else None

    @cached_property
    def pack_of(self) -> int | None:
        """Pieces in a pack; None when it is not sold in packs."""
        return self.price.pack_of or None if self.price and self.price.sold_as == PACK else None

    @cached_property
    def packs(self) -> int | None:
        """Packs to bring."""
        return None if self.pack_of is None or self.to_bring is None else ceiling(self.to_bring / self.pack_of)

    @property
    def outdated(self) -> bool:
        """Whether what it is counted from asks for another run, or its railing names another trim."""
        if self.listed.what in TRIM:
            other = self.needs.items.get((self.listed.assembly, TRIM[self.listed.what])) != self.listed.item
            return other or self.needs.trim_is_stale
        return self.number in self.needs.stale

    @property
    def outdated_excel(self) -> str:
        """Formula part: the same."""
        if self.listed.what in TRIM:
            other = f"INDEX({{assemblies_{TRIM[self.listed.what]}}},{{assembly_row}})<>{{item}}"
            return f"OR({other},{STALE[PLACES_TAB]})"
        rows = {FASTENER: ("item",), DRIVER: ("driver",), BIT: ("pilot", "counterbore")}[self.listed.what]
        counted = (f'COUNTIFS({{fasteners_{row}_row}},{{number}},{{fasteners_status}},"run again")' for row in rows)
        return "+".join(counted) + ">0"

    @property
    def status(self) -> str:
        """Asks for another run when what it is counted from does."""
        return TAB.status_of(self)


_WHAT, _ITEM, _BIT, _USE, _SPARED, _ASSEMBLY = LISTED.held_as("listed")
_PACK_OF = or_zero("{price.pack_of}")

TAB = Tab(
    "bring_along",
    "Bring along",
    Brought,
    (
        Column("box", "Packed", TICK),
        _WHAT,
        _ITEM,
        _BIT,
        Column("needed", "Needed", COUNT, "=[counted_excel]", width=7),
        Column("to_bring", "Bring", COUNT,
            '=IF({needed}="","",' + ceiling_excel("{needed}*(1+{spared}*" + or_zero("{fastener_spares}") + ")") + ")",
            width=7),
        Column("pack_of", "Pack of", COUNT,
            f'=IF({{price_row}}=0,"",IF(AND({{price.sold_as}}="{PACK}",{_PACK_OF}>0),{{price.pack_of}},""))', width=7),
        Column("packs", "Packs", COUNT,
            '=IF(COUNT({pack_of},{to_bring})<2,"",' + ceiling_excel("{to_bring}/{pack_of}") + ")", width=7),
        _USE,
        Column("number", "Row", COUNT),
        _SPARED,
        _ASSEMBLY,
        Column("assembly_row", "Assembly row", COUNT,
            '=IF({assembly}="",0,IFERROR(MATCH({assembly},{assemblies_assembly},0),0))'),
        Column("price_row", "Price row", COUNT,
            '=IF({needed}="",0,IFERROR(MATCH({item},{prices_item},0),0))'),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Fasteners with spares, in the packs of tab Prices, and the tools that they need.",
    none="Nothing to bring along is known: fill in tab Fastenings and run again",
    crew=True,
    paper_to="use",
    key="number",
    joins={"price": Join(prices.TAB, "price_row", "price", maybe=True)},
    rests=Rests(unless={"outdated": "[outdated_excel]"}),
)  # fmt: skip
