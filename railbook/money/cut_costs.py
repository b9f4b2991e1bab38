"""Working cut costs: what every cut of the cutting plan costs, by what it takes up of its board.

A board is charged whole: its pieces share its price, its trims and its offcut by the width that each takes up.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, Column, Tab, number_at
from railbook.basics.kinds import COUNT, LENGTH, MONEY
from railbook.job.prices import Price


@dataclass(frozen=True)
class CutCost:
    """One cut, at row `number` of the working cuts.

    Attributes:
        cut: that row; `board` its row of the cutting plan.
        taken: what all the pieces on its board take up [job unit].
        price_typed: the board's row of tab Prices.
    """

    number: int
    cut: Any
    board: Any
    taken: float
    price_typed: Price

    @property
    def plan_row(self) -> int:
        """Row of its board on the cutting plan."""
        row: int = self.cut.plan_row
        return row

    @property
    def piece_row(self) -> int:
        """Row of its piece on the cut list."""
        row: int = self.cut.piece_row
        return row

    @property
    def price_row(self) -> int:
        """Row of its board on tab Prices."""
        row: int = self.board.price_row
        return row

    @property
    def price(self) -> float | None:
        """Price of one board."""
        return self.price_typed.price

    @cached_property
    def cost(self) -> float:
        """Its share of all boards that are cut so; 0 while their price is not known."""
        cost: float = (self.price or 0.0) * self.board.boards * self.cut.width / self.taken
        return cost

    @property
    def unpriced(self) -> int:
        """1 when the price of its board is not known."""
        return int(self.price is None)

    @property
    def stale(self) -> int:
        """1 when its board asks for another run."""
        return int(self.board.status == RUN_AGAIN)


_LAST = "INDEX({cuts_right},INDEX({cutting_plan_last_row},{plan_row}))"

TAB = Tab(
    "cut_costs",
    "Working cut costs",
    CutCost,
    (
        Column("number", "Cut row", COUNT),
        Column("plan_row", "Board of plan", COUNT, "=INDEX({cuts_plan_row},{number})"),
        Column("piece_row", "Cut list no.", COUNT, "=INDEX({cuts_piece_row},{number})"),
        Column("taken", "Taken by all", LENGTH,
            f"=INDEX({{cutting_plan_used}},{{plan_row}})-INDEX({{cutting_plan_depth}},{{plan_row}})/2*ABS({_LAST})"),
        Column("price_row", "Price row", COUNT, "=INDEX({cutting_plan_price_row},{plan_row})"),
        Column("price", "Board", MONEY, "=" + number_at("prices_price", "price_row")),
        Column("cost", "Cost", MONEY,
            "=" + or_zero("{price}") + "*INDEX({cutting_plan_boards},{plan_row})*INDEX({cuts_width},{number})/{taken}"),
        Column("unpriced", "No price", COUNT, '=IF({price}="",1,0)'),
        Column("stale", "Out of date", COUNT,
            f'=IFERROR(IF(INDEX({{cutting_plan_status}},{{plan_row}})="{RUN_AGAIN}",1,0),1)'),
    ),
    purpose="What every cut costs: boards are charged whole, and shared by what each piece takes up.",
    none="No boards are planned.",
    key="number",
)  # fmt: skip
