"""Checks of supports that runs meet askew: how they are turned, which runs are refused there, and what is told."""

import math
import re
from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from railbook.job.runs import Run
from tests.drawn.boards import RAIL_WIDTHS
from tests.drawn.carriers import is_post, outer_width
from tests.drawn.finding import Finding
from tests.drawn.ground import past_the_corner
from tests.drawn.reading import Reading
from tests.drawn.solids import UP, Vector, degrees_between
from tests.drawn.told import names
from tests.drawn.turned import LEAST, TYPED, Turned, ahead_of, leaves, skews_at, turned
from tests.drawn.witness import Drawn

TRIED = 0.25  # every so many degrees a post is tried to be turned otherwise
NEARLY = 2 * TRIED  # what an angle found so may be off, and what rounding may hide
AT_CORNER = 40.0  # a run that is off by more comes to the corner of its post [degrees]
USUAL_BRACKET = 5.0  # how far off square a bracket goes whose assembly does not say it [degrees]


def turnings(drawn: Drawn) -> Iterator[Finding]:
    """Every post is turned as was typed, or so that its runs have a face each and come to it least askew."""
    reading = drawn.reading
    for mark in _marks(reading):
        typed, row = reading.supports.get(mark), reading.post(mark)
        ways = [way for run in _at(reading, mark) if (way := leaves(run, mark)) is not None]
        if row is None:
            continue
        if typed is not None and typed.bearing is not None:
            if bool(_laid_out(reading, mark)) != (row.turned == TYPED):
                yield Finding("turned", (mark,), 0.0, "is not said to be set to its bearing, or without need")
        elif row.turned == TYPED:
            yield Finding("turned", (mark,), 0.0, "is set to a bearing that nobody typed")
        elif len(ways) > 1 and is_post(reading, mark):
            yield from _least(reading, mark, ways)


def _laid_out(reading: Reading, mark: str) -> dict[str, float]:
    """How far the runs that are laid out are off the faces of a support."""
    skews = skews_at(reading, mark)
    return {run.run: skews[run.run] for run in reading.runs if run.run in skews}


def _least(reading: Reading, mark: str, ways: list[Vector]) -> Iterator[Finding]:
    stands = turned(reading, mark)
    if stands is None:  # square to the runs that are laid out there
        laid_out = [way for run in reading.runs if (way := leaves(run, mark)) is not None and mark in _ends(run)]
        most = max((_off(one, other) for one, other in combinations(laid_out, 2)), default=0.0)
        if most > 2 * LEAST:
            yield Finding("turned", (mark,), most, "its runs are not square to each other, and nothing is said")
        return
    faces, skews = _measured(np.array([stands.looks]), ways, AT_CORNER + NEARLY)
    best, most = _best(ways, AT_CORNER - NEARLY), float(skews[0])
    if (int(faces[0]), -most) < (best.faces, -best.most - TRIED):
        yield Finding("turned", (mark,), most - best.most, "could stand less askew, or with a face for each")


class Best(NamedTuple):
    """The best ways to turn a post.

    Attributes:
        faces: how many of them have a run.
        most: how far the most askew of the runs is off its face [degrees].
        ways: all that are as good.
    """

    faces: int
    most: float
    ways: tuple[Turned, ...]


TURNS = tuple(Turned(ahead_of(by)) for by in np.arange(0.0, 90.0, TRIED))
LOOKS = np.array([each.looks for each in TURNS])


def _best(ways: list[Vector], corner: float) -> Best:
    faces, most = _measured(LOOKS, ways, corner)
    own_face = faces == faces.max()
    least = float(most[own_face].min())
    good = own_face & (most <= least + TRIED)
    return Best(int(faces.max()), least, tuple(each for each, is_good in zip(TURNS, good, strict=True) if is_good))


def _measured(looks: Vector, ways: list[Vector], corner: float) -> tuple[NDArray[np.int64], Vector]:
    """Of posts that look so, how many faces have a run, and how far the most askew run is off its face [degrees]."""
    cast = looks @ np.array(ways).T
    met, near = cast.argmax(axis=1), cast.max(axis=1).min(axis=1)
    met[cast.max(axis=1) < math.cos(math.radians(corner))] = -1
    faces: NDArray[np.int64] = np.array([(met == face).any(axis=1) for face in range(4)]).sum(axis=0)
    return faces, np.degrees(np.arccos(np.clip(near, -1.0, 1.0)))


def refused_runs(drawn: Drawn) -> Iterator[Finding]:
    """A run is refused only where a rail of it reaches past the corner of a post."""
    reading = drawn.reading
    for run in reading.refused:
        if max(_beyond(reading, run, mark) for mark in _ends(run)) <= -reading.hair:
            yield Finding("refused", (run.run,), 0.0, "its rails end on faces that hold them")


def _beyond(reading: Reading, run: Run, mark: str) -> float:
    """How far the wider of its rails reaches past the corner of a post."""
    leaving, assembly = leaves(run, mark), reading.assemblies[run.assembly or ""]
    width = outer_width(reading, mark, assembly)
    if leaving is None or not width:
        return -np.inf
    usual = RAIL_WIDTHS[reading.settings.unit]
    wide = max(usual if each is None else each for each in (assembly.top_rail_width, assembly.bottom_rail_width))
    return max(past_the_corner(leaving, face, width, wide) for face in _faces(reading, mark, leaving))


def _faces(reading: Reading, mark: str, leaving: Vector) -> list[Vector]:
    """Where the face looks that a run meets; where nothing is said, all that may be, as it stands for refused runs."""
    stands, ways = turned(reading, mark), [leaves(each, mark) for each in _at(reading, mark)]
    known = [way for way in ways if way is not None]
    if stands is None and len(known) > 1 and is_post(reading, mark):
        corners = (AT_CORNER - NEARLY, AT_CORNER + NEARLY)
        return [each.face(leaving) for corner in corners for each in _best(known, corner).ways]
    return [leaving if stands is None or stands.skew(leaving) <= LEAST else stands.face(leaving)]


def untold_skews(drawn: Drawn) -> Iterator[Finding]:
    """Warnings tells how far runs are off the faces of a post, unless that was typed, and of their brackets."""
    reading = drawn.reading
    for mark in _marks(reading):
        askew, typed = _laid_out(reading, mark), reading.supports.get(mark)
        if askew and (typed is None or typed.bearing is None):
            yield from _told(reading, mark, f"off the faces of post {mark}", askew)
        elif not askew and names(reading, mark, "off the faces of post"):
            yield Finding("told", (mark,), 0.0, "is told to be met askew, and is not")
        over = {run: skew for run, skew in askew.items() if skew > _bracket(reading, run) + 1e-6}
        yield from _told(reading, mark, f"rail brackets at {mark}", over)


def _bracket(reading: Reading, run: str) -> float:
    """How far off square the brackets of a run go."""
    (assembly,) = (each.assembly for each in reading.runs if each.run == run)
    goes = reading.assemblies[assembly or ""].bracket_skew
    return USUAL_BRACKET if goes is None else goes


def _told(reading: Reading, mark: str, what: str, askew: dict[str, float]) -> Iterator[Finding]:
    rows = [row.what for row in reading.told if row.what.startswith(what) and row.where == f"support {mark}"]
    said = {run: float(angle) for row in rows for run, angle in re.findall(r"run (\S+) ([\d.]+) degrees", row)}
    for run in askew.keys() | said.keys():
        if abs(said.get(run, 0.0) - askew.get(run, 0.0)) > 0.01:
            yield Finding("told", (mark, run), askew.get(run, 0.0), f"degrees askew, not told: {what}")


def _off(one: Vector, other: Vector) -> float:
    """How far two directions are from square, or from one line [degrees]."""
    return min(degrees_between(each, other) for each in (one, -one, np.cross(one, UP), -np.cross(one, UP)))


def _marks(reading: Reading) -> list[str]:
    return list(dict.fromkeys(mark for run in reading.runs for mark in _ends(run)))


def _at(reading: Reading, mark: str) -> list[Run]:
    return [run for run in (*reading.runs, *reading.refused) if mark in _ends(run)]


def _ends(run: Run) -> tuple[str, str]:
    return run.from_support or "", run.to_support or ""
