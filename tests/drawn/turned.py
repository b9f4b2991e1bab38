"""How posts and walls are turned, and which of their faces a run meets.

A post is turned as the post schedule says in words, a face or a corner on the bisector of two runs, or as its bearing
was typed. All is done with directions as vectors; no angle is added to another.
"""

import math
from typing import NamedTuple

import numpy as np

from railbook.job.runs import Run
from tests.drawn.reading import Reading
from tests.drawn.solids import UP, Vector, degrees_between, frame

LEAST = 0.5 + 1e-6  # a run is square to a face that it is off by no more: nobody takes a bearing closer [degrees]
FACE, CORNER, TYPED = "face on bisector of ", "corner on bisector of ", "to its Post bearing"


def ahead_of(bearing: float) -> Vector:
    """A plan bearing as a level direction of length 1."""
    return frame((0.0, 0.0, 0.0), bearing).ahead


class Turned(NamedTuple):
    """A support of which it is said how it is turned.

    Attributes:
        look: level direction of length 1 in which one of its four faces looks.
    """

    look: Vector

    @property
    def looks(self) -> tuple[Vector, ...]:
        """Where all four faces look."""
        aside = np.cross(self.look, UP)
        return self.look, aside, -self.look, -aside

    def face(self, leaving: Vector) -> Vector:
        """Where the face looks from which a run leaves in that direction."""
        return max(self.looks, key=lambda look: float(look @ leaving))

    def skew(self, leaving: Vector) -> float:
        """How far a run that leaves so is off the face that it meets [degrees]."""
        return degrees_between(self.face(leaving), leaving)


def leaves(run: Run, mark: str) -> Vector | None:
    """The way in which a run leaves a support; None where its direction was not taken."""
    if run.direction is None:
        return None
    return ahead_of(run.direction) * (1 if mark == run.from_support else -1)


def turned(reading: Reading, mark: str) -> Turned | None:
    """How a support is turned; None where nothing says it, so that its runs meet it square."""
    typed, row = reading.supports.get(mark), reading.post(mark)
    if typed is not None and typed.bearing is not None:
        return Turned(ahead_of(typed.bearing))
    words = "" if row is None else row.turned
    for start in (FACE, CORNER):
        if words.startswith(start):
            return _on_bisector(reading, mark, words.removeprefix(start).split(", "), on_corner=start == CORNER)
    return None


def _on_bisector(reading: Reading, mark: str, runs: list[str], *, on_corner: bool) -> Turned | None:
    """A face, or a corner, on what parts the angle between two runs in halves."""
    ways = [leaves(run, mark) for run in (*reading.runs, *reading.refused) if run.run in runs]
    if len(ways) != 2 or ways[0] is None or ways[1] is None:
        return None
    halfway = ways[0] + ways[1]
    if float(np.linalg.norm(halfway)) < math.radians(LEAST):  # straight on: square to both
        halfway = np.cross(ways[0], UP)
    look = halfway / np.linalg.norm(halfway)
    if on_corner:
        look = (look + np.cross(look, UP)) / math.sqrt(2)
    return Turned(look)


def face_of(reading: Reading, mark: str, run: Run, leaving: Vector) -> Vector:
    """Where the face looks that a run meets: along the run itself where it meets it square."""
    stands = turned(reading, mark) if run.direction is not None else None
    if stands is None or stands.skew(leaving) <= LEAST:
        return leaving
    return stands.face(leaving)


def stretched(reading: Reading, mark: str, run: Run) -> float:
    """What a width of a support square to its face is longer along a run that meets it."""
    leaving = leaves(run, mark)
    return 1.0 if leaving is None else 1 / float(face_of(reading, mark, run, leaving) @ leaving)


def skews_at(reading: Reading, mark: str) -> dict[str, float]:
    """Run -> how far it is off the face of a support that it meets; square runs are left out [degrees]."""
    stands, found = turned(reading, mark), {}
    for run in (*reading.runs, *reading.refused):
        leaving = leaves(run, mark) if mark in (run.from_support, run.to_support) else None
        if stands is not None and leaving is not None and stands.skew(leaving) > LEAST:
            found[run.run] = stands.skew(leaving)
    return found
