"""A page of text and drawings: what the written file holds, read back by other means."""

import re
import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.properties import PageSetupProperties
from xlsxwriter import Workbook

from railbook.basics.drawing import ABOVE, HIDDEN, LEFT, MEASURE, Drawing, Label, Page, Passage, Stroke, Term
from railbook.report.chart import frame, inked, text_box, text_width
from railbook.report.page import PAGE_WIDTH, SIDE, lines_of, page_breaks, write_page
from tests.recalculation import LibreOffice

STAIR = Drawing(
    "Stair",
    (
        Stroke(((0, 0), (0, 7), (11, 7))),
        Stroke(((11, 7), (11, 14), (22, 14))),
        Stroke(((0, 20), (22, 20)), MEASURE),
        Stroke(((0, 14), (22, 14)), HIDDEN),
    ),
    (Label(11, 20, "Clear", ABOVE), Label(-1, 3, "Rise", LEFT), Label(5, 17, "Angle")),
    (Term("Clear", "Level, face to face."), Term("Rise", "What it gains.")),
)
TALL = Drawing("Post", (Stroke(((0, 0), (5, 0), (5, 60), (0, 60), (0, 0))),), (Label(6, 30, "post"),))
PAGE = Page("To read", ("First line.",), (STAIR, TALL), (Passage("Last", ("Tape twice.", "Leave blanks.")),))


def written(path: Path, *, unit: str = "in", page: Page = PAGE) -> Path:
    """The page in a workbook of its own."""
    book = Workbook(path)
    book.set_properties({"created": datetime(2024, 1, 1)})
    write_page(book, page, unit=unit, footer="&LJob&RPage &P of &N")
    book.close()
    return path


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("page") / "page.xlsx")


@pytest.fixture(scope="module")
def charts(file: Path) -> list[str]:
    """The XML of each chart, in the order of the page."""
    with zipfile.ZipFile(file) as parts:
        return [parts.read(f"xl/charts/chart{number}.xml").decode() for number in (1, 2)]


def numbers(xml: str, tag: str) -> list[float]:
    """Values of all elements of one name."""
    return [float(value) for value in re.findall(rf'<c:{tag} val="([^"]+)"', xml)]


def sheet_size(file: Path, chart: int) -> tuple[float, float]:
    """Width and height of a chart in pixels, from its anchor and the cells that it covers.

    A column that nobody set is 64 px wide: 8 digits of 7 px in Calibri 11 and a little room, up to a multiple of
    8 (ECMA-376 part 1, 18.3.1.13 and 18.3.1.81); 72 points of a row are 96 px, and 9525 EMU are one pixel.
    """
    sheet = openpyxl.load_workbook(file)["To read"]
    anchor = vars(sheet)["_charts"][chart].anchor
    widths = [64] * 12
    heights = [(sheet.row_dimensions[row].height or 15) * 96 / 72 for row in range(1, 40)]
    start, end = vars(anchor)["_from"], anchor.to
    across = sum(widths[start.col : end.col]) + (end.colOff - start.colOff) / 9525
    up = sum(heights[start.row : end.row]) + (end.rowOff - start.rowOff) / 9525
    return across, up


@pytest.mark.parametrize("chart", [0, 1])
def test_one_unit_is_as_long_across_as_up(file: Path, charts: list[str], chart: int) -> None:
    """Scale of each axis = pixels of the plot area over the span of the axis."""
    width, height = sheet_size(file, chart)
    x_low, y_low = numbers(charts[chart], "min")
    x_high, y_high = numbers(charts[chart], "max")
    plot = re.findall(r"<c:plotArea>.*?</c:layout>", charts[chart])[0]
    across, up = numbers(plot, "w")[0] * width, numbers(plot, "h")[0] * height

    assert across / (x_high - x_low) == pytest.approx(up / (y_high - y_low), rel=2e-3)


def test_a_square_is_printed_as_a_square(tmp_path: Path, libreoffice: LibreOffice) -> None:
    """Measured on the printed page, where it is the only closed line; columns of a set width would stretch it."""
    square, floor = Stroke(((0, 0), (10, 0), (10, 10), (0, 10), (0, 0))), Stroke(((-30, -1), (40, -1)))
    page = Page("To read", ("A square.",), (Drawing("Square", (square, floor)),))
    (sheet,) = libreoffice.printed(written(tmp_path / "square.xlsx", page=page)).pages
    contents = sheet.get_contents()
    assert contents is not None
    corners = closed_line(contents.operations)
    (across, up) = (max(each) - min(each) for each in zip(*corners, strict=True))

    assert len(corners) == 5
    assert across > 50
    assert across / up == pytest.approx(1.0, abs=0.005)


def closed_line(operations: list[Any]) -> list[tuple[float, float]]:
    """Corners of the one line of a page that is drawn back to its start [pt]."""
    lines: list[list[tuple[float, float]]] = []
    closed = []
    for operands, operator in operations:
        if operator == b"m":
            lines.append([])
        if operator in (b"m", b"l"):
            lines[-1].append((float(operands[0]), float(operands[1])))
        if operator == b"h":
            closed.append(lines[-1])
    (only,) = closed
    return only


def test_no_column_under_a_drawing_has_a_width_of_its_own(file: Path) -> None:
    """LibreOffice draws such a column 5 or 6 % wider than the pixels of its width (tried)."""
    with zipfile.ZipFile(file) as parts:
        assert b"<cols>" not in parts.read("xl/worksheets/sheet1.xml")


def test_drawing_stays_inside_its_chart(charts: list[str]) -> None:
    for xml in charts:
        plot = re.findall(r"<c:plotArea>.*?</c:layout>", xml)[0]
        x, y, w, h = (numbers(plot, tag)[0] for tag in "xywh")

        assert min(x, y) > 0
        assert x + w < 1
        assert y + h < 1


def test_nothing_but_lines_is_drawn(charts: list[str]) -> None:
    """Both axes deleted, no gridlines, no legend, no title, blank rows leave gaps."""
    for xml in charts:
        assert re.findall(r'<c:delete val="(\d)"', xml) == ["1", "1"]
        assert "c:majorGridlines" not in xml
        assert "c:legend>" not in xml
        assert "<c:autoTitleDeleted" in xml
        assert 'c:dispBlanksAs val="zero"' not in xml
        assert 'c:dispBlanksAs val="span"' not in xml


def test_labels_are_written_out_in_the_chart(charts: list[str]) -> None:
    assert sorted(re.findall(r"<a:t>([^<]*)</a:t>", charts[0])) == ["Angle", "Clear", "Rise"]
    assert set(re.findall(r'<c:dLblPos val="(\w+)"', charts[0])) == {"ctr", "l", "t"}


def test_points_lie_on_a_hidden_sheet(file: Path) -> None:
    book = openpyxl.load_workbook(file)

    assert book.sheetnames == ["To read", "To read points"]
    assert book["To read points"].sheet_state == "hidden"
    assert book["To read"].sheet_state == "visible"


def test_pen_goes_on_where_the_last_stroke_ended_and_lifts_elsewhere(file: Path) -> None:
    """The two joined outlines are five points without a gap; the dashed line follows after a blank row."""
    sheet = openpyxl.load_workbook(file)["To read points"]
    column = next(cell.column for cell in sheet[1] if cell.value == "Stair")
    points = [(sheet.cell(row, column).value, sheet.cell(row, column + 1).value) for row in range(2, 10)]

    assert points == [(0, 0), (0, 7), (11, 7), (11, 14), (22, 14), (None, None), (0, 14), (22, 14)]


def test_text_is_on_the_page(file: Path) -> None:
    sheet = openpyxl.load_workbook(file)["To read"]
    rows = [tuple(value for value in row if value) for row in sheet.iter_rows(values_only=True)]

    assert ("To read",) in rows
    assert ("First line.",) in rows
    assert ("Clear", "Level, face to face.") in rows
    assert ("• Tape twice.",) in rows


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    page = Page("To read", ("=1+1",), (), ())
    sheet = openpyxl.load_workbook(written(tmp_path / "page.xlsx", page=page))["To read"]

    assert sheet["A2"].data_type == "s"


@pytest.mark.parametrize(("unit", "paper"), [("in", 1), ("mm", 9)])
def test_print_set_up_follows_the_unit(tmp_path: Path, unit: str, paper: int) -> None:
    """1 is letter and 9 is A4 in ECMA-376 part 1, 18.3.1.63 (paperSize)."""
    sheet = openpyxl.load_workbook(written(tmp_path / "page.xlsx", unit=unit))["To read"]

    assert sheet.page_setup.paperSize == paper
    assert sheet.page_setup.fitToHeight == 0
    assert (sheet.sheet_properties.pageSetUpPr or PageSetupProperties()).fitToPage
    assert str(sheet.oddFooter) == "&LJob&RPage &P of &N"


@pytest.mark.parametrize("paper_width", [8.5, 210 / 25.4], ids=["letter", "A4"])
def test_page_is_no_wider_than_the_paper(paper_width: float) -> None:
    """Inches of letter and A4 less the margins, at 96 px: so nothing is made smaller on paper."""
    room = (paper_width - 2 * SIDE) * 96

    assert room >= PAGE_WIDTH


def test_page_written_twice_is_the_same_file(file: Path, tmp_path: Path) -> None:
    assert written(tmp_path / "again.xlsx").read_bytes() == file.read_bytes()


def test_blocks_are_not_torn_between_two_sheets() -> None:
    """By hand: 400 + 500 fills 900; 1 more does not fit; a block higher than the paper stands alone."""
    assert page_breaks((400, 500), room=900) == []
    assert page_breaks((400, 501), room=900) == [1]
    assert page_breaks((1000, 100, 800), room=900) == [1]


def test_long_text_takes_more_lines_and_an_endless_word_one() -> None:
    assert lines_of("level " * 40, width=200) > lines_of("level " * 40, width=400) > 1
    assert lines_of("x" * 400, width=100) == 1


def test_dimension_ends_in_ticks_across_it() -> None:
    """A tick is centred on the end, 14 px long and at 45 degrees to the dimension."""
    line, *ticks = inked([Stroke(((0, 0), (10, 0)), MEASURE)], MEASURE, scale=2.0)

    assert line.points == ((0, 0), (10, 0))
    for tick, end in zip(ticks, line.points, strict=True):
        (x, y), (other_x, other_y) = tick.points
        assert ((x + other_x) / 2, (y + other_y) / 2) == pytest.approx(end)
        assert (abs(other_x - x), abs(other_y - y)) == pytest.approx((14 / 2**0.5 / 2,) * 2)


def test_chart_is_high_enough_for_its_longest_label() -> None:
    """LibreOffice 7.4 breaks a label that is wider than a third of the chart's lesser side (tried)."""
    flat = Drawing("Flat", (Stroke(((0, 0), (100, 1))),), (Label(50, 1, "a rather long label", ABOVE),))
    size = frame(flat, width=600, greatest_height=300)

    assert min(size.width, size.height) >= 3 * text_width("a rather long label")


def test_words_at_the_edge_are_inside_the_frame() -> None:
    size = frame(STAIR, width=600, greatest_height=300)

    for label in STAIR.labels:
        box = text_box(label, size.scale)
        assert box.left >= size.extent.left - 1e-9
        assert box.top <= size.extent.top + 1e-9
