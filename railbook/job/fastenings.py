"""Fastenings: what holds the parts of each railing together; a row for each thing that goes into a joint.

Joints are counted from the layout; what goes into each one, and how it is drilled, is typed here.
"""

import re
from dataclasses import dataclass
from typing import NamedTuple

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import CHOICE, COUNT, INCH, MARK, MEASURED, TEXT
from railbook.basics.problem import Origin
from railbook.basics.units import Refusal, parse_length
from railbook.job.assemblies import MOUNTS

SCREW, BOLT, ANCHOR, NAIL = "Screw", "Bolt", "Anchor", "Nail"
BRACKET, CONNECTOR, HOLD_DOWN, BLOCKING = "Bracket", "Connector", "Hold-down", "Blocking"
WHATS = (SCREW, BOLT, ANCHOR, NAIL, BRACKET, CONNECTOR, HOLD_DOWN, BLOCKING)
STOPPED, THROUGH = "Stopped", "Through"

BALUSTER_END, BLOCK = "Baluster end", "Block"
RAIL_END, RAIL_TO_POST, RAIL_TO_WALL = "Rail end", "Rail to post", "Rail to wall"
CAP_TO_POST, CAP_TO_RAIL = "Cap to post", "Cap to rail"
HANDRAIL_BRACKET = "Handrail bracket"


def post_joint(mount: str) -> str:
    """The joint of a post with that mount.

    >>> post_joint("Inside rim")
    'Post inside rim'
    """
    return f"Post {mount[0].lower()}{mount[1:]}"


PLACES_TAB, HANDRAILS_TAB = "places", "handrails"


class Joint(NamedTuple):
    """A joint, and who counts it.

    Attributes:
        word: what is typed in column Joint.
        counted: what is counted, in words.
        tab: tab with a row for each run that has such joints.
        spaced: whether it is a place along a board, counted by the spacing of the row that names it.
    """

    word: str
    counted: str
    tab: str = PLACES_TAB
    spaced: bool = False


JOINTS = (
    *(Joint(post_joint(mount), f"new posts with mount {mount}") for mount in MOUNTS),
    Joint(BALUSTER_END, "two for each baluster"),
    Joint(RAIL_END, "four for each section: both ends of both rails"),
    Joint(RAIL_TO_POST, "rail ends at a post or a column"),
    Joint(RAIL_TO_WALL, "rail ends at a wall"),
    Joint(BLOCK, "support blocks"),
    Joint(CAP_TO_POST, "cap boards over each post that they lie on; none where posts stand proud"),
    Joint(CAP_TO_RAIL, "places along each section, at most Spacing apart", spaced=True),
    Joint(HANDRAIL_BRACKET, "brackets of runs of handrail alone", HANDRAILS_TAB),
)
JOINT_OF = {joint.word: joint for joint in JOINTS}


@dataclass(frozen=True)
class Fastening:
    """One thing that goes into every joint of a kind; lengths in the job's unit.

    Attributes:
        assembly: the railing that it is for.
        joint: one of JOINTS.
        what: one of WHATS.
        item: what it is bought as, a mark of tab Prices.
        per_joint: how many go into each joint.
        spacing: joints along a board: greatest distance between them.
        pilot_bit: bit of the hole that it is driven into; None: no hole.
        hole: whether the pilot hole stops in the wood or goes through.
        counterbore_bit: bit of the wider hole for its head; None: none.
        driver: what turns it.
        length: of the screw or bolt itself.
        gauge: how thick it is, as people say it: #8, 1/4, 4.5 mm, M12.
    """

    assembly: str | None = None
    joint: str | None = None
    what: str | None = None
    item: str | None = None
    per_joint: int | None = None
    spacing: float | None = None
    pilot_bit: float | None = None
    pilot_depth: float | None = None
    hole: str | None = None
    counterbore_bit: float | None = None
    counterbore_depth: float | None = None
    driver: str | None = None
    notes: str | None = None
    length: float | None = None
    gauge: str | None = None
    origin: Origin = Origin()

    @property
    def is_whole(self) -> bool:
        """Whether everything that it needs was typed and could be read."""
        needed = (self.assembly, self.joint, self.what, self.item, self.per_joint)
        return None not in needed and not self.origin.faulty

    def stands(self, column: str) -> str:
        """What stands in one of its cells, even where it could not be read."""
        return getattr(self, column) or self.origin.texts.get(column, "")


def diameter(gauge: str, unit: str) -> float | Refusal:
    """Outside of a thread [job unit].

    Args:
        gauge: a screw gauge with its sign, a thread such as M12, or a length.
        unit: the job's unit; a bare number is in it.

    The gauges of wood screws grow by 0.013 in from 0.060 in (ASME B18.6.1, from memory): #8 is 0.164.

    >>> round(diameter("#8", "in"), 3), diameter("1/4", "in"), diameter("M12", "mm"), diameter("4.5", "mm")
    (0.164, 0.25, 12.0, 4.5)
    """
    plain = gauge.replace(" ", "").upper()
    if unit == INCH and plain.isdigit():
        return Refusal("may be a gauge or inches", f"type #{plain}, or the inches with their mark")
    if numbered := re.fullmatch(r"#(\d{1,2})", plain):
        return parse_length(f"{0.060 + 0.013 * int(numbered[1]):.3f} in", unit)
    if metric := re.fullmatch(r"M(\d{1,2}(?:\.\d)?)", plain):
        return parse_length(f"{metric[1]} mm", unit)
    return parse_length(gauge, unit)


TAB = Tab(
    "fastenings",
    "Fastenings",
    Fastening,
    (
        asked(
            "assembly",
            "Assembly",
            MARK,
            "Which railing: a mark of tab Assemblies",
            listed_in="assemblies_assembly",
            needed=True,
            width=13,
        ),
        asked(
            "joint",
            "Joint",
            CHOICE,
            "Which parts meet; the joints are counted from the layout",
            choices=tuple(joint.word for joint in JOINTS),
            needed=True,
            width=16,
        ),
        asked("what", "What", CHOICE, "What goes into the joint", choices=WHATS, needed=True, width=11),
        asked("item", "Item", MARK, "The name that tab Prices uses: #8 X 3 SCREW", needed=True, width=21),
        asked("per_joint", "In each joint", COUNT, "How many go into each joint", needed=True),
        asked("spacing", "Spacing", MEASURED, "Cap to rail: greatest distance between two places along the rail"),
        asked("pilot_bit", "Pilot bit", MEASURED, "Diameter of the drill bit; blank: no pilot hole"),
        asked("pilot_depth", "Pilot depth", MEASURED, "How deep the pilot hole is; blank: no matter, or through"),
        asked(
            "hole",
            "Hole",
            CHOICE,
            "Whether the pilot hole stops in the wood or goes through",
            choices=(STOPPED, THROUGH),
            width=9,
        ),
        asked("counterbore_bit", "Counterbore bit", MEASURED, "Wider hole for the head; blank: none", width=12),
        asked("counterbore_depth", "Counterbore depth", MEASURED, "How deep that wider hole is", width=12),
        asked("driver", "Driver", TEXT, "What turns it: square #2, star 25, socket 3/4 in", width=16),
        asked("notes", "Notes", TEXT, "Anything the crew should know", width=40),
        asked("length", "Length", MEASURED, "Of the screw or bolt itself; blank: whether it fits is not looked at"),
        asked("gauge", "Gauge", TEXT, "How thick it is: #8, #10, 1/4 in, 4.5 mm, M12", width=8),
    ),
    purpose="What goes into every joint, and how it is drilled. Starting rows are common practice without a source: "
    "check each with the maker.",
    optional=True,
)
