"""Cut list: one row per piece of its kind, with how many, how long, and how both ends are cut.

A row looks at one row of another tab: `source` names the tab and `source_row` the row; `size`, `tip`,
`lower` and `upper` name the columns there. How many each member of the group has stands in `each` of `counts`.
Equal pieces are gathered where they were found equal.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Part, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import BOX, COUNT, CUT, MARK, NUMBER, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import round_to, round_to_excel, same
from railbook.basics.units import tape_text, tape_text_excel
from railbook.geometry import caps, handrails, lines, posts, sections
from railbook.job import assemblies
from railbook.job.assemblies import Assembly
from railbook.job.cautions import CAUTIONS
from railbook.job.settings import Settings
from railbook.takeoff import balusters, blocks

SOURCES: Mapping[str, Tab | Part] = {
    tab.name: tab for tab in (lines.TAB, sections.PART, posts.TAB, caps.TAB, handrails.TAB, blocks.TAB, balusters.TAB)
}  # tabs that a piece may look at

SQUARE_ENDS, ONE_END, PARALLEL, OPPOSED = "square", "one square", "parallel", "opposed"
TURN, TILT = "turn", "tilt"  # the saw is turned to the angle, or its blade is tilted
UPPER, UNDER = "upper", "under"  # sides of a rail as it stands
BOTH_WAYS = "see Saw"  # one end each way


@dataclass(frozen=True)
class Members:
    """Rows of one tab by the row that they are like: counted once for all pieces gathered from it."""

    rows: Sequence[Any]

    @cached_property
    def counts(self) -> Mapping[int, int]:
        """Like row -> how many rows are like it."""
        return Counter(row.like_row for row in self.rows)

    @cached_property
    def stale(self) -> frozenset[int]:
        """Like rows with a row among them that asks for another run."""
        return frozenset(row.like_row for row in self.rows if row.status == RUN_AGAIN)


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
class Piece:
    """Equal pieces of one part; lengths in the job's unit.

    Attributes:
        piece: number on the list.
        part: trade name.
        where: sections, supports or runs that it goes to.
        stock: column of tab Assemblies that names what it is cut from.
        source: tab that it looks at; `thing` is row `source_row` of that tab.
        size: column of the length; `tip`, `lower`, `upper` those of tip to tip and of the end cuts.
        each: pieces for each member of the group: a number, or the column of tab `counts` that holds it, in its
            row `counts_row`, which is `counted`.
        line_row: row of its run on Working runs; 0 for a handrail of its own.
        members: tab whose rows are counted, in `gathered`; those with the like row `group` belong to it.
        relief: 1 when the upper end gets the relief cut.
        saw: whether the saw is turned to its angles or the blade tilted.
        planes: 2 when one end is turned and the other tilted, else 1.
        other: column of its other edge; empty where both edges are alike.
        crossings: line posts that a cap board runs over, from its lower or left end.
    """

    piece: int
    part: str
    where: str
    stock: str
    source: str
    source_row: int
    thing: Any
    size: str
    tip: str
    lower: str
    upper: str
    each: str
    counts: str
    counts_row: int
    counted: Any
    line_row: int
    members: str
    group: int
    gathered: Members
    assembly: Assembly
    relief: int
    saw: str
    planes: int
    other: str
    settings: Settings
    crossings: tuple[Crossing, ...] = ()
    box: str = BOX

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        row: int = self.thing.assembly_row
        return row

    @property
    def assembly_excel(self) -> str:
        """Formula part: the same."""
        return "INDEX({lines_assembly_row},{line_row})" if self.line_row else self._cell("assembly_row")

    @property
    def item(self) -> str | None:
        """What it is cut from."""
        item: str | None = getattr(self.assembly, self.stock)
        return item

    @property
    def each_excel(self) -> str:
        """Formula part: pieces for each member of the group."""
        return self.each if self.each.isdigit() else "INDEX({" + f"{self.counts}_{self.each}" + "},{counts_row})"

    @property
    def _each(self) -> int:
        return int(self.each) if self.each.isdigit() else SOURCES[self.counts].column(self.each).value(self.counted)

    @cached_property
    def quantity(self) -> int:
        """How many to cut."""
        return self.gathered.counts.get(self.group, 0) * self._each

    def _figure(self, column: str) -> float | None:
        """A figure of what it looks at."""
        figure: float | None = SOURCES[self.source].column(column).value(self.thing)
        return figure

    def _cell(self, column: str) -> str:
        """Formula part: the same."""
        return "INDEX({" + f"{self.source}_{column}" + "},{source_row})"

    def _tape(self, column: str) -> float | None:
        exact = self._figure(column)
        return None if exact is None else round_to(self.settings.tape_step, exact)

    @cached_property
    def length(self) -> float | None:
        """Edge or side, rounded to the tape."""
        return self._tape(self.size)

    @cached_property
    def tip_to_tip(self) -> float | None:
        """What the stock must hold, rounded to the tape."""
        return self._tape(self.tip)

    @property
    def _edges_differ(self) -> bool:
        return bool(self.other) and not same(self._figure(self.other), self._figure(self.size))

    def _if_edges_differ(self, said: str) -> str:
        """Formula part: blank while both edges are alike."""
        if not self.other:
            return '""'
        return f'IF(ABS({self._cell(self.size)}-{self._cell(self.other)})<0.000001,"",{said})'

    @cached_property
    def other_edge(self) -> float | None:
        """The edge opposite, where it differs because an end leans, rounded to the tape."""
        return self._tape(self.other) if self._edges_differ else None

    @property
    def other_excel(self) -> str:
        """Formula part: the edge opposite, blank for pieces whose edges are alike."""
        return self._if_edges_differ(round_to_excel(self._cell(self.other)))

    @cached_property
    def long_edge(self) -> str:
        """Which edge is the longer one where an end leans: the upper or the under side."""
        if not self._edges_differ:
            return ""
        longer = (self._figure(self.other) or 0.0) > (self._figure(self.size) or 0.0)
        return UPPER if longer == self._other_is_upper else UNDER

    @property
    def _other_is_upper(self) -> bool:
        """Whether the other edge is the upper side: the bottom rail is measured on its upper side itself."""
        return self.other != "bottom_other"

    @property
    def long_excel(self) -> str:
        """Formula part: which edge is the longer one."""
        longer, shorter = (UPPER, UNDER) if self._other_is_upper else (UNDER, UPPER)
        return self._if_edges_differ(f'IF({self._cell(self.other)}>{self._cell(self.size)},"{longer}","{shorter}")')

    @property
    def length_text(self) -> str:
        """The length in words of the tape."""
        return tape_text(self.length, self.settings.tape_step, self.settings.unit)

    @cached_property
    def lower_cut(self) -> float:
        """Saw setting at the lower, left or foot end, from square [degrees]."""
        return self._figure(self.lower) or 0.0

    @cached_property
    def upper_cut(self) -> float:
        """Saw setting at the upper, right or top end, from square [degrees]."""
        return self._figure(self.upper) or 0.0

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
        """Whether what it is counted from asks for another run, or any piece gathered here."""
        return self.group in self.gathered.stale or self.counted.status == RUN_AGAIN

    @property
    def status(self) -> str:
        """Asks for another run when what it is counted from does, or any piece gathered here."""
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
        Column("quantity", "Pieces", COUNT, "=COUNTIF({[members]_like_row},{group})*[each_excel]"),
        Column("length", "Length", TAPE, _tape("exact")),
        Column("length_text", "On the tape", TEXT, tape_text_excel("length"), width=13),
        Column("other_edge", "Other edge", TAPE, "=[other_excel]"),
        Column("long_edge", "Long edge", TEXT, "=[long_excel]", width=7),
        Column("tip_to_tip", "Tip to tip", TAPE, _tape("exact_tip")),
        Column("lower_cut", "Lower or left cut", CUT, "=INDEX({[source]_[lower]},{source_row})"),
        Column("upper_cut", "Upper or right cut", CUT, "=INDEX({[source]_[upper]},{source_row})"),
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
            '=IF(OR({relief}=0,{upper_cut}=0,{assembly.relief_cut}=""),"",{assembly.relief_cut})', width=8,
        ),
        Column("where", "Goes to", TEXT, width=20),
        Column("source_row", "Source row", COUNT, width=7),
        Column("counts_row", "Counted in row", COUNT, width=7),
        Column("line_row", "Run row", COUNT, width=7),
        Column("group", "Group", COUNT, width=7),
        Column("assembly_row", "Assembly row", COUNT, "=[assembly_excel]", width=9),
        Column("relief", "Relief", COUNT, width=7),
        Column("planes", "Planes", COUNT, width=7),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Cuts are saw settings from square. Lengths run along an edge, the longer one where one end is square or "
    f"the cuts oppose. Relief: up along the cut, then back at 45. {' '.join(CAUTIONS)}",
    crew=True,
    paper_to="where",
    key="piece",
    joins={"assembly": Join(assemblies.TAB, "assembly_row", "assembly")},
    terms={"exact": "INDEX({[source]_[size]},{source_row})", "exact_tip": "INDEX({[source]_[tip]},{source_row})"},
    rests=Rests(
        unless={
            "moved": 'INDEX({[counts]_status},{counts_row})="run again",'
            'COUNTIFS({[members]_like_row},{group},{[members]_status},"run again")>0'
        }
    ),
)  # fmt: skip
