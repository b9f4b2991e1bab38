"""Every tab of the result in order, and where its rows come from.

The measurement workbook has the input tabs, the result all of them.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from railbook.basics.double_entry import Tab
from railbook.boards import cutting_plan, offers, paid, pieces, plans
from railbook.boards.layout import Sawn
from railbook.checks import check, stairways, summary, warnings
from railbook.fastening import bare_joints, bring_along, fasteners, joint_counts, places, run_fasteners
from railbook.fastening.layout import Fastened
from railbook.geometry import (
    caps,
    chosen,
    flights,
    handrail_slopes,
    handrails,
    joints,
    lines,
    posts,
)
from railbook.geometry.survey import Site
from railbook.job import assemblies, fastenings, limits, prices, runs, settings, supports
from railbook.job import flights as typed_flights
from railbook.job import paid as bills
from railbook.job.build import Job
from railbook.money import buying, cost, materials, needs, run_costs, run_shares
from railbook.money.layout import Priced
from railbook.takeoff import (
    balusters,
    blocks,
    cut_list,
    lots,
    section_counts,
    story,
)
from railbook.takeoff.layout import Shop

Rows = Mapping[str, Sequence[Any]]

INPUT_TABS: tuple[Tab, ...] = (
    settings.TAB,
    runs.TAB,
    typed_flights.TAB,
    supports.TAB,
    assemblies.TAB,
    fastenings.TAB,
    prices.TAB,
    bills.TAB,
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
    flights.TAB,
    joints.TAB,
    lines.TAB,
    caps.TAB,
    handrail_slopes.TAB,
    lots.TAB,
    section_counts.TAB,
    places.TAB,
    joint_counts.TAB,
    paid.TAB,
    plans.TAB,
    offers.TAB,
    needs.TAB,
    run_shares.TAB,
    bare_joints.TAB,
    stairways.TAB,
    chosen.TAB,
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


def site_rows(site: Site) -> dict[str, Sequence[Any]]:
    """Rows of the geometry tabs."""
    return {
        "chosen": (site.chosen,),
        "flight_working": site.flights,
        "lines": site.lines,
        "posts": site.posts,
        "joints": site.joints,
        "caps": site.caps,
        "handrail_slopes": site.handrail_slopes,
        "handrails": site.handrails,
    }


def shop_rows(shop: Shop) -> dict[str, Sequence[Any]]:
    """Rows of the takeoff tabs."""
    return {
        "blocks": shop.blocks,
        "baluster_layout": shop.layouts,
        "cut_list": shop.pieces,
        "lots": shop.shared_lots,
    }


def fastening_rows(fastened: Fastened) -> dict[str, Sequence[Any]]:
    """Rows of the fastening tabs."""
    return {
        "fasteners": fastened.fasteners,
        "bring_along": fastened.brought,
        "run_fasteners": fastened.run_fasteners,
        "sections": fastened.sections,
        "places": fastened.places,
        "joint_counts": fastened.joint_counts,
    }


def cutting_rows(sawn: Sawn) -> dict[str, Sequence[Any]]:
    """Rows of the tabs of the cutting plan."""
    return {
        "cutting_plan": sawn.boards,
        "planned": sawn.planned,
        "cuts": sawn.cuts,
        "plans": sawn.plans,
        "offers": sawn.offers,
    }


def pricing_rows(priced: Priced) -> dict[str, Sequence[Any]]:
    """Rows of the tabs of money."""
    return {
        "buying": priced.buying,
        "materials": priced.materials,
        "cost": (priced.cost,),
        "run_costs": priced.run_costs,
        "needs": priced.needs,
        "run_shares": priced.run_shares,
        "bare_joints": priced.bare_joints,
    }
