"""Working mounts: how every new post meets the frame, and which posts get trim."""

from dataclasses import dataclass

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import CHOICE, COUNT, MARK, VERDICT
from railbook.geometry.posts import Post
from railbook.job.assemblies import MOUNTS


@dataclass(frozen=True)
class Mount:
    """The mount of one support.

    Attributes:
        post: its mark, at `post_row` of the Post schedule.
        of: that row.
    """

    post: str
    post_row: int
    of: Post

    @property
    def line_row(self) -> int:
        """Row of the run that sets its height, which counts it."""
        return self.of.line_row

    @property
    def mount(self) -> str:
        """How it meets the frame; empty for what is no new post."""
        return self.of.mount

    @property
    def number(self) -> int:
        """Place of its mount among the choices, from 1; 0 for what is no new post."""
        return MOUNTS.index(self.mount) + 1 if self.mount in MOUNTS else 0

    @property
    def trimmed(self) -> int:
        """1 for a post that gets a skirt and a cap: a new one, or one that stands and gets a sleeve."""
        return int(bool(self.of.cut or self.of.sleeved))

    @property
    def status(self) -> str:
        """Asks for another run when its post does."""
        return RUN_AGAIN if self.of.status == RUN_AGAIN else ""


def _of_post(column: str) -> str:
    """Formula part: a cell of the Post schedule."""
    return f"INDEX({{posts_{column}}},{{post_row}})"


def _number() -> str:
    """Formula part: the place of the mount among the choices."""
    formula = "0"
    for number, mount in reversed(list(enumerate(MOUNTS, start=1))):
        formula = f'IF({{mount}}="{mount}",{number},{formula})'
    return formula


TAB = Tab(
    "mounts",
    "Working mounts",
    Mount,
    (
        Column("post", "Post", MARK),
        Column("post_row", "Post row", COUNT),
        Column("line_row", "Run row", COUNT, f"={_of_post('line_row')}"),
        Column("mount", "Mount", CHOICE, f'={_of_post("mount")}&""'),
        Column("number", "Mount no.", COUNT, f"={_number()}"),
        Column("trimmed", "Gets trim", COUNT, f"=IF({_of_post('cut')}+{_of_post('sleeved')}>0,1,0)"),
        Column(STATUS, "Status", VERDICT, ask_again(f'{_of_post("status")}="run again"')),
    ),
    purpose="How every new post meets the frame. Mount no.: its place among the choices; 0 for what is no new post.",
    key="post",
)
