"""Working shares: what each run has of everything that is bought.

Equal pieces of several runs share their cost by number; a post that runs share is split equally among them.
The shares were chosen with the cut list, their cost is live.
"""

from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, MARK, MONEY, NUMBER, VERDICT
from railbook.money.needs import Need

FROM_BOARDS, COUNTED, FASTENERS = 1, 2, 3  # sorts of things that a run has shares of


class ShareChosen(NamedTuple):
    """A share, as chosen.

    Attributes:
        need_row: row of tab Working needs.
        cost_row: row of tab Cost by run; `run` its mark.
        sort: boards, counted items or fasteners.
        part: pieces of the run; a shared post is a part of one.
        whole: pieces of all runs.
    """

    need_row: int
    cost_row: int
    run: str
    sort: int
    part: float
    whole: float


@dataclass(frozen=True)
class RunShare:
    """What one run has of one need.

    Attributes:
        chosen: the share; `need` that row.
    """

    chosen: ShareChosen
    need: Need = field(repr=False)

    @property
    def run(self) -> str:
        """Mark of the run."""
        return self.chosen.run

    @property
    def need_row(self) -> int:
        """Row of tab Working needs."""
        return self.chosen.need_row

    @property
    def cost_row(self) -> int:
        """Row of tab Cost by run."""
        return self.chosen.cost_row

    @property
    def sort(self) -> int:
        """1 boards, 2 counted items, 3 fasteners."""
        return self.chosen.sort

    @property
    def part(self) -> float:
        """Pieces of the run."""
        return self.chosen.part

    @property
    def whole(self) -> float:
        """Pieces of all runs."""
        return self.chosen.whole

    @cached_property
    def cost(self) -> float:
        """Its part of the cost, as far as prices are known."""
        return (self.need.cost or 0.0) * self.part / self.whole

    @property
    def unpriced(self) -> int:
        """1 when something of it has no price."""
        return self.need.unpriced

    @property
    def status(self) -> str:
        """Asks for another run when the need does."""
        return RUN_AGAIN if self.need.status == RUN_AGAIN else ""


TAB = Tab(
    "run_shares",
    "Working shares",
    RunShare,
    (
        Column("run", "Run", MARK),
        Column("need_row", "Need row", COUNT),
        Column("cost_row", "Cost row", COUNT),
        Column("sort", "Sort", COUNT),
        Column("part", "Part", NUMBER),
        Column("whole", "Of", NUMBER),
        Column("cost", "Cost", MONEY, "=" + or_zero("INDEX({needs_cost},{need_row})") + "*{part}/{whole}"),
        Column("unpriced", "No price", COUNT, "=INDEX({needs_unpriced},{need_row})"),
        Column(STATUS, "Status", VERDICT, ask_again('INDEX({needs_status},{need_row})="run again"')),
    ),
    purpose="What each run has of everything that is bought. Sort 1 is boards, 2 counted items, 3 fasteners.",
    key="need_row",
)
