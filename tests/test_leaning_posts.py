"""Posts that stand already and lean: their cuts as drawn in space, with plain vectors.

Every drawing begins at the foot of the post's near face, where a setback is taped: x runs from there along the run,
away from the post, y to one side, z up. The axis of the post is (-tan a, tan b, 1), a the lean away from the run and b
sideways; its faces are planes that hold the axis. A cap's underside is a plane through its height over the last nosing,
or over the next one. Nothing of the engine is used but its answers. Lengths are in inches, leans in degrees.
"""

import math
import random
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pytest

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


# By hand, on the near face of the lower post F = 7.75 - 1.25 x 0.775 + 36.5 - 1.265158 = 42.016092, on that of the
# upper one 1.25 x 0.775 + 36.5 - 1.265158 = 36.203592; the slope is atan 0.775 = 37.7757. Leans of 1, 2, 1.5 degrees
# have tangents of 0.0174551, 0.0349208, 0.0261859 and secants of 1.0001523, 1.0006095, 1.0003428. Along the post:
#     1: 42.016092 / 1.0135277 x 1.0001523, far (42.016092 - 4.25 x 1.0001523 x 0.775) by the same
#    -2: 42.016092 / 0.9729364 x 1.0006095, far (42.016092 - 4.25 x 1.0006095 x 0.775)
#   1.5: 36.203592 / 0.9797059 x 1.0003428, far (36.203592 + 4.25 x 1.0003428 x 0.775)
BY_HAND = [
    ("P1", 0.0, 42.016092, 38.722342, 37.776),
    ("P1", 1.0, 41.461613, 38.210835, 36.776),
    ("P1", -2.0, 43.211152, 39.821653, 39.776),
    ("P2", 1.5, 36.966198, 40.330481, 39.276),
]
AS_DESIGNED = [(42.016, 38.722), (41.462, 38.211), (43.211, 39.822), (36.966, 40.330)]


@pytest.mark.parametrize(("by_hand", "designed"), list(zip(BY_HAND, AS_DESIGNED, strict=True)))
def test_worked_heights_at_both_ends_of_a_flight(by_hand: tuple[Any, ...], designed: tuple[float, float]) -> None:
    """Along the near and the far face, and the cut, from square; the three are those of the design."""
    mark, lean, *heights, cut = by_hand
    low = mark == "P1"
    post = flown(**{"lean_from" if low else "lean_to": lean}).row("posts", post=mark)
    trims = (post.worked.trim_uphill, post.worked.trim_downhill)
    shown = (post.sleeve_uphill, post.sleeve_downhill)

    assert heights == pytest.approx(designed, abs=6e-4)
    assert (trims if low else trims[::-1]) == pytest.approx(heights, abs=1e-5)
    assert (shown if low else shown[::-1]) == pytest.approx(heights, abs=1 / 32 + 1e-5)
    assert post.top_angle == pytest.approx(cut, abs=6e-4)


# 300 posts, drawn


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


@cache
def cases() -> tuple[tuple[Case, Worked], ...]:
    """300 of them."""
    return tuple((case, worked_case(case)) for case in map(random_case, range(300)))


def arrival_of(worked: Worked, run: str, end: str) -> Any:
    """A run at one of its ends."""
    (found,) = [each.arrival for each in worked.rows["cap_ends"] if (each.arrival.run, each.arrival.end) == (run, end)]
    return found


def near_and_far(case: Case, post: Any, of: str) -> tuple[float, float]:
    """Two heights at the face to the run and at the one beyond."""
    figures = (getattr(post, f"{of}_uphill"), getattr(post, f"{of}_downhill"))
    return figures[::-1] if case.mark == "P2" else figures


def test_heights_along_leaning_posts_are_those_of_the_drawing() -> None:
    """Both faces of sleeve and post, on the tape, and before they are rounded."""
    for case, worked in cases():
        post, heights = worked.row("posts", post=case.mark), case.heights
        assert post.line.run == case.run.run
        exact = near_and_far(case, post.worked, "trim")
        assert exact == pytest.approx((heights["sleeve near"], heights["sleeve far"]), abs=EXACT)
        for of in ("sleeve", "post"):
            expected = (heights[f"{of} near"], heights[f"{of} far"])
            assert near_and_far(case, post, of) == pytest.approx(expected, abs=1 / 32 + EXACT)


def test_the_post_inside_a_leaning_sleeve_is_that_of_the_drawing() -> None:
    """Parallel to the cut of the sleeve and so much lower, plumb, before it is rounded."""
    for case, worked in cases():
        post, heights = worked.row("posts", post=case.mark), case.heights
        insets = (-post.inset, post.inset) if case.mark == "P1" else (post.inset, -post.inset)
        found = [
            trim + inset - post.lower
            for trim, inset in zip(near_and_far(case, post.worked, "trim"), insets, strict=True)
        ]
        assert found == pytest.approx((heights["post near"], heights["post far"]), abs=EXACT)


def test_caps_stand_over_the_middle_of_leaning_posts_as_drawn() -> None:
    """Where the axis meets the underside of the cap, and where both faces do."""
    for case, worked in cases():
        arrival = arrival_of(worked, case.run.run, "from" if case.mark == "P1" else "to")
        half = case.drawn.width / 2
        assert arrival.middle == pytest.approx(case.drawn.height(half), abs=EXACT)
        if case.where != "on the ramp":  # whose far foot is lower than its near one
            assert arrival.arm.face == pytest.approx(case.drawn.height(0.0), abs=EXACT)


def test_cuts_of_leaning_posts_and_their_sleeves_are_those_of_the_drawing() -> None:
    """From square, + higher uphill: of the top, and of the foot of the sleeve; and tip to tip, by its four corners.

    A sleeve that leans two ways is cut in two planes; the saw is set along the run."""
    for case, worked in cases():
        post = worked.row("posts", post=case.mark)
        axis = vector(case.drawn.axis[0], 0.0, 1.0)
        uphill = 1 if case.mark == "P1" else -1  # x runs uphill at the lower end
        across = vector(axis[2], 0.0, -axis[0]) * uphill
        for plane, cut in ((case.drawn.cap, post.top_angle), (case.drawn.surface, post.foot_angle)):
            way = np.cross(ASIDE, plane.square) * uphill
            assert cut == pytest.approx(math.degrees(math.atan2(way @ axis, way @ across)), abs=EXACT)
        if case.beside is None:
            unit = axis / np.linalg.norm(axis)
            feet = [case.drawn.foot(back) for back in (0.0, case.drawn.width)]
            tops = [case.drawn.cap.met(foot, case.drawn.axis) for foot in feet]
            places = [float(each @ unit) for each in (*feet, *tops)]
            assert post.sleeve_tip == pytest.approx(max(places) - min(places), abs=1 / 16)


def test_the_cap_reaches_over_a_leaning_post_to_its_far_face() -> None:
    """Alone at its post it overhangs the far face; past the near one it is level as long as from face to face there."""
    seen = 0
    for case, worked in cases():
        if case.beside is None:
            cap, faces = worked.only("caps"), [case.drawn.foot(back) for back in (0.0, case.drawn.width)]
            near, far = (case.drawn.cap.met(foot, case.drawn.axis) for foot in faces)
            reach = cap.from_reach if case.mark == "P1" else cap.to_reach
            expected = abs(near[0] - far[0]) + (case.assembly.cap_overhang or 0.0)
            assert reach == pytest.approx(expected, abs=EXACT)
            seen += 1
    assert seen > 100


def test_what_is_sawn_off_a_leaning_post_is_beyond_its_higher_face() -> None:
    for case, worked in cases():
        post = worked.row("posts", post=case.mark)
        high = max(case.heights["post near"], case.heights["post far"])
        assert post.needed == pytest.approx(high, abs=1 / 32 + EXACT)
        assert post.saw_off == pytest.approx(60.0 - high, abs=1 / 16 + EXACT)
