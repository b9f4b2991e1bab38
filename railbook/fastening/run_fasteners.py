"""Fasteners by run: what every run takes of each row of the Fastener schedule."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up
from railbook.basics.kinds import COUNT, MARK, TEXT, VERDICT
from railbook.fastening.joint_counts import JointCount


@dataclass(frozen=True)
class RunFastener:
    """One run and one row of tab Fastenings.

    Attributes:
        run: its mark.
        place: the row that counts its joints, at `place_row` of that tab.
        of: that row, at `fastening_row`.
    """

    run: str
    place_row: int
    place: Any
    of: JointCount

    @property
    def fastening_row(self) -> int:
        """Row on tab Fastenings, and on Working fastenings."""
        return self.of.fastening_row

    @property
    def joint(self) -> str:
        """The joint."""
        return self.of.joint

    @property
    def item(self) -> str:
        """What goes into it."""
        return self.of.typed.item or ""

    @property
    def per_joint(self) -> int | None:
        """How many go into each joint."""
        return self.of.typed.per_joint

    @property
    def counted_excel(self) -> str:
        """Formula part: joints of the run."""
        joint = self.of.counts
        if joint is None or not joint.column:
            return "SUMIFS({spacings_places},{spacings_fastening_row},{fastening_row},{spacings_line_row},{place_row})"
        return or_zero(f"INDEX({{{self.tab}_{joint.column}}},{{place_row}})")

    @property
    def tab(self) -> str:
        """Tab that counts its joints."""
        return self.of.tab

    @cached_property
    def joints(self) -> int:
        """Joints of the run."""
        joint = self.of.counts
        if joint is None or not joint.column:
            return self.of.counted.of_run_spacing[self.place_row, self.fastening_row]
        return getattr(self.place, joint.column) or 0

    @cached_property
    def total(self) -> int:
        """How many the run takes."""
        return self.joints * (self.per_joint or 0)

    @property
    def status(self) -> str:
        """Asks for another run when its run or its row does."""
        return RUN_AGAIN if RUN_AGAIN in (self.place.status, self.of.status) else ""


TAB = Tab(
    "run_fasteners",
    "Fasteners by run",
    RunFastener,
    (
        Column("run", "Run", MARK),
        Column("joint", "Joint", TEXT, "=INDEX({joint_counts_joint},{fastening_row})"),
        Column("item", "Item", MARK, '=INDEX({fastenings_item},{fastening_row})&""', width=21),
        Column("per_joint", "In each", COUNT, "=" + look_up("fastenings_per_joint", "fastening_row")),
        Column("joints", "Joints", COUNT, "=[counted_excel]"),
        Column("total", "Total", COUNT, "={joints}*" + or_zero("{per_joint}")),
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("place_row", "Run row", COUNT),
        Column(
            STATUS,
            "Status",
            VERDICT,
            ask_again(
                'INDEX({[tab]_status},{place_row})="run again"',
                'INDEX({joint_counts_status},{fastening_row})="run again"',
            ),
        ),
    ),
    purpose="What every run takes of each fastener. A shared post counts with the run that sets its height.",
    none="No fasteners are given: fill in tab Fastenings and run again",
    paper_to="total",
    key="run",
)
