"""Fastener schedule: what goes into every joint of the job, how many, and how the holes are drilled."""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests, differ
from railbook.basics.kinds import BOX, CHOICE, COUNT, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.fastening import bring_along, joint_counts
from railbook.fastening.bring_along import Listed
from railbook.fastening.joint_counts import JointCount
from railbook.job import fastenings
from railbook.job.fastenings import Fastening


@dataclass(frozen=True)
class Packed:
    """Where a fastener, its bits and its driver are listed on tab Bring along; None: it has none.

    Attributes:
        item_row: its own row; `item` what is listed there.
        pilot_row: row of its pilot bit; `counterbore_row` that of its wider bit; `driver_row` that of its driver.
        pilot: what is listed there; `counterbore` and `driver` alike.
    """

    item_row: int
    pilot_row: int | None
    counterbore_row: int | None
    driver_row: int | None
    item: Listed
    pilot: Listed | None
    counterbore: Listed | None
    driver: Listed | None


@dataclass(frozen=True)
class Fastener:
    """One row of tab Fastenings whose joint occurs; lengths in the job's unit.

    Attributes:
        number: its row here.
        of: its joints.
        total_in_runs: how many tab Fasteners by run has of it.
        packed: where it stands on tab Bring along.
    """

    number: int
    of: JointCount
    total_in_runs: int
    packed: Packed
    box: str = BOX

    @property
    def fastening_row(self) -> int:
        """Its row on tab Fastenings, and on Working fastenings."""
        return self.of.fastening_row

    @property
    def typed(self) -> Fastening:
        """What was typed there."""
        return self.of.typed

    @cached_property
    def total(self) -> int:
        """How many the whole job takes."""
        return self.of.joints * (self.typed.per_joint or 0)

    @property
    def runs_missing(self) -> bool:
        """Whether tab Fasteners by run has more or less of it."""
        return self.total_in_runs != self.total

    @property
    def repacked(self) -> bool:
        """Whether it needs another bit or driver than the ones that are listed to be brought along."""
        packed, typed = self.packed, self.typed
        bits = ((packed.pilot, typed.pilot_bit), (packed.counterbore, typed.counterbore_bit))
        driver = packed.driver.item if packed.driver else None
        return any(differ(bit, listed.bit if listed else None) for listed, bit in bits) or differ(typed.driver, driver)

    @cached_property
    def status(self) -> str:
        """Asks for another run when its joints do, when runs are missing, or when it is packed otherwise."""
        return TAB.status_of(self)


_BIT = 'IF({NAME_row}="",{NAME_bit}<>"",IF({NAME_bit}="",TRUE,ABS({NAME_bit}-{NAME.bit})>=0.000001))'
_OTHER_BITS = ",".join(_BIT.replace("NAME", name) for name in ("pilot", "counterbore"))

TAB = Tab(
    "fasteners",
    "Fastener schedule",
    Fastener,
    (
        Column("box", "Done", TICK),
        Column("assembly", "Assembly", MARK, path="of.chosen_assembly", width=11),
        Column("joint", "Joint", TEXT, path="of.joint", width=12),
        Column("what", "What", CHOICE, of="typed", width=10),
        Column("item", "Item", MARK, of="typed", width=16),
        Column("per_joint", "In each", COUNT, of="typed", width=6),
        Column("joints", "Joints", COUNT, of="counted", width=6),
        Column("total", "Total", COUNT, "={joints}*" + or_zero("{per_joint}"), width=6),
        Column("pilot_bit", "Pilot bit", TAPE, of="typed", width=7),
        Column("pilot_depth", "Pilot depth", TAPE, of="typed", width=7),
        Column("hole", "Hole", CHOICE, of="typed", width=8),
        Column("counterbore_bit", "Wider bit", TAPE, of="typed", width=7),
        Column("counterbore_depth", "Wider depth", TAPE, of="typed", width=7),
        Column("driver", "Driver", TEXT, of="typed", width=12),
        Column("notes", "Notes", TEXT, of="typed", width=30),
        Column("number", "Row", COUNT),
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("item_row", "Item row", COUNT, path="packed.item_row"),
        Column("pilot_row", "Pilot row", COUNT, path="packed.pilot_row"),
        Column("counterbore_row", "Wider bit row", COUNT, path="packed.counterbore_row"),
        Column("driver_row", "Driver row", COUNT, path="packed.driver_row"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="What goes into every joint, and how it is drilled. The wider hole (counterbore) takes the head. As typed "
    "on tab Fastenings: what the maker says goes first.",
    none="No fasteners are given: fill in tab Fastenings and run again",
    crew=True,
    paper_to="notes",
    key="number",
    joins={
        "typed": Join(fastenings.TAB, "fastening_row", "typed"),
        "counted": Join(joint_counts.TAB, "fastening_row", "of"),
        "listed": Join(bring_along.LISTED, "item_row", "packed.item"),
        "pilot": Join(bring_along.LISTED, "pilot_row", "packed.pilot", maybe=True),
        "counterbore": Join(bring_along.LISTED, "counterbore_row", "packed.counterbore", maybe=True),
        "turned": Join(bring_along.LISTED, "driver_row", "packed.driver", maybe=True),
    },
    rests=Rests(
        on=("counted",),
        free=("listed", "pilot", "counterbore", "turned"),  # they rest on this tab
        kept={"item": "listed.item"},
        unless={
            "runs_missing": "SUMIFS({run_fasteners_total},{run_fasteners_number},{number})<>{total}",
            "repacked": f'OR({_OTHER_BITS},IF({{driver_row}}="",{{driver}}<>"",{{driver}}<>{{turned.item}}))',
        },
    ),
)  # fmt: skip
