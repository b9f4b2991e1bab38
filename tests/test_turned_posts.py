"""Posts that runs meet askew: drawn in plan and in space, and the numbers of a round deck worked on paper.

Plans are drawn by a geometry library from bearings, clears and the post's side; the rails are strips that the post's
faces cut off. The table was worked with a calculator from the corners of the square posts, not from the program.
"""

import math
import random
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest
from shapely import LineString, Polygon, affinity, box

from railbook.geometry.turned_posts import widest_rail
from railbook.job.runs import Run
from railbook.job.supports import NEW, POST, WALL, Support
from railbook.takeoff.lots import FAR, WALKING
from tests.small_jobs import COMPOSITE, Worked, flight, level, stair, work

EXACT = 1e-6
SIDE = 4.25
RAIL = replace(
    COMPOSITE, sleeve_width=SIDE, greatest_spacing=500.0, greatest_rail=None, greatest_rake=None, bracket_fit=0.25,
    top_rail_width=1.5, bottom_rail_width=1.5, block_spacing=None,
)  # fmt: skip


def along(run: str, left: str, right: str, direction: float | None, clear: float = 60.0, **changes: object) -> Run:
    """A level run."""
    typed = {"run": run, "from_support": left, "to_support": right, "direction": direction, "assembly": RAIL.assembly}
    return level(clear, **{**typed, **changes})


class Turned(NamedTuple):
    """One line of the table: a corner of two runs, posts 4 1/4 square, set least askew."""

    turn: float
    skew: float
    half: float
    rail: float
    cap: float


TABLE = [
    Turned(22.5, 11.25, 2.167, 3.339, 4.997),
    Turned(30.0, 15.0, 2.200, 3.005, 5.205),
    Turned(45.0, 22.5, 2.300, 2.300, 5.553),
    Turned(60.0, 15.0, 2.200, 3.005, 5.205),
    Turned(120.0, 15.0, 2.200, 3.005, 5.205),
    Turned(135.0, 22.5, 2.300, 2.300, 5.553),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row.turn:g}")
@pytest.mark.parametrize("hand", [1, -1])
def test_the_table_of_corners(row: Turned, hand: int) -> None:
    worked = work(along("A", "P1", "P2", 0.0), along("B", "P2", "P3", hand * row.turn), assemblies=(RAIL,))
    before, after = (worked.row("lines", run=run).guard.measures for run in "AB")

    assert abs(before.to_skew) == abs(after.from_skew) == pytest.approx(row.skew)
    assert before.to_face / 2 == after.from_face / 2 == pytest.approx(row.half, abs=0.0005)
    assert widest_rail(SIDE, row.skew) == pytest.approx(row.rail, abs=0.0005)
    for wide, is_laid_out in ((row.rail - 0.001, True), (row.rail + 0.001, False)):
        rails = replace(RAIL, top_rail_width=wide)
        at = work(along("A", "P1", "P2", 0.0), along("B", "P2", "P3", hand * row.turn), assemblies=(rails,))
        assert bool(at.rows["lines"]) == is_laid_out
        assert any("meets the corner of post P2" in each.what for each in at.problems) != is_laid_out
    for cap, is_told in ((row.cap - 0.07, True), (row.cap + 0.001, False)):
        assert told(work(*_runs(row.turn), assemblies=(replace(RAIL, cap_width=cap),)), "does not cover") == is_told


def _runs(turn: float) -> tuple[Run, Run]:
    return along("A", "P1", "P2", 0.0), along("B", "P2", "P3", turn)


def told(worked: Worked, words: str) -> bool:
    """Whether Warnings say that."""
    return any(words in each.what for each in worked.rows["warnings"])


def test_one_side_of_an_octagon() -> None:
    """Middles 57 apart, a quarter inch at each rail end, balusters 1 1/2: worked on paper. Right turns, so that the
    walking side is the inner one and the shorter."""
    sides = [along(f"R{at}", f"P{at}", f"P{(at + 1) % 8}", 45.0 * at, clear=57 - 2 * 2.3000834) for at in range(8)]
    worked = work(*sides, assemblies=(replace(RAIL, baluster_width=1.5),))
    section, cap, layout = (worked.rows[tab][0] for tab in ("sections", "caps", "baluster_layout"))
    section = section.of

    assert (section.lower_skew, section.upper_skew) == (22.5, -22.5)
    assert section.top_edge - section.top_across == pytest.approx(52.521, abs=0.0005)  # left, the far side
    assert section.top_edge + section.top_across == pytest.approx(51.279, abs=0.0005)
    assert (layout.count, round(layout.gap, 3)) == (9, 3.890)
    assert layout.least_end_gap == pytest.approx(3.579, abs=0.0005)
    assert cap.long_point == pytest.approx(59.278, abs=0.0005)
    assert cap.middle_length - cap.mitre_gain == pytest.approx(54.722, abs=0.0005)
    rail = worked.row("cut_list", part="Top rail")
    assert (rail.quantity, rail.length, rail.other_edge, rail.long_edge) == (8, 52.5, 51.25, FAR)
    assert {round(each.lower_cut, 6) for each in worked.rows["cut_list"] if each.part in ("Top rail", "Cap board")} == {
        -22.5
    }


class Plan(NamedTuple):
    """One run drawn in plan, its middle line along x from the From face, the walking side at negative y."""

    low: Polygon
    high: Polygon
    length: float

    def strip(self, wide: float, fit: float) -> Polygon:
        """What is left of a rail of that width between both faces, each moved along the run by the fit."""
        bar = box(-50.0, -wide / 2, self.length + 50.0, wide / 2)
        for post, way in ((self.low, 1.0), (self.high, -1.0)):
            bar = bar.difference(_behind(post, way, fit))
        return bar


def _behind(post: Polygon, way: float, fit: float) -> Polygon:
    """Everything on the post's side of the face that the run leaves, the fit further on."""
    corners = list(post.exterior.coords)[:-1]
    sides = [(corners[at], corners[(at + 1) % 4]) for at in range(4)]
    (x0, y0), (x1, y1) = max(sides, key=lambda side: way * (side[0][0] + side[1][0]))
    at = LineString([(x0, y0), (x1, y1)])
    steep = (x1 - x0) / (y1 - y0)
    middle = x0 - y0 * steep + way * fit
    assert at.length == pytest.approx(SIDE)
    edge = [(middle + y * steep, y) for y in (-20.0, 20.0)]
    return Polygon([*edge, (edge[1][0] - way * 200.0, 20.0), (edge[0][0] - way * 200.0, -20.0)])


def plan(worked: Worked, run: str, clear: float) -> Plan:
    """The run with its two posts as the job turns them: only their bearings come from the program."""
    measures = worked.row("lines", run=run).guard.measures
    posts = []
    for support in (measures.from_turned, measures.to_turned):
        turned = measures.typed.direction - support.bearing  # clockwise off a face
        posts.append(affinity.rotate(box(-SIDE / 2, -SIDE / 2, SIDE / 2, SIDE / 2), turned, origin=(0.0, 0.0)))
    on_middle = LineString([(-50.0, 0.0), (50.0, 0.0)])
    reach = [on_middle.intersection(post).length / 2 for post in posts]
    return Plan(affinity.translate(posts[0], -reach[0]), affinity.translate(posts[1], clear + reach[1]), clear)


def random_corners(seed: int) -> tuple[list[Run], float]:
    """Three level runs round two corners that are not square."""
    draw = random.Random(seed)
    turns = [
        draw.choice((-1, 1)) * draw.choice((22.5, 30.0, 45.0, 60.0, 120.0, 135.0, draw.uniform(3, 87))) for _ in "ab"
    ]
    bearing, clear = draw.randint(0, 359), draw.randint(200, 900) / 16
    bearings = [float(bearing), (bearing + turns[0]) % 360, (bearing + sum(turns)) % 360]
    runs = [
        along(name, f"P{at}", f"P{at + 1}", bearings[at], clear=clear if name == "B" else 50.0)
        for at, name in enumerate("ABC")
    ]
    return runs, clear


@pytest.mark.parametrize("seed", range(80))
def test_rails_of_a_plan(seed: int) -> None:
    """Both sides and the points of the rails, and how wide each post is along the run, measured on the drawing."""
    runs, clear = random_corners(seed)
    worked = work(*runs, assemblies=(RAIL,))
    drawn = plan(worked, "B", clear)
    section = next(each for each in worked.sections if each.run == "B")
    rail = drawn.strip(1.5, section.line.guard.fit)
    ends = {
        side: [x for x, y in rail.exterior.coords if abs(y - at) < EXACT]
        for side, at in ((WALKING, -0.75), (FAR, 0.75))
    }
    sides = {side: max(xs) - min(xs) for side, xs in ends.items()}

    assert section.line.measures.from_face / 2 == pytest.approx(-drawn.low.centroid.x, abs=EXACT)
    assert section.top_edge + section.top_across == pytest.approx(sides[WALKING], abs=EXACT)
    assert section.top_edge - section.top_across == pytest.approx(sides[FAR], abs=EXACT)
    assert section.top_tip == pytest.approx(rail.bounds[2] - rail.bounds[0], abs=EXACT)
    piece = next(each for each in worked.rows["cut_list"] if each.part == "Top rail" and "B.1" in each.where)
    assert piece.length == pytest.approx(max(sides.values()), abs=1 / 32 + EXACT)
    if sides[WALKING] - sides[FAR] > EXACT:
        assert piece.long_edge == WALKING
    if sides[FAR] - sides[WALKING] > EXACT:
        assert piece.long_edge == FAR
    for x, cut, end in ((min, piece.lower_cut, "low"), (max, piece.upper_cut, "high")):
        leans = math.degrees(math.atan2(x(ends[FAR]) - x(ends[WALKING]), 1.5))
        assert leans == pytest.approx(cut, abs=EXACT), end


@pytest.mark.parametrize("seed", range(80))
def test_marks_of_a_plan(seed: int) -> None:
    """Marks along the walking side, from its corner, squared across: no gap at the middle is wider than the sphere,
    and no ball passes between a square baluster and the post that does not pass at the middle."""
    runs, clear = random_corners(seed)
    worked = work(*runs, assemblies=(RAIL,))
    drawn = plan(worked, "B", clear)
    section = next(each for each in worked.sections if each.run == "B")
    layout = next(row for row in worked.rows["baluster_layout"] if "B.1" in row.used_in)
    rail = drawn.strip(1.5, section.line.guard.fit)
    start = min(x for x, y in rail.exterior.coords if abs(y + 0.75) < EXACT)
    centres = [start + mark for mark in layout.marks if mark is not None]
    half = 1.25 / 2
    gaps = [
        centres[0] - half, clear - centres[-1] - half,
        *(after - before - 2 * half for before, after in pairwise(centres)),
    ]  # fmt: skip

    assert max(gaps) == pytest.approx(layout.worst_gap, abs=1 / 16 + EXACT)
    assert max(gaps) < 4.0
    assert max(gaps) - min(gaps) <= 3 / 32 + EXACT
    assert max(x for x, y in rail.exterior.coords if abs(y + 0.75) < EXACT) - centres[-1] == pytest.approx(
        layout.after_last, abs=1 / 16 + EXACT
    )
    for post, centre, gap in ((drawn.low, centres[0], gaps[0]), (drawn.high, centres[-1], gaps[1])):
        baluster = box(centre - half, -half, centre + half, half)
        assert baluster.distance(post) <= gap + EXACT


def axes(slope: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Along a raked board that runs along x, square to its upper side, and across it to the walking side."""
    return (
        np.array([math.cos(slope), 0.0, math.sin(slope)]),
        np.array([-math.sin(slope), 0.0, math.cos(slope)]),
        np.array([0.0, -1.0, 0.0]),
    )


def sawn(lies_on: np.ndarray, length: np.ndarray, turn: float, tilt: float) -> np.ndarray:
    """Normal of what a saw cuts, the board lying with that side on the table: the blade is square to table and fence,
    then turned about the table's normal, then tilted about the line that it cuts on the table."""
    across = np.cross(lies_on, length)
    normal = math.cos(turn) * length + math.sin(turn) * across
    return math.cos(tilt) * normal + math.sin(tilt) * lies_on


@pytest.mark.parametrize("skew", [22.5, -22.5, 11.25, 15.0])
@pytest.mark.parametrize("tangent", [0.775, 0.6])
def test_compound_cuts_lie_in_the_face_of_the_post(skew: float, tangent: float) -> None:
    """A raked rail on its side, a raked cap flat: the plane that the saw cuts is upright and turned as the face is."""
    slope, k = math.atan(tangent), math.radians(skew)
    length, up, walking = axes(slope)
    face = np.array([math.cos(k), -math.sin(k), 0.0])  # turned so that the walking side is longer at the upper end
    worked = stairs(skew, tangent)
    rail = worked.row("cut_list", part="Top rail", where="S.1")
    cap = worked.row("cut_list", part="Cap board", where="S")

    for piece, side in ((rail, walking), (cap, up)):
        found = [
            sawn(side, length, math.radians(turned * piece.upper_cut), math.radians(tilted * piece.upper_tilt))
            for turned in (-1, 1)
            for tilted in (-1, 1)
        ]
        assert min(np.linalg.norm(each - face) for each in found) < EXACT
    if (skew, tangent) == (22.5, 0.775):
        assert (rail.upper_cut, abs(rail.upper_tilt)) == (pytest.approx(37.776, abs=0.0005), 22.5)
        assert abs(cap.upper_cut) == pytest.approx(27.657, abs=0.0005)
        assert cap.upper_tilt == pytest.approx(34.468, abs=0.0005)
    assert "walking side long" in rail.saw if skew > 0 else "far side long" in rail.saw


def stairs(skew: float, tangent: float) -> Worked:
    """A flight whose top post is turned by that against it, alone there: its cap ends under that of a tall guard."""
    tall = replace(RAIL, assembly="TALL", level_height=60.0, level_clearance=20.0)
    post = Support(support="P2", kind=POST, state=NEW, bearing=(360.0 - skew) % 90)
    clear = 3.0 + 60.0 + 3.0
    up = stair(clear, clear * tangent, assembly=RAIL.assembly, direction=0.0, lower_setback=3.0, upper_setback=3.0)
    on = along("A", "P2", "P3", (360.0 - skew) % 90, assembly="TALL")
    return work(up, on, assemblies=(RAIL, tall), flights=(flight(10 * tangent, 10.0),), supports=(post,))


@pytest.mark.parametrize("skew", [22.5, -22.5, 15.0])
def test_raked_boards_end_on_the_face(skew: float) -> None:
    """Corner points of both boards, from their lengths and cuts, lie in the plane of the post's face."""
    worked, tangent = stairs(skew, 0.775), 0.775
    section = next(each for each in worked.sections if each.run == "S")
    secant, k = math.hypot(1.0, tangent), math.radians(skew)
    fit = section.line.guard.fit
    for side, y in ((1, -0.75), (-1, 0.75)):  # the walking side is at negative y
        level_end = fit + (section.top_edge + side * section.top_across) / secant  # the lower end is square
        assert level_end - y * math.tan(k) * -1 == pytest.approx(66.0 - fit, abs=EXACT)
    cap = worked.row("caps", run="S")
    past = cap.to_end.past
    middle = cap.middle_length / secant - cap.from_reach  # of its underside, from the From face
    assert middle == pytest.approx(66.0 + past, abs=EXACT)
    assert cap.long_point == pytest.approx(
        cap.middle_length + 5.5 / 2 * math.tan(abs(k)) * secant + (RAIL.cap_thickness or 0.0) * tangent, abs=EXACT
    )


def test_a_post_with_a_bearing_of_its_own() -> None:
    """A post square with the front, a run that leaves it at 30: worked as a plan. And a wall that is met askew takes
    nothing off the clear."""
    turned = Support(support="P2", kind=POST, state=NEW, bearing=180.0)
    wall = Support(support="W", kind=WALL, bearing=75.0)
    worked = work(along("A", "P1", "P2", 0.0), along("B", "P2", "W", 20.0), assemblies=(RAIL,), supports=(turned, wall))
    before, after = (worked.row("lines", run=run).guard.measures for run in "AB")

    assert (before.to_skew, before.to_face) == (0.0, SIDE)
    assert after.from_skew == pytest.approx(20.0)
    assert after.from_face == pytest.approx(SIDE / math.cos(math.radians(20.0)))
    assert (after.to_skew, after.to_face) == (pytest.approx(35.0), 0.0)
    section = next(each for each in worked.sections if each.run == "B")
    more = 0.75 * (math.tan(math.radians(35.0)) - math.tan(math.radians(20.0)))
    assert section.top_across == pytest.approx(more)


def test_bare_posts_take_their_sleeves_along_the_run() -> None:
    """3 1/2 in posts that get 4 1/4 in sleeves: 3/8 square to the face, 3/8 over cos 22.5 along the run."""
    worked = work(
        along("A", "P1", "P2", 0.0, measured_to="Bare post"), along("B", "P2", "P3", 45.0), assemblies=(RAIL,)
    )
    measures = worked.row("lines", run="A").guard.measures

    assert measures.clear == pytest.approx(60.0 - 0.375 - 0.375 / math.cos(math.radians(22.5)))


def test_centres_of_posts_in_a_plan() -> None:
    """Sections are counted from centre to centre, which is further where a post is met askew: 67.7 between faces and
    2.3 + 2.125 for the posts is over 72 in, though 4 1/4 more than the clear is not."""
    limit = replace(RAIL, greatest_spacing=72.0)
    square = work(along("A", "P1", "P2", 0.0, clear=67.7), assemblies=(limit,))
    askew = work(along("A", "P1", "P2", 0.0, clear=67.7), along("B", "P2", "P3", 45.0), assemblies=(limit,))

    assert (square.row("lines", run="A").sections, askew.row("lines", run="A").sections) == (1, 2)


def test_three_runs_share_a_post_least_askew() -> None:
    """Two in line and one that leaves at 45: a post turned by 22.5 the other way meets each of them by as much, and has
    a corner between the two that are 45 apart, whose rails would lap on one face of it."""
    runs = along("A", "P1", "P2", 0.0), along("B", "P2", "P3", 0.0), along("C", "P2", "P4", 45.0)
    worked = work(*runs, assemblies=(RAIL,))
    skews = [worked.row("lines", run=run).guard.measures for run in "ABC"]

    assert [skews[0].to_skew, skews[1].from_skew, skews[2].from_skew] == [22.5, 22.5, -22.5]


def test_a_run_that_is_refused_still_turns_its_post() -> None:
    """The neighbour of a run whose rail is too wide for the face is laid out as if that run stood there."""
    wide = replace(RAIL, assembly="WIDE", top_rail_width=3.5)
    runs = along("A", "P1", "P2", 0.0), along("B", "P2", "P3", 45.0, assembly="WIDE")
    worked = work(*runs, assemblies=(RAIL, wide))

    assert [line.run for line in worked.rows["lines"]] == ["A"]
    assert worked.row("lines", run="A").guard.measures.to_skew == -22.5


def test_within_a_degree_of_square_a_corner_is_square() -> None:
    worked = work(*_runs(90.9), assemblies=(RAIL,))

    assert worked.row("lines", run="A").guard.measures.to_face == SIDE
    assert not any(each.is_askew for each in worked.sections)
