"""Working places: what of every run's joints must be counted run by run.

A post that runs share is counted with the run that sets its height. A cap board lies on the posts
between its sections and on those at its ends, but not where it stops at a wall, at the face of a post or at the edge
of another board; where posts stand proud it lies on none.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, MARK
from railbook.geometry import lines
from railbook.geometry.caps import Cap
from railbook.geometry.joints import AT_WALL, CLASH, DIES, EDGE, FLUSH, PROUD, REFUSED, STEP
from railbook.geometry.lines import Line
from railbook.geometry.posts import Post
from railbook.job import assemblies, supports
from railbook.job.assemblies import MOUNTS, Assembly
from railbook.job.fastenings import (
    BALUSTER_END,
    BLOCK,
    CAP_TO_POST,
    RAIL_END,
    RAIL_TO_POST,
    RAIL_TO_WALL,
    post_joint,
)
from railbook.job.supports import WALL, Support
from railbook.takeoff.section_counts import SectionCount

RAIL_ENDS = 4  # of one section: two rails, two ends
NO_CAP_LIES = (AT_WALL, FLUSH, EDGE, DIES, STEP, PROUD, CLASH, REFUSED)  # ends of a cap that are not over the post


class Tally(NamedTuple):
    """Whole counts of all runs, by row of the run.

    Attributes:
        posts: (row of the run, mount) -> new posts.
        trimmed: row of the run -> posts that get trim.
        balusters: row of the run -> balusters; `blocks` its support blocks.
    """

    posts: Mapping[tuple[int, str], int]
    trimmed: Mapping[int, int]
    balusters: Mapping[int, int]
    blocks: Mapping[int, int]


def tally(posts: Sequence[Post], sections: Iterable[SectionCount]) -> Tally:
    """Count once for all runs."""
    balusters: Counter[int] = Counter()
    blocks: Counter[int] = Counter()
    for each in sections:
        balusters[each.of.line_row] += 0 if each.layout is None else each.layout.count
        blocks[each.of.line_row] += each.of.blocks
    return Tally(
        Counter((post.line_row, post.mount) for post in posts),
        Counter(post.line_row for post in posts if post.cut or post.sleeved),
        balusters,
        blocks,
    )


@dataclass(frozen=True)
class Places:
    """The joints of one run, at `line_row` of Working runs and of this tab."""

    run: str
    line_row: int
    line: Line
    cap: Cap = field(repr=False)
    tally: Tally = field(repr=False)

    @property
    def assembly(self) -> Assembly:
        """Its assembly."""
        return self.line.measures.assembly

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @cached_property
    def walls(self) -> int:
        """How many of its two supports are walls."""
        measured = self.line.measures
        return sum(_is_wall(support) for support in (measured.from_typed, measured.to_typed))

    @property
    def trimmed(self) -> int:
        """Posts that get a skirt and a cap: new ones, and those that stand and get a sleeve."""
        return self.tally.trimmed.get(self.line_row, 0)

    @cached_property
    def baluster_end(self) -> int:
        """Two for each baluster."""
        return 2 * self.tally.balusters.get(self.line_row, 0)

    @cached_property
    def cap_to_post(self) -> int:
        """Posts that its cap board lies on."""
        if not self.assembly.cap_thickness or self.assembly.post_proud is not None:
            return 0
        return self.line.sections - 1 + self.ends_over

    @property
    def ends_over(self) -> int:
        """Its ends that lie over a post."""
        return sum(end.kind not in NO_CAP_LIES for end in (self.cap.from_end, self.cap.to_end))

    @cached_property
    def joints(self) -> Mapping[str, int]:
        """Joint -> how many it has; without those along a board, which go by a spacing of their own."""
        rail_ends, at_walls = RAIL_ENDS * self.line.sections, RAIL_ENDS // 2 * self.walls
        return {
            **{post_joint(mount): self.tally.posts.get((self.line_row, mount), 0) for mount in MOUNTS},
            BALUSTER_END: self.baluster_end,
            RAIL_END: rail_ends,
            RAIL_TO_POST: rail_ends - at_walls,
            RAIL_TO_WALL: at_walls,
            BLOCK: self.tally.blocks.get(self.line_row, 0),
            CAP_TO_POST: self.cap_to_post,
        }


def _is_wall(support: Support | None) -> bool:
    """Whether a support is a wall."""
    return support is not None and support.kind == WALL


_WALL = 'IF({line.END_row}=0,0,IF({END_support.kind}="Wall",1,0))'


def _ends(formula: str) -> str:
    """Formula part: the sum over both ends of the run."""
    return "+".join(formula.replace("END", end) for end in ("from", "to"))


TAB = Tab(
    "places",
    "Working places",
    Places,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Run row", COUNT),
        Column("walls", "Walls", COUNT, f"={_ends(_WALL)}"),
        Column("trimmed", "Posts with trim", COUNT,
            "=COUNTIFS({posts_line_row},{line_row},{posts_cut},1)"
            "+COUNTIFS({posts_line_row},{line_row},{posts_cut},0,{posts_sleeved},1)"),
        Column("baluster_end", "Baluster ends", COUNT,
            "=2*SUMIFS({sections_balusters},{sections_line_row},{line_row})"),
        Column("cap_to_post", "Cap to post", COUNT,
            f'=IF(OR({or_zero("{assembly.cap_thickness}")}=0,{{assembly.post_proud}}<>""),0,'
            "{line.sections}-1+[ends_over])"),
    ),
    purpose="What of every run's joints is counted run by run. A shared post counts with the run that sets its height.",
    key="run",
    joins={
        "line": Join(lines.TAB, "line_row", "line"),
        "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
        "from_support": Join(supports.TAB, "line.from_row", "line.measures.from_typed", maybe=True),
        "to_support": Join(supports.TAB, "line.to_row", "line.measures.to_typed", maybe=True),
    },
)  # fmt: skip
