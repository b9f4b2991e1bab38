"""Convex solids as sets of half-spaces, and how deep two of them reach into each other.

Lengths are in the job's unit. Boxes are compared first, then the faces of each solid, and what neither parts goes to a
small linear programme that looks for the thickest ball inside both.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

Vector = NDArray[np.float64]

UP: Vector = np.array((0.0, 0.0, 1.0))
NEAR = 1e-6  # how far outside a face a corner may be computed [unit of the lengths]
FLAT = 1e-9  # three faces whose determinant is no greater meet in no point


class Plane(NamedTuple):
    """The face of a solid.

    Attributes:
        normal: pointing out of the solid; of any length.
        point: on the face.
    """

    normal: Vector
    point: Vector


class Solid(NamedTuple):
    """What lies behind every one of its faces: normals @ x <= offsets.

    Attributes:
        normals: one row for each face, of length 1.
        offsets: how far each face is from the origin along its normal.
    """

    normals: Vector
    offsets: Vector

    @property
    def corners(self) -> Vector:
        """Its corners, one row each: where three faces meet that no other face cuts away."""
        triples = np.array(list(combinations(range(len(self.offsets)), 3)))
        normals, offsets = self.normals[triples], self.offsets[triples]
        meet = np.abs(np.linalg.det(normals)) > FLAT
        points: Vector = np.linalg.solve(normals[meet], offsets[meet][..., None])[..., 0]
        return points[np.all(points @ self.normals.T <= self.offsets + NEAR, axis=1)]


class Frame(NamedTuple):
    """Where a drawing of its own stands in space: x along it, y to the right of it, z up.

    Attributes:
        origin: of the drawing, in space.
        ahead: level, of length 1: where its x runs.
    """

    origin: Vector
    ahead: Vector

    @property
    def right(self) -> Vector:
        """To the right of its x, level."""
        return np.array((self.ahead[1], -self.ahead[0], 0.0))

    def vector(self, drawn: Vector) -> Vector:
        """A direction of the drawing, in space."""
        turned: Vector = drawn @ np.array((self.ahead, self.right, UP))
        return turned

    def point(self, drawn: Vector) -> Vector:
        """A point of the drawing, in space."""
        return self.vector(drawn) + self.origin

    def solid(self, *planes: Plane) -> Solid:
        """A solid drawn by its faces."""
        normals = np.array([plane.normal / np.linalg.norm(plane.normal) for plane in planes])
        turned, points = self.vector(normals), self.point(np.array([plane.point for plane in planes]))
        return Solid(turned, np.einsum("ij,ij->i", turned, points))


def frame(origin: Sequence[float], bearing: float) -> Frame:
    """A drawing that starts there and runs along a plan bearing [degrees, clockwise from y]."""
    turned = np.radians(bearing)
    return Frame(np.array(origin, dtype=float), np.array((np.sin(turned), np.cos(turned), 0.0)))


def across(left: float, right: float) -> tuple[Plane, Plane]:
    """The two sides of what is drawn from that far left (negative) to that far right of the middle."""
    side = np.array((0.0, 1.0, 0.0))
    return Plane(-side, side * left), Plane(side, side * right)


def degrees_between(one: Vector, other: Vector) -> float:
    """Between two directions of length 1."""
    return math.degrees(2 * math.asin(min(1.0, float(np.linalg.norm(one - other)) / 2)))


def depth(one: Solid, other: Solid) -> float:
    """Thickness of the thickest ball inside both; negative where they lie apart.

    Two boxes that lap by a sixteenth have room for a ball a sixteenth thick.
    """
    normals = np.vstack((one.normals, other.normals))
    offsets = np.concatenate((one.offsets, other.offsets))
    middle = one.corners.mean(axis=0)  # near the origin the programme keeps all its digits
    found = linprog(
        c=(0.0, 0.0, 0.0, -1.0),
        A_ub=np.hstack((normals, np.ones((len(offsets), 1)))),
        b_ub=offsets - normals @ middle,
        bounds=[(None, None)] * 4,
    )
    return float(2 * found.x[3])


class Lap(NamedTuple):
    """Two solids that reach into each other.

    Attributes:
        one: number of the first solid; `other` of the second.
        depth: thickness of the thickest ball inside both.
    """

    one: int
    other: int
    depth: float


def laps(solids: Sequence[Solid], allowed: float) -> Iterator[Lap]:
    """Every pair that laps deeper than allowed."""
    if len(solids) < 2:
        return
    shapes = _Shapes(solids)
    for one, other in shapes.close(allowed):
        found = depth(solids[one], solids[other])
        if found > allowed:
            yield Lap(one, other, found)


class _Shapes:
    """Faces and corners of many solids, each list as long as the longest, the last entry repeated."""

    def __init__(self, solids: Sequence[Solid]) -> None:
        corners = [solid.corners for solid in solids]
        self.low = np.array([each.min(axis=0) for each in corners])
        self.high = np.array([each.max(axis=0) for each in corners])
        self.corners = _padded(corners)
        self.normals = _padded([solid.normals for solid in solids])
        self.offsets = _padded([solid.offsets for solid in solids])

    def close(self, allowed: float) -> Iterator[tuple[int, int]]:
        """Pairs that neither their boxes nor one of their faces part."""
        room = np.minimum(self.high[:, None], self.high[None]) - np.maximum(self.low[:, None], self.low[None])
        ones, others = np.nonzero(np.triu(np.all(room > allowed, axis=2), k=1))
        parted = self._parted(ones, others, allowed) | self._parted(others, ones, allowed)
        yield from zip(ones[~parted].tolist(), others[~parted].tolist(), strict=True)

    def _parted(self, ones: NDArray[np.int64], others: NDArray[np.int64], allowed: float) -> NDArray[np.bool_]:
        """Whether all corners of the other lie outside some face of the one, or no deeper behind it than allowed."""
        behind = self.offsets[ones] - np.einsum("pfx,pcx->pfc", self.normals[ones], self.corners[others]).min(axis=2)
        parted: NDArray[np.bool_] = behind.min(axis=1) <= allowed
        return parted


def _padded(arrays: Sequence[Vector]) -> Vector:
    """One array of arrays, each brought to the length of the longest."""
    longest = max(map(len, arrays))
    return np.array([np.concatenate((each, np.repeat(each[-1:], longest - len(each), axis=0))) for each in arrays])
