"""What tab Warnings says of prices, stock and rates: what is told, at which figure, and what is not.

Bounds are common practice, no source: half a year for a price, 30 % of tax, 50 % of spares, 100 % of mark-up. The
railing is that of tests/pencil.py.
"""

import datetime as dt
from dataclasses import replace

import pytest

from railbook.job.prices import EACH, PACK, Price
from tests.pencil import FOURS, POST, RAIL, RATES, SINGLE, Read, made_of
from tests.small_jobs import level

MEASURED = dt.date(2026, 4, 30)
DATED = replace(RATES, date=MEASURED)


def section(*prices: Price, **rates: float | None) -> Read:
    return made_of([level(60.0)], prices or (POST, RAIL, SINGLE), settings=replace(DATED, **rates))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rate", "usual", "much", "said"),
    [
        ("tax", 0.3, 0.31, "Sales tax is 31%"),
        ("fastener_spares", 0.5, 0.6, "Spares, fasteners is 60%"),
        ("markup_materials", 1.0, 1.5, "Mark-up, materials is 150%"),
        ("markup_labour", 1.0, 1.01, "Mark-up, labour is 101%"),
    ],
)
def test_a_share_beyond_what_is_usual_is_asked_about(rate: str, usual: float, much: float, said: str) -> None:
    assert not section(**{rate: usual}).warned("is that meant?")
    (told,) = section(**{rate: much}).warned("is that meant?")
    assert told["What was found"] == f"{said}: is that meant?"


@pytest.mark.parametrize(("days", "old"), [(-400, 0), (0, 0), (180, 0), (181, 1)])
def test_a_price_is_old_after_half_a_year(days: int, old: int) -> None:
    """Asked so many days before the job was measured; a price asked since is news."""
    asked = replace(RAIL, price_date=MEASURED - dt.timedelta(days=days))

    assert len(section(POST, asked, SINGLE).warned("days older than the job")) == old


def test_a_price_that_is_not_known_is_not_old() -> None:
    read = section(POST, replace(RAIL, price=None, price_date=dt.date(2020, 1, 1)), SINGLE)

    assert not read.warned("days older than the job")
    assert [row["What was found"] for row in read.warned("no price")] == [
        "no price for RAIL of 10' 0\": the totals are incomplete"
    ]


def test_prices_of_one_age_are_told_together() -> None:
    """Day 200 before the job for two of them, day 201 for the third."""
    posts, rails, singles = (
        replace(each, price_date=MEASURED - dt.timedelta(days=days))
        for each, days in ((POST, 200), (RAIL, 200), (SINGLE, 201))
    )

    assert [row["What was found"] for row in section(posts, rails, singles).warned("older than the job")] == [
        "prices 200 days older than the job: POST of 4' 0\", RAIL of 10' 0\"",
        "prices 201 days older than the job: BALUSTER",
    ]


def test_stock_is_told_only_where_it_stays_in_the_yard() -> None:
    """Singles at 2.00 are dearer than packs, 22.00 against 21.00, and at 1.50 cheaper."""
    stock = replace(SINGLE, on_hand=3)

    assert not section(POST, RAIL, stock).warned("on hand")
    assert len(section(POST, RAIL, stock, FOURS).warned("3 of BALUSTER are on hand")) == 1
    assert not section(POST, RAIL, replace(stock, price=1.5), FOURS).warned("on hand")


def test_boards_on_hand_are_told_by_no_one_when_they_are_used() -> None:
    assert not section(POST, replace(RAIL, on_hand=2), SINGLE).warned("on hand")


def test_a_pack_of_unknown_size_is_told_and_not_bought() -> None:
    """It would be the cheaper way."""
    read = section(POST, RAIL, SINGLE, Price(item="BALUSTER", sold_as=PACK, price=1.0))

    assert read.bought("BALUSTER", "Sold as", "Charged") == (EACH, 22.0)
    assert len(read.warned("a pack of BALUSTER does not say how many it holds")) == 1
