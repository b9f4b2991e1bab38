"""How a tab comes out of the printer: paper, orientation, footer, repeated rows."""

import math
import re
from types import MappingProxyType
from typing import NamedTuple

from xlsxwriter.worksheet import Worksheet

from railbook.basics.kinds import INCH
from railbook.report.cells import accepted, plain
from railbook.report.layout import LABEL_ROW, UNIT_ROW

LETTER, A4 = 1, 9
SIDE, HEAD, FOOT = 0.5, 0.5, 0.75  # margins [in]
PORTRAIT_WIDTH, LANDSCAPE_WIDTH = 95, 128  # of text between the margins of letter paper [characters]
UPRIGHT_SCALE = 0.75  # to which print may shrink before the paper is turned
LEAST_SCALE, MARKS_SCALE = 0.55, 0.7  # before it takes more paper: 11 pt become 6, the crew's 12 pt 8 1/2
ROOM = MappingProxyType(  # of a table between the margins, a little less than there is: upright, turned [pt]
    {LETTER: (690, 510), A4: (740, 495)}
)
SQUEEZE = 0.15  # by which print may shrink further, so that no page holds the last rows alone
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


class Table(NamedTuple):
    """What is to be printed of a tab.

    Attributes:
        unit: the job's length unit: inch jobs print on letter, others on A4.
        width: of all its columns [characters].
        height: of all its rows [pt].
        heads: of the rows that every page repeats [pt].
        last: last used row, from 1, and last used sheet column, from 0; None on a hidden tab, since LibreOffice
            prints a hidden tab that has a print area.
        one_page: whether it must take no more than one page.
    """

    unit: str
    width: float
    height: float
    heads: float
    last: tuple[int, int] | None
    one_page: bool = False

    @property
    def paper(self) -> int:
        """Code of the paper."""
        return LETTER if self.unit == INCH else A4

    @property
    def is_upright(self) -> bool:
        """Whether upright paper shows it large enough, or one page of it larger than turned paper does.

        By hand, on letter: 126 characters shrink to 0.75 upright; 600 pt to 0.85 on turned paper, 700 pt to 0.73.

        >>> [Table("in", 126, height, 0, None, one_page=True).is_upright for height in (600, 700)]
        [False, True]
        """
        if not self.one_page:
            return self.width * UPRIGHT_SCALE <= PORTRAIT_WIDTH
        high, low = ROOM[self.paper]
        upright = min(1.0, PORTRAIT_WIDTH / self.width, high / self.height)
        return upright >= min(1.0, LANDSCAPE_WIDTH / self.width, low / self.height)

    @property
    def pages_down(self) -> int:
        """How many pages its rows must fit: 0 as many as they take, unless the last one would be nearly empty.

        By hand, upright on letter at full size: 1450 pt are 70 more than two pages hold, which 0.95 of the size
        mends; with 1725 pt the third page is half full.

        >>> [Table("in", 90, height, 0, None).pages_down for height in (600, 1450, 1725)]
        [0, 2, 0]
        """
        if self.one_page:
            return 1
        wide, high = (PORTRAIT_WIDTH if self.is_upright else LANDSCAPE_WIDTH), ROOM[self.paper][not self.is_upright]
        room = high / min(1.0, wide / self.width) - self.heads
        pages = (self.height - self.heads) / room
        return int(pages) if int(pages) < pages <= int(pages) * (1 + SQUEEZE) else 0


def set_up(sheet: Worksheet, *, footer: str, table: Table) -> None:
    """Paper by the job's unit, as wide as the table needs, nothing but the used cells.

    Args:
        sheet: to be printed.
        footer: its code.
        table: what is printed.
    """
    sheet.set_paper(table.paper)
    if not table.is_upright:
        sheet.set_landscape()
    sheet.set_margins(left=SIDE, right=SIDE, top=HEAD, bottom=FOOT)
    sheet.set_footer(footer)
    sheet.fit_to_pages(1, table.pages_down)
    sheet.hide_gridlines(2)
    if table.last is not None:
        accepted(sheet.print_area(0, 0, table.last[0] - 1, table.last[1]))


def repeat_headers(sheet: Worksheet, *, across: int, key_columns: int) -> None:
    """Headers on every page; the key too, where sheets lie side by side."""
    sheet.repeat_rows(LABEL_ROW - 1, UNIT_ROW - 1)
    if across > 1:
        sheet.fit_to_pages(across, 0)
        sheet.repeat_columns(0, key_columns - 1)
