"""The money of a job laid out: every row of its tabs, from the choices."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from railbook.basics.double_entry import RUN_AGAIN, Tab, first_rows
from railbook.boards.layout import Sawn
from railbook.fastening import bare_joints
from railbook.fastening.bare_joints import BareJoints, bare_joints_of
from railbook.fastening.layout import Fastened
from railbook.geometry.post_stands import NOT_TOLD
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import PLACES_TAB
from railbook.money import buying, cost, materials, needs, run_costs, run_shares
from railbook.money.buying import Bought
from railbook.money.cost import Cost
from railbook.money.materials import Demand, Material, MaterialChosen
from railbook.money.needs import BY_RUN, CUT_LIST, Askers, Need, NeedChosen
from railbook.money.reasons import Gaps
from railbook.money.run_costs import GUARDS, HANDRAILS, JobCosts, RunCost, RunCostChosen, by_row
from railbook.money.run_shares import RunShare, ShareChosen
from railbook.takeoff.layout import Shop


@dataclass(frozen=True)
class Takeoff:
    """Everything that is bought for: the rows of the tabs before."""

    job: Job
    site: Site
    shop: Shop
    fastened: Fastened
    sawn: Sawn


class PricingChoices(NamedTuple):
    """What was chosen; the rows of the tabs, in order.

    Attributes:
        needs: what is bought for each row that asks for something.
        materials: what is bought.
        buying: rows of tab Materials on the buying list, by supplier.
        runs: runs with their posts.
        shares: what each run has of each need.
        assemblies: how many there were; `runs_counted` rows of tab Runs that showed a mark.
        runs_left_out: rows of that tab that were not laid out.
        uncut: parts of the cut list that no board is planned for, a row each.
    """

    needs: tuple[NeedChosen, ...] = ()
    materials: tuple[MaterialChosen, ...] = ()
    buying: tuple[int, ...] = ()
    runs: tuple[RunCostChosen, ...] = ()
    shares: tuple[ShareChosen, ...] = ()
    assemblies: int = 0
    runs_counted: int = 0
    runs_left_out: int = 0
    uncut: tuple[str, ...] = ()


@dataclass(frozen=True)
class Priced:
    """Rows of the tabs of money."""

    needs: tuple[Need, ...]
    materials: tuple[Material, ...]
    buying: tuple[Bought, ...]
    run_shares: tuple[RunShare, ...]
    run_costs: tuple[RunCost, ...]
    bare_joints: tuple[BareJoints, ...]
    cost: Cost
    uncut: tuple[str, ...]


TABS: Mapping[str, Tab] = {  # by the field of `Priced` that holds their rows
    "needs": needs.TAB,
    "materials": materials.TAB,
    "buying": buying.TAB,
    "run_shares": run_shares.TAB,
    "run_costs": run_costs.TAB,
    "bare_joints": bare_joints.TAB,
    "cost": cost.TAB,
}


def lay_out_pricing(of: Takeoff, choices: PricingChoices) -> Priced:
    """Every row of the tabs of money with these choices."""
    settings, askers = of.job.settings, askers_of(of)
    needs = tuple(Need(row, each, askers) for row, each in enumerate(choices.needs, start=1))
    demand = _demand(of, needs)
    materials = tuple(Material(row, each, settings, demand) for row, each in enumerate(choices.materials, start=1))
    shares = tuple(_share(each, of, materials, askers.tabs) for each in choices.shares)
    gaps = _gaps(of, choices)
    run_costs = _run_costs(of, choices.runs, shares, (materials, needs), gaps)
    return Priced(
        needs=needs,
        materials=materials,
        buying=tuple(Bought(row, materials[row - 1]) for row in choices.buying),
        run_shares=shares,
        run_costs=run_costs,
        bare_joints=tuple(gaps.bare),
        cost=Cost(settings, materials, needs, run_costs, of.job.paid, gaps, len(choices.uncut)),
        uncut=choices.uncut,
    )


def askers_of(of: Takeoff) -> Askers:
    """Everything that asks for what is bought."""
    return Askers(
        {CUT_LIST: of.shop.pieces, BY_RUN: of.fastened.run_fasteners, PLACES_TAB: of.fastened.places},
        of.job.assemblies,
        {
            CUT_LIST: False,
            BY_RUN: any(each.status == RUN_AGAIN for each in of.fastened.fasteners),
            PLACES_TAB: PLACES_TAB in of.fastened.counted.stale,
        },
    )


def _share(
    chosen: ShareChosen, of: Takeoff, materials: Sequence[Material], tabs: Mapping[str, Sequence[Any]]
) -> RunShare:
    """One share."""
    return RunShare(
        chosen,
        tabs[chosen.source][chosen.source_row - 1],
        of.sawn.cuts[chosen.cut_row - 1] if chosen.cut_row else None,
        materials[chosen.material_row - 1] if chosen.material_row else None,
        of.shop.shared_lots[chosen.lot_row - 1] if chosen.lot_row else None,
    )


def _gaps(of: Takeoff, choices: PricingChoices) -> Gaps:
    """What is in no figure of the money, beside prices that are missing."""
    spared = sum(each.needed or 0 for each in of.fastened.brought if each.listed.spared)
    return Gaps(
        bare=tuple(bare_joints_of(of.job.assemblies, of.fastened, choices.assemblies)),
        orphans=sum(each.left_out for each in of.fastened.joint_counts if not each.assembly_row),
        refused_caps=sum(cap.refused for cap in of.site.caps),
        unheld_posts=sum(post.mount == NOT_TOLD for post in of.site.posts),
        unsized_posts=_off_the_cut_list(of, "cut", "Post") + _off_the_cut_list(of, "sleeved", "Sleeve"),
        spares_unknown=int(of.job.settings.fastener_spares is None and spared > 0),
        runs_left_out=choices.runs_left_out,
        runs_counted=choices.runs_counted,
        runs_now=of.job.runs_listed,
    )


def _off_the_cut_list(of: Takeoff, column: str, part: str) -> int:
    """Posts or sleeves that are bought and are not on the cut list."""
    wanted: int = sum(getattr(post, column) for post in of.site.posts)
    return max(0, wanted - sum(piece.quantity for piece in of.shop.pieces if piece.part == part))


def _demand(of: Takeoff, needs: Sequence[Need]) -> Demand:
    """What materials are counted from, summed once."""
    needed: Counter[int] = Counter()
    for each in needs:
        needed[each.chosen.material_row] += each.needed
    return Demand(
        offers=of.sawn.offers,
        stale_boards=frozenset(board.of.offer_row for board in of.sawn.boards if board.status == RUN_AGAIN),
        needed=needed,
        stale=frozenset(each.chosen.material_row for each in needs if each.status == RUN_AGAIN),
        brought=of.fastened.brought,
        prices=of.job.prices,
        first_rows=first_rows([price.item or "" for price in of.job.prices]),
        paid=of.job.paid,
    )


def _run_costs(
    of: Takeoff,
    runs: Sequence[RunCostChosen],
    shares: Sequence[RunShare],
    bought: tuple[Sequence[Material], Sequence[Need]],
    gaps: Gaps,
) -> tuple[RunCost, ...]:
    """One row for each run."""
    rows: dict[tuple[str, str], tuple[int, Any]] = {
        **{(GUARDS, line.run): (row, line) for row, line in enumerate(of.site.lines, start=1)},
        **{(HANDRAILS, rail.run): (row, rail) for row, rail in enumerate(of.site.handrails, start=1)},
    }
    whole = JobCosts(
        bought[0],
        of.sawn.offers,
        any(each.status == RUN_AGAIN for rows in bought for each in rows),
        gaps,
    )
    own = by_row(shares, lambda share: share.chosen.cost_row)
    return tuple(
        RunCost(number, each, *rows[each.source, each.run], own.get(number, ()), whole, of.job.settings)
        for number, each in enumerate(runs, start=1)
        if (each.source, each.run) in rows
    )
