"""Drawings of what is measured on a slope: stairs, flights, setbacks, ramps."""

import math

from railbook.basics.drawing import (
    ABOVE,
    BELOW,
    LEFT,
    RIGHT,
    SURFACE,
    Drawing,
    Label,
    Point,
    Stroke,
    Term,
)
from railbook.job.sketch import NOSING, POST, Stairs, arc, behind, box, carried, line, measured, moved, named

STAIRS = Stairs(risers=4, lower_setback=4.0, upper_setback=3.0)
THICK = 1.5  # of the straightedge, plumb


def stair_run() -> Drawing:
    """A straightedge on the nosings between two posts, with the four figures of its triangle."""
    clear, low, high = STAIRS.clear, STAIRS.nosing_line(0), STAIRS.nosing_line(STAIRS.clear)
    level, slope, left = high + 9, 6.0, -POST - 9
    pitch = math.degrees(math.atan(STAIRS.tangent))
    edge, pointer = named(
        Label(clear * 0.66, 6, "straightedge", RIGHT),
        (clear * 0.55, STAIRS.nosing_line(clear * 0.55)),
    )
    return Drawing(
        "Stair run",
        (
            STAIRS.surface(start=-20, end=clear + 22),
            box((-POST, 0), width=POST, height=level + 4),
            box((clear, STAIRS.total_rise), width=POST, height=level + 4 - STAIRS.total_rise),
            line((0, low), (clear, high), (clear, high + THICK), (0, low + THICK), (0, low)),
            measured((0, low + slope), (clear, high + slope)),
            measured((0, level), (clear, level)),
            carried((left - 2, low), (0, low)),
            carried((left - 2, high), (clear, high)),
            measured((left, low), (left, high)),
            arc((clear, high), radius=17, first=180, last=180 + pitch),
            pointer,
        ),
        (
            Label(-POST / 2, level + 5, "lower post: From", ABOVE),
            Label(clear + POST / 2, level + 5, "upper post: To", ABOVE),
            Label(clear / 2, level, "Clear", ABOVE),
            Label(left - 0.5, (low + high) / 2, "Rise", LEFT),
            Label(13, STAIRS.nosing_line(13) + slope + 1, "Slope length", LEFT),
            Label(clear - 17.5, high - 3.5, "Angle", LEFT),
            Label(clear + 14, STAIRS.total_rise - 0.5, "deck", BELOW),
            edge,
        ),
        (
            Term(
                "From, To",
                "On stairs From is the lower post and To the upper one, whichever side you stand on.",
            ),
            Term(
                "Clear",
                "Level distance between the two post faces. Enter it under Clear at bottom or Clear at top.",
            ),
            Term(
                "Rise",
                "Lay a straightedge on the nosings. Rise is what it gains between the two post faces. "
                "It is not the height from floor to floor.",
            ),
            Term("Slope length", "Along the straightedge, from post face to post face."),
            Term("Angle", "Of the straightedge, in degrees from level."),
        ),
    )


def flight() -> Drawing:
    """The stairs without their guard: counted risers, total rise, riser, tread, overhang."""
    stairs = Stairs(risers=4, lower_setback=4.0, upper_setback=3.0, overhang=2.0)
    (_, second, third, last), top = stairs.nosings, stairs.total_rise
    right, over = stairs.clear + 18, top + 6
    counts = tuple(
        Label(x + stairs.overhang + 0.5, y - stairs.riser / 2, str(number), RIGHT)
        for number, (x, y) in enumerate(stairs.nosings, start=1)
    )
    overhang, pointer = named(
        Label(stairs.nosings[0][0] - 5, second[1] - 3, "Nosing overhang", LEFT), (second[0] + 1, second[1] - 3)
    )
    return Drawing(
        "Flight",
        (
            stairs.surface(start=-14, end=right + 8),
            carried((stairs.nosings[0][0] + 2, 0), (right + 2, 0)),
            measured((right, 0), (right, top)),
            carried(third, (third[0], over + 1)),
            carried(last, (last[0], over + 1)),
            measured((third[0], over), (last[0], over)),
            carried(second, (second[0], second[1] - 5)),
            measured((second[0], second[1] - 3), (second[0] + 2, second[1] - 3)),
            carried(third, (second[0] - 6, third[1])),
            carried(second, (second[0] - 6, second[1])),
            measured((second[0] - 4, second[1]), (second[0] - 4, third[1])),
            pointer,
        ),
        (
            *counts,
            Label(right - 0.5, 12, "Total rise", LEFT),
            Label((third[0] + last[0]) / 2, over, "Tread", ABOVE),
            Label(second[0] - 4.5, second[1] + 5.5, "Riser", LEFT),
            Label(-8, 0.5, "lower post here", ABOVE),
            Label(stairs.clear + 4, top + 0.5, "upper post here", ABOVE),
            overhang,
        ),
        (
            Term("Risers", "Counted between the surfaces on which the two posts stand: four in the drawing."),
            Term(
                "Total rise",
                "Plumb from floor to floor between those two surfaces. With Risers it gives the riser.",
            ),
            Term(
                "Riser",
                "Height of one step. Where steps differ, also enter the first, the least and the greatest.",
            ),
            Term("Tread", "Level, from nosing to nosing. It is not the width of the tread board."),
            Term(
                "Nosing overhang",
                "How far the nosing stands out in front of the riser below it. Type 0 where they are flush.",
            ),
        ),
    )


def setbacks() -> Drawing:
    """Both setbacks, each once with its post outside the nosings and once with its post beyond."""
    up = 37.0
    return Drawing(
        "Setbacks of the posts of a stair run",
        (
            *_upper((6.0, up), setback=6.0),
            *_upper((70.0, up), setback=-4.0),
            *_lower((0.0, 0.0), setback=6.0),
            *_lower((72.0, 0.0), setback=-4.0),
        ),
        (
            Label(5, up + 19, "Upper setback +", LEFT),
            Label(65, up + 19, "Upper setback -", LEFT),
            Label(7, 19, "Lower setback +", RIGHT),
            Label(73, 19, "Lower setback -", RIGHT),
        ),
        (
            Term(
                "Lower setback",
                "Level, from the lower post's uphill face to the next nosing above the surface that it "
                "stands on: + when the post stands in front of that nosing, - when its face is beyond it.",
            ),
            Term(
                "Upper setback",
                "Level, from the last nosing, the edge of the deck, to the upper post's downhill face: "
                "+ when the post is back on the deck, - when its face is in front of that nosing.",
            ),
        ),
    )


def _lower(face: Point, *, setback: float) -> tuple[Stroke, ...]:
    """The foot of a flight whose lower post has its uphill face at `face`."""
    steps = Stairs(risers=2, lower_setback=setback, upper_setback=9.0)
    surface = steps.surface(start=-20, end=steps.clear)
    nosing = steps.nosings[0]
    return moved(
        (
            *behind(surface, left=-POST, right=0.0),
            box((-POST, 0), width=POST, height=24),
            carried(nosing, (nosing[0], 19)),
            measured((0, 17), (setback, 17)),
        ),
        by=face,
    )


def _upper(nosing: Point, *, setback: float) -> tuple[Stroke, ...]:
    """The head of a flight whose last nosing is at `nosing`; its post is 5 in wide."""
    tread, riser, over = STAIRS.tread, STAIRS.riser, STAIRS.overhang
    foot = 0.0 if setback > 0 else -riser
    surface = Stroke(((over - tread, -riser), (over, -riser), (over, -NOSING), (0, -NOSING), (0, 0), (26, 0)), SURFACE)
    return moved(
        (
            *behind(surface, left=setback, right=setback + POST),
            box((setback, foot), width=POST, height=24 - foot),
            carried((0, 0), (0, 19)),
            measured((0, 17), (setback, 17)),
        ),
        by=nosing,
    )


def ramp() -> Drawing:
    """A ramp between two posts, the lower one in front of it."""
    clear, setback, tangent, raised, left = 66.0, 9.0, 1 / 6, 5.0, -POST - 9
    low, high = raised - setback * tangent, raised + (clear - setback) * tangent
    landing, level = (clear - setback) * tangent, 31.0
    top = level + 4
    middle, height = 46.0, 21.0
    at = (middle - setback) * tangent
    return Drawing(
        "Ramp",
        (
            line((-20, 0), (setback, 0), (clear, landing), (clear + 22, landing), style=SURFACE),
            box((-POST, 0), width=POST, height=top),
            box((clear, landing), width=POST, height=top - landing),
            line((0, low), (clear, high), (clear, high + THICK), (0, low + THICK), (0, low)),
            *(box((x, (x - setback) * tangent), width=2.5, height=raised) for x in (setback + 3, clear - 8)),
            measured((0, low + 6), (clear, high + 6)),
            measured((0, level), (clear, level)),
            carried((left - 2, low), (0, low)),
            carried((left - 2, high), (clear, high)),
            measured((left, low), (left, high)),
            carried((0, 0), (0, -5)),
            carried((setback, 0), (setback, -5)),
            measured((0, -4), (setback, -4)),
            measured((middle, at), (middle, at + height)),
        ),
        (
            Label(-POST / 2, top + 1, "lower post: From", ABOVE),
            Label(clear + POST / 2, top + 1, "upper post: To", ABOVE),
            Label(clear / 2, level, "Clear", ABOVE),
            Label(left - 0.5, (low + high) / 2, "Rise", LEFT),
            Label(12, 14, "Slope length", ABOVE),
            Label(setback + 1, -4, "Lower setback", RIGHT),
            Label(middle + 0.5, at + height - 3, "guard height", RIGHT),
        ),
        (
            Term(
                "Rise, Slope length",
                "As on stairs, with the straightedge on the ramp, or on two blocks of one height where the "
                "ramp starts after the post. Angle and Clear as on stairs too.",
            ),
            Term(
                "Lower setback",
                "Level, from the lower post's uphill face to where the ramp starts. "
                "Blank: the post stands on the ramp itself.",
            ),
            Term("Guard height", "Is measured plumb from the surface of the ramp, because there are no nosings."),
        ),
    )
