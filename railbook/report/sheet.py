"""Draw a tab that runs across: one row for each thing, one column for each quantity."""

from collections.abc import Sequence

from xlsxwriter.worksheet import Worksheet

from railbook.basics.kinds import VERDICT
from railbook.report import styles
from railbook.report.cells import accepted
from railbook.report.heading import write_freshness, write_headers, write_opening
from railbook.report.heights import LINE, TITLE_LINE, header_height, hint_height, label_height, row_height
from railbook.report.layout import (
    HEADER_ROW,
    HINT_ROW,
    LABEL_ROW,
    Sheet,
    Span,
    first_row,
    is_protected,
    is_typed,
    last_printed_row,
    last_row,
)
from railbook.report.live import write_live_looks
from railbook.report.overrides import add_sheet
from railbook.report.paper import Table, repeat_headers, set_up, sheets_across
from railbook.report.plan import Plan
from railbook.report.rows import Drawn, tones_of, write_column
from railbook.report.styles import Styles
from railbook.report.validation import rule, validate

STILL_ALLOWED = {"format_columns": True, "format_rows": True}  # on a protected tab


def write_across(plan: Plan, sheet: Sheet) -> None:
    """Add the sheet of one tab: rows, help, headers, opening, view, paper."""
    target = add_sheet(plan.book, sheet.tab.title)
    if sheet.hidden:
        target.hide()
    tones = tones_of(sheet)
    drawn = [write_column(target, sheet, span, plan, tones) for span in sheet.spans]
    width = sum(
        span.across * each.width
        for span, each in zip(sheet.spans, drawn, strict=True)
        if span.last <= sheet.last_on_paper
    )
    for span in sheet.spans:
        write_headers(target, sheet, span, plan)
        _add_help(target, sheet, span, plan)
    height, heads = _set_heights(target, sheet, drawn, form=plan.form)
    across = sheets_across(width, marks=sheet.tab.crew and any(column.repeats for column in sheet.tab.columns))
    opening, last_over = _first_page(sheet, drawn, width, across)
    write_opening(target, sheet, plan.styles, width=opening, last=last_over)
    write_freshness(target, sheet, plan)
    write_live_looks(target, sheet, plan)
    _set_view(target, sheet, form=plan.form)
    last = None if sheet.hidden else (last_printed_row(sheet, form=plan.form), max(1, sheet.last_on_paper))
    set_up(target, footer=plan.footer, table=Table(plan.unit, width, height, heads, last))
    if not sheet.hidden:  # a program that opens the file takes longer for repeated headers than for all cells
        repeat_headers(target, across=across, key_columns=_key_columns(sheet))
    target.pack()


def _first_page(sheet: Sheet, drawn: Sequence[Drawn], width: float, across: int) -> tuple[float, int]:
    """Width and last sheet column of what the first of several pages side by side shows; of a single one all of it."""
    if across == 1:
        return width, sheet.last_on_paper
    shown, last = 0.0, 0
    for span, each in zip(sheet.spans, drawn, strict=True):
        for at in range(span.first, span.last + 1):
            if shown + each.width <= width / across:
                shown, last = shown + each.width, at
    return shown, last


def _set_heights(target: Worksheet, sheet: Sheet, drawn: Sequence[Drawn], *, form: bool) -> tuple[float, float]:
    """High enough for every line; the crew's rows are roomy also where one line would do.

    Returns:
        the height of what is printed, and of the rows that every page repeats [pt].
    """
    tab, first = sheet.tab, first_row(sheet.tab)
    columns = [(span.column, each.width) for span, each in zip(sheet.spans, drawn, strict=True)]
    header, hint = header_height(columns), hint_height(columns) if is_typed(tab) else 0.0
    wide = [(span, each.width) for span, each in zip(sheet.spans, drawn, strict=True) if span.label_across > 1]
    label = label_height((span.column.header, span.label_across * width) for span, width in wide)
    accepted(target.set_row(LABEL_ROW - 1, label))
    accepted(target.set_row(HEADER_ROW - 1, header))
    if is_typed(tab):
        accepted(target.set_row(HINT_ROW - 1, hint))
    heads = label + header + LINE
    blank = last_printed_row(sheet, form=form) - first + 1 - len(sheet.rows)
    total = TITLE_LINE + 2 * LINE + heads + hint + blank * LINE
    for row, lines in enumerate(zip(*(each.lines for each in drawn), strict=True), start=first):
        height = row_height(max(lines), crew=tab.crew)
        if height > LINE:
            accepted(target.set_row(row - 1, height))
        total += height
    return total, heads


def _add_help(target: Worksheet, sheet: Sheet, span: Span, plan: Plan) -> None:
    """Rules for typed cells; verdicts that paper shows."""
    column, rows = span.column, (first_row(sheet.tab), last_row(sheet))
    for at in range(span.first, span.last + 1):
        if column.typed:
            how = rule(column, plan.unit, form=plan.form, lists=plan.lists, names=plan.names)
            validate(target, how, rows=rows, at=at)
        if column.kind == VERDICT:
            mark_verdicts(target, plan.styles, rows=rows, at=at)


def mark_verdicts(target: Worksheet, look: Styles, *, rows: tuple[int, int], at: int) -> None:
    """Make a verdict other than a pass stand out [rows from 1]."""
    for verdict, how in styles.VERDICTS.items():
        when = {"type": "cell", "criteria": "==", "value": f'"{verdict}"', "format": look.format(how)}
        accepted(target.conditional_format(rows[0] - 1, at, rows[1] - 1, at, when))


def _key_columns(sheet: Sheet) -> int:
    """How many sheet columns stay in view: up to the key, or the first."""
    return sheet.span(sheet.tab.key).last + 1 if sheet.tab.key else 1


def _set_view(target: Worksheet, sheet: Sheet, *, form: bool) -> None:
    """Headers that stay in view; a lock, or the means to sort."""
    tab, first, last = sheet.tab, first_row(sheet.tab), last_row(sheet)
    target.freeze_panes(first - 1, _key_columns(sheet))
    if is_protected(tab):
        target.protect("", STILL_ALLOWED)
    elif is_typed(tab) and not form:
        accepted(target.autofilter(HINT_ROW - 1, 0, last - 1, sheet.spans[-1].last))
