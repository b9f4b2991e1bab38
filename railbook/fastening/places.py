"""Working places: how many joints of each kind every run has.

A post that runs share is counted with the run that sets its height. A cap board lies on the posts
between its sections and on those at its ends, but not where it stops at a wall or butts against
another board; where posts stand proud it lies on none.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, MARK, VERDICT
from railbook.geometry.cells import of_assembly, of_measures
from railbook.geometry.joints import AT_WALL, BUTT
from railbook.geometry.lines import Line
from railbook.geometry.sections import Section
from railbook.job.assemblies import MOUNTS, Assembly
from railbook.job.fastenings import JOINTS
from railbook.job.supports import WALL, Support
from railbook.takeoff.mounts import Mount
from railbook.takeoff.section_counts import SectionCount

RAIL_ENDS = 4  # of one section: two rails, two ends
NO_CAP_LIES = (AT_WALL, BUTT)  # ends of a cap board that stop short of the post


class Tally(NamedTuple):
    """Whole counts of all runs, by row of the run.

    Attributes:
        posts: (row of the run, number of the mount) -> new posts.
        trimmed: row of the run -> posts that get trim.
        balusters: row of the run -> balusters; `blocks` its support blocks.
        stale: rows of runs with a post, section or layout that asks for another run.
    """

    posts: Mapping[tuple[int, int], int]
    trimmed: Mapping[int, int]
    balusters: Mapping[int, int]
    blocks: Mapping[int, int]
    stale: frozenset[int]


def tally(mounts: Iterable[Mount], counts: Iterable[SectionCount], sections: Iterable[Section]) -> Tally:
    """Count once for all runs."""
    mounts, counts = tuple(mounts), tuple(counts)
    balusters: Counter[int] = Counter()
    blocks: Counter[int] = Counter()
    for each in counts:
        balusters[each.line_row] += each.balusters
    for section in sections:
        blocks[section.line_row] += section.blocks
    return Tally(
        Counter((mount.line_row, mount.number) for mount in mounts),
        Counter(mount.line_row for mount in mounts if mount.trimmed),
        balusters,
        blocks,
        frozenset(
            (
                *(mount.line_row for mount in mounts if mount.status == RUN_AGAIN),
                *(each.line_row for each in counts if each.status == RUN_AGAIN),
            )
        ),
    )


@dataclass(frozen=True)
class Places:
    """The joints of one run, at `line_row` of the working tabs."""

    run: str
    line_row: int
    line: Line
    tally: Tally

    @property
    def assembly(self) -> Assembly:
        """Its assembly."""
        return self.line.measures.assembly

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @property
    def sections(self) -> int:
        """Sections, as chosen."""
        return self.line.sections

    @property
    def walls(self) -> int:
        """How many of its two supports are walls."""
        measures = self.line.measures
        return sum(_is_wall(support) for support in (measures.from_typed, measures.to_typed))

    @property
    def caps_at_ends(self) -> int:
        """How many of its two end posts its cap board lies on."""
        ends = (self.line.joints.from_joint, self.line.joints.to_joint)
        return sum(end not in NO_CAP_LIES for end in ends)

    def _posts(self, number: int) -> int:
        return self.tally.posts.get((self.line_row, number), 0)

    @property
    def post_on_surface(self) -> int:
        """New posts on the surface."""
        return self._posts(1)

    @property
    def post_inside_rim(self) -> int:
        """New posts inside the rim."""
        return self._posts(2)

    @property
    def post_on_fascia(self) -> int:
        """New posts on the fascia."""
        return self._posts(3)

    @property
    def post_on_stringer(self) -> int:
        """New posts on a stringer."""
        return self._posts(4)

    @property
    def post_on_concrete(self) -> int:
        """New posts on concrete."""
        return self._posts(5)

    @property
    def trimmed(self) -> int:
        """Posts that get a skirt and a cap."""
        return self.tally.trimmed.get(self.line_row, 0)

    @cached_property
    def baluster_end(self) -> int:
        """Two for each baluster."""
        return 2 * self.tally.balusters.get(self.line_row, 0)

    @property
    def rail_end(self) -> int:
        """Both ends of both rails of every section."""
        return RAIL_ENDS * self.sections

    @property
    def rail_to_wall(self) -> int:
        """Rail ends at a wall."""
        return RAIL_ENDS // 2 * self.walls

    @property
    def rail_to_post(self) -> int:
        """Rail ends at a post or a column."""
        return self.rail_end - self.rail_to_wall

    @property
    def block(self) -> int:
        """Support blocks."""
        return self.tally.blocks.get(self.line_row, 0)

    @property
    def cap_to_post(self) -> int:
        """Posts that its cap board lies on."""
        if not self.assembly.cap_thickness or self.assembly.post_proud is not None:
            return 0
        return self.sections - 1 + self.caps_at_ends

    @property
    def status(self) -> str:
        """Asks for another run when its run does, or a post, section or layout that is counted here."""
        return RUN_AGAIN if self.line.status == RUN_AGAIN or self.line_row in self.tally.stale else ""


def _is_wall(support: Support | None) -> bool:
    """Whether a support is a wall."""
    return support is not None and support.kind == WALL


def _wall(end: str) -> str:
    """Formula part: 1 where the support at that end is a wall."""
    row = of_measures(f"{end}_row")
    return f'IF({row}=0,0,IF(INDEX({{supports_kind}},{row})="Wall",1,0))'


def _cap(end: str) -> str:
    """Formula part: 1 where the cap board lies on the post at that end."""
    joint = f"INDEX({{joints_{end}_joint}},{{line_row}})"
    return f'IF(OR({joint}="Wall",{joint}="Butt"),0,1)'


def _stale(tab: str) -> str:
    """Formula part: whether a row of that tab which is counted here asks for another run."""
    return f'COUNTIFS({{{tab}_line_row}},{{line_row}},{{{tab}_status}},"run again")>0'


TAB = Tab(
    "places",
    "Working places",
    Places,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Run row", COUNT),
        Column("assembly_row", "Assembly row", COUNT, f"={of_measures('assembly_row')}"),
        Column("sections", "Sections", COUNT, "=INDEX({lines_sections},{line_row})"),
        Column("walls", "Walls", COUNT, f"={_wall('from')}+{_wall('to')}"),
        Column("caps_at_ends", "Cap on end posts", COUNT, f"={_cap('from')}+{_cap('to')}"),
        *(
            Column(joint.column, joint.word, COUNT,
                f"=COUNTIFS({{mounts_line_row}},{{line_row}},{{mounts_number}},{number})")
            for number, joint in enumerate(JOINTS[: len(MOUNTS)], start=1)
        ),
        Column("trimmed", "Posts with trim", COUNT, "=SUMIFS({mounts_trimmed},{mounts_line_row},{line_row})"),
        Column("baluster_end", "Baluster end", COUNT,
            "=2*SUMIFS({section_counts_balusters},{section_counts_line_row},{line_row})"),
        Column("rail_end", "Rail end", COUNT, f"={RAIL_ENDS}*{{sections}}"),
        Column("rail_to_post", "Rail to post", COUNT, "={rail_end}-{rail_to_wall}"),
        Column("rail_to_wall", "Rail to wall", COUNT, f"={RAIL_ENDS // 2}*{{walls}}"),
        Column("block", "Block", COUNT, "=SUMIFS({sections_blocks},{sections_line_row},{line_row})"),
        Column("cap_to_post", "Cap to post", COUNT,
            f'=IF(OR({or_zero(of_assembly("cap_thickness"))}=0,{of_assembly("post_proud")}<>""),0,{{sections}}-1+{{caps_at_ends}})'),
        Column(STATUS, "Status", VERDICT,
            ask_again('INDEX({lines_status},{line_row})="run again"', _stale("mounts"), _stale("section_counts"))),
    ),
    purpose="How many joints of each kind every run has. A shared post counts with the run that sets its height.",
    key="run",
)  # fmt: skip
