"""Rails as balusters meet them: the clear at each of the two, and where a tape is held on one that ends askew."""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.joins import Join, written
from railbook.basics.rounding import same
from railbook.geometry import lines, sections
from railbook.geometry.lines import Line
from railbook.geometry.sections import Section
from railbook.job import assemblies

TOP, BOTTOM, BOTH = "Top", "Bottom", "Both"

JOINS = {
    "section": Join(sections.PART, "section_row", "section"),
    "line": Join(lines.TAB, "line_row", "line"),
    "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
}
_IN_SECTION = {
    (top, figure): written(f"+{{section.{'top' if top else 'bottom'}_{figure}}}", JOINS, {})
    for top in (True, False)
    for figure in ("corner", "across")
}
_WIDTHS_APART = ",".join(
    written(f"ABS({{section.top_{figure}}}-{{section.bottom_{figure}}})>=0.000001", JOINS, {})
    for figure in ("corner", "across")
)


def widest_clear(section: Section) -> float:
    """What the balusters of a section fill: its clear at the bottom rail and what either end has more at the top.

    Where one end has more and the other less, that is more than the clear at either rail.
    """
    return section.bottom_meets + max(0.0, section.lower_more) + max(0.0, section.upper_more)


def meets_alike(section: Section) -> bool:
    """Whether both rails of a section meet the balusters alike, so that one row of marks serves both."""
    clears = same(section.bottom_meets, section.top_meets) and same(section.lower_more, 0.0)
    return (
        clears and same(section.top_corner, section.bottom_corner) and same(section.top_across, section.bottom_across)
    )


@dataclass(frozen=True)
class RailEnds:
    """One rail of a section, or both where they are alike; lengths in the job's unit.

    Attributes:
        rail: which rail.
        section: the section, or the first of those that are cut alike.
    """

    rail: str
    section: Section

    @property
    def line(self) -> Line:
        """Its run."""
        return self.section.line

    @cached_property
    def clear(self) -> float:
        """Level distance between the supports where the balusters meet this rail."""
        return self.section.top_meets if self.rail == TOP else self.section.bottom_meets

    @cached_property
    def widest_clear(self) -> float:
        """Level, from the lower face where it stands back to the upper one where that does, at whichever rail."""
        return widest_clear(self.section)

    @property
    def corner(self) -> float:
        """Level, from the middle of the rail's lower end to its corner on the walking side, where it ends askew."""
        return self.section.top_corner if self.rail == TOP else self.section.bottom_corner

    @property
    def across(self) -> float:
        """What the walking side of the rail is longer than its middle, where an end is askew."""
        return self.section.top_across if self.rail == TOP else self.section.bottom_across

    @property
    def corner_excel(self) -> str:
        """Formula part of `corner`; nothing where the lower end is square."""
        return _IN_SECTION[self.rail == TOP, "corner"] if self.section.lower_side else ""

    @property
    def across_excel(self) -> str:
        """Formula part of `across`; nothing where both ends are square."""
        return _IN_SECTION[self.rail == TOP, "across"] if self.section.is_askew else ""

    @property
    def widths_apart_excel(self) -> str:
        """Formula part: whether the rails end askew and are not equally wide; nothing where they end square."""
        return f",{_WIDTHS_APART}" if self.section.is_askew else ""
