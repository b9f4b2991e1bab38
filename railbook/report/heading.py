"""What stands over the rows: title, purpose, the line about stale rows, headers, units, hints."""

from railbook.basics.double_entry import RUN_AGAIN, STATUS, in_cells, stale_rows
from railbook.report import styles
from railbook.report.cells import accepted, put_formula, put_label
from railbook.report.heights import TITLE_LINE, lines_of, row_height
from railbook.report.layout import (
    HEADER_ROW,
    HINT_ROW,
    LABEL_ROW,
    PURPOSE_ROW,
    STALE_ROW,
    TITLE_ROW,
    UNIT_ROW,
    Sheet,
    Span,
    is_typed,
)
from railbook.report.overrides import QuickSheet, ready
from railbook.report.plan import Plan
from railbook.report.styles import Styles


def write_opening(target: QuickSheet, sheet: Sheet, look: Styles, *, width: float, last: int) -> None:
    """Title and purpose; a purpose longer than the table is wide wraps over it.

    Args:
        target: the sheet to write on.
        sheet: its tab.
        look: formats of the book.
        width: of the table [characters].
        last: its last sheet column.
    """
    tab = sheet.tab
    accepted(target.set_row(TITLE_ROW - 1, TITLE_LINE))
    put_label(target, TITLE_ROW, 0, tab.title, look.format(styles.TITLE))
    if len(tab.purpose) <= width or last == 0:
        put_label(target, PURPOSE_ROW, 0, tab.purpose, look.format(styles.PURPOSE))
        return
    height = row_height(lines_of(tab.purpose, width=width))
    accepted(target.set_row(PURPOSE_ROW - 1, height))
    wrapped = look.format(styles.WRAPPED_PURPOSE)
    accepted(target.merge_range(PURPOSE_ROW - 1, 0, PURPOSE_ROW - 1, last, tab.purpose, wrapped))


def write_freshness(target: QuickSheet, sheet: Sheet, plan: Plan) -> None:
    """Whether the tab still shows the job: its stale rows, what it lacks, and what it has to say itself."""
    tab = sheet.tab
    if tab.has_status and not tab.down:
        _write_stale_line(target, sheet, plan)
    elif not is_typed(tab):
        _write_alert(target, sheet, plan)
    if tab.none and not sheet.rows:
        put_label(target, LABEL_ROW, 0, tab.none, plan.styles.format(styles.STALE_LINE))


def _write_stale_line(target: QuickSheet, sheet: Sheet, plan: Plan) -> None:
    """How many rows rest on figures that have moved since: the count, and a sentence beside it."""
    tab, form, news = sheet.tab, plan.styles.format, plan.news
    stale, count = stale_rows(tab, sheet.rows), f"A{STALE_ROW}"
    none, one, more = (f'"{stale_line(number)}"' for number in range(3))
    if news:
        told = (f'"{stale_line(number, news.says)}"' for number in range(3))
        none, one, more = (
            f"IF({news.word}>0,{with_news},{without})"
            for with_news, without in zip(told, (none, one, more), strict=True)
        )
    counted = f'=COUNTIF({tab.word(STATUS)},"{RUN_AGAIN}")'
    said = stale_line(stale, news.says if news and news.count > 0 else "")
    put_formula(target, STALE_ROW, 0, ready(counted), stale, form(styles.STALE_COUNT))
    sentence = f"=IF({count}=0,{none},IF({count}=1,{one},{more}))"
    put_formula(target, STALE_ROW, 1, ready(sentence), said, form(styles.STALE_LINE))


def _write_alert(target: QuickSheet, sheet: Sheet, plan: Plan) -> None:
    """What a tab lacks, and its own live line, of which nothing has come true when the workbook is made."""
    alert = in_cells(sheet.tab.alert.removeprefix("="), str)  # its words are names of the workbook
    news = plan.news
    lacks = f'IF({news.word}>0,"{stale_line(0, news.says)}","")' if news else ""
    formula = f'TRIM({lacks}&" "&{alert})' if lacks and alert else lacks or alert
    if formula:
        said = stale_line(0, news.says) if news and news.count > 0 else ""
        put_formula(target, STALE_ROW, 0, ready(formula), said, plan.styles.format(styles.STALE_LINE))


def stale_line(count: int, news: str = "") -> str:
    """The sentence beside the count of stale rows; the count shows no figure when it is 0.

    Args:
        count: of the rows that ask for another run.
        news: what was added since.

    >>> stale_line(0), stale_line(3)
    ('All rows are up to date', 'rows rest on older figures: run railbook again')
    >>> stale_line(0, "a run was added")
    'A run was added: run railbook again'
    >>> stale_line(1, "a run was added")
    'row rests on older figures, and a run was added: run railbook again'
    """
    stale = f"{'row rests' if count == 1 else 'rows rest'} on older figures" if count else ""
    if not stale and not news:
        return "All rows are up to date"
    said = f"{stale}, and {news}" if stale and news else stale or news[0].upper() + news[1:]
    return f"{said}: run railbook again"


def _write_label(target: QuickSheet, span: Span, look: Styles) -> None:
    """What stands over all numbers of a column that repeats."""
    wrapped, last = look.format(styles.WRAPPED_LABEL), span.first + span.label_across - 1
    if last > span.first:
        accepted(target.merge_range(LABEL_ROW - 1, span.first, LABEL_ROW - 1, last, "", wrapped))
    style = wrapped if last > span.first else look.format(styles.LABEL)
    put_label(target, LABEL_ROW, span.first, span.column.header, style)


def write_headers(target: QuickSheet, sheet: Sheet, span: Span, plan: Plan) -> None:
    """Header, unit and hint of one column; numbers under the header of one that repeats.

    The hint of a needed cell is bold and otherwise stays word for word: a form is read back by it.
    """
    column, form = span.column, plan.styles.format
    side = {"align": "right"} if column.kind.numeric else styles.TEXT_SIDE
    hint_line = form({**styles.HINT_LINE, "bold": column.needed})
    header, unit_line = form({**styles.HEADER, **side}), form({**styles.UNIT_LINE, **side})
    if column.repeats:
        _write_label(target, span, plan.styles)
        accepted(target.write_row(HEADER_ROW - 1, span.first, range(1, span.across + 1), header))
    else:
        put_label(target, HEADER_ROW, span.first, column.header, header)
    for at in range(span.first, span.last + 1):
        unit = column.kind.units[plan.unit]
        put_label(target, UNIT_ROW, at, unit, unit_line)
        if is_typed(sheet.tab):
            put_label(target, HINT_ROW, at, column.hint, hint_line)
