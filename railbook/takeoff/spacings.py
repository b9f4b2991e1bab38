"""Working spacings: places along every section for what is fastened at a spacing of its own, such as a cap board.

Both ends of the board are held by the posts or the mitres; the places between them are at most the spacing apart.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again, look_up
from railbook.basics.kinds import COUNT, LENGTH, MARK, VERDICT
from railbook.basics.rounding import ceiling_excel
from railbook.geometry.rails import places_between
from railbook.geometry.sections import Section
from railbook.job.fastenings import Fastening


@dataclass(frozen=True)
class Spacing:
    """One row of tab Fastenings along one section; lengths in the job's unit.

    Attributes:
        section: its mark, at `section_row` of the working sections.
        fastening_row: row on tab Fastenings.
        of: the section.
        typed: that row.
    """

    section: str
    section_row: int
    fastening_row: int
    of: Section
    typed: Fastening

    @property
    def line_row(self) -> int:
        """Row of its run on the working tabs."""
        return self.of.line_row

    @property
    def spacing(self) -> float | None:
        """Greatest distance between two places."""
        return self.typed.spacing

    @cached_property
    def places(self) -> int:
        """Places along the top rail; none without a cap board, or without a spacing."""
        if not self.of.assembly.cap_thickness or self.spacing is None:
            return 0
        return places_between(edge=self.of.top_edge, spacing=self.spacing)

    @property
    def status(self) -> str:
        """Asks for another run when its section does."""
        return RUN_AGAIN if self.of.status == RUN_AGAIN else ""


_CAP = or_zero("INDEX({assemblies_cap_thickness},INDEX({sections_assembly_row},{section_row}))")
_PLACES = ceiling_excel("INDEX({sections_top_edge},{section_row})/{spacing}")

TAB = Tab(
    "spacings",
    "Working spacings",
    Spacing,
    (
        Column("section", "Section", MARK),
        Column("section_row", "Section row", COUNT),
        Column("fastening_row", "Fastening row", COUNT, width=10),
        Column("line_row", "Run row", COUNT, "=INDEX({sections_line_row},{section_row})"),
        Column("spacing", "Spacing", LENGTH, "=" + look_up("fastenings_spacing", "fastening_row")),
        Column("places", "Places", COUNT, f'=IF(OR({{spacing}}="",{_CAP}=0),0,MAX(0,{_PLACES}-1))'),
        Column(STATUS, "Status", VERDICT, ask_again('INDEX({sections_status},{section_row})="run again"')),
    ),
    purpose="Places along every section for what is fastened at a spacing of its own, such as a cap board.",
    key="section",
)
