"""How to measure: a post at which guards of two heights end."""

from railbook.basics.drawing import ABOVE, BELOW, RIGHT, SURFACE, Drawing, Label, Term
from railbook.job.sketch import POST, box, carried, line, measured, named

LOW, HIGH, CAP, LONG = 22.0, 30.0, 2.0, 26.0  # of the drawn guards [in]
PROUD = 40.0


def heights() -> Drawing:
    """Two heights at one post: the taller cap over it, or the post proud of both."""
    second = 2 * LONG + 14
    note, pointer = named(Label(-LONG / 2, HIGH + 8, "the lower cap ends here", ABOVE), (0, LOW + CAP))
    return Drawing(
        "Guards of two heights at one post",
        (
            line((-LONG, 0), (second + POST + LONG, 0), style=SURFACE),
            box((0, 0), width=POST, height=HIGH),
            box((-LONG, LOW), width=LONG, height=CAP),
            box((-1.5, HIGH), width=LONG + POST + 1.5, height=CAP),
            box((second, 0), width=POST, height=PROUD),
            box((second - LONG + 8, LOW), width=LONG - 8, height=CAP),
            box((second + POST, HIGH), width=LONG - 8, height=CAP),
            carried((second + POST, PROUD), (second + POST + 8, PROUD)),
            measured((second + POST + 6, HIGH + CAP), (second + POST + 6, PROUD)),
            pointer,
        ),
        (
            Label(POST / 2, -1, "Keep", BELOW),
            Label(second + POST / 2, -1, "Post proud", BELOW),
            Label(second + POST + 7, (HIGH + CAP + PROUD) / 2, "Proud by", RIGHT),
            note,
        ),
        (
            Term(
                "Where heights differ",
                "On the tab Supports, by the mark of the post. Blank or Keep: the taller cap runs over the "
                "post. Raise the lower or Lower the higher: the two guards get one height there.",
            ),
            Term("Post proud", "The post stands above both caps, cut square, and both end at it."),
            Term("Proud by", "How far it stands above the higher cap."),
        ),
    )
