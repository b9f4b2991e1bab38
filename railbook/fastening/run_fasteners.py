"""Fasteners by run: what every run takes of each row of the Fastener schedule.

Which run takes what was chosen, in the words of that row; how many is live. A figure is as good as its row of the
schedule, which asks for another run as soon as any run does.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, MARK, TEXT
from railbook.fastening.counting import COUNTS
from railbook.fastening.joint_counts import Counting, JointCount
from railbook.job import fastenings


@dataclass(frozen=True)
class RunFastener:
    """One run and one row of tab Fastenings.

    Attributes:
        run: its mark.
        place_row: row of the tab that counts its joints; `place` that row.
        of: that row of tab Fastenings, at `fastening_row` of Working fastenings.
        item: what goes into the joint, as chosen.
    """

    run: str
    place_row: int
    place: Counting
    of: JointCount
    item: str

    @property
    def fastening_row(self) -> int:
        """Row on tab Fastenings, and on Working fastenings."""
        return self.of.fastening_row

    @cached_property
    def joints(self) -> int:
        """Joints of the run."""
        return self.of.joints_of_run(self.place_row, self.place)

    @property
    def joints_excel(self) -> str:
        """Formula part: the same."""
        return COUNTS[self.of.joint].of_run

    @cached_property
    def total(self) -> int:
        """How many the run takes."""
        return self.joints * (self.of.typed.per_joint or 0)


TAB = Tab(
    "run_fasteners",
    "Fasteners by run",
    RunFastener,
    (
        Column("run", "Run", MARK),
        Column("joint", "Joint", TEXT, path="of.joint"),
        Column("item", "Item", MARK, width=21),
        Column("total", "Total", COUNT, f"=([joints_excel])*{or_zero('{typed.per_joint}')}"),
        Column("number", "Schedule row", COUNT, path="of.schedule_row"),
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("place_row", "Run row", COUNT),
    ),
    purpose="What every run takes of each fastener. A shared post counts with the run that sets its height.",
    alert='=IF({fasteners_status_count}>0,"Some figures rest on older ones: run railbook on this workbook again","")',
    none="No fasteners are given: fill in tab Fastenings and run again",
    paper_to="total",
    key="run",
    joins={"typed": Join(fastenings.TAB, "fastening_row", "of.typed")},
)  # fmt: skip
