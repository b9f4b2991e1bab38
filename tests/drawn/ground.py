"""Where every support stands: runs are laid end to end from their bearings and clears, floors follow.

A job that falls into parts has each part drawn far from the others. A run that closes a loop is not placed: the tape
never closes a loop to a sixty-fourth, and what is left over has no place of its own.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from railbook.job.runs import Run
from tests.drawn.carriers import outer_width
from tests.drawn.measured import Taped, taped
from tests.drawn.reading import Reading
from tests.drawn.solids import NEAR, UP, Frame, Vector
from tests.drawn.turned import ahead_of, face_of

APART = 20_000.0  # between the parts of a job that no run joins


class Stand(NamedTuple):
    """One support where it stands.

    Attributes:
        mark: its own.
        foot: its middle at its surface; of a wall, the point where the run meets it.
        width: of its finished faces; 0 for a wall.
        lean: what its middle gains in plan for each unit of height.
        top: how high its top is, about.
    """

    mark: str
    foot: Vector
    width: float
    lean: Vector
    top: float

    def face(self, away: Vector, look: Vector, held: float) -> Vector:
        """From its foot to where the rail of a run that leaves so meets the face that looks so, that high, but level
        with the foot.

        A run that comes from its side has the middle of its cap over the top of the post.
        """
        gained, right = float(self.lean @ away), np.array((away[1], -away[0], 0.0))
        out: Vector = away * (self.width / 2 / float(look @ away) * np.hypot(1.0, gained) + gained * held)
        return out + right * float(self.lean @ right) * self.top


class Stretch(NamedTuple):
    """One run where it stands: its drawing begins at the From face, on the surface of the From support.

    Attributes:
        faces: where the two faces look that it meets, level.
    """

    taped: Taped
    frame: Frame
    bearing: float
    low: Stand
    high: Stand
    faces: tuple[Vector, Vector]

    @property
    def run(self) -> Run:
        """As typed."""
        return self.taped.run

    @property
    def reaches(self) -> tuple[float, float]:
        """From each of its faces to the middle of the support, along the run."""
        low, high = (abs(float(face @ self.frame.ahead)) for face in self.faces)
        return self.low.width / 2 / low, self.high.width / 2 / high

    @property
    def slants(self) -> tuple[float, float]:
        """What each of its faces gains in x for each unit to the right of it."""
        low, high = (-float(face @ self.frame.right) / float(face @ self.frame.ahead) for face in self.faces)
        return low, high

    def is_askew(self, *, at_low: bool) -> bool:
        """Whether it meets the face there otherwise than square."""
        return bool(abs(self.slants[not at_low]) > NEAR)


def past_the_corner(leaving: Vector, face: Vector, post: float, wide: float) -> float:
    """How far the end of a rail reaches past the corner of its post, along the face on which it lies.

    Args:
        leaving: the way of its run from the middle of the post.
        face: where the face looks.
        post: width of the post; `wide` of the rail.
    """
    aside, along_it = np.cross(leaving, UP), np.cross(face, UP)
    sides = (aside * side * wide / 2 for side in (-1, 1))
    ends = (each + leaving * (post / 2 - float(each @ face)) / float(leaving @ face) for each in sides)
    return max(abs(float(end @ along_it)) for end in ends) - post / 2


class Ground(NamedTuple):
    """All that could be placed, and why the rest could not."""

    stretches: Mapping[str, Stretch]
    stands: Mapping[str, Stand]
    unplaced: Mapping[str, str]

    def meeting(self, mark: str) -> list[Stretch]:
        """The runs that end at that support."""
        return [each for each in self.stretches.values() if mark in (each.low.mark, each.high.mark)]


def place(reading: Reading) -> Ground:
    """Lay the runs of a job out in space."""
    laying = _Laying(reading)
    waiting = [run for run in reading.runs if laying.can_be_drawn(run)]
    parts = 0
    while waiting:
        known = next((run for run in waiting if laying.touches(run)), None)
        if known is None:
            laying.start(waiting[0], parts * APART)
            parts, known = parts + 1, waiting[0]
        laying.lay(known)
        waiting.remove(known)
    return Ground(laying.stretches, laying.stands, laying.unplaced)


@dataclass
class _Laying:
    """The work of laying runs out, one after another."""

    reading: Reading
    stands: dict[str, Stand] = field(default_factory=dict)
    stretches: dict[str, Stretch] = field(default_factory=dict)
    unplaced: dict[str, str] = field(default_factory=dict)
    taped: dict[str, Taped] = field(default_factory=dict)

    def can_be_drawn(self, run: Run) -> bool:
        """Whether its measures say where it is; why not is written down."""
        found = taped(self.reading, run)
        if isinstance(found, str):
            self.unplaced[run.run] = found
            return False
        self.taped[run.run] = found
        return True

    def touches(self, run: Run) -> bool:
        """Whether one of its supports has its place."""
        return run.from_support in self.stands or run.to_support in self.stands

    def start(self, run: Run, east: float) -> None:
        """Give its From support a place."""
        self._stand(run.from_support or "", np.array((east, 0.0, 0.0)), run)

    def _stand(self, mark: str, foot: Vector, run: Run) -> Stand:
        return self.stands.setdefault(mark, self._standing(mark, foot, run))

    def _standing(self, mark: str, foot: Vector, run: Run) -> Stand:
        """A support with its foot there: as wide as it is, leaning as all of its runs have it, as high as its top."""
        width = outer_width(self.reading, mark, self.taped[run.run].assembly)
        lean, row = self._lean(mark), self.reading.post(mark)
        heights = (
            [] if row is None else [row.sleeve_downhill or row.post_downhill, row.sleeve_uphill or row.post_uphill]
        )
        known = [each for each in heights if each is not None]
        top = sum(known) / len(known) / np.hypot(1.0, float(np.linalg.norm(lean))) if known else 0.0
        return Stand(mark, foot, width, lean, top)

    def _lean(self, mark: str) -> Vector:
        """The lean that is as far from every run of a support as that run has it, and no more."""
        seen = []
        for run in self.reading.runs:
            for end, lean, way in ((run.from_support, run.lean_from, -1), (run.to_support, run.lean_to, 1)):
                if end == mark and lean is not None:
                    seen.append((ahead_of(run.direction or 0.0) * way, np.tan(np.radians(lean))))
        if not seen:
            return np.zeros(3)
        ways, gains = (np.array(each) for each in zip(*seen, strict=True))
        shown: Vector = np.linalg.lstsq(ways, gains, rcond=None)[0]
        return shown

    def lay(self, run: Run) -> None:
        """Place one run from a support that has its place, and its other support."""
        measures, bearing = self.taped[run.run], self._bearing(run)
        low, high = self.stands.get(run.from_support or ""), self.stands.get(run.to_support or "")
        if low is not None and high is not None:
            self.unplaced[run.run] = "closes a loop"
            return
        ahead = ahead_of(bearing)
        ends = (run.from_support or "", ahead), (run.to_support or "", -ahead)
        faces = face_of(self.reading, ends[0][0], run, ahead), face_of(self.reading, ends[1][0], run, -ahead)
        if low is not None:
            near = low.foot + low.face(ahead, faces[0], measures.held[0])
            far = near + ahead * measures.clear + UP * measures.rise
            high = self._beyond(run, far, -ahead, faces[1])
        elif high is not None:
            near = high.foot + high.face(-ahead, faces[1], measures.held[1])
            near = near - ahead * measures.clear - UP * measures.rise
            low = self._beyond(run, near, ahead, faces[0])
        assert low is not None
        assert high is not None
        self.stretches[run.run] = Stretch(measures, Frame(near, ahead), bearing, low, high, faces)

    def _beyond(self, run: Run, face: Vector, away: Vector, look: Vector) -> Stand:
        """The support at whose face the rail of a run that leaves it so ends, straight over that point."""
        is_to = float(away @ ahead_of(self._bearing(run))) < 0
        mark = (run.to_support if is_to else run.from_support) or ""
        there = self._standing(mark, face, run)
        return self._stand(mark, face - there.face(away, look, self.taped[run.run].held[is_to]), run)

    def _bearing(self, run: Run) -> float:
        """Its bearing; one that was not taken goes straight on from the run before it."""
        if run.direction is not None:
            return run.direction
        for mark, leaves in ((run.from_support, True), (run.to_support, False)):
            for other in self.stretches.values():
                if mark in (other.low.mark, other.high.mark):
                    turned = (mark == other.high.mark) != leaves
                    return (other.bearing + 180.0 * turned) % 360.0
        return 0.0
