"""Warnings: what somebody must read before anything is bought or cut, the worst first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, FIGURE, TEXT, VERDICT
from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Problem
from railbook.basics.rounding import same
from railbook.checks import check
from railbook.checks.askew import askew_problems
from railbook.checks.bearings import bearing_problems
from railbook.checks.check import CLOSE, FAIL, IN_DOUBT, NOT_MEASURED, Check
from railbook.checks.clears import clear_problems
from railbook.checks.corners import corner_problems
from railbook.checks.edges import edge_problems
from railbook.checks.holding import holding_problems
from railbook.checks.leaning import leaning_problems
from railbook.checks.marks import mark_problems
from railbook.checks.raked import raked_problems
from railbook.checks.remedies import said
from railbook.checks.screws import screw_problems
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.takeoff.layout import Shop

NOW_PASSES = "now passes"
SEVERITIES = (STOPS, LEFT_OUT, FAIL, IN_DOUBT, CLOSE, LOOK, NOT_MEASURED, NOTE)  # the worst first
LISTED = (FAIL, IN_DOUBT, CLOSE, NOT_MEASURED)  # verdicts that make a warning


@dataclass(frozen=True)
class Finding:
    """One thing to read.

    Attributes:
        severity: one of SEVERITIES.
        where: cell, run, section or support.
        what: the fault.
        remedy: what to do.
        check: the check that it comes from, in row `check_row` of tab Code checks; None for others.
    """

    severity: str
    where: str
    what: str
    remedy: str
    check: Check | None = None

    @property
    def check_row(self) -> int | None:
        """Row of its check."""
        return None if self.check is None else self.check.check

    @cached_property
    def found(self) -> float | None:
        """The finding."""
        return None if self.check is None else self.check.found

    @cached_property
    def limit(self) -> float | None:
        """What it is held against."""
        return None if self.check is None else self.check.limit

    @cached_property
    def verdict(self) -> str:
        """The check's verdict as it is now; a mended row says that it now passes."""
        if self.check is None:
            return ""
        return self.check.verdict if self.check.verdict in LISTED else NOW_PASSES

    @property
    def clause(self) -> str:
        """Where the demand stands."""
        return "" if self.check is None else self.check.clause


def warnings_of(
    job: Job, site: Site, shop: Shop, checks: Sequence[Check], problems: Sequence[Problem]
) -> tuple[Finding, ...]:
    """Every warning of the job, the worst first."""
    found = [
        *(Finding(each.severity, each.where, each.what, each.remedy) for each in problems),
        *(
            Finding(check.verdict, check.where, check.demand, _remedy(check), check)
            for check in checks
            if check.verdict in LISTED
        ),
        *(Finding(each.severity, each.where, each.what, each.remedy) for each in job_problems(job, site, shop)),
    ]
    return tuple(sorted(found, key=lambda each: SEVERITIES.index(each.severity)))


def _remedy(check: Check) -> str:
    """What to do; a check that passes by less than a step of the tape needs some room."""
    if check.verdict != CLOSE:
        return check.remedy
    return f"passes by less than a step of the tape: give it room. If it fails on site: {check.remedy}"


def job_problems(job: Job, site: Site, shop: Shop) -> Iterator[Problem]:
    """What the checks do not say: unequal clears, leans, corners without a direction, layouts without room."""
    yield from clear_problems(site, shop)
    yield from corner_problems(site)
    yield from askew_problems(site)
    yield from bearing_problems(site)
    yield from edge_problems(site)
    yield from _cut_though_bought(site)
    yield from raked_problems(site)
    yield from leaning_problems(site)
    yield from mark_problems(job, site)
    yield from holding_problems(job, site)
    yield from screw_problems(job, site, shop)


def _cut_though_bought(site: Site) -> Iterator[Problem]:
    """Stair guards that meet the level guard, so that their bought balusters cannot be used uncut."""
    for guard in site.guards:
        bought, needed = guard.bought_length, guard.baluster_length
        if bought is not None and needed is not None and not same(bought, needed):
            has, needs = said(bought, guard.settings), said(needed, guard.settings)
            what = f"run {guard.run} meets the level guard: its bought balusters of {has} are cut to {needs}"
            remedy = "choose Height: Own to use them uncut"
            if needed > bought:
                what = f"run {guard.run} needs balusters of {needs}: longer than the {has} that are bought"
                remedy = "buy longer ones, or choose Height: Own"
            yield Problem(guard.measures.typed.origin.cell("height"), what, remedy, LOOK)


_LISTED = ",".join('{check.verdict}="' + verdict + '"' for verdict in LISTED)

TAB = Tab(
    "warnings",
    "Warnings",
    Finding,
    (
        Column("severity", "How bad", VERDICT, width=13),
        Column("where", "Where", TEXT, width=20),
        Column("what", "What was found", TEXT, width=40),
        Column("found", "Found", FIGURE, "={check.found}", when="check"),
        Column("limit", "Limit", FIGURE, "={check.limit}", when="check"),
        Column(
            "verdict", "Now", VERDICT, "=IF(OR(" + _LISTED + '),{check.verdict},"now passes")', when="check", width=13,
        ),
        Column("clause", "Clause", TEXT, "={check.clause}", when="check", width=18),
        Column("remedy", "What to do", TEXT, width=48),
        Column("check_row", "Check", COUNT, width=7),
    ),
    purpose="Read these before anything is bought or cut, the worst first.",
    alert='=IF({new_failures}>0,{new_failures}&" more checks fail now: run railbook on this workbook again","")',
    none="Nothing was found.",
    paper_to="remedy",
    key="severity",
    joins={"check": Join(check.TAB, "check_row", "check")},
)  # fmt: skip
