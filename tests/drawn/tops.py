"""Checks of tops: of posts under the caps over them, of sleeves over the posts inside, of caps where they end."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from tests.drawn.bays import Bay, ends_of
from tests.drawn.caps import cap_solid
from tests.drawn.finding import Finding
from tests.drawn.fits import SAME_ANGLE
from tests.drawn.posts import LEVEL_TOP, PROUD, SLOPED, VALLEY, Stood, top_corners, top_height, top_points
from tests.drawn.solids import UP, Solid, Vector
from tests.drawn.told import is_refused, names
from tests.drawn.witness import Drawn

STANDS_OUT = {"in": 1 / 32, "mm": 0.75}  # past each side of a cap: a sixteenth or 1.5 mm both together
UNDER_CAP, STANDS_PROUD, OPEN = "under its cap", "proud", "open"


def post_tops(drawn: Drawn) -> Iterator[Finding]:
    """Tops of posts: close under the cap, neither lower nor higher than two rounded figures explain, or proud."""
    allowed = drawn.reading.hair + drawn.reading.step
    for post in drawn.posts:
        where = (post.row.post,)
        top = top_of(drawn, post)
        is_bare = top.state == OPEN or (top.state == UNDER_CAP and bare_corners(drawn, post) > 0)
        if is_bare and not _is_told_open(drawn, post):
            yield Finding("post top", where, math.inf, "no cap lies over part of it")
        elif top.low > allowed:
            yield Finding("post top", where, top.low, f"{top.state}, but too low")
        elif top.high > allowed:
            yield Finding("post top", where, top.high, f"{top.state}, but too high")
        yield from _cuts(post)
        yield from _inside(post, allowed)


def _is_told_open(drawn: Drawn, post: Stood) -> bool:
    """Whether the cap of a run that comes to it is not laid out, or does not cover it, and Warnings says so."""
    if post.is_turned and names(drawn.reading, post.row.post, "does not cover post"):
        return True
    return any(run.run in post.row.runs and is_refused(drawn.reading, run) for run in drawn.reading.runs)


class Top(NamedTuple):
    """How the top of a post is.

    Attributes:
        state: under its cap, proud, or open.
        low: how far it is too low at worst, plumb; `high` how far it is too high.
    """

    state: str
    low: float = 0.0
    high: float = 0.0


def top_of(drawn: Drawn, post: Stood) -> Top:
    """How the top of a post is: under caps, or proud of all that comes to it as far as its assembly or support says."""
    if post.row.top == PROUD:
        wanted = _proud_top(drawn, post)
        tops = [float(point[2]) for point in top_points(post)]
        tilted = post.outer.width * (abs(post.lean) + abs(post.aside))  # square to a post that leans
        return Top(STANDS_PROUD, wanted - min(tops) - tilted, max(tops) - wanted - tilted)
    boards = _over(drawn, post)
    gaps: list[float] = []
    for point in top_points(post):
        over = [gap for board in boards if (gap := underside(board, point)) is not None]
        if not over:
            return Top(OPEN)
        gaps.append(min(over))
    return Top(UNDER_CAP, max(gaps), -min(gaps))


def _over(drawn: Drawn, post: Stood) -> list[Solid]:
    """The caps of the runs that end at a post."""
    return [cap_solid(cap) for cap in drawn.caps if any(bay in cap.bays for bay in _beside(drawn, post.row.post))]


def bare_corners(drawn: Drawn, post: Stood) -> int:
    """How many corners of a post that is turned stand out of all caps, by more than nobody minds or rounding hides."""
    if not post.is_turned:
        return 0
    allowed = max(STANDS_OUT[drawn.reading.settings.unit], drawn.reading.hair + drawn.reading.step)
    grown = [board._replace(offsets=board.offsets + allowed) for board in _over(drawn, post)]
    return sum(all(underside(board, corner) is None for board in grown) for corner in top_corners(post))


def _proud_top(drawn: Drawn, post: Stood) -> float:
    """How high it is to stand: above all that comes to it as its support says, or as far as each railing there has it;
    where not all have posts that stand proud, as far above each of them as the furthest."""
    beside, typed = _beside(drawn, post.row.post), drawn.reading.supports.get(post.row.post)
    said = [bay.stretch.taped.assembly.post_proud for bay in beside]
    known = [each for each in said if each is not None]
    most = max(known) if known else ((typed.proud if typed is not None else None) or 0.0)
    each_its = len(known) == len(said)
    highest = ((_highest(bay, post.row.post), own) for bay, own in zip(beside, said, strict=True))
    return max(top + (own if each_its and own is not None else most) for top, own in highest)


def _beside(drawn: Drawn, post: str) -> list[Bay]:
    """The sections that end at a post."""
    return [bay for bay in drawn.bays if post in ends_of(bay)]


def _highest(bay: Bay, post: str) -> float:
    """Height in space of the upper side of its cap, or rail, where it comes to a post."""
    face, stack = (bay.low if ends_of(bay)[0] == post else bay.high), bay.stack
    x = face.on(stack.cap_over, stack.tangent)
    return float(bay.stretch.frame.origin[2]) + stack.cap_over + x * stack.tangent


def underside(board: Solid, point: Vector) -> float | None:
    """How far over a point a board begins, plumb; None where it does not lie over it."""
    room, steep = board.offsets - board.normals @ point, board.normals @ UP
    beside = np.abs(steep) < 1e-9
    if np.any(room[beside] < 0):
        return None
    low = float(np.max(room[steep < -1e-9] / steep[steep < -1e-9]))
    high = float(np.min(room[steep > 1e-9] / steep[steep > 1e-9]))
    return low if low < high else None


def _cuts(post: Stood) -> Iterator[Finding]:
    """The angles told for a top and a foot, against the run that the post carries."""
    way = float(post.frame.ahead @ post.stretch.frame.ahead)
    leans = math.degrees(math.atan(post.lean)) * way
    sloped = post.row.top in (SLOPED, LEVEL_TOP)  # a bent one is shaped by hand, one that stands proud is square
    wanted = leans + (post.stretch.taped.angle if post.row.top == SLOPED else 0.0) if sloped else 0.0
    foot = leans + (post.stretch.taped.angle if post.slope else 0.0)
    for cut, right, says in ((post.row.top_angle, wanted, "top"), (post.row.foot_angle, foot, "foot")):
        if abs((cut or 0.0) - right) > SAME_ANGLE:
            yield Finding("post top", (post.row.post,), (cut or 0.0) - right, f"degrees off, at its {says}")


def _inside(post: Stood, allowed: float) -> Iterator[Finding]:
    """A post stands in its sleeve as much lower as its assembly says; in a valley level, below the joint."""
    if post.inner is None:
        return
    lower, half = post.stretch.taped.assembly.post_below_sleeve or 0.0, post.inner.half
    places, heights = zip(*post.tops(post.outer), strict=True)
    for x in (-half, half):
        at, top = post.top(x, top_height(post.inner, x))
        valley = post.row.top == VALLEY and post.outer.joint
        off = (post.top(*valley)[1] if valley else float(np.interp(at, places, heights))) - top - lower
        if abs(off) > allowed:
            yield Finding("post top", (post.row.post,), off, "the post inside its sleeve")
