"""Marks and items that nothing uses, and those that are used and stand on no tab: as a rule slips of the pen."""

from collections.abc import Iterable, Iterator
from dataclasses import fields

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.geometry.survey import Site
from railbook.job import starters
from railbook.job.assemblies import Assembly
from railbook.job.build import Job
from railbook.job.runs import Run

FEW = 6  # names in one sentence


def mark_problems(job: Job, site: Site) -> Iterator[Problem]:
    """Everything that is named in one place only."""
    yield from _on_no_run(job, site)
    yield from _not_listed(job)
    yield from _unused(job)
    yield from _items(job)


def _on_no_run(job: Job, site: Site) -> Iterator[Problem]:
    """Rows of tab Supports that no run names: a slip of the pen, or a post that would not be bought."""
    known = set(_named_supports(job.runs)) | {post.post for post in site.posts}
    for support in job.supports:
        if support.support not in known:
            remedy = "correct the mark; a post that carries no run is not counted: add it by hand"
            yield Problem(support.origin.cell("support"), f"support {support.support} is on no run", remedy, LOOK)


def _named_supports(runs: Iterable[Run]) -> dict[str, None]:
    """Marks under From and To, in order."""
    return dict.fromkeys(mark for run in runs for mark in (run.from_support, run.to_support) if mark)


def _not_listed(job: Job) -> Iterator[Problem]:
    """Supports without a row of their own: each is bought as a new post."""
    bought = [mark for mark in _named_supports(job.sound_runs) if mark not in job.support_of]
    if bought:
        what = f"not on tab Supports, so taken for new posts of their assembly: {few(bought)}"
        remedy = "nothing to do where that is so; walls, columns and posts that stand need a row there"
        yield Problem("Supports", what, remedy, NOTE)


def _unused(job: Job) -> Iterator[Problem]:
    """Flights that no run names, and the user's own assemblies that no run uses."""
    climbed = {run.flight for run in job.runs}
    for flight in job.flights:
        if flight.flight not in climbed:
            remedy = "name it under Flight on tab Runs, or clear the row"
            yield Problem(flight.origin.cell("flight"), f"flight {flight.flight} is on no run", remedy, LOOK)
    built = {run.assembly for run in job.runs} | {row.assembly for row in starters.assemblies(job.settings.unit)}
    for assembly in job.assemblies:
        if assembly.assembly not in built:
            what = f"assembly {assembly.assembly} is on no run"
            yield Problem(assembly.origin.cell("assembly"), what, "nothing to do, unless a run should have it", NOTE)


def _items(job: Job) -> Iterator[Problem]:
    """Priced items that no assembly and no fastening names; without any price, items that are not for sale."""
    named = set(_items_of(job, job.assembly_of))
    priced = [row.item for row in job.prices if row.price is not None and row.item and row.item not in named]
    if priced:
        what = f"nothing in this workbook is made of {few(dict.fromkeys(priced))}"
        yield Problem("Prices", what, "nothing to do, unless the item bears another name on the other tabs", NOTE)
    if any(row.price is not None for row in job.prices):
        return  # what has no price is told with the prices
    listed = {row.item for row in job.prices}
    missing = [item for item in _items_of(job, {run.assembly for run in job.runs}) if item not in listed]
    if missing:
        what = f"not on tab Prices: {few(missing)}"
        yield Problem("Prices", what, "list what is to be bought, or correct the name", NOTE)


def _items_of(job: Job, assemblies: Iterable[str | None]) -> dict[str, None]:
    """Items that these assemblies and their fastenings name, in order."""
    marks = set(assemblies)
    sizes = [each.name for each in fields(Assembly) if each.name.endswith("_item")]
    parts = [getattr(row, name) for row in job.assemblies if row.assembly in marks for name in sizes]
    driven = [row.item for row in job.fastenings if row.assembly in marks]
    return dict.fromkeys(item for item in (*parts, *driven) if item)


def few(names: Iterable[str]) -> str:
    """The names; of many the first and how many more.

    >>> few(["P1", "P2"]), few(f"P{number}" for number in range(1, 9))
    ('P1, P2', 'P1, P2, P3, P4, P5 and 3 more')
    """
    every = list(names)
    return ", ".join(every) if len(every) <= FEW else f"{', '.join(every[: FEW - 1])} and {len(every) - FEW + 1} more"
