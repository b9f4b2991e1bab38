"""Help while typing: drop-downs, what is accepted, and a line that pops up beside the cell."""

import datetime as dt
from collections.abc import Container, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from xlsxwriter.utility import xl_range_abs
from xlsxwriter.worksheet import Worksheet

from railbook.basics.double_entry import Column
from railbook.basics.kinds import (
    ANGLE,
    BEARING,
    COUNT,
    DATE,
    FACTOR,
    INCH,
    LIMIT,
    MARKUP,
    MILLIMETRE,
    MONEY,
    NUMBER,
    PAYMENT,
    PERCENT,
    SIGNED,
    YES_NO,
    Kind,
)
from railbook.report.cells import accepted
from railbook.report.layout import Sheet

LISTS_TITLE = "Lists"
LONGEST_LIST = 255  # characters of a drop-down that is kept in the cell's own rule
LONGEST_TITLE, LONGEST_MESSAGE = 32, 255
GREATEST_NUMBER = 9_999_999
EARLIEST = dt.date(1990, 1, 1)
ANSWERS = ("Yes", "No")
LENGTH_ADVICE = MappingProxyType(
    {
        INCH: "Type a number of inches, such as 90 3/8 or 90.375.",
        MILLIMETRE: "Type a number of millimetres, such as 2296.",
    }
)
ADVICE: Mapping[str, str] = MappingProxyType(
    {
        ANGLE.name: "Type a number of degrees, such as 35.5.",
        BEARING.name: "Type a number of degrees, such as 270.",
        COUNT.name: "Type a whole number, such as 3.",
        FACTOR.name: "Type a number, such as 1.25.",
        LIMIT.name: "Type a number in the unit that stands in its row.",
        MARKUP.name: "Type a percentage, such as 15%.",
        MONEY.name: "Type an amount without the currency sign, such as 18.75.",
        NUMBER.name: "Type a number, such as 1.5.",
        PAYMENT.name: "Type an amount without the currency sign, such as 18.75; a refund with a minus.",
        PERCENT.name: "Type a percentage, such as 7.5%.",
    }
)

MAY_BE_NEGATIVE = (ANGLE, PAYMENT, SIGNED)
MOST: Mapping[str, int] = MappingProxyType({PERCENT.name: 1, MARKUP.name: 10})  # as reading a form takes them

Lists = Mapping[tuple[str, ...], str]  # long drop-downs and the cells that hold them


def is_length(kind: Kind, unit: str) -> bool:
    """Whether a kind's numbers are lengths in the job's unit.

    >>> is_length(SIGNED, "in"), is_length(MONEY, "in")
    (True, False)
    """
    return kind.units[unit] == unit


def options_of(column: Column) -> tuple[str, ...]:
    """The only values that may be typed; none when the column is free.

    >>> options_of(Column("open_risers", "Open risers", YES_NO))
    ('Yes', 'No')
    """
    return column.choices or (ANSWERS if column.kind == YES_NO else ())


def long_lists(sheets: Iterable[Sheet]) -> Lists:
    """Drop-downs that need a sheet of their own, with the cells where each will stand."""
    columns = (column for sheet in sheets for column in sheet.tab.columns if column.typed)
    found = dict.fromkeys(options_of(column) for column in columns if _is_long(options_of(column)))
    return {options: f"={LISTS_TITLE}!{xl_range_abs(0, at, len(options) - 1, at)}" for at, options in enumerate(found)}


def _is_long(options: Sequence[str]) -> bool:
    """Whether a drop-down does not fit a cell's own rule: too long, or a comma would part a value."""
    return len(",".join(options)) > LONGEST_LIST or any("," in option for option in options)


def checked_source(column: Column, names: Container[str]) -> str:
    """The word whose cells a drop-down offers.

    Raises:
        ValueError: when the book has no such word.
    """
    if column.listed_in not in names:
        raise ValueError(f"drop-down of {column.name}: nothing is called {column.listed_in!r}")
    return column.listed_in


def rule(column: Column, unit: str, *, form: bool, lists: Lists, names: Container[str]) -> dict[str, Any]:
    """What a typed cell accepts, and what it says.

    Args:
        column: what is typed.
        unit: the job's length unit.
        form: on a form lengths may be typed as text, such as 7' 6 3/8".
        lists: drop-downs that stand on a sheet of their own.
        names: words of the book.

    >>> rule(Column("rise", "Rise", SIGNED), "in", form=True, lists={}, names=())["validate"]
    'any'
    >>> rule(Column("rise", "Rise", SIGNED), "in", form=False, lists={}, names=())["validate"]
    'decimal'
    """
    hint = {"input_title": column.header[:LONGEST_TITLE], "input_message": column.help[:LONGEST_MESSAGE]}
    return _accepts(column, unit, form=form, lists=lists, names=names) | (hint if column.hint else {})


def _accepts(column: Column, unit: str, *, form: bool, lists: Lists, names: Container[str]) -> dict[str, Any]:
    """What a typed cell accepts, without the hint."""
    options = options_of(column)
    if options:
        source = lists.get(options, list(options))
        return {"validate": "list", "source": source} | _error("Choose a value from the list.")
    if column.listed_in:
        advice = f"This value does not stand in its own tab yet. {column.hint}"
        return {"validate": "list", "source": f"={checked_source(column, names)}"} | _error(advice, kind="warning")
    if column.kind == DATE:
        accepts = {"validate": "date", "criteria": ">=", "value": EARLIEST}
        return accepts | _error("Type a date as year-month-day, such as 2026-04-30.")
    if not column.kind.numeric or (form and is_length(column.kind, unit)):
        return {"validate": "any"}
    advice = LENGTH_ADVICE[unit] if is_length(column.kind, unit) else ADVICE[column.kind.name]
    least = -GREATEST_NUMBER if column.kind in MAY_BE_NEGATIVE else 0
    most = MOST.get(column.kind.name, GREATEST_NUMBER)
    accepts = {"validate": "decimal", "criteria": "between", "minimum": least, "maximum": most}
    return accepts | _error(advice)


def _error(advice: str, *, kind: str = "stop") -> dict[str, Any]:
    """What is said when a value is not accepted; a warning lets it pass all the same."""
    return {
        "error_title": "Please check this value",
        "error_message": advice[:LONGEST_MESSAGE],
        "error_type": kind,
    }


def validate(sheet: Worksheet, how: Mapping[str, Any], *, rows: tuple[int, int], at: int) -> None:
    """Put a rule on the cells of one sheet column, from row to row [counted from 1]."""
    if how["validate"] == "any" and "input_message" not in how:
        return
    accepted(sheet.data_validation(rows[0] - 1, at, rows[1] - 1, at, dict(how)))


def write_lists(sheet: Worksheet, lists: Lists) -> None:
    """Fill the hidden sheet that long drop-downs look at."""
    for at, options in enumerate(lists):
        for row, option in enumerate(options):
            accepted(sheet.write_string(row, at, option))
    sheet.hide()
