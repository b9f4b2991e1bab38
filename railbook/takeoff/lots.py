"""Working lots: equal pieces of one part for sections, supports or runs that are cut alike, where lots share a stop.

A lot looks at one row of another tab: `source` names the tab and `source_row` the row; `size`, `tip`, `lower` and
`upper` name the columns there. How many each member of its group has stands in `each` of `counts`. The cut list holds
the lots, so its figures are named in full here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Part, Tab
from railbook.basics.joins import Rests
from railbook.basics.kinds import COUNT, TEXT, VERDICT
from railbook.basics.rounding import PLACES, round_to, round_to_excel, same
from railbook.geometry import caps, handrails, lines, posts, sections
from railbook.job.assemblies import Assembly
from railbook.job.settings import Settings
from railbook.takeoff import balusters, blocks

SOURCES: Mapping[str, Tab | Part] = {
    tab.name: tab for tab in (lines.TAB, sections.PART, posts.TAB, caps.TAB, handrails.TAB, blocks.TAB, balusters.TAB)
}  # tabs that a lot may look at

TURN, TILT = "turn", "tilt"  # the saw is turned to the angle, or its blade is tilted
ROUGH = "top rough: trim on site"  # of posts that are sawn longer than they end up
TOP_RAIL, BOTTOM_RAIL = "Top rail", "Bottom rail"
ACROSS = "_short"  # end of the columns of a shorter side
BOTH_RAILS = "Both rails"  # of a section where they are the same piece
UPPER, UNDER = "upper", "under"  # sides of a rail as it stands
WALKING, FAR = SIDES = ("walking side", "far side")  # of a rail seen from above


@dataclass(frozen=True)
class Members:
    """Rows of one tab by the row that they are like: counted once for all pieces gathered from it.

    Attributes:
        rows: of the tab.
        mark: what tells them apart.
    """

    rows: Sequence[Any]
    mark: str

    @cached_property
    def places(self) -> Mapping[int, Sequence[int]]:
        """Like row -> where the rows stand that are like it, from 0."""
        places: dict[int, list[int]] = {}
        for at, row in enumerate(self.rows):
            places.setdefault(row.like_row, []).append(at)
        return places

    def marks(self, groups: Iterable[int]) -> str:
        """Marks of all rows of these groups, in the order of the tab."""
        places = sorted({at for group in groups for at in self.places.get(group, ())})
        return ", ".join(getattr(self.rows[at], self.mark) for at in places)

    @cached_property
    def stale(self) -> frozenset[int]:
        """Like rows with a row among them that asks for another run."""
        return frozenset(row.like_row for row in self.rows if row.status == RUN_AGAIN)


@dataclass(frozen=True)
class Lot:
    """Equal pieces of one part; lengths in the job's unit.

    Attributes:
        piece: number of its stop on the cut list.
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
        low_tilt: column of the tilt of the blade at the lower end, where the saw is turned besides; `high_tilt` at the
            upper end. Empty: nothing is turned and tilted.
        hand: what else must be equal at one stop, in words.
        first: the lot whose figures the cut list shows for their stop; None: this one.
    """

    piece: int
    part: str
    where: str
    stock: str
    source: str
    source_row: int
    thing: Any = field(repr=False)
    size: str
    tip: str
    lower: str
    upper: str
    each: str
    counts: str
    counts_row: int
    counted: Any = field(repr=False)
    line_row: int
    members: str
    group: int
    gathered: Members = field(repr=False)
    assembly: Assembly = field(repr=False)
    relief: int
    saw: str
    planes: int
    other: str
    low_tilt: str
    high_tilt: str
    hand: str
    settings: Settings = field(repr=False)
    first: "Lot | None" = None

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

    @cached_property
    def alike(self) -> int:
        """Sections, supports or runs that it goes to."""
        return len(self.gathered.places.get(self.group, ()))

    @cached_property
    def pieces(self) -> int:
        """How many to cut."""
        each = int(self.each) if self.each.isdigit() else SOURCES[self.counts].column(self.each).value(self.counted)
        return self.alike * int(each)

    @property
    def pieces_excel(self) -> str:
        """Formula part: the same."""
        each = self.each if self.each.isdigit() else "INDEX({" + f"{self.counts}_{self.each}" + "},{counts_row})"
        return "{alike}*" + each

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
        """Which edge is the longer one: upper or under side where an end leans, walking or far side where askew."""
        if not self._edges_differ:
            return ""
        if self._is_askew:
            return WALKING if (self._figure(self._across) or 0.0) > 0 else FAR
        longer = (self._figure(self.other) or 0.0) > (self._figure(self.size) or 0.0)
        return UPPER if longer == self._other_is_upper else UNDER

    @property
    def _other_is_upper(self) -> bool:
        """Whether the other edge is the upper side: the bottom rail is measured on its upper side itself."""
        return self.other != "bottom_other"

    @property
    def _is_askew(self) -> bool:
        """Whether its edges differ because an end is askew: they are then its two sides."""
        return self.other.endswith(ACROSS)

    @property
    def _across(self) -> str:
        """Column of what its walking side is longer than its middle."""
        return self.other.replace(ACROSS, "_across")

    @property
    def long_excel(self) -> str:
        """Formula part: which edge is the longer one."""
        if self._is_askew:
            return self._if_edges_differ(f'IF({self._cell(self._across)}>0,"{WALKING}","{FAR}")')
        longer, shorter = (UPPER, UNDER) if self._other_is_upper else (UNDER, UPPER)
        return self._if_edges_differ(f'IF({self._cell(self.other)}>{self._cell(self.size)},"{longer}","{shorter}")')

    @cached_property
    def lower_cut(self) -> float:
        """Saw setting at the lower, left or foot end, from square [degrees]."""
        return self._figure(self.lower) or 0.0

    @cached_property
    def upper_cut(self) -> float:
        """Saw setting at the upper, right or top end, from square [degrees]."""
        return self._figure(self.upper) or 0.0

    @property
    def is_tilted(self) -> bool:
        """Whether the blade is tilted for it besides turning the saw."""
        return bool(self.low_tilt)

    @cached_property
    def lower_tilt(self) -> float | None:
        """Tilt of the blade at the lower end, where the saw is turned besides; None where it is not [degrees]."""
        return (self._figure(self.low_tilt) or 0.0) if self.low_tilt else None

    @cached_property
    def upper_tilt(self) -> float | None:
        """The same at the upper end [degrees]."""
        return (self._figure(self.high_tilt) or 0.0) if self.high_tilt else None

    @property
    def set_to(self) -> tuple[object, ...]:
        """What the saw is set to for it, and what is laid on it: lots of one stop agree in that."""
        cuts = (round(cut or 0.0, PLACES) for cut in (self.lower_cut, self.upper_cut, self.lower_tilt, self.upper_tilt))
        return (self.length, self.tip_to_tip, self.other_edge, *cuts, self.item or "", self.assembly_row)

    @property
    def leaves(self) -> bool:
        """Whether it no longer agrees with the first lot of its stop."""
        return self.length is None or self.set_to != (self.first or self).set_to

    @property
    def moved(self) -> bool:
        """Whether what it is counted from asks for another run, or a row that is like it."""
        return self.group in self.gathered.stale or self.counted.status == RUN_AGAIN

    @property
    def moved_excel(self) -> str:
        """Formula part: the same; a group of one has no other row."""
        moved = "INDEX({" + self.counts + '_status},{counts_row})="run again"'
        if self.alike < 2:
            return moved
        words = "{" + self.members + "_like_row},{group},{" + self.members + "_status}"
        return f'{moved},COUNTIFS({words},"run again")>0'

    @cached_property
    def status(self) -> str:
        """Asks for another run when what it is counted from does, or when it leaves its stop."""
        return TAB.status_of(self)

    @property
    def tilts_excel(self) -> str:
        """Formula part: whether it is tilted otherwise than its stop; nothing where no saw is turned and tilted."""
        ends = ("lower_tilt", self.low_tilt), ("upper_tilt", self.high_tilt)
        apart = (f"ROUND({self._cell(column)},6)<>ROUND({_at_stop(shown)},6)" for shown, column in ends if column)
        return "".join(f",{each}" for each in apart)


def _at_stop(column: str) -> str:
    """Formula part: what the cut list shows for the stop."""
    return "INDEX({cut_list_" + column + "},{piece})"


def _cut_elsewhere(end: str) -> str:
    """Formula part: whether one end is cut at another angle."""
    return "ROUND(INDEX({[source]_[" + end + "]},{source_row}),6)<>ROUND(" + _at_stop(f"{end}_cut") + ",6)"


TAB = Tab(
    "lots",
    "Working lots",
    Lot,
    (
        Column("piece", "Cut list no.", COUNT),
        Column("part", "Part", TEXT),
        Column("size", "Measured on", TEXT),
        Column("where", "Goes to", TEXT, width=20),
        Column("source_row", "Source row", COUNT),
        Column("counts_row", "Counted in row", COUNT),
        Column("line_row", "Run row", COUNT),
        Column("group", "Group", COUNT),
        Column("alike", "Alike", COUNT),
        Column("pieces", "Pieces", COUNT, "=[pieces_excel]"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Equal pieces for sections, supports or runs that are cut alike, where several such lots share a saw stop. "
    "One that leaves its stop asks for another run.",
    none="Every saw stop has one lot.",
    key="piece",
    rests=Rests(
        unless={
            "moved": "[moved_excel]",
            "leaves": ",".join(
                (
                    round_to_excel("INDEX({[source]_[size]},{source_row})") + "<>" + _at_stop("length"),
                    round_to_excel("INDEX({[source]_[tip]},{source_row})") + "<>" + _at_stop("tip_to_tip"),
                    "[other_excel]<>" + _at_stop("other_edge"),
                    _cut_elsewhere("lower"),
                    _cut_elsewhere("upper"),
                    'INDEX({assemblies_[stock]},[assembly_excel])&""<>' + _at_stop("item"),
                    "[assembly_excel]<>" + _at_stop("assembly_row") + "[tilts_excel]",
                )
            ),
        }
    ),
)  # fmt: skip
