"""The estimate, start to finish: read the workbook, build the job, choose, lay out, check, write.

TABS names every tab of the result in order; a row list of the same name holds what is on it.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NamedTuple

from railbook.basics.double_entry import Tab, stale_rows
from railbook.basics.kinds import INCH
from railbook.basics.problem import NOTE, STOPS, Problem
from railbook.basics.version import VERSION
from railbook.checks import check, checklist, stairways, summary, warnings
from railbook.checks.check import NOT_MEASURED
from railbook.checks.summary import runs_listed
from railbook.geometry import (
    agreement,
    caps,
    chosen,
    flights,
    guards,
    handrail_slopes,
    handrails,
    joints,
    leans,
    lines,
    measures,
    post_tops,
    posts,
    sections,
    triangles,
)
from railbook.geometry.choices import choose_site
from railbook.geometry.survey import Site, SiteChoices, lay_out_site
from railbook.intake.read import read as read_tabs
from railbook.job import assemblies, fastenings, limits, prices, runs, settings, starters, supports
from railbook.job import flights as typed_flights
from railbook.job.build import Job, build
from railbook.report.book import Sheet, write_book
from railbook.report.saving import is_open, save
from railbook.takeoff import (
    balusters,
    blocks,
    bring_along,
    cut_list,
    fasteners,
    joint_counts,
    mounts,
    places,
    run_fasteners,
    section_counts,
    spacings,
    story,
)
from railbook.takeoff.choices import choose_shop, lay_out_shop
from railbook.takeoff.fastening import Fastened, FasteningChoices, choose_fastening, lay_out_fastening
from railbook.takeoff.layout import Shop, ShopChoices
from railbook.takeoff.unfastened import fastening_problems

INPUT_TABS: tuple[Tab, ...] = (
    settings.TAB,
    runs.TAB,
    typed_flights.TAB,
    supports.TAB,
    assemblies.TAB,
    fastenings.TAB,
    prices.TAB,
    limits.TAB,
)
READING_TABS: tuple[Tab, ...] = (
    summary.TAB,
    warnings.TAB,
    cut_list.TAB,
    balusters.TAB,
    posts.TAB,
    blocks.TAB,
    handrails.TAB,
    fasteners.TAB,
    bring_along.TAB,
    run_fasteners.TAB,
    check.TAB,
)
WORKING_TABS: tuple[Tab, ...] = (
    story.TAB,
    flights.TAB,
    measures.TAB,
    agreement.TAB,
    joints.TAB,
    guards.TAB,
    triangles.TAB,
    leans.TAB,
    lines.TAB,
    sections.TAB,
    post_tops.TAB,
    caps.TAB,
    handrail_slopes.TAB,
    mounts.TAB,
    section_counts.TAB,
    places.TAB,
    spacings.TAB,
    joint_counts.TAB,
    stairways.TAB,
    chosen.TAB,
)
RESULT_TABS: tuple[Tab, ...] = (*READING_TABS, *WORKING_TABS)
TABS: tuple[Tab, ...] = (*READING_TABS, *INPUT_TABS, *WORKING_TABS)

Rows = Mapping[str, Sequence[Any]]


class Choices(NamedTuple):
    """Everything that was chosen for a job, so that it can be laid out again."""

    site: SiteChoices
    shop: ShopChoices
    fastening: FasteningChoices
    runs_known: int


@dataclass(frozen=True)
class Estimate:
    """A computed job.

    Attributes:
        job: what was read; None when nothing could be computed.
        choices: what was chosen.
        rows: tab name -> its rows.
        problems: what was wrong with the input.
        result: the workbook written; None when none was.
    """

    job: Job | None
    choices: Choices | None
    rows: Rows
    problems: tuple[Problem, ...]
    result: Path | None = None

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
        rows = [[getattr(row, each.name) for each in columns] for row in self.rows[tab]]
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


def choose(job: Job) -> tuple[Choices, tuple[Problem, ...]]:
    """Choose sections, layouts, gatherings and fasteners; problems name runs and joints that need a look."""
    site_choices, problems = choose_site(job)
    site = lay_out_site(job, site_choices)
    shop_choices = choose_shop(job, site)
    shop = lay_out_shop(job, site, shop_choices)
    fastening, counted = choose_fastening(job, site, shop)
    problems = (*problems, *fastening_problems(job, counted))
    return Choices(site_choices, shop_choices, fastening, runs_listed(job)), problems


def lay_out(job: Job, choices: Choices, problems: Sequence[Problem] = ()) -> Rows:
    """Rows of every tab, for this job with these choices."""
    site = lay_out_site(job, choices.site)
    shop = lay_out_shop(job, site, choices.shop)
    ways = checklist.stairways_of(job, site)
    checks = checklist.checks_of(job, site, shop, ways)
    found = warnings.warnings_of(job, site, shop, checks, problems)
    fastened = lay_out_fastening(job, site, shop, choices.fastening)
    rows = {**_input_rows(job), **_site_rows(site), **_shop_rows(shop), **_fastening_rows(fastened)}
    told = next(iter(choices.site.likes), None)
    rows["story"] = (story.story_of(fastened.section_counts, told, job.settings.tape_step),)
    rows |= {"stairways": ways, "code_checks": checks, "warnings": found}
    tabs = {tab.name: tab for tab in RESULT_TABS}
    stale = sum(stale_rows(tabs[name], rows[name]) for name in summary.STALE_TABS)
    page = summary.Summary(
        job, site, shop, checks, found, choices.runs_known, stale,
        f"railbook {VERSION}",
    )  # fmt: skip
    return rows | {"summary": (page,)}


def _input_rows(job: Job) -> dict[str, Sequence[Any]]:
    """What was typed, to be copied into the result."""
    marked = {"runs": job.runs, "flights": job.flights, "supports": job.supports, "assemblies": job.assemblies}
    return {
        "job": (job.settings,),
        **{tab: (*rows, *job.unmarked.get(tab, ())) for tab, rows in marked.items()},
        "fastenings": job.fastenings,
        "prices": job.prices,
        "rules": job.limits,
    }


def _site_rows(site: Site) -> dict[str, Sequence[Any]]:
    """Rows of the geometry tabs."""
    return {
        "chosen": (site.chosen,),
        "flight_working": site.flights,
        "measures": site.measures,
        "agreement": site.agreements,
        "guards": site.guards,
        "triangles": site.triangles,
        "leans": site.leans,
        "lines": site.lines,
        "sections": site.sections,
        "posts": site.posts,
        "post_tops": tuple(post.worked for post in site.posts),
        "joints": site.joints,
        "caps": site.caps,
        "handrail_slopes": site.handrail_slopes,
        "handrails": site.handrails,
    }


def _shop_rows(shop: Shop) -> dict[str, Sequence[Any]]:
    """Rows of the takeoff tabs."""
    return {
        "blocks": shop.blocks,
        "baluster_layout": shop.layouts,
        "cut_list": shop.pieces,
    }


def _fastening_rows(fastened: Fastened) -> dict[str, Sequence[Any]]:
    """Rows of the fastening tabs."""
    return {
        "fasteners": fastened.fasteners,
        "bring_along": fastened.brought,
        "run_fasteners": fastened.run_fasteners,
        "mounts": fastened.mounts,
        "section_counts": fastened.section_counts,
        "places": fastened.places,
        "spacings": fastened.spacings,
        "joint_counts": fastened.joint_counts,
    }


def estimate(path: Path) -> Estimate:
    """Compute a measurement workbook without writing anything."""
    job, problems = read(path)
    if job is None:
        return Estimate(None, None, {}, problems)
    choices, undivided = choose(job)
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
    sheets = [Sheet(tab, computed.rows[tab.name], _blank_rows(tab)) for tab in TABS]
    write_book(path, sheets, unit=unit, footer=computed.job.settings.job_name or "", form=False)


def _blank_rows(tab: Tab) -> int:
    """Empty rows below a copied input tab, so that a run can be added there."""
    return 20 if tab in INPUT_TABS and not tab.down and not tab.row_word else 0


def result_path(path: Path) -> Path:
    """Where the result of a workbook goes: beside it; computing a result again counts on.

    >>> result_path(Path("porch.xlsx")).name, result_path(Path("porch result.xlsx")).name
    ('porch result.xlsx', 'porch result 2.xlsx')
    >>> result_path(Path("porch result 2.xlsx")).name
    'porch result 3.xlsx'
    """
    again = re.fullmatch(r"(.* result)(?: (\d+))?", path.stem)
    stem = f"{again[1]} {int(again[2] or 1) + 1}" if again else f"{path.stem} result"
    return path.with_name(f"{stem}.xlsx")


def compute(path: Path) -> Estimate:
    """Compute a measurement workbook and write the result beside it; the input is never changed."""
    computed = estimate(path)
    if computed.job is None:
        return computed
    place = result_path(path)
    problem = save(place, lambda passing: write(computed, passing))
    if problem is not None:
        return replace(computed, problems=(*computed.problems, problem))
    return replace(computed, result=place)
