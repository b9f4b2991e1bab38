"""Pieces planned: every row of the cut list that is cut from boards, and whether the plan cuts all of it.

A piece takes up its mid-line, the mean of its two edges, and at each end the wedge of its cut. A board is planned
for one depth of cut; a piece that leans across another depth, or is cut in two planes, is charged as a square
piece of its length tip to tip and of what its slanted cuts are wider, which is never too little.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up
from railbook.basics.kinds import COUNT, FACTOR, LENGTH, MARK, TAPE, TEXT, VERDICT
from railbook.basics.rounding import PLACES, same
from railbook.geometry.sections import Section
from railbook.job.settings import USUAL_KERF, or_usual
from railbook.takeoff.cut_list import TILT, Piece

DEPTHS = {  # part -> column of tab Assemblies: what a leaning cut crosses
    "Top rail": "top_rail_depth",
    "Bottom rail": "bottom_rail_depth",
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


@dataclass(frozen=True)
class Planned:
    """One row of the cut list, or a part of a piece that is spliced; lengths in the job's unit.

    Attributes:
        number: its row.
        of: what was chosen.
        cut: its row of the cut list.
        section: the section behind its splice; None without one.
        counts: row -> pieces that the plan cuts.
    """

    number: int
    of: Planning
    cut: Piece
    section: Section | None
    counts: Mapping[int, int]

    @property
    def piece_row(self) -> int:
        """Row of the cut list."""
        return self.of.piece_row

    @property
    def part(self) -> int:
        """Which part of a spliced piece."""
        return self.of.part

    @property
    def parts(self) -> int:
        """Parts that the piece is spliced from."""
        return self.of.parts

    @property
    def name(self) -> str:
        """Trade name."""
        return self.cut.part

    @property
    def item(self) -> str:
        """What it is cut from."""
        return self.cut.item or ""

    @property
    def by_tip(self) -> int:
        """1 when the length on the cut list is the one tip to tip."""
        return int(self.cut.size == self.cut.tip)

    @property
    def depth_excel(self) -> str:
        """Formula part: what a leaning cut crosses."""
        word = depth_word(self.cut)
        at = "INDEX({cut_list_assembly_row},{piece_row})"
        return or_zero(f"INDEX({{assemblies_{word}}},{at})") if word else "0"

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

    @cached_property
    def length(self) -> float | None:
        """What the saw operator measures: that of the cut list, or a part from its tip to the splice [job unit]."""
        if self.parts == 1:
            return self.cut.length
        if self.part < self.parts:
            return self.of.part_length
        return None if self.cut.tip_to_tip is None else self.cut.tip_to_tip - self.of.before

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
    def differs(self) -> int:
        """Pieces planned beyond those needed; negative: too few."""
        return self.planned - self.needed

    @property
    def left_out(self) -> int:
        """Pieces for which no board was left when it was planned."""
        return self.of.left_out

    @property
    def splice_excel(self) -> str:
        """Formula part: whether the piece or the post moved for which its splices were chosen."""
        if self.parts == 1:
            return "FALSE"
        total = f"ROUND(ABS({_TIP}-{{total}}),6)>0"
        if not self.of.section_row:
            return total
        return f"{total},ROUND(ABS(INDEX({{sections_lower_face}},{{section_row}})-{{face}}),6)>0"

    @property
    def _splice_moved(self) -> bool:
        """Whether the piece or the post moved for which its splices were chosen."""
        post = self.section is not None and round(abs(self.section.lower_face - self.of.face), PLACES) > 0
        total, then = self.cut.tip_to_tip, self.of.total
        return post or (total is not None and then is not None and round(abs(total - then), PLACES) > 0)

    @property
    def total(self) -> float | None:
        """Of a spliced piece the length tip to tip for which its splices were chosen [job unit]."""
        return self.of.total

    @property
    def section_row(self) -> int:
        """Section behind the line post at its start; 0 without a splice over a post."""
        return self.of.section_row

    @property
    def face(self) -> float:
        """Where that section began when the splice was chosen [job unit]."""
        return self.of.face

    @property
    def chosen_item(self) -> str:
        """What it was planned to be cut from."""
        return self.of.item

    @property
    def chosen_depth(self) -> float:
        """Depth of cut that its boards were planned for [job unit]."""
        return self.of.depth

    @property
    def chosen_length(self) -> float | None:
        """Length on the tape as planned [job unit]."""
        return self.of.length

    @property
    def chosen_mid(self) -> float | None:
        """Mid-line as planned [job unit]."""
        return self.of.mid

    @property
    def chosen_left(self) -> float:
        """Left lean as planned."""
        return self.of.left

    @property
    def chosen_right(self) -> float:
        """Right lean as planned."""
        return self.of.right

    @property
    def part_length(self) -> float | None:
        """Length of a part, as chosen; blank for the last one and for whole pieces [job unit]."""
        return self.of.part_length

    @property
    def before(self) -> float:
        """Lengths of the parts before it [job unit]."""
        return self.of.before

    @property
    def wedge(self) -> int:
        """1 when it is planned with its leans."""
        return self.of.wedge

    @cached_property
    def status(self) -> str:
        """Asks for another run when it is no longer what was planned, or not all of it is cut."""
        of = self.of
        if self.length is None or self.mid is None or of.length is None or of.mid is None:
            return RUN_AGAIN
        pairs = ((self.length, of.length), (self.mid, of.mid), (self.left, of.left), (self.right, of.right))
        moved = any(round(abs(now - then), PLACES) > 0 for now, then in pairs)
        leans = round(abs(self.left) + abs(self.right), PLACES) > 0
        deeper = leans and round(abs(self.depth - of.depth), PLACES) > 0
        other = self.item != of.item or self.cut.status == RUN_AGAIN
        return RUN_AGAIN if self.differs + self.left_out or moved or deeper or other or self._splice_moved else ""


_CUT, _TIP = "INDEX({cut_list_length},{piece_row})", "INDEX({cut_list_tip_to_tip},{piece_row})"
_OTHER = "INDEX({cut_list_other_edge},{piece_row})"
_KERF = or_usual("saw_kerf", USUAL_KERF)
_WIDER = "+".join(f"1/COS(RADIANS(INDEX({{cut_list_{end}_cut}},{{piece_row}})))-1" for end in ("lower", "upper"))
_WEDGES = "{depth}/2*(ABS({left})+ABS({right}))"


def _lean(end: str, at_end: str) -> str:
    """Formula: lean of one end."""
    return f"=IF(AND({{wedge}}=1,{at_end}),TAN(RADIANS(INDEX({{cut_list_{end}_cut}},{{piece_row}}))),0)"


def _moved(*columns: str) -> str:
    """Formula part: whether a figure is no longer the one that was planned."""
    return ",".join(f"ROUND(ABS({{{column}}}-{{chosen_{column}}}),6)>0" for column in columns)


TAB = Tab(
    "planned",
    "Pieces planned",
    Planned,
    (
        Column("piece_row", "No.", COUNT, width=6),
        Column("name", "Part", TEXT, "=INDEX({cut_list_part},{piece_row})", width=14),
        Column("part", "Part of it", COUNT, width=7),
        Column("parts", "Of", COUNT, width=5),
        Column("item", "Cut from", MARK, '=INDEX({cut_list_item},{piece_row})&""', width=13),
        Column("length", "Length", TAPE,
            f'=IF({{parts}}=1,{look_up("cut_list_length", "piece_row")},IF({{part}}<{{parts}},{{part_length}},'
            f'IF({_TIP}="","",{_TIP}-{{before}})))'),
        Column("needed", "Needed", COUNT, "=INDEX({cut_list_quantity},{piece_row})"),
        Column("planned", "Planned", COUNT, "=SUMIFS({cuts_boards},{cuts_planned_row},{number})"),
        Column("left_out", "Without a board", COUNT, width=9),
        Column("differs", "Too many", COUNT, "={planned}-{needed}", width=7),
        Column(STATUS, "Status", VERDICT, ask_again(
            "{differs}+{left_out}<>0", '{length}=""', '{mid}=""', '{chosen_length}=""', '{chosen_mid}=""',
            _moved("length", "mid", "left", "right"),
            "AND(ROUND(ABS({left})+ABS({right}),6)>0,ROUND(ABS({depth}-{chosen_depth}),6)>0)",
            "[splice_excel]", "{item}<>{chosen_item}", 'INDEX({cut_list_status},{piece_row})="run again"')),
        Column("number", "Row", COUNT, width=6),
        Column("wedge", "With leans", COUNT, width=7),
        Column("by_tip", "By its tips", COUNT, width=7),
        Column("depth", "Depth of cut", LENGTH, "=[depth_excel]"),
        Column("left", "Left lean", FACTOR, _lean("lower", "{part}=1")),
        Column("right", "Right lean", FACTOR, _lean("upper", "{part}={parts}")),
        Column("mid", "Mid-line", LENGTH,
            f'=IF({{parts}}>1,IF({{length}}="","",{{length}}-{_WEDGES}),IF({_CUT}="","",IF({_TIP}="","",'
            f"IF({{wedge}}=0,{_TIP}+{_KERF}*({_WIDER}),"
            f'IF({_OTHER}<>"",({_CUT}+{or_zero(_OTHER)})/2,'
            f"IF(AND(ABS({{left}}-{{right}})<0.000001,{{by_tip}}=0),{_CUT},{_TIP}-{_WEDGES}))))))"),
        Column("part_length", "Part length", LENGTH),
        Column("before", "Parts before", LENGTH),
        Column("total", "Spliced length", LENGTH),
        Column("section_row", "Spliced before section", COUNT),
        Column("face", "Section began at", LENGTH),
        Column("chosen_item", "Planned from", MARK, width=13),
        Column("chosen_depth", "Planned depth", LENGTH),
        Column("chosen_length", "Planned length", LENGTH),
        Column("chosen_mid", "Planned mid-line", LENGTH),
        Column("chosen_left", "Planned left lean", FACTOR),
        Column("chosen_right", "Planned right lean", FACTOR),
    ),
    purpose="Every piece that is cut from boards, and whether the cutting plan cuts all of it.",
    none="Nothing is cut from boards: list boards and their lengths on tab Prices",
    paper_to="status",
    key="number",
)  # fmt: skip
