"""What was taped on one run, in figures: its slope, its clear, where its nosings and its floors are.

x runs from the From face to the To face, level; heights stand on the surface of the From support. Lengths are in the
job's unit.
"""

import math
from typing import NamedTuple

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import BARE, LEVEL, STAIR, Run
from railbook.job.supports import WALL
from tests.drawn.carriers import post_assembly
from tests.drawn.reading import Reading
from tests.drawn.slopes import riser_of, tangent_of
from tests.drawn.solids import NEAR
from tests.drawn.turned import stretched


class Taped(NamedTuple):
    """One run in figures.

    Attributes:
        tangent: of a straightedge on the nosings, or on the ramp.
        clear: between the finished faces, at the bottom rail; `clear_top` at the top rail.
        floor: height of that straightedge over the From face; 0 on the level.
        nosings: x of every nosing, the edge of the upper floor among them.
        rise: the surface of the To support above that of the From support.
        begins: x where a ramp leaves the lower floor; None: its lower post stands on the ramp.
        held: height of the middle of the bottom rail, where the clear was taped, at each face over its own surface.
    """

    run: Run
    assembly: Assembly
    tangent: float
    clear: float
    clear_top: float
    floor: float
    nosings: tuple[float, ...]
    rise: float
    begins: float | None
    held: tuple[float, float]

    @property
    def secant(self) -> float:
        """Length along the slope for each unit of level length."""
        return math.hypot(1.0, self.tangent)

    @property
    def angle(self) -> float:
        """Of the slope [degrees]."""
        return math.degrees(math.atan(self.tangent))

    def line(self, x: float) -> float:
        """Height of the straightedge there."""
        return self.floor + x * self.tangent

    def surface(self, x: float) -> float:
        """Height of what one stands on there."""
        if self.run.kind == STAIR:
            under = [nosing for nosing in self.nosings if nosing <= x + NEAR]
            return self.line(under[-1]) if under else 0.0
        return self.line(x if self.begins is None else max(x, self.begins))


def taped(reading: Reading, run: Run) -> Taped | str:
    """The run in figures, or why it cannot be drawn."""
    assembly, flight = reading.assemblies.get(run.assembly or ""), reading.flights.get(run.flight or "")
    if assembly is None or not run.from_support or not run.to_support:
        return "no assembly or no support"
    tangent, taped_clear = tangent_of(run, flight), run.clear_top if run.clear_bottom is None else run.clear_bottom
    if tangent is None:
        return "no slope"
    if taped_clear is None and run.slope_length is not None:
        taped_clear = run.slope_length * math.cos(math.atan(tangent))
    if taped_clear is None:
        return "no clear"
    sleeves = [_sleeve_to_come(reading, run, assembly, mark) for mark in (run.from_support, run.to_support)]
    clear = taped_clear - sum(sleeves)
    more = 0.0 if None in (run.clear_top, run.clear_bottom) else (run.clear_top or 0.0) - (run.clear_bottom or 0.0)
    floors = _floors(_Ends(run, assembly, flight, taped_clear, tangent, (sleeves[0], sleeves[1])))
    if floors is None:
        return "no setbacks or no flight"
    return Taped(run, assembly, tangent, clear, clear + more, *floors)


def _sleeve_to_come(reading: Reading, run: Run, assembly: Assembly, mark: str) -> float:
    """What a sleeve takes off a clear that was taped to the bare post."""
    typed = reading.supports.get(mark)
    has_face = typed is not None and (typed.kind == WALL or typed.face_width is not None)
    own = post_assembly(reading, mark, assembly)
    if run.measured_to != BARE or has_face or own.sleeve_width is None:
        return 0.0
    return (own.sleeve_width - (own.post_width or 0.0)) / 2 * stretched(reading, mark, run)


Floors = tuple[float, tuple[float, ...], float, float | None, tuple[float, float]]  # the last five figures of `Taped`


class _Ends(NamedTuple):
    """What the floors at both ends of a run follow from.

    Attributes:
        clear: as it was taped, along the middle of the bottom rail; setbacks are taped at the feet of the posts.
        sleeves: what a sleeve still to come takes at each end.
    """

    run: Run
    assembly: Assembly
    flight: Flight | None
    clear: float
    tangent: float
    sleeves: tuple[float, float]

    @property
    def over(self) -> float:
        """The middle of the bottom rail over the straightedge, plumb."""
        stairs = self.run.kind == STAIR
        clearance = self.assembly.stair_clearance if stairs else self.assembly.level_clearance
        half = (self.assembly.bottom_rail_depth or 0.0) / 2
        return (clearance or 0.0) + half * math.hypot(1.0, self.tangent)

    def at_low(self, setback: float, step: float) -> tuple[float, float]:
        """Distance of a nosing a step up from the lower face, where the middle of the bottom rail meets that, and how
        high this is: the face x = -z tan(lean) and the rail z = step - (setback - x) t + over."""
        lean = math.tan(math.radians(self.run.lean_from or 0.0))
        height = (step - setback * self.tangent + self.over) / (1 + self.tangent * lean)
        return setback + height * lean, height

    def at_high(self, setback: float) -> tuple[float, float]:
        """The same at the upper face, of the last nosing."""
        lean = math.tan(math.radians(self.run.lean_to or 0.0))
        height = (setback * self.tangent + self.over) / (1 - self.tangent * lean)
        return setback + height * lean, height


def _floors(ends: _Ends) -> Floors | None:
    """The straightedge, the nosings under it and the floors at its ends; None where the tape does not say."""
    run, flight, tangent, clear, sleeves = ends.run, ends.flight, ends.tangent, ends.clear, ends.sleeves
    low, high = run.lower_setback, run.upper_setback
    faces = clear - sum(sleeves)
    if run.kind == LEVEL:
        return 0.0, (), 0.0, None, (ends.over, ends.over)
    if run.kind != STAIR:
        end, at_end = ends.at_high(0.0 if high is None else high - sleeves[1])
        begins, at_start = (None, ends.over) if low is None else ends.at_low(low - sleeves[0], 0.0)
        start = begins or 0.0
        return -start * tangent, (), (faces - end - start) * tangent, begins, (at_start, at_end)
    if flight is None or not flight.risers or flight.tread is None:
        return None
    treads = (flight.risers - 1) * flight.tread
    if low is None:
        low = None if high is None else clear - treads - high
    elif high is None:
        high = clear - treads - low
    first = riser_of(flight) if flight.first_riser is None else flight.first_riser
    if low is None or high is None or first is None:
        return None
    (low, at_low), (high, at_high) = ends.at_low(low - sleeves[0], first), ends.at_high(high - sleeves[1])
    steps = tuple(low + step * flight.tread for step in range(flight.risers - 1))
    floor = first - low * tangent
    return floor, (*steps, faces - high), floor + (faces - high) * tangent, None, (at_low, at_high)
