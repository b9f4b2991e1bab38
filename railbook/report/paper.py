"""How a tab comes out of the printer: paper, orientation, footer, repeated rows."""

import math
import re

from xlsxwriter.worksheet import Worksheet

from railbook.basics.kinds import INCH
from railbook.report.cells import accepted, plain
from railbook.report.layout import LABEL_ROW, UNIT_ROW

LETTER, A4 = 1, 9
SIDE, HEAD, FOOT = 0.5, 0.5, 0.75  # margins [in]
PORTRAIT_WIDTH, LANDSCAPE_WIDTH = 95, 128  # of text between the margins of letter paper [characters]
UPRIGHT_SCALE = 0.75  # to which print may shrink before the paper is turned
LEAST_SCALE, MARKS_SCALE = 0.55, 0.7  # before it takes more paper: 11 pt become 6, the crew's 12 pt 8 1/2
LONGEST_NAME = 100  # characters of the job's name in a footer; with its codes it may have 255


def footer_code(text: str) -> str:
    """Footer of every sheet: the job on the left, the tab in the middle, page of pages on the right.

    An ampersand starts a code, so the text's own are doubled; before a G the library would still
    see the code for a picture, so the two are parted.

    >>> footer_code("Lee & Sons")
    '&LLee && Sons&C&A&RPage &P of &N'
    >>> footer_code("A&G Decks")
    '&LA&& G Decks&C&A&RPage &P of &N'
    """
    name = " ".join(plain(text).split())[:LONGEST_NAME]
    safe = re.sub(r"&(?=G|\[)", "& ", name.replace("&", "&&"))
    return f"&L{safe}&C&A&RPage &P of &N"


def sheets_across(width: float, *, marks: bool) -> int:
    """How many sheets of paper lie side by side: one, unless its print could not be read.

    Args:
        width: of the table [characters].
        marks: a row of marks for the crew, which may well run on to a second sheet.

    >>> sheets_across(200, marks=False), sheets_across(160, marks=True), sheets_across(300, marks=True)
    (1, 1, 2)
    """
    return max(1, math.ceil(width * (MARKS_SCALE if marks else LEAST_SCALE) / LANDSCAPE_WIDTH))


def set_up(sheet: Worksheet, *, unit: str, footer: str, width: float, last: tuple[int, int]) -> None:
    """Paper by the job's unit, as wide as the table needs, nothing but the used cells.

    Args:
        sheet: to be printed.
        unit: the job's length unit: inch jobs print on letter, others on A4.
        footer: its code.
        width: of the table [characters].
        last: last used row, from 1, and last used sheet column, from 0.
    """
    sheet.set_paper(LETTER if unit == INCH else A4)
    if width * UPRIGHT_SCALE > PORTRAIT_WIDTH:
        sheet.set_landscape()
    sheet.set_margins(left=SIDE, right=SIDE, top=HEAD, bottom=FOOT)
    sheet.set_footer(footer)
    sheet.fit_to_pages(1, 0)
    sheet.hide_gridlines(2)
    accepted(sheet.print_area(0, 0, last[0] - 1, last[1]))


def repeat_headers(sheet: Worksheet, *, across: int, key_columns: int) -> None:
    """Headers on every page; the key too, where sheets lie side by side."""
    sheet.repeat_rows(LABEL_ROW - 1, UNIT_ROW - 1)
    sheet.fit_to_pages(across, 0)
    if across > 1:
        sheet.repeat_columns(0, key_columns - 1)
