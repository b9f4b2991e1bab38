"""A railing that one can count on paper, and its figures as a reader finds them: by tab and heading.

The section: 60 in clear between two new posts, two rails, square balusters, nothing else. By hand: posts
36 1/2 + 9 1/4 = 45 3/4 in; rails 60 in; a 4 in sphere asks for more than (60 - 4) / 5 1/2 = 10.2 balusters of 1 1/2,
so 11. The saw takes nothing and boards need no trim, so that lengths add up.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from railbook.basics.double_entry import Column, Tab
from railbook.job.fastenings import JOINTS, SCREW, Fastening
from railbook.job.paid import Paid
from railbook.job.prices import BOARD, EACH, PACK, Price
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import WALL, Support
from railbook.tabs import READING_TABS
from tests.small_jobs import PLAIN, WOOD, tabs
from tests.strategies import computed

Cells = Mapping[str, Any]

BARE = replace(
    WOOD, post_item="POST", cap_item=None, cap_thickness=None, cap_width=None, cap_overhang=None, block_spacing=None,
    top_rail_item="RAIL", bottom_rail_item="RAIL", baluster_item="BALUSTER", handrail_item="HANDRAIL",
    handrail_return=None,
)  # fmt: skip
POST = Price(item="POST", sold_as=BOARD, length=48.0, price=10.0)  # one post of 45 3/4
RAIL = Price(item="RAIL", sold_as=BOARD, length=120.0, price=8.0)  # both rails of a section of 60
SINGLE = Price(item="BALUSTER", sold_as=EACH, price=2.0)
FOURS = Price(item="BALUSTER", sold_as=PACK, pack_of=4, price=7.0)
NO_SAW = replace(PLAIN, saw_kerf=0.0, end_trim=0.0, shortest_offcut=24.0)
RATES = replace(
    NO_SAW, tax=0.10, markup_materials=0.25, markup_labour=0.15, labour_rate=30.0, hours_per_post=1.0,
    hours_per_level=0.4, hours_per_stair=0.8, hours_handrail=0.25, cost_permit=50.0, cost_delivery=25.0,
    cost_tear_out=200.0, cost_dump=40.0,
)  # fmt: skip
NO_FASTENERS = tuple(Fastening(WOOD.assembly, joint.word, SCREW, "NONE", 0, 16.0) for joint in JOINTS)
HOUSE = Support(support="W", kind=WALL)


def made_of(
    runs: Sequence[Run],
    prices: Sequence[Price] = (POST, RAIL, SINGLE),
    *,
    settings: Settings = RATES,
    fastenings: Sequence[Fastening] = NO_FASTENERS,
    paid: Sequence[Paid] = (),
    **more: Any,
) -> "Read":
    """The job of those runs, computed: bare railings unless `assemblies` says otherwise."""
    rows = tabs(*runs, prices=prices, settings=settings, fastenings=fastenings, **{"assemblies": (BARE,), **more})
    return Read(computed({**{tab: tuple(each) for tab, each in rows.items()}, "paid": tuple(paid)}).rows)


class Read:
    """A computed job as it is read: tab, heading, cell."""

    def __init__(self, rows: Mapping[str, Sequence[Any]]) -> None:
        self._rows = rows

    def all(self, title: str, **wanted: Any) -> list[Cells]:
        """Rows of a tab that have these cells, by heading; `_` stands for a blank in it."""
        (tab,) = [each for each in READING_TABS if each.title == title]
        asked = {heading.replace("_", " "): cell for heading, cell in wanted.items()}
        rows = [_cells(tab, row) for row in self._rows[tab.name]]
        return [row for row in rows if all(row[heading] == cell for heading, cell in asked.items())]

    def row(self, title: str, **wanted: Any) -> Cells:
        """The one row of them."""
        (row,) = self.all(title, **wanted)
        return row

    def bought(self, item: str, *headings: str) -> tuple[Any, ...]:
        """Cells of an item on tab Materials."""
        row = self.row("Materials", Item=item)
        return tuple(row[heading] for heading in headings)

    def by_run(self, heading: str) -> dict[str, Any]:
        """Mark of a run -> its cell on tab Cost by run."""
        return {row["Run"]: row[heading] for row in self.all("Cost by run")}

    def warned(self, words: str) -> list[Cells]:
        """Rows of tab Warnings with these words in what was found."""
        return [row for row in self.all("Warnings") if words in row["What was found"]]


def _cells(tab: Tab, row: Any) -> Cells:
    """Heading -> cell; a heading that stands twice is told with its kind the second time: `Total, per foot`."""
    cells: dict[str, Any] = {}
    for column in tab.columns:
        cells[column.header if column.header not in cells else _told(column)] = column.value(row)
    return cells


def _told(column: Column) -> str:
    return f"{column.header}, {column.kind.name}"
