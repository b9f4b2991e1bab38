"""Rails, balusters and blocks as they are cut, each where a carpenter would put it."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from railbook.job.assemblies import ON_FACE
from railbook.job.runs import LEVEL, STAIR
from tests.drawn.bays import Bay, ends_of
from tests.drawn.reading import BALUSTER, BOTTOM, BOTTOM_RAIL, CAP, TOP, TOP_RAIL, Blocked, Reading, Sawn
from tests.drawn.saws import BY_HAND, Slant, rail_slants, sides_of
from tests.drawn.solids import Plane, Solid, Vector, across
from tests.drawn.stacks import ends_square, held_off

RAIL_WIDTHS = {"in": 1.5, "mm": 38.0}  # across the run, where it is not typed: a 2x on edge, dressed


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
    """One rail where it stands, the middle of its lower end held at its fit from the face.

    Attributes:
        width: across the run.
        deep: from the edge that the balusters meet to the other one, upwards.
        line: height of that edge at x = 0.
        start: of the middle of that edge, in the drawing of its run.
        slants: of its lower and its upper end.
        sides: lengths of that edge on the far and on the walking side.
    """

    bay: Bay
    part: str
    sawn: Sawn
    width: float
    deep: float
    line: float
    start: Vector
    slants: tuple[Slant, Slant]
    sides: tuple[float, float]

    def s(self, side: int, n: float, *, upper: bool) -> float:
        """Along it, where an end is on its walking side (1) or its far side (-1), that far from its edge."""
        at = side * self.width / 2 * self.slants[0].by_width + (self.sides[side > 0] if upper else 0.0)
        return at + n * self.slants[upper].by_depth

    def corners(self, *, upper: bool) -> list[Vector]:
        """The four corners of an end, in the drawing of its run."""
        return [self.corner(side, n, upper=upper) for side in (-1, 1) for n in (0.0, self.deep)]

    def corner(self, side: int, n: float, *, upper: bool) -> Vector:
        """One of them."""
        ahead, square = along(self.bay.stack.tangent)
        aside = np.array((0.0, side * self.width / 2, 0.0))
        place: Vector = self.start + ahead * self.s(side, n, upper=upper) + square * n + aside
        return place

    @property
    def marked_from(self) -> float:
        """x of the corner that the tape for its balusters is held at."""
        return float(self.corner(1, 0.0, upper=False)[0])

    @property
    def differ(self) -> float:
        """How far its two sides differ otherwise than its two ends are turned."""
        far, walking = self.sides
        return walking - far - self.width * (self.slants[1].by_width - self.slants[0].by_width)


class Standing(NamedTuple):
    """One baluster: its middle where it meets the bottom and the top rail."""

    bottom: float
    top: float


def along(tangent: float) -> tuple[Vector, Vector]:
    """Up a slope, and square to it upwards, in the drawing of a run."""
    secant = math.hypot(1.0, tangent)
    return np.array((1.0, 0.0, tangent)) / secant, np.array((-tangent, 0.0, 1.0)) / secant


def out_of(slant: Slant, tangent: float) -> Vector:
    """Out of an upper end, in the drawing of a run; of length 1."""
    ahead, square = along(tangent)
    out = ahead - np.array((0.0, slant.by_width, 0.0)) - square * slant.by_depth
    shown: Vector = out / np.linalg.norm(out)
    return shown


def parts_of(bay: Bay) -> tuple[str, ...]:
    """What is cut to go between the posts of a section: both rails, and the cap where posts stand proud of it."""
    assembly = bay.stretch.taped.assembly
    capped = assembly.post_proud is not None and assembly.cap_thickness
    return (TOP_RAIL, BOTTOM_RAIL, *((CAP,) if capped else ()))


def fit_of(reading: Reading, bay: Bay, part: str) -> float:
    """Level gap typed for an end: the allowance, and of a rail what its bracket takes."""
    bracket = 0.0 if part == CAP else bay.stretch.taped.assembly.bracket_fit or 0.0
    return bracket + reading.settings.fit_allowance


def rail_width(reading: Reading, bay: Bay, part: str) -> float:
    """Across the run: as typed, or a 2x on edge, dressed."""
    assembly = bay.stretch.taped.assembly
    typed = {TOP_RAIL: assembly.top_rail_width, BOTTOM_RAIL: assembly.bottom_rail_width, CAP: assembly.cap_width}[part]
    return RAIL_WIDTHS[reading.settings.unit] if typed is None else typed


def rail_of(reading: Reading, bay: Bay, part: str) -> Rail | None:
    """That rail of a section, or the cap between its posts; None where the cut list has none."""
    sawn = reading.piece(part, bay.section)
    if sawn is None:
        return None
    assembly, slope = bay.stretch.taped.assembly, bay.stack.tangent
    line, deep = {
        TOP_RAIL: (bay.stack.top_under, assembly.top_rail_depth or 0.0),
        BOTTOM_RAIL: (bay.stack.bottom_over, -(assembly.bottom_rail_depth or 0.0)),
        CAP: (bay.stack.top_over, assembly.cap_thickness or 0.0),
    }[part]
    begins = (bay.low.at(line) + fit_of(reading, bay, part)) / (1 - slope * bay.low.lean)
    start, (far, walking) = np.array((begins, 0.0, line + begins * slope)), sides_of(sawn)
    slants = _by_hand(sawn, bay, rail_slants(sawn))
    return Rail(bay, part, sawn, rail_width(reading, bay, part), deep, line, start, slants, (far, walking))


def _by_hand(sawn: Sawn, bay: Bay, slants: tuple[Slant, Slant]) -> tuple[Slant, Slant]:
    """Ends that are to be cut by hand are cut as the face stands."""
    marks = sawn.saw.partition(BY_HAND)[2].partition(": ")[0].split(", ")
    ends = zip(ends_of(bay), (bay.low, bay.high), slants, strict=True)
    slope, long = bay.stack.tangent, bay.stretch.taped.secant
    low, high = (Slant(face.slant * long, slope) if mark in marks else given for mark, face, given in ends)
    return low, high


def rail_solid(rail: Rail) -> Solid:
    """The rail in space; where the lengths of its two sides are rounded, its upper end lies between."""
    ahead, square = along(rail.bay.stack.tangent)
    half, (low, high) = rail.width / 2, rail.slants
    long = [rail.s(side, 0.0, upper=True) - side * half * high.by_width for side in (-1, 1)]
    over, under = sorted((0.0, rail.deep), reverse=True)
    return rail.bay.stretch.frame.solid(
        *across(-half, half), Plane(-out_of(low, rail.bay.stack.tangent), rail.start),
        Plane(out_of(high, rail.bay.stack.tangent), rail.start + ahead * sum(long) / 2),
        Plane(square, rail.start + square * over), Plane(-square, rail.start + square * under),
    )  # fmt: skip


def balusters_of(reading: Reading, bay: Bay) -> list[Standing]:
    """Where the balusters of a section stand, by the marks of both rails; none where their numbers differ."""
    rows = [reading.layout(which, bay.section) for which in (BOTTOM, TOP)]
    rails = [rail_of(reading, bay, part) for part in (BOTTOM_RAIL, TOP_RAIL)]
    found = [
        [rail.marked_from + mark / bay.stretch.taped.secant for mark in row.marks]
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
    thick = (assembly.baluster_thickness or assembly.baluster_width or 0.0) / 2
    aside = thick + rail_width(reading, bay, BOTTOM_RAIL) / 2 if assembly.baluster_place == ON_FACE else 0.0
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
            *across(aside - thick, aside + thick), Plane(-x, foot - x * half), Plane(x, foot + x * half),
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
        start = float(rail.corner(1, rail.deep, upper=False)[0])
        middle, half = start + row.along / bay.stretch.taped.secant, (assembly.block_width or 0.0) / 2
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
    half = rail_width(reading, block.bay, BOTTOM_RAIL) / 2
    (left, foot_low), (right, foot_high) = block.foot
    x = np.array((1.0, 0.0, 0.0))
    foot, top = (
        (np.array((left, 0.0, low)), np.array((low - high, 0.0, right - left)))
        for low, high in ((foot_low, foot_high), (block.top[0][1], block.top[1][1]))
    )
    return block.bay.stretch.frame.solid(
        *across(-half, half), Plane(-x, x * left), Plane(x, x * right), Plane(-foot[1], foot[0]), Plane(*reversed(top))
    )
