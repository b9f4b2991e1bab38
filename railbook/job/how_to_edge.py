"""Drawing of an outside corner of a deck whose posts stand on the fascia, from above."""

from railbook.basics.drawing import ABOVE, BELOW, HIDDEN, LEFT, RIGHT, SURFACE, Drawing, Label, Stroke, Term
from railbook.job.sketch import POST, arrow, box, carried, line, measured

AT = 6.0  # near face of both posts from the corner
OUT = 2.0  # thickness of the spacer
WIDE = 2.5  # of the drawn rails
FAR = -38.0  # where the drawing ends
MIDDLE = OUT + POST / 2  # of the guard, outside the fascia


def edge() -> Drawing:
    """Run A comes along the upper edge, run B leaves along the right one; the deck is at the walker's right hand."""
    first, second = box((-AT - POST, OUT), width=POST, height=POST), box((OUT, -AT - POST), width=POST, height=POST)
    start = -AT - POST
    return Drawing(
        "Posts on the fascia at an outside corner, from above",
        (
            line((FAR, 0), (0, 0), (0, FAR), style=SURFACE),
            first,
            second,
            box((start, 0), width=POST, height=OUT),
            box((0, start), width=OUT, height=POST),
            box((FAR, MIDDLE - WIDE / 2), width=start - FAR, height=WIDE),
            box((MIDDLE - WIDE / 2, FAR), width=WIDE, height=start - FAR),
            *_cap(),
            arrow((-30, -7), (-14, -7), head=1.2),
            arrow((-7, -18), (-7, -32), head=1.2),
            carried((-AT, 0), (-AT, -5)),
            measured((-AT, -3), (0, -3)),
            measured((start - 4, 0), (start - 4, OUT)),
        ),
        (
            Label(-22, -8, "run A", BELOW),
            Label(-8.5, -26, "run B", LEFT),
            Label(-26, -16, "deck, walking side", BELOW),
            Label(-AT - 0.5, -3.6, "From deck corner", LEFT),
            Label(start - 5, OUT / 2, "Spacer", LEFT),
            Label(12, 6, "cap boards meet here", RIGHT),
            Label(start + POST / 2, OUT + POST + 1, "post", ABOVE),
            Label(OUT + POST + 1.5, start + POST / 2, "its corner post", RIGHT),
        ),
        (
            Term(
                "Spacer",
                "What stands between the fascia and the post: of one post on the tab Supports, of all posts of a "
                "railing as Fascia spacer on the tab Assemblies. Blank: the post lies on the fascia.",
            ),
            Term(
                "From deck corner",
                "No square post on the fascia can stand at an outside corner itself, so two guard it. Of both: from "
                "the corner of the deck along its edge to the face of the post.",
            ),
            Term("Corner post", "On one of the two, the mark of the other."),
        ),
    )


def _cap() -> tuple[Stroke, ...]:
    """Both cap boards, mitred over the corner."""
    half = POST / 2 + 1
    inner, outer = MIDDLE - half, MIDDLE + half
    return (
        line((-AT - POST, outer), (outer, outer), (outer, -AT - POST), style=HIDDEN),
        line((-AT, inner), (inner, inner), (inner, -AT), style=HIDDEN),
        line((inner, inner), (outer, outer), style=HIDDEN),
    )
