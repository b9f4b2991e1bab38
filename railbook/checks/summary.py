"""Summary: what was computed, the totals, the worst finding, and the cautions, on one page."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.double_entry import RUN_AGAIN, Column, Tab
from railbook.basics.kinds import COUNT, LENGTH, MONEY, TEXT
from railbook.basics.problem import LOOK
from railbook.boards import layout as cutting
from railbook.boards.layout import Sawn
from railbook.boards.plans import BEST, NOT_BEST
from railbook.checks.check import CLOSE, FAIL, IN_DOUBT, NOT_MEASURED, Check
from railbook.checks.unseen import Seen
from railbook.checks.warnings import Finding
from railbook.fastening import layout as fastening
from railbook.geometry import survey
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.cautions import CAUTIONS
from railbook.job.runs import LEVEL, RAMP, STAIR
from railbook.money import layout as pricing
from railbook.money.cost import Cost
from railbook.takeoff import layout as shop_layout
from railbook.takeoff.layout import Shop
from railbook.takeoff.lots import BOTH_RAILS, BOTTOM_RAIL, TOP_RAIL

NO_PRICES, NO_BOARDS = "prices missing", "boards missing"
READ_ON = "; read below what nobody looked at"
ASKING = (LOOK, IN_DOUBT, CLOSE)


@dataclass(frozen=True)
class Summary:
    """The whole job on one page; lengths in the job's unit.

    Attributes:
        chosen_unit: unit that the job was computed in; `chosen_rules` the rule set.
        runs_known: runs that were read, those left out among them.
        seen: what was not measured and not looked at when the job was computed.
        stale: rows that ask for another run, on every tab.
        version: what computed it.
    """

    job: Job = field(repr=False)
    site: Site = field(repr=False)
    shop: Shop = field(repr=False)
    checks: Sequence[Check] = field(repr=False)
    warnings: Sequence[Finding] = field(repr=False)
    sawn: Sawn = field(repr=False)
    cost: Cost = field(repr=False)
    runs_known: int
    seen: Seen
    stale: int
    version: str

    @property
    def title(self) -> str:
        """Name of the job."""
        return self.job.settings.job_name or ""

    @property
    def place(self) -> str:
        """Address of the job."""
        return self.job.settings.address or ""

    @property
    def worst(self) -> str:
        """The counts that belong together: that no check fails says nothing of what was not looked at."""
        counts = f"{self.checks_failed} fail, {self.checks_unmeasured} not measured, {self.to_look_at} to look at"
        left_out = f", {self.runs_left_out} left out" if self.runs_left_out > 0 else ""
        return f"{counts}{left_out}{READ_ON}"

    @cached_property
    def to_look_at(self) -> int:
        """Warnings that ask for a look, and checks that are in doubt or close."""
        return sum(each.severity in ASKING for each in self.warnings)

    @property
    def unmeasured(self) -> str:
        """What was not measured when this was computed."""
        return self.seen.unmeasured or "nothing that a check asks for"

    @property
    def unseen(self) -> str:
        """What no check knows of."""
        return self.seen.unseen

    @property
    def stale_rows(self) -> int:
        """Rows that rest on older figures."""
        return self.stale

    @property
    def runs_laid_out(self) -> int:
        """Runs that were laid out."""
        return len(self.site.lines) + len(self.site.handrails)

    @property
    def runs_left_out(self) -> int:
        """Runs that were not: see Warnings."""
        return self.runs_known - self.runs_laid_out

    @property
    def runs_added(self) -> int:
        """Runs typed into this workbook since."""
        return self.job.runs_listed - self.runs_known

    @property
    def new_failures(self) -> int:
        """Failed checks that Warnings does not list."""
        return self.checks_failed - sum(each.verdict == FAIL for each in self.warnings)

    @property
    def checks_made(self) -> int:
        """Checks made."""
        return len(self.checks)

    @cached_property
    def checks_failed(self) -> int:
        """Checks that fail."""
        return sum(check.verdict == FAIL for check in self.checks)

    @cached_property
    def checks_unmeasured(self) -> int:
        """Checks that lack a measurement."""
        return sum(check.verdict == NOT_MEASURED for check in self.checks)

    @property
    def level_guard(self) -> float | str:
        """Level guard, face to face."""
        return self._unless_stale(lambda: sum(each.measures.along for each in self.site.lines if each.kind == LEVEL))

    @property
    def stair_guard(self) -> float | str:
        """Stair guard along the slope, face to face."""
        return self._unless_stale(lambda: sum(each.measures.along for each in self.site.lines if each.kind == STAIR))

    @property
    def ramp_guard(self) -> float | str:
        """Ramp guard along the slope, face to face."""
        return self._unless_stale(lambda: sum(each.measures.along for each in self.site.lines if each.kind == RAMP))

    @property
    def handrail(self) -> float | str:
        """Handrail of its own along the slope, without the returns."""
        return self._unless_stale(lambda: sum(each.total or 0.0 for each in self.site.handrails))

    @property
    def sections_total(self) -> float | str:
        """Sections."""
        return self._unless_stale(lambda: sum(line.sections for line in self.site.lines))

    @property
    def posts_total(self) -> float | str:
        """New posts to cut."""
        return self._unless_stale(lambda: sum(post.cut for post in self.site.posts))

    @property
    def balusters_total(self) -> float | str:
        """Balusters to cut."""
        return self._unless_stale(lambda: self._pieces("Baluster"))

    @property
    def rails_total(self) -> float | str:
        """Rails to cut, top and bottom."""
        return self._unless_stale(lambda: sum(self._pieces(part) for part in RAILS))

    @property
    def blocks_total(self) -> float | str:
        """Support blocks to cut."""
        return self._unless_stale(lambda: self._pieces("Block"))

    @property
    def boards_to_buy(self) -> float | str:
        """Boards to buy."""
        return self._unless_stale(lambda: sum(each.bought for each in self.sawn.offers))

    @property
    def boards_cost(self) -> float | str | None:
        """What they cost."""
        return self._of_money(lambda: sum(each.cost or 0.0 for each in self.sawn.offers))

    @property
    def boards_by_hand(self) -> float | str | None:
        """What boards would cost when the longest pieces are put first on the first board that holds them."""
        if self._plan_moved:
            return RUN_AGAIN
        return self._of_money(lambda: sum(each.of.by_hand or 0.0 for each in self.sawn.plans))

    @property
    def plan_proof(self) -> float | str | None:
        """Whether no plan is better."""
        if self._plan_moved:
            return RUN_AGAIN
        if not self.sawn.plans:
            return self._unless_stale(lambda: "")
        unproven = any(each.unproven for each in self.sawn.plans)
        return self._unless_stale(lambda: NOT_BEST if unproven else BEST)

    @property
    def plan_gap(self) -> float | str | None:
        """What the plan may cost more than the best one."""
        if self._plan_moved:
            return RUN_AGAIN
        return self._of_money(lambda: sum(each.of.gap or 0.0 for each in self.sawn.plans))

    @property
    def _plan_moved(self) -> bool:
        return any(each.moved for each in self.sawn.plans)

    def _of_money(self, total: Callable[[], float]) -> float | str | None:
        """A total of money, unless a price is missing; None without a plan."""
        if self._is_stale:
            return RUN_AGAIN
        if not self.sawn.plans:
            return None
        if self.pieces_left_out:
            return NO_BOARDS
        return NO_PRICES if any(each.unpriced for each in self.sawn.offers) else total()

    @property
    def pieces_left_out(self) -> int:
        """Pieces that no board is planned for."""
        return sum(each.of.left_out for each in self.sawn.planned)

    @property
    def whole_price(self) -> float | str | None:
        """Price of the job, of what is known."""
        return RUN_AGAIN if self._is_stale else self.cost.job_total

    @property
    def whole_price_says(self) -> str:
        """What that price lacks."""
        return self.cost.total_says

    def _pieces(self, part: str) -> int:
        return sum(piece.quantity for piece in self.shop.pieces if piece.part == part)

    def _unless_stale(self, total: Callable[[], float | str]) -> float | str:
        return RUN_AGAIN if self._is_stale else total()

    @property
    def _is_stale(self) -> bool:
        return bool(self.stale or self.site.chosen.settings_moved)

    @property
    def cautions(self) -> str:
        """The cautions, one under the other."""
        return "\n".join(CAUTIONS)


RAILS = (TOP_RAIL, BOTTOM_RAIL, BOTH_RAILS)
LAID_OUT: tuple[Mapping[str, Tab], ...] = (  # tabs of every room, in the order in which they are laid out
    survey.TABS,
    shop_layout.TABS,
    fastening.TABS,
    cutting.TABS,
    pricing.TABS,
)
STALE_TABS = tuple(tab.name for tabs in LAID_OUT for tab in tabs.values() if tab.has_status)
_STALE = "+".join(f"{{{tab}_status_count}}" for tab in STALE_TABS)


def _total(expression: str) -> str:
    """Formula: a total, unless a row that it rests on is stale."""
    return f'=IF(OR({{stale_rows}}>0,{{settings_moved}}=1),"run again",{expression})'


def _of_money(column: str, *, knows_prices: bool = False) -> str:
    """Formula: a total of money, unless a price is missing; blank without a plan."""
    total = f'IF(SUM({{offers_unpriced}})>0,"{NO_PRICES}",SUM({{{column}}}))'
    total = f'IF(SUM({{plans_number}})=0,"",IF(SUM({{planned_left_out}})>0,"{NO_BOARDS}",{total}))'
    return _total(total) if knows_prices else _as_planned(total)


def _as_planned(expression: str) -> str:
    """Formula: something known of the plan, unless the boards on sale changed since."""
    return _total(f'IF(SUM({{plans_moved}})>0,"run again",{expression})')


def _pieces(part: str) -> str:
    """Formula part: pieces of one part on the cut list."""
    return f'SUMIFS({{cut_list_quantity}},{{cut_list_part}},"{part}")'


def _along(kind: str) -> str:
    """Formula: length of guard of one kind."""
    return _total(f'SUMIFS({{lines_along}},{{lines_kind}},"{kind}")')


TAB = Tab(
    "summary",
    "Summary",
    Summary,
    (
        Column("title", "Job name", TEXT, '={job_name}&""', width=60),
        Column("place", "Address", TEXT, '={address}&""'),
        Column("worst", "Verdict", TEXT,
            '={checks_failed}&" fail, "&{checks_unmeasured}&" not measured, "&{to_look_at}'
            f'&" to look at"&IF({{runs_left_out}}>0,", "&{{runs_left_out}}&" left out","")&"{READ_ON}"'),
        Column("to_look_at", "To look at", COUNT,
            "=" + "+".join(f'COUNTIF({{warnings_severity}},"{each}")' for each in ASKING), hint="see Warnings"),
        Column("unmeasured", "Not measured when this was computed", TEXT),
        Column("unseen", "Nobody looked at: look at it yourself", TEXT),
        Column("stale_rows", "Rows that ask for another run", COUNT, f"={_STALE}",
            hint="above 0: a figure was changed that a choice rests on; run railbook on this workbook again"),
        Column("new_failures", "New failures", COUNT, '={checks_failed}-COUNTIF({warnings_verdict},"fail")',
            hint="failed checks that Warnings does not list yet"),
        Column("runs_laid_out", "Runs laid out", COUNT),
        Column("runs_left_out", "Runs left out", COUNT, hint="see Warnings"),
        Column("runs_known", "Runs read", COUNT),
        Column("runs_added", "Runs added since", COUNT, "=COUNTA({runs_run})-{runs_known}",
            hint="above 0: run railbook on this workbook again"),
        Column("sections_total", "Sections", COUNT, _total("SUM({lines_sections})")),
        Column("level_guard", "Level guard", LENGTH, _along("Level"), hint="face to face"),
        Column("stair_guard", "Stair guard", LENGTH, _along("Stair"), hint="face to face, along the slope"),
        Column("ramp_guard", "Ramp guard", LENGTH, _along("Ramp"), hint="face to face, along the slope"),
        Column("handrail", "Handrail", LENGTH, _total("SUM({handrails_total})"),
            hint="runs of kind Handrail, along the slope, level ends counted, without returns"),
        Column("posts_total", "New posts", COUNT, _total("SUM({posts_cut})"), hint="one mark on two runs is one post"),
        Column("rails_total", "Rails", COUNT, _total("+".join(_pieces(part) for part in RAILS))),
        Column("balusters_total", "Balusters", COUNT, _total(_pieces("Baluster"))),
        Column("blocks_total", "Support blocks", COUNT, _total(_pieces("Block"))),
        Column("boards_to_buy", "Boards to buy", COUNT,
            _total("SUM({offers_bought})"), hint="see Cutting plan"),
        Column("boards_cost", "Boards, cost", MONEY, _of_money("offers_cost", knows_prices=True),
            hint="by the cutting plan, before tax"),
        Column("boards_by_hand", "Cut without a plan they would cost", MONEY, _of_money("plans_by_hand"),
            hint="the longest pieces first, each on the first board that holds it"),
        Column("plan_proof", "Plan", TEXT,
            _as_planned('IF(SUM({plans_number})=0,"",IF(SUM({plans_unproven})>0,'
                f'"{NOT_BEST}","{BEST}"))'), hint="whether any plan could cost less"),
        Column("plan_gap", "Above the best plan, at most", MONEY, _of_money("plans_gap")),
        Column("pieces_left_out", "Pieces without a board", COUNT, "=SUM({planned_left_out})",
            hint="see Pieces planned"),
        Column("whole_price", "Price of the job", MONEY, _total("{job_total}"), hint="of what is known; see Cost"),
        Column("whole_price_says", "The price is", TEXT, "={total_says}"),
        Column("checks_made", "Checks made", COUNT),
        Column("checks_failed", "Checks that fail", COUNT, '=COUNTIF({code_checks_verdict},"fail")'),
        Column("checks_unmeasured", "Checks not measured", COUNT, '=COUNTIF({code_checks_verdict},"not measured")'),
        Column("version", "Made by", TEXT),
        Column("cautions", "Cautions", TEXT),
    ),
    purpose="The whole job on one page. The working behind it stands on hidden tabs: to see one, "
    "right-click any tab at the bottom and choose Unhide (Show Sheet in LibreOffice).",
    down=True,
    headings={
        "worst": "Is it right, and up to date?",
        "runs_laid_out": "Runs",
        "sections_total": "What is built",
        "boards_to_buy": "Boards and price",
        "checks_made": "Checks",
        "version": "Before you cut and build",
    },
)  # fmt: skip
