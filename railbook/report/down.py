"""Draw a tab that runs down: one thing, a line for each of its quantities, each with a name."""

from xlsxwriter.worksheet import Worksheet

from railbook.basics.double_entry import Column, spoken
from railbook.basics.kinds import VERDICT
from railbook.report import styles
from railbook.report.cells import ReadySheet, accepted, put, put_formula, put_label
from railbook.report.heading import write_freshness, write_opening
from railbook.report.heights import lines_of, row_height
from railbook.report.layout import HINTS, LABELS, UNITS, VALUES, Sheet, first_row, is_protected, last_row
from railbook.report.live import write_tape_rules
from railbook.report.names import compiled
from railbook.report.paper import set_up
from railbook.report.plan import Plan
from railbook.report.rows import shown
from railbook.report.sheet import STILL_ALLOWED, mark_verdicts
from railbook.report.validation import rule, validate
from railbook.report.widths import width_of

LABEL_WIDTH, UNIT_WIDTH, HINT_WIDTH = 26.0, 6.0, 52.0  # of the columns beside the values [characters]


def write_down(plan: Plan, sheet: Sheet) -> None:
    """Add the sheet of a tab that runs down: a line for each quantity, opening, lock, paper."""
    target = plan.book.add_worksheet(sheet.tab.title, ReadySheet)
    for row, column in enumerate(sheet.tab.columns, start=first_row(sheet.tab)):
        _write_line(target, sheet, row, column, plan)
    widths = _set_widths(target, sheet, plan.unit)
    _set_heights(target, sheet, widths)
    width = sum(widths)
    write_opening(target, sheet, plan.styles, width=width, last=HINTS)
    write_freshness(target, sheet, plan)
    target.freeze_panes(first_row(sheet.tab) - 1, 0)
    if is_protected(sheet.tab):
        target.protect("", STILL_ALLOWED)
    set_up(target, unit=plan.unit, footer=plan.footer, width=width, last=(last_row(sheet), HINTS))
    target.fit_to_pages(1, 1)  # one thing, one page


def _write_line(target: Worksheet, sheet: Sheet, row: int, column: Column, plan: Plan) -> None:
    """Label, value, unit and hint of one quantity."""
    form, unit = plan.styles.format, column.kind.units[plan.unit]
    put_label(target, row, LABELS, column.header, form(styles.SIDE_LABEL))
    _write_figure(target, sheet, row, column, plan)
    put_label(target, row, UNITS, unit, form(styles.SIDE_UNIT))
    put_label(target, row, HINTS, column.help, form(styles.SIDE_HINT))
    if column.typed:
        how = rule(column, plan.unit, form=plan.form, lists=plan.lists, names=plan.names)
        validate(target, how, rows=(row, row), at=VALUES)
    write_tape_rules(target, column, row, VALUES, plan)
    if column.kind == VERDICT:
        mark_verdicts(target, plan.styles, rows=(row, row), at=VALUES)


def _write_figure(target: Worksheet, sheet: Sheet, row: int, column: Column, plan: Plan) -> None:
    """The quantity itself: all values stand along the left edge of their column."""
    thing = sheet.rows[0]
    value = shown(column, thing)
    ink = plan.styles.ink({**styles.cell_look(column, plan.unit), **styles.TEXT_SIDE, "valign": "top"})
    if column.excel:
        formula = compiled(sheet, column, plan.names, formula=spoken(column.excel, thing))
        put_formula(target, row, VALUES, formula.at(row), value, ink.plain)
    else:
        put(target, row, VALUES, value, ink)


def _set_widths(target: Worksheet, sheet: Sheet, unit: str) -> tuple[float, ...]:
    """Widths of the four columns [characters]; without hints theirs is narrow."""
    columns = sheet.tab.columns
    values = [width_of(column, [getattr(sheet.rows[0], column.name)], unit=unit) for column in columns]
    hints = HINT_WIDTH if any(column.hint for column in columns) else UNIT_WIDTH
    widths = (LABEL_WIDTH, max(values), UNIT_WIDTH, hints)
    for at, width in enumerate(widths):
        accepted(target.set_column(at, at, width))
    return widths


def _set_heights(target: Worksheet, sheet: Sheet, widths: tuple[float, ...]) -> None:
    """High enough for every line of label, value and hint."""
    for row, column in enumerate(sheet.tab.columns, start=first_row(sheet.tab)):
        texts = (column.header, _text(sheet, column), "", column.help)
        lines = max(lines_of(text, width=width) for text, width in zip(texts, widths, strict=True))
        accepted(target.set_row(row - 1, row_height(lines)))


def _text(sheet: Sheet, column: Column) -> str:
    """What the value shows, where that is text; a figure does not wrap."""
    value = shown(column, sheet.rows[0])
    return value if isinstance(value, str) else ""
