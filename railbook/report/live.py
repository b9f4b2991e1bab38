"""Looks that follow what a cell shows: stale rows struck through, lengths as fractions that a tape has.

Programs differ on a cell for which two rules hold: some apply the first one only, some the last range's. So no two
ranges overlap, the rules of a range go from the narrow to the wide, and a struck length has a rule of its own.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import Any, NamedTuple

from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column
from railbook.basics.kinds import FINEST, TAPE_FORMATS
from railbook.report import styles
from railbook.report.cells import accepted
from railbook.report.layout import Sheet, Span, first_row, last_row
from railbook.report.plan import Plan
from railbook.report.styles import Styles


class Rule(NamedTuple):
    """When a cell looks otherwise than it was written, and what is then otherwise."""

    when: str
    look: Mapping[str, Any]


def write_live_looks(target: Worksheet, sheet: Sheet, plan: Plan) -> None:
    """The rules of every column of a tab that runs across."""
    first, last = first_row(sheet.tab), last_row(sheet)
    stale = f'${xl_col_to_name(sheet.span(STATUS).first)}{first}="{RUN_AGAIN}"' if sheet.tab.has_status else ""
    for _, alike in groupby(sheet.spans, key=lambda span: _fractions_of(span.column, plan.unit)):
        spans = list(alike)
        shown = _tape_rules_of(sheet, spans[0], plan.unit)
        rules = [*_struck(stale, shown), *shown] if stale else shown
        _write_rules(target, rules, (first, spans[0].first, last, spans[-1].last), plan.styles)


def write_tape_rules(target: Worksheet, column: Column, row: int, at: int, plan: Plan) -> None:
    """The rules of a single length [row from 1]."""
    if column.kind.shows_fractions(plan.unit):
        rules = tape_rules(f"{xl_col_to_name(at)}{row}")
        _write_rules(target, rules, (row, at, row, at), plan.styles)


def tape_rules(cell: str, *, only: str = "") -> Iterator[Rule]:
    """Rules for a length that no tape has: it shows the nearest fraction that one has, in its lowest terms.

    Args:
        cell: that holds the length.
        only: what must be so besides.

    By hand: 64.376 is 24.06 sixty-fourths over 64, and 24 is a whole number of eighths, but not of quarters.

    >>> [rule.when for rule in tape_rules("B8")][2]
    'AND(B8*64<>ROUND(B8*64,0),MOD(ROUND(ABS(B8*64),0),8)=0)'
    """
    for under, number_format in TAPE_FORMATS.items():
        parts = f"{cell}*{FINEST}"
        whole = f"MOD(ROUND(ABS({parts}),0),{FINEST // under})=0"
        yield Rule(f"AND({only}{parts}<>ROUND({parts},0),{whole})", {"num_format": number_format})


def _fractions_of(column: Column, unit: str) -> str | None:
    """What neighbouring columns must have in common to share their rules; None where no fraction is shown."""
    return column.unit_in if column.kind.shows_fractions(unit) else None


def _tape_rules_of(sheet: Sheet, span: Span, unit: str) -> list[Rule]:
    """The rules of a column from its first cell; where rows have units of their own, those in the job's unit only."""
    own, first = _fractions_of(span.column, unit), first_row(sheet.tab)
    if own is None:
        return []
    only = f'${xl_col_to_name(sheet.span(own).first)}{first}="{unit}",' if own else ""
    return list(tape_rules(f"{xl_col_to_name(span.first)}{first}", only=only))


def _struck(stale: str, shown: Iterable[Rule]) -> Iterator[Rule]:
    """The rules of a row that asks for another run."""
    for rule in shown:
        yield Rule(f"AND({stale},{rule.when})", {**rule.look, **styles.STRUCK})
    yield Rule(stale, styles.STRUCK)


def _write_rules(target: Worksheet, rules: Iterable[Rule], cells: tuple[int, int, int, int], look: Styles) -> None:
    """Put the rules on a range; the first that fits is the one that shows [rows from 1]."""
    first, first_column, last, last_column = cells
    for rule in rules:
        when = {"type": "formula", "criteria": f"={rule.when}", "format": look.format(rule.look)}
        accepted(target.conditional_format(first - 1, first_column, last - 1, last_column, when))
