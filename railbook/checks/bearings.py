"""Directions, said back: every corner in words, and whether a line that begins and ends at one wall comes back to it.

A wrong bearing is the commonest slip of a measured plan, and every mitre follows from it.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from railbook.basics.kinds import INCH
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.remedies import said
from railbook.geometry.arrivals import Arrival
from railbook.geometry.joints import is_straight, turned
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.meetings import met
from railbook.geometry.survey import Site
from railbook.job import runs
from railbook.job.settings import Settings
from railbook.job.supports import WALL

IN_A_LINE = 8  # corners that one row of Warnings says
CLOSES = {INCH: 1.0}  # what a plan of taped lengths may miss a wall by: common practice, no source
CLOSES_METRIC = 25.0


def bearing_problems(site: Site) -> Iterator[Problem]:
    """Every corner as the directions have it, and lines that do not come back to their wall."""
    at = met(site.lines)
    corners = [_corner(mark, arrivals) for mark, arrivals in at.items() if len(arrivals) > 1 and _is_told(arrivals)]
    for start in range(0, len(corners), IN_A_LINE):
        what = f"corners as the directions have them: {'; '.join(corners[start : start + IN_A_LINE])}"
        yield Problem(runs.TAB.title, what, "nothing to do where that is so; else correct Direction", NOTE)
    for mark, arrivals in at.items():
        if len(arrivals) == 2 and all(_is_wall(each) for each in arrivals):
            yield from _closing(mark, arrivals[0], at, site.chosen.settings)


def _is_told(arrivals: Sequence[Arrival]) -> bool:
    """Whether both runs have a direction, and a post stands between them."""
    return all(each.away is not None and not _is_wall(each) for each in arrivals)


def _is_wall(arrival: Arrival) -> bool:
    return arrival.typed is not None and arrival.typed.kind == WALL


def _corner(mark: str, arrivals: Sequence[Arrival]) -> str:
    """One corner, walking into it along the run that ends there, where one does, and on along each of the others."""
    one, *others = sorted(arrivals, key=lambda each: each.is_from)
    return f"{mark}: {', '.join(_turn(one, other) for other in others)}"


def _turn(one: Arrival, other: Arrival) -> str:
    way, walking = turned(one.arm, other.arm), f"walking {one.run} to {other.run}"
    if is_straight(way):
        return f"straight on, {walking}"
    return f"{abs(way):.4g} to the {'right' if way > 0 else 'left'}, {walking}"


def _closing(wall: str, first: Arrival, at: Mapping[str, Sequence[Arrival]], settings: Settings) -> Iterator[Problem]:
    """How far from its wall a line ends that begins square to it."""
    line = _line_from(first, at)
    if line is None or first.away is None:
        return
    missed = sum(length * math.cos(math.radians(bearing - first.away)) for bearing, length in line)
    if abs(missed) > CLOSES.get(settings.unit, CLOSES_METRIC):
        way = "beyond" if missed < 0 else "before"
        what = f"the line that begins at {wall} with run {first.run} ends {said(abs(missed), settings)} {way} that wall"
        remedy = "check the directions and clears on that way, if the line begins square to one straight wall"
        yield Problem(f"support {wall}", what, remedy, LOOK)


def _line_from(first: Arrival, at: Mapping[str, Sequence[Arrival]]) -> list[tuple[float, float]] | None:
    """Bearings and level lengths from a wall, run by run, until a wall again; None where the way is not clear."""
    way: list[tuple[float, float]] = []
    here, walked = first, set[str]()
    while here.run not in walked:
        walked.add(here.run)
        far = Arrival(here.line, TO if here.is_from else FROM)
        if here.away is None:
            return None
        way.append((here.away, here.half + here.line.measures.clear + far.half))
        if _is_wall(far):
            return way if far.support == first.support else None
        onward = [each for each in at[far.support] if each.run != here.run]
        if len(onward) != 1:
            return None
        here = onward[0]
    return None
