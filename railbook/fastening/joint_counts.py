"""Working fastenings: for every row of tab Fastenings, how many joints of that kind its assembly has."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests, differ
from railbook.basics.kinds import COUNT, MARK, TEXT, VERDICT
from railbook.fastening.counting import COUNTS, STALE
from railbook.fastening.places import Places
from railbook.geometry.handrails import Handrail
from railbook.job import fastenings
from railbook.job.fastenings import (
    HANDRAIL_BRACKET,
    JOINT_OF,
    JOINTS,
    PLACES_TAB,
    Fastening,
    Joint,
)
from railbook.takeoff.section_counts import SectionCount

Counting = Places | Handrail  # a row that counts the joints of one run


@dataclass(frozen=True)
class Counted:
    """Everything that was counted, summed once for all rows.

    Attributes:
        tabs: tab whose rows count joints -> those rows, each with its assembly and its run.
        sections: with the places along them.
        stale: tabs of which something asks for another run: nobody can tell any more whose joints it has.
        rows: rows of tab Fastenings that are worked out here; `filled` those that name an item now.
    """

    tabs: Mapping[str, Sequence[Counting]]
    sections: Sequence[SectionCount]
    stale: frozenset[str]
    rows: int
    filled: int

    @cached_property
    def of_assembly(self) -> Counter[tuple[str, int]]:
        """(word of a joint, row of an assembly) -> joints."""
        sums: Counter[tuple[str, int]] = Counter()
        for joint in JOINTS:
            if not joint.spaced:
                for row in self.tabs[joint.tab]:
                    sums[joint.word, row.assembly_row] += joints_of(row)[joint.word]
        return sums

    @cached_property
    def trimmed(self) -> Counter[int]:
        """Row of an assembly -> posts that get trim."""
        posts: Counter[int] = Counter()
        for place in self.tabs[PLACES_TAB]:
            posts[place.assembly_row] += place.trimmed if isinstance(place, Places) else 0
        return posts

    @cached_property
    def of_spacing(self) -> Counter[int]:
        """Row of tab Fastenings -> places along the sections."""
        sums: Counter[int] = Counter()
        for each in self.sections:
            for row, places in each.places:
                sums[row] += places
        return sums

    @cached_property
    def of_run_spacing(self) -> Counter[tuple[int, int]]:
        """(row of a run, row of tab Fastenings) -> places along its sections."""
        sums: Counter[tuple[int, int]] = Counter()
        for each in self.sections:
            for row, places in each.places:
                sums[each.of.line_row, row] += places
        return sums


def joints_of(row: Counting) -> Mapping[str, int]:
    """Joint -> how many of them one run has."""
    return row.joints if isinstance(row, Places) else {HANDRAIL_BRACKET: row.brackets or 0}


@dataclass(frozen=True)
class JointCount:
    """One row of tab Fastenings.

    Attributes:
        fastening_row: its row there, from 1.
        typed: what stands there.
        assembly_row: row of its assembly on tab Assemblies; 0 when there is none.
        chosen_assembly: assembly that it was counted for; `joint` the joint.
        schedule_row: its row on the Fastener schedule; 0 when there is no such joint, None when it was left out.
        counted: everything that was counted.
    """

    fastening_row: int
    typed: Fastening
    assembly_row: int
    chosen_assembly: str
    joint: str
    schedule_row: int | None
    counted: Counted = field(repr=False)

    @property
    def counts(self) -> Joint | None:
        """The joint that it was counted as; None for a row that does not name one."""
        return JOINT_OF.get(self.joint)

    @property
    def tab(self) -> str:
        """Tab that counts its joints, run by run."""
        return PLACES_TAB if self.counts is None else self.counts.tab

    @cached_property
    def joints(self) -> int:
        """Joints of the job that it goes into."""
        if self.counts is None:
            return 0
        if self.counts.spaced:
            return self.counted.of_spacing[self.fastening_row]
        return self.counted.of_assembly[self.joint, self.assembly_row]

    def joints_of_run(self, row: int, counting: Counting) -> int:
        """Joints of one run.

        Args:
            row: of the run, on the tab that counts its joints.
            counting: that row.
        """
        if self.counts is None:
            return 0
        if self.counts.spaced:
            return self.counted.of_run_spacing[row, self.fastening_row]
        return joints_of(counting)[self.joint]

    @property
    def joints_excel(self) -> str:
        """Formula part: the same."""
        return "0" if self.counts is None else COUNTS[self.joint].of_assembly

    @property
    def left_out(self) -> int:
        """1 when it holds nothing, as something that it needs is missing, though its joint occurs or may occur."""
        lacks = self.schedule_row is None or (self._is_spaced and self.typed.spacing is None)
        occurs = self.joints > 0 if self._is_counted else self.assembly_row > 0
        return int(lacks and (occurs or not self.typed.stands("assembly")))

    @property
    def lacks_excel(self) -> str:
        """Formula part: whether something that it needs is missing."""
        lacks = '{schedule_row}=""'
        return f"OR({lacks},NOT(ISNUMBER({_SPACING})))" if self._is_spaced else lacks

    @property
    def occurs_excel(self) -> str:
        """Formula part: whether its joint occurs, or may occur."""
        return "{joints}>0" if self._is_counted else "{assembly_row}>0"

    @property
    def _is_spaced(self) -> bool:
        return self.counts is not None and self.counts.spaced

    @property
    def _is_counted(self) -> bool:
        return self.counts is not None and not self.counts.spaced

    @property
    def renamed(self) -> bool:
        """Whether its assembly or its joint is another than was counted."""
        chosen = {"assembly": self.chosen_assembly, "joint": self.joint}
        return any(differ(self.typed.stands(column), was) for column, was in chosen.items())

    @property
    def unlisted(self) -> bool:
        """Whether its joint occurs and is not listed, or its assembly is gone."""
        if self.schedule_row is None:
            return False
        return self.assembly_row == 0 or (self.schedule_row == 0 and self.joints > 0)

    @property
    def rows_added(self) -> bool:
        """Whether tab Fastenings has rows that are not worked out here."""
        return self.counted.filled > self.counted.rows

    @property
    def uncounted(self) -> bool:
        """Whether a run asks for another run, so that nobody can tell whose joints it has."""
        return self.tab in self.counted.stale

    @property
    def uncounted_excel(self) -> str:
        """Formula part: the same."""
        return STALE[self.tab]

    @cached_property
    def status(self) -> str:
        """Asks for another run when a run counted here does, or when it is another row than was counted."""
        return TAB.status_of(self)


_SPACING = "INDEX({fastenings_spacing},{fastening_row})"

TAB = Tab(
    "joint_counts",
    "Working fastenings",
    JointCount,
    (
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("chosen_assembly", "Counted for", MARK, width=13),
        Column("joint", "Counted as", TEXT),
        Column("assembly_row", "Assembly row", COUNT,
            '=IF({typed.assembly}="",0,IFERROR(MATCH({typed.assembly}&"",{assemblies_assembly},0),0))'),
        Column("joints", "Joints", COUNT, "=[joints_excel]"),
        Column("schedule_row", "Schedule row", COUNT),
        Column("left_out", "Left out", COUNT,
            '=IF(AND([lacks_excel],OR([occurs_excel],{typed.assembly}="")),1,0)'),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="For every row of tab Fastenings, how many joints of that kind its assembly has.",
    key="fastening_row",
    joins={"typed": Join(fastenings.TAB, "fastening_row", "typed")},
    rests=Rests(
        unless={
            "renamed": 'OR({typed.assembly}&""<>{chosen_assembly}&"",{typed.joint}&""<>{joint}&"")',
            "unlisted": 'IF({schedule_row}="",FALSE,OR({assembly_row}=0,AND({schedule_row}=0,{joints}>0)))',
            "rows_added": "COUNTA({fastenings_item})>COUNTA({joint_counts_fastening_row})",
            "uncounted": "[uncounted_excel]",
        },
    ),
)  # fmt: skip
