"""Ears: caps wider than their post that end on two sides of it, and lap in the angle between them."""

import math
from collections.abc import Iterator
from typing import NamedTuple

from railbook.basics.problem import LOOK, Problem
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.joints import AT_EDGES, DIES, PROUD, SAME, SHARPEST, STEP, Arm, edge_of, is_straight, turned

BESIDE_THE_POST = (DIES, STEP, PROUD, *AT_EDGES)
FAR = 10.0  # half widths of a post: nobody's cap is wider

Point = tuple[float, float]


class _Plan(NamedTuple):
    """A cap in plan.

    Attributes:
        start: where its middle begins, from the middle of the post; each unit to its left begins nearer by `slant`.
        half: of its width.
        bearing: from the other cap.
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
    """Two caps that end beside each other at a post and claim the same place."""
    way = turned(one.arrival.arm, other.arrival.arm)
    if not {one.kind, other.kind} <= set(BESIDE_THE_POST) or is_straight(way) or abs(way) > SHARPEST:
        return
    if one.met is other.arrival or other.met is one.arrival:  # one of the two ends at the other
        return
    caps = one.arrival.arm, other.arrival.arm
    if None in (caps[0].middle, caps[1].middle) or not _level_with(*caps, way):
        return
    angle = math.radians(180.0 - abs(way))
    first, second = (
        _Plan(_start(end), cap.width / 2, at, _slant(end, way))
        for end, cap, at in zip((one, other), caps, (0.0, angle), strict=True)
    )
    if _laps(first, second, caps[0].half):
        runs = f"{one.arrival.run} and {other.arrival.run}"
        what = f"the caps of runs {runs} lap beside the post, in the angle of the corner"
        remedy = "nip both at half the corner there, or take caps no wider than the post"
        yield Problem(f"support {mark}", what, remedy, LOOK)


def _start(end: CapEnd) -> float:
    """Where a cap begins, from the middle of the post."""
    if end.kind in AT_EDGES and end.met is not None:
        return edge_of(end.met.arm, end.turn)
    return end.arrival.half


def _slant(end: CapEnd, way: float) -> float:
    """How an end that lies askew on its face slants; the drawing is mirrored where the guard turns left."""
    slant = math.tan(math.radians(end.arrival.skew)) if end.is_askew else 0.0
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


def _level_with(one: Arm, other: Arm, way: float) -> bool:
    """Whether two caps overlap in height anywhere in the angle between them."""
    (low, high), (under, over) = _between(one, other, way), _between(other, one, way)
    return low < over - SAME and under < high - SAME


def _between(cap: Arm, other: Arm, way: float) -> tuple[float, float]:
    """Lowest underside and highest top of a cap from the post's face as far as the other one lies beside it."""
    sine, cosine = abs(math.sin(math.radians(way))), abs(math.cos(math.radians(way)))
    far = (other.width / 2 + cap.width / 2 * cosine) / sine
    ends = cap.face, cap.face + cap.rise * max(0.0, far - cap.half)
    return min(ends), max(ends) + cap.plumb
