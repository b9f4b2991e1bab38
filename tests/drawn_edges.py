"""Random decks' edges: spacers, and outside corners that two posts on the fascia guard; drawn last in a random job."""

from collections.abc import Iterator
from dataclasses import replace

from railbook.job.assemblies import ON_FASCIA, Assembly
from railbook.job.runs import FINISHED, LEVEL, OPEN, Run
from railbook.job.supports import POST, Support
from tests.taper import Marks, Taper

AT_A_CORNER = "beside a corner of the deck"


def spaced_railing(taper: Taper, railing: Assembly) -> Assembly:
    """A railing with what stands between the fascia and its posts."""
    return replace(railing, spacer=taper.either(None, 0.0, taper.length(3 / 8, 1.5)))


def spaced_support(taper: Taper, support: Support) -> Support:
    """A support with a spacer of its own, and now and then beside a corner of the deck."""
    spacer, near = taper.either(None, None, 0.0, taper.length(3 / 8, 1.5)), taper.either(None, None, taper.length(0, 4))
    return replace(support, spacer=spacer, from_corner=near)


def deck_corner(
    taper: Taper, run_marks: Marks, post_marks: Marks, railing: Assembly
) -> Iterator[tuple[tuple[Run, Run], tuple[Support, Support]]]:
    """Mostly a corner between two level runs, with the posts that guard it; some lack what tells of it."""
    if not taper.chance(0.6):
        return
    ends, bearing = [post_marks.new() for _ in range(4)], taper.either(0.0, 90.0, 300.0)
    turn = taper.either(90.0, 90.0, 90.0, 45.0, 30.0, 120.0)
    first, second = (
        Run(
            run=run_marks.new(), kind=LEVEL, from_support=low, to_support=high, direction=(bearing + turned) % 360,
            assembly=railing.assembly, measured_to=FINISHED, clear_bottom=taper.length(20, 160), stair_side=OPEN,
            drop=taper.maybe(6, 120), location=AT_A_CORNER,
        )
        for (low, high), turned in ((ends[:2], 0.0), (ends[2:], turn))
    )  # fmt: skip
    one = Support(ends[1], POST, mount=ON_FASCIA, spacer=taper.maybe(0, 1.5), from_corner=taper.length(0.5, 4))
    other = Support(ends[2], POST, mount=ON_FASCIA, from_corner=taper.either(None, *(taper.length(0.5, 4),) * 4))
    names = taper.either((ends[2], ends[1]), (ends[2], None), (None, ends[1]))
    one, other = (replace(each, corner_post=name) for each, name in zip((one, other), names, strict=True))
    yield (first, second), (one, other)
