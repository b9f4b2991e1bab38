"""Buying list for the yard: what to buy from whom, without prices, with boxes to tick."""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import BOX, CHOICE, COUNT, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.money import materials
from railbook.money.materials import Material


@dataclass(frozen=True)
class Bought:
    """One thing to buy, at `material_row` of tab Materials; lengths in the job's unit."""

    material_row: int
    of: Material
    box: str = BOX

    @property
    def length(self) -> float | None:
        """Length of a board [job unit]."""
        return self.of.length

    @cached_property
    def status(self) -> str:
        """Asks for another run when tab Materials does."""
        return TAB.status_of(self)


def _words(column: str) -> str:
    """Formula: a text of tab Materials."""
    return "={of." + column + '}&""'


TAB = Tab(
    "buying",
    "Buying list",
    Bought,
    (
        Column("box", "Got", TICK),
        Column("supplier", "Supplier", TEXT, _words("supplier"), path="of.supplier", width=14),
        Column("item", "Item", MARK, path="of.item", width=16),
        Column("description", "Description", TEXT, _words("description"), path="of.description", width=20),
        Column("sold_as", "Sold as", CHOICE, path="of.chosen.sold_as", width=7),
        Column("length", "Length", TAPE),
        Column("pack_of", "Pack of", COUNT, of="of"),
        Column("to_buy", "Buy", COUNT, of="of"),
        Column("from_yard", "From the yard", COUNT, of="of"),
        Column("use", "For", TEXT, path="of.chosen.use", width=30),
        Column("material_row", "No. of Materials", COUNT),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="What to buy, by supplier. Of what is sold in packs, Buy counts packs, From the yard counts pieces.",
    none="Nothing to buy is known.",
    crew=True,
    paper_to="use",
    key="material_row",
    joins={"of": Join(materials.TAB, "material_row", "of")},
    rests=Rests(on=("of",)),
)  # fmt: skip
