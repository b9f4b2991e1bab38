"""Draw a whole workbook: every declared tab as a form or as a result, then the pages to read."""

import datetime as dt
import errno
import os
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from types import MappingProxyType

from xlsxwriter import Workbook
from xlsxwriter.exceptions import FileSizeError

from railbook.report.cells import accepted
from railbook.report.down import write_down
from railbook.report.layout import Sheet, first_row
from railbook.report.names import checked_titles, names_of
from railbook.report.overrides import QuickWorkbook, SealedWorkbook
from railbook.report.page import Page, write_page
from railbook.report.paper import footer_code
from railbook.report.plan import News, Plan
from railbook.report.seal import seal
from railbook.report.sheet import write_across
from railbook.report.styles import Styles
from railbook.report.validation import LISTS_TITLE, long_lists, write_lists

__all__ = ["News", "Page", "Sheet", "first_row", "write_book"]

OPTIONS = MappingProxyType(  # text stays text, and no part of the book passes over the disk
    {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False, "in_memory": True}
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
    """Write a workbook; a result gets its seal.

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
        OSError: when the disk is full, or the system refuses otherwise.
    """
    checked_titles([*(sheet.tab.title for sheet in sheets), *(page.title for page in pages), LISTS_TITLE])
    made = _Memory()
    book = QuickWorkbook(made, dict(OPTIONS)) if form else SealedWorkbook(made, dict(OPTIONS))
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
    _draw(plan, sheets, pages)
    if not form:
        seal(made)
    path.write_bytes(made.getbuffer())


class _Memory(BytesIO):
    """Stays open: the library, broken off, leaves a zip behind that wants to end what it has begun."""

    def close(self) -> None:
        """Nothing to close."""


def _draw(plan: Plan, sheets: Sequence[Sheet], pages: Sequence[Page]) -> None:
    """Every tab and page, and what belongs to the whole book."""
    for sheet in sheets:
        (write_down if sheet.tab.down else write_across)(plan, sheet)
    for page in pages:
        write_page(plan.book, page, unit=plan.unit, footer=plan.footer)
    _finish(plan)


def _finish(plan: Plan) -> None:
    """Names, long drop-downs, and the settings of the whole file."""
    for word, cells in plan.names.items():
        accepted(plan.book.define_name(word, cells))
    if plan.lists:
        write_lists(plan.book.add_worksheet(LISTS_TITLE), plan.lists)
    plan.book.set_properties({"created": CREATED})
    plan.book.set_calc_mode("auto")  # and compute everything afresh when opened
    _close(plan.book)


def _close(book: Workbook) -> None:
    """Make the file of what was drawn.

    Raises:
        OSError: it is too large; the library has a word of its own for that.
    """
    try:
        book.close()
    except FileSizeError as fault:
        raise OSError(errno.EFBIG, os.strerror(errno.EFBIG)) from fault
