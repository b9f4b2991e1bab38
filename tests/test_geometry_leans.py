"""Rails between supports that lean, drawn to scale: faces as lines, rails as strips, cut and measured.

x runs uphill from the point where the middle of the bottom rail meets the From face, y up. Both clears are
level distances along the middle of a rail. Nothing of the engine is used but its answers: the pen below knows
lines, where they cross, and angles. Lengths are in inches, leans in degrees.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

import pytest

from railbook.geometry.choices import choose_site
from railbook.geometry.survey import Site, lay_out_site
from railbook.job.assemblies import Assembly
from railbook.job.build import build
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, POST, WALL, Support
from railbook.takeoff.cut_list import ONE_END, OPPOSED, PARALLEL
from tests.small_jobs import PLAIN, WOOD, Worked, flight, level, ramp, stair, tabs, work

EXACT = 1e-9
ALLOWED = replace(PLAIN, fit_allowance=1 / 16)
ENDLESS = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)


class Mark(NamedTuple):
    """A point of the drawing."""

    x: float
    y: float


class Ruled(NamedTuple):
    """An endless line through two points."""

    one: Mark
    two: Mark

    def moved(self, x: float, tangent: float) -> "Ruled":
        """The line beside it, moved up a slope by a level distance."""
        return Ruled(*(Mark(each.x + x, each.y + x * tangent) for each in self))


def meet(first: Ruled, second: Ruled) -> Mark:
    """Where two lines cross, by determinants."""
    (ax, ay), (bx, by) = first
    (cx, cy), (dx, dy) = second
    across = (ax - bx) * (cy - dy) - (ay - by) * (cx - dx)
    one, two = ax * by - ay * bx, cx * dy - cy * dx
    return Mark((one * (cx - dx) - (ax - bx) * two) / across, (one * (cy - dy) - (ay - by) * two) / across)


def slanted(height: float, tangent: float) -> Ruled:
    """An endless edge of that slope, that high over the middle of the bottom rail."""
    return Ruled(Mark(0.0, height), Mark(100.0, height + 100.0 * tangent))


def leaning(foot: Mark, lean: float) -> Ruled:
    """A face through a point; + leans downhill."""
    return Ruled(foot, Mark(foot.x - math.sin(math.radians(lean)), foot.y + math.cos(math.radians(lean))))


class Strip(NamedTuple):
    """A board as drawn, its corners seen with uphill to the right."""

    low_left: Mark
    low_right: Mark
    high_right: Mark
    high_left: Mark

    @property
    def lower_edge(self) -> float:
        return math.dist(self.low_left, self.low_right)

    @property
    def upper_edge(self) -> float:
        return math.dist(self.high_left, self.high_right)

    @property
    def along(self) -> float:
        """Its slope [radians]."""
        return math.atan2(self.low_right.y - self.low_left.y, self.low_right.x - self.low_left.x)

    @property
    def tip_to_tip(self) -> float:
        """The shortest stock with square ends that holds it."""
        places = [corner.x * math.cos(self.along) + corner.y * math.sin(self.along) for corner in self]
        return max(places) - min(places)

    def _from_square(self, low: Mark, high: Mark) -> float:
        """A saw setting, + when the upper corner lies further uphill than the lower one [degrees]."""
        return math.degrees(self.along + math.pi / 2 - math.atan2(high.y - low.y, high.x - low.x))

    @property
    def cuts(self) -> tuple[float, float]:
        return self._from_square(self.low_left, self.high_left), self._from_square(self.low_right, self.high_right)


def drawn(below: float, above: float, tangent: float, faces: tuple[Ruled, Ruled], fit: float) -> Strip:
    """The board between two heights and two faces. The fit is taken off every edge at both ends, measured level."""
    low, high = slanted(below, tangent), slanted(above, tangent)
    left, right = faces[0].moved(fit, tangent), faces[1].moved(-fit, tangent)
    return Strip(meet(low, left), meet(low, right), meet(high, right), meet(high, left))


class Case(NamedTuple):
    """One run as it was typed, with the slope that was meant, and the supports that stand already."""

    run: Run
    assembly: Assembly
    tangent: float
    clear: float
    supports: tuple[Support, ...] = ()

    @property
    def plumb(self) -> float:
        """Plumb height for each unit of depth."""
        return 1 / math.cos(math.atan(self.tangent))

    @property
    def depths(self) -> tuple[float, float]:
        """Half of each rail as it stands, plumb: bottom, top."""
        one, two = self.assembly.bottom_rail_depth or 0.0, self.assembly.top_rail_depth or 0.0
        return one / 2 * self.plumb, two / 2 * self.plumb

    @property
    def apart(self) -> float:
        """From middle to middle, plumb: the guard less clearance and cap, and half of each rail."""
        inside = (self.assembly.level_height or 0.0) - (self.assembly.level_clearance or 0.0)
        return inside - (self.assembly.cap_thickness or 0.0) * self.plumb - sum(self.depths)

    @property
    def fit(self) -> float:
        return (self.assembly.bracket_fit or 0.0) + (ALLOWED.fit_allowance or 0.0)

    @property
    def feet(self) -> tuple[Mark, Mark]:
        """Where the middle of the bottom rail meets the faces."""
        return Mark(0.0, 0.0), Mark(self.clear, self.clear * self.tangent)

    def by_leans(self) -> tuple[Ruled, Ruled]:
        """The faces as the recorded leans have them; a blank is plumb."""
        low, high = self.feet
        return leaning(low, self.run.lean_from or 0.0), leaning(high, -(self.run.lean_to or 0.0))

    def on_top(self, faces: tuple[Ruled, Ruled]) -> tuple[Mark, Mark]:
        """Where the middle of the top rail meets the faces."""
        middle = slanted(self.apart, self.tangent)
        return meet(middle, faces[0]), meet(middle, faces[1])

    @property
    def contradiction(self) -> float:
        """What the clear taped at the top has more than the leans give; 0 when it was not taped."""
        low, high = self.on_top(self.by_leans())
        return 0.0 if self.run.clear_top is None else self.run.clear_top - (high.x - low.x)

    @property
    def shares(self) -> tuple[float, float]:
        """What part of a contradiction is at From and at To: none at a new post, which is set plumb; all at the only
        support that stands; of two, all at the one without a lean, half at each where both or neither has one."""
        recorded = self.run.lean_from is not None, self.run.lean_to is not None
        there = {each.support for each in self.supports}
        old = recorded[0] or self.run.from_support in there, recorded[1] or self.run.to_support in there
        if old != (True, True):
            return float(old[0]), float(old[1])
        return {(True, False): (0.0, 1.0), (False, True): (1.0, 0.0)}.get(recorded, (0.5, 0.5))

    def faces(self) -> tuple[Ruled, Ruled]:
        """The faces through what was taped."""
        tops, shares = self.on_top(self.by_leans()), self.shares
        moved = (-self.contradiction * shares[0], self.contradiction * shares[1])
        low, high = (Mark(top.x + x, top.y + x * self.tangent) for top, x in zip(tops, moved, strict=True))
        return Ruled(self.feet[0], low), Ruled(self.feet[1], high)

    def bottom_rail(self, faces: tuple[Ruled, Ruled]) -> Strip:
        half = self.depths[0]
        return drawn(-half, half, self.tangent, faces, self.fit)

    def top_rail(self, faces: tuple[Ruled, Ruled]) -> Strip:
        half = self.depths[1]
        return drawn(self.apart - half, self.apart + half, self.tangent, faces, self.fit)


def random_assembly(draw: random.Random, mark: str) -> Assembly:
    """A railing with every size of its own."""
    return replace(
        ENDLESS,
        assembly=mark,
        top_rail_depth=draw.uniform(1.5, 5.5),
        bottom_rail_depth=draw.uniform(1.5, 5.5),
        cap_thickness=draw.choice((None, 0.75, 1.0, 1.5)),
        bracket_fit=draw.choice((0.0, 0.125, draw.uniform(0.0, 0.5))),
        post_width=draw.choice((3.5, 5.5)),
        baluster_width=draw.choice((0.75, 1.5, 1.25)),
        level_height=draw.uniform(36.0, 48.0),
        level_clearance=draw.uniform(2.0, 4.0),
    )


def random_case(draw: random.Random, number: int, **changes: Any) -> Case:
    """A level or raked run; one end or both lean, and the upper clear is blank, agrees or contradicts."""
    assembly = random_assembly(draw, f"M{number}")
    clear = draw.uniform(24.0, 96.0)
    degrees = draw.choice((0.0, draw.uniform(0.0, 45.0)))
    lean = [draw.uniform(-3.0, 3.0), draw.uniform(-3.0, 3.0)]
    leans = draw.choice(((lean[0], None), (None, lean[1]), tuple(lean), (lean[0], 0.0)))
    typed: dict[str, Any] = {
        "run": f"R{number}", "from_support": f"A{number}", "to_support": f"B{number}", "clear_top": None,
        "assembly": assembly.assembly, "lean_from": leans[0], "lean_to": leans[1],
    } | changes  # fmt: skip
    tangent = math.tan(math.radians(degrees))
    run = ramp(clear, clear * tangent, **typed) if degrees else level(clear, **typed)
    case = Case(run, assembly, tangent, clear, random_supports(draw, run))
    low, high = case.on_top(case.by_leans())
    taped = draw.choice((None, high.x - low.x, high.x - low.x + draw.uniform(-0.5, 0.5)))
    return case._replace(run=replace(run, clear_top=taped))


def random_supports(draw: random.Random, run: Run) -> tuple[Support, ...]:
    """Those of its two supports that stand already: none, one or both."""
    kinds = (Support(kind=POST, state=EXISTING), Support(kind=WALL))
    marks = draw.choice(((), (run.from_support,), (run.to_support,), (run.from_support, run.to_support)))
    return tuple(replace(draw.choice(kinds), support=mark or "", face_width=3.5) for mark in marks)


def surveyed(cases: tuple[Case, ...]) -> Site:
    """The geometry tabs of all these runs in one job."""
    job, problems = build(
        tabs(
            *(case.run for case in cases),
            assemblies=[case.assembly for case in cases],
            settings=ALLOWED,
            supports=[support for case in cases for support in case.supports],
        )
    )
    assert job is not None, problems
    choices, undivided = choose_site(job)
    assert not undivided
    return lay_out_site(job, choices)


@cache
def cases() -> tuple[Case, ...]:
    """1,000 runs in one section."""
    draw = random.Random(20261125)
    return tuple(random_case(draw, number) for number in range(1000))


@cache
def site() -> Site:
    """What the engine says of them."""
    return surveyed(cases())


def test_every_kind_of_case_was_drawn() -> None:
    """Level and raked; a lean at one end and at both; with and without the upper clear, agreeing and not."""
    kinds = {
        (case.tangent > 0, case.run.lean_from is None, case.run.lean_to is None, abs(case.contradiction) > EXACT)
        for case in cases()
    }
    shares = {case.shares for case in cases() if abs(case.contradiction) > EXACT}

    assert len(kinds) == 2 * 3 * 2
    assert shares == {(1.0, 0.0), (0.0, 1.0), (0.5, 0.5)}
    assert len(site().sections) == len(cases()) == 1000


def test_rails_are_those_of_the_drawing() -> None:
    """Both edges, tip to tip and both saw settings with their sign, of both rails."""
    for case, row in zip(cases(), site().sections, strict=True):
        top, bottom = case.top_rail(case.faces()), case.bottom_rail(case.faces())
        edges = (top.lower_edge, top.upper_edge, bottom.upper_edge, bottom.lower_edge)

        assert (row.top_edge, row.top_other, row.bottom_edge, row.bottom_other) == pytest.approx(edges, rel=EXACT)
        assert (row.top_tip, row.bottom_tip) == pytest.approx((top.tip_to_tip, bottom.tip_to_tip), rel=EXACT)
        for rail in (top, bottom):
            assert (row.lower_cut, row.upper_cut) == pytest.approx(rail.cuts, rel=EXACT, abs=EXACT)


def test_clears_where_balusters_and_cap_lie_are_those_of_the_drawing() -> None:
    """Underside of the top rail, upper side of the bottom rail, underside of the cap: level, from face to face."""
    for case, row, lean in zip(cases(), site().sections, [line.lean for line in site().lines], strict=True):
        low, high = case.faces()
        heights = (case.apart - case.depths[1], case.depths[0], case.apart + case.depths[1], case.apart)
        edges = [slanted(height, case.tangent) for height in heights]
        clears = [meet(edge, high).x - meet(edge, low).x for edge in edges]

        assert (row.top_meets, row.bottom_meets, lean.cap_clear, row.clear_top) == pytest.approx(clears, rel=EXACT)


def test_rails_are_those_of_the_closed_formulas() -> None:
    """Edges y = m + x t from the foot of the lower support, a_l and a_u the leans away from the run: x_l = -m tan
    a_l / (1 + t tan a_l) and x_u = (C0 + (m - H) tan a_u) / (1 - t tan a_u), C0 the clear at the upper foot and H
    its height over the lower foot; length = (x_u - x_l - both fits) / cosine (derived from similar triangles)."""
    agreeing = [(c, row) for c, row in zip(cases(), site().sections, strict=True) if abs(c.contradiction) < EXACT]
    for case, row in agreeing:
        t, (half_bottom, half_top) = case.tangent, case.depths
        lower, upper = (math.tan(math.radians(each or 0.0)) for each in (case.run.lean_from, case.run.lean_to))
        below = 4.0 + half_bottom  # the feet, plumb below the middle of the bottom rail at either face
        clear = case.clear - below * (lower + upper)  # between the feet
        rise = case.clear * t
        middle = below + below * lower * t  # height of the bottom rail's middle over the lower foot, at x = 0

        def edge(m: float, case: Case = case, t: float = t, lower: float = lower, upper: float = upper,
                 clear: float = clear, rise: float = rise) -> float:  # fmt: skip
            x_l = -m * lower / (1 + t * lower)
            x_u = (clear + (m - rise) * upper) / (1 - t * upper)
            return (x_u - x_l - 2 * case.fit) / math.cos(math.atan(t))

        places = (case.apart - half_top, case.apart + half_top, half_bottom, -half_bottom)
        expected = [edge(middle + place) for place in places]
        assert (row.top_edge, row.top_other, row.bottom_edge, row.bottom_other) == pytest.approx(expected, rel=EXACT)
    assert len(agreeing) > 500


def test_contradiction_between_leans_and_clears_is_told_in_full() -> None:
    for case, row in zip(cases(), [line.lean for line in site().lines], strict=True):
        if case.run.clear_top is None:
            assert row.top_differs is None
        else:
            assert row.top_differs == pytest.approx(abs(case.contradiction), abs=EXACT)


def test_clears_that_agree_change_nothing() -> None:
    """The upper clear, taped as the leans have it, gives the same rails as leaving it blank."""
    some = [case for case in cases() if case.run.clear_top is None][:100]
    taped = []
    for case in some:
        low, high = case.on_top(case.by_leans())
        taped.append(case._replace(run=replace(case.run, clear_top=high.x - low.x)))
    columns = (
        "top_edge",
        "top_other",
        "bottom_edge",
        "bottom_other",
        "top_tip",
        "bottom_tip",
        "lower_cut",
        "upper_cut",
    )
    blank, told = surveyed(tuple(some)).sections, surveyed(tuple(taped)).sections

    for one, two in zip(blank, told, strict=True):
        assert [getattr(two, name) for name in columns] == pytest.approx([getattr(one, name) for name in columns])


@pytest.mark.parametrize("end", ["from", "to"])
def test_one_recorded_lean_takes_the_whole_difference(end: str) -> None:
    """Level, wood: 36-1/2 less 3 in clearance, 1 in cap and half of each 3-1/2 in rail leaves 29 in from middle to
    middle. 60 in below and 60-1/2 above: whatever lean was read, its support leans atan(0.5 / 29), the other, which is
    new, none."""
    run = level(60.0, clear_top=60.5, **{f"lean_{end}": 0.4})
    row = surveyed((Case(run, replace(ENDLESS, assembly="WOOD"), 0.0, 60.0),)).lines[0].lean
    taken = math.degrees(math.atan(0.5 / 29.0))

    assert row.lines_apart == pytest.approx(29.0)
    assert (row.from_lean, row.to_lean) == pytest.approx((taken, 0.0) if end == "from" else (0.0, taken))


def test_difference_without_a_lean_is_shared_by_two_old_posts_and_cut_plumb() -> None:
    """60 in below and 60-1/2 above: top rail 1/2 in longer, both saw settings those of plumb cuts, 3-4-5."""
    both = tuple(Support(support=mark, kind=WALL) for mark in ("P1", "P2"))
    for run, plumb in ((level(60.0, clear_top=60.5), 0.0), (ramp(60.0, 45.0, clear_top=60.5), 36.8698976)):
        sites = surveyed((Case(run, replace(ENDLESS, assembly="WOOD"), 0.0, 60.0, both),))
        row = sites.sections[0]

        assert (row.lower_cut, row.upper_cut) == pytest.approx((plumb, plumb), abs=1e-6)
        assert row.top_edge - row.bottom_edge == pytest.approx(0.5 / math.cos(math.radians(plumb)))
        assert (row.lower_more, row.upper_more) == (0.25, 0.25)


@pytest.mark.parametrize(("leans", "ends"), [((2.0, 2.0), OPPOSED), ((2.0, -2.0), PARALLEL), ((2.0, None), ONE_END)])
def test_level_rails_say_how_their_ends_lean(leans: tuple[float, float | None], ends: str) -> None:
    """Away from each other a rail is a trapezoid, both the same way a parallelogram."""
    worked = work(level(60.0, clear_top=None, lean_from=leans[0], lean_to=leans[1]), assemblies=(ENDLESS,))

    for part in ("Both rails",) if ends == PARALLEL else ("Top rail", "Bottom rail"):
        piece = worked.row("cut_list", part=part)
        assert (piece.ends, piece.lower_cut) == (ends, pytest.approx(-2.0))
        assert (piece.other_edge is None) == (ends == PARALLEL)


def test_lists_of_leaning_rails_hold_what_was_drawn() -> None:
    """The cut list names the edge that meets the balusters, and the edge opposite."""
    for case in cases()[:60]:
        worked = work(case.run, assemblies=(case.assembly,), settings=ALLOWED)
        top, bottom = case.top_rail(case.faces()), case.bottom_rail(case.faces())
        pairs = (("Top rail", top.lower_edge, top.upper_edge), ("Bottom rail", bottom.upper_edge, bottom.lower_edge))
        for part, meets, other in pairs:
            piece = worked.row("cut_list", part=part)
            assert (piece.length, piece.other_edge) == pytest.approx((meets, other), abs=1 / 32 + 1e-6)


def test_leaning_runs_are_divided_within_the_limits() -> None:
    """No rail is longer than the greatest rail tip to tip, no section longer than the greatest spacing, however the
    end supports lean."""
    draw = random.Random(3)
    found = []
    for number in range(200):
        case, more = random_case(draw, number), draw.uniform(1.0, 3.0)
        limits = {"greatest_rail": draw.uniform(50.0, 90.0), "greatest_spacing": draw.uniform(50.0, 100.0)}
        clear, rise = case.clear * more, case.run.rise and case.run.rise * more
        run = replace(case.run, clear_bottom=clear, clear_top=None, rise=rise)
        found.append(Case(run, replace(case.assembly, **limits), case.tangent, clear))  # type: ignore[arg-type]
    rows = surveyed(tuple(found)).sections
    limits_of = {case.run.run: case.assembly for case in found}
    for row in rows:
        assert row.longest_tip <= (limits_of[row.run].greatest_rail or 0.0) + EXACT
        assert row.spacing <= (limits_of[row.run].greatest_spacing or 0.0) + EXACT
    assert len(rows) > 300


def section_faces(case: Case, lowers: list[float], uppers: list[float]) -> Iterator[tuple[Ruled, Ruled]]:
    """Faces of every section of a divided run: plumb but for the two of the run itself."""
    low, high = case.faces()
    lines = [leaning(Mark(x, x * case.tangent), 0.0) for x in lowers]
    ends = [leaning(Mark(x, x * case.tangent), 0.0) for x in uppers]
    return zip([low, *lines], [*ends, high], strict=True)


def check_sections(case: Case, rows: list[Any], lowers: list[float], uppers: list[float]) -> None:
    """Every section of a divided run against its drawing."""
    assert [row.lower_face for row in rows] == pytest.approx([0.0, *lowers], rel=EXACT)
    assert [row.lower_face + row.clear for row in rows] == pytest.approx([*uppers, case.clear], rel=EXACT)
    for row, faces in zip(rows, section_faces(case, lowers, uppers), strict=True):
        top, bottom = case.top_rail(faces), case.bottom_rail(faces)
        edges = (top.lower_edge, top.upper_edge, bottom.upper_edge, bottom.lower_edge)
        assert (row.top_edge, row.top_other, row.bottom_edge, row.bottom_other) == pytest.approx(edges, rel=EXACT)
        assert (row.top_tip, row.bottom_tip) == pytest.approx((top.tip_to_tip, bottom.tip_to_tip), rel=EXACT)
        assert (row.lower_cut, row.upper_cut) == pytest.approx(top.cuts, rel=EXACT, abs=EXACT)


def test_only_the_end_sections_of_a_divided_run_lean() -> None:
    """Line posts stand plumb and divide the clear at the bottom evenly."""
    draw = random.Random(7)
    divided = []
    for number in range(150):
        case = random_case(draw, number, sections=draw.randint(2, 4))
        run = replace(case.run, clear_bottom=case.clear * 3, clear_top=None)
        divided.append(case._replace(clear=case.clear * 3, run=replace(run, rise=run.rise and run.rise * 3)))
    rows = surveyed(tuple(divided)).sections
    for case in divided:
        of, post = case.run.sections or 0, case.assembly.post_width or 0.0
        each = (case.clear - (of - 1) * post) / of
        uppers = [number * each + (number - 1) * post for number in range(1, of)]
        mine = [row for row in rows if row.run == case.run.run]
        check_sections(case, mine, [x + post for x in uppers], uppers)


@pytest.mark.parametrize("leans", [(1.5, None), (None, -2.0), (-1.0, 2.5)])
def test_only_the_end_sections_of_a_divided_flight_lean(leans: tuple[float | None, float | None]) -> None:
    """Twelve risers of 7-1/2 on 10 in, first nosing 3 in from the post; line posts 3-1/2 in wide stand 3 in behind
    their nosings, plumb. The guard of 36 in over 1/2 in clearance, 3-4-5."""
    wood = replace(WOOD, level_height=36.0, level_clearance=0.5)  # the pen reads these two; stairs have the same
    clear = 3.0 + 11 * 10.0 + 2.5
    run = stair(clear, clear * 0.75, upper_setback=2.5, clear_top=None, lean_from=leans[0], lean_to=leans[1])
    worked = work(run, assemblies=(wood,), flights=(flight(7.5, 10.0, risers=12),), settings=ALLOWED)
    treads = worked.only("lines").division.treads
    uppers = [3.0 + tread * 10.0 + 3.0 for tread in treads]

    assert treads
    check_sections(Case(run, wood, 0.75, clear), list(worked.sections), [x + 3.5 for x in uppers], uppers)


class Beside(NamedTuple):
    """The balusters of one section, and its two faces between the edges that they meet, as drawn."""

    rows: list[Any]
    low: tuple[Mark, Mark]
    high: tuple[Mark, Mark]
    secant: float

    @property
    def centres(self) -> list[tuple[float, float]]:
        """x of the first and the last baluster by each row, as exactly as it was laid out."""
        found = []
        for row in self.rows:
            corner = self.low[row.rail == "Top"].x + row.section.line.guard.fit
            first = corner + row.first / self.secant
            found.append((first, first + (row.count - 1) * row.pitch / self.secant))
        return found

    def searched(self) -> tuple[float, float]:
        """Widest level distance from each face to the side of the baluster beside it, over 2,000 heights."""
        (first, last), half = self.centres[0], self.rows[0].width / 2
        lower = [first - half - x for x in steps(self.low[0].x, self.low[1].x)]
        upper = [x - last - half for x in steps(self.high[0].x, self.high[1].x)]
        return max(lower), max(upper)


def steps(low: float, high: float) -> Iterator[float]:
    """A face at 2,000 heights."""
    return (low + (high - low) * number / 1999 for number in range(2000))


def beside(case: Case, worked: Worked) -> Beside:
    """Both faces between the upper side of the bottom rail and the underside of the top rail; without a recorded
    lean what the two clears differ by is at the supports that stand, as measured along the middles of the rails."""
    edges = [slanted(at, case.tangent) for at in (case.depths[0], case.apart - case.depths[1])]
    if case.run.lean_from is None and case.run.lean_to is None:
        more = [share * ((case.run.clear_top or case.clear) - case.clear) for share in case.shares]
        low = Mark(0.0, 0.0), Mark(-more[0], 0.0)
        high = Mark(case.clear, 0.0), Mark(case.clear + more[1], 0.0)
    else:
        faces = case.faces()
        low, high = ((meet(edges[0], face), meet(edges[1], face)) for face in faces)
    return Beside(list(worked.rows["baluster_layout"]), low, high, case.plumb)


@cache
def beside_faces() -> tuple[Beside, ...]:
    """300 sections with their balusters: two of three by leans, the others by two clears alone."""
    draw = random.Random(11)
    found = []
    for number in range(300):
        case = random_case(draw, number)
        if number % 3 == 0:
            run = replace(case.run, lean_from=None, lean_to=None, clear_top=case.clear + draw.uniform(-0.75, 0.75))
            case = case._replace(run=run)
        worked = work(case.run, assemblies=(case.assembly,), settings=ALLOWED, supports=case.supports)
        found.append(beside(case, worked))
    return tuple(found)


def test_balusters_stand_plumb() -> None:
    """The same baluster is at the same x by the marks of either rail: exactly as laid out, within a tape step as
    marked."""
    two_rows = [each for each in beside_faces() if len(each.rows) == 2]
    for each in two_rows:
        assert each.centres[0] == pytest.approx(each.centres[1], abs=EXACT)
        places = []
        for row in each.rows:
            corner = each.low[row.rail == "Top"].x + row.section.line.guard.fit
            places.append([corner + mark / each.secant for mark in row.marks if mark is not None])
        apart = [abs(one - two) for one, two in zip(*places, strict=True)]
        assert max(apart, default=0.0) <= ALLOWED.tape_step + EXACT
    assert len(two_rows) > 250


@pytest.mark.parametrize("differ", [0.125, 0.25, -0.5])
@pytest.mark.parametrize("sections", [2, 3, 4])
def test_balusters_of_every_section_of_a_run_stand_plumb(sections: int, differ: float) -> None:
    """Half of what two clears between walls differ by is at the outer end of the first section, half at that of the
    last; posts between are plumb. So the marks of the first serve no other section, though its rails may be as long."""
    run = level(200.0, clear_top=200.0 + differ, sections=sections)
    both = [Support(support=mark, kind=WALL) for mark in ("P1", "P2")]
    worked = work(run, assemblies=(ENDLESS,), settings=ALLOWED, supports=both)
    more = {"A.1": differ / 2}  # how much further out the lower face is at the top
    for section in (f"A.{number}" for number in range(1, sections + 1)):
        layouts = [row for row in worked.rows["baluster_layout"] if section in row.used_in.split(", ")]
        corners = [ALLOWED.fit_allowance - (more.get(section, 0.0) if row.rail == "Top" else 0.0) for row in layouts]
        top, bottom = (
            [corner + mark for mark in row.marks if mark is not None]
            for corner, row in zip((corners * 2)[:2], (layouts * 2)[:2], strict=True)
        )
        assert top == pytest.approx(bottom, abs=ALLOWED.tape_step)
        assert len(top) >= 8


def test_widest_gap_beside_a_leaning_support_is_found() -> None:
    """The widest that a search over the height finds is the widest end gap of the two rows; as marked it is within
    a tape step of that, or of the gap between two balusters."""
    for each in beside_faces():
        ends = [gap for row in each.rows for gap in (row.end_gap, row.upper_end_gap)]
        found = max(each.searched())
        between = each.rows[0].gap if each.rows[0].count > 1 else 0.0

        assert max(ends) == pytest.approx(found, abs=1e-6)
        assert abs(max(row.worst_gap for row in each.rows) - max(found, between)) <= ALLOWED.tape_step + EXACT


def test_all_gaps_are_alike_where_they_are_widest() -> None:
    """Where the two ends lean differently neither is the worse one, nor is a gap between two balusters."""
    for each in beside_faces():
        lower, upper = each.searched()
        assert lower == pytest.approx(upper, abs=1e-6)
        assert lower == pytest.approx(each.rows[0].gap, abs=1e-6)


def test_layout_as_marked_stops_the_sphere_or_asks() -> None:
    """Nothing that lets the sphere through passes in silence."""
    for each in beside_faces():
        for row in each.rows:
            assert row.worst_gap < row.line.guard.sphere or row.status


def test_balusters_beside_a_post_that_leans_worked_by_hand() -> None:
    """Level, 60 in below, the To support leans 2 degrees away, 2x4 rails: the edges that the balusters meet are
    36.5 - 3 - 1 - 7 = 25-1/2 in apart, and the middle of a rail lies 1-3/4 in from them. Clears there 60 + 1.75 k and
    60 + 27.25 k, k = tan 2; eleven 1-1/2 in balusters leave twelve gaps of (60.9516 - 16.5) / 12 = 3.7043 at the top,
    and at the bottom the last is 25.5 k = 0.8905 less."""
    k = math.tan(math.radians(2.0))
    worked = work(level(60.0, clear_top=None, lean_to=2.0), assemblies=(ENDLESS,))
    top, bottom = worked.rows["baluster_layout"]

    assert (top.rail, bottom.rail, top.count, bottom.count) == ("Top", "Bottom", 11, 11)
    assert (top.clear, bottom.clear) == pytest.approx((60 + 27.25 * k, 60 + 1.75 * k))
    gap = (60 + 27.25 * k - 16.5) / 12
    assert (top.end_gap, top.upper_end_gap, bottom.end_gap) == pytest.approx((gap, gap, gap))
    assert bottom.upper_end_gap == pytest.approx(gap - 25.5 * k)
