"""Cap boards drawn to scale: along a bend in elevation and round corners in plan, they must close without a gap.

Elevations: x runs uphill from the lower post's uphill face, y up. Boards are drawn with the lengths and saw
settings that the engine gives. Plans are drawn from bearings by a geometry library that offsets the middle lines.
"""

import math
import random
from dataclasses import replace
from typing import NamedTuple

import pytest
from shapely import LineString, Polygon

from railbook.geometry.joints import BEND, OPEN_END
from railbook.job.assemblies import Assembly
from railbook.job.runs import MEETS, Run
from railbook.job.supports import EXISTING, POST, Support
from railbook.takeoff.cut_list import OPPOSED, PARALLEL
from tests.small_jobs import WOOD, Worked, flight, level, ramp, stair, work

EXACT = 1e-6
LONG = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)


class Bend(NamedTuple):
    """A flight that arrives at a level guard in line, and what both caps are."""

    worked: Worked
    assembly: Assembly
    riser: float
    tread: float
    clear: float
    setback: float

    @property
    def tangent(self) -> float:
        return self.riser / self.tread

    @property
    def deck(self) -> float:
        """The deck above the line over the nosings at x = 0: that line passes the deck's edge."""
        return (self.clear - self.setback) * self.tangent

    @property
    def middle(self) -> float:
        """Middle of the top post."""
        return self.clear + (self.assembly.post_width or 0.0) / 2


def bend(seed: int, **changes: float) -> Bend:
    """A random flight of seven risers that meets the height of the level guard at its top post."""
    draw = random.Random(seed)
    riser, tread = draw.randint(96, 132) / 16, draw.randint(144, 192) / 16
    low, high = draw.randint(8, 100) / 16, draw.randint(0, 60) / 16
    sizes: dict[str, float] = {
        "post_width": draw.randint(48, 88) / 16,
        "cap_thickness": draw.randint(12, 24) / 16,
        "cap_overhang": draw.randint(0, 24) / 16,
    }
    assembly = replace(LONG, **(sizes | changes))  # type: ignore[arg-type]
    clear = low + 6 * tread + high
    up = stair(clear, clear * riser / tread, height=MEETS, lower_setback=low, upper_setback=high)
    on = level(60.0, from_support="P2", to_support="P3")
    worked = work(up, on, assemblies=(assembly,), flights=(flight(riser, tread),))
    return Bend(worked, assembly, riser, tread, clear, high)


@pytest.mark.parametrize("seed", range(60))
def test_flight_that_meets_the_level_guard_arrives_at_its_height(seed: int) -> None:
    """Over the middle of the top post the raked cap lies on the post as high as the level cap does; the bevel
    then brings both upper surfaces together too, still over the post."""
    of = bend(seed)
    height, thick = of.worked.row("lines", run="S").guard.guard_height, of.assembly.cap_thickness or 0.0
    cosine = math.cos(math.atan(of.tangent))
    raked_top = of.middle * of.tangent + height
    level_top = of.deck + (of.assembly.level_height or 0.0)

    assert raked_top - thick / cosine == pytest.approx(level_top - thick, abs=EXACT)
    crossing = (level_top - height) / of.tangent  # where the upper surfaces meet
    assert of.clear <= crossing <= of.middle


@pytest.mark.parametrize("seed", range(60))
def test_caps_close_along_the_bevel_at_the_top_of_a_flight(seed: int) -> None:
    """Both boards drawn from their underside with their lengths: they touch along the cut and do not overlap."""
    of = bend(seed)
    raked, flat = of.worked.row("caps", run="S"), of.worked.row("caps", run="A")
    thick, slope = of.assembly.cap_thickness or 0.0, math.atan(of.tangent)
    u, n = (math.cos(slope), math.sin(slope)), (-math.sin(slope), math.cos(slope))
    under = of.deck + (of.assembly.level_height or 0.0) - thick  # underside of the level cap
    low = -(of.assembly.post_width or 0.0) - (of.assembly.cap_overhang or 0.0)  # covers the bottom post
    foot = (low, under - (of.middle - low) * of.tangent)

    def on_rake(along: float, square: float) -> tuple[float, float]:
        return foot[0] + along * u[0] + square * n[0], foot[1] + along * u[1] + square * n[1]

    upper, lower = on_rake(raked.long_point, thick), on_rake(raked.middle_length, 0.0)
    board = Polygon([on_rake(0.0, 0.0), lower, upper, on_rake(0.0, thick)])
    far = of.middle + flat.middle_length
    start = far - flat.long_point  # of its upper surface, the longer one
    on_deck = Polygon([(of.middle, under), (far, under), (far, under + thick), (start, under + thick)])

    assert (raked.from_end.kind, raked.to_end.kind, flat.from_end.kind) == (OPEN_END, BEND, BEND)
    assert board.intersection(on_deck).area < EXACT
    assert lower == pytest.approx((of.middle, under), abs=EXACT)
    assert upper == pytest.approx((start, under + thick), abs=EXACT)
    for cap, end, cut in ((raked, math.pi / 2 + slope, raked.to_cut), (flat, math.pi / 2, flat.from_cut)):
        lean = math.atan2(upper[1] - lower[1], upper[0] - lower[0])
        assert abs(math.degrees(end - lean)) == pytest.approx(abs(cut), abs=EXACT), cap.run


def test_caps_close_at_a_bend_at_the_foot_of_a_flight() -> None:
    """A level guard that a flight rises from: there the underside is the longer surface of both boards. With
    both undersides meeting over the middle of the post, level 60 + 1.75 + 3.5 + 1 and raked (60 + 1.75 + 3.5 + 1)
    x 1.25 are the longest edges; what the bevel takes off the top adds nothing to the stock (by hand, 3-4-5). They do
    with the post 7 1/4 before the first nosing: 7.5 - (7.25 + 1.75) x 0.75 + 36 - 1.25 = 35.5 = 36.5 - 1."""
    up = stair(60.0, 45.0, from_support="P2", to_support="P3", direction=0.0, lower_setback=7.25)
    on = level(60.0, direction=0.0)
    worked = work(up, on, assemblies=(LONG,), flights=(flight(7.5, 10.0),))
    raked, flat = worked.row("caps", run="S"), worked.row("caps", run="A")

    assert (raked.from_end.kind, flat.to_end.kind) == (BEND, BEND)
    assert flat.long_point == pytest.approx(66.25)
    assert raked.long_point == pytest.approx(82.8125)


def test_level_cap_between_two_flights_going_down_has_opposed_ends() -> None:
    """Its upper surface is the longer one at both ends, so the two bevels lean against each other."""
    left = stair(60.0, 45.0, run="L", from_support="P0", to_support="P1", height=MEETS, upper_setback=3.0)
    right = stair(60.0, 45.0, run="S", from_support="P3", to_support="P2", height=MEETS, upper_setback=3.0)
    worked = work(level(60.0), left, right, assemblies=(LONG,), flights=(flight(7.5, 10.0),))

    assert worked.row("cut_list", part="Cap board", where="A").ends == OPPOSED


def test_raked_cap_between_two_level_guards_has_parallel_ends() -> None:
    """At its foot the underside is the longer surface, at its top the upper one. It has 33.1875 from the level guard at
    its top, so that it meets the other 3 1/2 behind its foot: 7.5 - (3.5 + 1.75) x 0.75 + 33.1875 - 1.25 = 35.5."""
    up = stair(60.0, 45.0, from_support="P2", to_support="P3", height=MEETS, lower_setback=3.5, upper_setback=3.0)
    above = level(60.0, run="B", from_support="P3", to_support="P4")
    worked = work(level(60.0), up, above, assemblies=(LONG,), flights=(flight(7.5, 10.0),))

    assert worked.row("cut_list", part="Cap board", where="S").ends == PARALLEL


def test_posts_of_their_own_width_are_measured_by_it() -> None:
    """An existing 5-1/2 in post at the top, in a railing of 3-1/2 in posts: the cap's underside crosses its far
    face 5-1/2 in uphill (by hand: 3 in setback at 3/4: 2.25 + 36 - 1.25, and 5.5 x 0.75 more)."""
    supports = (Support("P2", POST, EXISTING, face_width=5.5, standing_height=48.0),)
    run = stair(60.0, 45.0, upper_setback=3.0)
    post = work(run, assemblies=(LONG,), flights=(flight(7.5, 10.0),), supports=supports).row("posts", post="P2")

    assert post.worked.downhill == pytest.approx(37.0)
    assert post.needed == pytest.approx(37.0 + 4.125)


def test_caps_meet_over_the_middle_of_a_post_of_its_own_width() -> None:
    """The level cap reaches the middle of the 5-1/2 in post; the raked one must be at its height there."""
    supports = (Support("P2", POST, EXISTING, face_width=5.5, standing_height=48.0),)
    up = stair(60.0, 45.0, height=MEETS, upper_setback=3.0)
    on = level(60.0, from_support="P2", to_support="P3")
    worked = work(up, on, assemblies=(LONG,), flights=(flight(7.5, 10.0),), supports=supports)

    # by hand: 36.5 - 1 + 1.25 - (3 + 2.75) x 0.75
    assert worked.row("lines", run="S").guard.guard_height == pytest.approx(32.4375)


def reach(turn: float) -> float:
    """From the middle of a 3 1/2 in post, set least askew, to its face, along a run of a corner: half of what the turn
    is off straight or square is each run's, and a corner within a degree of square is square."""
    off = abs((turn + 45) % 90 - 45) / 2
    return 1.75 / math.cos(math.radians(off if off > 0.5 else 0.0))


def path(seed: int) -> tuple[list[Run], list[tuple[float, float]], float]:
    """Three level runs round two random corners, each typed from either end; their middle line and cap width."""
    draw = random.Random(seed)
    turns = [draw.choice((-1, 1)) * draw.randint(5, 110), draw.choice((-1, 1)) * draw.randint(5, 110)]
    bearings = [draw.uniform(0.0, 360.0)]
    for turned in turns:
        bearings.append((bearings[-1] + turned) % 360)
    clears = [draw.randint(60, 150) for _ in range(3)]
    reaches = [1.75, *(reach(turned) for turned in turns), 1.75]
    points, runs = [(0.0, 0.0)], []
    for number, (clear, bearing) in enumerate(zip(clears, bearings, strict=True)):
        length, (x, y) = reaches[number] + clear + reaches[number + 1], points[-1]  # from post centre to post centre
        points.append((x + length * math.sin(math.radians(bearing)), y + length * math.cos(math.radians(bearing))))
        ends = {"from_support": f"P{number}", "to_support": f"P{number + 1}", "direction": bearing}
        if draw.random() < 0.5:
            ends = {"from_support": f"P{number + 1}", "to_support": f"P{number}", "direction": (bearing + 180) % 360}
        runs.append(level(float(clear), run=f"R{number}", **ends))
    return runs, points, draw.randint(64, 116) / 16


@pytest.mark.parametrize("seed", range(100))
def test_level_mitres_are_those_of_offset_lines(seed: int) -> None:
    """Long and short point of the board between two corners, measured on its drawn outline."""
    runs, points, width = path(seed)
    worked = work(*runs, assemblies=(replace(LONG, cap_width=width),))
    cap = worked.row("caps", run="R1")
    line = LineString(points)
    sides = [
        line.offset_curve(side * width / 2, join_style="mitre", mitre_limit=100.0) for side in (-1, 1)
    ]  # fmt: skip
    (x0, y0), (x1, y1) = points[1], points[2]
    u = ((x1 - x0) / math.dist(points[1], points[2]), (y1 - y0) / math.dist(points[1], points[2]))
    edges = [sorted((x - x0) * u[0] + (y - y0) * u[1] for x, y in list(side.coords)[1:3]) for side in sides]
    first, last = zip(*edges, strict=True)

    assert [len(side.coords) for side in sides] == [4, 4]
    assert cap.long_point == pytest.approx(max(last) - min(first), abs=EXACT)
    assert cap.middle_length - cap.mitre_gain == pytest.approx(min(last) - max(first), abs=EXACT)
    lengths = [high - low for low, high in edges]
    piece = worked.row("cut_list", part="Cap board", where="R1")
    turned_alike = cap.from_end.turn * cap.to_end.turn < 0  # seen from the board's own middle
    assert piece.ends == (OPPOSED if turned_alike else PARALLEL)
    assert (max(lengths) == pytest.approx(cap.long_point, abs=EXACT)) == turned_alike


@pytest.mark.parametrize("setback", [0.0, 6.0])
def test_ramp_meets_the_level_guard_over_the_middle_of_the_post(setback: float) -> None:
    """A ramp of 3 in 4 for round figures, level guard 36 1/2, cap 1: the undersides meet at 35 1/2 over the middle of a
    3 1/2 in post. From there the ramp's line falls 3/4 of setback + 1 3/4, and its cap stands 1 1/4 high plumb.
    """
    assembly = replace(LONG, greatest_rake=None)
    up = ramp(60.0, 45.0, height=MEETS, upper_setback=setback, from_support="P3", to_support="P1", direction=90.0)
    worked = work(up, level(60.0, direction=90.0), assemblies=(assembly,))

    assert worked.row("lines", run="R").guard.guard_height == pytest.approx(35.5 + 1.25 - 0.75 * (setback + 1.75))
    assert worked.row("posts", post="P1").worked.uphill == pytest.approx(35.5)
