"""Rails, balusters and blocks as they are cut, each where a carpenter would put it."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from railbook.job.assemblies import ON_FACE
from railbook.job.runs import LEVEL, STAIR
from tests.drawn.bays import Bay
from tests.drawn.reading import BALUSTER, BOTTOM, BOTTOM_RAIL, CAP, TOP, TOP_RAIL, Blocked, Reading, Sawn
from tests.drawn.solids import Plane, Solid, Vector, across
from tests.drawn.stacks import ends_square, held_off

RAIL_WIDTHS = {"in": 1.5, "mm": 38.0}  # across the run, which this version does not ask for: a 2x on edge, dressed


class Piece(NamedTuple):
    """One finished piece; a piece of several convex parts is several of these with one name.

    Attributes:
        name: what it is and where, once in a job.
        part: trade name.
        run: that it belongs to; empty for a post.
    """

    name: str
    part: str
    run: str
    solid: Solid


class Rail(NamedTuple):
    """One rail where it stands, held at its fit from the lower face.

    Attributes:
        begins: x of the lower corner of the edge that the balusters meet; `ends` of its upper corner.
        line: height of that edge at x = 0.
        corners: (x, z) of its lower end, then of its upper end, measured edge first.
    """

    bay: Bay
    part: str
    sawn: Sawn
    begins: float
    ends: float
    line: float
    corners: tuple[tuple[float, float], ...]


class Standing(NamedTuple):
    """One baluster: its middle where it meets the bottom and the top rail."""

    bottom: float
    top: float


def along(tangent: float) -> tuple[Vector, Vector]:
    """Up a slope, and square to it upwards, in the drawing of a run."""
    secant = math.hypot(1.0, tangent)
    return np.array((1.0, 0.0, tangent)) / secant, np.array((-tangent, 0.0, 1.0)) / secant


def parts_of(bay: Bay) -> tuple[str, ...]:
    """What is cut to go between the posts of a section: both rails, and the cap where posts stand proud of it."""
    assembly = bay.stretch.taped.assembly
    capped = assembly.post_proud is not None and assembly.cap_thickness
    return (TOP_RAIL, BOTTOM_RAIL, *((CAP,) if capped else ()))


def fit_of(reading: Reading, bay: Bay, part: str) -> float:
    """Level gap typed for an end: the allowance, and of a rail what its bracket takes."""
    bracket = 0.0 if part == CAP else bay.stretch.taped.assembly.bracket_fit or 0.0
    return bracket + reading.settings.fit_allowance


def rail_of(reading: Reading, bay: Bay, part: str) -> Rail | None:
    """That rail of a section, or the cap between its posts; None where the cut list has none."""
    sawn = reading.piece(part, bay.section)
    if sawn is None:
        return None
    assembly, slope = bay.stretch.taped.assembly, bay.stack.tangent
    ahead, square = along(slope)
    line, deep = {
        TOP_RAIL: (bay.stack.top_under, assembly.top_rail_depth or 0.0),
        BOTTOM_RAIL: (bay.stack.bottom_over, -(assembly.bottom_rail_depth or 0.0)),
        CAP: (bay.stack.top_over, assembly.cap_thickness or 0.0),
    }[part]
    begins = (bay.low.at(line) + fit_of(reading, bay, part)) / (1 - slope * bay.low.lean)
    start = np.array((begins, 0.0, line + begins * slope))
    end = start + ahead * sawn.length
    low, high = (deep * (square + ahead * math.tan(math.radians(cut))) for cut in (sawn.lower_cut, sawn.upper_cut))
    corners = tuple((float(each[0]), float(each[2])) for each in (start, start + low, end, end + high))
    return Rail(bay, part, sawn, begins, float(end[0]), line, corners)


def rail_solid(reading: Reading, rail: Rail) -> Solid:
    """The rail in space."""
    ahead, square = along(rail.bay.stack.tangent)
    across_it = rail.bay.stretch.taped.assembly.cap_width if rail.part == CAP else RAIL_WIDTHS[reading.settings.unit]
    half = (across_it or 0.0) / 2
    start, low, end, _ = (np.array((x, 0.0, z)) for x, z in rail.corners)
    over, under = (start, low) if rail.part == BOTTOM_RAIL else (low, start)
    lower, upper = (ahead - square * math.tan(math.radians(cut)) for cut in (rail.sawn.lower_cut, rail.sawn.upper_cut))
    return rail.bay.stretch.frame.solid(
        *across(-half, half), Plane(-lower, start), Plane(upper, end), Plane(square, over), Plane(-square, under)
    )


def balusters_of(reading: Reading, bay: Bay) -> list[Standing]:
    """Where the balusters of a section stand, by the marks of both rails; none where their numbers differ."""
    rows = [reading.layout(which, bay.section) for which in (BOTTOM, TOP)]
    rails = [rail_of(reading, bay, part) for part in (BOTTOM_RAIL, TOP_RAIL)]
    found = [
        [rail.begins + mark / bay.stretch.taped.secant for mark in row.marks]
        for row, rail in zip(rows, rails, strict=True)
        if row is not None and rail is not None
    ]
    alike = len(found) == 2 and len(found[0]) == len(found[1])
    return [Standing(*pair) for pair in zip(*found, strict=True)] if alike else []


def baluster_solids(reading: Reading, bay: Bay) -> Iterator[Solid]:
    """Balusters in space, without what is let into the rails."""
    assembly, stack, sawn = bay.stretch.taped.assembly, bay.stack, reading.piece(BALUSTER, bay.section)
    if sawn is None:
        return
    half = (assembly.baluster_width or 0.0) / 2
    aside = half + RAIL_WIDTHS[reading.settings.unit] / 2 if assembly.baluster_place == ON_FACE else 0.0
    off_bottom, off_top = held_off(assembly)
    if assembly.baluster_place != ON_FACE:
        off_bottom, off_top = max(0.0, off_bottom), max(0.0, off_top)
    lost = stack.square_loss / 2 if ends_square(sawn, assembly) else 0.0
    _, square = along(math.tan(math.radians(sawn.lower_cut)))
    x = np.array((1.0, 0.0, 0.0))
    for each in balusters_of(reading, bay):
        middle = each.bottom
        foot = np.array((middle, 0.0, stack.bottom_over + middle * stack.tangent + lost + off_bottom))
        head = np.array((middle, 0.0, stack.top_under + middle * stack.tangent - lost - off_top))
        yield bay.stretch.frame.solid(
            *across(aside - half, aside + half), Plane(-x, foot - x * half), Plane(x, foot + x * half),
            Plane(-square, foot), Plane(square, head),
        )  # fmt: skip


class Block(NamedTuple):
    """One support block: (x, z) of its foot's two corners and of its top's, downhill first."""

    bay: Bay
    row: Blocked
    foot: tuple[tuple[float, float], tuple[float, float]]
    top: tuple[tuple[float, float], tuple[float, float]]


def blocks_of(reading: Reading, bay: Bay) -> Iterator[Block]:
    """Support blocks of a section, marked along the underside of its bottom rail."""
    rail, assembly = rail_of(reading, bay, BOTTOM_RAIL), bay.stretch.taped.assembly
    for row in reading.blocked:
        if rail is None or bay.section not in row.sections or row.long_side is None or row.short_side is None:
            continue
        middle, half = rail.corners[1][0] + row.along / bay.stretch.taped.secant, (assembly.block_width or 0.0) / 2
        low, high = ((x, _under(bay, row, x)) for x in (middle - half, middle + half))
        top = (low[0], low[1] + row.short_side), (high[0], high[1] + row.long_side)
        yield Block(bay, row, (low, high), top)


def _under(bay: Bay, row: Blocked, x: float) -> float:
    """The surface under a block: the tread that the tab names, the ramp or the deck."""
    measures = bay.stretch.taped
    if measures.run.kind == STAIR:
        return measures.line(measures.nosings[row.tread_number - 1]) if row.tread_number else 0.0
    return 0.0 if measures.run.kind == LEVEL else measures.line(x)


def block_solid(reading: Reading, block: Block) -> Solid:
    """The block in space."""
    half = RAIL_WIDTHS[reading.settings.unit] / 2
    (left, foot_low), (right, foot_high) = block.foot
    x = np.array((1.0, 0.0, 0.0))
    foot, top = (
        (np.array((left, 0.0, low)), np.array((low - high, 0.0, right - left)))
        for low, high in ((foot_low, foot_high), (block.top[0][1], block.top[1][1]))
    )
    return block.bay.stretch.frame.solid(
        *across(-half, half), Plane(-x, x * left), Plane(x, x * right), Plane(-foot[1], foot[0]), Plane(*reversed(top))
    )
