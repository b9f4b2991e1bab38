"""Shapes that the drawings of "How to measure" are put together from.

Sketches are drawn in inches at the true proportions of a stair, but nobody is meant to scale off them.
x runs uphill (to the right) from the lower or left post's face, y up from the surface it stands on.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from railbook.basics.drawing import HIDDEN, MEASURE, OUTLINE, POINTER, SURFACE, Label, Point, Stroke

POST = 5.0  # finished width of a drawn post
BARE = 3.5  # the post inside its sleeve
NOSING = 1.0  # thickness of a drawn tread at its nosing


def line(*points: Point, style: str = OUTLINE) -> Stroke:
    """Points joined in order."""
    return Stroke(points, style)


def measured(start: Point, end: Point) -> Stroke:
    """A dimension between two points."""
    return Stroke((start, end), MEASURE)


def carried(start: Point, end: Point) -> Stroke:
    """A dashed line that carries a dimension away from the thing measured."""
    return Stroke((start, end), HIDDEN)


def box(corner: Point, *, width: float, height: float, style: str = OUTLINE) -> Stroke:
    """A closed rectangle from its lower left corner.

    >>> box((1, 0), width=2, height=3).points
    ((1, 0), (3, 0), (3, 3), (1, 3), (1, 0))
    """
    x, y = corner
    right, top = x + width, y + height
    return Stroke(((x, y), (right, y), (right, top), (x, top), (x, y)), style)


def arrow(start: Point, end: Point, *, head: float) -> Stroke:
    """A line with an arrow head at its end, in one stroke."""
    bearing = math.atan2(end[1] - start[1], end[0] - start[0])
    barbs = [
        (end[0] - head * math.cos(bearing + turn), end[1] - head * math.sin(bearing + turn))
        for turn in (math.radians(25), -math.radians(25))
    ]
    return Stroke((start, end, barbs[0], end, barbs[1]), OUTLINE)


def arc(centre: Point, *, radius: float, first: float, last: float, style: str = MEASURE) -> Stroke:
    """Part of a circle between two angles [degrees, counter-clockwise from the right]."""
    pieces = 24
    angles = (math.radians(first + (last - first) * at / pieces) for at in range(pieces + 1))
    return Stroke(
        tuple((centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)) for angle in angles),
        style,
    )


def named(label: Label, thing: Point) -> tuple[Label, Stroke]:
    """A label with a thin line to what it names."""
    return label, Stroke(((label.x, label.y), thing), POINTER)


@dataclass(frozen=True)
class Stairs:
    """A flight between two posts, as the drawings show it [in].

    >>> stairs = Stairs(risers=4, lower_setback=3, upper_setback=2)
    >>> stairs.clear, stairs.nosings[0], stairs.nosings[-1]
    (38.0, (3.0, 7.5), (36.0, 30.0))
    """

    risers: int
    lower_setback: float
    upper_setback: float
    riser: float = 7.5
    tread: float = 11.0
    overhang: float = 1.5

    @property
    def tangent(self) -> float:
        """Height gained for each inch on the level."""
        return self.riser / self.tread

    @property
    def total_rise(self) -> float:
        """Floor to floor."""
        return self.risers * self.riser

    @property
    def clear(self) -> float:
        """Level, post face to post face: the setbacks and the treads between the nosings."""
        return self.lower_setback + (self.risers - 1) * self.tread + self.upper_setback

    @property
    def nosings(self) -> tuple[Point, ...]:
        """The front edges of the treads and of the upper floor."""
        return tuple((self.lower_setback + step * self.tread, (step + 1) * self.riser) for step in range(self.risers))

    def nosing_line(self, x: float) -> float:
        """Height of a straightedge on the nosings at a level distance from the lower post's face."""
        return self.riser + (x - self.lower_setback) * self.tangent

    def surface(self, *, start: float, end: float) -> Stroke:
        """Ground, risers, nosings and treads, and the upper floor, in one line."""
        points: list[Point] = [(start, 0.0)]
        for x, y in self.nosings:
            points += [
                (x + self.overhang, y - self.riser),
                (x + self.overhang, y - NOSING),
                (x, y - NOSING),
                (x, y),
            ]
        return Stroke((*points, (end, self.total_rise)), SURFACE)


def moved(strokes: Iterable[Stroke], *, by: Point) -> tuple[Stroke, ...]:
    """The same strokes elsewhere.

    >>> moved([line((0, 0), (1, 2))], by=(10, 5))[0].points
    ((10, 5), (11, 7))
    """
    return tuple(Stroke(tuple((x + by[0], y + by[1]) for x, y in stroke.points), stroke.style) for stroke in strokes)


def behind(stroke: Stroke, *, left: float, right: float) -> tuple[Stroke, ...]:
    """The stroke in pieces, those out of sight behind something from left to right dashed.

    >>> [piece.style for piece in behind(line((0, 0), (9, 0)), left=3, right=5)]
    ['outline', 'hidden', 'outline']
    """
    pieces = (piece for start, end in pairwise(stroke.points) for piece in pairwise(_cut(start, end, (left, right))))
    return tuple(
        Stroke(piece, HIDDEN if left < (piece[0][0] + piece[1][0]) / 2 < right else stroke.style) for piece in pieces
    )


def _cut(start: Point, end: Point, places: tuple[float, ...]) -> list[Point]:
    """A straight line's ends, and its points at those places x that lie between them."""
    (x, y), slope = start, (end[1] - start[1]) / (end[0] - start[0] or math.inf)
    between = [place for place in places if min(x, end[0]) < place < max(x, end[0])]
    return [
        start,
        *((place, y + (place - x) * slope) for place in sorted(between, reverse=end[0] < x)),
        end,
    ]
