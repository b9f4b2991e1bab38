"""Pieces planned: every row of the cut list that is cut from boards, and whether the plan cuts all of it.

A piece takes up its mid-line, the mean of its two edges, and at each end the wedge of its cut. A board is planned
for one depth of cut; a piece that leans across another depth, or is cut in two planes, is charged as a square
piece of its length tip to tip and of what its slanted cuts are wider, which is never too little.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Later, Rests, differ, differ_excel, written
from railbook.basics.kinds import COUNT, FACTOR, LENGTH, MARK, TAPE, TEXT, VERDICT
from railbook.basics.rounding import PLACES, same
from railbook.job import assemblies
from railbook.job.settings import USUAL_KERF, or_usual
from railbook.takeoff import cut_list
from railbook.takeoff.cut_list import Crossing, Piece
from railbook.takeoff.lots import TILT

DEPTHS = {  # part -> column of tab Assemblies: what a leaning cut crosses
    "Top rail": "top_rail_depth",
    "Bottom rail": "bottom_rail_depth",
    "Both rails": "top_rail_depth",
    "Baluster": "baluster_width",
    "Block": "block_width",
    "Post": "post_width",
    "Sleeve": "sleeve_width",
}
CAP = "Cap board"


def depth_word(piece: Piece) -> str:
    """Column of tab Assemblies that says what a leaning cut of a piece crosses; empty where none does."""
    if piece.part == CAP:
        return "cap_thickness" if TILT in piece.saw else "cap_width"
    return DEPTHS.get(piece.part, "")


class Planning(NamedTuple):
    """One row, as chosen.

    Attributes:
        piece_row: its row on the cut list.
        part: which part of a spliced piece, from 1; `parts` how many there are.
        part_length: its length, for all parts but the last [job unit].
        before: lengths of the parts before it [job unit].
        section_row: section behind the line post over which it is spliced to the part before; 0: none.
        face: where that section began.
        total: of a spliced piece the length tip to tip for which the splices were chosen [job unit].
        wedge: 1 when it is planned with its leans, 0 when as a square piece tip to tip.
        item: what it was to be cut from.
        depth: depth of cut that its boards were planned for.
        length: on the tape; `mid`, `left` and `right` its mid-line and leans, as planned.
        left_out: pieces for which no board was left.
        material: row of tab Working plans.
    """

    piece_row: int
    part: int = 1
    parts: int = 1
    part_length: float | None = None
    before: float = 0.0
    section_row: int = 0
    face: float = 0.0
    total: float | None = None
    wedge: int = 1
    item: str = ""
    depth: float = 0.0
    length: float | None = None
    mid: float | None = None
    left: float = 0.0
    right: float = 0.0
    left_out: int = 0
    material: int = 0


@dataclass(frozen=True)
class Planned:
    """One row of the cut list, or a part of a piece that is spliced; lengths in the job's unit.

    Attributes:
        number: its row.
        of: what was chosen.
        cut: its row of the cut list.
        crossing: the line post over which it is spliced to the part before; None where it is not.
        counts: row -> pieces that the plan cuts.
    """

    number: int
    of: Planning
    cut: Piece = field(repr=False)
    crossing: Crossing | None
    counts: Mapping[int, int] = field(repr=False)

    @property
    def by_tip(self) -> int:
        """1 when the length on the cut list is the one tip to tip."""
        return int(self.cut.size == self.cut.tip)

    @property
    def depth_excel(self) -> str:
        """Formula part: what a leaning cut crosses."""
        word = depth_word(self.cut)
        return or_zero(written("{assembly." + word + "}", JOINS, {})) if word else "0"

    @cached_property
    def depth(self) -> float:
        """What a leaning cut crosses [job unit]."""
        word = depth_word(self.cut)
        depth: float | None = getattr(self.cut.assembly, word) if word else None
        return depth or 0.0

    @cached_property
    def left(self) -> float:
        """Lean of the lower or left end: the tangent of its cut; 0 at a splice."""
        return self._lean(self.cut.lower_cut, at_end=self.part == 1)

    @cached_property
    def right(self) -> float:
        """Lean of the upper or right end."""
        return self._lean(self.cut.upper_cut, at_end=self.part == self.parts)

    def _lean(self, cut: float, *, at_end: bool) -> float:
        return math.tan(math.radians(cut)) if self.of.wedge and at_end else 0.0

    @property
    def part(self) -> int:
        """Which part of a spliced piece."""
        return self.of.part

    @property
    def parts(self) -> int:
        """Parts that the piece is spliced from."""
        return self.of.parts

    @cached_property
    def length(self) -> float | None:
        """What the saw operator measures: that of the cut list, or a part from its tip to the splice [job unit]."""
        if self.parts == 1:
            return self.cut.length
        if self.part < self.parts:
            return self.of.part_length
        return None if self.cut.tip_to_tip is None else self.cut.tip_to_tip - self.of.before

    @property
    def length_excel(self) -> str:
        """Formula part: the same."""
        if self.parts == 1:
            return written("{cut.length}", JOINS, {})
        return (
            "{part_length}"
            if self.part < self.parts
            else written('IF({cut.tip_to_tip}="","",{cut.tip_to_tip}-{before})', JOINS, {})
        )

    @cached_property
    def mid(self) -> float | None:
        """What it takes up of a board between its cuts [job unit]."""
        if self.parts > 1:
            return None if self.length is None else self.length - self._wedges
        if not self.of.wedge:
            tip = self.cut.tip_to_tip
            return None if tip is None else tip + self.cut.settings.kerf * self._wider
        if self.cut.other_edge is not None:
            return None if self.cut.length is None else (self.cut.length + self.cut.other_edge) / 2
        if same(self.left, self.right) and not self.by_tip:
            return self.cut.length
        return None if self.cut.tip_to_tip is None else self.cut.tip_to_tip - self._wedges

    @property
    def _wider(self) -> float:
        """By how many kerfs the cuts of both ends are wider along the board than square ones."""
        return sum(1 / math.cos(math.radians(cut)) - 1 for cut in (self.cut.lower_cut, self.cut.upper_cut))

    @property
    def _wedges(self) -> float:
        return self.depth / 2 * (abs(self.left) + abs(self.right))

    @property
    def needed(self) -> int:
        """Pieces that the cut list asks for."""
        return self.cut.quantity

    @property
    def planned(self) -> int:
        """Pieces that the boards of the cutting plan give."""
        return self.counts.get(self.number, 0)

    @property
    def miscounted(self) -> bool:
        """Whether the plan cuts more or fewer than are needed, or left some out."""
        return self.planned - self.needed + self.of.left_out != 0

    @property
    def other_length(self) -> bool:
        """Whether what the saw operator measures is no longer what was planned."""
        return differ(self.length, self.of.length)

    @property
    def other_length_excel(self) -> str:
        """Formula part: the same."""
        return differ_excel("{length}", self.length_excel)

    @property
    def deeper(self) -> bool:
        """Whether its leans cross another depth than its boards were planned for."""
        leans = round(abs(self.left) + abs(self.right), PLACES) > 0
        return leans and round(abs(self.depth - self.of.depth), PLACES) > 0

    @property
    def splice_moved(self) -> bool:
        """Whether the piece or the post moved for which its splices were chosen."""
        post = self.crossing is not None and differ(self.crossing.lower_face, self.of.face)
        return post or (self.parts > 1 and differ(self.cut.tip_to_tip, self.of.total))

    @property
    def splice_excel(self) -> str:
        """Formula part: the same."""
        if self.parts == 1:
            return "FALSE"
        moved = differ_excel("{cut.tip_to_tip}", "{total}")
        if self.crossing is not None:
            moved += "," + differ_excel("{section.lower_face}", "{face}")
        return written(moved, JOINS, {})

    @cached_property
    def status(self) -> str:
        """Asks for another run when it is no longer what was planned, or not all of it is cut."""
        return TAB.status_of(self)


JOINS = {
    "cut": Join(cut_list.TAB, "piece_row", "cut"),
    "assembly": Join(assemblies.TAB, "cut.assembly_row", "cut.assembly"),
    "section": Join(Later("sections"), "section_row", "crossing", maybe=True),
}
_LEAN = "=IF(AND({wedge}=1,AT_END),TAN(RADIANS({cut.END_cut})),0)"

TAB = Tab(
    "planned",
    "Pieces planned",
    Planned,
    (
        Column("piece_row", "No.", COUNT, path="of.piece_row", width=6),
        Column("name", "Part", TEXT, path="cut.part", width=14),
        Column("part", "Part of it", COUNT, width=7),
        Column("parts", "Of", COUNT, width=5),
        Column("item", "Cut from", MARK, path="of.item", width=13),
        Column("length", "Length", TAPE, path="of.length"),
        Column("needed", "Needed", COUNT, of="cut.quantity"),
        Column("planned", "Planned", COUNT),
        Column("left_out", "Without a board", COUNT, path="of.left_out", width=9),
        Column(STATUS, "Status", VERDICT),
        Column("number", "Row", COUNT, width=6),
        Column("material", "Material", COUNT, path="of.material", width=7),
        Column("wedge", "With leans", COUNT, path="of.wedge", width=7),
        Column("by_tip", "By its tips", COUNT, width=7),
        Column("left", "Left lean", FACTOR, _LEAN.replace("END", "lower").replace("AT_lower", "{part}=1")),
        Column("right", "Right lean", FACTOR, _LEAN.replace("END", "upper").replace("AT_upper", "{part}={parts}")),
        Column(
            "mid", "Mid-line", LENGTH,
            '=IF({parts}>1,IF([length_excel]="","",[length_excel]-{wedges}),IF({cut.length}="","",IF({cut.tip_to_tip}="","",'
            "IF({wedge}=0,{cut.tip_to_tip}+{kerf}*({wider}),"
            'IF({cut.other_edge}<>"",({cut.length}+' + or_zero("{cut.other_edge}") + ")/2,"
            "IF(AND(ABS({left}-{right})<0.000001,{by_tip}=0),{cut.length},{cut.tip_to_tip}-{wedges}))))))",
        ),
        Column("part_length", "Part length", LENGTH, path="of.part_length"),
        Column("before", "Parts before", LENGTH, path="of.before"),
        Column("total", "Spliced length", LENGTH, path="of.total"),
        Column("section_row", "Spliced before section", COUNT, path="of.section_row"),
        Column("face", "Section began at", LENGTH, path="of.face"),
        Column("chosen_depth", "Planned depth", LENGTH, path="of.depth"),
        Column("chosen_mid", "Planned mid-line", LENGTH, path="of.mid"),
        Column("chosen_left", "Planned left lean", FACTOR, path="of.left"),
        Column("chosen_right", "Planned right lean", FACTOR, path="of.right"),
    ),
    purpose="Every piece that is cut from boards, and whether the cutting plan cuts all of it.",
    none="Nothing is cut from boards: list boards and their lengths on tab Prices",
    paper_to="status",
    key="number",
    joins=JOINS,
    terms={
        "wedges": "[depth_excel]/2*(ABS({left})+ABS({right}))",
        "kerf": or_usual("saw_kerf", USUAL_KERF),
        "wider": "1/COS(RADIANS({cut.lower_cut}))-1+1/COS(RADIANS({cut.upper_cut}))-1",
    },
    rests=Rests(
        on=("cut",),
        free=("section",),
        kept={"item": "cut.item", "chosen_mid": "mid", "chosen_left": "left", "chosen_right": "right"},
        unless={
            "miscounted": "{planned}-{needed}+{left_out}<>0",
            "other_length": "[other_length_excel]",
            "deeper": "AND(ROUND(ABS({left})+ABS({right}),6)>0,ROUND(ABS([depth_excel]-{chosen_depth}),6)>0)",
            "splice_moved": "[splice_excel]",
        },
    ),
)  # fmt: skip
