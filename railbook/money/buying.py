"""Buying list for the yard: what to buy from whom, without prices, with boxes to tick."""

from dataclasses import dataclass

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import BOX, CHOICE, COUNT, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.money.materials import Material


@dataclass(frozen=True)
class Bought:
    """One thing to buy, at `material_row` of tab Materials; lengths in the job's unit."""

    material_row: int
    of: Material
    box: str = BOX

    @property
    def supplier(self) -> str:
        """Who sells it."""
        return self.of.supplier

    @property
    def item(self) -> str:
        """Its mark."""
        return self.of.item

    @property
    def description(self) -> str:
        """In the words of the supplier."""
        return self.of.description

    @property
    def sold_as(self) -> str:
        """Board, each, pack or kit."""
        return self.of.sold_as

    @property
    def length(self) -> float | None:
        """Length of a board [job unit]."""
        return self.of.length

    @property
    def pack_of(self) -> int | None:
        """Pieces in a pack."""
        return self.of.pack_of

    @property
    def to_buy(self) -> int:
        """How many to buy."""
        return self.of.to_buy

    @property
    def from_yard(self) -> int:
        """Boards, pieces or kits to take from the yard."""
        return self.of.from_yard

    @property
    def use(self) -> str:
        """What it is for."""
        return self.of.use

    @property
    def status(self) -> str:
        """Asks for another run when tab Materials does."""
        return RUN_AGAIN if self.of.status == RUN_AGAIN else ""


def _words(column: str) -> str:
    """Formula: a text of tab Materials."""
    return f'=INDEX({{materials_{column}}},{{material_row}})&""'


TAB = Tab(
    "buying",
    "Buying list",
    Bought,
    (
        Column("box", "Got", TICK),
        Column("supplier", "Supplier", TEXT, _words("supplier"), width=14),
        Column("item", "Item", MARK, _words("item"), width=16),
        Column("description", "Description", TEXT, _words("description"), width=20),
        Column("sold_as", "Sold as", CHOICE, _words("sold_as"), width=7),
        Column("length", "Length", TAPE,
            '=IF(INDEX({materials_length},{material_row})="","",INDEX({materials_length},{material_row}))'),
        Column("pack_of", "Pack of", COUNT, "=INDEX({materials_pack_of},{material_row})"),
        Column("to_buy", "Buy", COUNT, "=INDEX({materials_to_buy},{material_row})"),
        Column("from_yard", "From the yard", COUNT, "=INDEX({materials_from_yard},{material_row})"),
        Column("use", "For", TEXT, width=30),
        Column("material_row", "No. of Materials", COUNT),
        Column(STATUS, "Status", VERDICT, ask_again('INDEX({materials_status},{material_row})="run again"')),
    ),
    purpose="What to buy, by supplier. Of what is sold in packs, Buy counts packs, From the yard counts pieces.",
    none="Nothing to buy is known.",
    crew=True,
    paper_to="use",
    key="material_row",
)  # fmt: skip
