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
from railbook.geometry.leaning import over, over_excel, rise_excel, swung, wide
from railbook.geometry.lifts import FROM, TO, half_of, plumb_of, rise_away
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

    @property
    def leaning(self) -> int:
        """1 where the support leans, so that heights here follow it: chosen."""
        return self.line.guard.leans(self.end)

    @cached_property
    def lean(self) -> float:
        """Lean of the support that heights follow: the one that rails are cut to [degrees]."""
        ends = self.line.lean
        return (ends.from_lean if self.is_from else ends.to_lean) if self.leaning else 0.0

    @cached_property
    def swung(self) -> float:
        """What a height over the foot of the support becomes where it meets the face."""
        return swung(rise=rise_away(self.line.measures, self.end), lean=self.lean)

    @cached_property
    def middle(self) -> float | None:
        """Underside of its cap where the middle of the support meets it, above the surface there."""
        return over(self.line.measures, self.end, self.lean).middle(self.line.guard.guard_height)

    @property
    def middle_excel(self) -> str:
        """Formula of the same."""
        return _MIDDLE[self.end, self.leaning]

    @cached_property
    def arm(self) -> Arm:
        """The same in plain numbers, as the post sees them: away from its middle at each height."""
        measures, assembly = self.line.measures, self.assembly
        return Arm(
            self.away, rise_away(measures, self.end) * self.swung, self.half * wide(self.lean), self.middle,
            assembly.cap_thickness or 0.0, plumb_of(measures) * self.swung, assembly.cap_width or 0.0,
            assembly.cap_overhang or 0.0, abs(math.tan(math.radians(self.skew))),
        )  # fmt: skip


JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "typed": Join(runs.TAB, "line.run_row", "line.measures.typed"),
    "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
}
_HEIGHT, _LIFT = "{line.guard_height}", "{line.END_lift}"
_LEANING = over_excel(_HEIGHT, _LIFT, "RISE", "{line.END_face}", "{line.END_lean}")
_MIDDLE = {
    (end, leaning): written(
        f'=IF(OR({_HEIGHT}="",{_LIFT}=""),"",{_LEANING if leaning else f"{_HEIGHT}+{_LIFT}"})'
        .replace("RISE", rise_excel("{line.tangent}", end)).replace("END", end), JOINS, {},
    )
    for end in (FROM, TO)
    for leaning in (0, 1)
}  # fmt: skip

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
