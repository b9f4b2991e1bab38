"""Drawing of a handrail of its own: on the wall side of a flight, seen from the side."""

from railbook.basics.drawing import BELOW, LEFT, RIGHT, Drawing, Label, Term
from railbook.job.sketch import Stairs, carried, line, measured, named

STAIRS = Stairs(risers=4, lower_setback=4.0, upper_setback=3.0)
HEIGHT = 20.0  # of the drawn handrail over the nosings
PAST_BOTTOM, PAST_TOP, DEEP = 6.0, 8.0, 1.6


def handrail() -> Drawing:
    """A rail over the nosings, past both ends, with its height."""
    first, last = STAIRS.nosings[0], STAIRS.nosings[-1]
    start = (first[0] - PAST_BOTTOM, first[1] + HEIGHT - PAST_BOTTOM * STAIRS.tangent)
    bend, end = (last[0], last[1] + HEIGHT), (last[0] + PAST_TOP, last[1] + HEIGHT)
    low = [(x, y - DEEP) for x, y in (end, bend, start)]
    nosing, pointer = named(Label(first[0] + 30, first[1] + 4, "nosing", RIGHT), first)
    return Drawing(
        "Handrail of its own",
        (
            STAIRS.surface(start=-20, end=STAIRS.clear + 22),
            line(start, bend, end, *low, start),
            carried(first, (first[0], first[1] + HEIGHT + 8)),
            carried(last, (last[0], last[1] + HEIGHT + 6)),
            measured((first[0], first[1]), (first[0], first[1] + HEIGHT)),
            measured((start[0], first[1] + HEIGHT + 6), (first[0], first[1] + HEIGHT + 6)),
            measured((bend[0], end[1] + 4), (end[0], end[1] + 4)),
            carried(start, (start[0], first[1] + HEIGHT + 8)),
            carried(end, (end[0], end[1] + 6)),
            pointer,
        ),
        (
            Label(first[0] + 0.5, first[1] + HEIGHT / 2, "Handrail height", RIGHT),
            Label(start[0] - 0.5, first[1] + HEIGHT + 6, "Past the bottom nosing", LEFT),
            Label(end[0] + 0.5, end[1] + 4, "Past the top nosing", RIGHT),
            Label(STAIRS.clear + 14, STAIRS.total_rise - 0.5, "deck", BELOW),
            nosing,
        ),
        (
            Term(
                "Kind: Handrail",
                "A graspable rail alone, on a wall. On stairs name its Flight and leave the measurements blank: it "
                "then runs from the lowest nosing to the top one. On the level give its length as Clear at bottom. "
                "From, To and Measured to stay blank.",
            ),
            Term(
                "Handrail height",
                "The columns Handrail height to Bracket spacing stand on tab Assemblies. Handrail return is the "
                "piece that turns each end to the wall.",
            ),
        ),
    )
