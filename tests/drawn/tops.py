"""Checks of tops: of posts under the caps over them, of sleeves over the posts inside, of caps where they end."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from tests.drawn.bays import Bay, ends_of
from tests.drawn.caps import CapEnd, Capped, cap_solid
from tests.drawn.carriers import is_post
from tests.drawn.finding import Finding
from tests.drawn.fits import SAME_ANGLE
from tests.drawn.posts import PROUD, Stood, top_height, top_points
from tests.drawn.solids import UP, Solid, Vector, depth
from tests.drawn.witness import Drawn

UNDER_CAP, STANDS_PROUD, OPEN = "under its cap", "proud", "open"


def post_tops(drawn: Drawn) -> Iterator[Finding]:
    """Tops of posts: close under the cap, neither lower nor higher than two rounded figures explain, or proud."""
    allowed = drawn.reading.hair + drawn.reading.step
    for post in drawn.posts:
        where = (post.row.post,)
        top = top_of(drawn, post)
        if top.state == OPEN:
            yield Finding("post top", where, math.inf, "no cap lies over part of it")
        elif top.low > allowed:
            yield Finding("post top", where, top.low, f"{top.state}, but too low")
        elif top.high > allowed:
            yield Finding("post top", where, top.high, f"{top.state}, but too high")
        yield from _cuts(post)
        yield from _inside(post, allowed)


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
    """How the top of a post is: under caps, or proud of all that comes to it as far as its assembly says."""
    if post.row.top == PROUD:
        proud = post.stretch.taped.assembly.post_proud or 0.0
        wanted = proud + max((_highest(bay, post.row.post) for bay in _beside(drawn, post.row.post)), default=0.0)
        tops = [float(point[2]) for point in top_points(post)]
        return Top(STANDS_PROUD, wanted - min(tops), max(tops) - wanted)
    boards = [cap_solid(cap) for cap in drawn.caps if any(bay in cap.bays for bay in _beside(drawn, post.row.post))]
    gaps: list[float] = []
    for point in top_points(post):
        over = [gap for board in boards if (gap := _underside(board, point)) is not None]
        if not over:
            return Top(OPEN)
        gaps.append(min(over))
    return Top(UNDER_CAP, max(gaps), -min(gaps))


def _beside(drawn: Drawn, post: str) -> list[Bay]:
    """The sections that end at a post."""
    return [bay for bay in drawn.bays if post in ends_of(bay)]


def _highest(bay: Bay, post: str) -> float:
    """Height in space of the upper side of its cap, or rail, where it comes to a post."""
    face, stack = (bay.low if ends_of(bay)[0] == post else bay.high), bay.stack
    return float(bay.stretch.frame.origin[2]) + stack.cap_over + face.x * stack.tangent


def _underside(board: Solid, point: Vector) -> float | None:
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
    sloped = post.row.top not in (PROUD, "level")
    wanted = post.stretch.taped.angle if sloped else 0.0
    foot = post.stretch.taped.angle if post.slope else 0.0
    for cut, right, says in ((post.row.top_angle, wanted, "top"), (post.row.foot_angle, foot, "foot")):
        if abs((cut or 0.0) - right) > SAME_ANGLE:
            yield Finding("post top", (post.row.post,), (cut or 0.0) - right, f"degrees off, at its {says}")


def _inside(post: Stood, allowed: float) -> Iterator[Finding]:
    """A post stands in its sleeve as much lower as its assembly says."""
    if post.inner is None:
        return
    lower, half = post.stretch.taped.assembly.post_below_sleeve or 0.0, post.inner.width / 2
    for x in (-half, half):
        off = top_height(post, post.outer, x) - top_height(post, post.inner, x) - lower
        if abs(off) > allowed:
            yield Finding("post top", (post.row.post,), off, "the post inside its sleeve")


class Miss(NamedTuple):
    """How far an end of a cap is from one of the ways in which it may end.

    Attributes:
        by: length; `degrees` the angle between the two faces.
        allowed: of that length.
    """

    by: float
    degrees: float
    allowed: float
    says: str

    @property
    def excess(self) -> float:
        """How much worse than allowed; the angle counts as its opening over six inches."""
        return max(self.by - self.allowed, 6 * math.radians(self.degrees - SAME_ANGLE))


def cap_ends(drawn: Drawn) -> Iterator[Finding]:
    """Both ends of every cap: closed on another cap or a wall, or free past the post by the overhang."""
    for cap in drawn.caps:
        for end in (cap.low, cap.high):
            misses = list(_ways_to_end(drawn, cap, end))
            best = min(misses, key=lambda miss: miss.excess)
            if best.excess > 0:
                where = (cap.stretch.run.run, end.stand.mark)
                by = best.by if best.by > best.allowed else best.degrees
                yield Finding("cap end", where, by, best.says)


def _ways_to_end(drawn: Drawn, cap: Capped, end: CapEnd) -> Iterator[Miss]:
    """Every way in which it may end, and how far it is from each."""
    once = drawn.reading.hair + drawn.reading.step
    if not is_post(drawn.reading, end.stand.mark):
        yield _at_wall(cap, end, once)
        return
    yield _free(cap, end, once)
    for other in drawn.caps:
        for its in (other.low, other.high):
            if other is not cap and its.stand.mark == end.stand.mark:
                yield _closed(cap, end, other, its, once + drawn.reading.step / 2)
                yield from _butted(cap, end, other, once)


def _degrees(one: Vector, other: Vector) -> float:
    """Between two directions of length 1."""
    return math.degrees(2 * math.asin(min(1.0, float(np.linalg.norm(one - other)) / 2)))


def _at_wall(cap: Capped, end: CapEnd, allowed: float) -> Miss:
    """Against the face of a wall."""
    face = cap.bays[-1].high if end.ahead > 0 else cap.bays[0].low
    normal = np.array((1.0, 0.0, -face.lean)) * end.ahead
    turned = cap.stretch.frame.vector(normal / np.linalg.norm(normal))
    places = [corner - cap.stretch.frame.origin for corner in cap.corners(end)]
    off = max(abs(float(each @ cap.stretch.frame.ahead) - face.at(float(each[2]))) for each in places)
    turn = max(0.0, _degrees(turned, cap.normal(end)) - cap.bays[0].stack.spread)
    return Miss(off, turn, allowed, "does not end at the wall")


def _free(cap: Capped, end: CapEnd, allowed: float) -> Miss:
    """Past the post by the overhang, at the middle of its underside, and square."""
    bay, slope = (cap.bays[-1] if end.ahead > 0 else cap.bays[0]), cap.stretch.taped
    face, reach = (bay.high if end.ahead > 0 else bay.low), cap.stretch.reaches[end.ahead > 0]
    past = face.on(bay.stack.top_over, slope.tangent) + end.ahead * (2 * reach + (slope.assembly.cap_overhang or 0.0))
    place = float(cap.start[0]) + end.at / slope.secant
    square = cap.stretch.frame.vector(np.array((1.0, 0.0, slope.tangent)) / slope.secant) * end.ahead
    return Miss(abs(place - past), _degrees(square, cap.normal(end)), allowed, "is not free past its post")


def _closed(cap: Capped, end: CapEnd, other: Capped, its: CapEnd, allowed: float) -> Miss:
    """On the end of another cap, corner on corner; two baluster lengths and a cap length are rounded."""
    corners = np.array(other.corners(its))
    off = max(float(np.linalg.norm(corners - corner, axis=1).min()) for corner in cap.corners(end))
    return Miss(off, _degrees(cap.normal(end), -other.normal(its)), allowed, "does not close on the other cap")


def _butted(cap: Capped, end: CapEnd, other: Capped, allowed: float) -> Iterator[Miss]:
    """Against the edge of another cap, wherever along it."""
    for side in (-1, 1):
        outward = other.stretch.frame.right * side
        edge = other.point(0.0, side * other.width / 2, 0.0)
        off = max(abs(float((corner - edge) @ outward)) for corner in cap.corners(end))
        turned = _degrees(cap.normal(end), -outward)
        apart = -depth(cap_solid(cap), cap_solid(other)) if off <= allowed else off
        yield Miss(max(off, apart), turned, allowed, "does not butt against the other cap")
