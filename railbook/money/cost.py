"""Cost: materials, tax, labour, mark-ups and other costs of the job, and what was paid, on one page."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.double_entry import RUN_AGAIN, Column, Tab, stale_rows
from railbook.basics.kinds import COUNT, MONEY, NUMBER, TEXT
from railbook.fastening import bare_joints
from railbook.geometry.post_stands import NOT_TOLD
from railbook.job.paid import Paid
from railbook.job.runs import HANDRAIL, LEVEL, RAMP, STAIR
from railbook.job.settings import Settings
from railbook.money import materials, needs, run_costs
from railbook.money.materials import Material
from railbook.money.needs import Need
from railbook.money.reasons import Gaps, lacking, lacking_excel
from railbook.money.run_costs import FEET, INCOMPLETE, PER_FOOT, RunCost

ALL_PRICED, COMPLETE = "every price is known", "complete"
WITHOUT = "incomplete, without: "
SEE_RUNS = f"{INCOMPLETE}: see Cost by run"
HOURS = ("hours_per_post", "hours_per_level", "hours_per_stair", "hours_handrail")
STALE_TABS = (materials.TAB, needs.TAB, run_costs.TAB, bare_joints.TAB)
OTHER = ("cost_permit", "cost_delivery", "cost_tear_out", "cost_dump")


def _sum(*figures: float | None) -> float | None:
    """Sum of the known figures; None when none is known."""
    known = [figure for figure in figures if figure is not None]
    return sum(known) if known else None


def _times(figure: float | None, factor: float | None) -> float | None:
    """Product; None unless both are known."""
    return None if figure is None or factor is None else figure * factor


@dataclass(frozen=True)
class Cost:
    """The whole job.

    Attributes:
        gaps: what is in none of its figures.
        uncut_parts: rows of the cut list that no board is planned for.
    """

    settings: Settings
    bought: Sequence[Material] = field(repr=False)
    asked: Sequence[Need] = field(repr=False)
    runs: Sequence[RunCost] = field(repr=False)
    payments: Sequence[Paid] = field(repr=False)
    gaps: Gaps
    uncut_parts: int

    @property
    def money(self) -> str:
        """What money is counted in."""
        return self.settings.currency or ""

    @cached_property
    def missing_prices(self) -> int:
        """Things to buy without a price."""
        return sum(each.missing for each in self.bought)

    @property
    def materials_say(self) -> str:
        """Whether the materials are complete."""
        lacking = self.missing_prices + self.uncut_parts
        return f"incomplete: {lacking} without a price or a board" if lacking else ALL_PRICED

    @cached_property
    def _is_priced(self) -> bool:
        return any(not each.missing for each in self.bought)

    @cached_property
    def materials_bought(self) -> float | None:
        """What is bought, before tax."""
        return sum(each.bought_cost or 0.0 for each in self.bought) if self._is_priced else None

    @cached_property
    def materials_yard(self) -> float | None:
        """What is taken from the yard."""
        return sum(each.yard_cost or 0.0 for each in self.bought) if self._is_priced else None

    @cached_property
    def materials_charged(self) -> float | None:
        """Both."""
        return _sum(self.materials_bought, self.materials_yard)

    @cached_property
    def materials_tax(self) -> float | None:
        """On what is bought and taxable."""
        if self.settings.tax is None or self.materials_charged is None:
            return None
        return sum(each.line_tax or 0.0 for each in self.bought)

    @property
    def materials_markup(self) -> float | None:
        """On materials before tax."""
        return _times(self.materials_charged, self.settings.markup_materials)

    @property
    def posts_set(self) -> float:
        """New posts."""
        return sum(each.posts for each in self.runs)

    @cached_property
    def level_length(self) -> float:
        """Level guard (ft or m)."""
        return self._length(LEVEL)

    @cached_property
    def stair_length(self) -> float:
        """Stair guard along the slope (ft or m)."""
        return self._length(STAIR)

    @cached_property
    def ramp_length(self) -> float:
        """Ramp guard along the slope (ft or m)."""
        return self._length(RAMP)

    @cached_property
    def handrail_length(self) -> float:
        """Handrails alone along the slope, level ends counted (ft or m)."""
        return self._length(HANDRAIL)

    def _length(self, kind: str) -> float:
        return sum(each.along for each in self.runs if each.kind == kind)

    @cached_property
    def labour_hours(self) -> float | None:
        """Hours of all runs; None when no hours are given."""
        given = any(getattr(self.settings, each) is not None for each in HOURS)
        return sum(each.hours for each in self.runs) if given else None

    @cached_property
    def labour_cost(self) -> float | None:
        """What they cost."""
        return _times(self.labour_hours, self.settings.labour_rate)

    @property
    def labour_markup(self) -> float | None:
        """On labour."""
        return _times(self.labour_cost, self.settings.markup_labour)

    @cached_property
    def other_costs(self) -> float | None:
        """Permit, delivery, tear-out and dump, as far as given."""
        return _sum(*(getattr(self.settings, each) for each in OTHER))

    @cached_property
    def job_total(self) -> float | None:
        """Price of the job, of what is known."""
        return _sum(
            self.materials_charged, self.materials_tax, self.materials_markup,
            self.labour_cost, self.labour_markup, self.other_costs,
        )  # fmt: skip

    @property
    def total_says(self) -> str:
        """What the total lacks; asks for another run when a row below it does."""
        if self.costs_stale:
            return RUN_AGAIN
        return f"{WITHOUT}{self.lacks}" if self.lacks else COMPLETE

    @cached_property
    def lacks(self) -> str:
        """Every reason why the total is not complete; nothing when it is."""
        return lacking(self)

    @property
    def unheld_posts(self) -> int:
        """New posts of which nobody has said how they are held, so that nothing is bought for it."""
        return self.gaps.unheld_posts

    @property
    def unsized_posts(self) -> int:
        """New posts and sleeves that are not on the cut list, as their length is not known."""
        return self.gaps.unsized_posts

    @property
    def spares_unknown(self) -> int:
        """1 when fasteners need spares and nobody said how many."""
        return self.gaps.spares_unknown

    @property
    def runs_unpriced(self) -> int:
        """Rows of tab Runs that were not laid out: see Warnings."""
        return self.gaps.runs_left_out

    @property
    def runs_counted(self) -> int:
        """Runs on tab Runs when this was computed."""
        return self.gaps.runs_counted

    @property
    def level_price(self) -> float | None:
        """Of a foot or metre of level guard."""
        return self._price(LEVEL, self.level_length)

    @property
    def stair_price(self) -> float | None:
        """Of a foot or metre of stair guard."""
        return self._price(STAIR, self.stair_length)

    @property
    def ramp_price(self) -> float | None:
        """Of a foot or metre of ramp guard."""
        return self._price(RAMP, self.ramp_length)

    @property
    def handrail_price(self) -> float | None:
        """Of a foot or metre of handrail alone."""
        return self._price(HANDRAIL, self.handrail_length)

    @property
    def lengths_say(self) -> str:
        """Whether a run lacks something that belongs to these prices."""
        if self.costs_stale:
            return RUN_AGAIN
        return SEE_RUNS if any(each.says for each in self.runs) else COMPLETE

    @property
    def lacks_excel(self) -> str:
        """Formula part: every reason."""
        return lacking_excel(len(self.gaps.bare))

    def _price(self, kind: str, length: float) -> float | None:
        total = sum(each.total for each in self.runs if each.kind == kind)
        return total / length if length > 0 and self.job_total is not None else None

    @cached_property
    def paid_total(self) -> float | None:
        """Everything on tab Paid; None when nothing was paid."""
        return _sum(*(row.paid for row in self.payments))

    @property
    def paid_difference(self) -> float | None:
        """Sum of the differences on tab Materials."""
        return None if self.paid_total is None else sum(each.difference or 0.0 for each in self.bought)

    @cached_property
    def costs_stale(self) -> int:
        """Rows of the money tabs that ask for another run."""
        rows = (self.bought, self.asked, self.runs, self.gaps.bare)
        return sum(map(stale_rows, STALE_TABS, rows))


def _job_sum(*words: str) -> str:
    """Formula: sum of the known cells; blank when none is known."""
    cells = ",".join(f"{{{word}}}" for word in words)
    return f'=IF(COUNT({cells})=0,"",SUM({cells}))'


def _product(left: str, right: str) -> str:
    """Formula: product; blank unless both are known."""
    return f'=IF(COUNT({{{left}}},{{{right}}})<2,"",{{{left}}}*{{{right}}})'


def _materials(column: str) -> str:
    """Formula: sum over tab Materials; blank when no price is known."""
    return f'=IF(COUNTIF({{materials_missing}},0)=0,"",SUM({{materials_{column}}}))'


def _lengths(kind: str) -> str:
    return f'=SUMIFS({{run_costs_along}},{{run_costs_kind}},"{kind}")'


def _per_length(kind: str) -> str:
    """Formula: price of a foot or metre of one kind of guard."""
    length, total = f"{{{kind.lower()}_length}}", f'SUMIFS({{run_costs_total}},{{run_costs_kind}},"{kind}")'
    return f'=IF(OR({length}<=0,{{job_total}}=""),"",{total}/{length})'


def _off_the_cut_list(column: str, part: str) -> str:
    """Formula part: posts or sleeves that are bought and are not on the cut list."""
    return f'MAX(0,SUM({{posts_{column}}})-SUMIFS({{cut_list_quantity}},{{cut_list_part}},"{part}"))'


_STALE = "+".join(f"{{{tab.stale_word}}}" for tab in STALE_TABS)

TAB = Tab(
    "cost",
    "Cost",
    Cost,
    (
        Column("money", "Currency", TEXT, '={currency}&""', width=44),
        Column("materials_say", "Materials are", TEXT,
            '=IF({missing_prices}+{uncut_parts}>0,"incomplete: "&({missing_prices}+{uncut_parts})'
            f'&" without a price or a board","{ALL_PRICED}")'),
        Column("missing_prices", "Without a price", COUNT, "=SUM({materials_missing})", hint="rows of Materials"),
        Column("uncut_parts", "Without a board", COUNT, hint="rows of the cut list"),
        Column("materials_bought", "Materials to buy", MONEY, _materials("bought_cost"), hint="before tax"),
        Column("materials_yard", "Materials on hand", MONEY, _materials("yard_cost"), hint="charged, not bought"),
        Column("materials_charged", "Materials", MONEY, _job_sum("materials_bought", "materials_yard")),
        Column("materials_tax", "Tax", MONEY,
            '=IF(COUNT({tax},{materials_charged})<2,"",SUM({materials_line_tax}))',
            hint="on what is bought and not marked No on Prices"),
        Column("materials_markup", "Mark-up, materials", MONEY, _product("materials_charged", "markup_materials"),
            hint="on materials before tax"),
        Column("posts_set", "New posts", NUMBER, "=SUM({run_costs_posts})"),
        Column("level_length", "Level guard", FEET, _lengths(LEVEL)),
        Column("stair_length", "Stair guard", FEET, _lengths(STAIR), hint="along the slope"),
        Column("ramp_length", "Ramp guard", FEET, _lengths(RAMP), hint="along the slope; hours as for stair guard"),
        Column("handrail_length", "Handrail", FEET, _lengths(HANDRAIL), hint="runs of kind Handrail, along the slope"),
        Column("labour_hours", "Hours of labour", NUMBER,
            f'=IF(COUNT({",".join(f"{{{each}}}" for each in HOURS)})=0,"",SUM({{run_costs_hours}}))'),
        Column("labour_cost", "Labour", MONEY, _product("labour_hours", "labour_rate")),
        Column("labour_markup", "Mark-up, labour", MONEY, _product("labour_cost", "markup_labour")),
        Column("other_costs", "Other costs", MONEY, _job_sum(*OTHER), hint="permit, delivery, tear-out, dump"),
        Column("job_total", "Total", MONEY,
            _job_sum("materials_charged", "materials_tax", "materials_markup", "labour_cost", "labour_markup",
                "other_costs"),
            hint="of what is known"),
        Column("total_says", "The total is", TEXT,
            f'=IF({{costs_stale}}>0,"{RUN_AGAIN}",IF([lacks_excel]="","{COMPLETE}","{WITHOUT}"&[lacks_excel]))',
            hint="type 0 on tab Job for what costs nothing"),
        Column("level_price", "Level guard", PER_FOOT, _per_length(LEVEL), hint="without the other costs"),
        Column("stair_price", "Stair guard", PER_FOOT, _per_length(STAIR), hint="without the other costs"),
        Column("ramp_price", "Ramp guard", PER_FOOT, _per_length(RAMP), hint="without the other costs"),
        Column("handrail_price", "Handrail", PER_FOOT, _per_length(HANDRAIL), hint="without the other costs"),
        Column("lengths_say", "These prices are", TEXT,
            f'=IF({{costs_stale}}>0,"{RUN_AGAIN}",IF(COUNTIF({{run_costs_says}},"{INCOMPLETE}")>0,"{SEE_RUNS}",'
            f'"{COMPLETE}"))'),
        Column("paid_total", "Paid so far", MONEY,
            '=IF(SUMPRODUCT(({paid_paid}<>"")*1)=0,"",'
            'IF(SUM({paid_paid})=0,IFERROR(SUMPRODUCT({paid_paid}*1),""),SUM({paid_paid})))',
            hint="tab Paid; tax included"),
        Column("paid_difference", "Paid beyond", MONEY, '=IF({paid_total}="","",SUM({materials_difference}))',
            hint="of what was paid: more than computed, tax included; negative: less"),
        Column("costs_stale", "Rows that ask for another run", COUNT, f"={_STALE}",
            hint="above 0: run railbook on this workbook again"),
        Column("unheld_posts", "Posts held by what is not told", COUNT, f'=COUNTIF({{posts_mount}},"{NOT_TOLD}")'),
        Column("unsized_posts", "Posts without a length", COUNT,
            f"={_off_the_cut_list('cut', 'Post')}+{_off_the_cut_list('sleeved', 'Sleeve')}",
            hint="and sleeves: they are not on the cut list"),
        Column("spares_unknown", "Spares not told", COUNT,
            "=IF(AND(COUNT({fastener_spares})=0,SUMIFS({bring_along_needed},{bring_along_spared},1)>0),1,0)",
            hint="1: fasteners without a share of spares on tab Job"),
        Column("runs_unpriced", "Runs left out", COUNT, hint="see Warnings"),
        Column("runs_counted", "Runs counted", COUNT, hint="those on tab Runs when this was computed"),
    ),
    purpose="What the job costs. A blank line is not known; the totals say what they lack.",
    down=True,
)  # fmt: skip
