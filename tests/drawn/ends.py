"""Checks of where caps end: on another cap or a wall, on the face of a post, at its far face or past it."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from tests.drawn.caps import CapEnd, Capped, cap_solid, is_straight, others_at
from tests.drawn.carriers import is_post
from tests.drawn.finding import Finding
from tests.drawn.fits import SAME_ANGLE
from tests.drawn.solids import degrees_between, depth
from tests.drawn.told import is_refused
from tests.drawn.witness import Drawn

CLOSE = {"in": 1 / 16, "mm": 1.5}  # heights that differ no more are said to close
ONE_SLOPE = 0.6  # two slopes that differ no more are laid out as one [degrees]

# what it is not, where it is nearest to that and still off
NOT_AT_WALL, ON_FACE = "does not end at the wall", "does not end on the face of its post"
FREE, CUT_OFF = "is not free past its post", "is not flush with the far face of its post"
CLOSED, BUTTED = "does not close on the other cap", "does not butt against the other cap"


class Miss(NamedTuple):
    """How far an end of a cap is from one of the ways in which it may end.

    Attributes:
        by: length; `degrees` the angle between the two faces.
        allowed: of that length; `turn` of that angle.
    """

    by: float
    degrees: float
    allowed: float
    says: str
    turn: float = SAME_ANGLE

    @property
    def excess(self) -> float:
        """How much worse than allowed; the angle counts as its opening over six inches."""
        return max(self.by - self.allowed, 6 * math.radians(self.degrees - self.turn))


def cap_ends(drawn: Drawn) -> Iterator[Finding]:
    """Both ends of every cap: where the working caps say, and in one of the ways in which a cap may end."""
    for cap in drawn.caps:
        yield from _reaches(drawn, cap)
        for end in (cap.low, cap.high):
            best = min(ways_to_end(drawn, cap, end), key=lambda miss: miss.excess)
            if best.excess > 0 and not _other_is_refused(drawn, cap, end):
                where = (cap.stretch.run.run, end.stand.mark)
                by = best.by if best.by > best.allowed else best.degrees
                yield Finding("cap end", where, by, best.says)


def _other_is_refused(drawn: Drawn, cap: Capped, end: CapEnd) -> bool:
    """Whether Warnings tells that the cap of another run there, on which it may close, is not laid out."""
    return any(is_refused(drawn.reading, each.run) for each in others_at(drawn.ground, cap.stretch, end.stand))


def _reaches(drawn: Drawn, cap: Capped) -> Iterator[Finding]:
    """Its length ends it as far past the To face as the working caps say."""
    off = _past(cap, cap.high) - drawn.reading.reached[cap.stretch.run.run].to_reach
    if abs(off) > drawn.reading.hair + drawn.reading.step / 2:
        yield Finding("cap end", (cap.stretch.run.run, cap.high.stand.mark), off, "past where it is said to reach")


def _past(cap: Capped, end: CapEnd) -> float:
    """How far an end lies past the near face of its support, level, at the middle of the underside."""
    bay, tangent = (cap.bays[-1] if end.ahead > 0 else cap.bays[0]), cap.stretch.taped.tangent
    face = (bay.high if end.ahead > 0 else bay.low).on(bay.stack.top_over, tangent)
    return end.ahead * (float(cap.start[0]) + end.at / cap.stretch.taped.secant - face)


def ways_to_end(drawn: Drawn, cap: Capped, end: CapEnd) -> Iterator[Miss]:
    """Every way in which it may end, and how far it is from each."""
    once = drawn.reading.hair + drawn.reading.step
    if not is_post(drawn.reading, end.stand.mark):
        yield _on_face(cap, end, once)._replace(says=NOT_AT_WALL)
        return
    yield from _free(cap, end, once)
    fit = drawn.reading.settings.fit_allowance  # a cap between two faces is to go in
    yield _on_face(cap, end, once + fit)
    for other in drawn.caps:
        for its in (other.low, other.high):
            if other is not cap and its.stand.mark == end.stand.mark:
                yield _closed(drawn, cap, end, other, its)
                yield from _butted(cap, end, other, once)


def _on_face(cap: Capped, end: CapEnd, allowed: float) -> Miss:
    """Against the near face of a wall or a post, as it stands."""
    face = cap.bays[-1].high if end.ahead > 0 else cap.bays[0].low
    turned, frame = cap.stretch.frame.vector(face.normal * end.ahead), cap.stretch.frame
    places = [corner - frame.origin for corner in cap.corners(end)]
    off = max(abs(float(each @ frame.ahead) - face.at(float(each[2]), float(each @ frame.right))) for each in places)
    turn = max(0.0, degrees_between(turned, cap.normal(end)) - cap.bays[0].stack.spread)
    return Miss(off, turn, allowed, ON_FACE)


def _free(cap: Capped, end: CapEnd, allowed: float) -> Iterator[Miss]:
    """Past the post by the overhang, or flush with its far face, at the middle of its underside; cut square."""
    across, measures = _across(cap, end), cap.stretch.taped
    square = cap.stretch.frame.vector(np.array((1.0, 0.0, measures.tangent)) / measures.secant) * end.ahead
    turn, past = degrees_between(square, cap.normal(end)), _past(cap, end)
    yield Miss(abs(past - across - (measures.assembly.cap_overhang or 0.0)), turn, allowed, FREE)
    plumb = degrees_between(-cap.stretch.faces[end.ahead > 0], cap.normal(end))
    yield Miss(abs(past - across), plumb, allowed, CUT_OFF)


def _across(cap: Capped, end: CapEnd) -> float:
    """From the near to the far face of a support, level, where the underside of a cap meets both."""
    bay, tangent, wide = (
        cap.bays[-1 if end.ahead > 0 else 0],
        cap.stretch.taped.tangent,
        2 * cap.stretch.reaches[end.ahead > 0],
    )
    near = bay.high if end.ahead > 0 else bay.low
    far = near._replace(x=near.x + end.ahead * wide * math.hypot(1.0, near.lean))
    return end.ahead * (far.on(bay.stack.top_over, tangent) - near.on(bay.stack.top_over, tangent))


def _closed(drawn: Drawn, cap: Capped, end: CapEnd, other: Capped, its: CapEnd) -> Miss:
    """On the end of another cap, corner on corner; two baluster lengths and a cap length are rounded.

    In line one may be wider than the other, and two heights, or two slopes, that differ by next to nothing close.
    """
    reading = drawn.reading
    lengthwise, close = reading.hair + 1.5 * reading.step, CLOSE[reading.settings.unit]
    apart = np.array(other.corners(its))[None] - np.array(cap.corners(end))[:, None]
    turn = SAME_ANGLE
    if is_straight(cap.stretch, other.stretch, end.stand):
        apart, turn = apart - (apart @ cap.stretch.frame.right)[..., None] * cap.stretch.frame.right, ONE_SLOPE
    apart[..., 2] = np.sign(apart[..., 2]) * np.maximum(0.0, np.abs(apart[..., 2]) - close)
    off = float(np.linalg.norm(apart, axis=2).min(axis=1).max())
    return Miss(off, degrees_between(cap.normal(end), -other.normal(its)), lengthwise, CLOSED, turn)


def _butted(cap: Capped, end: CapEnd, other: Capped, allowed: float) -> Iterator[Miss]:
    """Against the edge of another cap, wherever along it."""
    for side in (-1, 1):
        outward = other.stretch.frame.right * side
        edge = other.point(0.0, side * other.width / 2, 0.0)
        off = max(abs(float((corner - edge) @ outward)) for corner in cap.corners(end))
        turned = degrees_between(cap.normal(end), -outward)
        apart = -depth(cap_solid(cap), cap_solid(other)) if off <= allowed else off
        yield Miss(max(off, apart), turned, allowed, BUTTED)
