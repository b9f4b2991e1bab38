"""Draw a page to read: text, then each drawing over the words that it explains."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, NamedTuple

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.utility import cell_autofit_width
from xlsxwriter.worksheet import Worksheet

from railbook.basics.drawing import Drawing, Page, Passage, Term
from railbook.basics.kinds import INCH
from railbook.report.chart import drawn, frame

__all__ = ["Page", "write_page"]

COLUMN = 64  # a column whose width nobody set, which alone every program draws as counted [px]
TERM_COLUMNS, PAGE_COLUMNS = 2, 11  # under a word, and under the whole page
MEANING_WIDTH, PAGE_WIDTH = (PAGE_COLUMNS - TERM_COLUMNS) * COLUMN, PAGE_COLUMNS * COLUMN  # [px]
GREATEST_DRAWING = 280  # height of a chart [px]
LINE_HEIGHT = 18  # one line of text [px]
LARGE_LINE = 30  # the page's title [px]
PAPERS = MappingProxyType({INCH: (1, 11.0)})  # by job unit: code of the paper and its height [in]
METRIC_PAPER = (9, 11.69)  # A4
SIDE, HEAD, FOOT = 0.45, 0.6, 0.8  # margins [in]
PX_PER_INCH = 96
TEXT_FONT, SHEET_FONT = 10, 11  # of the text, and the one for which widths are known [pt]
SAFE = 0.95  # part of a page's height that is filled: other programs draw rows a little higher
BULLET = "\N{BULLET} "

PLAIN, STRONG, HEADING, TITLE = "plain", "strong", "heading", "title"
FORMATS: Mapping[str, dict[str, Any]] = MappingProxyType(
    {
        PLAIN: {"text_wrap": True, "valign": "top", "font_size": TEXT_FONT},
        STRONG: {"text_wrap": True, "valign": "top", "font_size": TEXT_FONT, "bold": True},
        HEADING: {"bold": True, "font_size": 13, "valign": "vcenter", "top": 1},
        TITLE: {"bold": True, "font_size": 18},
    }
)


class Line(NamedTuple):
    """One row of the page: text all across, a word and its meaning, or a drawing.

    Attributes:
        look: one of the formats.
        text: all across, or the word at the left.
        meaning: text beside the word; empty: the text runs all across.
        drawing: drawn instead of text.
    """

    look: str = PLAIN
    text: str = ""
    meaning: str = ""
    drawing: Drawing | None = None

    @property
    def height(self) -> int:
        """Of the row [px]."""
        if self.drawing is not None:
            return frame(self.drawing, width=PAGE_WIDTH, greatest_height=GREATEST_DRAWING).height
        if self.look in {TITLE, HEADING}:
            return LARGE_LINE
        width = MEANING_WIDTH if self.meaning else PAGE_WIDTH
        return LINE_HEIGHT * max(1, lines_of(self.meaning or self.text, width=width))


@dataclass(frozen=True)
class Block:
    """Rows that stay together on paper."""

    lines: tuple[Line, ...]

    @property
    def height(self) -> int:
        """Of all its rows [px]."""
        return sum(line.height for line in self.lines)


def write_page(book: Workbook, page: Page, *, unit: str, footer: str) -> None:
    """Add the sheet of a page, and a hidden one with the points of its drawings.

    Args:
        book: the workbook; the page becomes its next sheet.
        page: what to write.
        unit: the job's length unit: inch jobs print on letter, others on A4.
        footer: xlsxwriter's header and footer text, codes such as `&P` included.
    """
    sheet = book.add_worksheet(page.title)
    points = book.add_worksheet(f"{page.title} points")
    points.hide()
    formats = {look: book.add_format(how) for look, how in FORMATS.items()}
    blocks = tuple(blocks_of(page))
    lines = [line for block in blocks for line in block.lines]
    for row, line in enumerate(lines):
        sheet.set_row_pixels(row, line.height)
        _write_line(sheet, row, line, formats)
    for row, line in enumerate(lines):
        if line.drawing is not None:
            _insert(book, sheet, points, row, line.drawing)
    _set_up_print(sheet, blocks, unit=unit, footer=footer)


def blocks_of(page: Page) -> Iterator[Block]:
    """The page from top to bottom: opening, drawings, closing lists."""
    yield Block((Line(TITLE, page.title), *(Line(PLAIN, text) for text in page.intro)))
    yield from (_drawing_block(drawing) for drawing in page.drawings)
    yield from (_passage_block(passage) for passage in page.notes)


def _drawing_block(drawing: Drawing) -> Block:
    terms = (_term_line(term) for term in drawing.caption)
    return Block((Line(HEADING, drawing.title), Line(drawing=drawing), *terms))


def _term_line(term: Term) -> Line:
    return Line(STRONG, term.name, term.meaning)


def _passage_block(passage: Passage) -> Block:
    return Block((Line(HEADING, passage.title), *(Line(PLAIN, BULLET + text) for text in passage.sentences)))


def lines_of(text: str, *, width: int) -> int:
    """How many lines a text takes in a cell that wraps it [width in px].

    >>> lines_of("one two", width=200), lines_of("one two", width=40)
    (1, 2)
    """
    count, line = 1, ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and cell_autofit_width(longer) * TEXT_FONT / SHEET_FONT > width:
            count, line = count + 1, word
        else:
            line = longer
    return count


def page_breaks(heights: tuple[int, ...], *, room: float) -> list[int]:
    """Before which blocks a new sheet of paper starts, so that none is torn [heights and room in px].

    >>> page_breaks((300, 500, 400, 100), room=900)
    [2]
    """
    breaks, used = [], 0
    for at, height in enumerate(heights):
        if used and used + height > room:
            breaks.append(at)
            used = 0
        used += height
    return breaks


def _write_line(sheet: Worksheet, row: int, line: Line, formats: dict[str, Format]) -> None:
    """The text of one row; a drawing's row holds none."""
    if line.meaning:
        _write_across(sheet, row, (0, TERM_COLUMNS - 1), line.text, formats[line.look])
        _write_across(sheet, row, (TERM_COLUMNS, PAGE_COLUMNS - 1), line.meaning, formats[PLAIN])
    elif line.text:
        _write_across(sheet, row, (0, PAGE_COLUMNS - 1), line.text, formats[line.look])


def _write_across(sheet: Worksheet, row: int, columns: tuple[int, int], text: str, look: Format) -> None:
    """Text over several columns."""
    sheet.merge_range(row, columns[0], row, columns[1], "", look)
    sheet.write_string(row, columns[0], text, look)


def _insert(book: Workbook, sheet: Worksheet, points: Worksheet, row: int, drawing: Drawing) -> None:
    """Put a drawing over its row; three columns of the point sheet keep neighbours apart."""
    size = frame(drawing, width=PAGE_WIDTH, greatest_height=GREATEST_DRAWING)
    chart = drawn(book, points, 3 * row, drawing, size)
    sheet.insert_chart(row, 0, chart, {"description": drawing.title, "object_position": 1})


def _set_up_print(sheet: Worksheet, blocks: tuple[Block, ...], *, unit: str, footer: str) -> None:
    """Paper, margins, footer, and breaks between the blocks."""
    code, high = PAPERS.get(unit, METRIC_PAPER)
    breaks = page_breaks(tuple(block.height for block in blocks), room=SAFE * (high - HEAD - FOOT) * PX_PER_INCH)
    first_rows = [sum(len(block.lines) for block in blocks[:at]) for at in breaks]
    options: dict[str, Any] = {"left": SIDE, "right": SIDE, "top": HEAD, "bottom": FOOT}
    sheet.set_paper(code)
    sheet.set_portrait()
    sheet.set_margins(**options)
    sheet.hide_gridlines(2)
    sheet.set_footer(footer)
    sheet.fit_to_pages(1, 0)
    sheet.set_h_pagebreaks(first_rows)
