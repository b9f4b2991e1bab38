"""Draw a whole workbook: every declared tab as a form or as a result, then the pages to read."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from types import MappingProxyType

from xlsxwriter import Workbook

from railbook.report.cells import accepted
from railbook.report.down import write_down
from railbook.report.layout import Sheet, first_row
from railbook.report.names import checked_titles, names_of
from railbook.report.page import Page, write_page
from railbook.report.paper import footer_code
from railbook.report.plan import News, Plan
from railbook.report.sheet import write_across
from railbook.report.styles import Styles
from railbook.report.validation import LISTS_TITLE, long_lists, write_lists

__all__ = ["News", "Page", "Sheet", "first_row", "write_book"]

TEXT_STAYS_TEXT = MappingProxyType(
    {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
)
CREATED = dt.datetime(2000, 1, 1)


def write_book(
    path: Path,
    sheets: Sequence[Sheet],
    *,
    unit: str,
    footer: str,
    form: bool,
    pages: Sequence[Page] = (),
    news: News | None = None,
) -> None:
    """Write a workbook.

    Args:
        path: the file; one that is there is replaced.
        sheets: tabs with their rows, in the order shown.
        unit: the job's length unit: headers, formats and paper follow it.
        footer: text at the left of every printed page, as a rule the job's name.
        form: a blank form, where lengths may be typed as text; else a result, where they are numbers.
        pages: sheets to read, after the tabs.
        news: what may be added to the workbook later; every tab on which nobody types then says so.

    Raises:
        ValueError: when a tab is declared wrongly: an unknown word, a name that looks like a cell ...
    """
    checked_titles([*(sheet.tab.title for sheet in sheets), *(page.title for page in pages), LISTS_TITLE])
    book = Workbook(path, dict(TEXT_STAYS_TEXT))
    plan = Plan(
        book=book,
        styles=Styles(book),
        names=names_of(sheets),
        lists=long_lists(sheets),
        unit=unit,
        footer=footer_code(footer),
        form=form,
        news=news,
    )
    for sheet in sheets:
        (write_down if sheet.tab.down else write_across)(plan, sheet)
    for page in pages:
        write_page(book, page, unit=unit, footer=plan.footer)
    _finish(plan)


def _finish(plan: Plan) -> None:
    """Names, long drop-downs, and the settings of the whole file."""
    for word, cells in plan.names.items():
        accepted(plan.book.define_name(word, cells))
    if plan.lists:
        write_lists(plan.book.add_worksheet(LISTS_TITLE), plan.lists)
    plan.book.set_properties({"created": CREATED})
    plan.book.set_calc_mode("auto")  # and compute everything afresh when opened
    plan.book.close()
