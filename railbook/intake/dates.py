"""A fraction that the spreadsheet turned into a date, recognised again.

A typed 3/8 becomes 8 March of this year, shown as d-mmm; a typed 3/32 becomes 1 March 1932, shown as
mmm-yy, because there is no 32nd day; 1-1/2 becomes 2 January 2002 or 1 January 2002. The first
number is the month in the United States and the day elsewhere. What was meant is only ever offered.
"""

import datetime as dt
import re

from railbook.basics.units import Refusal, tape_fraction

_NOT_SHOWN = re.compile(r"\[[^\]]*\]|\"[^\"]*\"|\\.")  # colours and locales, quoted text, escaped signs


def fractions_meant(when: dt.date, number_format: str) -> str:
    """The lengths that may have been typed, or nothing.

    >>> fractions_meant(dt.date(2026, 3, 8), "d-mmm")
    '3/8'
    >>> fractions_meant(dt.date(1932, 3, 1), "mmm-yy")
    '3/32'
    """
    shown = _NOT_SHOWN.sub("", number_format.casefold())
    month, day, year = when.month, when.day, when.year % 100
    if "d" not in shown:
        return tape_fraction(month, year)
    found = [tape_fraction(month, day), tape_fraction(day, month)]
    if "y" in shown:
        found += [_mixed(month, day, year), _mixed(day, month, year)]
    return " or ".join(dict.fromkeys(length for length in found if length))


def _mixed(whole: int, over: int, under: int) -> str:
    fraction = tape_fraction(over, under)
    return f"{whole} {fraction}" if fraction else ""


def no_length(when: dt.date | dt.time | dt.timedelta, number_format: str) -> Refusal:
    """Why a date or a time is no length, with the fraction that was most probably typed.

    >>> no_length(dt.date(2026, 3, 8), "d-mmm").why
    'is a date, most probably 3/8 that the spreadsheet turned into one'
    """
    if not isinstance(when, dt.date):
        return Refusal("is a time of day", "format the cell as text, then type the length")
    meant = fractions_meant(when, number_format)
    if not meant:
        return Refusal("is a date", "format the cell as text, then type the length")
    zero = "0 " if " " not in meant else ""
    return Refusal(
        f"is a date, most probably {meant} that the spreadsheet turned into one",
        f"format the cell as text, or type {zero}{meant}",
    )
