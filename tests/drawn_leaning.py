"""Leaning posts drawn in space, and the runs and railings of their tests.

Every drawing begins at the foot of the post's near face, where a setback is taped: x runs from there along the run,
away from the post, y to one side, z up. The axis of the post is (-tan a, tan b, 1), a the lean away from the run and b
sideways; its faces are planes that hold the axis. A cap's underside is a plane through its height over the last nosing,
or over the next one. Nothing of the engine is used. Lengths are in inches, leans in degrees.
"""

import math
import random
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import STAIR, Run
from railbook.job.supports import EXISTING, POST, Support
from tests.small_jobs import COMPOSITE, Worked, flight, level, ramp, stair, work

EXACT = 1e-9
Vector = npt.NDArray[np.float64]
UP = np.array((0.0, 0.0, 1.0))
ASIDE = np.array((0.0, 1.0, 0.0))


class Plane(NamedTuple):
    """A plane through a point, square to a direction."""

    at: Vector
    square: Vector

    def met(self, start: Vector, way: Vector) -> Vector:
        """Where a line meets it."""
        point: Vector = start + way * float((self.at - start) @ self.square) / float(way @ self.square)
        return point


def vector(x: float, y: float, z: float) -> Vector:
    return np.array((x, y, z))


def slanted(point: Vector, tangent: float) -> Plane:
    """A plane of that slope along x, through a point."""
    return Plane(point, vector(-tangent, 0.0, 1.0))


class Drawn(NamedTuple):
    """One end of a run at a leaning post.

    Attributes:
        rise: of the cap, for each unit of x.
        over: (x, height) of a point of the cap's underside.
        ground: slope of the surface that the post stands on.
        width: of the finished post.
    """

    rise: float
    over: tuple[float, float]
    ground: float
    width: float
    away: float
    aside: float

    @property
    def axis(self) -> Vector:
        return vector(-math.tan(math.radians(self.away)), math.tan(math.radians(self.aside)), 1.0)

    @property
    def cap(self) -> Plane:
        return slanted(vector(self.over[0], 0.0, self.over[1]), self.rise)

    @property
    def surface(self) -> Plane:
        return slanted(vector(0.0, 0.0, 0.0), self.ground)

    def foot(self, back: float) -> Vector:
        """Where a line of the post, so far behind its near face, begins on the surface; square to the face."""
        square = np.cross(self.axis, ASIDE)
        square = square / np.linalg.norm(square)
        start = -square * back if square[0] > 0 else square * back
        return self.surface.met(start, self.axis)

    def along(self, back: float, lower: float = 0.0) -> float:
        """Length of that line from the surface to the cap, or so much plumb under it."""
        foot, cap = self.foot(back), self.cap
        top = Plane(cap.at - UP * lower, cap.square).met(foot, self.axis)
        return float(np.linalg.norm(top - foot))

    def height(self, back: float) -> float:
        """Height there, plumb, over the foot of the near face."""
        return float(self.cap.met(self.foot(back), self.axis)[2])


def lower_end(pitch: tuple[float, float], setback: float, height: float, width: float, lean: tuple[float, float]
              ) -> Drawn:  # fmt: skip
    """At the foot of a flight: the next nosing is a riser up, and the cap's underside that high over it."""
    return Drawn(pitch[0] / pitch[1], (setback, pitch[0] + height), 0.0, width, *lean)


def upper_end(pitch: tuple[float, float], setback: float, height: float, width: float, lean: tuple[float, float]
              ) -> Drawn:  # fmt: skip
    """At the top of a flight: x runs down it, and the last nosing is as high as the surface."""
    return Drawn(-pitch[0] / pitch[1], (setback, height), 0.0, width, *lean)


# a flight of 7.75 in 10, cap 1 in, guard 36 1/2, sleeves 4 1/4 over posts of 3 1/2, setbacks 1 1/4 at the feet

RAILING = replace(COMPOSITE, sleeve_width=4.25, post_width=3.5, post_below_sleeve=0.125, cap_thickness=1.0,
                  stair_height=36.5, level_height=36.5)  # fmt: skip
STEPS = flight(7.75, 10.0)
OLD = (Support("P1", POST, EXISTING, standing_height=60.0), Support("P2", POST, EXISTING, standing_height=60.0))


def flown(**changes: Any) -> Worked:
    """One flight with setbacks of 1 1/4 at both ends."""
    sizes = {"assembly": RAILING.assembly, "lower_setback": 1.25, "upper_setback": 1.25, "clear_top": None, **changes}
    return work(stair(62.5, 48.4375, **sizes), assemblies=(RAILING,), flights=(STEPS,), supports=OLD)


class Case(NamedTuple):
    """One leaning post: what was typed, and its drawing."""

    where: str
    run: Run
    beside: Run | None
    assembly: Assembly
    flights: tuple[Flight, ...]
    drawn: Drawn

    @property
    def mark(self) -> str:
        return "P2" if self.where.endswith("top") or self.where == "right" else "P1"

    @property
    def inside(self) -> float:
        """From the face of the sleeve to that of the post."""
        return ((self.assembly.sleeve_width or 0.0) - (self.assembly.post_width or 0.0)) / 2

    @property
    def heights(self) -> dict[str, float]:
        """Along the near and far face of the sleeve, and of the post in it."""
        lower, width = self.assembly.post_below_sleeve or 0.0, self.drawn.width
        backs = {"sleeve near": 0.0, "sleeve far": width, "post near": self.inside, "post far": width - self.inside}
        return {of: self.drawn.along(back, lower if "post" in of else 0.0) for of, back in backs.items()}


PLACES = ("foot", "top", "ramp foot", "ramp top", "on the ramp", "left", "right")


def random_case(seed: int) -> Case:
    """A post at any end of a run of any kind, with or without a lower level run that meets it square."""
    draw = random.Random(seed)
    where = PLACES[seed % len(PLACES)]
    post = draw.choice((3.5, 5.5))
    assembly = replace(
        RAILING, post_width=post, sleeve_width=post + draw.uniform(0.25, 1.0), stair_height=draw.uniform(34.0, 42.0),
        level_height=draw.uniform(36.0, 42.0), cap_thickness=draw.choice((0.75, 1.0, 1.5)), greatest_rake=None,
        post_below_sleeve=draw.choice((0.0, 0.125)), greatest_spacing=1000.0, block_spacing=None,
    )  # fmt: skip
    away, aside = draw.uniform(-4.0, 4.0), draw.choice((0.0, draw.uniform(-4.0, 4.0)))
    tread, riser = draw.uniform(9.0, 12.0), draw.uniform(6.0, 8.0)
    run, drawn = _drawn(draw, where, assembly, (riser, tread), (away, aside))
    steps = (flight(riser, tread),) if run.kind == STAIR else ()
    low = where in ("foot", "ramp foot", "on the ramp", "left")
    run = replace(run, direction=0.0, lean_from=away if low else None, lean_to=None if low else away)
    case = Case(where, run, None, assembly, steps, drawn)
    if not aside:
        return case
    side = level(60.0, run="L", from_support=case.mark, to_support="P3", direction=90.0, lean_from=aside,
                 assembly="LOW", clear_top=None)  # fmt: skip
    return case._replace(beside=side)


def _drawn(
    draw: random.Random, where: str, assembly: Assembly, pitch: tuple[float, float], lean: tuple[float, float]
) -> tuple[Run, Drawn]:
    """A run and its end there."""
    (riser, tread), back = pitch, draw.uniform(0.0, 6.0)
    guard, cap, width = assembly.stair_height or 0.0, assembly.cap_thickness or 0.0, assembly.sleeve_width or 0.0
    high, sizes = assembly.level_height or 0.0, {"assembly": assembly.assembly, "clear_top": None}
    if where in ("foot", "top"):
        clear = 6 * tread + 2 * back
        run = stair(clear, clear * riser / tread, lower_setback=back, upper_setback=back, **sizes)
        end, slope = lower_end if where == "foot" else upper_end, math.hypot(riser, tread) / tread
        return run, end(pitch, back, guard - cap * slope, width, lean)
    if where in ("left", "right"):
        return level(60.0, **sizes), Drawn(0.0, (0.0, high - cap), 0.0, width, *lean)
    rise, clear = draw.uniform(1.0, 12.0), draw.uniform(48.0, 90.0)
    slope = math.hypot(rise, clear) / clear
    if where == "on the ramp":
        over = (0.0, high - cap * slope)
        return ramp(clear, rise, **sizes), Drawn(rise / clear, over, rise / clear, width, *lean)
    setback = {"lower_setback": back} if where == "ramp foot" else {"upper_setback": back}
    tangent = rise / clear * (1 if where == "ramp foot" else -1)
    return ramp(clear, rise, **setback, **sizes), Drawn(tangent, (back, high - cap * slope), 0.0, width, *lean)


def worked_case(case: Case) -> Worked:
    """The engine's answer."""
    runs = [case.run] + ([case.beside] if case.beside else [])
    low = replace(case.assembly, assembly="LOW", level_height=30.0)
    return work(*runs, assemblies=(case.assembly, low), flights=case.flights, supports=OLD)


def arrival_of(worked: Worked, run: str, end: str) -> Any:
    """A run at one of its ends."""
    (found,) = [each.arrival for each in worked.rows["cap_ends"] if (each.arrival.run, each.arrival.end) == (run, end)]
    return found


def near_and_far(case: Case, post: Any, of: str) -> tuple[float, float]:
    """Two heights at the face to the run and at the one beyond."""
    figures = (getattr(post, f"{of}_uphill"), getattr(post, f"{of}_downhill"))
    return figures[::-1] if case.mark == "P2" else figures
