"""Random flights drawn to scale from what was typed alone, and measured: the engine must say the same.

x runs uphill from the lower support's uphill face, y up from the surface that it stands on. Boards are drawn
as bands of their real depth and cut with plumb lines; no formula of the engine is used, only coordinates and
a geometry library. Lengths are in inches.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from railbook.job.assemblies import RAKE, SQUARE, Assembly
from railbook.job.flights import Flight
from tests.small_jobs import PLAIN, WOOD, Worked, ramp, stair, work

FAR = 1000.0
EXACT = 1e-6
TAPE = PLAIN.tape_step / 2 + EXACT  # how far rounding to the tape may move a length


class Drawn(NamedTuple):
    """One flight with a guard on its side, as it was typed and as the engine laid it out."""

    worked: Worked
    flight: Flight
    assembly: Assembly
    riser: float
    tread: float
    first: float
    risers: int
    setback: float
    clear: float

    @property
    def face(self) -> float:
        """Outside of a post."""
        return self.assembly.sleeve_width or self.assembly.post_width or 0.0

    def nosing(self, number: int) -> tuple[float, float]:
        """Edge of a tread, from 0; the last one is the edge of the deck."""
        return self.setback + number * self.tread, self.first + number * self.riser

    def tread_under(self, x: float) -> int:
        """Tread below a point, -1 for the lower floor."""
        return max((number for number in range(self.risers) if self.nosing(number)[0] <= x + EXACT), default=-1)

    def surface(self, x: float) -> float:
        """Height of what one walks on."""
        number = self.tread_under(x)
        return 0.0 if number < 0 else self.nosing(number)[1]

    def along(self) -> tuple[float, float]:
        """Direction of the slope: from the first nosing to the last."""
        (x0, y0), (x1, y1) = self.nosing(0), self.nosing(self.risers - 1)
        return (x1 - x0) / math.dist((x0, y0), (x1, y1)), (y1 - y0) / math.dist((x0, y0), (x1, y1))

    def band(self, over: float, depth: float) -> Polygon:
        """An endless board whose upper surface lies that high over the nosings, plumb, of a depth square to it."""
        (u, v), (x, y) = self.along(), self.nosing(0)
        low, high = (x - FAR * u, y + over - FAR * v), (x + FAR * u, y + over + FAR * v)
        down = (depth * v, -depth * u)
        return Polygon([low, high, (high[0] + down[0], high[1] + down[1]), (low[0] + down[0], low[1] + down[1])])

    def boards(self) -> dict[str, Polygon]:
        """Cap and rails, stacked from the top of the guard down, and the bottom rail over its clearance."""
        tall = self.assembly.stair_height or 0.0
        cap = self.band(tall, self.assembly.cap_thickness or 0.0)
        under_cap = bottom_at(cap, 0.0) - self.line(0.0)
        bottom = self.band(FAR, self.assembly.bottom_rail_depth or 0.0)
        lift = (self.assembly.stair_clearance or 0.0) - (bottom_at(bottom, 0.0) - self.line(0.0))
        return {
            "cap": cap,
            "top": self.band(under_cap, self.assembly.top_rail_depth or 0.0),
            "bottom": shapely.affinity.translate(bottom, 0.0, lift),
        }

    def line(self, x: float) -> float:
        """Height of the line over the nosings."""
        (u, v), (x0, y0) = self.along(), self.nosing(0)
        return y0 + (x - x0) * v / u


def crossing(band: Polygon, x: float) -> tuple[float, float]:
    """Where a plumb line enters and leaves a band."""
    cut = band.intersection(LineString([(x, -2 * FAR), (x, 3 * FAR)]))
    _, low, _, high = cut.bounds
    return low, high


def bottom_at(band: Polygon, x: float) -> float:
    return crossing(band, x)[0]


def top_at(band: Polygon, x: float) -> float:
    return crossing(band, x)[1]


def random_assembly(draw: random.Random) -> Assembly:
    """The wood railing with every size of its own."""

    def sixteenths(low: float, high: float) -> float:
        return draw.randint(round(low * 16), round(high * 16)) / 16

    post = sixteenths(3.0, 4.5)
    changes: dict[str, Any] = {
        "post_width": post,
        "sleeve_width": post + sixteenths(0.5, 1.0) if draw.random() < 0.5 else None,
        "post_below_sleeve": 0.125,
        "line_post_setback": sixteenths(1.5, 3.0),
        "cap_thickness": sixteenths(0.75, 1.5),
        "top_rail_depth": sixteenths(1.5, 3.5),
        "bottom_rail_depth": sixteenths(1.5, 3.5),
        "bracket_fit": sixteenths(0.0, 0.5),
        "baluster_width": sixteenths(0.75, 1.75),
        "baluster_ends": draw.choice((SQUARE, RAKE)),
        "let_in_top": sixteenths(0.0, 0.5),
        "let_in_bottom": sixteenths(0.0, 0.5),
        "seat_top": sixteenths(0.0, 0.375),
        "seat_bottom": sixteenths(0.0, 0.375),
        "block_width": sixteenths(1.0, 3.5),
        "block_spacing": sixteenths(12.0, 30.0),
        "greatest_spacing": sixteenths(54.0, 90.0),
        "greatest_rake": None,
        "stair_height": sixteenths(34.0, 38.0),
        "stair_clearance": sixteenths(0.0, 2.0),
    }
    return replace(WOOD, **changes)


@cache
def flights() -> tuple[Drawn, ...]:
    """More than 300 flights that could be divided."""
    draw = random.Random(20260430)
    drawn = []
    for _ in range(340):
        riser, tread = draw.randint(96, 132) / 16, draw.randint(144, 192) / 16
        risers, first = draw.randint(2, 14), riser + draw.choice((0.0, 0.0, -0.25, 0.375))
        low, high = draw.randint(8, 100) / 16, draw.randint(-32, 140) / 16
        assembly = random_assembly(draw)
        clear = low + (risers - 1) * tread + high
        on = Flight("F1", risers, riser=riser, tread=tread, first_riser=first, nosing_overhang=draw.choice((0.0, 1.0)))
        run = stair(clear, clear * riser / tread, lower_setback=low, upper_setback=high)
        worked = work(run, flights=(on,), assemblies=(assembly,))
        if worked.rows["lines"]:
            drawn.append(Drawn(worked, on, assembly, riser, tread, first, risers, low, clear))
    return tuple(drawn)


def places(of: Drawn) -> Iterator[tuple[Any, float, float]]:
    """Every post with its downhill face and the height of the surface that it stands on."""
    rows = {row.post: row for row in of.worked.rows["posts"]}
    yield rows["P1"], -of.face, 0.0
    yield rows["P2"], of.clear, of.nosing(of.risers - 1)[1]
    for number, tread in enumerate(of.worked.only("lines").division.treads, start=1):
        x = of.nosing(tread)[0] + (of.assembly.line_post_setback or 0.0)
        yield rows[f"S/{number}"], x, of.nosing(tread)[1]


def test_there_are_flights_enough() -> None:
    assert len(flights()) > 300
    assert sum(row.worked.only("lines").sections > 1 for row in flights()) > 100


@pytest.mark.parametrize("part", range(4))
def test_posts_end_where_the_cap_lies_on_them(part: int) -> None:
    """Both faces of every sleeve, and of every post inside it, cross the cap's underside where they are cut."""
    for of in flights()[part::4]:
        cap = of.boards()["cap"]
        for row, x, base in places(of):
            assert row.worked.downhill == pytest.approx(bottom_at(cap, x) - base, abs=EXACT)
            assert row.worked.uphill == pytest.approx(bottom_at(cap, x + of.face) - base, abs=EXACT)
            inset = (of.face - (of.assembly.post_width or 0.0)) / 2
            lower = 0.125 if of.assembly.sleeve_width else 0.0
            for height, at in ((row.post_downhill, x + inset), (row.post_uphill, x + of.face - inset)):
                assert height == pytest.approx(bottom_at(cap, at) - base - lower, abs=TAPE)


def test_line_posts_stand_on_their_treads() -> None:
    """The whole foot lies on one tread, and the section faces are those of the drawn posts."""
    for of in flights():
        sections = of.worked.sections
        for number, (row, x, base) in enumerate(list(places(of))[2:]):
            assert base == of.surface(x) == of.surface(x + of.face), row.post
            assert sections[number].lower_face + sections[number].clear == pytest.approx(x, abs=EXACT)
            assert sections[number + 1].lower_face == pytest.approx(x + of.face, abs=EXACT)
        assert sections[-1].lower_face + sections[-1].clear == pytest.approx(of.clear, abs=EXACT)


def test_line_post_that_no_tread_can_hold_is_told() -> None:
    """6 in behind a nosing and 5-1/2 in wide, on treads of 9 in: its foot would stand 2-1/2 in inside the riser."""
    wide = replace(WOOD, line_post_setback=6.0, post_width=5.5)
    on = Flight(flight="F1", risers=14, riser=7.5, tread=9.0, nosing_overhang=0.0)
    worked = work(stair(123.0, 102.5, upper_setback=3.0), flights=(on,), assemblies=(wide,))
    told = [each.what for each in (*worked.problems, *worked.rows["warnings"])]

    assert any("line post" in each for each in told)


def test_opening_and_balusters_fit_between_the_rails() -> None:
    for of in flights():
        boards, guard = of.boards(), of.worked.only("lines").guard
        x, width = of.clear / 3, of.assembly.baluster_width or 0.0
        assert guard.opening == pytest.approx(bottom_at(boards["top"], x) - top_at(boards["bottom"], x), abs=EXACT)
        into = (of.assembly.let_in_top or 0.0) - (of.assembly.seat_top or 0.0)
        below = (of.assembly.let_in_bottom or 0.0) - (of.assembly.seat_bottom or 0.0)
        faces = (x - width / 2, x + width / 2)
        tops = [bottom_at(boards["top"], face) + into for face in faces]
        feet = [top_at(boards["bottom"], face) - below for face in faces]
        if of.assembly.baluster_ends == SQUARE:
            expected = (min(tops) - max(feet), min(tops) - max(feet))
        else:
            expected = (tops[0] - feet[0], max(tops) - min(feet))
        assert (guard.baluster_length, guard.baluster_tip) == pytest.approx(expected, abs=EXACT)


def test_rails_measured_on_their_polygons() -> None:
    """Edge, tip to tip along the rail, and the angle of the plumb ends; level fits at both ends."""
    for of in flights():
        boards, (u, v) = of.boards(), of.along()
        fit = of.assembly.bracket_fit or 0.0
        for row in of.worked.sections:
            strip = box(row.lower_face + fit, -FAR, row.lower_face + row.clear - fit, 3 * FAR)
            for name, edge, tip in (("top", row.top_edge, row.top_tip), ("bottom", row.bottom_edge, row.bottom_tip)):
                corners = list(boards[name].intersection(strip).exterior.coords)[:-1]
                sides = sorted(math.dist(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
                stations = [x * u + y * v for x, y in corners]
                assert len(corners) == 4
                assert sum(edge == pytest.approx(side, abs=EXACT) for side in sides) >= 2
                assert tip == pytest.approx(max(stations) - min(stations), abs=EXACT)
            assert (row.lower_cut, row.upper_cut) == pytest.approx((math.degrees(math.atan2(v, u)),) * 2, abs=EXACT)


def test_blocks_stand_on_one_tread_and_reach_the_rail() -> None:
    """Both sides are the plumb distance from the tread to the underside of the bottom rail."""
    seen = 0
    for of in flights():
        bottom, width, (u, _) = of.boards()["bottom"], of.assembly.block_width or 0.0, of.along()
        lowers = {row.section: row.lower_face for row in of.worked.sections}
        for row in of.worked.rows["blocks"]:
            middle = lowers[row.section] + row.wanted + row.moved
            low, high = middle - width / 2, middle + width / 2
            seen += 1
            assert of.tread_under(low) == of.tread_under(high - 2 * EXACT)
            assert row.short_side == pytest.approx(bottom_at(bottom, low) - of.surface(low), abs=TAPE)
            assert row.long_side == pytest.approx(bottom_at(bottom, high) - of.surface(low), abs=TAPE)
            fit = of.assembly.bracket_fit or 0.0
            assert row.along == pytest.approx((middle - lowers[row.section] - fit) / u, abs=TAPE)
    assert seen > 500


def test_equal_sections_over_other_treads_have_blocks_of_their_own() -> None:
    """Twelve risers of 7-1/2 on 10 in, setbacks 3 and 2-1/2, line post 3 in behind nosing 5: two sections of
    56 in clear, but the first nosing stands 3 in from the lower face of one and 3-1/2 in from that of the other.
    By hand: the first block of S.1 is at 18-2/3 in, 15-2/3 in beyond the first nosing, so 5-2/3 in behind its own;
    that of S.2 is at 59.5 + 18-2/3 - 3 = 75-1/6, so 5-1/6 in behind its own: 3/8 in of height less."""
    on = Flight(flight="F1", risers=12, riser=7.5, tread=10.0, nosing_overhang=0.0)
    wood = replace(WOOD, stair_clearance=1.0)
    worked = work(stair(115.5, 86.625, upper_setback=2.5), flights=(on,), assemblies=(wood,))
    heights = sorted(row.length for row in worked.rows["cut_list"] if row.part == "Block" for _ in range(row.quantity))
    uphill = [1.0 + (behind + 0.75) * 0.75 for behind in (17 / 3, 13 / 3, 31 / 6, 23 / 6)]

    assert [row.clear for row in worked.sections] == [56.0, 56.0]
    assert heights == pytest.approx(sorted(uphill), abs=TAPE)


def test_triangle_is_the_largest_circle_that_a_search_finds() -> None:
    """Between the tread, the riser behind its nosing, and the underside of the bottom rail."""
    for of in flights()[::4]:
        bottom, overhang = of.boards()["bottom"], of.flight.nosing_overhang or 0.0
        tread, corner = of.nosing(0), (of.nosing(1)[0] + overhang, of.nosing(0)[1])
        plumb = bottom_at(bottom, corner[0]) - corner[1]
        plumb += max(0.0, of.first - of.riser)  # the largest riser governs; the first one may be it
        low_end = corner[0] - plumb * of.along()[0] / of.along()[1]
        opening = Polygon([(low_end, tread[1]), corner, (corner[0], corner[1] + plumb)])
        circle = shapely.maximum_inscribed_circle(opening, tolerance=1e-6)
        assert of.worked.only("lines").triangle.triangle == pytest.approx(2 * circle.length, abs=1e-4)
        assert Point(circle.coords[0]).distance(opening.exterior) == pytest.approx(circle.length, abs=1e-6)


def test_pieces_of_a_ramp_are_longer_tip_to_tip() -> None:
    """Posts sawn to length and blocks of a ramp are cut to the slope at foot and top alike: a parallelogram whose
    stock must hold its two edges and the rise across its width."""
    on_surface = replace(WOOD, below_surface=0.0, rough_allowance=0.0)
    worked = work(ramp(60.0, 10.0), assemblies=(on_surface,))
    rise_across_post, rise_across_block = 3.5 / 6, 1.5 / 6

    post = next(row for row in worked.rows["cut_list"] if row.part == "Post" and "P1" in row.where)
    block = next(row for row in worked.rows["cut_list"] if row.part == "Block")
    assert post.tip_to_tip == pytest.approx(post.length + rise_across_post, abs=2 * TAPE)
    assert block.tip_to_tip == pytest.approx(block.length + rise_across_block, abs=2 * TAPE)
