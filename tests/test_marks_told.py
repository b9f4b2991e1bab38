"""Marks that nothing uses, and marks that are used and stand on no tab."""

from dataclasses import replace
from typing import Any

from railbook.basics.problem import LOOK, NOTE
from railbook.checks.marks import mark_problems
from railbook.geometry.survey import lay_out_site
from railbook.job.assemblies import Assembly
from railbook.job.prices import EACH, Price
from railbook.job.runs import Run
from railbook.job.supports import WALL, Support
from tests.small_jobs import WOOD, flight, level, stair, work

BOUGHT = "not on tab Supports, so taken for new posts of their assembly: "
SOLD = [Price(item=item, sold_as=EACH) for item in ("4X4 POST", "5/4X6 CAP", "2X4", "2X2", "HANDRAIL")]


def told(*runs: Run, **more: Any) -> dict[str, str]:
    """What is told -> how bad it is."""
    worked = work(*runs, **{"prices": SOLD, **more})
    problems = mark_problems(worked.job, lay_out_site(worked.job, worked.choices.site))
    return {problem.what: problem.severity for problem in problems}


def test_a_support_without_a_row_is_told_to_be_bought() -> None:
    """A wall that somebody forgot to list would be bought as a post."""
    assert told(level(60.0)) == {f"{BOUGHT}P1, P2": NOTE}
    assert told(level(60.0), supports=(Support(support="P1", kind=WALL),)) == {f"{BOUGHT}P2": NOTE}


def test_a_support_on_no_run_is_told() -> None:
    found = told(level(60.0), supports=(Support(support="P7", kind=WALL),))

    assert found["support P7 is on no run"] == LOOK


def test_a_flight_on_no_run_is_told() -> None:
    climbed = stair(65.0, 48.75, upper_setback=2.0)
    other = replace(flight(7.5, 10.0), flight="F2")

    assert told(climbed, flights=(flight(7.5, 10.0), other))["flight F2 is on no run"] == LOOK


def test_an_assembly_of_the_users_own_on_no_run_is_told_the_starting_ones_are_not() -> None:
    own: Assembly = replace(WOOD, assembly="FRONT")

    assert told(level(60.0), assemblies=(WOOD, own))["assembly FRONT is on no run"] == NOTE


def test_items_for_sale_that_nothing_is_made_of_are_told_once_they_have_a_price() -> None:
    stray = Price(item="2X5", sold_as=EACH)

    assert "2X5" not in str(told(level(60.0), prices=[*SOLD, stray]))
    priced = told(level(60.0), prices=[*SOLD, replace(stray, price=3.0)])
    assert priced["nothing in this workbook is made of 2X5"] == NOTE


def test_items_that_nobody_sells_are_told_while_no_price_is_asked_for() -> None:
    assert told(level(60.0), prices=SOLD[1:])["not on tab Prices: 4X4 POST"] == NOTE
