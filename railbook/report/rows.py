"""Draw the rows of a tab, one quantity after the other: what was chosen as value, what follows as formula."""

from collections.abc import Callable, Sequence
from functools import cache
from itertools import chain
from typing import Any, NamedTuple

from railbook.basics.double_entry import EXAMPLE, ROW_WORD, Column
from railbook.basics.problem import Origin
from railbook.report import styles
from railbook.report.cells import accepted, put, put_formula
from railbook.report.heights import lines_down
from railbook.report.layout import Sheet, Span, first_row
from railbook.report.names import Formula, compiled
from railbook.report.overrides import QuickSheet
from railbook.report.plan import Plan
from railbook.report.styles import Ink
from railbook.report.widths import width_of


class Drawn(NamedTuple):
    """What room a drawn quantity takes: width of each of its sheet columns [characters], lines of each row."""

    width: float
    lines: list[int]


def tones_of(sheet: Sheet) -> list[str]:
    """How each row is toned."""
    tab = sheet.tab
    tones = [styles.BAND if tab.crew and index % 2 else styles.PLAIN for index in range(len(sheet.rows))]
    if not tab.key:
        return tones
    keys = map(tab.column(tab.key).value, sheet.rows)
    return [styles.SAMPLE if key == EXAMPLE else tone for key, tone in zip(keys, tones, strict=True)]


def write_column(target: QuickSheet, sheet: Sheet, span: Span, plan: Plan, tones: Sequence[str]) -> Drawn:
    """Every cell of one quantity; returns what room its cells take."""
    column, crew = span.column, sheet.tab.crew

    @cache
    def ink(tone: str, unit: str) -> Ink:
        return plan.styles.ink(styles.cell_look(column, unit, tone=tone, crew=crew))

    values = [_values(column, row) for row in sheet.rows]
    units = [getattr(row, column.unit_in) if column.unit_in else plan.unit for row in sheet.rows]
    inks = [ink(tone, unit) for tone, unit in zip(tones, units, strict=True)]
    if column.excel:
        _write_formulas(target, sheet, span, plan, values, inks)
    else:
        _write_values(target, sheet, span, values, inks)
    _write_blanks(target, sheet, span, ink(styles.PLAIN, plan.unit))
    width = width_of(column, [*chain.from_iterable(values)], unit=plan.unit, crew=crew)
    accepted(target.set_column(span.first, span.last, width))
    return Drawn(width, lines_down(values, width=width, crew=crew))


def _values(column: Column, row: object) -> tuple[object, ...]:
    """What a row shows in one quantity's sheet columns."""
    value = shown(column, row)
    return tuple(value) if column.repeats else (value,)


def shown(column: Column, row: object) -> Any:
    """What a row shows in one quantity: what was typed where that could not be read."""
    value = column.value(row)
    return _as_typed(column, row) if column.typed and value is None else value


def _as_typed(column: Column, row: object) -> str | None:
    """What stood in a cell that could not be read; None for a blank."""
    origin = getattr(row, "origin", None)
    return origin.texts.get(column.name) if isinstance(origin, Origin) else None


def _write_values(
    target: QuickSheet, sheet: Sheet, span: Span, values: Sequence[tuple[object, ...]], inks: Sequence[Ink]
) -> None:
    """What was typed or chosen."""
    for row, (cells, ink) in enumerate(zip(values, inks, strict=True), start=first_row(sheet.tab)):
        for at, value in enumerate(cells, start=span.first):
            put(target, row, at, value, ink)


def _write_formulas(
    target: QuickSheet,
    sheet: Sheet,
    span: Span,
    plan: Plan,
    values: Sequence[tuple[object, ...]],
    inks: Sequence[Ink],
) -> None:
    """What follows: the live formula, and the engine's value as its result."""
    formulas = [_formula_of(sheet, span.column, plan, nth) for nth in range(span.across)]
    drawn = zip(sheet.rows, values, inks, strict=True)
    for row, (thing, cells, ink) in enumerate(drawn, start=first_row(sheet.tab)):
        for nth, value in enumerate(cells):
            if formula := formulas[nth](thing):
                put_formula(target, row, span.first + nth, formula.at(row), value, ink.plain)
            else:
                put(target, row, span.first + nth, value, ink)


def _formula_of(sheet: Sheet, column: Column, plan: Plan, nth: int) -> Callable[[object], Formula | None]:
    """The compiled formula for a row, None where its value is plain; compiled once for each set of words of rows."""

    @cache
    def formula(words: str) -> Formula:
        return compiled(sheet, column, plan.names, formula=words, nth=nth)

    if column.when or ROW_WORD.search(column.excel):
        return lambda row: formula(words) if (words := column.formula(row)) else None
    one = formula(column.excel)
    return lambda _: one


def _write_blanks(target: QuickSheet, sheet: Sheet, span: Span, ink: Ink) -> None:
    """Rows to be filled in."""
    below = first_row(sheet.tab) + len(sheet.rows)
    for row in range(below, below + sheet.blank_rows):
        for at in range(span.first, span.last + 1):
            put(target, row, at, None, ink)
