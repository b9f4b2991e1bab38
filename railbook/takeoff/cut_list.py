"""Cut list: one row per saw stop, with how many pieces, how long, and how both ends are cut.

Pieces share a stop when the saw is set alike for them: length, edges and points on the tape, both cuts, stock and
assembly, relief, saw and hand. A stop shows the first of its lots; one whose figures leave it asks for another run.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import BOX, COUNT, CUT, MARK, NUMBER, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import round_to_excel
from railbook.basics.units import tape_text, tape_text_excel
from railbook.job import assemblies
from railbook.job.cautions import CAUTIONS
from railbook.takeoff.lots import Lot

SQUARE_ENDS, ONE_END, PARALLEL, OPPOSED = "square", "one square", "parallel", "opposed"
BOTH_WAYS = "see Saw"  # one end each way
FEW = 6  # lots of a stop that are looked at one by one, so that the many small stops need no search


class Crossing(NamedTuple):
    """Where a cap board runs over a line post, so that it may be spliced there; lengths in the job's unit.

    Attributes:
        middle: from the board's lower or left end to the middle of the post, along the middle of the board.
        before: mark of the section behind the post.
        section_row: row of that section.
        lower_face: where that section begins, level from the From face of its run.
    """

    middle: float
    before: str
    section_row: int
    lower_face: float


@dataclass(frozen=True)
class Piece(Lot):
    """A saw stop: lots that are cut alike, sized by the first of them; lengths in the job's unit.

    Attributes:
        several: its lots where they are more than one, the first of them first; from `lots_row` of Working lots.
        crossings: line posts that a cap board runs over, from its lower or left end.
    """

    several: tuple[Lot, ...] = ()
    lots_row: int = 0
    crossings: tuple[Crossing, ...] = ()
    box: str = BOX

    @property
    def lots(self) -> tuple[Lot, ...]:
        """Its lots; a single one is the row itself."""
        return self.several or (self,)

    def _lot_cells(self, column: str) -> list[str]:
        """Formula parts: a figure of each of its lots, which stand together; none where it has one or many."""
        few = range(len(self.several)) if len(self.several) <= FEW else ()
        return ["INDEX({lots_" + column + "},{lots_row}+" + f"{nth})" for nth in few]

    @cached_property
    def quantity(self) -> int:
        """How many to cut."""
        return sum(lot.pieces for lot in self.lots)

    @property
    def quantity_excel(self) -> str:
        """Formula part: the same."""
        if cells := self._lot_cells("pieces"):
            return "+".join(cells)
        return "SUMIFS({lots_pieces},{lots_piece},{piece})" if self.several else self.pieces_excel

    @property
    def length_text(self) -> str:
        """The length in words of the tape."""
        return tape_text(self.length, self.settings.tape_step, self.settings.unit)

    @property
    def ends(self) -> str:
        """How the two end cuts lean to each other."""
        if self.lower_cut == 0 and self.upper_cut == 0:
            return SQUARE_ENDS
        if self.lower_cut * self.upper_cut == 0:
            return ONE_END
        if self.planes > 1:
            return BOTH_WAYS
        return PARALLEL if self.lower_cut * self.upper_cut > 0 else OPPOSED

    @property
    def rise_in_twelve(self) -> float | None:
        """The steeper of the two saw settings as rise in a run of 12; None when both ends are square."""
        steeper = max(abs(self.lower_cut), abs(self.upper_cut))
        return 12 * math.tan(math.radians(steeper)) if steeper else None

    @property
    def relief_cut(self) -> float | None:
        """Up along the plumb cut of the upper end, then back at 45 degrees; None without one."""
        return self.assembly.relief_cut if self.relief and self.upper_cut != 0 else None

    @property
    def moved(self) -> bool:
        """Whether any of its lots asks for another run."""
        return any(lot.status for lot in self.several) if self.several else super().moved

    @property
    def moved_excel(self) -> str:
        """Formula part: the same."""
        if cells := self._lot_cells(STATUS):
            return ",".join(f'{cell}="run again"' for cell in cells)
        return 'COUNTIFS({lots_piece},{piece},{lots_status},"run again")>0' if self.several else super().moved_excel

    @cached_property
    def status(self) -> str:
        """Asks for another run when what it is counted from does, or when a lot leaves its stop."""
        return TAB.status_of(self)


def _tape(column: str) -> str:
    """Formula: a figure of its source, rounded to the tape."""
    return "=IF({" + column + '}="","",' + round_to_excel("{" + column + "}") + ")"


TAB = Tab(
    "cut_list",
    "Cut list",
    Piece,
    (
        Column("box", "Cut", TICK),
        Column("piece", "No.", COUNT, width=5),
        Column("part", "Part", TEXT, width=13),
        Column("item", "Cut from", MARK, '=INDEX({assemblies_[stock]},{assembly_row})&""', width=13),
        Column("quantity", "Pieces", COUNT, "=[quantity_excel]"),
        Column("length", "Length", TAPE, _tape("exact")),
        Column("length_text", "On the tape", TEXT, tape_text_excel("length"), width=13),
        Column("other_edge", "Other edge", TAPE, "=[other_excel]", when="other"),
        Column("long_edge", "Long edge", TEXT, "=[long_excel]", when="other", width=7),
        Column("tip_to_tip", "Tip to tip", TAPE, _tape("exact_tip")),
        Column("lower_cut", "Lower or left cut", CUT, "=INDEX({[source]_[lower]},{source_row})"),
        Column("upper_cut", "Upper or right cut", CUT, "=INDEX({[source]_[upper]},{source_row})"),
        Column(
            "lower_tilt", "Tilt, lower", CUT, "=INDEX({[source]_[low_tilt]},{source_row})", when="is_tilted", width=7,
        ),
        Column(
            "upper_tilt", "Tilt, upper", CUT, "=INDEX({[source]_[high_tilt]},{source_row})", when="is_tilted", width=7,
        ),
        Column(
            "ends", "Ends", TEXT,
            '=IF(AND({lower_cut}=0,{upper_cut}=0),"square",IF({lower_cut}*{upper_cut}=0,"one square",'
            'IF({planes}>1,"see Saw",IF({lower_cut}*{upper_cut}>0,"parallel","opposed"))))',
            width=12,
        ),
        Column("saw", "Saw", TEXT, width=18),
        Column(
            "rise_in_twelve", "Rise in 12", NUMBER,
            '=IF(AND({lower_cut}=0,{upper_cut}=0),"",12*TAN(RADIANS(MAX(ABS({lower_cut}),ABS({upper_cut})))))',
            width=7,
        ),
        Column(
            "relief_cut", "Relief cut", TAPE,
            '=IF(OR({upper_cut}=0,{assembly.relief_cut}=""),"",{assembly.relief_cut})', when="relief", width=8,
        ),
        Column("where", "Goes to", TEXT, width=20),
        Column("source_row", "Source row", COUNT, width=7),
        Column("counts_row", "Counted in row", COUNT, width=7),
        Column("line_row", "Run row", COUNT, width=7),
        Column("group", "Group", COUNT, width=7),
        Column("alike", "Alike", COUNT, width=7),
        Column("lots_row", "Lots from row", COUNT, width=7),
        Column("assembly_row", "Assembly row", COUNT, "=[assembly_excel]", width=9),
        Column("relief", "Relief", COUNT, width=7),
        Column("planes", "Planes", COUNT, width=7),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Cuts are saw settings from square; Tilt is the blade's where the saw is turned besides. Lengths run along "
    "an edge, the longer one where edges differ. Relief: up along the cut, then back at 45. "
    "A rough post is trimmed on site: see Post schedule. "
    f"{' '.join(CAUTIONS)}",
    crew=True,
    paper_to="where",
    key="piece",
    joins={"assembly": Join(assemblies.TAB, "assembly_row", "assembly")},
    terms={"exact": "INDEX({[source]_[size]},{source_row})", "exact_tip": "INDEX({[source]_[tip]},{source_row})"},
    rests=Rests(unless={"moved": "[moved_excel]"}),
)  # fmt: skip
