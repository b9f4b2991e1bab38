"""Working fastenings: for every row of tab Fastenings, how many joints of that kind its assembly has."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, MARK, TEXT, VERDICT
from railbook.job.fastenings import JOINT_OF, JOINTS, PLACES_TAB, Fastening, Joint
from railbook.takeoff.spacings import Spacing


@dataclass(frozen=True)
class Counted:
    """Everything that was counted, summed once for all rows.

    Attributes:
        tabs: tab whose rows hold counts of joints -> those rows, each with its assembly and its run.
        spacings: places along the sections.
        rows: rows of tab Fastenings that are worked out here; `filled` those that name an item now.
    """

    tabs: Mapping[str, Sequence[Any]]
    spacings: Sequence[Spacing]
    rows: int
    filled: int

    @cached_property
    def of_assembly(self) -> Counter[tuple[str, int]]:
        """(word of a joint, row of an assembly) -> joints."""
        sums: Counter[tuple[str, int]] = Counter()
        for joint in JOINTS:
            if joint.column:
                for row in self.tabs[joint.tab]:
                    sums[joint.word, row.assembly_row] += getattr(row, joint.column) or 0
        return sums

    @cached_property
    def of_spacing(self) -> Counter[int]:
        """Row of tab Fastenings -> places along the sections."""
        sums: Counter[int] = Counter()
        for each in self.spacings:
            sums[each.fastening_row] += each.places
        return sums

    @cached_property
    def of_run_spacing(self) -> Counter[tuple[int, int]]:
        """(row of a run, row of tab Fastenings) -> places along its sections."""
        sums: Counter[tuple[int, int]] = Counter()
        for each in self.spacings:
            sums[each.line_row, each.fastening_row] += each.places
        return sums

    @cached_property
    def stale(self) -> frozenset[str]:
        """Tabs with a row that asks for another run: nobody can tell any more whose joints it has."""
        return frozenset(tab for tab, rows in self.tabs.items() if any(row.status == RUN_AGAIN for row in rows))


@dataclass(frozen=True)
class JointCount:
    """One row of tab Fastenings.

    Attributes:
        fastening_row: its row there, from 1.
        typed: what stands there.
        assembly_row: row of its assembly on tab Assemblies; 0 when there is none.
        chosen_assembly: assembly that it was counted for; `chosen_joint` the joint.
        schedule_row: its row on the Fastener schedule; 0 when there is no such joint, None when it was left out.
        counted: everything that was counted.
    """

    fastening_row: int
    typed: Fastening
    assembly_row: int
    chosen_assembly: str
    chosen_joint: str
    schedule_row: int | None
    counted: Counted

    @property
    def assembly(self) -> str:
        """Its assembly."""
        return self.typed.stands("assembly")

    @property
    def joint(self) -> str:
        """Its joint."""
        return self.typed.stands("joint")

    @property
    def counts(self) -> Joint | None:
        """The joint that it was counted as; None for a row that does not name one."""
        return JOINT_OF.get(self.chosen_joint)

    @property
    def counted_excel(self) -> str:
        """Formula part: joints of its assembly."""
        if self.counts is None:
            return "0"
        if not self.counts.column:
            return "SUMIFS({spacings_places},{spacings_fastening_row},{fastening_row})"
        return f"SUMIFS({{{self.tab}_{self.counts.column}}},{{{self.tab}_assembly_row}},{{assembly_row}})"

    @property
    def tab(self) -> str:
        """Tab that counts its joints, run by run."""
        return PLACES_TAB if self.counts is None else self.counts.tab

    @cached_property
    def joints(self) -> int:
        """Joints of the job that it goes into."""
        if self.counts is None:
            return 0
        if not self.counts.column:
            return self.counted.of_spacing[self.fastening_row]
        return self.counted.of_assembly[self.chosen_joint, self.assembly_row]

    @property
    def left_out(self) -> int:
        """1 when it holds nothing, as something that it needs is missing, though its joint occurs or may occur."""
        lacks = self.schedule_row is None or (self._is_spaced and self.typed.spacing is None)
        counted = self.counts is not None and not self._is_spaced
        occurs = self.joints > 0 if counted else self.assembly_row > 0
        return int(lacks and (occurs or not self.assembly))

    @property
    def left_out_excel(self) -> str:
        """Formula part: the same."""
        lacks = '{schedule_row}=""'
        if self._is_spaced:
            lacks = f"OR({lacks},NOT(ISNUMBER(INDEX({{fastenings_spacing}},{{fastening_row}}))))"
        counted = self.counts is not None and not self._is_spaced
        occurs = "{joints}>0" if counted else "{assembly_row}>0"
        return f'AND({lacks},OR({occurs},{{assembly}}=""))'

    @property
    def _is_spaced(self) -> bool:
        return self.counts is not None and not self.counts.column

    @property
    def status(self) -> str:
        """Asks for another run when a run counted here does, or when it is another row than was counted."""
        other = (self.assembly, self.joint) != (self.chosen_assembly, self.chosen_joint)
        unlisted = self.schedule_row == 0 and self.joints > 0
        unlisted = unlisted or (self.schedule_row is not None and self.assembly_row == 0)
        added = self.counted.filled > self.counted.rows
        stale = self.tab in self.counted.stale
        return RUN_AGAIN if other or unlisted or added or stale else ""


TAB = Tab(
    "joint_counts",
    "Working fastenings",
    JointCount,
    (
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("assembly", "Assembly", MARK, '=INDEX({fastenings_assembly},{fastening_row})&""', width=13),
        Column("joint", "Joint", TEXT, '=INDEX({fastenings_joint},{fastening_row})&""'),
        Column(
            "assembly_row",
            "Assembly row",
            COUNT,
            '=IF({assembly}="",0,IFERROR(MATCH({assembly},{assemblies_assembly},0),0))',
        ),
        Column("joints", "Joints", COUNT, "=[counted_excel]"),
        Column("schedule_row", "Schedule row", COUNT),
        Column("left_out", "Left out", COUNT, "=IF([left_out_excel],1,0)"),
        Column("chosen_assembly", "Counted for", MARK, width=13),
        Column("chosen_joint", "Counted as", TEXT),
        Column(
            STATUS,
            "Status",
            VERDICT,
            ask_again(
                "{assembly}<>{chosen_assembly}",
                "{joint}<>{chosen_joint}",
                'IF({schedule_row}="",FALSE,OR({assembly_row}=0,AND({schedule_row}=0,{joints}>0)))',
                "COUNTA({fastenings_item})>COUNTA({joint_counts_fastening_row})",
                'COUNTIF({[tab]_status},"run again")>0',
            ),
        ),
    ),
    purpose="For every row of tab Fastenings, how many joints of that kind its assembly has.",
    key="fastening_row",
)
