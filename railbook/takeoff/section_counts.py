"""Working counts: how many balusters every section has, from the layout that it shares with others."""

from dataclasses import dataclass

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, MARK, VERDICT
from railbook.geometry.sections import Section
from railbook.takeoff.balusters import BalusterLayout


@dataclass(frozen=True)
class SectionCount:
    """One section, at `section_row` of the working sections, with its layout at `layout_row`."""

    section: str
    section_row: int
    layout_row: int
    of: Section
    layout: BalusterLayout

    @property
    def line_row(self) -> int:
        """Row of its run on the working tabs."""
        return self.of.line_row

    @property
    def balusters(self) -> int:
        """Balusters of the section."""
        return self.layout.count

    @property
    def status(self) -> str:
        """Asks for another run when its section or its layout does."""
        return RUN_AGAIN if RUN_AGAIN in (self.of.status, self.layout.status) else ""


TAB = Tab(
    "section_counts",
    "Working counts",
    SectionCount,
    (
        Column("section", "Section", MARK),
        Column("section_row", "Section row", COUNT),
        Column("layout_row", "Layout row", COUNT),
        Column("line_row", "Run row", COUNT, "=INDEX({sections_line_row},{section_row})"),
        Column("balusters", "Balusters", COUNT, "=INDEX({baluster_layout_count},{layout_row})", width=10),
        Column(
            STATUS,
            "Status",
            VERDICT,
            ask_again(
                'INDEX({sections_status},{section_row})="run again"',
                'INDEX({baluster_layout_status},{layout_row})="run again"',
            ),
        ),
    ),
    purpose="How many balusters every section has, from the layout that it shares with others.",
    key="section",
)
