"""Working bare joints: kinds of joint into which nothing is given to go, so that their fasteners cost nothing.

A row for each assembly. What is typed on tab Fastenings counts as it was when the job was computed.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import COUNT, MARK, TEXT, VERDICT
from railbook.fastening.bring_along import TRIM
from railbook.fastening.counting import COUNTS, STALE
from railbook.fastening.joint_counts import Counted, JointCount
from railbook.fastening.layout import Fastened
from railbook.job import assemblies
from railbook.job.assemblies import Assembly
from railbook.job.fastenings import (
    CAP_TO_RAIL,
    HANDRAIL_BRACKET,
    JOINTS,
    PLACES_TAB,
    RAIL_END,
    RAIL_TO_POST,
)

EITHER = (RAIL_END, RAIL_TO_POST)  # one of the two may hold the rail alone
PLAIN = tuple(
    joint.word for joint in JOINTS if joint.tab == PLACES_TAB and not joint.spaced and joint.word not in EITHER
)
FASTENERS, BRACKETS = ", fasteners of ", ", handrail brackets of "


@dataclass(frozen=True)
class BareJoints:
    """One assembly, at `assembly_row` of its tab.

    Attributes:
        typed: that row.
        rows: rows of tab Fastenings that are for it.
        sections: sections of all its guards.
        counted: joints that were counted.
        is_stale: whether a run, a handrail or a row of tab Fastenings asks for another run, or a skirt or cap of its
            posts was named since.
    """

    assembly_row: int
    typed: Assembly
    rows: Sequence[JointCount] = field(repr=False)
    sections: int
    counted: Counted = field(repr=False)
    is_stale: bool

    @property
    def assembly(self) -> str:
        """Its mark."""
        return self.typed.assembly

    def _occurs(self, word: str) -> bool:
        return self.counted.of_assembly[word, self.assembly_row] > 0

    @cached_property
    def _given(self) -> Counter[str]:
        """Joint -> rows for it."""
        return Counter(row.joint for row in self.rows)

    def _left_out(self, *joints: str) -> int:
        return sum(row.left_out for row in self.rows if not joints or row.joint in joints)

    @cached_property
    def bare(self) -> int:
        """Of its guards: kinds of joint without a row, and rows that were left out."""
        if not self.sections:
            return 0
        plain = sum(self._occurs(joint) and not self._given[joint] for joint in PLAIN)
        rail = self._occurs(RAIL_TO_POST) and not any(self._given[word] for word in EITHER)
        has_cap = bool(self.typed.cap_thickness)
        cap = has_cap and not self._given[CAP_TO_RAIL]
        elsewhere = (HANDRAIL_BRACKET,) if has_cap else (HANDRAIL_BRACKET, CAP_TO_RAIL)
        return plain + rail + cap + self._left_out() - self._left_out(*elsewhere)

    @cached_property
    def brackets(self) -> int:
        """Of its handrails alone: the same."""
        if not self._occurs(HANDRAIL_BRACKET):
            return 0
        left_out = self._left_out(HANDRAIL_BRACKET) if self.sections else self._left_out() - self._left_out(CAP_TO_RAIL)
        return int(not self._given[HANDRAIL_BRACKET]) + left_out

    @property
    def lacks(self) -> str:
        """What the total lacks of it, behind what it lacks else."""
        fasteners = FASTENERS + self.assembly if self.bare else ""
        return fasteners + (BRACKETS + self.assembly if self.brackets else "")

    @property
    def status(self) -> str:
        """Asks for another run when anything does that joints and fastenings are counted from, or for new trim."""
        return TAB.status_of(self)


def bare_joints_of(assemblies: Sequence[Assembly], fastened: Fastened, number: int) -> Iterator[BareJoints]:
    """One row for each of the first so many assemblies.

    Args:
        assemblies: as they are now.
        fastened: joints and fastenings.
        number: how many assemblies there were.
    """
    sections: Counter[int] = Counter()
    for place in fastened.places:
        sections[place.assembly_row] += place.line.sections
    rows: dict[int, list[JointCount]] = {}
    for each in fastened.joint_counts:
        rows.setdefault(each.assembly_row, []).append(each)
    is_stale = bool(fastened.counted.stale) or any(each.status == RUN_AGAIN for each in fastened.joint_counts)
    for row in range(1, number + 1):
        typed = assemblies[row - 1] if row <= len(assemblies) else Assembly()
        trim = fastened.counted.trimmed[row] > 0 and _has_new_trim(row, typed, fastened)
        yield BareJoints(row, typed, rows.get(row, ()), sections[row], fastened.counted, is_stale or trim)


def _has_new_trim(row: int, typed: Assembly, fastened: Fastened) -> bool:
    """Whether an assembly names a skirt or a cap that is not listed to be brought along."""
    listed = {(each.assembly_row, each.listed.what) for each in fastened.brought}
    return any(getattr(typed, column) and (row, what) not in listed for what, column in TRIM.items())


def _new_trim(what: str, column: str) -> str:
    """Formula part: whether it names one of them."""
    listed = f'COUNTIFS({{bring_along_assembly_row}},{{assembly_row}},{{bring_along_what}},"{what}")'
    posts = "SUMIFS({places_trimmed},{lines_assembly_row},{assembly_row})"
    return f'AND(INDEX({{assemblies_{column}}},{{assembly_row}})<>"",{posts}>0,{listed}=0)'


def _rows(word: str, more: str = "") -> str:
    """Formula part: rows of tab Fastenings for a joint of the assembly."""
    return f'COUNTIFS({{joint_counts_assembly_row}},{{assembly_row}},{{joint_counts_joint}},"{word}"{more})'


def _bare(joint: str, *words: str) -> str:
    """Formula part: 1 when a joint occurs and no row is for it."""
    return f"IF({COUNTS[joint].of_assembly}>0,IF({'+'.join(map(_rows, words or (joint,)))}=0,1,0),0)"


_LEFT_OUT = "SUMIFS({joint_counts_left_out},{joint_counts_assembly_row},{assembly_row})"
_BRACKETS_LEFT_OUT, _CAPS_LEFT_OUT = (
    _rows(word, ",{joint_counts_left_out},1") for word in (HANDRAIL_BRACKET, CAP_TO_RAIL)
)
_CAPS = f"IF({{typed.cap_thickness}}=0,-{_CAPS_LEFT_OUT},IF({_rows(CAP_TO_RAIL)}=0,1,0))"
_GUARD = "+".join((*map(_bare, PLAIN), _bare(RAIL_TO_POST, *EITHER), _CAPS))

_STALE = (
    *STALE.values(),
    "{joint_counts_status_count}>0",
    "COUNT({sections},{bare},{brackets})<3",
    *(_new_trim(what, column) for what, column in TRIM.items()),
)

TAB = Tab(
    "bare_joints",
    "Working bare joints",
    BareJoints,
    (
        Column("assembly_row", "Assembly row", COUNT),
        Column("assembly", "Assembly", MARK, '=INDEX({assemblies_assembly},{assembly_row})&""', width=13),
        Column("sections", "Sections", COUNT, "=SUMIFS({lines_sections},{lines_assembly_row},{assembly_row})"),
        Column("bare", "Joints without", COUNT,
            f"=IF({{sections}}=0,0,{_GUARD}+{_LEFT_OUT}-{_BRACKETS_LEFT_OUT})"),
        Column("brackets", "Brackets without", COUNT,
            f"=IF({COUNTS[HANDRAIL_BRACKET].of_assembly}=0,0,IF({_rows(HANDRAIL_BRACKET)}=0,1,0)"
            f"+IF({{sections}}>0,{_BRACKETS_LEFT_OUT},{_LEFT_OUT}-{_CAPS_LEFT_OUT}))"),
        Column("lacks", "The total lacks", TEXT,
            f'=IF({{bare}}>0,"{FASTENERS}"&{{assembly}},"")&IF({{brackets}}>0,"{BRACKETS}"&{{assembly}},"")', width=40),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Kinds of joint into which nothing is given to go, and rows of tab Fastenings that were left out.",
    key="assembly_row",
    joins={"typed": Join(assemblies.TAB, "assembly_row", "typed")},
    rests=Rests(unless={"is_stale": f"OR({','.join(_STALE)})"}),
)  # fmt: skip
