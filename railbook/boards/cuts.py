"""Working cuts: every piece of every board of the cutting plan, in the order they are cut, and what is paid for it.

A board is charged whole: its pieces share its price, its trims and its offcut by what each takes up of it.
"""

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join, Later
from railbook.basics.kinds import COUNT, FACTOR, LENGTH
from railbook.boards import pieces
from railbook.boards.pieces import Planned
from railbook.job.settings import USUAL_KERF, Settings, or_usual


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
        row: its row here.
        plan_row: its board's row of the cutting plan.
        depth: depth of cut of the board.
        left_of: the piece on its left; None at the left end of the board.
    """

    row: int
    plan_row: int
    depth: float
    lying: Lying
    piece: Planned = field(repr=False)
    left_of: "Cut | None" = field(repr=False)
    settings: Settings = field(repr=False)

    @property
    def before(self) -> int:
        """Row of the piece on its left; 0 at the left end of the board."""
        return self.left_of.row if self.left_of else 0

    @cached_property
    def left(self) -> float:
        """Lean of the left end as it lies."""
        return self.lying.over * (self.piece.right if self.lying.turned else self.piece.left)

    @cached_property
    def right(self) -> float:
        """Lean of the right end as it lies."""
        return self.lying.over * (self.piece.left if self.lying.turned else self.piece.right)

    @cached_property
    def gap(self) -> float:
        """Along the mid-line from the piece on its left, or from the trim: kerf and wedge [job unit]."""
        if self.left_of is None:
            return self.depth / 2 * abs(self.left)
        other = self.left_of.right
        wider = max(math.hypot(1, other), math.hypot(1, self.left))
        return self.settings.kerf * wider + self.depth / 2 * abs(other - self.left)

    @property
    def start(self) -> float:
        """Where the piece on its left ends, along the mid-line from the trim [job unit]."""
        return self.left_of.end if self.left_of else 0.0

    @cached_property
    def end(self) -> float:
        """Where it ends itself [job unit]."""
        return self.start + self.gap + (self.piece.mid or 0.0)


def _lean(straight: str, turned: str) -> str:
    """Formula: lean of one end as the piece lies."""
    return "={over}*IF({turned}=1,{piece." + turned + "},{piece." + straight + "})"


PART = Part(
    "cuts",
    Cut,
    (
        Column("row", "Row", COUNT),
        Column("plan_row", "Board of plan", COUNT),
        Column("planned_row", "Piece planned", COUNT, path="lying.planned_row"),
        Column("piece_row", "Cut list no.", COUNT, path="piece.of.piece_row"),
        Column("before", "Row before", COUNT),
        Column("turned", "Turned", COUNT, path="lying.turned"),
        Column("over", "Rolled over", COUNT, path="lying.over"),
        Column("depth", "Depth of cut", LENGTH),
        Column("left", "Left lean", FACTOR, _lean("left", "right")),
        Column("right", "Right lean", FACTOR, _lean("right", "left")),
        Column(
            "end", "Ends at", LENGTH,
            "=IF({before}=0,{depth}/2*ABS({left}),{left_of.end}"
            "+{kerf}*MAX(SQRT(1+{left_of.right}^2),SQRT(1+{left}^2))+{depth}/2*ABS({left_of.right}-{left}))"
            "+" + or_zero("{piece.mid}"),
        ),
    ),
    joins={
        "piece": Join(pieces.TAB, "planned_row", "piece"),
        "left_of": Join(Later("cuts"), "before", "left_of", maybe=True),
    },
    terms={"kerf": or_usual("saw_kerf", USUAL_KERF)},
)  # fmt: skip
