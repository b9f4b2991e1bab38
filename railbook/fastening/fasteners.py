"""Fastener schedule: what goes into every joint of the job, how many, and how the holes are drilled."""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up
from railbook.basics.kinds import BOX, CHOICE, COUNT, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import same
from railbook.fastening.joint_counts import JointCount
from railbook.job.fastenings import Fastening


@dataclass(frozen=True)
class Packed:
    """Rows of tab Bring along on which a fastener, its bits and its driver are listed; None: it has none.

    Attributes:
        item_row: its own row.
        pilot_row: row of its pilot bit; `counterbore_row` that of its wider bit; `driver_row` that of its driver.
        item: what is listed there; `pilot_bit`, `counterbore_bit` and `driver` alike.
    """

    item_row: int
    pilot_row: int | None
    counterbore_row: int | None
    driver_row: int | None
    item: str
    pilot_bit: float | None
    counterbore_bit: float | None
    driver: str | None


@dataclass(frozen=True)
class Fastener:
    """One row of tab Fastenings whose joint occurs; lengths in the job's unit.

    Attributes:
        number: its row here.
        of: its joints.
        joints_in_runs: its joints on tab Fasteners by run.
        packed: where it stands on tab Bring along.
    """

    number: int
    of: JointCount
    joints_in_runs: int
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

    @property
    def assembly(self) -> str:
        """Its railing."""
        return self.of.assembly

    @property
    def joint(self) -> str:
        """Its joint."""
        return self.of.joint

    @property
    def what(self) -> str:
        """Screw, bolt, bracket ..."""
        return self.typed.what or ""

    @property
    def item(self) -> str:
        """What it is bought as."""
        return self.typed.item or ""

    @property
    def per_joint(self) -> int | None:
        """How many go into each joint."""
        return self.typed.per_joint

    @property
    def joints(self) -> int:
        """Joints of that kind."""
        return self.of.joints

    @cached_property
    def total(self) -> int:
        """How many the whole job takes."""
        return self.joints * (self.per_joint or 0)

    @property
    def pilot_bit(self) -> float | None:
        """Bit of the hole that it is driven into."""
        return self.typed.pilot_bit

    @property
    def pilot_depth(self) -> float | None:
        """How deep that hole is."""
        return self.typed.pilot_depth

    @property
    def hole(self) -> str:
        """Stopped or through."""
        return self.typed.hole or ""

    @property
    def counterbore_bit(self) -> float | None:
        """Bit of the wider hole for its head."""
        return self.typed.counterbore_bit

    @property
    def counterbore_depth(self) -> float | None:
        """How deep that one is."""
        return self.typed.counterbore_depth

    @property
    def driver(self) -> str:
        """What turns it."""
        return self.typed.driver or ""

    @property
    def notes(self) -> str:
        """What the crew should know."""
        return self.typed.notes or ""

    @property
    def item_row(self) -> int:
        """Row of the item on tab Bring along."""
        return self.packed.item_row

    @property
    def pilot_row(self) -> int | None:
        """Row of the pilot bit there."""
        return self.packed.pilot_row

    @property
    def counterbore_row(self) -> int | None:
        """Row of the wider bit there."""
        return self.packed.counterbore_row

    @property
    def driver_row(self) -> int | None:
        """Row of the driver there."""
        return self.packed.driver_row

    @property
    def status(self) -> str:
        """Asks for another run when its joints do, when runs are missing, or when it is packed otherwise."""
        packed = self.packed
        kept = (
            self.of.status != RUN_AGAIN
            and self.joints_in_runs == self.joints
            and self.item == packed.item
            and same(self.pilot_bit, packed.pilot_bit)
            and same(self.counterbore_bit, packed.counterbore_bit)
            and self.driver.casefold() == (packed.driver or "").casefold()
        )
        return "" if kept else RUN_AGAIN


def _typed(column: str) -> str:
    """Formula: a figure of tab Fastenings."""
    return "=" + look_up(f"fastenings_{column}", "fastening_row")


def _words(column: str) -> str:
    """Formula: a text of tab Fastenings."""
    return f'=INDEX({{fastenings_{column}}},{{fastening_row}})&""'


def _other_bit(name: str) -> str:
    """Formula part: whether a bit is another than the one that is listed to be brought along."""
    listed = f"INDEX({{bring_along_bit}},{{{name}_row}})"
    return f'IF({{{name}_row}}="",{{{name}_bit}}<>"",IF({{{name}_bit}}="",TRUE,ABS({{{name}_bit}}-{listed})>=0.000001))'


TAB = Tab(
    "fasteners",
    "Fastener schedule",
    Fastener,
    (
        Column("box", "Done", TICK),
        Column("assembly", "Assembly", MARK, _words("assembly"), width=11),
        Column("joint", "Joint", TEXT, _words("joint"), width=12),
        Column("what", "What", CHOICE, _words("what"), width=10),
        Column("item", "Item", MARK, _words("item"), width=16),
        Column("per_joint", "In each", COUNT, _typed("per_joint"), width=6),
        Column("joints", "Joints", COUNT, "=INDEX({joint_counts_joints},{fastening_row})", width=6),
        Column("total", "Total", COUNT, "={joints}*" + or_zero("{per_joint}"), width=6),
        Column("pilot_bit", "Pilot bit", TAPE, _typed("pilot_bit"), width=7),
        Column("pilot_depth", "Pilot depth", TAPE, _typed("pilot_depth"), width=7),
        Column("hole", "Hole", CHOICE, _words("hole"), width=8),
        Column("counterbore_bit", "Wider bit", TAPE, _typed("counterbore_bit"), width=7),
        Column("counterbore_depth", "Wider depth", TAPE, _typed("counterbore_depth"), width=7),
        Column("driver", "Driver", TEXT, _words("driver"), width=12),
        Column("notes", "Notes", TEXT, _words("notes"), width=30),
        Column("number", "Row", COUNT),
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("item_row", "Item row", COUNT),
        Column("pilot_row", "Pilot row", COUNT),
        Column("counterbore_row", "Wider bit row", COUNT),
        Column("driver_row", "Driver row", COUNT),
        Column(STATUS, "Status", VERDICT,
            ask_again(
                'INDEX({joint_counts_status},{fastening_row})="run again"',
                "SUMIFS({run_fasteners_joints},{run_fasteners_fastening_row},{fastening_row})<>{joints}",
                "{item}<>INDEX({bring_along_item},{item_row})",
                _other_bit("pilot"), _other_bit("counterbore"),
                'IF({driver_row}="",{driver}<>"",{driver}<>INDEX({bring_along_item},{driver_row}))',
            )),
    ),
    purpose="What goes into every joint, and how it is drilled. The wider hole (counterbore) takes the head. As typed "
    "on tab Fastenings: what the maker says goes first.",
    none="No fasteners are given: fill in tab Fastenings and run again",
    crew=True,
    paper_to="notes",
    key="number",
)  # fmt: skip
