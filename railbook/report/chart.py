"""Line drawings as native charts: points on a sheet of their own, both axes to one scale."""

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from types import MappingProxyType
from typing import Any, NamedTuple, cast

from xlsxwriter import Workbook
from xlsxwriter.chart import Chart
from xlsxwriter.utility import cell_autofit_width
from xlsxwriter.worksheet import Worksheet

from railbook.basics.drawing import (
    ABOVE,
    ALIGNS,
    BELOW,
    HIDDEN,
    LEFT,
    MEASURE,
    OUTLINE,
    POINTER,
    RIGHT,
    STYLES,
    SURFACE,
    Drawing,
    Extent,
    Label,
    Point,
    Stroke,
)

HALVINGS = 60  # of the interval in which the scale lies: to the last digit
SHEET_FONT = 11  # size for which the widths of text are known [pt]
LABEL_ROOM = 3  # LibreOffice breaks a label wider than a third of the chart's lesser side
TEXT_LINE = 15.0  # one line of a label [px]
MARGIN = 14  # between the drawing and the edge of its chart [px]
TICK = 7.0  # half the length of the slanting tick that ends a dimension [px]
LABEL_FONT = 9  # [pt]
FONT = MappingProxyType({"name": "Calibri", "size": LABEL_FONT, "color": "black"})
LINES = MappingProxyType(  # by weight and dash, so that a black-and-white print tells them apart
    {
        OUTLINE: {"color": "black", "width": 1.75},
        SURFACE: {"color": "#404040", "width": 3},
        HIDDEN: {"color": "#595959", "width": 0.75, "dash_type": "dash"},
        MEASURE: {"color": "black", "width": 1},
        POINTER: {"color": "#595959", "width": 0.5},
    }
)
NOTHING = MappingProxyType({"none": True})


class Frame(NamedTuple):
    """A chart's size and scale on the sheet.

    Attributes:
        extent: the box that is drawn [unit of the drawing].
        scale: pixels for one unit, along both axes alike.
        width: of the whole chart [px].
        height: of the whole chart [px].
    """

    extent: Extent
    scale: float
    width: int
    height: int

    @property
    def layout(self) -> dict[str, float]:
        """Place of the drawing within the chart, as fractions of its size; centred."""
        across, up = self.extent.width * self.scale, self.extent.height * self.scale
        return {
            "x": (self.width - across) / 2 / self.width,
            "y": (self.height - up) / 2 / self.height,
            "width": across / self.width,
            "height": up / self.height,
        }


def frame(drawing: Drawing, *, width: int, greatest_height: int) -> Frame:
    """The largest equal scale at which a drawing and its words fit a chart.

    Args:
        drawing: what to draw.
        width: of the chart [px].
        greatest_height: of the chart; it is made lower where the drawing is [px].

    By hand: 644 px for 92 units gives 7 px a unit, so 30 units are 210 px high, and the margins 28.

    >>> square = Drawing("", (Stroke(((0, 0), (92, 30))),))
    >>> frame(square, width=672, greatest_height=400)[1:]
    (7.0, 672, 238)
    """
    room, headroom = width - 2 * MARGIN, greatest_height - 2 * MARGIN
    low, high = 0.0, float(max(room, headroom))  # px a unit; the words do not grow with the scale
    for _ in range(HALVINGS):
        scale = (low + high) / 2
        extent = reach(drawing, scale)
        fits = extent.width * scale <= room and extent.height * scale <= headroom
        low, high = (scale, high) if fits else (low, scale)
    extent = reach(drawing, low)
    height = max(extent.height * low + 2 * MARGIN, LABEL_ROOM * widest_label(drawing))
    return Frame(extent, low, width, math.ceil(height))


def widest_label(drawing: Drawing) -> float:
    """Width of the longest label [px]; 0 without labels."""
    return max((text_width(label.text) for label in drawing.labels), default=0.0)


def text_width(text: str) -> float:
    """Width of a label's words with a little room around them [px]."""
    return float(cell_autofit_width(text) * LABEL_FONT / SHEET_FONT)


def reach(drawing: Drawing, scale: float) -> Extent:
    """The box around all strokes and words at a scale [unit of the drawing; scale in px per unit]."""
    ends = [Extent(x, y, x, y) for stroke in drawing.strokes for x, y in stroke.points]
    boxes = [*ends, *(text_box(label, scale) for label in drawing.labels)]
    return Extent(
        min(box.left for box in boxes),
        min(box.bottom for box in boxes),
        max(box.right for box in boxes),
        max(box.top for box in boxes),
    )


def text_box(label: Label, scale: float) -> Extent:
    """The box that a label's words take at a scale [unit of the drawing; scale in px per unit].

    By hand: the letters are 8 + 4 + 6 + 8 px wide at 11 pt and the room around them 7, at 9 pt 27 in all.

    >>> text_box(Label(10, 5, "Rise", ABOVE), scale=1.0)
    Extent(left=-3.5, bottom=5.0, right=23.5, top=20.0)
    """
    across = text_width(label.text) / scale
    up = TEXT_LINE / scale
    left = {LEFT: -across, RIGHT: 0.0}.get(label.align, -across / 2)
    bottom = {BELOW: -up, ABOVE: 0.0}.get(label.align, -up / 2)
    return Extent(label.x + left, label.y + bottom, label.x + left + across, label.y + bottom + up)


class Series(NamedTuple):
    """Points that are drawn alike: None lifts the pen."""

    points: tuple[Point | None, ...]
    look: Mapping[str, Any]


def drawn(book: Workbook, points: Worksheet, column: int, drawing: Drawing, size: Frame) -> Chart:
    """A drawing as a chart that can be put on any sheet of the book.

    Args:
        book: the workbook.
        points: sheet that holds the chart's points.
        column: first of the two columns there that are this drawing's own.
        drawing: what to draw.
        size: how large.
    """
    chart = cast(Chart, book.add_chart({"type": "scatter", "subtype": "straight"}))
    points.write_string(0, column, drawing.title)
    row = 1
    for one in (*line_series(drawing, size.scale), *label_series(drawing)):
        last = row + len(one.points) - 1
        _write_points(points, row, column, one.points)
        chart.add_series(
            {
                "categories": [points.name, row, column, last, column],
                "values": [points.name, row, column + 1, last, column + 1],
                "marker": {"type": "none"},
                **one.look,
            }
        )
        row = last + 2
    equal_scale(chart, size)
    return chart


def _write_points(sheet: Worksheet, first: int, column: int, points: Sequence[Point | None]) -> None:
    """One point a row; a lifted pen leaves its row blank."""
    for row, point in enumerate(points, start=first):
        if point is not None:
            sheet.write_row(row, column, point)


def line_series(drawing: Drawing, scale: float) -> list[Series]:
    """All strokes of one style as one series, for every style that the drawing uses."""
    by_style = {style: inked(drawing.strokes, style, scale=scale) for style in STYLES}
    return [Series(_one_line(strokes), {"line": LINES[style]}) for style, strokes in by_style.items() if strokes]


def _one_line(strokes: Sequence[Stroke]) -> tuple[Point | None, ...]:
    """The points of all strokes; the pen is lifted unless a stroke starts where the last one ended.

    Some programs drop the strokes that follow a lifted pen set down on the same point.

    >>> _one_line([Stroke(((0, 0), (1, 0))), Stroke(((1, 0), (1, 1))), Stroke(((5, 5), (6, 6)))])
    ((0, 0), (1, 0), (1, 1), None, (5, 5), (6, 6))
    """
    points: tuple[Point | None, ...] = strokes[0].points
    for stroke in strokes[1:]:
        goes_on = stroke.points[0] == points[-1]
        points += stroke.points[1:] if goes_on else (None, *stroke.points)
    return points


def label_series(drawing: Drawing) -> list[Series]:
    """All labels on one side of their points as one series of points that are not drawn."""
    by_align = {align: [label for label in drawing.labels if label.align == align] for align in ALIGNS}
    return [
        Series(
            tuple((label.x, label.y) for label in labels),
            {"line": dict(NOTHING), "data_labels": _texts(labels, align)},
        )
        for align, labels in by_align.items()
        if labels
    ]


def equal_scale(chart: Chart, size: Frame) -> None:
    """Hide everything of a chart but its lines, and give both axes one scale."""
    left, bottom, right, top = size.extent
    bare = {"visible": False, "major_gridlines": {"visible": False}}
    chart.set_x_axis({**bare, "min": left, "max": right})
    chart.set_y_axis({**bare, "min": bottom, "max": top})
    chart.set_plotarea({"layout": size.layout})
    chart.set_chartarea({"border": dict(NOTHING), "fill": dict(NOTHING)})
    chart.set_size({"width": size.width, "height": size.height})
    chart.set_legend(dict(NOTHING))
    chart.set_title(dict(NOTHING))
    chart.show_blanks_as("gap")
    chart.show_hidden_data()


def inked(strokes: Iterable[Stroke], style: str, *, scale: float) -> list[Stroke]:
    """The strokes of one style, dimensions with their end ticks [scale in px per unit].

    >>> [stroke.style for stroke in inked([Stroke(((0, 0), (8, 0)), MEASURE)], MEASURE, scale=5.0)]
    ['measure', 'measure', 'measure']
    """
    found = [stroke for stroke in strokes if stroke.style == style]
    if style != MEASURE:
        return found
    ticks = ((_tick(stroke.points[:2], scale), _tick(stroke.points[:-3:-1], scale)) for stroke in found)
    return [*found, *chain.from_iterable(ticks)]


def _tick(ends: tuple[Point, ...], scale: float) -> Stroke:
    """A short stroke through the first of two points, at 45 degrees to the line between them."""
    (x, y), (other_x, other_y) = ends
    slant = math.atan2(other_y - y, other_x - x) - math.pi / 4
    across, up = TICK * math.cos(slant) / scale, TICK * math.sin(slant) / scale
    return Stroke(((x - across, y - up), (x + across, y + up)), MEASURE)


def _texts(labels: Sequence[Label], align: str) -> dict[str, Any]:
    """Each label as the written text of its own point."""
    return {
        "value": True,
        "custom": [{"value": label.text, "font": dict(FONT)} for label in labels],
        "position": align,
        "font": dict(FONT),
    }
