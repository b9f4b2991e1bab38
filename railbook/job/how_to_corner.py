"""Drawing of a post that its runs meet askew, from above: how it is turned, and which side of a rail is longer."""

import math

from railbook.basics.drawing import ABOVE, BELOW, RIGHT, Drawing, Label, Point, Stroke, Term
from railbook.job.sketch import POST, arc, arrow, carried, line, measured, named

WIDE = 2.5  # of the drawn rails
LONG = 34.0  # of what is drawn of each run
TURN = 45.0  # of the corner; the post is turned by half of it
FACE = POST / 2 / math.cos(math.radians(TURN / 2))  # from its middle to its face, along a run


def corner() -> Drawing:
    """Run A comes from the left along 90, run B leaves along 135; the post looks along 112.5, half way between."""
    before, after = _rail(-LONG - FACE, -FACE, 0.0), _rail(FACE, FACE + LONG, -TURN)
    far, to_far = named(Label(-30, 7, "far side", ABOVE), (-24, WIDE / 2))
    near, to_near = named(Label(-30, -6, "walking side", BELOW), (-24, -WIDE / 2))
    end = _turned((FACE + 21, 0), -TURN / 2)
    return Drawing(
        "A corner that is not square, from above",
        (
            before,
            after,
            _square(),
            arrow((-LONG + 4, -10.5), (-14, -10.5), head=1.2),
            arrow((0, 0), end, head=1.2),
            carried((0, 0), (22, 0)),
            arc((0, 0), radius=12.0, first=-TURN, last=0.0),
            measured((-12, -WIDE / 2), (-12, WIDE / 2)),
            to_far,
            to_near,
        ),
        (
            far,
            near,
            Label(-22, -11, "run A, 90", BELOW),
            Label(27, -23, "run B, 135", RIGHT),
            Label(22.5, -0.6, "turn 45", RIGHT),
            Label(end[0] + 0.5, end[1] - 0.6, "Post bearing 112.5", RIGHT),
            Label(-12, WIDE / 2 + 0.4, "Top rail width", ABOVE),
        ),
        (
            Term(
                "Post bearing",
                "The way in which one of the faces of a post looks, as under Direction; any of its four will do. "
                "Blank: the post is set so that its runs meet it as square as can be, and Post schedule says how. "
                "Type it where a post stands already, where it is set square with the deck or with one of the runs, "
                "and for a wall or a column that a run does not meet square.",
            ),
            Term(
                "Clear at a corner that is not square",
                "Tape it along the middle of the run, from face to face, as everywhere: the long and the short side of "
                "each rail follow. Where only one of its sides can be taped, tape both and take the half of their sum.",
            ),
            Term(
                "Top rail width",
                "Of the assembly, across the rail as seen from above; Bottom rail width alike. The rail must find "
                "room on the face of the post; one that would end at its corner is refused.",
            ),
            Term(
                "Greatest bracket skew",
                "Of the assembly: how far off square its rail brackets may be fixed to a face. Beyond that the job "
                "needs angled ones, and Warnings says where.",
            ),
        ),
    )


def _turned(point: Point, angle: float) -> Point:
    """A point turned about the middle of the post, counter-clockwise [degrees]."""
    sine, cosine = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    return point[0] * cosine - point[1] * sine, point[0] * sine + point[1] * cosine


def _square() -> Stroke:
    """The post, turned by half of the corner."""
    half = POST / 2
    corners = ((-half, -half), (half, -half), (half, half), (-half, half), (-half, -half))
    return line(*(_turned(each, -TURN / 2) for each in corners))


def _rail(start: float, end: float, bearing: float) -> Stroke:
    """A rail along a run through the middle of the post; the end at the post lies on its face."""
    slant = math.tan(math.radians(TURN / 2)) * WIDE / 2

    def x(at: float, side: int) -> float:
        if abs(at) > FACE + 1:
            return at
        return at + side * slant if bearing == 0.0 else at - side * slant

    outline = [
        (x(at, side), side * WIDE / 2) for at, side in ((start, -1), (start, 1), (end, 1), (end, -1), (start, -1))
    ]
    return line(*(_turned(point, bearing) for point in outline))
