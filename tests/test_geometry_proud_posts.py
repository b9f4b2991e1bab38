"""Posts that stand proud, and cap boards that end at the face of a post or of a wall, drawn to scale.

The line of the guard's top lies its height over the nosings, plumb. A post that stands proud is cut square, that
much above the highest point where a cap or rail meets one of its faces; heights are taken from the surface that
the post stands on. Boards between faces are drawn as strips and measured. Lengths are in inches.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

import pytest

from railbook.geometry.joints import AT_WALL
from railbook.job.assemblies import Assembly
from railbook.job.runs import Run
from railbook.job.supports import NEW, WALL, Support
from railbook.takeoff.cut_list import ONE_END, OPPOSED, PARALLEL, SQUARE_ENDS
from tests.small_jobs import PLAIN, WOOD, Worked, flight, level, ramp, stair, work
from tests.test_geometry_leans import ALLOWED, Case, Mark, Ruled, Strip, drawn, leaning, meet, random_case, slanted

EXACT = 1e-9
TAPE = PLAIN.tape_step / 2 + 1e-6  # how far rounding to the tape may move a length
LONG = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)
PROUD = replace(LONG, post_proud=1.5)
SLEEVED = replace(PROUD, sleeve_width=4.5, post_below_sleeve=0.125)


class Flight(NamedTuple):
    """A flight between two proud posts, as typed and as the engine has it."""

    worked: Worked
    assembly: Assembly
    riser: float
    tread: float
    first: float
    lower: float
    upper: float
    clear: float

    @property
    def face(self) -> float:
        return self.assembly.sleeve_width or self.assembly.post_width or 0.0

    @property
    def deck(self) -> float:
        """Height of the deck over the lower floor."""
        return self.first + 6 * self.riser

    def guard_top(self, x: float) -> float:
        """Top of the cap over the lower floor: its height over the line through the nosings."""
        return self.first + (x - self.lower) * self.riser / self.tread + (self.assembly.stair_height or 0.0)

    def places(self) -> Iterator[tuple[str, float, float, list[float]]]:
        """Every post: mark, its downhill face, what it stands on, and where caps meet it."""
        yield "P1", -self.face, 0.0, [0.0]
        yield "P2", self.clear, self.deck, [self.clear]
        for number, tread in enumerate(self.worked.only("lines").division.treads, start=1):
            x = self.lower + tread * self.tread + (self.assembly.line_post_setback or 0.0)
            yield f"S/{number}", x, self.first + tread * self.riser, [x, x + self.face]


@cache
def flights() -> tuple[Flight, ...]:
    """60 flights of seven risers, some divided, some sleeved."""
    draw = random.Random(20261126)
    found = []
    for _ in range(60):
        riser, tread = draw.randint(96, 132) / 16, draw.randint(144, 192) / 16
        first, lower, upper = riser - draw.choice((0.0, 0.25)), draw.randint(8, 100) / 16, draw.randint(-32, 80) / 16
        assembly = replace(
            draw.choice((PROUD, SLEEVED)), post_proud=draw.choice((0.0, 0.75, 2.0)),
            cap_thickness=draw.choice((None, 1.0, 1.5)), greatest_spacing=draw.choice((60.0, 1000.0)),
        )  # fmt: skip
        clear = lower + 6 * tread + upper
        run = stair(clear, clear * riser / tread, lower_setback=lower, upper_setback=upper)
        on = flight(riser, tread, first_riser=first)
        worked = work(run, assemblies=(assembly,), flights=(on,))
        found.append(Flight(worked, assembly, riser, tread, first, lower, upper, clear))
    return tuple(found)


def test_proud_posts_of_flights_are_square_above_what_meets_them() -> None:
    """Foot, head and line posts: both faces alike, the post inside a sleeve lower by its allowance only."""
    line_posts = 0
    for of in flights():
        for mark, _, base, meets in of.places():
            post = of.worked.row("posts", post=mark)
            top = max(map(of.guard_top, meets)) + (of.assembly.post_proud or 0.0) - base
            lower = 0.125 if of.assembly.sleeve_width else 0.0
            line_posts += len(meets) - 1

            assert post.worked.square_top == pytest.approx(top, abs=EXACT)
            assert (post.post_downhill, post.post_uphill) == pytest.approx((top - lower, top - lower), abs=TAPE)
            assert (post.top, post.top_angle) == ("square, proud", 0.0)
            if of.assembly.sleeve_width:
                assert (post.sleeve_downhill, post.sleeve_uphill) == pytest.approx((top, top), abs=TAPE)
            assert post.post_length == pytest.approx(top - lower + (of.assembly.below_surface or 0.0), abs=TAPE)
    assert line_posts > 20


def test_proud_posts_on_the_level_worked_by_hand() -> None:
    """36-1/2 in of guard, cap included, and 1-1/2 in more; in a sleeve the post is 1/8 in lower."""
    bare = work(level(60.0), assemblies=(PROUD,)).row("posts", post="P1")
    sleeved = work(level(60.0), assemblies=(SLEEVED,)).row("posts", post="P1")

    assert (bare.post_downhill, bare.post_uphill, bare.post_length) == (38.0, 38.0, 47.25)  # 9-1/4 below the surface
    assert (sleeved.sleeve_length, sleeved.post_uphill, sleeved.post_length) == (38.0, 37.875, 47.125)


def test_proud_post_without_a_cap_board_stands_above_the_rail() -> None:
    """The guard's height is then that of the top rail."""
    bare = replace(PROUD, cap_thickness=None, cap_item=None)
    worked = work(level(60.0), assemblies=(bare,))

    assert worked.row("posts", post="P1").post_uphill == 38.0
    assert not [piece for piece in worked.rows["cut_list"] if piece.part == "Cap board"]


@pytest.mark.parametrize(("upper", "top"), [(3.0, 38.25), (0.5, 36.5)])
def test_proud_post_shared_with_the_level_guard_clears_the_higher_of_both(upper: float, top: float) -> None:
    """The stair guard of 36 in reaches the post's downhill face 36 + 3 x 0.75 = 38.25 over the deck with 3 in of
    setback, 36.375 with 1/2 in; the level guard meets the other face at 36-1/2."""
    up = stair(60.0, 45.0, upper_setback=upper, direction=0.0)
    on = level(60.0, from_support="P2", to_support="P3", direction=0.0)
    post = work(up, on, assemblies=(PROUD,), flights=(flight(7.5, 10.0),)).row("posts", post="P2")

    assert (post.post_downhill, post.post_uphill) == (top + 1.5, top + 1.5)
    assert post.top == "square, proud"


def check_ramp_post(post: Any, *, tops: list[float], feet: tuple[float, float], lower: float) -> None:
    """A post with a square top over a sloped or level foot, measured at its own two faces."""
    top = max(tops) + 1.5 - lower
    assert (post.post_downhill, post.post_uphill) == pytest.approx((top - feet[0], top - feet[1]), abs=TAPE)


@pytest.mark.parametrize("assembly", [PROUD, SLEEVED])
def test_proud_line_post_of_a_ramp_is_square_over_a_sloped_foot(assembly: Assembly) -> None:
    """A ramp of 1 in 10, its surface y = x / 10. The section above meets the uphill face, 36-1/2 in over the surface
    there; the downhill face of the post stands lower on the slope, so that side is longer by its width / 10."""
    worked = work(ramp(120.0, 12.0, sections=2), assemblies=(assembly,))
    post, face = worked.row("posts", post="R/1"), assembly.sleeve_width or 3.5
    low = worked.sections[0].clear
    inset = (face - 3.5) / 2
    tops = [x / 10 + 36.5 for x in (low, low + face)]
    lower = assembly.post_below_sleeve or 0.0

    check_ramp_post(post, tops=tops, feet=((low + inset) / 10, (low + face - inset) / 10), lower=lower)


@pytest.mark.parametrize(("assembly", "longest"), [(PROUD, 38.35), (SLEEVED, 38.275)])
def test_stock_of_a_proud_post_on_a_ramp_holds_its_longer_side(assembly: Assembly, longest: float) -> None:
    """Square top, foot cut to the slope: tip to tip is the downhill side, 36.5 + 1.5 + 3.5 / 10; inside a 4-1/2 in
    sleeve the post's own face is 4 in down from the sleeve's uphill one, and it is 1/8 in lower: 38 + 0.4 - 0.125."""
    worked = work(ramp(120.0, 12.0, sections=2), assemblies=(replace(assembly, below_surface=0.0),))

    assert worked.row("posts", post="R/1").post_tip == pytest.approx(longest, abs=TAPE)


def test_proud_post_at_the_foot_of_a_ramp_that_stands_on_its_slope() -> None:
    """Without a setback the lower post stands on the slope itself: 38 in over it at the uphill face, where the cap
    begins, and 3.5 / 10 more at the other."""
    post = work(ramp(60.0, 6.0), assemblies=(PROUD,)).row("posts", post="P1")

    check_ramp_post(post, tops=[36.5], feet=(-0.35, 0.0), lower=0.0)


def test_proud_end_posts_of_a_ramp() -> None:
    """Ramp of 1 in 10 from a floor to a deck, its foot 4 in past the lower post: the lower post stands on the floor,
    cap at its uphill face 36.5 - 0.4; the upper one on the deck, 2 in past the head of the ramp: 36.5 + 0.2."""
    worked = work(ramp(120.0, 12.0, lower_setback=4.0, upper_setback=2.0), assemblies=(PROUD,))
    low, high = worked.row("posts", post="P1"), worked.row("posts", post="P2")

    assert low.worked.square_top == pytest.approx(36.1 + 1.5)
    assert high.worked.square_top == pytest.approx(36.7 + 1.5)


def cap_strip(case: Case, fit: float) -> Strip:
    """The cap board between the two faces, on the upper side of the top rail."""
    low = case.apart + case.depths[1]
    return drawn(low, low + (case.assembly.cap_thickness or 0.0) * case.plumb, case.tangent, case.faces(), fit)


def ends_of(cuts: tuple[float, float]) -> str:
    """The word of the cut list for two saw settings."""
    if not any(cuts):
        return SQUARE_ENDS
    if not all(cuts):
        return ONE_END
    return PARALLEL if cuts[0] * cuts[1] > 0 else OPPOSED


@pytest.mark.parametrize("seed", range(60))
def test_cap_boards_between_proud_posts_are_those_of_the_drawing(seed: int) -> None:
    """Cut like the rails under them, with the fit allowance only: no bracket stands in their way."""
    case = random_case(random.Random(seed), 0)
    case = case._replace(assembly=replace(case.assembly, post_proud=1.0, cap_thickness=1.25))
    if seed % 4 == 0:
        case = case._replace(run=replace(case.run, lean_from=None, lean_to=None, clear_top=None))
    more = {"assemblies": (case.assembly,), "settings": ALLOWED, "supports": case.supports}
    cap = work(case.run, **more).row("cut_list", part="Cap board")
    strip = cap_strip(case, ALLOWED.fit_allowance or 0.0)
    cuts = tuple(0.0 if abs(cut) < EXACT else cut for cut in strip.cuts)

    assert cap.quantity == 1
    assert cap.length == pytest.approx(strip.lower_edge, abs=TAPE)
    assert cap.tip_to_tip == pytest.approx(strip.tip_to_tip, abs=TAPE)
    assert (cap.lower_cut, cap.upper_cut) == pytest.approx(strip.cuts, abs=EXACT)
    assert cap.ends == ends_of((cuts[0], cuts[1]))
    if abs(strip.upper_edge - strip.lower_edge) > 1e-6:
        assert cap.other_edge == pytest.approx(strip.upper_edge, abs=TAPE)
    else:
        assert cap.other_edge is None


def test_every_section_between_proud_posts_has_its_own_cap_board() -> None:
    """(127 - 3.5) / 2 = 61.75 between the faces, twice, and none over the posts."""
    worked = work(level(127.0, sections=2), assemblies=(PROUD,))
    caps = [piece for piece in worked.rows["cut_list"] if piece.part == "Cap board"]

    assert [(cap.quantity, cap.length, cap.ends) for cap in caps] == [(2, 61.75, SQUARE_ENDS)]


class Walled(NamedTuple):
    """A run with a wall at one end or at both."""

    case: Case
    walls: tuple[bool, bool]

    def strip(self) -> Strip:
        """The cap board as drawn: to the face of a wall; square past a post, as far as its underside covers it."""
        case = self.case
        low = slanted(case.apart + case.depths[1], case.tangent)
        above = case.apart + case.depths[1] + (case.assembly.cap_thickness or 0.0) * case.plumb
        high, post = slanted(above, case.tangent), case.assembly.post_width or 0.0
        ends = []
        for face, wall, way in zip(case.faces(), self.walls, (-1, 1), strict=True):
            end = face if wall else square_past(low, beyond(face, way * post), way * 1.0, case.tangent)
            ends.append((meet(low, end), meet(high, end)))
        (low_left, high_left), (low_right, high_right) = ends
        return Strip(low_left, low_right, high_right, high_left)


def beyond(face: Ruled, width: float) -> Ruled:
    """The other face of a post, its width away square to the face; + uphill."""
    (ax, ay), (bx, by) = face
    long = math.dist(face.one, face.two)
    return Ruled(*(Mark(x + width * (by - ay) / long, y - width * (bx - ax) / long) for x, y in face))


def square_past(under: Ruled, face: Ruled, past: float, tangent: float) -> Ruled:
    """A square end of a board, that far past a face, level, measured along its underside."""
    at = meet(under, face)
    corner = Mark(at.x + past, at.y + past * tangent)
    return leaning(corner, math.degrees(math.atan(tangent)))


def walled(seed: int) -> Walled:
    """A random case that leans in three of four, with one wall or two."""
    draw = random.Random(seed)
    case = random_case(draw, 0)
    case = case._replace(assembly=replace(case.assembly, cap_thickness=draw.choice((0.75, 1.5)), cap_overhang=1.0))
    if seed % 4 == 0:
        case = case._replace(run=replace(case.run, lean_from=None, lean_to=None, clear_top=None))
    walls = draw.choice(((True, False), (False, True), (True, True)))
    marks = (case.run.from_support, case.run.to_support)
    supports = tuple(Support(mark or "", WALL, NEW) for mark, wall in zip(marks, walls, strict=True) if wall)
    return Walled(case._replace(supports=supports), walls)


@pytest.mark.parametrize("seed", range(100))
def test_cap_that_ends_at_a_wall_is_cut_to_its_face(seed: int) -> None:
    """Plumb to a plumb wall, with its lean to one that leans; its longest edge is measured, stock holds its tips."""
    of = walled(seed)
    worked = work(of.case.run, assemblies=(of.case.assembly,), supports=of.case.supports, settings=ALLOWED)
    cap, strip = worked.only("caps"), of.strip()
    kinds = (cap.from_end.kind == AT_WALL, cap.to_end.kind == AT_WALL)

    assert kinds == of.walls
    assert cap.middle_length == pytest.approx(strip.lower_edge, rel=EXACT)
    assert cap.long_point == pytest.approx(strip.tip_to_tip, rel=EXACT)
    assert (cap.from_cut, cap.to_cut) == pytest.approx(strip.cuts, abs=EXACT)
    piece = worked.row("cut_list", part="Cap board")
    assert piece.length == pytest.approx(max(strip.lower_edge, strip.upper_edge), abs=TAPE)
    assert piece.tip_to_tip == pytest.approx(strip.tip_to_tip, abs=TAPE)


def test_raked_cap_at_a_wall_worked_by_hand() -> None:
    """3-4-5 up to a wall, 60 in clear, open 3-1/2 + 1 in past the post: underside 64.5 x 1.25 = 80.625, and the upper
    side stands out 1 x 0.75 past it at the wall; down from a wall it falls short instead, and adds nothing."""
    at_top = Support("P2", WALL, NEW)
    at_foot = Support("P1", WALL, NEW)

    def cap(*supports: Support) -> Any:
        run: Run = stair(60.0, 45.0, upper_setback=3.0)
        return work(run, assemblies=(LONG,), flights=(flight(7.5, 10.0),), supports=supports).only("caps")

    up, down, both = cap(at_top), cap(at_foot), cap(at_foot, at_top)
    assert (up.middle_length, up.long_point, up.from_cut) == pytest.approx((80.625, 81.375, 0.0))
    assert up.to_cut == pytest.approx(36.8698976)
    assert (down.middle_length, down.long_point, down.to_cut) == pytest.approx((80.625, 80.625, 0.0))
    assert down.from_cut == pytest.approx(36.8698976)
    assert (both.middle_length, both.long_point) == pytest.approx((75.0, 75.75))


def test_level_cap_between_plumb_walls_is_square() -> None:
    supports = (Support("P1", WALL, NEW), Support("P2", WALL, NEW))
    cap = work(level(60.0), assemblies=(LONG,), supports=supports).row("cut_list", part="Cap board")

    assert (cap.length, cap.ends, cap.lower_cut, cap.upper_cut) == (60.0, SQUARE_ENDS, 0.0, 0.0)
