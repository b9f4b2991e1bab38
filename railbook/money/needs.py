"""Working needs: what the job needs of all that is not cut from boards, a row for each item and what asks for it.

Pieces come from the cut list, fasteners from Fasteners by run, post trim from the working places. Which item is
bought in which way was chosen; how many are needed is live. What is cut from boards is counted by the cutting plan.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, first_rows
from railbook.basics.joins import Rests
from railbook.basics.kinds import CHOICE, COUNT, MARK, TEXT, VERDICT
from railbook.fastening.counting import STALE
from railbook.fastening.places import Places
from railbook.job.fastenings import PLACES_TAB

CUT_LIST, BY_RUN = "cut_list", "run_fasteners"
BY_BOARD, BY_PIECE, BY_KIT, IN_KIT, NOT_BOUGHT = "boards", "pieces", "kits", "in that kit", "nothing"
PIECES = {CUT_LIST: "quantity", BY_RUN: "total", PLACES_TAB: "trimmed"}


class NeedChosen(NamedTuple):
    """One row, as chosen.

    Attributes:
        source: tab whose rows ask for it.
        item: what is bought for them.
        part: trade names of the parts, the joints or the trim.
        bought_as: pieces, kits, within another row's kit, or nothing yet.
        material_row: row of tab Materials; 0 for what is not bought.
        source_row: the row that asks; 0 for all rows of that item.
        rows: how many those were.
        trim: of post trim its column of tab Assemblies, and `assembly` the mark there: that tab may be sorted.
        kits: of a row of the cut list bought in kits, the sections, posts or runs whose kits it counts.
    """

    source: str
    item: str
    part: str
    bought_as: str
    material_row: int
    source_row: int = 0
    rows: int = 0
    trim: str = ""
    assembly: str = ""
    kits: int = 0


class Askers(NamedTuple):
    """Rows that ask for something.

    Attributes:
        tabs: source -> its rows.
        assemblies: rows of tab Assemblies.
        stale: source -> whether what all its rows rest on asks for another run; rows of the cut list tell themselves.
    """

    tabs: Mapping[str, Sequence[Any]]
    assemblies: Sequence[Any]
    stale: Mapping[str, bool]


def kits_of(source: str, thing: Any, chosen: int) -> int:
    """Sections, posts or runs that a row belongs to: a kit is never split between two.

    Args:
        source: tab of the row.
        thing: the row.
        chosen: of the cut list, how many kits the row counts.
    """
    if not pieces_of(source, thing):
        return 0
    if source == CUT_LIST:
        return chosen
    place = thing if source == PLACES_TAB else thing.place
    return place.line.sections if isinstance(place, Places) else 1


def pieces_of(source: str, thing: Any) -> int:
    """Pieces for which a row asks."""
    return getattr(thing, PIECES[source]) or 0


@dataclass(frozen=True)
class Need:
    """One row; `askers` are all rows that ask for anything."""

    number: int
    chosen: NeedChosen
    askers: Askers = field(repr=False)

    @cached_property
    def assembly_row(self) -> int | None:
        """Of post trim, row of the assembly on tab Assemblies; None when its mark is gone, and of anything else."""
        return first_rows([each.assembly for each in self.askers.assemblies]).get(self.chosen.assembly)

    @property
    def is_trim(self) -> bool:
        """Whether it is trim of posts."""
        return bool(self.chosen.trim)

    @cached_property
    def _things(self) -> list[Any]:
        """The rows that ask for it now."""
        rows, of = self.askers.tabs[self.chosen.source], self.chosen
        if of.source_row:
            return [rows[of.source_row - 1]] if of.source_row <= len(rows) else []
        if of.trim:
            return [row for row in rows if row.assembly_row == self.assembly_row]
        return [row for row in rows if (row.item or "").casefold() == of.item.casefold()]

    @cached_property
    def pieces(self) -> int:
        """Pieces that go into the railing."""
        return sum(pieces_of(self.chosen.source, thing) for thing in self._things)

    @cached_property
    def needed(self) -> int:
        """How many are bought for it: pieces, or kits."""
        if self.chosen.bought_as == IN_KIT:
            return 0
        if self.chosen.bought_as == BY_KIT:
            return sum(kits_of(self.chosen.source, thing, self.chosen.kits) for thing in self._things)
        return self.pieces

    @property
    def _is_renamed(self) -> bool:
        """Whether rows ask for another item than was counted, or other rows ask for it."""
        of = self.chosen
        if of.trim:
            row = self.assembly_row
            item: str | None = getattr(self.askers.assemblies[row - 1], of.trim) if row else None
            return (item or "").casefold() != of.item.casefold()
        if of.source_row:
            return any((thing.item or "").casefold() != of.item.casefold() for thing in self._things)
        return len(self._things) != of.rows

    @property
    def moved(self) -> bool:
        """Whether what it was counted from asks for another run, or was renamed."""
        of_list = self.chosen.source == CUT_LIST and any(thing.status == RUN_AGAIN for thing in self._things)
        return self._is_renamed or not self._things or of_list or self.askers.stale[self.chosen.source]

    @property
    def unbought(self) -> bool:
        """Whether something is needed of what was not bought."""
        return self.chosen.bought_as == NOT_BOUGHT and self.pieces > 0

    @cached_property
    def status(self) -> str:
        """Asks for another run when what it was counted from does, or asks for what was not bought."""
        return TAB.status_of(self)

    def _sum(self, column: str) -> str:
        """Formula part: a column of the source over its rows."""
        of = self.chosen
        if of.trim:
            return f"SUMPRODUCT(({{lines_assembly_row}}={{assembly_row}})*{column})"
        return f"SUMPRODUCT(({{{of.source}_item}}={{item}})*{column})"

    def _cell(self, column: str) -> str:
        """Formula part: a cell of the one row that asks."""
        return f"INDEX({{{self.chosen.source}_{column}}},{{source_row}})"

    @property
    def pieces_excel(self) -> str:
        """Formula part: the pieces."""
        column = PIECES[self.chosen.source]
        if self.chosen.source_row:
            return or_zero(self._cell(column))
        return self._sum(f"{{{self.chosen.source}_{column}}}")

    @property
    def needed_excel(self) -> str:
        """Formula part: pieces, or the kits that hold them."""
        if self.chosen.bought_as != BY_KIT:
            return "0" if self.chosen.bought_as == IN_KIT else "{pieces}"
        (thing,) = self._things
        return f"IF({{pieces}}=0,0,{kits_excel(self.chosen.source, thing, self.chosen.kits)})"

    @property
    def moved_excel(self) -> str:
        """Formula part: whether what it was counted from changed."""
        of = self.chosen
        if of.trim:
            other = f"INDEX({{assemblies_{of.trim}}},{{assembly_row}})<>{{item}}"
        elif of.source_row:
            other = f'{self._cell("item")}&""<>{{item}}'
        else:
            other = self._sum(f"({{{of.source}_{_NUMBER[of.source]}}}>0)") + "<>{rows}"
        if of.source != CUT_LIST:
            return f"{other},{_STALE[of.source]}"
        again = f'"{RUN_AGAIN}"'
        stale = f"{self._cell('status')}={again}"
        return f"{other},{stale if of.source_row else self._sum(f'({{cut_list_status}}={again})') + '>0'}"


_STALE = {BY_RUN: "{fasteners_status_count}>0", PLACES_TAB: STALE[PLACES_TAB]}
_NUMBER = {CUT_LIST: "piece", BY_RUN: "fastening_row"}  # a column of the source that only its own rows fill


def kits_excel(source: str, thing: Any, chosen: int) -> str:
    """Formula part: the kits for one row, `source_row` of its tab."""
    if source == CUT_LIST:
        return str(chosen)
    if source == PLACES_TAB:
        return "INDEX({lines_sections},{source_row})"
    if thing.of.tab == PLACES_TAB:
        return "INDEX({lines_sections},INDEX({run_fasteners_place_row},{source_row}))"
    return "1"


TAB = Tab(
    "needs",
    "Working needs",
    Need,
    (
        Column("number", "Row", COUNT),
        Column("part", "Part", TEXT, path="chosen.part"),
        Column("item", "Item", MARK, path="chosen.item", width=16),
        Column("pieces", "Pieces", COUNT, "=[pieces_excel]"),
        Column("bought_as", "Bought as", CHOICE, path="chosen.bought_as"),
        Column("needed", "Needed", COUNT, "=[needed_excel]"),
        Column("material_row", "Material row", COUNT, path="chosen.material_row"),
        Column("source_row", "Source row", COUNT, path="chosen.source_row"),
        Column("rows", "Rows that ask", COUNT, path="chosen.rows"),
        Column("assembly", "Assembly", MARK, path="chosen.assembly"),
        Column("assembly_row", "Assembly row", COUNT, "=MATCH({assembly},{assemblies_assembly},0)", when="is_trim"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="What the job needs of all that is not cut from boards: a row for each item and what asks for it.",
    none="Nothing is needed.",
    key="number",
    rests=Rests(
        unless={"moved": "[moved_excel]", "unbought": 'AND({bought_as}="' + NOT_BOUGHT + '",{pieces}>0)'}
    ),
)  # fmt: skip
