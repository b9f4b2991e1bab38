"""The blank measurement workbook: every input tab with its starting rows, and the page that says how to measure."""

import os
from pathlib import Path

from railbook.basics.problem import STOPS, Problem
from railbook.job import (
    assemblies,
    fastenings,
    flights,
    limits,
    paid,
    prices,
    runs,
    settings,
    starter_fastenings,
    starters,
    supports,
)
from railbook.job.how_to_measure import PAGE
from railbook.report.book import Sheet, write_book
from railbook.report.saving import save_new

ROOM = {"runs": 40, "flights": 12, "supports": 30, "assemblies": 12, "fastenings": 100, "prices": 80, "paid": 60}


def sheets(unit: str) -> list[Sheet]:
    """Every input tab of the blank form, in order."""
    start = starters.settings(unit)
    return [
        Sheet(settings.TAB, (start,)),
        Sheet(runs.TAB, (starters.example_run(unit),), ROOM["runs"]),
        Sheet(flights.TAB, (starters.example_flight(unit),), ROOM["flights"]),
        Sheet(supports.TAB, (starters.example_support(unit),), ROOM["supports"]),
        Sheet(assemblies.TAB, starters.assemblies(unit), ROOM["assemblies"]),
        Sheet(fastenings.TAB, starter_fastenings.fastenings(unit), ROOM["fastenings"]),
        Sheet(prices.TAB, starters.prices(unit), ROOM["prices"]),
        Sheet(paid.TAB, (), ROOM["paid"]),
        Sheet(limits.TAB, limits.published(start.rule_set, unit)),
    ]


def draw_form(path: Path, unit: str) -> None:
    """Write the blank form of a unit, "in" or "mm"."""
    write_book(path, sheets(unit), unit=unit, footer="Site measurements", form=True, pages=(PAGE,))


def write_form(path: Path, unit: str) -> Problem | None:
    """Write the blank form where nothing stands yet.

    Returns:
        None when it was written, else why not.
    """
    if path.suffix.lower() != ".xlsx":
        return Problem(str(path), "a workbook's name ends in .xlsx", f"write {path.stem or 'job'}.xlsx", STOPS)
    if os.path.lexists(path):
        return Problem(str(path), "there is a file of that name", "choose another name; nothing is overwritten", STOPS)
    return save_new(path, lambda place: draw_form(place, unit))
