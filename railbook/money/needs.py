"""Working needs: everything that is bought for the job, a row for each row that asks for it, and what it costs.

Pieces come from the cut list, fasteners from Fasteners by run, post trim from the working places. Which item is
bought in which way was chosen; how many are needed and what they cost is live.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import CHOICE, COUNT, MARK, MONEY, TEXT, VERDICT
from railbook.job.fastenings import PLACES_TAB
from railbook.money.materials import Material

CUT_LIST, BY_RUN = "cut_list", "run_fasteners"
BY_BOARD, BY_PIECE, BY_KIT, IN_KIT, NOT_BOUGHT = "boards", "pieces", "kits", "in that kit", "nothing"
_PIECES = {CUT_LIST: "quantity", BY_RUN: "total", PLACES_TAB: "trimmed"}


class NeedChosen(NamedTuple):
    """One row, as chosen.

    Attributes:
        source: tab whose row asks for it.
        key: what finds that row again: its number on the cut list, run and row of tab Fastenings, or the run.
        part: trade name of the part, the joint or the trim.
        item: what is bought for it.
        bought_as: boards, pieces, kits, within another row's kit, or nothing yet.
        material_row: row of tab Materials; 0 for what is cut from boards.
        trim: of post trim, its column of tab Assemblies.
    """

    source: str
    key: tuple[Any, ...]
    part: str
    item: str
    bought_as: str = BY_PIECE
    material_row: int = 0
    trim: str = ""


@dataclass(frozen=True)
class NeedCount:
    """How many one row asks for, before prices.

    Attributes:
        chosen: what was chosen; `thing` is row `source_row` of its tab.
        alike: rows that are cut alike, by tab and like row.
        trim_item: of post trim, the item that its assembly names.
    """

    chosen: NeedChosen
    source_row: int
    thing: Any
    alike: Mapping[str, Any]
    trim_item: str = ""

    @property
    def item(self) -> str:
        """What is bought for it."""
        return self.trim_item if self.chosen.source == PLACES_TAB else self.thing.item or ""

    @cached_property
    def pieces(self) -> int:
        """Pieces that go into the railing."""
        return getattr(self.thing, _PIECES[self.chosen.source]) or 0

    @cached_property
    def kits(self) -> int:
        """Sections, posts or runs of it: a kit is never split between two."""
        if not self.pieces:
            return 0
        if self.chosen.source == CUT_LIST:
            count: int = self.alike[self.thing.members].counts.get(self.thing.group, 0)
            return count
        place = self.thing if self.chosen.source == PLACES_TAB else self.thing.place
        return getattr(place, "sections", 1)

    @cached_property
    def needed(self) -> int:
        """How many are bought for it: pieces, or kits."""
        if self.chosen.bought_as == IN_KIT:
            return 0
        return self.kits if self.chosen.bought_as == BY_KIT else self.pieces

    @cached_property
    def stale(self) -> int:
        """1 when its row asks for another run, names another item, or asks for what was not bought."""
        other = self.item != self.chosen.item or (self.chosen.bought_as == NOT_BOUGHT and self.pieces > 0)
        return int(other or self.thing.status == RUN_AGAIN)


class BoardCosts(NamedTuple):
    """Cost of the boards of every row of the cut list; how many cuts it has, lack a price, or are out of date.

    `left_out` counts its pieces for which no board was left.
    """

    costs: Mapping[int, float]
    cuts: Mapping[int, int]
    unpriced: Mapping[int, int]
    stale: Mapping[int, int]
    left_out: Mapping[int, int]


@dataclass(frozen=True)
class Need:
    """One row that asks for something, with its cost.

    Attributes:
        number: its row.
        of: how many it asks for.
        material: its row of tab Materials; None for what is cut from boards.
    """

    number: int
    of: NeedCount
    material: Material | None
    boards: BoardCosts

    @property
    def source(self) -> str:
        """Tab whose row asks for it."""
        return self.of.chosen.source

    @property
    def source_row(self) -> int:
        """That row."""
        return self.of.source_row

    @property
    def part(self) -> str:
        """Part, joint or trim."""
        return self.of.chosen.part

    @property
    def chosen_item(self) -> str:
        """What it was counted as."""
        return self.of.chosen.item

    @property
    def bought_as(self) -> str:
        """How it is bought."""
        return self.of.chosen.bought_as

    @property
    def material_row(self) -> int:
        """Row of tab Materials."""
        return self.of.chosen.material_row

    @property
    def item(self) -> str:
        """What is bought for it."""
        return self.of.item

    @property
    def item_excel(self) -> str:
        """Formula part: what is bought for it."""
        if self.source == PLACES_TAB:
            return f"INDEX({{assemblies_{self.of.chosen.trim}}},INDEX({{places_assembly_row}},{{source_row}}))"
        return f"INDEX({{{self.source}_item}},{{source_row}})"

    @property
    def pieces(self) -> int:
        """Pieces that go into the railing."""
        return self.of.pieces

    @property
    def pieces_excel(self) -> str:
        """Formula part: those pieces."""
        return or_zero(f"INDEX({{{self.source}_{_PIECES[self.source]}}},{{source_row}})")

    @property
    def needed(self) -> int:
        """Pieces or kits."""
        return self.of.needed

    @property
    def needed_excel(self) -> str:
        """Formula part: pieces, or the kits that hold them."""
        if self.bought_as != BY_KIT:
            return "0" if self.bought_as == IN_KIT else "{pieces}"
        if self.source == CUT_LIST:
            kits = f"COUNTIF({{{self.of.thing.members}_like_row}},INDEX({{cut_list_group}},{{source_row}}))"
        elif self.source == PLACES_TAB:
            kits = "INDEX({places_sections},{source_row})"
        elif self.of.thing.tab == PLACES_TAB:
            kits = "INDEX({places_sections},INDEX({run_fasteners_place_row},{source_row}))"
        else:
            kits = "1"
        return f"IF({{pieces}}=0,0,{kits})"

    @property
    def _is_of_boards(self) -> bool:
        return self.bought_as == BY_BOARD

    @cached_property
    def uncut(self) -> int:
        """1 when some of its pieces have no board, or nothing was bought."""
        if not self.pieces or self.material is not None:
            return 0
        row, boards = self.source_row, self.boards
        return int(not self._is_of_boards or not boards.cuts.get(row, 0) or boards.left_out.get(row, 0) > 0)

    @property
    def uncut_excel(self) -> str:
        """Formula part: the same."""
        if self._is_of_boards:
            left_out = "SUMIFS({planned_left_out},{planned_piece_row},{source_row})>0"
            return f"IF(AND({{pieces}}>0,OR(COUNTIF({{cut_costs_piece_row}},{{source_row}})=0,{left_out})),1,0)"
        return "IF({pieces}>0,1,0)" if self.bought_as == NOT_BOUGHT else "0"

    @cached_property
    def unpriced(self) -> int:
        """1 when something of it has no price."""
        if self.material is not None:
            return self.material.missing if self.needed else 0
        return int(self.uncut or (self._is_of_boards and self.boards.unpriced.get(self.source_row, 0) > 0))

    @property
    def unpriced_excel(self) -> str:
        """Formula part: the same."""
        if self._is_of_boards:
            return "IF(OR({uncut}=1,SUMIFS({cut_costs_unpriced},{cut_costs_piece_row},{source_row})>0),1,0)"
        if self.bought_as == NOT_BOUGHT:
            return "{uncut}"
        return "IF({needed}=0,0,INDEX({materials_missing},{material_row}))"

    @cached_property
    def cost(self) -> float | None:
        """What it costs: of boards by what is taken up, else its part of what is bought; None: no price."""
        cost = self._known_cost
        return None if self.unpriced and not cost else cost

    @property
    def _known_cost(self) -> float:
        if self._is_of_boards:
            return self.boards.costs.get(self.source_row, 0.0)
        if self.material is None or not self.needed:
            return 0.0
        return (self.material.total or 0.0) * self.needed / self.material.needed

    @property
    def known_excel(self) -> str:
        """Formula part: the cost as far as prices are known."""
        if self._is_of_boards:
            return "SUMIFS({cut_costs_cost},{cut_costs_piece_row},{source_row})"
        if self.bought_as == NOT_BOUGHT:
            return "0"
        return (
            f"IF({{needed}}=0,0,{or_zero('INDEX({materials_total},{material_row})')}*{{needed}}"
            "/INDEX({materials_needed},{material_row}))"
        )

    @property
    def stale(self) -> int:
        """1 when what it was counted from changed."""
        return self.of.stale

    @property
    def bought_stale_excel(self) -> str:
        """Formula part: whether what is bought for it asks for another run."""
        if self._is_of_boards:
            return "SUMIFS({cut_costs_stale},{cut_costs_piece_row},{source_row})>0"
        return "FALSE" if self.bought_as == NOT_BOUGHT else 'INDEX({materials_status},{material_row})="run again"'

    @property
    def status(self) -> str:
        """Asks for another run when what it was counted from changed, or what is bought for it does."""
        bought = self.material is not None and self.material.status == RUN_AGAIN
        boards = self._is_of_boards and self.boards.stale.get(self.source_row, 0) > 0
        return RUN_AGAIN if self.stale or bought or boards else ""


TAB = Tab(
    "needs",
    "Working needs",
    Need,
    (
        Column("number", "Row", COUNT),
        Column("part", "Part", TEXT),
        Column("item", "Item", MARK, '=[item_excel]&""', width=16),
        Column("pieces", "Pieces", COUNT, "=[pieces_excel]"),
        Column("bought_as", "Bought as", CHOICE),
        Column("needed", "Needed", COUNT, "=[needed_excel]"),
        Column("uncut", "No board", COUNT, "=[uncut_excel]"),
        Column("unpriced", "No price", COUNT, "=[unpriced_excel]"),
        Column("cost", "Cost", MONEY, '=IF(AND({unpriced}=1,[known_excel]=0),"",[known_excel])'),
        Column("material_row", "Material row", COUNT),
        Column("source_row", "Source row", COUNT),
        Column("chosen_item", "Counted as", MARK, width=16),
        Column(
            "stale", "Out of date", COUNT,
            '=IFERROR(IF(OR(INDEX({[source]_status},{source_row})="run again",{item}<>{chosen_item},'
            f'AND({{bought_as}}="{NOT_BOUGHT}",{{pieces}}>0)),1,0),1)',
        ),
        Column(STATUS, "Status", VERDICT, ask_again("{stale}=1", "[bought_stale_excel]")),
    ),
    purpose="Everything that is bought, a row for each row of another tab that asks for it, and what it costs.",
    key="number",
)  # fmt: skip
