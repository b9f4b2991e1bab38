"""Arrivals: every run at each of its two supports, with the height of its cap there."""

import math
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join, written
from railbook.basics.kinds import COUNT, LENGTH, MARK, TEXT
from railbook.geometry import lines
from railbook.geometry.joints import Arm
from railbook.geometry.lifts import FROM, TO, half_of, lift_of, plumb_of, rise_away
from railbook.geometry.lines import Line
from railbook.geometry.turned_posts import TurnedPost
from railbook.job import assemblies, runs
from railbook.job.assemblies import Assembly
from railbook.job.supports import Support


@dataclass(frozen=True)
class Arrival:
    """One run at one of its two supports; lengths in the job's unit.

    Attributes:
        line: the run, at `line_row` of Working runs.
        end: from or to.
    """

    line: Line = field(repr=False)
    end: str

    @property
    def run(self) -> str:
        """Its mark."""
        return self.line.run

    @property
    def line_row(self) -> int:
        """Row of the run on Working runs."""
        return self.line.line_row

    @property
    def is_from(self) -> bool:
        """Whether it is the From end, on a rake the lower one."""
        return self.end == FROM

    @property
    def assembly(self) -> Assembly:
        """Assembly of the run."""
        return self.line.measures.assembly

    @property
    def support(self) -> str:
        """Mark of the support."""
        typed = self.line.measures.typed
        return (typed.from_support if self.is_from else typed.to_support) or ""

    @property
    def typed(self) -> Support | None:
        """The support as it was typed; None for a new post of the run's assembly."""
        measures = self.line.measures
        return measures.from_typed if self.is_from else measures.to_typed

    @property
    def away(self) -> float | None:
        """Bearing in which the run leaves the support [degrees]; None where it was not taken."""
        direction = self.line.measures.typed.direction
        return when_known(lambda bearing: bearing if self.is_from else bearing + 180.0, direction)

    @property
    def side(self) -> int:
        """To which side its run is askew there, as found; 0: it meets the face square."""
        measures = self.line.measures
        return measures.from_side if self.is_from else measures.to_side

    @property
    def turned_post(self) -> TurnedPost | None:
        """How the support is turned; None where nothing asks."""
        measures = self.line.measures
        return measures.from_turned if self.is_from else measures.to_turned

    @property
    def skew(self) -> float:
        """How far its run is turned off the face, clockwise positive [degrees]."""
        measures = self.line.measures
        return measures.from_skew if self.is_from else measures.to_skew

    @cached_property
    def half(self) -> float:
        """From the middle of the support to its face."""
        return half_of(self.line.measures, self.end)

    @cached_property
    def middle(self) -> float | None:
        """Underside of its cap over the middle of the support, above the surface there."""
        lift = lift_of(self.line.measures, self.end)
        return when_known(lambda height, gained: height + gained, self.line.guard.guard_height, lift)

    @property
    def middle_excel(self) -> str:
        """Formula of the same."""
        return _MIDDLE[self.end]

    @cached_property
    def arm(self) -> Arm:
        """The same in plain numbers."""
        measures, assembly = self.line.measures, self.assembly
        return Arm(
            self.away, rise_away(measures, self.end), self.half, self.middle, assembly.cap_thickness or 0.0,
            plumb_of(measures), assembly.cap_width or 0.0, assembly.cap_overhang or 0.0,
            abs(math.tan(math.radians(self.skew))),
        )  # fmt: skip


JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "typed": Join(runs.TAB, "line.run_row", "line.measures.typed"),
    "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
}
_MIDDLE = {
    end: written(
        f'=IF(OR({{line.guard_height}}="",{{line.{end}_lift}}=""),"",{{line.guard_height}}+{{line.{end}_lift}})',
        JOINS,
        {},
    )
    for end in (FROM, TO)
}

PART = Part(
    "cap_ends",
    Arrival,
    (
        Column("run", "Run", MARK),
        Column("end", "End", TEXT, width=6),
        Column("line_row", "Run row", COUNT),
        Column("middle", "Underside over the middle", LENGTH, "[middle_excel]"),
    ),
    joins=JOINS,
)
