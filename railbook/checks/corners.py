"""Where runs meet at a support: turns that cannot be, and caps that end there in another way than asked.

Nothing is raised or lowered unasked: whatever closes badly, or only by ending one cap at the post, is told with both
heights, which stand on the surface that the post stands on.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.basics.rounding import same
from railbook.basics.units import tape_text
from railbook.checks.cures import PROUD_CURE, bring_together, cures
from railbook.checks.ears import ear_problems
from railbook.checks.remedies import said
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CapEnd, at_shared_posts
from railbook.geometry.joining import MOST_RUNS
from railbook.geometry.joints import (
    CLASH,
    CUT_OFF,
    DIES,
    EDGE,
    PROUD,
    REFUSED,
    SHARPEST,
    STEP,
    edge_apart,
    is_square,
    turned,
)  # fmt: skip
from railbook.geometry.lifts import FROM
from railbook.geometry.skews import cosine
from railbook.geometry.survey import Site
from railbook.job.runs import MEETS
from railbook.job.settings import Settings
from railbook.job.supports import KEEP, POST, STAND_PROUD


def corner_problems(site: Site) -> Iterator[Problem]:
    """Everything about supports that runs share; at a wall or a column no caps meet and no post turns."""
    settings = site.chosen.settings
    yield from _raised(site)
    yield from _proud_tops(site)
    for mark, ends in at_shared_posts(site.cap_ends).items():
        arrivals = [end.arrival for end in ends]
        if len(ends) > MOST_RUNS:
            runs = ", ".join(each.run for each in arrivals)
            what = f"{len(ends)} runs meet here ({runs}): no cap is laid out that ends at this post"
            yield Problem(f"support {mark}", what, "end some of them at a post of their own beside it", LOOK)
        for one, other in combinations(ends, 2):
            yield from _turn_problems(mark, one.arrival, other.arrival)
            yield from _width_problems(mark, one.arrival, other.arrival)
            yield from ear_problems(mark, one, other)
        for end in ends:
            yield from _end_problems(mark, end, settings)
        if len(ends) == MOST_RUNS and any(end.kind == CLASH for end in ends):
            yield _three_clash(mark, ends, settings)
        if any(each.away is None for each in arrivals):
            runs = ", ".join(each.run for each in arrivals)
            what = f"runs {runs} meet here without a direction"
            yield Problem(f"support {mark}", what, "the cap is laid out straight on; fill in Direction", LOOK)


def _raised(site: Site) -> Iterator[Problem]:
    """Guards that were raised or lowered because tab Supports says so: both heights."""
    for line in site.lines:
        guard, typed = line.guard, line.measures.typed
        if guard.meets.other is None or typed.height == MEETS:
            continue
        mark = typed.from_support if guard.meets.end == FROM else typed.to_support
        now, own = (said(each or 0.0, guard.settings) for each in (guard.guard_height, guard.own_height))
        what = (
            f"run {line.run} is {now} high instead of {own}, so that its cap meets that of run {guard.meets.other.run}"
        )
        yield Problem(f"support {mark}", what, "nothing to do if that is wanted; else Where heights differ: Keep", NOTE)


def _proud_tops(site: Site) -> Iterator[Problem]:
    """Posts that stand proud by tab Supports, of railings whose posts do not."""
    for post in site.posts:
        wanted = post.typed is not None and post.typed.heights == STAND_PROUD and post.kind == POST
        if wanted and post.worked.proud_line.measures.assembly.post_proud is None:
            what = f"post {post.post} stands proud, its end grain open to the weather"
            remedy = "buy a post cap for it: none is on the buying list for a railing whose posts end under their caps"
            yield Problem(f"support {post.post}", what, remedy, NOTE)


def _turn_problems(mark: str, one: Arrival, other: Arrival) -> Iterator[Problem]:
    """Two runs that turn back."""
    way = turned(one.arm, other.arm)
    if abs(way) > SHARPEST:
        what = f"runs {one.run} and {other.run} leave support {mark} on one side of it"
        remedy = "correct one of the two directions; two runs that turn back need two posts, and a short run between"
        yield Problem(one.line.measures.typed.origin.cell("direction"), what, remedy, LOOK)


def _width_problems(mark: str, one: Arrival, other: Arrival) -> Iterator[Problem]:
    """One post of which two railings have their own width: it is cut once."""
    settings = one.line.guard.settings
    sides = [2 * each.half * cosine(each.skew) for each in (one, other)]
    if same(*sides):
        return
    widths = " and ".join(
        f"{said(side, settings)} by run {each.run}" for side, each in zip(sides, (one, other), strict=True)
    )
    remedy = "type its Face width on tab Supports, and check the railing that its post is bought for"
    yield Problem(f"support {mark}", f"the post there is taken {widths}", remedy, LOOK)


def _end_problems(mark: str, end: CapEnd, settings: Settings) -> Iterator[Problem]:
    """How one cap ends beside another, where it does not close with it."""
    own, met = end.arrival, end.met
    where = f"support {mark}"
    if end.kind == PROUD and own.assembly.post_proud is None and own.assembly.cap_thickness:
        what = f"the cap of run {own.run} ends at the post, which stands proud"
        if not _wish(own):
            yield Problem(where, what, "the other run's assembly has its posts proud: look whether this is meant", LOOK)
    if met is None:
        return
    if own.middle is None or met.middle is None:
        yield from _unknown(where, end)
        return
    if end.kind == CLASH and own.line_row < met.line_row:
        yield Problem(where, f"caps clash: {_heights(own, met, CLASH, settings)}", cures(own, met, settings), LOOK)
    if end.kind == CUT_OFF and not met.assembly.cap_thickness:
        what = (
            f"the cap of run {own.run} is cut off flush with the face of the post, beside run {met.run} without a cap"
        )
        yield Problem(where, what, "see that it covers the post, or let the post stand proud", LOOK)
    told = _TOLD.get(end.kind)
    if told is not None and own.assembly.cap_thickness:
        kept = _wish(own) == KEEP
        what = f"the cap of run {own.run} {told} run {met.run}: {_heights(own, met, end.kind, settings)}"
        severity = NOTE if kept and end.kind == DIES else LOOK
        yield Problem(where, what, bring_together(own, met, settings, kind=end.kind), severity)


def _three_clash(mark: str, ends: Sequence[CapEnd], settings: Settings) -> Problem:
    """Three runs of which at least one cap has no way to end."""
    arrivals = [end.arrival for end in ends]
    heights = (
        f"run {each.run} {tape_text(each.arm.middle, settings.tape_step, settings.unit) or 'not known'}"
        for each in arrivals
    )
    lost = ", ".join(end.arrival.run for end in ends if end.kind == CLASH)
    what = f"caps clash where three runs meet, undersides over its middle: {', '.join(heights)}"
    remedy = (
        f"the caps of {lost} are not laid out, and the post is as high as the highest needs: give two of the guards "
        f"one height and let the third end under them, or {PROUD_CURE}"
    )
    return Problem(f"support {mark}", what, remedy, LOOK)


def _unknown(where: str, end: CapEnd) -> Iterator[Problem]:
    """A cap that is laid out as if it met another, while nobody knows how high it arrives."""
    own, met = end.arrival, end.met
    if own.middle is None and met is not None and end.kind not in (CLASH, REFUSED) and own.assembly.cap_thickness:
        what = f"the cap of run {own.run} is laid out as if it met run {met.run}: how high it comes there is not known"
        yield Problem(where, what, "name its flight with its risers, and fill in the setback at this post", LOOK)


_TOLD = {
    DIES: "ends at the face of the post, under that of",
    EDGE: "ends at the edge of that of",
    STEP: "ends at the face of the post, against that of",
}


def _wish(arrival: Arrival) -> str:
    """What is to be done at its support where heights differ; empty where nothing is said."""
    return "" if arrival.typed is None else arrival.typed.heights or ""


def _heights(one: Arrival, other: Arrival, kind: str, settings: Settings) -> str:
    """Both heights, and how far they are apart: the tops where a cap comes to a level one's edge, else undersides."""
    way = turned(one.arm, other.arm)
    if kind in (EDGE, CLASH) and one.arm.is_level != other.arm.is_level and is_square(way):
        level, raked = (one, other) if one.arm.is_level else (other, one)
        apart = edge_apart(level.arm, raked.arm, way)
        tops = {level.run: level.arm.top, raked.run: level.arm.top + apart}
        return _apart("tops where they meet", one, other, (tops[one.run], tops[other.run]), settings)
    return _apart("undersides over its middle", one, other, (one.arm.under, other.arm.under), settings)


def _apart(what: str, one: Arrival, other: Arrival, heights: tuple[float, float], settings: Settings) -> str:
    here, there, by = (
        tape_text(each, settings.tape_step, settings.unit) for each in (*heights, abs(heights[0] - heights[1]))
    )
    return f"{what}: run {one.run} {here}, run {other.run} {there}, {by} apart"
