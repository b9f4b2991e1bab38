"""Put one value into one cell: text stays text, a refused cell is an error."""

import datetime as dt
import math
import re

from xlsxwriter.format import Format

from railbook.report.overrides import QuickSheet
from railbook.report.styles import Ink

FORMULA_STARTS = ("=", "+", "-", "@")
LONGEST = 32_767  # characters of a cell, as the spreadsheet counts them: some signs are two
UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")  # unfit for a workbook's XML


def accepted(code: object) -> None:
    """Take note of the library's answer.

    Raises:
        ValueError: when it refused: the cell, name or rule would be missing from the workbook.
    """
    if isinstance(code, int) and code < 0:
        raise ValueError(f"xlsxwriter refused with code {code}")


def plain(text: str) -> str:
    r"""The text without characters that a workbook cannot hold.

    >>> plain("two\x0b lines\nkept")
    'two lines\nkept'
    """
    return UNPRINTABLE.sub("", text)


def fitted(text: str) -> str:
    """Text as long as a cell can hold; what is cut off is told in the cell.

    >>> fitted("as it is"), len(fitted("P1, " * 10_000)), fitted("P1, " * 10_000)[-30:]
    ('as it is', 32767, '1, P ... cut: 40000 characters')
    """
    if 2 * len(text) <= LONGEST:
        return text
    units = text.encode("utf-16-le")
    if len(units) <= 2 * LONGEST:
        return text
    told = f" ... cut: {len(text)} characters"
    return units[: 2 * (LONGEST - len(told))].decode("utf-16-le", errors="ignore") + told


def put_label(sheet: QuickSheet, row: int, column: int, text: str, style: Format) -> None:
    """Write the sheet's own words; none leave a blank cell that has the format [row from 1]."""
    if text:
        sheet.put_text(row - 1, column, text, style)
    else:
        sheet.put_blank(row - 1, column, style)


def put(sheet: QuickSheet, row: int, column: int, value: object, ink: Ink) -> None:
    """Write a typed or chosen value; nothing leaves a blank cell with its format [row from 1].

    Raises:
        TypeError: for a value of a type that no cell holds.
        ValueError: for a number that no cell shows.
    """
    at = (row - 1, column)
    match value:
        case None | "":
            sheet.put_blank(*at, ink.plain)
        case str():
            _put_text(sheet, row, column, fitted(plain(value)), ink)
        case bool():
            accepted(sheet.write_boolean(*at, value, ink.plain))
        case int() | float():
            sheet.put_number(*at, finite(value), ink.plain)
        case dt.date():
            day = dt.datetime(value.year, value.month, value.day)
            accepted(sheet.write_datetime(*at, day, ink.plain))
        case _:
            raise TypeError(f"no cell holds a {type(value).__name__}")


def _put_text(sheet: QuickSheet, row: int, column: int, text: str, ink: Ink) -> None:
    """Write text as text, whatever it looks like."""
    style = ink.quoted if text.startswith(FORMULA_STARTS) else ink.plain
    sheet.put_text(row - 1, column, text, style)


def put_formula(sheet: QuickSheet, row: int, column: int, formula: str, value: object, style: Format) -> None:
    """Write a live formula, made ready, with the engine's value as its result [row from 1]."""
    sheet.put_formula(row - 1, column, formula, style, cached(value))


def cached(value: object) -> str | float | bool:
    """The engine's value as a formula's result; nothing is empty text, as the formula itself says.

    >>> cached(None), cached(2.5), cached("fail")
    ('', 2.5, 'fail')

    Raises:
        TypeError: for a value that no formula gives.
        ValueError: for a number that no cell shows.
    """
    if isinstance(value, str):
        return fitted(plain(value))
    if value is None:
        return ""
    if not isinstance(value, int | float):
        raise TypeError(f"no formula gives a {type(value).__name__}")
    return finite(value)


def finite(number: float) -> float:
    """The number itself.

    Raises:
        ValueError: for one that no cell shows.
    """
    if not math.isfinite(number):
        raise ValueError(f"no cell shows {number}")
    return number
