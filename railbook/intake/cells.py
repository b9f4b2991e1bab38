"""One cell: what it holds as a value of its column's kind, or why it is refused and what to type."""

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType
from typing import Any

from railbook.basics import kinds
from railbook.basics.double_entry import Column
from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.units import Refusal, checked_length, parse_length, plain
from railbook.intake.dates import no_length
from railbook.intake.workbook import Cell

ERRORS = frozenset(
    ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#SPILL!", "#CALC!", "#GETTING_DATA")
)
LONGEST_MARK = 40
LONGEST_TEXT = 1000
LONGEST_SHOWN = 60
GREATEST = 1e12  # of a plain number
MOST_PERCENT, MOST_MARKUP = 1.0, 10.0  # shares of one
UNIT_WORDS: Mapping[str, str] = MappingProxyType(
    dict.fromkeys(("in", "in.", "inch", "inches", '"'), INCH)
    | dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), MILLIMETRE)
)
YES_NO_WORDS: Mapping[str, str] = MappingProxyType(
    dict.fromkeys(("yes", "y", "true"), "Yes") | dict.fromkeys(("no", "n", "false"), "No")
)

_DECIMAL = re.compile(r"[+-]?(?:\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})", re.ASCII)
_ISO_DATE = re.compile(r"(\d{4})-(\d\d?)-(\d\d?)", re.ASCII)
_DEGREES = re.compile(r" ?(?:\N{DEGREE SIGN}|deg|degrees)$")
_INVISIBLE = ("Cc", "Cf", "Cs")
_WILD = "*?~"
_NO_VALUE = Refusal(
    "has no calculated value",
    "open the workbook in your spreadsheet program, save it and run again, or type the value",
)

_SHARES = frozenset((kinds.PERCENT.name, kinds.MARKUP.name))
_KINDS_OF_WORDS = frozenset((kinds.YES_NO.name, kinds.TEXT.name, kinds.MARK.name))  # TRUE is a word to them
_JOINERS = "\u200c\u200d"  # they shape Persian and Indic words, and emoji of several signs
_STRAY_JOINER = re.compile(rf"(?<![^\x00-\x7f])[{_JOINERS}]|[{_JOINERS}](?![^\x00-\x7f])")

Reader = Callable[[Cell, Column, str], Any]


def read_cell(cell: Cell, column: Column, unit: str) -> Any:
    """Value of a filled cell by the kind of its column, or a Refusal.

    Args:
        cell: a cell that is not blank.
        column: says the kind and the choices.
        unit: the job's length unit.

    >>> read_cell(Cell("90 3/8"), Column("rise", "Rise", kinds.MEASURED), "in")
    90.375
    >>> read_cell(Cell(True), Column("rise", "Rise", kinds.MEASURED), "in").why
    'is a yes or no, which this column does not ask for'
    """
    if cell.uncalculated:
        return _NO_VALUE
    if cell.error or cell.value in ERRORS:
        return Refusal("is an error of the spreadsheet", "mend the formula, or type the value")
    if isinstance(cell.value, bool) and column.kind.name not in _KINDS_OF_WORDS:
        return Refusal("is a yes or no, which this column does not ask for", "type the value")
    if _is_percentage(cell) and column.kind.numeric and column.kind.name not in _SHARES:
        return Refusal("is a percentage, which this column does not ask for", "format the cell as a number, type again")
    return READERS[column.kind.name](cell, column, unit)


def is_blank(cell: Cell) -> bool:
    """Whether nothing that can be seen stands in the cell.

    >>> is_blank(Cell(" ")), is_blank(Cell(0))
    (True, False)
    """
    if cell.uncalculated or cell.error:
        return False
    return cell.value is None or (isinstance(cell.value, str) and not tidy(cell.value))


def shown(cell: Cell) -> str:
    """The cell as a problem quotes it.

    >>> shown(Cell("about 90")), shown(Cell(12.0)), shown(Cell(dt.datetime(2026, 3, 8)))
    ('"about 90"', '12', '2026-03-08')
    """
    if cell.uncalculated:
        return "the formula"
    text = as_shown(cell)
    cut = text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + " ..."
    return f'"{cut}"' if isinstance(cell.value, str) and not cell.error else cut


def as_shown(cell: Cell) -> str:
    """The cell's value as text, a percentage with its sign.

    >>> as_shown(Cell(0.45, "0%")), as_shown(Cell(0.45))
    ('45%', '0.45')
    """
    return f"{100 * cell.value:.15g}%" if _is_percentage(cell) else written(cell.value)


def written(value: Any) -> str:
    """Any cell's value as text.

    >>> written(12.0), written(True), written("  two   words ")
    ('12', 'TRUE', 'two words')
    """
    if isinstance(value, str):
        return tidy(value)
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return f"{value:.15g}" if isinstance(value, float) else str(value)[:LONGEST_TEXT]


def said(cell: Cell) -> str:
    """The cell's text, where it may be a header; a formula that was never calculated says nothing.

    >>> said(Cell(" Rise ")), said(Cell(None, uncalculated=True))
    ('Rise', '')
    """
    return "" if cell.uncalculated else written(cell.value)


def tidy(text: str) -> str:
    r"""Text without control characters, blanks collapsed.

    >>> tidy("porch\u00a0 front\u200b ")
    'porch front'
    """
    if not (text.isascii() and text.isprintable()):
        text = _STRAY_JOINER.sub("", "".join(_visible(sign) for sign in text))
    return " ".join(text.split())


def _visible(sign: str) -> str:
    if sign.isspace():
        return " "
    return "" if unicodedata.category(sign) in _INVISIBLE and sign not in _JOINERS else sign


def _is_percentage(cell: Cell) -> bool:
    """Whether the spreadsheet shows a number a hundred times as large, with its sign."""
    return isinstance(cell.value, int | float) and "%" in cell.number_format


def _length(cell: Cell, _: Column, unit: str, *, signed: bool = False, zero: bool = False) -> float | Refusal:
    """A length typed as a number or as text [job unit]."""
    value = cell.value
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        return no_length(value, cell.number_format)
    length = parse_length(value, unit, signed=True) if isinstance(value, str) else _bounded(value)
    return length if isinstance(length, Refusal) else checked_length(length, unit, signed=signed, zero=zero)


def _bounded(value: float) -> float | Refusal:
    """A number cell, unless it is no number or beyond anything that is counted or measured here."""
    if not abs(value) <= GREATEST:
        return Refusal("is no number that can be used", "type the number again")
    return float(value)


def _number(cell: Cell) -> float | Refusal:
    """A number typed as such or as plain decimal text."""
    value = cell.value
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        return Refusal("is a date or a time", "format the cell as a number, then type the number again")
    if not isinstance(value, str):
        return _bounded(value)
    text = plain(value)
    if "," in text:
        return Refusal("has a comma: decimals or thousands?", "type a point for decimals, and no thousands sign")
    return float(text) if _DECIMAL.fullmatch(text) else Refusal("is not a plain number", "type digits only")


def _any_number(cell: Cell, _: Column, __: str) -> float | Refusal:
    return _number(cell)


def _amount(cell: Cell, _: Column, __: str) -> float | Refusal:
    """A number of 0 or more."""
    return _not_negative(_number(cell), "type a number of 0 or more")


def _not_negative(number: float | Refusal, remedy: str) -> float | Refusal:
    """The number, unless it is below 0."""
    return Refusal("is negative", remedy) if not isinstance(number, Refusal) and number < 0 else number


def _between(number: float | Refusal, least: float, most: float, remedy: str) -> float | Refusal:
    """The number, if it keeps within the bounds."""
    if isinstance(number, Refusal) or least <= number <= most:
        return number
    return Refusal(f"is not from {least:.15g} to {most:.15g}", remedy)


def _degrees(cell: Cell, _: Column, __: str, *, least: float, most: float) -> float | Refusal:
    """An angle, with or without a degree sign [degrees]."""
    if isinstance(cell.value, str):
        cell = cell._replace(value=_DEGREES.sub("", plain(cell.value).casefold()))
    return _between(_number(cell), least, most, "type degrees")


def _count(cell: Cell, _: Column, __: str) -> int | Refusal:
    """A whole number."""
    remedy = "type a whole number"
    number = _between(_not_negative(_number(cell), remedy), 0, 1e6, remedy)
    if isinstance(number, Refusal):
        return number
    return int(number) if number.is_integer() else Refusal("is not whole", "type a whole number")


def _percent(cell: Cell, _: Column, __: str, *, most: float) -> float | Refusal:
    """A share of one; a number of 1 or more is believed only where a percent sign is shown."""
    remedy = "type a percentage with its sign, such as 8.25%"
    text = plain(cell.value) if isinstance(cell.value, str) else ""
    spoken = "%" in cell.number_format or text.endswith("%")
    share = _number(Cell(text.removesuffix("%").strip()) if text else cell)
    if isinstance(share, Refusal):
        return share
    share = share / 100 if text.endswith("%") else share
    if share >= 1 and not spoken:
        return Refusal("may be percent or a share of one", f"type it with its sign, {share:g}%")
    if share > most:
        return Refusal(f"is not from 0% to {100 * most:.0f}%", remedy)
    return _not_negative(share, remedy)


def _money(cell: Cell, column: Column, unit: str) -> float | Refusal:
    """An amount in the job's currency, of 0 or more."""
    return _not_negative(_payment(cell, column, unit), "type an amount of 0 or more")


def _payment(cell: Cell, _: Column, __: str) -> float | Refusal:
    """An amount in the job's currency; a refund is negative."""
    text = plain(cell.value) if isinstance(cell.value, str) else ""
    if text and unicodedata.category(text[0]) == "Sc":
        return Refusal("carries a currency sign as text", "type the number alone")
    return _number(cell)


def _text(cell: Cell, _: Column, __: str) -> str | Refusal:
    """Words, of a length that a page can show."""
    text = as_shown(cell)
    if len(text) > LONGEST_TEXT:
        return Refusal(f"has {len(text)} characters", f"shorten it to {LONGEST_TEXT}")
    return text


def _mark(cell: Cell, _: Column, __: str) -> str | Refusal:
    """The name of a thing, in capitals; whole numbers serve as marks too."""
    value = cell.value
    if isinstance(value, (dt.date, dt.time, dt.timedelta)) or _ISO_DATE.fullmatch(written(value)):
        return Refusal("is a date or a time, not a mark", "format the cell as text, then type the mark again")
    if isinstance(value, float) and not value.is_integer():
        return Refusal("is a number with decimals, not a mark", "type a mark such as A, S1 or 12")
    spelled = written(value).upper()
    mark = str(int(value)) if isinstance(value, float) else unicodedata.normalize("NFC", spelled)
    if any(sign in mark for sign in _WILD):
        return Refusal("has one of * ? ~, which spreadsheets take for any letters", "type another mark")
    if len(mark) > LONGEST_MARK:
        return Refusal(f"has {len(mark)} characters", f"shorten the mark to {LONGEST_MARK}")
    return mark


def _choice(cell: Cell, column: Column, unit: str) -> str | Refusal:
    """One of the column's choices as they are written there; any text where it lists none."""
    if not column.choices:
        return _text(cell, column, unit)
    typed = written(cell.value).casefold()
    match = next((choice for choice in column.choices if choice.casefold() == typed), None)
    return match or Refusal("is not one of the choices", f"type {_listed(column.choices)}")


def _listed(choices: tuple[str, ...]) -> str:
    return " or ".join(filter(None, (", ".join(choices[:-1]), choices[-1])))


def _yes_no(cell: Cell, _: Column, __: str) -> str | Refusal:
    answer = YES_NO_WORDS.get(written(cell.value).casefold())
    return answer or Refusal("is neither yes nor no", "type Yes or No")


def _unit(cell: Cell, _: Column, __: str) -> str | Refusal:
    unit = UNIT_WORDS.get(plain(written(cell.value)).casefold())
    return unit or Refusal("is not a length unit of a job", "type in or mm")


def _date(cell: Cell, _: Column, __: str) -> dt.date | Refusal:
    """A day, from a date cell or from text such as 2026-04-30."""
    if isinstance(cell.value, dt.datetime):
        return cell.value.date()
    if isinstance(cell.value, dt.date):
        return cell.value
    try:
        if iso := _ISO_DATE.fullmatch(written(cell.value)):
            return dt.date(*(int(part) for part in iso.groups()))
    except ValueError:
        return Refusal("is not a day of the calendar", "type year-month-day, such as 2026-04-30")
    return Refusal("is not a date", "type year-month-day, such as 2026-04-30")


# Kinds that a person fills in; the others are calculated, and asking for one here is a mistake of ours.
READERS: Mapping[str, Reader] = MappingProxyType(
    {
        kinds.MEASURED.name: _length,
        kinds.SIGNED.name: partial(_length, signed=True),
        kinds.TAPE.name: partial(_length, zero=True),
        kinds.ALLOWANCE.name: partial(_length, zero=True),
        kinds.LIMIT.name: partial(_length, zero=True),
        kinds.LENGTH.name: partial(_length, zero=True),
        kinds.ANGLE.name: partial(_degrees, least=-90, most=90),
        kinds.BEARING.name: partial(_degrees, least=0, most=360),
        kinds.FACTOR.name: _any_number,
        kinds.NUMBER.name: _amount,
        kinds.COUNT.name: _count,
        kinds.MONEY.name: _money,
        kinds.PAYMENT.name: _payment,
        kinds.PERCENT.name: partial(_percent, most=MOST_PERCENT),
        kinds.MARKUP.name: partial(_percent, most=MOST_MARKUP),
        kinds.DATE.name: _date,
        kinds.TEXT.name: _text,
        kinds.MARK.name: _mark,
        kinds.CHOICE.name: _choice,
        kinds.YES_NO.name: _yes_no,
        kinds.UNIT.name: _unit,
    }
)
