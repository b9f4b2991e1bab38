"""Working shares: what each run has of everything that is bought.

Equal pieces of several runs share their cost by number; a post that runs share is split equally among them.
The shares were chosen with the cut list, their cost is live.
"""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join, written
from railbook.basics.kinds import COUNT, MARK, MONEY, NUMBER
from railbook.boards import paid
from railbook.boards.paid import PaidCut
from railbook.money import materials
from railbook.money.materials import Material
from railbook.money.needs import BY_KIT, PIECES, kits_excel, kits_of, pieces_of
from railbook.takeoff import lots
from railbook.takeoff.lots import Lot

FROM_BOARDS, COUNTED, FASTENERS = 1, 2, 3  # sorts of things that a run has shares of


class ShareChosen(NamedTuple):
    """A share, as chosen.

    Attributes:
        source: tab of what is shared, at `source_row`.
        cost_row: row of tab Cost by run; `run` its mark.
        sort: boards, counted items or fasteners.
        part: sections, posts or runs of it that it goes to; a shared post is a part of one.
        whole: those of all runs.
        cut_row: of boards, row of the last cut of its pieces.
        material_row: of everything else, row of tab Materials; `bought_as` pieces or kits.
        kits: of a row of the cut list bought in kits, how many it counts.
        lot_row: where lots share a row of the cut list, the one that is shared out here; else 0.
    """

    source: str
    source_row: int
    cost_row: int
    run: str
    sort: int
    part: float
    whole: float
    cut_row: int = 0
    material_row: int = 0
    bought_as: str = ""
    kits: int = 0
    lot_row: int = 0


@dataclass(frozen=True)
class RunShare:
    """What one run has of one row that asks for something.

    Attributes:
        chosen: the share.
        thing: the row that asks.
        cut: of boards, the last cut of its pieces.
        material: of everything else, what is bought.
        lot: which of the lots of the row that asks; None where that has one.
    """

    chosen: ShareChosen
    thing: Any = field(repr=False)
    cut: PaidCut | None = field(repr=False)
    material: Material | None = field(repr=False)
    lot: Lot | None = field(repr=False)

    @cached_property
    def cost(self) -> float:
        """Its part of the cost, as far as prices are known."""
        part = self.chosen.part / self.chosen.whole
        if self.cut is not None:
            return self.cut.paid * self._of_row * part
        return self.material.rate * self._needed * part if self.material is not None else 0.0

    @property
    def _needed(self) -> int:
        """Pieces or kits that the row asks for."""
        of = self.chosen
        if of.bought_as == BY_KIT:
            return kits_of(of.source, self.thing, of.kits)
        return pieces_of(of.source, self.thing) if self.lot is None else self.lot.pieces

    @property
    def _of_row(self) -> float:
        """The lot's share of its row of the cut list."""
        whole = pieces_of(self.chosen.source, self.thing)
        return 1.0 if self.lot is None else self.lot.pieces / whole if whole else 0.0

    @property
    def cost_excel(self) -> str:
        """Formula part: what all runs pay for it."""
        of, lot = self.chosen, written("{lot.pieces}", JOINS, {})
        pieces = or_zero(f"INDEX({{{of.source}_{PIECES[of.source]}}},{{source_row}})")
        if of.cut_row:
            paid_for = written("{cut.paid}", JOINS, {})
            return f"IF({pieces}=0,0,{paid_for}*{lot}/{pieces})" if of.lot_row else paid_for
        needed = lot if of.lot_row else pieces
        if of.bought_as == BY_KIT:
            needed = f"IF({pieces}=0,0,{kits_excel(of.source, self.thing, of.kits)})"
        return f"{written('{material.rate}', JOINS, {})}*{needed}"


JOINS = {
    "cut": Join(paid.TAB, "cut_row", "cut", maybe=True),
    "material": Join(materials.TAB, "material_row", "material", maybe=True),
    "lot": Join(lots.TAB, "lot_row", "lot", maybe=True),
}

TAB = Tab(
    "run_shares",
    "Working shares",
    RunShare,
    (
        Column("run", "Run", MARK, path="chosen.run"),
        Column("cost_row", "Cost row", COUNT, path="chosen.cost_row"),
        Column("sort", "Sort", COUNT, path="chosen.sort"),
        Column("source", "Tab", MARK, path="chosen.source", width=13),
        Column("source_row", "Row there", COUNT, path="chosen.source_row"),
        Column("part", "Part", NUMBER, path="chosen.part"),
        Column("whole", "Of", NUMBER, path="chosen.whole"),
        Column("cut_row", "Last cut", COUNT, path="chosen.cut_row"),
        Column("material_row", "Material row", COUNT, path="chosen.material_row"),
        Column("lot_row", "Lot", COUNT, path="chosen.lot_row"),
        Column("cost", "Cost", MONEY, "=[cost_excel]*{part}/{whole}"),
    ),
    purpose="What each run has of everything that is bought. Sort 1 is boards, 2 counted items, 3 fasteners.",
    none="Nothing is bought.",
    key="run",
    joins=JOINS,
)  # fmt: skip
