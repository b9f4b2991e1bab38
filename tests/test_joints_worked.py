"""Joints at a post, worked by hand: which joint is made, how much room is left, and what cures a clash.

One job throughout: posts 4 1/4 in, caps 5 1/2 x 1 in that overhang 3/4 in, flights of 7 3/4 in 10 in, guards of
36 1/2 in (42 in where said). So D = 2.125, t = 0.775, the slope's secant 1.26515 is a cap's thickness as it stands.
Figures to the thousandth were taken from a drawing in coordinates. A cap bears 1 1/2 in on a post at least, and closes
within 1/16 in (common practice, no source).
"""

import math
from dataclasses import replace
from typing import Any, NamedTuple

import pytest

from railbook.basics.double_entry import RUN_AGAIN
from railbook.estimate import lay_out
from railbook.geometry.joining import Joined, joined, pair
from railbook.geometry.joints import (
    BEND,
    CLASH,
    CUT_OFF,
    DIES,
    EDGE,
    FLUSH,
    MITRE,
    OPEN_END,
    REFUSED,
    STEP,
    THROUGH,
    Arm,
    bend_past,
    edge_apart,
    mitre,
    play_of,
    slip,
)
from railbook.job.build import build
from railbook.job.flights import Flight
from railbook.job.runs import MEETS, Run
from railbook.job.supports import LOWER, POST, RAISE, STAND_PROUD, Support
from tests.small_jobs import COMPOSITE, Worked, flight, level, stair, tabs, work

HALF, RISE, RISER, OVER = 2.125, 0.775, 7.75, 0.75
PLUMB = math.hypot(1.0, RISE)
PLAY = play_of("in")
THOUSANDTH = 0.0006


def flat(height: float = 36.5, away: float | None = 0.0, **more: float) -> Arm:
    """A level guard."""
    return Arm(away, 0.0, HALF, height - 1, 1.0, 1.0, 5.5, OVER)._replace(**more)


def head(setback: float, away: float | None = 180.0, height: float = 36.5) -> Arm:
    """A flight that arrives from below, its post so far behind the top nosing."""
    return Arm(away, -RISE, HALF, (setback + HALF) * RISE + height - PLUMB, 1.0, PLUMB, 5.5, OVER)


def foot(setback: float, away: float | None = 0.0, height: float = 36.5) -> Arm:
    """A flight that leaves upward, its post so far before the first nosing."""
    return Arm(away, RISE, HALF, RISER - (setback + HALF) * RISE + height - PLUMB, 1.0, PLUMB, 5.5, OVER)


@pytest.mark.parametrize(
    ("arm", "face", "middle", "top"),
    [(head(1.25), 36.204, 37.850, 37.469), (foot(1.25), 42.016, 40.369, 43.281), (flat(), 35.5, 35.5, 36.5)],
)
def test_heights_at_face_and_middle(arm: Arm, face: float, middle: float, top: float) -> None:
    assert (arm.face, arm.under, arm.top) == pytest.approx((face, middle, top), abs=THOUSANDTH)


class Meeting(NamedTuple):
    """Two runs at a post, and how the cap of each ends."""

    one: Arm
    other: Arm
    kinds: tuple[str, str]


MEETINGS = {
    "level guards of one height, straight on": Meeting(flat(away=180.0), flat(), (THROUGH, THROUGH)),
    "square": Meeting(flat(away=180.0), flat(away=90.0), (MITRE, MITRE)),
    "42 beside 36 1/2, straight on": Meeting(flat(42.0, 180.0), flat(), (OPEN_END, DIES)),
    "42 beside 36 1/2, square": Meeting(flat(away=180.0), flat(42.0, 90.0), (DIES, OPEN_END)),
    "three eighths apart, straight on": Meeting(flat(36.875, 180.0), flat(), (CUT_OFF, STEP)),
    "three eighths apart, square": Meeting(flat(36.875, 180.0), flat(away=90.0), (OPEN_END, EDGE)),
    "a flight that meets the level guard in line": Meeting(head(1.25, height=34.150), flat(), (BEND, BEND)),
    "round a corner": Meeting(head(1.25, height=36.016), flat(away=90.0), (FLUSH, OPEN_END)),
    "a flight of its own height, in line": Meeting(head(1.25), flat(), (OPEN_END, DIES)),
    "of its own height, round a corner": Meeting(head(1.25), flat(away=90.0), (EDGE, OPEN_END)),
    "a low flight under a level guard": Meeting(head(1.25, height=32.0), flat(), (DIES, OPEN_END)),
    "a level guard at the foot, in line": Meeting(flat(away=180.0), foot(1.25), (DIES, OPEN_END)),
    "round a corner there": Meeting(flat(away=180.0), foot(1.25, 90.0), (DIES, OPEN_END)),
    "the post a tread ahead": Meeting(flat(away=180.0), foot(7.533), (BEND, BEND)),
    "two flights, the post a tread long": Meeting(head(2.875), foot(2.875), (THROUGH, THROUGH)),
    "two flights, close setbacks": Meeting(head(1.25), foot(1.25), (DIES, OPEN_END)),
    "two flights, far setbacks": Meeting(head(8.0), foot(8.0), (OPEN_END, DIES)),
    "two flights round a corner, close": Meeting(head(1.25), foot(1.25, 90.0), (DIES, OPEN_END)),
    "two flights round a corner, between": Meeting(head(4.0), foot(4.0, 90.0), (CLASH, CLASH)),
    "two flights from below": Meeting(head(1.25), head(1.25, 0.0), (BEND, BEND)),
    "two flights leaving upward": Meeting(foot(1.25, 180.0), foot(1.25), (BEND, BEND)),
    "back on one side": Meeting(head(1.25), foot(1.25, 180.0), (REFUSED, REFUSED)),
    "level guards that turn 45": Meeting(flat(away=180.0), flat(away=45.0), (MITRE, MITRE)),
    "a flight that leaves at 45 at the foot": Meeting(flat(away=180.0), foot(1.25, 45.0), (DIES, OPEN_END)),
    "a flight of its own height that turns 45": Meeting(head(1.25), flat(away=45.0), (OPEN_END, DIES)),
    "a level guard of 39 there": Meeting(flat(39.0, 180.0), foot(1.25, 45.0), (CLASH, CLASH)),
    "without a bearing": Meeting(flat(away=None), flat(away=90.0), (THROUGH, THROUGH)),
}  # fmt: skip


@pytest.mark.parametrize("what", MEETINGS)
def test_the_joint_that_two_runs_make(what: str) -> None:
    """Either run may be named first."""
    one, other, kinds = MEETINGS[what]

    assert pair(one, other, PLAY) == kinds
    assert pair(other, one, PLAY) == kinds[::-1]


@pytest.mark.parametrize(("turned", "kinds"), [(22.5, (CLASH, CLASH)), (120.0, (OPEN_END, FLUSH))])
def test_a_narrow_cap_ends_at_the_edge_of_a_wide_one_where_there_is_an_edge(
    turned: float, kinds: tuple[str, str]
) -> None:
    """Level caps of one height, 5 1/2 and 2 in wide, which close on no mitre. Round 22 1/2 degrees the edge of the wide
    one, drawn on, crosses the middle of the other 7.19 in from the post's middle, but it ends 2.875 past it; round 120
    degrees the other comes back to it, 3.18 in from the middle, on the side of its run."""
    wide, narrow = flat(away=180.0), flat(away=turned, width=2.0)

    assert mitre(5.5, 2.0, turned) < 0 or turned > 90
    assert pair(wide, narrow._replace(thick=1.0), PLAY) == kinds if turned < 90 else True
    thicker = narrow._replace(thick=1.5, plumb=1.5, middle=35.0)  # flush on top, so no mitre either
    assert pair(wide, thicker, PLAY) == kinds


@pytest.mark.parametrize(
    ("cover", "low", "turned", "room"),
    [
        (flat(42.0), flat(away=180.0), 0.0, 4.500),
        (flat(42.0), flat(away=90.0), 90.0, 4.500),
        (foot(1.25), flat(away=180.0), 0.0, 1.641),
        (foot(1.25, 90.0), flat(away=180.0), 90.0, 1.738),
        (foot(1.25), head(1.25), 0.0, 1.254),
        (head(8.0), foot(8.0), 0.0, 6.679),
        (foot(1.25, 90.0), head(1.25), 90.0, 0.769),
    ],
)
def test_room_between_a_cap_over_the_post_and_one_that_ends_under_it(
    cover: Arm, low: Arm, turned: float, room: float
) -> None:
    assert slip(cover, low, turned, OVER) == pytest.approx(room, abs=THOUSANDTH)


def test_a_level_guard_at_the_foot_by_its_height() -> None:
    """It dies up to 38.141, up to 38.722 under a cap that is cut off; steps to 39.722; bends from 40.9 to 41.8."""
    kinds = {height: pair(flat(height, 180.0), foot(1.25), PLAY)[0]
             for height in (38.14, 38.15, 38.72, 38.73, 39.72, 40.5, 40.9, 41.8, 41.9)}  # fmt: skip
    square = {height: pair(flat(height, 180.0), foot(1.25, 90.0), PLAY)[0] for height in (38.23, 39.0)}

    assert [kinds[each] for each in (38.14, 38.15, 38.72)] == [DIES] * 3
    assert pair(flat(38.14, 180.0), foot(1.25), PLAY)[1] == OPEN_END
    assert pair(flat(38.15, 180.0), foot(1.25), PLAY)[1] == CUT_OFF
    assert (kinds[38.73], kinds[39.72]) == (STEP, STEP)
    assert (kinds[40.9], kinds[41.8]) == (BEND, BEND)
    assert (kinds[40.5], kinds[41.9]) == (CLASH, CLASH)
    assert (square[38.23], square[39.0]) == (DIES, CLASH)


def test_the_bend_moves_with_the_height() -> None:
    """A flight 0.4 low crosses the level cap 0.516 further uphill, 0.4 / 0.775; half a post bears as far as 0.625."""
    low = head(1.25, height=34.150 - 0.4)

    assert bend_past(low, flat()) == pytest.approx(0.516, abs=0.001)
    assert pair(low, flat(), PLAY) == (BEND, BEND)
    assert pair(head(1.25, height=34.150 - 0.49), flat(), PLAY) != (BEND, BEND)  # 0.632


def test_flush_and_edge_by_how_far_the_tops_are_apart() -> None:
    """Flush at 36.016; from 36.5 the raked cap stands 0.484 above the edge of the level one."""
    assert edge_apart(flat(), head(1.25, height=36.016), 90.0) == pytest.approx(0.0, abs=0.001)
    assert edge_apart(flat(), head(1.25), 90.0) == pytest.approx(36.5 - 36.016, abs=0.001)


@pytest.mark.parametrize(
    ("own", "met", "turned", "cut"),
    [(5.5, 5.5, 45.0, 22.5), (5.5, 7.25, 90.0, 52.815), (7.25, 5.5, 90.0, 37.185), (5.5, 5.5, 135.0, 67.5)],
)
def test_mitres_of_two_widths(own: float, met: float, turned: float, cut: float) -> None:
    """Both add up to the turn: tan 52.815 = 7.25 / 5.5."""
    assert mitre(own, met, turned) == pytest.approx(cut, abs=0.001)
    assert mitre(own, met, turned) + mitre(met, own, turned) == pytest.approx(turned)


THREE = {
    "a corner, and a flight square to one guard": (
        (flat(away=180.0), flat(away=90.0), head(1.25, 270.0, 36.016)), (MITRE, MITRE, FLUSH)),
    "straight on, and a low flight at the side": (
        (flat(away=180.0), flat(away=0.0), head(1.25, 90.0, 32.0)), (THROUGH, THROUGH, DIES)),
    "straight on, and a tall guard at the side, whose cap covers the post": (
        (flat(away=180.0), flat(away=0.0), flat(42.0, 90.0)), (DIES, DIES, OPEN_END)),
    "straight on at 39, and a flight that leaves at the side": (
        (flat(39.0, 180.0), flat(39.0, 0.0), foot(1.25, 90.0)), (THROUGH, THROUGH, CLASH)),
    "three heights": ((flat(48.0, 180.0), flat(42.0, 0.0), flat(36.5, 90.0)), (OPEN_END, DIES, DIES)),
}  # fmt: skip


@pytest.mark.parametrize("what", THREE)
def test_three_runs_at_a_post(what: str) -> None:
    arms, kinds = THREE[what]

    assert tuple(each.kind for each in joined(arms, PLAY)) == kinds


def test_beside_two_caps_of_unequal_width_a_third_ends_at_the_edge_of_the_wider() -> None:
    """The flight's cap is flush with the edge of a cap 5 1/2 wide at 36.016 (2.75 from the middle); the other one, 7
    wide, reaches 3.5, where the flight's stands 0.75 x 0.775 = 0.581 lower: it ends there, and is told."""
    flush = head(1.25, 270.0, 36.016)
    arms = (flat(away=0.0), flat(away=180.0, width=7.0), flush)

    assert joined((arms[0], flat(away=180.0), flush), PLAY)[2] in (Joined(FLUSH, 0), Joined(FLUSH, 1))
    assert edge_apart(arms[1], flush, 90.0) == pytest.approx(-0.581, abs=0.001)
    assert joined(arms, PLAY)[2] == Joined(EDGE, 1)


def test_more_than_three_runs_are_refused() -> None:
    assert {each.kind for each in joined([flat(away=90.0 * number) for number in range(4)], PLAY)} == {CLASH}


# through the whole engine

RAIL = replace(COMPOSITE, sleeve_width=4.25, cap_overhang=OVER, level_height=36.5, stair_height=36.5,
               greatest_rake=45.0)  # fmt: skip
STEPS = flight(RISER, 10.0, risers=4)
TALL = replace(RAIL, assembly="TALL", level_height=42.0)


def up(run: str, low: str, high: str, direction: float | None = 0.0, **changes: Any) -> Run:
    """A flight of four risers."""
    clear = changes.get("lower_setback", 1.25) + 30.0 + changes.get("upper_setback", 1.25)
    wanted = {"lower_setback": 1.25, "upper_setback": 1.25, "assembly": RAIL.assembly} | changes
    return stair(clear, clear * RISE, run=run, from_support=low, to_support=high, direction=direction, **wanted)


def along(run: str, left: str, right: str, direction: float | None = 0.0, **changes: Any) -> Run:
    """A level run."""
    typed = {"run": run, "from_support": left, "to_support": right, "direction": direction}
    return level(60.0, **{"assembly": RAIL.assembly, **typed, **changes})


def made(*runs: Run, heights: str | None = None, proud: float | None = None,
         flights: tuple[Flight, ...] = (STEPS, replace(STEPS, flight="F2"))) -> Worked:  # fmt: skip
    """The job of these runs, with what is asked for at P2."""
    supports = () if heights is None else (Support(support="P2", kind=POST, heights=heights, proud=proud),)
    return work(*runs, assemblies=(RAIL, TALL), flights=flights, supports=supports)


def height(worked: Worked, run: str) -> float:
    return float(worked.row("lines", run=run).guard.guard_height)


def kinds(worked: Worked) -> dict[str, tuple[str, str]]:
    return {cap.run: (cap.from_end.kind, cap.to_end.kind) for cap in worked.rows["caps"]}


def test_nothing_is_raised_unasked_and_the_choice_raises_or_lowers() -> None:
    runs = along("A", "P1", "P2"), along("B", "P2", "P3", assembly="TALL")
    kept, raised, lowered = (made(*runs, heights=each) for each in (None, RAISE, LOWER))

    assert (height(kept, "A"), height(kept, "B")) == (36.5, 42.0)
    assert kinds(kept) == {"A": (OPEN_END, DIES), "B": (OPEN_END, OPEN_END)}
    assert (height(raised, "A"), height(raised, "B")) == (42.0, 42.0)
    assert kinds(raised)["A"][1] == kinds(raised)["B"][0] == THROUGH
    assert (height(lowered, "A"), height(lowered, "B")) == (36.5, 36.5)


def test_a_level_guard_is_raised_to_the_flight_that_rises_from_it() -> None:
    """Its underside to 40.369 over the middle of the post: 41.369 high."""
    raised = made(along("A", "P1", "P2"), up("S", "P2", "P3"), heights=RAISE)

    assert height(raised, "A") == pytest.approx(41.369, abs=0.001)
    assert (kinds(raised)["A"][1], kinds(raised)["S"][0]) == (BEND, BEND)
    assert raised.row("posts", post="P2").top == "valley"


@pytest.mark.parametrize("wish", [RAISE, LOWER])
def test_a_flight_round_a_corner_is_brought_flush_either_way(wish: str) -> None:
    """Of its own 36 1/2 it stands 0.484 over the level cap: lowered to 36.016, or the level guard raised to 36.984."""
    worked = made(up("S", "P1", "P2"), along("A", "P2", "P3", 90.0), heights=wish)
    heights = {RAISE: ("A", 36.984), LOWER: ("S", 36.016)}

    assert kinds(worked)["S"][1] == FLUSH
    assert height(worked, heights[wish][0]) == pytest.approx(heights[wish][1], abs=0.001)


def test_proud_stands_above_the_higher_cap_and_cures_a_clash() -> None:
    """Two flights round a corner, setbacks of 4: tops of 38.338 + ... of the caps at the faces; the higher is that of
    the one that leaves: its underside 7.75 - 4 x 0.775 + 36.5 - 1.265 = 39.885, its top 41.150."""
    meeting = up("S", "P1", "P2", upper_setback=4.0), up("T", "P2", "P3", 90.0, flight="F2", lower_setback=4.0)
    clash, proud = made(*meeting), made(*meeting, heights=STAND_PROUD, proud=2.0)

    assert kinds(clash)["S"][1] == CLASH
    assert clash.row("caps", run="S").long_point is None
    assert "cap boards that clash" in clash.only("cost").lacks
    assert not [piece for piece in clash.rows["cut_list"] if piece.part == "Cap board"]
    assert proud.row("caps", run="S").to_reach == 0.0
    assert len([piece for piece in proud.rows["cut_list"] if piece.part == "Cap board"]) == 2
    assert proud.row("posts", post="P2").sleeve_length == pytest.approx(41.150 + 2.0, abs=1 / 32)


def test_a_taller_guard_runs_on_over_the_post_and_takes_no_screws_of_the_lower_one() -> None:
    """Its cap 60 + two posts + two overhangs, the other only to the post's face; two posts carry the taller cap."""
    worked = made(along("A", "P1", "P2"), along("B", "P2", "P3", assembly="TALL"))

    assert worked.row("caps", run="B").long_point == pytest.approx(60.0 + 2 * (4.25 + OVER))
    assert worked.row("caps", run="A").long_point == pytest.approx(60.0 + 4.25 + OVER)
    assert [worked.row("places", run=run).cap_to_post for run in ("A", "B")] == [1, 2]
    assert worked.row("posts", post="P2").sleeve_length == 41.0


def test_the_margin_turns_stale_where_the_joint_stops_holding() -> None:
    """A level cap under that of a flight that rises: 38.141 high it still ends there, 38.15 no more; the choice of old
    then asks for another run."""
    meeting = along("A", "P1", "P2"), up("S", "P2", "P3")
    worked = made(*meeting)

    def edited(high: float) -> str:
        job, _ = build(tabs(*meeting, assemblies=(replace(RAIL, level_height=high), TALL), flights=(STEPS,)))
        assert job is not None
        rows = lay_out(job, worked.choices)["caps"]
        return str(next(cap.status for cap in rows if cap.run == "A"))

    assert edited(38.14) == ""
    assert edited(38.15) == RUN_AGAIN


def test_a_clash_asks_for_another_run_as_soon_as_one_cap_clears_the_other() -> None:
    meeting = up("S", "P1", "P2", upper_setback=4.0), up("T", "P2", "P3", 90.0, flight="F2", lower_setback=4.0)
    worked = made(*meeting)
    steps = (STEPS, replace(STEPS, flight="F2"))

    def edited(low: float) -> set[str]:
        near = replace(meeting[0], upper_setback=low), meeting[1]
        job, _ = build(tabs(*near, assemblies=(RAIL, TALL), flights=steps))
        assert job is not None
        return {cap.status for cap in lay_out(job, worked.choices)["caps"]}

    assert edited(4.0) == {""}
    assert RUN_AGAIN in edited(0.0)


def test_meeting_the_guard_that_stands_there_not_one_of_the_same_assembly() -> None:
    """The level guard at its top is 42 high: the flight is raised to it, 34.150 + 5.5."""
    worked = made(up("S", "P1", "P2", height=MEETS), along("A", "P2", "P3", assembly="TALL"))

    assert height(worked, "S") == pytest.approx(39.650, abs=0.001)
    assert kinds(worked)["S"][1] == BEND
