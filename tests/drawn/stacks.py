"""How a run is stacked up from its surface: bottom rail, balusters as they were cut, top rail, cap; and its faces.

The drawing of a run: x from the From face, level, z up from the surface of the From support. A line of the stack is
told by its height at x = 0 and runs on at the slope. Lengths are in the job's unit.
"""

import math
from typing import NamedTuple

import numpy as np

from railbook.job.assemblies import ON_FACE, Assembly
from railbook.job.runs import STAIR, Run
from railbook.job.supports import EXISTING, POST, Support
from tests.drawn.ground import Stretch
from tests.drawn.measured import Taped
from tests.drawn.reading import BALUSTER, Reading, Sawn
from tests.drawn.solids import Vector


class Face(NamedTuple):
    """The face of a support, through (x, z) in the middle of the run: it gains `lean` in x for each in z, and `slant`
    for each to the right."""

    x: float
    z: float
    lean: float = 0.0
    slant: float = 0.0

    def at(self, z: float, y: float = 0.0) -> float:
        """Its x at that height, that far to the right of the run's middle."""
        return self.x + (z - self.z) * self.lean + y * self.slant

    @property
    def normal(self) -> Vector:
        """The way it looks, uphill, in the drawing of the run; of length 1."""
        way = np.array((1.0, -self.slant, -self.lean))
        shown: Vector = way / np.linalg.norm(way)
        return shown

    def on(self, line: float, tangent: float) -> float:
        """Its x where it crosses a line of the stack."""
        return (self.x + (line - self.z) * self.lean) / (1 - tangent * self.lean)


class Stack(NamedTuple):
    """Heights at x = 0 of the lines of a run, and the two faces between which it stands.

    Attributes:
        bottom_under: underside of the bottom rail; `bottom_over` its upper side; the top rail alike.
        square_loss: what a baluster that ends square loses on a rake, at both ends together.
        spread: what a lean that nobody recorded may turn the faces by [degrees].
    """

    tangent: float
    bottom_under: float
    bottom_over: float
    top_under: float
    top_over: float
    cap_over: float
    square_loss: float
    low: Face
    high: Face
    spread: float


def held_off(assembly: Assembly) -> tuple[float, float]:
    """How far the ends of a baluster stand off the bottom and the top rail; negative: inside them, or lapping them."""
    if assembly.baluster_place == ON_FACE:
        return -(assembly.overlap_bottom or 0.0), -(assembly.overlap_top or 0.0)
    low = (assembly.seat_bottom or 0.0) - (assembly.let_in_bottom or 0.0)
    return low, (assembly.seat_top or 0.0) - (assembly.let_in_top or 0.0)


def ends_square(baluster: Sawn, assembly: Assembly) -> bool:
    """Whether it touches raked rails with two corners only."""
    return baluster.lower_cut == 0 and assembly.baluster_place != ON_FACE


def stack_of(reading: Reading, stretch: Stretch, section: str) -> Stack | None:
    """The stack of that section; None where the cut list has no baluster for it."""
    measures, assembly = stretch.taped, stretch.taped.assembly
    baluster, secant = reading.piece(BALUSTER, section), stretch.taped.secant
    if baluster is None:
        return None
    clearance = assembly.stair_clearance if measures.run.kind == STAIR else assembly.level_clearance
    loss = (assembly.baluster_width or 0.0) * measures.tangent if ends_square(baluster, assembly) else 0.0
    bottom_under = measures.floor + (clearance or 0.0)
    bottom_over = bottom_under + (assembly.bottom_rail_depth or 0.0) * secant
    top_under = bottom_over + sum(held_off(assembly)) + baluster.length + loss
    top_over = top_under + (assembly.top_rail_depth or 0.0) * secant
    cap_over = top_over + (assembly.cap_thickness or 0.0) * secant
    low, high = (bottom_under + bottom_over) / 2, (top_under + top_over) / 2
    low_face, high_face = _faces(reading, measures, low, high)
    faces = low_face._replace(slant=stretch.slants[0]), high_face._replace(slant=stretch.slants[1])
    return Stack(
        measures.tangent, bottom_under, bottom_over, top_under, top_over, cap_over, loss, *faces,
        _unrecorded(measures, faces),
    )  # fmt: skip


def _unrecorded(measures: Taped, faces: tuple[Face, Face]) -> float:
    """What two clears turn the faces by where nobody recorded a lean, so that rails are cut plumb [degrees]."""
    if measures.run.lean_from is not None or measures.run.lean_to is not None:
        return 0.0
    return math.degrees(math.atan(max(abs(face.lean) for face in faces)))


def _faces(reading: Reading, measures: Taped, low: float, high: float) -> tuple[Face, Face]:
    """Both faces, through where the clears were taped: along the middles of the two rails.

    A recorded lean turns its face about the lower tape. A new post is set plumb, so what both clears show beyond the
    leans belongs to what stood there when they were taped.
    """
    run, tangent = measures.run, measures.tangent
    from_face = Face(0.0, low, -_lean(run.lean_from))
    to_face = Face(measures.clear, low + measures.clear * tangent, _lean(run.lean_to))
    if run.clear_top is None or run.clear_bottom is None:
        return from_face, to_face
    left, right = from_face.on(high, tangent), to_face.on(high, tangent)
    rest = measures.clear_top - (right - left)
    from_share, to_share = _shares(reading, run)
    left, right = left - rest * from_share, right + rest * to_share
    return _through(from_face, left, high, tangent), _through(to_face, right, high, tangent)


def _shares(reading: Reading, run: Run) -> tuple[float, float]:
    """Which part of it each end has: all of it the only end that stood, or the one whose lean nobody recorded."""
    ends = ((run.from_support, run.lean_from), (run.to_support, run.lean_to))
    stood = [lean is not None or _is_old(reading.supports.get(mark or "")) for mark, lean in ends]
    if not all(stood):
        return float(stood[0]), float(stood[1])
    if (run.lean_from is None) == (run.lean_to is None):
        return 0.5, 0.5
    return (1.0, 0.0) if run.lean_from is None else (0.0, 1.0)


def _is_old(support: Support | None) -> bool:
    """Whether its row says that it is no new post."""
    return support is not None and ((support.kind or POST) != POST or support.state == EXISTING)


def _lean(degrees: float | None) -> float:
    return math.tan(math.radians(degrees or 0.0))


def _through(face: Face, x: float, line: float, tangent: float) -> Face:
    """The face turned so that it crosses a line of the stack at that x."""
    return face._replace(lean=(x - face.x) / (line + x * tangent - face.z))
