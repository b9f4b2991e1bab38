"""Fractions that a spreadsheet turned into dates are recognised, and only ever offered."""

import datetime as dt

import pytest

from railbook.basics.units import DENOMINATORS
from railbook.intake.dates import fractions_meant, no_length

THIS_YEAR = 2025


def _as_spreadsheet(first: int, second: int, *, day_first: bool) -> tuple[dt.date, str] | None:
    """What a typed `first/second` becomes, or None where it stays text.

    The rule that spreadsheets follow: one number from 1 to 12 is the month and the other the day; where
    the second cannot be a day it is the year, of 1930 to 2029, and the date is shown as mmm-yy.
    """
    day, month = (first, second) if day_first else (second, first)
    try:
        return dt.date(THIS_YEAR, month, day), "d-mmm"
    except ValueError:
        pass
    if first > 12 or second < 13:
        return None
    return dt.date(second + (1900 if second >= 30 else 2000), first, 1), "mmm-yy"


TYPED = [(over, under) for under in DENOMINATORS for over in range(1, under)]


@pytest.mark.parametrize("day_first", [False, True])
def test_every_tape_fraction_that_becomes_a_date_is_recovered(
    day_first: bool,  # noqa: FBT001 - a case of the table
) -> None:
    seen = [(typed, _as_spreadsheet(*typed, day_first=day_first)) for typed in TYPED]
    dates = [(f"{over}/{under}", became) for (over, under), became in seen if became]

    assert len(dates) > 30
    assert [fractions_meant(*became) for _, became in dates] == [text for text, _ in dates]


@pytest.mark.parametrize(
    ("serial", "number_format", "meant"),
    [
        (45724, "d-mmm", "3/8"),  # serials as spreadsheets store them, day 1 being 1 January 1900
        (46089, "d-mmm", "3/8"),
        (11749, "mmm-yy", "3/32"),
        (23559, "mmm\\-yy", "7/64"),
        (23682, "[$-409]mmm-yy;@", "11/64"),
        (37257, "m/d/yyyy", "1 1/2"),  # typed 1-1/2
        (37377, "m/d/yyyy", "5 1/2"),
        (18264, "mmm-yy", ""),  # 1/50: no tape has fiftieths
    ],
)
def test_published_cases(serial: int, number_format: str, meant: str) -> None:
    when = dt.date(1899, 12, 30) + dt.timedelta(days=serial)

    assert fractions_meant(when, number_format) == meant


def test_two_readings_are_both_offered() -> None:
    """2 January 2064 may be 1/2 in this year's format, or 1 2/64, or 2 1/64."""
    assert fractions_meant(dt.date(2064, 1, 2), "m/d/yy") == "1/2 or 1 2/64 or 2 1/64"


def test_letters_that_are_not_shown_do_not_count() -> None:
    assert fractions_meant(dt.date(1964, 1, 2), '[Red]mmm" day "yy') == "1/64"


@pytest.mark.parametrize(
    ("when", "number_format", "remedy"),
    [
        (dt.datetime(2026, 3, 8), "d-mmm", "format the cell as text, or type 0 3/8"),
        (dt.datetime(2002, 5, 1), "m/d/yyyy", "format the cell as text, or type 5 1/2"),
        (dt.datetime(2026, 12, 31), "d-mmm", "format the cell as text, then type the length"),
        (dt.time(7, 6), "h:mm", "format the cell as text, then type the length"),
        (dt.timedelta(hours=30), "[h]:mm", "format the cell as text, then type the length"),
    ],
)
def test_the_remedy_says_what_to_type(when: dt.date | dt.time | dt.timedelta, number_format: str, remedy: str) -> None:
    assert no_length(when, number_format).remedy == remedy
