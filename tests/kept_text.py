"""A workbook as text, a text for each tab, so that a diff shows which figures moved.

First the columns, then an empty line, then the rows of the tab, their cells parted by tabs:

    12 rows
    A\t7- 0
    F\t7- # ??/??
    F\t=ROUND(D#/tape_step,0)*tape_step
    H:K\t=IF(@$5>D#,"",AG#)

Column F shows all from row 7 down as fractions, and its formula looks at column D of its own row (#). Columns H to K
have one formula, which looks at row 5 of its own column (@). A cell with a formula shows its value behind "=";
where its column has several formulas, "2=" is a cell with the second of them.
"""

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import count, groupby, zip_longest
from pathlib import Path
from typing import NamedTuple

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from railbook.basics.version import VERSION
from tests.recalculation import Formula, formula_cells

DIGITS = 12  # of a figure: the last ones of a computer's sixteen depend on the machine
TOLERANCE = 1e-11  # so twelve digits may differ in the last
_PINNED = f"railbook {VERSION}", "railbook VERSION"
_NUMBER = r"-?\d+(?:\.\d+)?(?:e[+-]\d+)?"
_NO_PLAIN_TEXT = re.compile(rf"'.*|\d*=.*|TRUE|FALSE|{_NUMBER}|\d{{4}}-\d\d-\d\d.*", re.DOTALL)
_SHOWN = re.compile(rf"(?P<formula>\d*=)?(?P<figure>{_NUMBER})")
_QUOTED_OR_CELL = re.compile(r""""[^"]*"|'[^']*'|(?<![\w.$])(\$?)([A-Z]{1,3})(\$?)(\d+)(?![\w.(])""")


class Moved(NamedTuple):
    """One place that does not stand as it was kept."""

    where: str
    kept: str
    made: str

    def __str__(self) -> str:
        return f"{self.where}: kept {self.kept!r}, made {self.made!r}"


def texts_of(place: Path) -> dict[str, str]:
    """The text of every tab of a workbook, by title."""
    values = formula_cells(place)
    return {sheet.title: _text(sheet, values[sheet.title]) for sheet in openpyxl.load_workbook(place).worksheets}


def moved(title: str, kept: str, made: str) -> Iterator[Moved]:
    """Every cell, column and number of rows in which two texts of a tab differ, in order."""
    (kept_columns, _, kept_rows), (made_columns, _, made_rows) = (text.partition("\n\n") for text in (kept, made))
    yield from _moved_columns(title, kept_columns.split("\n"), made_columns.split("\n"))
    rows = zip_longest(kept_rows.split("\n"), made_rows.split("\n"), fillvalue="")
    for number, (old, new) in enumerate(rows, start=1):
        if old != new:
            for at, cells in enumerate(zip_longest(old.split("\t"), new.split("\t"), fillvalue=""), start=1):
                if not _alike(*cells):
                    yield Moved(f"{title}!{get_column_letter(at)}{number}", *cells)


def _moved_columns(title: str, kept: Sequence[str], made: Sequence[str]) -> Iterator[Moved]:
    """Formats and formulas of columns that only one of two texts has."""
    gone = [line for line in kept if line not in set(made)]
    new = [line for line in made if line not in set(kept)]
    for old, now in zip_longest(gone, new, fillvalue=""):
        yield Moved(title, old, now)


def _alike(kept: str, made: str) -> bool:
    """Whether two cells show the same, with the same formula."""
    if kept == made:
        return True
    old, new = _SHOWN.fullmatch(kept), _SHOWN.fullmatch(made)
    if not old or not new or old["formula"] != new["formula"]:
        return False
    return math.isclose(float(old["figure"]), float(new["figure"]), rel_tol=TOLERANCE, abs_tol=10.0**-DIGITS)


def _text(sheet: Worksheet, values: Mapping[str, Formula]) -> str:
    """One tab: its columns, then its rows."""
    formats: dict[str, list[str]] = {}
    formulas: dict[str, list[str]] = {}
    rows: list[list[str]] = [[] for _ in range(sheet.max_row)]
    for letter, column in zip(map(get_column_letter, count(1)), sheet.iter_cols(), strict=False):
        formats[letter], formulas[letter] = [cell.number_format for cell in column], []
        for number, (row, cell) in enumerate(zip(rows, column, strict=True), start=1):
            if cell.data_type == "f":
                nth = _place_of(_in_one_line(relative(str(cell.value), letter, number)), formulas[letter])
                row.append(f"{nth if nth > 1 else ''}={_cell(values[cell.coordinate].value)}")
            else:
                row.append("" if cell.value is None else _cell(cell.value))
    columns = [(letter, [*_shown_as(formats[letter]), *_numbered(formulas[letter])]) for letter in formats]
    lines = ["\t".join(row).rstrip("\t") for row in rows]
    return "\n".join([f"{len(rows)} rows", *_gathered(columns), "", *lines]).rstrip("\n") + "\n"


def _place_of(formula: str, known: list[str]) -> int:
    """The number of a formula among those of its column, to which a new one is added."""
    if formula not in known:
        known.append(formula)
    return known.index(formula) + 1


def relative(formula: str, letter: str, row: int) -> str:
    """A formula as it looks from its own cell: # is its row, @ its column, where they are not held by a $.

    >>> relative('=IF(H$5>D7,"D7",AG7+$B$7)', "H", 7)
    '=IF(@$5>D#,"D7",AG#+$B$7)'
    """

    def told(found: re.Match[str]) -> str:
        if found[2] is None:
            return found[0]
        fixed, column, held, number = found.groups()
        own = column == letter and not fixed
        return f"{fixed}{'@' if own else column}{held}{'#' if not held and int(number) == row else number}"

    return _QUOTED_OR_CELL.sub(told, formula)


def _shown_as(formats: Sequence[str]) -> Iterator[str]:
    """Number formats of a column, with the rows from which and to which each of them holds."""
    first = 1
    for shown, those in groupby(formats):
        last = first + len(list(those)) - 1
        if shown != "General":
            yield f"{first}-{'' if last == len(formats) else last} {shown}"
        first = last + 1


def _numbered(formulas: Sequence[str]) -> Iterator[str]:
    """Formulas of a column, with their numbers where there are several."""
    return (f"{number if number > 1 else ''}{formula}" for number, formula in enumerate(formulas, start=1))


def _gathered(columns: Sequence[tuple[str, Sequence[str]]]) -> Iterator[str]:
    """What is told of each column; of neighbours of which the same is told, once."""
    for told, those in groupby(columns, key=lambda column: column[1]):
        letters = [letter for letter, _ in those]
        name = letters[0] if len(letters) == 1 else f"{letters[0]}:{letters[-1]}"
        yield from (f"{name}\t{line}" for line in told)


def _cell(value: object) -> str:
    """What stands in a cell; a text that could be taken for something else stands behind a '."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float):
        return f"{0.0 if abs(value) < 10.0**-DIGITS else value:.{DIGITS}g}"
    if isinstance(value, dt.datetime):
        return str(value).removesuffix(" 00:00:00")
    text = _in_one_line(str(value).replace(*_PINNED))
    return f"'{text}" if _NO_PLAIN_TEXT.fullmatch(text) else text


def _in_one_line(text: str) -> str:
    return text.replace("\\", r"\\").replace("\t", r"\t").replace("\n", r"\n").replace("\r", r"\r")
