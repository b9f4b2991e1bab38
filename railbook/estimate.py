"""The estimate, start to finish: read the workbook, build the job, choose, lay out, check, write."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NamedTuple

from railbook.basics.double_entry import Tab, rows_by_tab, stale_rows
from railbook.basics.kinds import INCH
from railbook.basics.machine import broken_off
from railbook.basics.problem import NOTE, STOPS, Problem
from railbook.basics.progress import Tell, quiet
from railbook.basics.version import VERSION
from railbook.boards.choices import choose_cutting
from railbook.boards.layout import CuttingChoices, lay_out_cutting
from railbook.checks import checklist, story, summary, warnings
from railbook.checks.check import NOT_MEASURED
from railbook.checks.summary import LAID_OUT
from railbook.checks.unseen import Seen, not_looked_at, not_measured
from railbook.fastening.choices import choose_fastening
from railbook.fastening.layout import FasteningChoices, lay_out_fastening
from railbook.fastening.unfastened import fastening_problems
from railbook.geometry.choices import choose_site
from railbook.geometry.survey import Site, SiteChoices, lay_out_site
from railbook.intake.read import read as read_tabs
from railbook.job import starters
from railbook.job.build import Job, build
from railbook.money.choices import choose_pricing
from railbook.money.layout import PricingChoices, Takeoff, lay_out_pricing
from railbook.money.problems import pricing_problems
from railbook.report.addresses import copied_to
from railbook.report.book import News, Sheet, write_book
from railbook.report.saving import is_open, save_result
from railbook.tabs import (
    INPUT_TABS,
    RESULT_TABS,
    TABS,
    WORKING_TABS,
    Rows,
    input_rows,
)
from railbook.takeoff.choices import choose_shop, lay_out_shop, squeezed_runs
from railbook.takeoff.layout import Shop, ShopChoices


class Choices(NamedTuple):
    """Everything that was chosen for a job, so that it can be laid out again; `told`: what boards and prices lack."""

    site: SiteChoices
    shop: ShopChoices
    fastening: FasteningChoices
    cutting: CuttingChoices
    pricing: PricingChoices
    runs_known: int
    seen: Seen
    told: tuple[Problem, ...]


@dataclass(frozen=True)
class Estimate:
    """A computed job.

    Attributes:
        job: what was read; None when nothing could be computed.
        choices: what was chosen.
        rows: tab name -> its rows.
        problems: what was wrong with the input.
        result: the workbook written; None when none was.
        kept: where the workbook is now that stood there before; None when there was none worth keeping.
    """

    job: Job | None
    choices: Choices | None
    rows: Rows
    problems: tuple[Problem, ...]
    result: Path | None = None
    kept: Path | None = None

    @property
    def needs_attention(self) -> bool:
        """Whether a check failed, a run was left out, or something must be looked at."""
        quiet = (NOTE, NOT_MEASURED)
        return any(row.severity not in quiet for row in self.rows.get("warnings", self.problems))

    def frame(self, tab: str) -> Any:
        """One tab as a pandas DataFrame, a column for each of its columns.

        Raises:
            KeyError: there is no tab of that name.
            ModuleNotFoundError: pandas is not installed (`pip install "railbook[frames]"`).
        """
        import pandas as pd

        columns = {each.name: each.columns for each in TABS}[tab]
        rows = [[each.value(row) for each in columns] for row in self.rows[tab]]
        return pd.DataFrame(rows, columns=[each.name for each in columns])


def read(path: Path) -> tuple[Job | None, tuple[Problem, ...]]:
    """The job in a workbook, and everything wrong with it."""
    reading = read_tabs(path, INPUT_TABS)
    if any(problem.severity == STOPS for problem in reading.problems):
        return None, reading.problems
    job, problems = build(reading.rows)
    unit = next((each.unit for each in reading.rows["job"]), INCH)
    problems = (*problems, *starters.typed_over(reading.examples, unit))
    told = {problem.where for problem in problems}  # the job knows more of a cell than its reader does
    return job, (*(problem for problem in reading.problems if problem.where not in told), *problems)


def choose(job: Job, *, seconds: float | None = None, tell: Tell = quiet) -> tuple[Choices, tuple[Problem, ...]]:
    """Choose sections, layouts, gatherings, fasteners and boards; problems name what needs a look.

    Args:
        job: what is to be built.
        seconds: of work, when to stop looking for a better cutting plan; None for as many as suit the job.
        tell: is told what takes long.
    """
    tell("laying out")
    job, site_choices, shop_choices, site, shop, problems = _shaped(job)
    fastening, counted = choose_fastening(job, site, shop)
    cutting, uncut = choose_cutting(job, shop, seconds=seconds, tell=tell)
    fastened = lay_out_fastening(job, site, shop, fastening)
    takeoff = Takeoff(job, site, shop, fastened, lay_out_cutting(job, shop, cutting))
    pricing = choose_pricing(takeoff)
    unpriced = pricing_problems(job, lay_out_pricing(takeoff, pricing))
    problems = (*problems, *fastening_problems(job, counted))
    told = (*uncut, *unpriced)
    checks = checklist.checks_of(job, site, shop, checklist.stairways_of(job, site))
    seen = Seen(not_measured(checks), not_looked_at(job, site))
    return Choices(site_choices, shop_choices, fastening, cutting, pricing, job.runs_listed, seen, told), problems


class _Shaped(NamedTuple):
    """A job without the runs that are refused, what was chosen of its shape, and that laid out."""

    job: Job
    site_choices: SiteChoices
    shop_choices: ShopChoices
    site: Site
    shop: Shop
    problems: tuple[Problem, ...]


def _shaped(job: Job) -> _Shaped:
    """Sections and layouts; a run whose balusters find no room is left out of the job, and the rest chosen anew."""
    refused: tuple[Problem, ...] = ()
    while True:
        site_choices, problems = choose_site(job)
        site = lay_out_site(job, site_choices)
        shop_choices = choose_shop(job, site)
        shop = lay_out_shop(job, site, shop_choices)
        found = squeezed_runs(site, shop)
        if not found:
            return _Shaped(job, site_choices, shop_choices, site, shop, (*problems, *refused))
        refused += tuple(found.values())
        job = replace(job, left_out=job.left_out | found.keys())


def lay_out(job: Job, choices: Choices, problems: Sequence[Problem] = ()) -> Rows:
    """Rows of every tab, for this job with these choices."""
    site = lay_out_site(job, choices.site)
    shop = lay_out_shop(job, site, choices.shop)
    ways = checklist.stairways_of(job, site)
    checks = checklist.checks_of(job, site, shop, ways)
    found = warnings.warnings_of(job, site, shop, checks, (*problems, *choices.told))
    fastened = lay_out_fastening(job, site, shop, choices.fastening)
    sawn = lay_out_cutting(job, shop, choices.cutting)
    priced = lay_out_pricing(Takeoff(job, site, shop, fastened, sawn), choices.pricing)
    rows = input_rows(job)
    for laid_out, tabs_of_room in zip((site, shop, fastened, sawn, priced), LAID_OUT, strict=True):
        rows |= rows_by_tab(laid_out, tabs_of_room)
    told = next(iter(choices.site.likes), None)
    rows["story"] = (story.story_of(fastened.sections, told, job.settings.tape_step),)
    rows |= {"stairways": ways, "code_checks": checks, "warnings": found}
    tabs = {tab.name: tab for tab in RESULT_TABS}
    stale = sum(stale_rows(tabs[name], rows[name]) for name in summary.STALE_TABS)
    page = summary.Summary(
        job, site, shop, checks, found, sawn, priced.cost, choices.runs_known, choices.seen, stale,
        f"railbook {VERSION}",
    )  # fmt: skip
    return rows | {"summary": (page,)}


def estimate(path: Path, *, seconds: float | None = None, tell: Tell = quiet) -> Estimate:
    """Compute a measurement workbook without writing anything; seconds and tell as for `choose`."""
    tell("reading")
    job, problems = read(path)
    if job is None:
        return Estimate(None, None, {}, problems)
    choices, undivided = choose(job, seconds=seconds, tell=tell)
    problems = (*problems, *undivided, *_open_note(path))
    return Estimate(job, choices, lay_out(job, choices, problems), problems)


def _open_note(path: Path) -> tuple[Problem, ...]:
    """A note when somebody has the workbook open."""
    if not is_open(path):
        return ()
    what = "the workbook is open in a spreadsheet program"
    return (Problem(path.name, what, "changes that are not saved there were not read", NOTE),)


def write(computed: Estimate, path: Path) -> None:
    """Write a computed job as a workbook.

    Raises:
        ValueError: nothing was computed.
    """
    if computed.job is None:
        raise ValueError("nothing was computed")
    unit = computed.job.settings.unit
    rows = {**computed.rows, "warnings": _told_here(computed.rows)}
    sheets = [Sheet(tab, rows[tab.name], _blank_rows(tab), hidden=tab in WORKING_TABS) for tab in TABS]
    news = News("runs_added", computed.rows["summary"][0].runs_added, "a run was added on tab Runs")
    write_book(path, sheets, unit=unit, footer=computed.job.settings.job_name or "", form=False, news=news)


def _told_here(rows: Rows) -> tuple[warnings.Finding, ...]:
    """Warnings that name the cells of the result, which its reader has open, instead of those that were read."""
    copied = copied_to([Sheet(tab, rows[tab.name]) for tab in INPUT_TABS])
    return tuple(
        replace(row, where=copied.here(row.where), what=copied.here(row.what), remedy=copied.here(row.remedy))
        for row in rows["warnings"]
    )


def _blank_rows(tab: Tab) -> int:
    """Empty rows below a copied input tab, so that a run can be added there."""
    return 20 if tab in INPUT_TABS and not tab.down and not tab.row_word else 0


_RESULT = re.compile(r"(.* result)(?: (\d+))?", re.DOTALL)


def is_result(path: Path) -> bool:
    """Whether a workbook is by its name a result that is computed again."""
    return _RESULT.fullmatch(path.stem) is not None


def result_path(path: Path) -> Path:
    """Where the result of a workbook goes: beside it; computing a result again counts on.

    A workbook of another ending has it in the result's name, so that `porch.xlsx` beside it keeps its own.

    >>> result_path(Path("porch.xlsx")).name, result_path(Path("porch result.xlsx")).name
    ('porch result.xlsx', 'porch result 2.xlsx')
    >>> result_path(Path("porch result 2.xlsx")).name, result_path(Path("porch.xlsm")).name
    ('porch result 3.xlsx', 'porch xlsm result.xlsx')
    """
    ending = "" if path.suffix.lower() in ("", ".xlsx") else f" {path.suffix[1:]}"
    name = path.stem + ending
    again = _RESULT.fullmatch(name)
    stem = f"{again[1]} {int(again[2] or 1) + 1}" if again else f"{name} result"
    return path.with_name(f"{stem}.xlsx")


def compute(path: Path, *, seconds: float | None = None, tell: Tell = quiet) -> Estimate:
    """Compute a measurement workbook and write the result beside it; the input is never changed.

    A result that stands there already is replaced if nobody has touched it, and kept under a dated name otherwise.

    Args:
        path: the workbook.
        seconds: of work, when to stop looking for a better cutting plan; None for as many as suit the job.
        tell: is told what takes long.
    """
    try:
        return _computed(path, seconds, tell)
    except (MemoryError, OSError) as fault:
        return Estimate(None, None, {}, (broken_off(path.name or str(path), fault),))


def _computed(path: Path, seconds: float | None, tell: Tell) -> Estimate:
    """What came of a workbook: nothing, rows without a result, or rows and a result."""
    computed = estimate(path, seconds=seconds, tell=tell)
    if computed.job is None:
        return computed
    tell("writing")
    place = result_path(path)
    saved = save_result(place, lambda passing: write(computed, passing), dt.datetime.now())
    if saved.problem is not None:
        return replace(computed, problems=(*computed.problems, saved.problem))
    return replace(computed, result=place, kept=saved.kept)
