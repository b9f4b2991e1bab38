"""Small jobs for faults that the witness once found at shared posts: each is the least that shows its fault again."""

from collections.abc import Sequence
from dataclasses import replace

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, POST, Support
from tests.drawn.checks import findings, reading_of
from tests.drawn.finding import Finding
from tests.drawn.known import is_told_notch, wrong
from tests.drawn.reading import CAP, Reading
from tests.drawn.sites import Site
from tests.drawn.told import names
from tests.small_jobs import PLAIN, WOOD, flight, level, ramp, stair

STEPS = (flight(7.5, 10.0),)  # 3 in 4
HIGH = replace(WOOD, assembly="HIGH", level_height=42.0)
LOW = replace(WOOD, assembly="LOW", level_height=36.0)
SLEEVED = replace(WOOD, sleeve_width=4.5, post_below_sleeve=0.125)
FIRST = level(60.0, run="A", direction=0.0)
ON = level(60.0, run="B", from_support="P2", to_support="P3", direction=0.0)
ROUND = replace(ON, direction=90.0)
THIRD = level(60.0, run="C", from_support="P2", to_support="P4", direction=270.0)
UP = stair(66.0, 49.5, upper_setback=3.0, direction=0.0)
LEAVING = replace(UP, from_support="P2", to_support="P3")


def job(*runs: Run, assemblies: Sequence[Assembly] = (WOOD,), flights: Sequence[Flight] = STEPS) -> Reading:
    """The result of these runs."""
    return reading_of(Site(runs, tuple(flights), (), tuple(assemblies), PLAIN))


def found(*runs: Run, assemblies: Sequence[Assembly] = (WOOD,)) -> list[Finding]:
    """What is wrong with it."""
    return findings(job(*runs, assemblies=assemblies))


def test_a_third_cap_that_cannot_end_is_told() -> None:
    """A guard of 42 beside two of 36 1/2 that go straight on: no cap of C, and Warnings says nothing of it."""
    assert found(FIRST, ON, replace(THIRD, assembly="HIGH"), assemblies=(WOOD, HIGH)) == []


def test_a_sleeve_reaches_its_ridge() -> None:
    """Two flights of 3 in 4 from below meet over a sleeve of 4 1/2: its ridge is 1 11/16 higher than its faces."""
    back = replace(UP, run="T", from_support="P3", direction=180.0)

    assert found(UP, back, assemblies=(SLEEVED,)) == []


def test_a_standing_post_is_not_sawn_off_below_its_ridge() -> None:
    """The same over a post of 3 1/2, 48 high: 11 are sawn off, and 37 stand, where the ridge is 38 5/16 high."""
    back = replace(UP, run="T", from_support="P3", direction=180.0)
    old = Support(support="P2", kind=POST, state=EXISTING, standing_height=48.0)

    assert findings(reading_of(Site((UP, back), STEPS, (old,), (WOOD,), PLAIN))) == []


def test_a_post_in_a_valley_stays_inside_its_sleeve() -> None:
    """A ramp of 1 in 8 goes over into a flight: where the ramp's cap meets the post it is lower than at the joint."""
    low = ramp(96.0, 12.0, lower_setback=3.0, direction=0.0)
    over = replace(LEAVING, lower_setback=7.0, clear_bottom=70.0, clear_top=70.0, rise=52.5)

    assert found(low, over, assemblies=(SLEEVED,)) == []


def test_a_post_that_two_caps_end_at_stands_proud_of_both() -> None:
    """Both caps end at its faces, but it is 41 high, an inch lower than the cap of A, and nothing lies over it."""
    proud = replace(WOOD, assembly="PROUD", post_proud=1.0)

    assert found(replace(FIRST, assembly="HIGH"), replace(ON, assembly="PROUD"), assemblies=(HIGH, proud)) == []


def test_a_third_cap_ends_at_the_edge_of_the_wider() -> None:
    """Caps of 4 and 5 1/2 in line: the third reaches 3/4 into the wider one."""
    narrow = replace(WOOD, assembly="NARROW", cap_width=4.0)

    assert found(replace(FIRST, assembly="NARROW"), ON, THIRD, assemblies=(WOOD, narrow)) == []


def test_two_caps_under_a_third_do_not_lap() -> None:
    """Caps of 5 1/2 stand 1 past both sides of a post of 3 1/2, at 36 1/2 and at 36: told, to be nipped."""
    third = replace(THIRD, assembly="HIGH")
    lapping = job(FIRST, replace(ROUND, assembly="LOW"), third, assemblies=(WOOD, LOW, HIGH))

    assert wrong(lapping) == []
    assert names(lapping, "P2", "lap beside the post")


def test_a_cap_that_is_cut_off_leaves_the_face_free() -> None:
    """3 in 4, 1 thick: cut square, its upper edge is 3/5 past its lower one."""
    assert found(FIRST, LEAVING, assemblies=(replace(WOOD, level_height=38.0),)) == []


def test_a_notch_at_a_foot_is_told() -> None:
    """The flight leaves round a corner with its cap an inch higher than the level one, so its rail is level with it."""
    reading = job(FIRST, replace(LEAVING, direction=90.0), assemblies=(replace(WOOD, level_height=41.0),))

    assert [each for each in findings(reading) if not is_told_notch(each, reading)] == []


def test_the_hand_of_a_cap_at_an_edge() -> None:
    """B is mitred with A on its left and ends at the edge of C, 1/2 higher, which turns 120 degrees to the right."""
    beside = replace(ON, direction=270.0)
    over = level(60.0, run="C", from_support="P3", to_support="P4", direction=30.0, assembly="HALF")
    half = replace(WOOD, assembly="HALF", level_height=37.0)
    sawn = job(FIRST, beside, over, assemblies=(WOOD, half))

    assert sawn.piece(CAP, "B") is not None
    assert wrong(sawn) == []
