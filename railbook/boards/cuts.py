"""Working cuts: every piece of every board of the cutting plan, in the order they are cut."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, Column, Tab
from railbook.basics.kinds import COUNT, FACTOR, LENGTH
from railbook.boards.pieces import Planned
from railbook.job.settings import Settings


class Lying(NamedTuple):
    """One piece on a board, as chosen.

    Attributes:
        planned_row: its row of tab Pieces planned.
        turned: 1 when its upper or right end lies to the left.
        over: -1 when it is rolled over, so that its leans change sides; else 1.
    """

    planned_row: int
    turned: int = 0
    over: int = 1


@dataclass(frozen=True)
class Cut:
    """One piece on a board, or on several that are cut alike; lengths in the job's unit.

    Attributes:
        row: its row here; `before` that of the piece on its left, 0 for the first.
        plan_row: its board's row of the cutting plan.
        boards: how many boards are cut so.
        board_depth: depth of cut of the board.
    """

    row: int
    plan_row: int
    boards: int
    board_depth: float
    lying: Lying
    piece: Planned
    left_of: "Cut | None"
    settings: Settings

    @property
    def planned_row(self) -> int:
        """Row of tab Pieces planned."""
        return self.lying.planned_row

    @property
    def piece_row(self) -> int:
        """Row of the cut list."""
        return self.piece.piece_row

    @property
    def before(self) -> int:
        """Row of the piece on its left; 0 at the left end of the board."""
        return self.left_of.row if self.left_of else 0

    @property
    def turned(self) -> int:
        """1 when its upper or right end lies to the left."""
        return self.lying.turned

    @property
    def over(self) -> int:
        """-1 when it is rolled over."""
        return self.lying.over

    @property
    def length(self) -> float:
        """Its mid-line [job unit]."""
        return self.piece.mid or 0.0

    @cached_property
    def left(self) -> float:
        """Lean of the left end as it lies."""
        return self.over * (self.piece.right if self.turned else self.piece.left)

    @cached_property
    def right(self) -> float:
        """Lean of the right end as it lies."""
        return self.over * (self.piece.left if self.turned else self.piece.right)

    @cached_property
    def gap(self) -> float:
        """Along the mid-line from the piece on its left, or from the trim: kerf and wedge [job unit]."""
        if self.left_of is None:
            return self.board_depth / 2 * abs(self.left)
        other = self.left_of.right
        wider = max(math.hypot(1, other), math.hypot(1, self.left))
        return self.settings.kerf * wider + self.board_depth / 2 * abs(other - self.left)

    @property
    def width(self) -> float:
        """What it takes up of the board: its share by use [job unit]."""
        return self.length + self.gap

    @property
    def stale(self) -> int:
        """1 when its piece asks for another run."""
        return int(self.piece.status == RUN_AGAIN)


_BEFORE = or_zero("INDEX({cuts_right},{before})")
_DEPTH = "INDEX({cutting_plan_depth},{plan_row})"


def _end(straight: str, turned: str) -> str:
    """Formula: lean of one end as the piece lies."""
    left, right = (f"INDEX({{planned_{end}}},{{planned_row}})" for end in (straight, turned))
    return f"={{over}}*IF({{turned}}=1,{right},{left})"


TAB = Tab(
    "cuts",
    "Working cuts",
    Cut,
    (
        Column("row", "Row", COUNT),
        Column("plan_row", "Board of plan", COUNT),
        Column("planned_row", "Piece planned", COUNT),
        Column("piece_row", "Cut list no.", COUNT, "=INDEX({planned_piece_row},{planned_row})"),
        Column("before", "Row before", COUNT),
        Column("turned", "Turned", COUNT),
        Column("over", "Rolled over", COUNT),
        Column("length", "Mid-line", LENGTH, "=" + or_zero("INDEX({planned_mid},{planned_row})")),
        Column("left", "Left lean", FACTOR, _end("left", "right")),
        Column("right", "Right lean", FACTOR, _end("right", "left")),
        Column("gap", "Gap before", LENGTH,
            f"=IF({{before}}=0,{_DEPTH}/2*ABS({{left}}),"
            f"INDEX({{cutting_plan_kerf}},{{plan_row}})*MAX(SQRT(1+{_BEFORE}*{_BEFORE}),SQRT(1+{{left}}*{{left}}))"
            f"+{_DEPTH}/2*ABS({_BEFORE}-{{left}}))"),
        Column("width", "Taken up", LENGTH, "={length}+{gap}"),
        Column("boards", "Boards", COUNT, "=INDEX({cutting_plan_boards},{plan_row})"),
        Column("stale", "Out of date", COUNT, '=IF(INDEX({planned_status},{planned_row})="run again",1,0)'),
    ),
    purpose="The cutting plan piece by piece, from the left end of each board.",
    none="No boards are planned.",
    key="row",
)  # fmt: skip
