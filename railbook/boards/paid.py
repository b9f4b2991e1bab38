"""What is paid for every cut: its board is charged whole, and shared by what each piece takes up."""

from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join, Later
from railbook.basics.kinds import COUNT, MONEY
from railbook.boards import cuts, cutting_plan
from railbook.boards.cuts import Cut
from railbook.boards.cutting_plan import PlannedBoard


@dataclass(frozen=True)
class PaidCut:
    """One row of tab Working cuts.

    Attributes:
        cut: how it lies.
        board: the boards that it is cut from.
        earlier: the cut before it of the same row of the cut list.
        before: what all pieces of that row cost up to `earlier`.
    """

    cut: Cut
    board: PlannedBoard = field(repr=False)
    earlier: "PaidCut | None" = field(repr=False)
    before: float

    @property
    def earlier_row(self) -> int:
        """Row of the cut before it of the same row of the cut list; 0 for the first."""
        return self.earlier.cut.row if self.earlier else 0

    @cached_property
    def paid(self) -> float:
        """What all pieces of its row of the cut list cost up to this one, as far as prices are known."""
        return self.before + (self.cut.end - self.cut.start) * self.board.rate


TAB = Tab(
    "cuts",
    "Working cuts",
    PaidCut,
    (
        Column("earlier_row", "Cut before of that no.", COUNT),
        Column(
            "paid", "Paid for that no. so far", MONEY,
            "=IF({earlier_row}=0,0,{earlier.paid})+({end}-IF({before}=0,0,{left.end}))*{board.rate}",
        ),
    ),
    purpose="The cutting plan piece by piece, from the left end of each board. A board is charged whole: its pieces "
    "share its trims and its offcut by what each takes up.",
    none="No boards are planned.",
    key="row",
    parts={"cut": cuts.PART},
    joins={
        "board": Join(cutting_plan.TAB, "plan_row", "board"),
        "earlier": Join(Later("cuts"), "earlier_row", "earlier", maybe=True),
        "left": Join(cuts.PART, "before", "cut.left_of", maybe=True),
    },
)  # fmt: skip
