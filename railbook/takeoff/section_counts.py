"""Working sections: every section, how many balusters it has, and the places along it.

Balusters come from the layout that it shares with others. Layouts look at sections, so a section's own `status` rests
on its run alone; `count_status` rests on the layout too. A thing that is fastened at a spacing of its own, such as a
cap board, is held by posts or mitres at both ends; the places between them are at most the spacing apart.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, Column, Tab, ask_again
from railbook.basics.joins import Join, through
from railbook.basics.kinds import COUNT, VERDICT
from railbook.basics.rounding import ceiling_excel
from railbook.geometry import sections
from railbook.geometry.rails import places_between
from railbook.geometry.sections import Section
from railbook.job.fastenings import Fastening
from railbook.takeoff import balusters
from railbook.takeoff.balusters import BalusterLayout

AT_A_LOOSE_END = 2  # places within 3 in (75 mm) of a cap's end that no post holds: common practice, no source


@dataclass(frozen=True)
class SectionCount:
    """One section and what is counted along it.

    Attributes:
        of: the section, at `section_row` of this tab.
        layout: its balusters, at `layout_row` of Baluster layout; None where the section that they were laid out for
            is gone.
        spaced: rows of tab Fastenings for what is fastened along its top rail, then blanks up to the room on the tab.
        typed: what stands there.
        loose: ends of its cap that no screw into a post holds: at a wall, a face, the edge of another cap.
    """

    of: Section = field(repr=False)
    section_row: int
    layout: BalusterLayout | None = field(repr=False)
    layout_row: int | None
    spaced: tuple[int | None, ...]
    typed: tuple[Fastening | None, ...]
    loose: int

    @property
    def count_status(self) -> str:
        """Asks for another run when the section or its layout does."""
        layout = RUN_AGAIN if self.layout is None else self.layout.status
        return RUN_AGAIN if RUN_AGAIN in (self.of.status, layout) else ""

    @cached_property
    def along(self) -> tuple[int, ...]:
        """Places along the top rail for each of those rows; none without a cap board, or without a spacing."""
        return tuple(self._places(None if each is None else each.spacing) for each in self.typed)

    def _places(self, spacing: float | None) -> int:
        if not self.of.assembly.cap_thickness or spacing is None:
            return 0
        return places_between(edge=self.of.top_edge, spacing=spacing) + AT_A_LOOSE_END * self.loose

    @property
    def places(self) -> Iterator[tuple[int, int]]:
        """Each of those rows with its places."""
        return ((row, places) for row, places in zip(self.spaced, self.along, strict=True) if row is not None)


TAB = Tab(
    "sections",
    "Working sections",
    SectionCount,
    (
        Column("layout_row", "Layout row", COUNT),
        Column("balusters", "Balusters", COUNT, of="layout.count", width=10),
        Column(
            "count_status", "Count", VERDICT,
            ask_again('{layout_row}=""', '{status}="run again"', '{layout.status}="run again"'),
        ),
        Column("loose", "Cap ends off posts", COUNT),
        Column("spaced", "Fastening row", COUNT, repeats=True, width=10),
        Column(
            "along", "Places along it", COUNT,
            '=IF({spaced}="",0,IF(AND({cap}>0,ISNUMBER({apart})),MAX(0,'
            + ceiling_excel("{top_edge}/{apart}") + f"-1)+{AT_A_LOOSE_END}*{{loose}},0))",
            repeats=True,
        ),
    ),
    purpose="Every section: its clear, its rails, its support blocks, its balusters, and the places for what is "
    "fastened along it at a spacing, such as a cap board. Count: whether the balusters are up to date.",
    key="section",
    parts={"of": sections.PART},
    joins={
        **through("of", sections.JOINS),
        "layout": Join(balusters.TAB, "layout_row", "layout", maybe=True),
    },
    terms={"cap": or_zero("{assembly.cap_thickness}"), "apart": "INDEX({fastenings_spacing},{spaced})"},
)  # fmt: skip
