"""The money of a job laid out: every row of its tabs, from the choices."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from railbook.basics.double_entry import RUN_AGAIN, first_rows
from railbook.boards.layout import Sawn
from railbook.boards.pieces import Planned
from railbook.geometry.posts import NOT_TOLD
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import PLACES_TAB
from railbook.money.bare_joints import BareJoints, bare_joints_of
from railbook.money.buying import Bought
from railbook.money.cost import Cost
from railbook.money.cut_costs import CutCost
from railbook.money.materials import Demand, Material, MaterialChosen
from railbook.money.needs import (
    BY_RUN,
    CUT_LIST,
    BoardCosts,
    Need,
    NeedChosen,
    NeedCount,
)
from railbook.money.reasons import Gaps
from railbook.money.run_costs import GUARDS, HANDRAILS, JobCosts, RunCost, RunCostChosen, by_row
from railbook.money.run_shares import RunShare, ShareChosen
from railbook.takeoff.cut_list import Members
from railbook.takeoff.fastening import Fastened
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
    """

    needs: tuple[NeedChosen, ...] = ()
    materials: tuple[MaterialChosen, ...] = ()
    buying: tuple[int, ...] = ()
    runs: tuple[RunCostChosen, ...] = ()
    shares: tuple[ShareChosen, ...] = ()
    assemblies: int = 0
    runs_counted: int = 0
    runs_left_out: int = 0


@dataclass(frozen=True)
class Priced:
    """Rows of the tabs of money."""

    cut_costs: tuple[CutCost, ...]
    needs: tuple[Need, ...]
    materials: tuple[Material, ...]
    buying: tuple[Bought, ...]
    run_shares: tuple[RunShare, ...]
    run_costs: tuple[RunCost, ...]
    bare_joints: tuple[BareJoints, ...]
    cost: Cost


def lay_out_pricing(of: Takeoff, choices: PricingChoices) -> Priced:
    """Every row of the tabs of money with these choices."""
    counts = counted(of, choices.needs)
    cut_costs = _cut_costs(of)
    demand = _demand(of, counts)
    settings = of.job.settings
    materials = tuple(Material(row, each, settings, demand) for row, each in enumerate(choices.materials, start=1))
    boards = _board_costs(cut_costs, of.sawn.planned)
    needs = tuple(
        Need(row, count, materials[at - 1] if (at := count.chosen.material_row) else None, boards)
        for row, count in enumerate(counts, start=1)
    )
    shares = tuple(RunShare(each, needs[each.need_row - 1]) for each in choices.shares if each.need_row <= len(needs))
    gaps = _gaps(of, choices)
    run_costs = _run_costs(of, choices.runs, shares, materials, gaps)
    return Priced(
        cut_costs=cut_costs,
        needs=needs,
        materials=materials,
        buying=tuple(Bought(row, materials[row - 1]) for row in choices.buying),
        run_shares=shares,
        run_costs=run_costs,
        bare_joints=tuple(gaps.bare),
        cost=Cost(settings, materials, needs, run_costs, of.job.paid, gaps),
    )


def _gaps(of: Takeoff, choices: PricingChoices) -> Gaps:
    """What is in no figure of the money, beside prices that are missing."""
    spared = sum(each.needed or 0 for each in of.fastened.brought if each.spared)
    return Gaps(
        bare=tuple(bare_joints_of(of.job.assemblies, of.fastened, choices.assemblies)),
        orphans=sum(each.left_out for each in of.fastened.joint_counts if not each.assembly_row),
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


def counted(of: Takeoff, asked: Iterable[NeedChosen]) -> tuple[NeedCount, ...]:
    """How many each row asks for; a row that is gone asks for nothing."""
    rows: dict[tuple[Any, ...], tuple[int, Any]] = {
        **{(CUT_LIST, piece.piece): (row, piece) for row, piece in enumerate(of.shop.pieces, start=1)},
        **{(BY_RUN, each.run, each.fastening_row): (row, each)
           for row, each in enumerate(of.fastened.run_fasteners, start=1)},
        **{(PLACES_TAB, place.run): (row, place) for row, place in enumerate(of.fastened.places, start=1)},
    }  # fmt: skip
    site = of.site
    tabs = {"sections": site.sections, "posts": site.posts, "caps": site.caps, "handrails": site.handrails}
    alike = {tab: Members(members) for tab, members in tabs.items()}
    return tuple(
        NeedCount(chosen, *rows[at], alike, _trim_item(of, chosen, rows[at][1]))
        for chosen in asked
        if (at := (chosen.source, *chosen.key)) in rows
    )


def _trim_item(of: Takeoff, chosen: NeedChosen, thing: Any) -> str:
    """Of post trim, the item that the assembly of its run names."""
    return getattr(of.job.assemblies[thing.assembly_row - 1], chosen.trim) or "" if chosen.trim else ""


def _cut_costs(of: Takeoff) -> tuple[CutCost, ...]:
    """One row for each cut."""
    taken: Counter[int] = Counter()
    for cut in of.sawn.cuts:
        taken[cut.plan_row] += cut.width  # type: ignore[assignment] # a sum of lengths
    prices = of.job.prices
    return tuple(
        CutCost(row, cut, board, taken[cut.plan_row], prices[board.price_row - 1])
        for row, cut in enumerate(of.sawn.cuts, start=1)
        for board in (of.sawn.boards[cut.plan_row - 1],)
        if board.price_row <= len(prices)
    )


def _board_costs(cut_costs: Sequence[CutCost], planned: Sequence[Planned]) -> BoardCosts:
    """Costs by row of the cut list."""
    costs: dict[int, float] = {}
    for each in cut_costs:
        costs[each.piece_row] = costs.get(each.piece_row, 0.0) + each.cost
    cuts = Counter(each.piece_row for each in cut_costs)
    unpriced = Counter(each.piece_row for each in cut_costs if each.unpriced)
    stale = Counter(each.piece_row for each in cut_costs if each.stale)
    left_out: Counter[int] = Counter()
    for piece in planned:
        left_out[piece.piece_row] += piece.left_out
    return BoardCosts(costs, cuts, unpriced, stale, left_out)


def _demand(of: Takeoff, counts: Sequence[NeedCount]) -> Demand:
    """What materials are counted from, summed once."""
    boards: Counter[int] = Counter()
    from_yard: Counter[int] = Counter()
    needed: Counter[int] = Counter()
    for board in of.sawn.boards:
        boards[board.price_row] += board.boards
        from_yard[board.price_row] += 0 if board.bought else board.boards
    for count in counts:
        needed[count.chosen.material_row] += count.needed
    return Demand(
        boards=boards,
        from_yard=from_yard,
        stale_boards=frozenset(board.price_row for board in of.sawn.boards if board.status == RUN_AGAIN),
        needed=needed,
        stale=frozenset(count.chosen.material_row for count in counts if count.stale),
        brought=of.fastened.brought,
        prices=of.job.prices,
        first_rows=first_rows([price.item or "" for price in of.job.prices]),
        paid=of.job.paid,
    )


def _run_costs(
    of: Takeoff, runs: Sequence[RunCostChosen], shares: Sequence[RunShare], materials: Sequence[Material], gaps: Gaps
) -> tuple[RunCost, ...]:
    """One row for each run."""
    rows: dict[tuple[str, str], tuple[int, Any]] = {
        **{(GUARDS, line.run): (row, line) for row, line in enumerate(of.site.lines, start=1)},
        **{(HANDRAILS, rail.run): (row, rail) for row, rail in enumerate(of.site.handrails, start=1)},
    }
    whole = JobCosts(
        sum(each.total or 0.0 for each in materials),
        sum(each.line_tax or 0.0 for each in materials),
        any(each.status == RUN_AGAIN for each in materials),
        gaps,
    )
    own = by_row(shares, lambda share: share.cost_row)
    return tuple(
        RunCost(number, each, *rows[each.source, each.run], own.get(number, ()), whole, of.job.settings)
        for number, each in enumerate(runs, start=1)
        if (each.source, each.run) in rows
    )
