"""Draw a tab that runs down: one thing, a line for each of its quantities, each with a name."""

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import VERDICT
from railbook.report import styles
from railbook.report.cells import accepted, put, put_formula, put_label
from railbook.report.heading import write_freshness, write_opening
from railbook.report.heights import HEADING_LINE, LINE, TITLE_LINE, lines_of, row_height
from railbook.report.layout import HINTS, LABELS, UNITS, VALUES, Sheet, first_row, is_protected, last_row, rows_down
from railbook.report.live import write_tape_rules
from railbook.report.names import compiled
from railbook.report.overrides import QuickSheet, add_sheet
from railbook.report.paper import Table, set_up
from railbook.report.plan import Plan
from railbook.report.rows import shown
from railbook.report.sheet import STILL_ALLOWED, mark_verdicts
from railbook.report.styles import Styles
from railbook.report.validation import rule, validate
from railbook.report.widths import width_of

LABEL_WIDTH, UNIT_WIDTH, HINT_WIDTH = 26.0, 6.0, 52.0  # of the columns beside the values [characters]


def write_down(plan: Plan, sheet: Sheet) -> None:
    """Add the sheet of a tab that runs down: a line for each quantity, opening, lock, paper."""
    target = add_sheet(plan.book, sheet.tab.title)
    if sheet.hidden:
        target.hide()
    for column in sheet.tab.columns:
        _write_line(target, sheet, column, plan)
    _write_headings(target, sheet.tab, plan.styles)
    widths = _set_widths(target, sheet, plan.unit)
    height = _set_heights(target, sheet, widths)
    write_opening(target, sheet, plan.styles, width=sum(widths), last=HINTS)
    write_freshness(target, sheet, plan)
    target.freeze_panes(first_row(sheet.tab) - 1, 0)
    if is_protected(sheet.tab):
        target.protect("", STILL_ALLOWED)
    last = None if sheet.hidden else (last_row(sheet), HINTS)
    table = Table(plan.unit, sum(widths), height, 0.0, last, one_page=True)
    set_up(target, footer=plan.footer, table=table)


def runs_on(column: Column) -> bool:
    """Whether a text may run on to the edge of the page, because nothing stands beside it."""
    return not (column.kind.numeric or column.hint or column.typed)


def _write_line(target: QuickSheet, sheet: Sheet, column: Column, plan: Plan) -> None:
    """Label, value, unit and hint of one quantity."""
    form, unit, row = plan.styles.format, column.kind.units[plan.unit], rows_down(sheet.tab)[column.name]
    put_label(target, row, LABELS, column.header, form(styles.SIDE_LABEL))
    _write_figure(target, sheet, row, column, plan)
    if not runs_on(column):
        put_label(target, row, UNITS, unit, form(styles.SIDE_UNIT))
        put_label(target, row, HINTS, column.help, form(styles.SIDE_HINT))
    if column.typed:
        how = rule(column, plan.unit, form=plan.form, lists=plan.lists, names=plan.names)
        validate(target, how, rows=(row, row), at=VALUES)
    write_tape_rules(target, column, row, VALUES, plan)
    if column.kind == VERDICT:
        mark_verdicts(target, plan.styles, rows=(row, row), at=VALUES)


def _write_figure(target: QuickSheet, sheet: Sheet, row: int, column: Column, plan: Plan) -> None:
    """The quantity itself: all values stand along the left edge of their column."""
    thing = sheet.rows[0]
    value = shown(column, thing)
    ink = plan.styles.ink({**styles.cell_look(column, plan.unit), **styles.TEXT_SIDE, "valign": "top"})
    if runs_on(column):
        accepted(target.merge_range(row - 1, VALUES, row - 1, HINTS, "", ink.plain))
    if column.excel:
        formula = compiled(sheet, column, plan.names, formula=column.formula(thing))
        put_formula(target, row, VALUES, formula.at(row), value, ink.plain)
    else:
        put(target, row, VALUES, value, ink)


def _write_headings(target: QuickSheet, tab: Tab, look: Styles) -> None:
    """Each over its line, ruled across the page."""
    for name, heading in tab.headings.items():
        row, style = rows_down(tab)[name] - 1, look.format(styles.SIDE_HEADING)
        accepted(target.set_row(row - 1, HEADING_LINE))
        for at in range(LABELS, HINTS + 1):
            put_label(target, row, at, heading if at == LABELS else "", style)


def _set_widths(target: QuickSheet, sheet: Sheet, unit: str) -> tuple[float, ...]:
    """Widths of the four columns [characters]; without hints theirs is narrow."""
    columns = sheet.tab.columns
    values = [width_of(column, [column.value(sheet.rows[0])], unit=unit) for column in columns if not runs_on(column)]
    hints = HINT_WIDTH if any(column.hint for column in columns) else UNIT_WIDTH
    widths = (LABEL_WIDTH, max(values, default=HINT_WIDTH), UNIT_WIDTH, hints)
    for at, width in enumerate(widths):
        accepted(target.set_column(at, at, width))
    return widths


def _set_heights(target: QuickSheet, sheet: Sheet, widths: tuple[float, ...]) -> float:
    """High enough for every line of label, value and hint; returns the height of the whole table [pt]."""
    total = TITLE_LINE + (first_row(sheet.tab) - 2) * LINE + len(sheet.tab.headings) * HEADING_LINE
    rows = rows_down(sheet.tab)
    for column in sheet.tab.columns:
        value = sum(widths[VALUES:]) if runs_on(column) else widths[VALUES]
        texts = ((column.header, widths[LABELS]), (_text(sheet, column), value), (column.help, widths[HINTS]))
        height = row_height(max(lines_of(text, width=width) for text, width in texts))
        accepted(target.set_row(rows[column.name] - 1, height))
        total += height
    return total


def _text(sheet: Sheet, column: Column) -> str:
    """What the value shows, where that is text; a figure does not wrap."""
    value = shown(column, sheet.rows[0])
    return value if isinstance(value, str) else ""
