"""Every tab in order: those that are read, those that are typed, and the working tabs of each room.

The measurement workbook has the input tabs, the result all of them.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from railbook.basics.double_entry import Tab
from railbook.boards import cutting_plan, pieces
from railbook.checks import check, stairways, story, summary, warnings
from railbook.checks.summary import LAID_OUT
from railbook.fastening import bring_along, fasteners, run_fasteners
from railbook.geometry import handrails, posts
from railbook.job import assemblies, fastenings, flights, limits, paid, prices, runs, settings, supports
from railbook.job.build import Job
from railbook.money import buying, cost, materials, run_costs
from railbook.takeoff import balusters, blocks, cut_list

Rows = Mapping[str, Sequence[Any]]

INPUT_TABS: tuple[Tab, ...] = (
    settings.TAB,
    runs.TAB,
    flights.TAB,
    supports.TAB,
    assemblies.TAB,
    fastenings.TAB,
    prices.TAB,
    paid.TAB,
    limits.TAB,
)
READING_TABS: tuple[Tab, ...] = (
    summary.TAB,
    warnings.TAB,
    cut_list.TAB,
    cutting_plan.TAB,
    balusters.TAB,
    posts.TAB,
    blocks.TAB,
    handrails.TAB,
    fasteners.TAB,
    bring_along.TAB,
    buying.TAB,
    materials.TAB,
    cost.TAB,
    run_costs.TAB,
    run_fasteners.TAB,
    pieces.TAB,
    check.TAB,
    story.TAB,
)
WORKING_TABS: tuple[Tab, ...] = (  # hidden in the result
    *(tab for tabs in LAID_OUT for tab in tabs.values() if tab not in READING_TABS),
    stairways.TAB,
)
RESULT_TABS: tuple[Tab, ...] = (*READING_TABS, *WORKING_TABS)
TABS: tuple[Tab, ...] = (*READING_TABS, *INPUT_TABS, *WORKING_TABS)


def input_rows(job: Job) -> dict[str, Sequence[Any]]:
    """What was typed, to be copied into the result."""
    marked = {"runs": job.runs, "flights": job.flights, "supports": job.supports, "assemblies": job.assemblies}
    return {
        "job": (job.settings,),
        **{tab: (*rows, *job.unmarked.get(tab, ())) for tab, rows in marked.items()},
        "fastenings": job.fastenings,
        "prices": job.prices,
        "paid": job.paid,
        "rules": job.limits,
    }
