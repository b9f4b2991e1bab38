"""Cap boards as they are cut, each begun where the working caps say that it reaches past the From face.

Where it ends follows from its length; `ends.py` looks at what it comes to.
"""

import math
from typing import NamedTuple

import numpy as np

from tests.drawn.bays import Bay
from tests.drawn.boards import along, out_of
from tests.drawn.ground import Ground, Stand, Stretch
from tests.drawn.reading import CAP, Reading, Sawn
from tests.drawn.saws import Slant, flat_slant, long_side, ways_of
from tests.drawn.solids import Plane, Solid, Vector, across

STRAIGHT = 1.0  # a turn no greater is none: nobody takes a bearing closer [degrees]


class CapEnd(NamedTuple):
    """One end of a cap in its own drawing: s along it, w to its right, n square to it.

    Attributes:
        stand: the support there.
        at: s of the end at the middle of the underside.
        slant: what s gains for each unit of w and of n.
        ahead: 1 at the To end, -1 at the From end.
    """

    stand: Stand
    at: float
    slant: Slant
    ahead: int

    def s(self, w: float, n: float) -> float:
        """Where the end is there."""
        return self.at + w * self.slant.by_width + n * self.slant.by_depth


class Capped(NamedTuple):
    """One cap board where it lies.

    Attributes:
        start: point of its underside, over the middle of the run, where s is 0; in the drawing of its run.
    """

    stretch: Stretch
    sawn: Sawn
    bays: tuple[Bay, ...]
    width: float
    thickness: float
    start: Vector
    low: CapEnd
    high: CapEnd

    def point(self, s: float, w: float, n: float) -> Vector:
        """A point of the board, in space."""
        ahead, square = along(self.stretch.taped.tangent)
        aside = np.array((0.0, w, 0.0))
        return self.stretch.frame.point(self.start + ahead * s + square * n + aside)

    def corners(self, end: CapEnd) -> list[Vector]:
        """The four corners of an end, in space."""
        half = self.width / 2
        places = ((-half, 0.0), (half, 0.0), (half, self.thickness), (-half, self.thickness))
        return [self.point(end.s(w, n), w, n) for w, n in places]

    @property
    def edges(self) -> list[float]:
        """Lengths of its four edges."""
        half = self.width / 2
        places = ((-half, 0.0), (half, 0.0), (half, self.thickness), (-half, self.thickness))
        return [self.high.s(w, n) - self.low.s(w, n) for w, n in places]

    def normal(self, end: CapEnd) -> Vector:
        """Out of an end, in space."""
        return self.stretch.frame.vector(_normal(end, self.stretch.taped.tangent))


def _normal(end: CapEnd, tangent: float) -> Vector:
    """Out of an end, in the drawing of the run; of length 1."""
    return end.ahead * out_of(end.slant, tangent)


def cap_of(reading: Reading, ground: Ground, bays: list[Bay]) -> Capped | None:
    """The cap over all sections of a run; None where the run has none that runs over its posts."""
    stretch, assembly = bays[0].stretch, bays[0].stretch.taped.assembly
    sawn = reading.piece(CAP, stretch.run.run)
    if sawn is None or assembly.post_proud is not None or not assembly.cap_width or not assembly.cap_thickness:
        return None
    width, thickness, slope = assembly.cap_width, assembly.cap_thickness, stretch.taped.tangent
    low, high = (
        _end(ground, stretch, way, angles, ahead=ahead)
        for way, angles, ahead in zip(ways_of(sawn), _angles(sawn), (-1, 1), strict=True)
    )
    edges = [(w, n) for w in (-width / 2, width / 2) for n in (0.0, thickness)]
    least, most = min(low.s(w, n) for w, n in edges), max(high.s(w, n) for w, n in edges)
    x = bays[0].low.on(bays[0].stack.top_over, slope) - reading.reached[stretch.run.run].from_reach
    start = np.array((x, 0.0, bays[0].stack.top_over + x * slope))
    high = high._replace(at=sawn.tip_to_tip + least - most)
    return Capped(stretch, sawn, tuple(bays), width, thickness, start, low, high)


def _end(ground: Ground, stretch: Stretch, way: str, angles: tuple[float, float], *, ahead: int) -> CapEnd:
    """An end by its words on the cut list: along a face that it meets askew with one side long, tilted with the upper
    or the under side long or plumb, turned with the long point outside the bend, or along the edge of another cap."""
    stand, (cut, tilt) = (stretch.high if ahead > 0 else stretch.low), angles
    tangent, plain = math.tan(math.radians(cut)), CapEnd(stand, 0.0, Slant(), ahead)
    if long_side(way, ahead):
        return plain._replace(slant=flat_slant(way, cut, tilt, ahead))
    if "plumb" in way:
        return plain._replace(slant=Slant(by_depth=tangent))
    if "long point outside the bend" in way:
        return plain._replace(slant=Slant(by_width=-tangent))
    if "edge" in way:
        hands = (plain._replace(slant=Slant(by_width=tangent)), plain._replace(slant=Slant(by_width=-tangent)))
        return min(hands, key=lambda end: _off_edges(ground, stretch, end))
    return plain._replace(slant=Slant(by_depth=ahead * abs(tangent) * (1 if "top long" in way else -1)))


def _angles(sawn: Sawn) -> tuple[tuple[float, float], tuple[float, float]]:
    """Cut and tilt of both ends; where one is turned and tilted, one that is only tilted has no cut."""
    ends = (sawn.lower_cut, sawn.lower_tilt), (sawn.upper_cut, sawn.upper_tilt)
    low, high = ((cut or tilt, tilt) for cut, tilt in ends)
    return low, high


def _off_edges(ground: Ground, stretch: Stretch, end: CapEnd) -> float:
    """How far an end is from running along the edge of another cap there, seen from above."""
    out = stretch.frame.vector(_normal(end, 0.0))
    others = others_at(ground, stretch, end.stand)
    return min((abs(float(out @ other.frame.ahead)) for other in others), default=0.0)


def others_at(ground: Ground, stretch: Stretch, stand: Stand) -> list[Stretch]:
    """The other runs at a support."""
    return [other for other in ground.meeting(stand.mark) if other is not stretch]


def leaving(stretch: Stretch, stand: Stand) -> Vector:
    """The way a run leaves a support, level."""
    return stretch.frame.ahead if stretch.low.mark == stand.mark else -stretch.frame.ahead


def is_straight(one: Stretch, other: Stretch, stand: Stand) -> bool:
    """Whether two runs go straight on through a support."""
    turn = math.degrees(math.acos(max(-1.0, min(1.0, float(leaving(one, stand) @ -leaving(other, stand))))))
    return turn <= STRAIGHT


def cap_solid(cap: Capped) -> Solid:
    """The board in space."""
    slope = cap.stretch.taped.tangent
    ahead, square = along(slope)
    return cap.stretch.frame.solid(
        *across(-cap.width / 2, cap.width / 2),
        *(Plane(_normal(end, slope), cap.start + ahead * end.at) for end in (cap.low, cap.high)),
        Plane(square, cap.start + square * cap.thickness),
        Plane(-square, cap.start),
    )
