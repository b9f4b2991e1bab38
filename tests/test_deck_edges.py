"""Guards outside the deck's edge, drawn: cross sections, posts on two edges of a corner, and caps mitred over it.

Plans have the corner of the deck at the origin, the first edge along x up to it and the deck below; lengths are inches.
A geometry library measures distances between the drawn parts and offsets the deck's outline.
"""

import math
import random
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from shapely import LineString, Polygon, affinity, box

from railbook.checks import demands, edges
from railbook.checks.check import CLOSE, FAIL, NOT_MEASURED, PASS
from railbook.geometry.corner_sums import Place, greatest_near, opening_round, past_corner
from railbook.geometry.deck_corners import DeckCorner
from railbook.geometry.edges import under_rail_opening
from railbook.geometry.joints import IN_AIR, MITRED, OPEN_END
from railbook.job.assemblies import INSIDE_RIM, ON_FASCIA, ON_SURFACE, Assembly
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import POST, WALL, Support
from tests.small_jobs import WOOD, Worked, level, ramp, work

DEEP = 500.0  # how far parts go on that end nowhere in the drawing
EXACT = 1e-9
BARE = replace(  # posts of 4 1/4 against the fascia, rails of 1 1/2
    WOOD, post_width=4.25, mount=ON_FASCIA, bottom_rail_width=1.5, level_clearance=3.5, greatest_spacing=1000.0,
    cap_width=5.5, cap_thickness=1.0, cap_overhang=1.0,
)  # fmt: skip


def outline(turn: float) -> LineString:
    """The edge of a deck up to a corner that turns so far right, and on."""
    radians = math.radians(turn)
    return LineString([(-DEEP, 0.0), (0.0, 0.0), (DEEP * math.cos(radians), -DEEP * math.sin(radians))])


def on_fascia(near: float, inner: float, width: float, turn: float | None = None) -> Polygon:
    """A post on the first edge, or on the second round that turn."""
    if turn is None:
        return box(-near - width, inner, -near, inner + width)
    return affinity.rotate(box(near, inner, near + width, inner + width), -turn, origin=(0.0, 0.0))


# under the bottom rail


@pytest.mark.parametrize(
    ("clearance", "opening", "verdict"), [(3.5, 3.760, PASS), (3.8, 4.041, FAIL), (3.75, 3.9936, CLOSE)]
)
def test_the_opening_under_a_rail_outside_the_edge(clearance: float, opening: float, verdict: str) -> None:
    """Drawn across: the deck, and a rail 1 1/2 wide whose middle stands 2 1/8 outside it."""
    deck, rail = box(-DEEP, -12.0, 0.0, 0.0), box(2.125 - 0.75, clearance, 2.125 + 0.75, clearance + 3.5)
    worked = work(level(60.0), assemblies=(replace(BARE, level_clearance=clearance),))
    check = worked.check(demands.UNDER_RAIL)

    assert check.found == pytest.approx(deck.distance(rail), abs=EXACT)
    assert check.found == pytest.approx(opening, abs=0.0006)
    assert check.verdict == verdict


@pytest.mark.parametrize("seed", range(200))
def test_any_opening_under_a_rail_against_the_drawing(seed: int) -> None:
    draw = random.Random(seed)
    clearance, outside, width = draw.uniform(0.0, 5.0), draw.uniform(-5.0, 6.0), draw.uniform(0.75, 5.5)
    deck, rail = box(-DEEP, -12.0, 0.0, 0.0), box(outside - width / 2, clearance, outside + width / 2, clearance + 3.0)

    found = under_rail_opening(clearance=clearance, outside=outside, rail=width)
    assert found == pytest.approx(deck.distance(rail), abs=EXACT)


UNDER = {  # what is typed beside the railing -> how far the middle of the guard stands outside the edge
    "posts against the fascia": ({}, (), 2.125),
    "spacers of the railing": ({"spacer": 0.5}, (), 2.625),
    "a spacer at one end": ({}, (Support("P2", POST, spacer=1.5),), 3.625),
    "no spacer at either end": (
        {"spacer": 0.5}, (Support("P1", POST, spacer=0.0), Support("P2", POST, spacer=0.0)), 2.125,
    ),
    "a wider post at one end": ({}, (Support("P1", POST, face_width=5.5),), 2.75),
    "a sleeve": ({"post_width": 3.5, "sleeve_width": 4.25, "spacer": 0.375}, (), 2.125),
    "a wall at one end": ({}, (Support("P1", WALL),), 2.125),
    "walls at both ends": ({}, (Support("P1", WALL), Support("P2", WALL)), 2.125),
    "inside the rim": ({"mount": INSIDE_RIM}, (), None),
    "on the surface": ({"mount": ON_SURFACE}, (), None),
    "one post on the fascia": ({"mount": ON_SURFACE}, (Support("P2", POST, mount=ON_FASCIA),), 2.125),
    "both posts otherwise": ({}, (Support("P1", POST, mount=ON_SURFACE), Support("P2", POST, mount=ON_SURFACE)), None),
}  # fmt: skip


@pytest.mark.parametrize("what", UNDER)
def test_where_the_guard_stands_outside_the_edge(what: str) -> None:
    sizes, there, outside = UNDER[what]
    (line,) = work(level(60.0), assemblies=(replace(BARE, **sizes),), supports=there).rows["lines"]  # type: ignore[arg-type]
    beside = 0.0 if outside is None else outside - 0.75

    assert line.edge.under_rail == pytest.approx(math.dist((0.0, 0.0), (beside, 3.5)), abs=EXACT)


def test_a_rail_of_unknown_width_is_a_board_on_edge() -> None:
    """1 1/2 in, 38 mm: common practice, no source."""
    metric = Settings(unit="mm", tape_step=1.0)
    sizes = {"post_width": 90.0, "level_clearance": 80.0, "level_height": 930.0, "baluster_width": 38.0}
    for settings, changes, beside, up in ((Settings(), {}, 2.125 - 0.75, 3.5), (metric, sizes, 45.0 - 19.0, 80.0)):
        railing = replace(BARE, bottom_rail_width=None, **changes)  # type: ignore[arg-type]
        (line,) = work(level(1500.0 if changes else 60.0), assemblies=(railing,), settings=settings).rows["lines"]
        assert line.edge.under_rail == pytest.approx(math.dist((0.0, 0.0), (beside, up)), abs=EXACT)


def test_the_opening_beside_a_ramp_is_square_to_edge_and_rail() -> None:
    """In space: the shortest way between two points that run along the edge of the ramp and the arris of its rail."""
    run = ramp(120.0, 10.0)
    (line,) = work(run, assemblies=(BARE,)).rows["lines"]
    way = np.array([120.0, 0.0, 10.0]) / math.hypot(120.0, 10.0)
    across = np.array([0.0, 2.125 - 0.75, 3.5])

    assert line.edge.under_rail == pytest.approx(float(np.linalg.norm(np.cross(across, way))), abs=EXACT)


# posts round a corner


@pytest.mark.parametrize(
    ("near", "turn", "opening"), [(2.5, 90.0, 3.5355), (3.0, 90.0, 4.2426), (2.5, 45.0, 4.6194), (2.0, 45.0, 3.6955)]
)
def test_the_opening_between_two_posts_against_the_fascia(near: float, turn: float, opening: float) -> None:
    drawn = on_fascia(near, 0.0, 4.25).distance(on_fascia(near, 0.0, 4.25, turn))

    assert opening_round(Place(near, 0.0), Place(near, 0.0), turn) == pytest.approx(drawn, abs=EXACT)
    assert drawn == pytest.approx(opening, abs=0.0001)


def test_spacers_open_a_corner() -> None:
    """A distance of 3.536 against the fascia is 4 square to 4 behind spacers of 1 1/2: 5.657, and the sphere passes."""
    drawn = on_fascia(2.5, 1.5, 4.25).distance(on_fascia(2.5, 1.5, 4.25, 90.0))

    assert drawn == pytest.approx(math.sqrt(32.0), abs=EXACT)
    assert opening_round(Place(2.5, 1.5), Place(2.5, 1.5), 90.0) == pytest.approx(drawn, abs=EXACT)


@pytest.mark.parametrize("seed", range(300))
def test_any_opening_between_two_posts_against_the_drawing(seed: int) -> None:
    """Equally far out, up to a square corner, it is the distance of the two squares; else never less than that."""
    draw = random.Random(seed)
    turn, inner = draw.uniform(5.0, 160.0), draw.uniform(-0.5, 3.0)
    other_inner = inner if draw.random() < 0.5 else draw.uniform(-0.5, 3.0)
    near, far = draw.uniform(0.5, 6.0), draw.uniform(0.5, 6.0)
    drawn = on_fascia(near, inner, 4.25).distance(on_fascia(far, other_inner, 3.5, turn))
    found = opening_round(Place(near, inner), Place(far, other_inner), turn)

    assert found >= drawn - EXACT
    if turn <= 90.0 and inner == other_inner >= 0:
        assert found == pytest.approx(drawn, abs=EXACT)


@pytest.mark.parametrize("seed", range(100))
def test_the_greatest_distance_from_the_corner_just_lets_the_limit_through(seed: int) -> None:
    draw = random.Random(seed)
    turn, inner, other = draw.uniform(2.0, 120.0), draw.uniform(-0.4, 3.5), draw.uniform(-0.4, 3.5)
    near = greatest_near(inner, other, turn, 4.0)

    if near is None:
        assert math.dist((0.0, inner), affinity.rotate(LineString([(0, 0), (0, other)]), -turn, (0, 0)).coords[1]) > 4
    else:
        assert opening_round(Place(near, inner), Place(near, other), turn) == pytest.approx(4.0, abs=EXACT)


# where the guards' middles run


@pytest.mark.parametrize(
    ("edge", "outside", "turn", "middles"),
    [(144.0, 2.125, 90.0, 148.250), (60.0, 2.125, 45.0, 61.760), (144.0, -3.25, 90.0, 137.500)],
)
def test_the_middle_line_of_a_guard_round_a_deck(edge: float, outside: float, turn: float, middles: float) -> None:
    """Corner to corner of the outline, offset by the library."""
    corners, at, bearing = [(0.0, 0.0)], np.zeros(2), 90.0
    for _ in range(round(360 / turn) - 1):
        at = at + edge * np.array([math.sin(math.radians(bearing)), math.cos(math.radians(bearing))])
        corners.append((float(at[0]), float(at[1])))
        bearing += turn
    deck = Polygon(corners)
    ring = list(deck.buffer(outside, join_style="mitre", mitre_limit=50.0).exterior.coords)
    sides = [math.dist(*each) for each in pairwise(ring)]

    found = edge + 2 * past_corner(outside, outside, turn)
    assert sides == pytest.approx([found] * len(sides), abs=1e-6)
    assert found == pytest.approx(middles, abs=0.0006)


@pytest.mark.parametrize("seed", range(100))
def test_middles_of_two_guards_cross_where_they_are_drawn(seed: int) -> None:
    draw = random.Random(seed)
    turn, own, other = draw.uniform(5.0, 150.0), draw.uniform(1.0, 5.0), draw.uniform(1.0, 5.0)
    line = affinity.translate(LineString([(-DEEP, 0.0), (DEEP, 0.0)]), 0.0, own)
    onward = affinity.rotate(LineString([(-DEEP, other), (DEEP, other)]), -turn, origin=(0.0, 0.0))
    crossing = line.intersection(onward)

    assert past_corner(own, other, turn) == pytest.approx(crossing.x, abs=1e-7)


@pytest.mark.parametrize("turn", [90.0, 45.0])
def test_an_inside_corner_is_stopped_short_of_by_the_same(turn: float) -> None:
    """One post in it touches both edges: its middle is as far out as a post and a spacer of either edge have it."""
    outside = 2.125
    ring = outline(-turn).offset_curve(outside, join_style="mitre", mitre_limit=50.0)
    short = -min(x for x, y in ring.coords if abs(y - outside) < 1e-6 and x > -DEEP)

    assert past_corner(outside, outside, turn) == pytest.approx(short, abs=1e-6)
    if turn == 90.0:
        assert short + 4.25 / 2 == pytest.approx(4.25)  # the clear begins a post and its spacer from the corner


# the same through the engine


def round_the_deck(
    edge: float, turn: float, railing: Assembly = BARE, near: float = 2.5, **more: Any
) -> tuple[Worked, list[str]]:
    """A deck of equal edges with two posts at every corner, walked with the deck at the right hand."""
    sides = round(360 / turn)
    post = railing.sleeve_width or railing.post_width or 0.0
    clear = edge - 2 * (near + post)
    marks = [f"R{side}" for side in range(sides)]
    runs = [
        level(clear, run=mark, from_support=f"L{at}", to_support=f"T{at}", direction=(90.0 + turn * at) % 360,
              assembly=railing.assembly)
        for at, mark in enumerate(marks)
    ]  # fmt: skip
    there = [
        each
        for at in range(sides)
        for each in (
            Support(f"T{at}", POST, from_corner=near, corner_post=f"L{(at + 1) % sides}"),
            Support(f"L{at}", POST, from_corner=near),
        )
    ]
    return work(*runs, assemblies=(railing,), supports=there, **more), marks


@pytest.mark.parametrize(("edge", "turn", "middles"), [(144.0, 90.0, 148.250), (60.0, 45.0, 61.760)])
def test_caps_round_a_deck_are_as_long_as_its_outline_offset(edge: float, turn: float, middles: float) -> None:
    """The cap lies over the middle of the guard, from corner to corner of the offset outline."""
    worked, _ = round_the_deck(edge, turn)

    for cap in worked.rows["caps"]:
        assert cap.middle_length == pytest.approx(middles, abs=0.0006)
        assert (cap.from_cut, cap.to_cut) == pytest.approx((-turn / 2, turn / 2))
        assert cap.status == ""
    assert len(worked.rows["deck_corners"]) == round(360 / turn)


@pytest.mark.parametrize(
    ("near", "sizes", "verdict"),
    [
        (2.5, {}, PASS),
        (3.0, {}, FAIL),
        (2.5, {"spacer": 1.5}, FAIL),
        (2.8, {}, CLOSE),
        (2.5, {"post_width": 3.5, "sleeve_width": 4.25, "spacer": 0.375}, PASS),
    ],
)
def test_the_opening_between_two_posts_is_a_check(near: float, sizes: dict[str, float], verdict: str) -> None:
    worked, _ = round_the_deck(144.0, 90.0, replace(BARE, **sizes), near)  # type: ignore[arg-type]
    checks = [each for each in worked.rows["code_checks"] if each.asked == edges.CORNER]
    inner = sizes.get("spacer", 0.0) if "sleeve_width" not in sizes else 0.0
    drawn = on_fascia(near, inner, 4.25).distance(on_fascia(near, inner, 4.25, 90.0))

    assert [each.verdict for each in checks] == [verdict] * 4
    assert [each.found for each in checks] == pytest.approx([drawn] * 4, abs=EXACT)


def test_a_distance_from_the_corner_that_nobody_taped_is_not_measured() -> None:
    first, second = pair()
    there = (Support("P2", POST, corner_post="P3"),)
    worked = work(first, second, assemblies=(BARE,), supports=there)

    assert worked.check(edges.CORNER).verdict == NOT_MEASURED
    assert next(each.to_end.kind for each in worked.rows["caps"]) == OPEN_END


def pair(turn: float = 90.0, **changes: Any) -> tuple[Run, Run]:
    """Two level runs that end at two posts beside a corner."""
    first = level(60.0, run="A", direction=90.0, assembly=BARE.assembly)
    second = level(70.0, run="B", from_support="P3", to_support="P4", direction=90.0 + turn, assembly=BARE.assembly)
    return first, replace(second, **changes)


def beside(near: float = 2.5, far: float = 2.5, **other: Any) -> tuple[Support, Support]:
    """The two posts of a pair."""
    return Support("P2", POST, from_corner=near, corner_post="P3"), Support("P3", POST, from_corner=far, **other)


@pytest.mark.parametrize("seed", range(40))
def test_two_caps_close_in_the_air(seed: int) -> None:
    """Both drawn from the engine's lengths and saw settings, each from its own far end: their ends must be one line."""
    draw = random.Random(seed)
    turn, near, far = draw.uniform(10.0, 120.0), draw.randint(8, 60) / 16, draw.randint(8, 60) / 16
    spacer, beyond = draw.randint(0, 24) / 16, draw.randint(0, 24) / 16
    worked = work(*pair(turn), assemblies=(replace(BARE, spacer=spacer),), supports=beside(near, far, spacer=beyond))
    first, second = worked.rows["caps"]
    radians = math.radians(turn)
    along = np.array([1.0, 0.0]), np.array([math.cos(radians), -math.sin(radians)])
    away = np.array([0.0, 1.0]), np.array([math.sin(radians), math.cos(radians)])
    outs = spacer + 4.25 / 2, beyond + 4.25 / 2
    face = near + 4.25 + 60.0 + 4.25 + 1.0  # from the corner back to the far end of the first cap, over its overhang
    end = along[0] * (first.middle_length - face) + away[0] * outs[0]
    far_end = far + 4.25 + 70.0 + 4.25 + 1.0
    start = along[1] * (far_end - second.middle_length) + away[1] * outs[1]

    assert (first.to_end.kind, second.from_end.kind) == (IN_AIR, IN_AIR)
    assert end == pytest.approx(start, abs=1e-6)
    for side in (-1.0, 1.0):  # the two arrises
        tip = end + side * 2.75 * (away[0] + along[0] * math.tan(math.radians(first.to_cut)))
        other = start + side * 2.75 * (away[1] + along[1] * math.tan(math.radians(second.from_cut)))
        assert tip == pytest.approx(other, abs=1e-6)


NOT_OVER_THE_CORNER = {
    "other heights": {"assemblies": (BARE, replace(BARE, assembly="TALL", level_height=42.0))},
    "other thicknesses": {"assemblies": (BARE, replace(BARE, assembly="TALL", cap_thickness=1.5))},
    "no cap": {"assemblies": (BARE, replace(BARE, assembly="TALL", cap_thickness=None, level_height=35.5))},
    "proud posts": {"assemblies": (BARE, replace(BARE, assembly="TALL", post_proud=2.0))},
}  # fmt: skip


@pytest.mark.parametrize("what", NOT_OVER_THE_CORNER)
def test_unlike_caps_do_not_meet_over_the_corner(what: str) -> None:
    worked = work(*pair(assembly="TALL"), supports=beside(), **NOT_OVER_THE_CORNER[what])

    assert not {end.kind for cap in worked.rows["caps"] for end in (cap.from_end, cap.to_end)} & set(MITRED)
    assert isinstance(worked.only("deck_corners"), DeckCorner)


def test_posts_under_a_mitre_in_the_air_carry_it_as_any_last_post_does() -> None:
    over = work(*pair(), assemblies=(BARE,), supports=beside())
    apart = work(*pair(), assemblies=(BARE,))

    for mark in ("P2", "P3"):
        ours, usual = over.row("posts", post=mark), apart.row("posts", post=mark)
        assert (ours.post_length, ours.top) == (usual.post_length, usual.top)
