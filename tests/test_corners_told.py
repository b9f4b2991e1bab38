"""Supports that runs share: turns, and caps that do not close with each other, are told with both heights.

Numbers were worked in coordinates on a drawing of two flights of 7 3/4 in 10 in (slope 0.775, cosine 0.7904), posts of
4 1/4 in, caps of 5 1/2 x 1 in, guards of 36 1/2 in, setbacks of 1 1/4 in: over the face and the middle of the post the
underside of the cap stands at 36.204 and 37.850 at an upper end, at 42.016 and 40.369 at a lower end, at 35.5 on the
level.
"""

from dataclasses import replace
from typing import Any

import pytest

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.corners import corner_problems
from railbook.geometry.arrivals import Arrival
from railbook.geometry.joints import DIES, FLUSH, MITRE, OPEN_END
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.survey import Site, lay_out_site
from railbook.job.flights import Flight
from railbook.job.runs import MEETS, Run
from railbook.job.supports import KEEP, POST, RAISE, STAND_PROUD, WALL, Support
from tests.small_jobs import COMPOSITE, flight, level, stair, work

RAIL = replace(COMPOSITE, sleeve_width=4.25, level_height=36.5, stair_height=36.5, greatest_rake=45.0)
STEPS = flight(7.75, 10.0, risers=4)
RISE, CLEAR = 0.775, 1.25 + 30.0 + 1.25


def up(run: str, low: str, high: str, direction: float | None = 0.0, **changes: Any) -> Run:
    """A flight of four risers."""
    clear = changes.get("lower_setback", 1.25) + 30.0 + changes.get("upper_setback", 1.25)
    wanted = {"lower_setback": 1.25, "upper_setback": 1.25} | changes
    typed = {"run": run, "from_support": low, "to_support": high, "direction": direction, "assembly": RAIL.assembly}
    return stair(clear, clear * RISE, **typed, **wanted)


def along(run: str, left: str, right: str, direction: float | None = 0.0, **changes: Any) -> Run:
    """A level run."""
    typed = {"run": run, "from_support": left, "to_support": right, "direction": direction}
    return level(60.0, **{"assembly": RAIL.assembly, **typed, **changes})


def site(*runs: Run, flights: tuple[Flight, ...] = (STEPS,), **more: Any) -> Site:
    """The geometry of these runs."""
    worked = work(*runs, flights=flights, **{"assemblies": (RAIL,), **more})
    return lay_out_site(worked.job, worked.choices.site)


def told(*runs: Run, **more: Any) -> list[Problem]:
    """What is told of their supports, but for a missing direction."""
    return [each for each in corner_problems(site(*runs, **more)) if "without a direction" not in each.what]


@pytest.mark.parametrize(("end", "face", "middle"), [(TO, 36.204, 37.850), (FROM, 42.016, 40.369)])
def test_undersides_of_a_flights_cap(end: str, face: float, middle: float) -> None:
    (line,) = site(up("S", "P1", "P2")).lines
    arm = Arrival(line, end).arm

    assert arm.face == pytest.approx(face, abs=0.0006)
    assert arm.under == pytest.approx(middle, abs=0.0006)


APART = {  # at P2; what differs, as the tape says it, and how many caps are told
    "a flight's own height under a level guard in line": (
        (up("S", "P1", "P2"), along("A", "P2", "P3")), "run S 37 7/8\"", "run A 35 1/2\"", '2 3/8"'),  # 37.850, 35.5
    "round a corner": ((up("S", "P1", "P2"), along("A", "P2", "P3", 90.0)), None, None, '1/2"'),  # 36.5 - 36.016
    "a level guard at the foot": (
        (along("A", "P1", "P2"), up("S", "P2", "P3")), "run A 35 1/2\"", "run S 40 3/8\"", '4 7/8"'),  # 40.369
    "two flights at one landing post": (  # one riser less three setbacks and faces of slope
        (up("S", "P1", "P2"), up("T", "P2", "P3", flight="F2")), "run S 37 7/8\"", "run T 40 3/8\"", '2 1/2"'),
}  # fmt: skip


def feet(text: str | None) -> str:
    """A height over a foot as the tape says it."""
    inches = int((text or "0").split()[2]) if text else 0
    return "" if text is None else text.replace(f" {inches} ", f" {inches // 12}' {inches % 12} ")


@pytest.mark.parametrize("what", APART)
def test_caps_that_do_not_meet_are_told_with_both_heights(what: str) -> None:
    runs, one, other, apart = APART[what]
    (problem,) = told(*runs, flights=(STEPS, replace(STEPS, flight="F2")))

    assert problem.severity == LOOK
    assert problem.where == "support P2"
    assert feet(one) in problem.what
    assert feet(other) in problem.what
    assert f"{apart} apart" in problem.what


def test_guards_of_two_heights_are_told() -> None:
    """Undersides of 41 and 35 1/2: the lower cap ends at the post's face, and both heights are said."""
    tall = replace(RAIL, assembly="TALL", level_height=42.0)
    for turned in (0.0, 90.0):
        (problem,) = told(along("A", "P1", "P2"), along("B", "P2", "P3", turned, assembly="TALL"),
                          assemblies=(RAIL, tall))  # fmt: skip
        assert "the cap of run A ends at the face of the post, under that of run B" in problem.what
        assert '5 1/2" apart' in problem.what
        assert "Raise the lower" in problem.remedy


@pytest.mark.parametrize(("heights", "severity"), [(None, LOOK), (KEEP, NOTE)])
def test_who_keeps_both_heights_is_told_less_loudly(heights: str | None, severity: str) -> None:
    tall = replace(RAIL, assembly="TALL", level_height=42.0)
    (problem,) = told(along("A", "P1", "P2"), along("B", "P2", "P3", assembly="TALL"), assemblies=(RAIL, tall),
                      supports=(Support(support="P2", kind=POST, heights=heights),))  # fmt: skip

    assert problem.severity == severity


MEETING = {
    "level guards round a corner": (along("A", "P1", "P2"), along("B", "P2", "P3", 90.0)),
    "level guards in line": (along("A", "P1", "P2"), along("B", "P2", "P3")),
    "a flight that meets the level guard in line": (up("S", "P1", "P2", height=MEETS), along("A", "P2", "P3")),
    "round a corner": (up("S", "P1", "P2", height=MEETS), along("A", "P2", "P3", 270.0)),
    "a bearing half a degree off": (up("S", "P1", "P2", 0.5, height=MEETS), along("A", "P2", "P3")),
    "flights one tread apart": (  # 2 7/8 + 4 1/4 + 2 7/8 = 10
        up("S", "P1", "P2", upper_setback=2.875), up("T", "P2", "P3", flight="F2", lower_setback=2.875)),
}  # fmt: skip


@pytest.mark.parametrize("what", MEETING)
def test_caps_that_meet_say_nothing(what: str) -> None:
    assert told(*MEETING[what], flights=(STEPS, replace(STEPS, flight="F2"))) == []


def test_the_height_that_the_remedy_names_passes() -> None:
    apart = up("S", "P1", "P2"), along("A", "P2", "P3")
    (problem,) = told(*apart)

    assert "Height: Meets level guard for run S" in problem.remedy
    assert told(replace(apart[0], height=MEETS), apart[1]) == []


def test_meeting_a_level_guard_of_another_assembly_is_not_named_as_the_cure() -> None:
    tall = replace(RAIL, assembly="TALL", level_height=42.0)
    (problem,) = told(up("S", "P1", "P2"), along("A", "P2", "P3", assembly="TALL"), assemblies=(RAIL, tall))

    assert "Height: Meets" not in problem.remedy


@pytest.mark.parametrize("direction", [45.0, 330.0, 22.5, 120.0])
def test_level_guards_round_any_corner_are_mitred_and_say_nothing(direction: float) -> None:
    """How askew they come to the post is told elsewhere."""
    corner = along("A", "P1", "P2"), along("B", "P2", "P3", direction)

    assert told(*corner) == []
    assert {end.kind for end in site(*corner).cap_ends if end.arrival.support == "P2"} == {MITRE}


def test_runs_that_leave_a_post_on_one_side_are_told() -> None:
    """A switchback on one post: up in one direction, on up in the other."""
    (problem,) = told(up("S", "P1", "P2"), up("T", "P2", "P3", 180.0, flight="F2"),
                      flights=(STEPS, replace(STEPS, flight="F2")))  # fmt: skip

    assert "on one side" in problem.what
    assert "two posts" in problem.remedy


def test_a_switchback_with_two_newels_is_laid_out() -> None:
    """Up to one post, across a short level guard to the other, and up the other way: flush with its edge at the first,
    under the taller foot post's cap at the second."""
    way = (
        up("S", "P1", "P2", height=MEETS), along("L", "P2", "P3", 90.0), up("T", "P3", "P4", 180.0, flight="F2"),
    )  # fmt: skip
    flights = STEPS, replace(STEPS, flight="F2")
    kinds = {(end.arrival.run, end.arrival.end): end.kind for end in site(*way, flights=flights).cap_ends}
    (heights,) = told(*way, flights=flights)

    assert (kinds["S", TO], kinds["L", FROM], kinds["L", TO]) == (FLUSH, OPEN_END, DIES)
    assert "the cap of run L ends at the face of the post, under that of run T" in heights.what
    assert all(cap.is_laid_out for cap in site(*way, flights=flights).caps)


def test_two_rakes_round_a_corner_clash_even_at_one_height() -> None:
    """Two slopes close on no mitre. Neither is laid out; proud, both end at the post."""
    meeting = up("S", "P1", "P2", upper_setback=2.875), up("T", "P2", "P3", 90.0, flight="F2", lower_setback=2.875)
    both = STEPS, replace(STEPS, flight="F2")
    (problem,) = told(*meeting, flights=both)
    proud = Support(support="P2", kind=POST, heights=STAND_PROUD, proud=2.0)

    assert problem.what.startswith("caps clash")
    assert "neither cap is laid out" in problem.remedy
    assert "Post proud" in problem.remedy
    (weather,) = told(*meeting, flights=both, supports=(proud,))
    assert (weather.severity, "end grain" in weather.what) == (NOTE, True)


def test_at_a_wall_and_where_posts_stand_proud_no_caps_meet() -> None:
    runs = up("S", "P1", "P2"), along("A", "P2", "P3")
    wall, proud = Support(support="P2", kind=WALL), replace(RAIL, post_proud=2.0)

    assert told(*runs, supports=(wall,)) == []
    assert told(*runs, assemblies=(proud,)) == []
    assert told(*runs, supports=(replace(wall, kind=POST),)) != []


def test_both_ends_at_one_wall_say_nothing() -> None:
    """A deck between two wings of a house: both guards end at it."""
    assert told(along("A", "W", "P2", 180.0), along("B", "P2", "P3", 90.0), along("C", "W", "P3", 180.0),
                supports=(Support(support="W", kind=WALL),)) == []  # fmt: skip


def test_a_flight_made_flush_with_one_level_guard_is_not_held_against_the_other() -> None:
    """Two level guards make a corner; the flight arrives square to the one and straight on with the other."""
    corner = along("A", "P0", "P2", 0.0), along("B", "P2", "P3", 90.0)
    arriving = up("S", "P1", "P2", 90.0, height=MEETS)

    assert not [each for each in told(*corner, arriving) if "apart" in each.what and "run B" in each.what]


def test_one_post_proud_and_one_capped_is_told() -> None:
    """The post stands proud as run B has it, and the cap of run A ends there."""
    proud = replace(RAIL, assembly="PROUD", post_proud=2.0)
    (problem,) = told(along("A", "P1", "P2"), along("B", "P2", "P3", assembly="PROUD"), assemblies=(RAIL, proud))

    assert "the cap of run A ends at the post, which stands proud" in problem.what


@pytest.mark.parametrize(("turned", "cap", "number"), [(90.0, 5.5, 1), (90.0, 4.25, 0), (0.0, 5.5, 0), (45.0, 5.5, 0)])
def test_caps_wider_than_a_proud_post_lap_beside_it_round_a_corner(turned: float, cap: float, number: int) -> None:
    """A 5 1/2 in cap stands 5/8 in past both sides of a 4 1/4 in post; round 45 degrees the two are still clear:
    its corner lies 2.125 cos 135 + 2.75 sin 135 = 0.44 from the middle along the other, which begins at 2.125."""
    proud = replace(RAIL, post_proud=2.0, cap_width=cap)
    problems = told(along("A", "P1", "P2"), along("B", "P2", "P3", turned), assemblies=(proud,))

    assert len([each for each in problems if "lap beside the post" in each.what]) == number


def test_a_post_of_two_widths_is_told() -> None:
    wide = replace(RAIL, assembly="WIDE", sleeve_width=5.5)
    (problem,) = told(along("A", "P1", "P2"), along("B", "P2", "P3", assembly="WIDE"), assemblies=(RAIL, wide))

    assert '4 1/4" by run A and 5 1/2" by run B' in problem.what
    typed = (Support(support="P2", kind=POST, face_width=5.5),)
    assert told(along("A", "P1", "P2"), along("B", "P2", "P3", assembly="WIDE"), assemblies=(RAIL, wide),
                supports=typed) == []  # fmt: skip


def test_a_guard_that_was_raised_is_told_with_both_heights() -> None:
    tall = replace(RAIL, assembly="TALL", level_height=42.0)
    raised = (Support(support="P2", kind=POST, heights=RAISE),)
    (problem,) = told(along("A", "P1", "P2"), along("B", "P2", "P3", assembly="TALL"), assemblies=(RAIL, tall),
                      supports=raised)  # fmt: skip

    assert problem.severity == NOTE
    assert 'run A is 42" high instead of 36 1/2"' in problem.what


def test_a_clash_of_three_runs_is_told_and_leaves_the_post_long() -> None:
    """Two guards of 39 in line, and a flight that leaves square to them: its cap, 40.369 over the middle, falls 2.131
    to the edge of theirs, which stand at 39. Its rails need a post of 42.016."""
    tall = replace(RAIL, assembly="TALL", level_height=39.0)
    level_guards = along("A", "P1", "P2", assembly="TALL"), along("B", "P2", "P3", assembly="TALL")
    runs = (*level_guards, up("S", "P2", "P4", 90.0))
    problems = [each for each in told(*runs, assemblies=(RAIL, tall)) if "three runs meet" in each.what]
    worked = work(*runs, assemblies=(RAIL, tall), flights=(STEPS,))

    assert ["the caps of S are not laid out" in each.remedy for each in problems] == [True]
    assert worked.row("posts", post="P2").sleeve_length == pytest.approx(42.016, abs=1 / 32)


def test_caps_of_two_widths_are_mitred_each_in_its_own_way() -> None:
    """5 1/2 against 7 1/4 round a square corner: 52.8 and 37.2 degrees close, not 45 and 45 (7.25 / 5.5 = tan 52.8)."""
    wide = replace(RAIL, assembly="WIDE", cap_width=7.25)
    square = site(along("A", "P1", "P2"), along("B", "P2", "P3", 90.0, assembly="WIDE"), assemblies=(RAIL, wide))

    narrow, broad = square.caps

    assert narrow.to_cut == pytest.approx(52.815, abs=0.001)
    assert broad.from_cut == pytest.approx(-37.185, abs=0.001)
    assert list(corner_problems(square)) == []


def test_where_meeting_is_too_low_the_setback_that_passes_is_named() -> None:
    """The guard of 36 1/2 at a setback of 4: 36.5 + 0.265 - (4 + 2.125) x 0.775 = 32.02, 1.98 short of 34; 2.56 in
    nearer, at 1 7/16 on the tape, it has 34."""
    far = up("S", "P1", "P2", upper_setback=4.0), along("A", "P2", "P3")
    (problem,) = told(*far)
    assert 'upper setback of at most 1 7/16" and choose Height: Meets' in problem.remedy

    near = up("S", "P1", "P2", upper_setback=1.4375, height=MEETS)
    assert told(near, far[1]) == []
    assert site(near, far[1]).guards[0].guard_height == pytest.approx(34.0, abs=0.02)
