"""Cost by run: what each run costs, and a foot or a metre of it. The runs add up to the job without its other costs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Rests
from railbook.basics.kinds import CHOICE, COUNT, INCH, MARK, MILLIMETRE, MONEY, NUMBER, TEXT, VERDICT, Kind
from railbook.boards.offers import Offered
from railbook.job.runs import HANDRAIL, LEVEL
from railbook.job.settings import Settings
from railbook.money.materials import Material
from railbook.money.reasons import Gaps
from railbook.money.run_shares import COUNTED, FASTENERS, FROM_BOARDS, RunShare

GUARDS, HANDRAILS = "lines", "handrails"
INCOMPLETE = "incomplete"
RATES = ("tax", "markup_materials", "markup_labour", "labour_rate")  # settings that every total needs
PER_UNIT = {INCH: 12, MILLIMETRE: 1000}
_SHOWN = {INCH: "0.00", MILLIMETRE: "0.00"}
FEET = Kind("feet", {INCH: "ft", MILLIMETRE: "m"}, _SHOWN, 9)
PER_FOOT = Kind("per foot", {INCH: "per ft", MILLIMETRE: "per m"}, dict.fromkeys(_SHOWN, "#,##0.00"), 11)
IN_FEET = f'IF({{unit}}="{MILLIMETRE}",{PER_UNIT[MILLIMETRE]},{PER_UNIT[INCH]})'


class RunCostChosen(NamedTuple):
    """One run, as chosen.

    Attributes:
        source: its tab; `run` its mark.
        posts: new posts that it has; a shared one in parts.
        materials: rows of tab Materials that it has a share of; `offers` those of tab Working boards.
        uncut: rows of the cut list, for it, that no board is planned for.
    """

    source: str
    run: str
    posts: float
    materials: tuple[int, ...] = ()
    offers: tuple[int, ...] = ()
    uncut: int = 0


class JobCosts(NamedTuple):
    """What the runs have of the whole job.

    Attributes:
        bought: rows of tab Materials; `offers` those of tab Working boards.
        stale: whether any of it asks for another run.
        gaps: what is in none of the figures.
    """

    bought: Sequence[Material]
    offers: Sequence[Offered]
    stale: bool
    gaps: Gaps

    @property
    def materials(self) -> float:
        """All materials, as far as prices are known."""
        return sum(each.total or 0.0 for each in self.bought)

    @property
    def tax(self) -> float:
        """Tax on them."""
        return sum(each.line_tax or 0.0 for each in self.bought)


@dataclass(frozen=True)
class RunCost:
    """One run.

    Attributes:
        number: its row.
        chosen: what was chosen.
        line: its row `source_row` of the working lines, or of the handrails.
        shares: what it has of everything.
        whole: materials of the whole job.
    """

    number: int
    chosen: RunCostChosen
    source_row: int
    line: Any = field(repr=False)
    shares: Sequence[RunShare] = field(repr=False)
    whole: JobCosts = field(repr=False)
    settings: Settings = field(repr=False)

    @property
    def source(self) -> str:
        """Tab of its row."""
        return self.chosen.source

    @property
    def run(self) -> str:
        """Its mark."""
        return self.chosen.run

    @property
    def posts(self) -> float:
        """New posts; a shared one is split equally among its runs."""
        return self.chosen.posts

    @property
    def _is_guard(self) -> bool:
        return self.source == GUARDS

    @cached_property
    def kind(self) -> str:
        """Level, Stair, Ramp or Handrail."""
        return self.line.measures.kind if self._is_guard else HANDRAIL

    @property
    def kind_excel(self) -> str:
        """Formula part: its kind."""
        return "INDEX({lines_kind},{source_row})" if self._is_guard else f'"{HANDRAIL}"'

    @cached_property
    def along(self) -> float:
        """Length along its slope (ft or m)."""
        length = self.line.measures.along if self._is_guard else self.line.total or 0.0
        return length / PER_UNIT[MILLIMETRE if self.settings.unit == MILLIMETRE else INCH]

    @property
    def along_excel(self) -> str:
        """Formula part: length along its slope."""
        if self._is_guard:
            return "INDEX({lines_along},{source_row})"
        return or_zero("INDEX({handrails_total},{source_row})")

    def _of(self, sort: int) -> float:
        return sum(share.cost for share in self.shares if share.chosen.sort == sort)

    @cached_property
    def boards(self) -> float:
        """Its share of the boards, by what its pieces take up."""
        return self._of(FROM_BOARDS)

    @cached_property
    def counted(self) -> float:
        """Its share of what is bought by the piece, pack or kit."""
        return self._of(COUNTED)

    @cached_property
    def fasteners(self) -> float:
        """Its share of fasteners and post trim."""
        return self._of(FASTENERS)

    @cached_property
    def materials(self) -> float:
        """All three, before tax."""
        return self.boards + self.counted + self.fasteners

    @cached_property
    def tax_share(self) -> float:
        """Its share of the tax, by materials."""
        return self.whole.tax * self.materials / self.whole.materials if self.whole.materials else 0.0

    @cached_property
    def hours(self) -> float:
        """Labour: posts, and length of level guard, of sloped guard or of handrail."""
        return self.posts * (self.settings.hours_per_post or 0.0) + self.along * (self._hours_a_length or 0.0)

    @property
    def _hours_a_length(self) -> float | None:
        settings = self.settings
        if not self._is_guard:
            return settings.hours_handrail
        return settings.hours_per_level if self.kind == LEVEL else settings.hours_per_stair

    @property
    def hours_excel(self) -> str:
        """Formula part: hours of labour."""
        if not self._is_guard:
            return f"{{posts}}*{or_zero('{hours_per_post}')}+{{along}}*{or_zero('{hours_handrail}')}"
        a_foot = f'IF({{kind}}="{LEVEL}",{or_zero("{hours_per_level}")},{or_zero("{hours_per_stair}")})'
        return f"{{posts}}*{or_zero('{hours_per_post}')}+{{along}}*{a_foot}"

    @cached_property
    def labour(self) -> float:
        """What they cost."""
        return self.hours * (self.settings.labour_rate or 0.0)

    @cached_property
    def markup(self) -> float:
        """Mark-up on materials before tax, and on labour."""
        settings = self.settings
        return self.materials * (settings.markup_materials or 0.0) + self.labour * (settings.markup_labour or 0.0)

    @cached_property
    def total(self) -> float:
        """Price of the run without the job's other costs."""
        return self.materials + self.tax_share + self.labour + self.markup

    @property
    def per_length(self) -> float | None:
        """Of a foot or a metre."""
        return self.total / self.along if self.along > 0 else None

    @property
    def says(self) -> str:
        """Whether anything is missing from its total."""
        gaps = self.whole.gaps
        of_posts = gaps.unheld_posts or gaps.unsized_posts
        return INCOMPLETE if self._unpriced or self._unrated or self._bare or of_posts or gaps.spares_unknown else ""

    @property
    def _unpriced(self) -> bool:
        """Whether something that it has a share of has no price or no board."""
        of, whole = self.chosen, self.whole
        missing = any(whole.bought[row - 1].missing for row in of.materials)
        return missing or any(whole.offers[row - 1].lacks for row in of.offers) or of.uncut > 0

    @property
    def unpriced_excel(self) -> str:
        """Formula part: the same."""
        missing = [f"INDEX({{materials_missing}},{row})" for row in self.chosen.materials]
        lacks = [f"INDEX({{offers_lacks}},{row})" for row in self.chosen.offers]
        return f"{'+'.join([*missing, *lacks, '{uncut}'])}>0"

    @property
    def _unrated(self) -> bool:
        """Whether a rate of tab Job is missing that it needs."""
        settings = self.settings
        by_posts, by_length = self.posts > 0 and settings.hours_per_post is None, self.along > 0
        return (
            any(getattr(settings, each) is None for each in RATES)
            or by_posts
            or (by_length and self._hours_a_length is None)
        )

    @property
    def _bare(self) -> int:
        """Kinds of its joints into which nothing goes, of all runs of its assembly."""
        row: int = self.line.assembly_row
        bare = self.whole.gaps.bare
        if not 0 < row <= len(bare):
            return 0
        return bare[row - 1].bare if self._is_guard else bare[row - 1].brackets

    @property
    def unrated_excel(self) -> str:
        """Formula part: whether a rate of tab Job is missing that it needs."""
        level, stair = "COUNT({hours_per_level})=0", "COUNT({hours_per_stair})=0"
        length = f'IF({{kind}}="{LEVEL}",{level},{stair})' if self._is_guard else "COUNT({hours_handrail})=0"
        return f"COUNT({_RATES})<{len(RATES)},AND({{posts}}>0,COUNT({{hours_per_post}})=0),AND({{along}}>0,{length})"

    @property
    def bare_excel(self) -> str:
        """Formula part: whether nothing goes into some of its joints."""
        tab, column = ("lines", "bare") if self._is_guard else ("handrails", "brackets")
        return f"INDEX({{bare_joints_{column}}},INDEX({{{tab}_assembly_row}},{{source_row}}))>0"

    @property
    def moved(self) -> bool:
        """Whether the run asks for another run."""
        return bool(self.line.status)

    @property
    def bought_otherwise(self) -> bool:
        """Whether any material does: the tax is shared by all of them."""
        return self.whole.stale

    @cached_property
    def status(self) -> str:
        """Asks for another run when the run does, or any material."""
        return TAB.status_of(self)


def _sum(sort: int) -> str:
    """Formula: shares of one sort."""
    return f"=SUMIFS({{run_shares_cost}},{{run_shares_cost_row}},{{number}},{{run_shares_sort}},{sort})"


_WHOLE = "SUM({materials_total})"
_RATES = ",".join(f"{{{each}}}" for each in RATES)

TAB = Tab(
    "run_costs",
    "Cost by run",
    RunCost,
    (
        Column("run", "Run", MARK),
        Column("kind", "Kind", CHOICE, "=[kind_excel]", width=9),
        Column("along", "Length", FEET, f"=[along_excel]/{IN_FEET}"),
        Column("posts", "New posts", NUMBER, width=7),
        Column("boards", "Boards", MONEY, _sum(FROM_BOARDS)),
        Column("counted", "Counted items", MONEY, _sum(COUNTED)),
        Column("fasteners", "Fasteners and trim", MONEY, _sum(FASTENERS)),
        Column("materials", "Materials", MONEY, "={boards}+{counted}+{fasteners}"),
        Column("tax_share", "Tax", MONEY,
            f"=IF({_WHOLE}=0,0,SUM({{materials_line_tax}})*{{materials}}/{_WHOLE})", width=9),
        Column("hours", "Hours", NUMBER, "=[hours_excel]"),
        Column("labour", "Labour", MONEY, "={hours}*" + or_zero("{labour_rate}")),
        Column("markup", "Mark-ups", MONEY,
            f"={{materials}}*{or_zero('{markup_materials}')}+{{labour}}*{or_zero('{markup_labour}')}"),
        Column("total", "Total", MONEY, "={materials}+{tax_share}+{labour}+{markup}"),
        Column("per_length", "Total", PER_FOOT, '=IF({along}<=0,"",{total}/{along})'),
        Column("says", "Total is", TEXT,
            "=IF(OR([unpriced_excel],[unrated_excel],[bare_excel],"
            f'{{unheld_posts}}>0,{{unsized_posts}}>0,{{spares_unknown}}>0),"{INCOMPLETE}","")', width=11),
        Column("number", "Row", COUNT),
        Column("source_row", "Source row", COUNT),
        Column("uncut", "Rows without a board", COUNT, path="chosen.uncut"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="What each run costs, without permit, delivery, tear-out and dump. Boards are shared by what the pieces "
    "take up, with their offcuts; a post that runs share is split equally. Cost says what an incomplete one lacks.",
    none="No run is laid out.",
    paper_to="says",
    key="run",
    rests=Rests(
        unless={
            "moved": 'INDEX({[source]_status},{source_row})="run again"',
            "bought_otherwise": "{materials_status_count}+{needs_status_count}>0",
        }
    ),
)  # fmt: skip


def by_row(shares: Sequence[RunShare], key: Callable[[RunShare], int]) -> dict[int, list[RunShare]]:
    """Shares by a row number of theirs."""
    found: dict[int, list[RunShare]] = {}
    for share in shares:
        found.setdefault(key(share), []).append(share)
    return found
