"""Drawings of what is measured on the level: runs, faces of posts, plan, drop, supports."""

import math
from itertools import pairwise

from railbook.basics.drawing import (
    ABOVE,
    BELOW,
    HIDDEN,
    LEFT,
    POINTER,
    RIGHT,
    SURFACE,
    Drawing,
    Label,
    Stroke,
    Term,
)
from railbook.job.sketch import BARE, POST, arc, arrow, box, carried, line, measured, named

CLEAR = 60.0  # of the drawn level run, at the bottom
LEAN = 0.09  # of its To post, inch for inch; far more than a real post leans
FACES = -11.0  # where the same posts are drawn from above
LEVEL_TERMS = (
    Term(
        "From, To",
        "Look out from the walking side: the post on your left is From, the one on your right is To.",
    ),
    Term("Clear at bottom", "Level distance from post face to post face, taped where the bottom rail will be."),
    Term(
        "Clear at top",
        "The same distance, taped where the top rail will be. Tape it separately, because posts lean. "
        "One of the two may stay blank, but then nobody can see the lean. A new post is set plumb, so what the two "
        "differ by is at the wall, the column or the post that stands already: enter it on the tab Supports. "
        "Where both ends stand, record their leans.",
    ),
    Term(
        "Lean at From, Lean at To",
        "Of a post or wall that stands already and stays: degrees from plumb, as a digital level or an angle finder "
        "shows them, along this run only: plus when its top leans away from the run, minus when it leans over it. "
        "Where two runs go straight on through one post, the second has the other sign; at a corner hold the level "
        "along each of the two runs. With a lean, tape the clear at the bottom; taped at the top too, "
        "the two are compared, and the rails are cut to what was taped. At the end of a flight tape the setback at "
        "the foot of a post that leans. A post that leans by a degree may be loose or rotted: push it.",
    ),
    Term(
        "Measured to",
        "Finished face: the sleeves are on, or the posts get none; tape between the faces that show when all is "
        "done. Bare post: the sleeves are still to come; tape between the bare posts, and the thickness of the "
        "sleeves is taken off at both ends for you.",
    ),
)


def level_run() -> Drawing:
    """Two posts, one of them leaning, with both clears; below it both seen from above."""
    low, high, top = 6.0, 23.0, 29.0
    bottom, lean = CLEAR + low * LEAN, top * LEAN
    from_post = box((-POST, 0), width=POST, height=top)
    to_post = line((CLEAR, 0), (CLEAR + POST, 0), (CLEAR + POST + lean, top), (CLEAR + lean, top), (CLEAR, 0))
    return Drawing(
        "Level run, from the side and from above",
        (
            line((-16, 0), (CLEAR + 20, 0), style=SURFACE),
            from_post,
            to_post,
            measured((0, low), (bottom, low)),
            measured((0, high), (CLEAR + high * LEAN, high)),
            carried((CLEAR, 0), (CLEAR, top + 2)),
            *_faces(FACES),
        ),
        (
            Label(-POST / 2, top + 0.5, "From post", ABOVE),
            Label(CLEAR + POST / 2 + lean, top + 0.5, "To post", ABOVE),
            Label(CLEAR / 2, high, "Clear at top", ABOVE),
            Label(CLEAR / 2, low, "Clear at bottom", ABOVE),
            Label(CLEAR - 1, top + 0.5, "Lean at To, +", LEFT),
            Label(CLEAR + 14, 0.3, "deck", ABOVE),
            Label(CLEAR / 2, FACES + 4.3, "Finished face", ABOVE),
            Label(CLEAR / 2, FACES + 1.1, "Bare post", ABOVE),
            Label(-POST - 3, FACES + 1.5, "sleeve", LEFT),
            Label(CLEAR + POST + 3, FACES + 2.5, "post inside", RIGHT),
        ),
        LEVEL_TERMS,
    )


def _faces(y: float) -> tuple[Stroke, ...]:
    """Both posts cut level: sleeves, the posts inside, and the two ways to tape between them."""
    wall = (POST - BARE) / 2
    posts = (-POST, CLEAR)
    return (
        *(box((x, y), width=POST, height=POST) for x in posts),
        *(box((x + wall, y + wall), width=BARE, height=BARE, style=HIDDEN) for x in posts),
        measured((0, y + 4.3), (CLEAR, y + 4.3)),
        measured((-wall, y + 1.1), (CLEAR + wall, y + 1.1)),
        line((-POST - 3, y + 1.5), (-POST, y + 3.5), style=POINTER),
        line((CLEAR + POST + 3, y + 2.5), (CLEAR + wall + BARE, y + 2.5), style=POINTER),
    )


def plan() -> Drawing:
    """An L-shaped deck from above: five runs between two wall ends, with their directions."""
    corners = ((20.0, 24.0), (20.0, 12.0), (9.0, 12.0), (9.0, 0.0), (0.0, 0.0), (0.0, 24.0))
    runs = tuple(pairwise(corners))
    posts = corners[1:-1]
    wall = box((-5, 24), width=30, height=1)
    return Drawing(
        "Plan: the same mark is the same post",
        (
            wall,
            *(line(start, end) for start, end in runs),
            *(box((x - 0.4, y - 0.4), width=0.8, height=0.8, style=SURFACE) for x, y in posts),
            *(_beside(start, end) for start, end in runs),
            *_rose((36.0, 11.0)),
        ),
        (
            Label(10, 25, "house wall", ABOVE),
            Label(10, 18, "walking side"),
            Label(20.8, 22.6, "W1", RIGHT),
            Label(20.6, 11.6, "P2", RIGHT),
            Label(9.6, 11, "P3", RIGHT),
            Label(9.6, -0.6, "P4", RIGHT),
            Label(-0.6, -0.6, "P5", LEFT),
            Label(-0.8, 22.6, "W6", LEFT),
            Label(20.5, 17, "run A, 180", RIGHT),
            Label(16, 11.6, "run B, 270", BELOW),
            Label(9.5, 5, "run C, 180", RIGHT),
            Label(4.5, -0.6, "run D, 270", BELOW),
            Label(-0.5, 12, "run E, 0", LEFT),
            Label(36, 16.4, "0", ABOVE),
            Label(41.4, 11, "90", RIGHT),
            Label(36, 5.6, "180", BELOW),
            Label(30.6, 11, "270", LEFT),
            Label(36, 19.5, "Direction", ABOVE),
        ),
        (
            Term(
                "Direction",
                "The way from From to To as on a compass, in degrees, clockwise from 0 to 360. Zero may "
                "point anywhere you like, but to the same place for the whole job. Every corner follows from "
                "the directions of the two runs that meet there. Blank: the corner is not checked.",
            ),
            Term(
                "Marks",
                "Run A goes from W1 to P2 and run B from P2 to P3. P2 stands on both, so it is one post: "
                "counted, cut and bought once.",
            ),
            Term(
                "Wall end",
                "W1 and W6 are where the guard ends at the house. Enter them on the tab Supports as Wall: "
                "no post, no sleeve, but anchors of its own.",
            ),
        ),
    )


def _beside(start: tuple[float, float], end: tuple[float, float]) -> Stroke:
    """An arrow along the middle of a run on its walking side, which lies to the right of the way walked."""
    (x, y), (across, up) = start, (end[0] - start[0], end[1] - start[1])
    length = math.hypot(across, up)
    right = (up / length, -across / length)
    first, last = ((x + across * part + right[0] * 1.2, y + up * part + right[1] * 1.2) for part in (0.25, 0.75))
    return arrow(first, last, head=1.0)


def _rose(centre: tuple[float, float]) -> tuple[Stroke, ...]:
    """A compass rose whose zero points up."""
    x, y = centre
    reach = 4.8
    return (
        arc(centre, radius=4.0, first=0, last=360, style=POINTER),
        arrow((x, y - reach), (x, y + reach), head=1.2),
        carried((x - reach, y), (x + reach, y)),
    )


def drop() -> Drawing:
    """The edge of a deck over falling ground."""
    lowest = (27.0, -25.0)
    note, pointer = named(Label(14, -27, "lowest ground", LEFT), lowest)
    return Drawing(
        "Drop",
        (
            line((-34, 0), (0, 0), style=SURFACE),
            box((-34, -7), width=34, height=6),
            box((-6, 0), width=POST, height=13),
            line((-34, -14), (0, -15), (14, -19), lowest, (36, -20), (50, -24), (70, -30), style=SURFACE),
            carried((0, 0), (42, 0)),
            carried((36, 10), (36, -20)),
            carried((0, 0), (0, 10)),
            measured((0, 7), (36, 7)),
            measured((27, 0), lowest),
            pointer,
        ),
        (
            Label(18, 7, "36 in (914 mm)", ABOVE),
            Label(26.5, -11, "Drop", LEFT),
            Label(-20, 1, "walking surface", ABOVE),
            note,
        ),
        (
            Term(
                "Drop",
                "From the walking surface plumb down to the lowest ground within 36 in (914 mm) of the edge. "
                "Ground farther out does not count. On stairs start from the highest tread beside the drop.",
            ),
        ),
    )


def supports() -> Drawing:
    """A post that is already there, close to a wall."""
    left, high, deep = 5.0, 25.0, 9.0
    gap, pointer = named(Label(-5, 15, "Gap beyond", LEFT), (left / 2, 12))
    return Drawing(
        "Supports that are not the usual new post",
        (
            line((0, -deep), (0, high + 6)),
            line((-2, -deep), (-2, high + 6)),
            line((0, 0), (left, 0), style=SURFACE),
            line((left + POST, 0), (50, 0), style=SURFACE),
            box((left, 0), width=POST, height=high),
            box((left, -deep), width=POST, height=deep, style=HIDDEN),
            measured((0, 12), (left, 12)),
            measured((left, high + 4), (left + POST, high + 4)),
            carried((left, high), (left, high + 5)),
            carried((left + POST, high), (left + POST, high + 5)),
            carried((left + POST, high), (left + POST + 10, high)),
            carried((left + POST, -deep), (left + POST + 10, -deep)),
            measured((left + POST + 8, 0), (left + POST + 8, high)),
            measured((left + POST + 8, -deep), (left + POST + 8, 0)),
            pointer,
        ),
        (
            Label(left + POST + 1, high + 4.5, "Face width", RIGHT),
            Label(left + POST + 9, high / 2, "Standing height", RIGHT),
            Label(left + POST + 9, -deep / 2, "Below surface", RIGHT),
            Label(40, 0.5, "walking surface", ABOVE),
            gap,
        ),
        (
            Term("Face width", "Finished width of the post or column, along the run."),
            Term("Standing height", "Of a post that is already there: from the surface to its top."),
            Term("Below surface", "How much of the post is under the walking surface, down to its foot."),
            Term("Gap beyond", "Level gap between an end post and the wall beside it. It counts as an opening."),
        ),
    )
