"""Boards that lap in the angle between two runs, beside the post that they share.

Caps wider than their post have ears past its faces, which lap the other cap, or run into the rails under it; where two
runs leave a post by less than a square turn, their rails may lap themselves.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

from railbook.basics.problem import LOOK, Problem
from railbook.geometry.askew_rails import widest
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.joints import AT_EDGES, DIES, PROUD, SAME, SHARPEST, STEP, edge_of, is_straight, turned

BESIDE_THE_POST = (DIES, STEP, PROUD, *AT_EDGES)
FAR = 10.0  # half widths of a post: nobody's cap is wider

Point = tuple[float, float]


class _Plan(NamedTuple):
    """A board in plan.

    Attributes:
        start: where its middle begins, from the middle of the post; each unit to its left begins nearer by `slant`.
        half: of its width.
        bearing: from the other one.
    """

    start: float
    half: float
    bearing: float
    slant: float

    @property
    def along(self) -> Point:
        """Its direction."""
        return math.cos(self.bearing), math.sin(self.bearing)

    def corners(self, length: float) -> list[Point]:
        """Its outline, that far out."""
        x, y = self.along
        sides = [(side, self.start - side * self.half * self.slant) for side in (-1, 1)]
        outs = [(side, at) for side, start in sides for at in (start, self.start + length)]
        return [(at * x - side * self.half * y, at * y + side * self.half * x) for side, at in outs]

    @property
    def across(self) -> tuple[Point, Point]:
        """Square to its sides, and square to its end."""
        x, y = self.along
        return (-y, x), (x - self.slant * y, y + self.slant * x)


def ear_problems(mark: str, one: CapEnd, other: CapEnd) -> Iterator[Problem]:
    """Boards of two runs that claim the same place beside a post."""
    way = turned(one.arrival.arm, other.arrival.arm)
    if is_straight(way) or abs(way) > SHARPEST:
        return
    where, runs = f"support {mark}", f"{one.arrival.run} and {other.arrival.run}"
    if _laps(_rails(one, way), _rails(other, way, is_other=True), one.arrival.half):
        what = f"the rails of runs {runs} lap beside the post, in the angle of the corner"
        remedy = (
            "turn the post so that a corner of it lies between them (Post bearing), take a wider post or narrower "
            "rails, or give one of them a post of its own"
        )
        yield Problem(where, what, remedy, LOOK)
    elif None not in (one.arrival.middle, other.arrival.middle):
        yield from _cap_problems(where, one, other, way)


def _cap_problems(where: str, one: CapEnd, other: CapEnd, way: float) -> Iterator[Problem]:
    """Two caps that lap each other, or one that laps the rails beside it."""
    caps, heights = _caps(one, other, way), (_between(one, other, way), _between(other, one, way))
    beside = [end.kind in BESIDE_THE_POST for end in (one, other)]
    (low, high), (under, over) = heights
    ends_at_the_other = one.met is other.arrival or other.met is one.arrival
    level_with = low < over - SAME and under < high - SAME
    if all(beside) and not ends_at_the_other and level_with and _laps(*caps, one.arrival.half):
        runs = f"{one.arrival.run} and {other.arrival.run}"
        what = f"the caps of runs {runs} lap beside the post, in the angle of the corner"
        remedy = "nip both at half the corner there, or take caps no wider than the post"
        yield Problem(where, what, remedy, LOOK)
        return
    rails = _rails(one, way), _rails(other, way, is_other=True)
    for own, met in ((0, 1), (1, 0)):
        run, beyond = ((one, other)[each].arrival for each in (own, met))
        lies_low = heights[own][0] < heights[met][1] - beyond.arm.plumb - SAME
        if beside[own] and lies_low and _laps(caps[own], rails[met], beyond.half):
            what = f"the cap of run {run.run} laps the rails of run {beyond.run} beside the post, in the angle between"
            yield Problem(where, what, "nip that cap there, or take one no wider than the post", LOOK)


def _caps(one: CapEnd, other: CapEnd, way: float) -> tuple[_Plan, _Plan]:
    """Both caps in plan."""
    first, second = (
        _Plan(_start(end), end.arrival.arm.width / 2, at, _slant(end, way) if end.is_askew else 0.0)
        for end, at in ((one, 0.0), (other, _angle(way)))
    )
    return first, second


def _rails(end: CapEnd, way: float, *, is_other: bool = False) -> _Plan:
    """The rails of a run in plan, as wide as the wider of the two."""
    own = end.arrival
    wide = widest(own.line.measures, own.line.unit)
    return _Plan(own.half, wide / 2, _angle(way) if is_other else 0.0, _slant(end, way))


def _angle(way: float) -> float:
    """Between two runs, seen from their post."""
    return math.radians(180.0 - abs(way))


def _start(end: CapEnd) -> float:
    """Where a cap begins, from the middle of the post."""
    if end.kind in AT_EDGES and end.met is not None:
        return edge_of(end.met.arm, end.turn)
    return end.arrival.half


def _slant(end: CapEnd, way: float) -> float:
    """How a face that is met askew slants; the drawing is mirrored where the guard turns left."""
    slant = math.tan(math.radians(end.arrival.skew)) if end.arrival.side else 0.0
    return slant if way > 0 else -slant


def _laps(one: _Plan, other: _Plan, half: float) -> bool:
    """Whether two boards overlap in plan: no side of either parts their corners."""
    outlines = one.corners(FAR * half), other.corners(FAR * half)
    for x, y in (*one.across, *other.across):
        (low, high), (under, over) = (
            (min(cast), max(cast)) for cast in ([at * x + up * y for at, up in outline] for outline in outlines)
        )
        if high <= under + SAME or over <= low + SAME:
            return False
    return True


def _between(end: CapEnd, other: CapEnd, way: float) -> tuple[float, float]:
    """Lowest underside and highest top of a cap from the post's face as far as the other one lies beside it."""
    cap, sine, cosine = end.arrival.arm, abs(math.sin(math.radians(way))), abs(math.cos(math.radians(way)))
    far = (other.arrival.arm.width / 2 + cap.width / 2 * cosine) / sine
    nearer = cap.width / 2 * abs(_slant(end, way)) if end.is_askew else 0.0
    ends = cap.face - cap.rise * nearer, cap.face + cap.rise * max(0.0, far - cap.half)
    return min(ends), max(ends) + cap.plumb
