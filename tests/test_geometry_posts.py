"""Posts where runs meet, posts that stand already, and what the warnings say of them; worked by hand, 3-4-5."""

from dataclasses import replace

import pytest

from railbook.job.assemblies import ON_CONCRETE
from railbook.job.runs import BARE, MEETS
from railbook.job.supports import EXISTING, NEW, POST, WALL, Support
from railbook.takeoff.cut_list import PARALLEL
from tests.small_jobs import COMPOSITE, WOOD, flight, level, stair, work

# a 3/4 slope (secant 1 1/4), upper setback 3 in, wood: posts 3 1/2, cap 1 in, level guard 36 1/2
UP = {"from_support": "P0", "to_support": "P1", "upper_setback": 3.0, "height": MEETS}
SEVENS = (flight(7.5, 10.0),)


def test_post_at_a_bend_is_sloped_below_its_middle_and_level_above() -> None:
    """The undersides meet 35 1/2 up over the middle of the post: 1 3/4 x 3/4 = 1 5/16 lower at the downhill face."""
    worked = work(level(60.0, direction=0.0), stair(60.0, 45.0, direction=0.0, **UP), flights=SEVENS)
    post = worked.row("posts", post="P1")

    assert (post.stands, post.top) == ("Bend", "half level")
    assert (post.post_downhill, post.post_uphill) == (35.5 - 1.3125, 35.5)
    assert (post.top_angle, post.joint_at, post.joint_height) == (0.0, 1.75, 35.5)  # sawn square, shaped by hand


def test_sleeve_and_post_at_a_bend_are_cut_apart() -> None:
    """Composite: 4 1/2 in sleeves. Underside at the sleeve's downhill face 35 1/2 - 2 1/4 x 3/4; the post inside is
    1/2 in further uphill, so 3/8 higher, and 1/8 lower; on the level side 1/8 lower only."""
    worked = work(
        level(60.0, direction=0.0, assembly="COMPOSITE"),
        stair(60.0, 45.0, direction=0.0, assembly="COMPOSITE", **UP),
        assemblies=(COMPOSITE,),
        flights=SEVENS,
    )
    post = worked.row("posts", post="P1")

    assert (post.sleeve_downhill, post.sleeve_uphill) == (33.8125, 35.5)
    assert (post.post_downhill, post.post_uphill) == (33.8125 + 0.375 - 0.125, 35.375)


def test_post_round_a_corner_is_level_and_the_tops_are_flush_where_the_caps_butt() -> None:
    """The level cap is 5 1/2 wide, 1 in past the post: 36 1/2 - (3 - 1) x 3/4 = 35 of stair guard."""
    worked = work(level(60.0, direction=90.0), stair(60.0, 45.0, direction=0.0, **UP), flights=SEVENS)

    assert worked.row("posts", post="P1").stands == "Level"
    assert worked.row("lines", run="S").guard.guard_height == pytest.approx(35.0)
    assert worked.row("caps", run="S").to_reach == -1.0


def test_bare_post_that_stands_gets_a_sleeve_and_heights_but_is_not_bought() -> None:
    """Level composite: sleeve 35 1/2, post trimmed to 35 3/8."""
    standing = Support("P1", POST, EXISTING, standing_height=40.0)
    run = level(60.0, assembly="COMPOSITE", measured_to=BARE)
    worked = work(run, assemblies=(COMPOSITE,), supports=(standing,))
    post = worked.row("posts", post="P1")

    assert (post.sleeve_uphill, post.post_uphill, post.post_length) == (35.5, 35.375, None)
    assert sum(piece.quantity for piece in worked.rows["cut_list"] if piece.part == "Sleeve") == 2
    assert sum(piece.quantity for piece in worked.rows["cut_list"] if piece.part == "Post") == 1


def test_post_that_stands_finished_gets_no_sleeve() -> None:
    standing = Support("P1", POST, EXISTING, face_width=5.5, standing_height=40.0)
    worked = work(level(60.0, assembly="COMPOSITE"), assemblies=(COMPOSITE,), supports=(standing,))

    assert worked.row("posts", post="P1").sleeved == 0


def test_every_section_is_held_against_the_spacing() -> None:
    """Equal clears beside a wall and between posts: (142 1/2 - 3 1/2) / 2 = 69 1/2; 71 1/4 passes, 73 fails."""
    run = level(142.5, from_support="W", to_support="P2", sections=2)
    worked = work(run, supports=(Support("W", WALL, NEW),))
    spacing = {check.where: check.verdict for check in worked.rows["code_checks"] if check.quantity == "spacing"}

    assert spacing == {"section A.1": "pass", "section A.2": "fail"}


def test_cap_from_a_corner_to_a_bend_is_sawn_in_two_planes() -> None:
    """A mitre at the corner, a bevel at the flight: what leans to what cannot be said in one word."""
    worked = work(
        level(60.0, run="B", from_support="P3", to_support="P2", direction=90.0),
        level(60.0, from_support="P2", to_support="P1", direction=180.0),
        stair(60.0, 45.0, from_support="P0", to_support="P1", upper_setback=3.0, height=MEETS, direction=0.0),
        flights=SEVENS,
    )
    cap = worked.row("cut_list", part="Cap board", where="A")

    assert (cap.planes, cap.ends) == (2, "see Saw")
    assert cap.saw == "left: turn, long point outside the bend; right: tilt, top long"
    assert cap.ends != PARALLEL


def test_foot_of_a_flight_is_noted_until_its_mount_and_depth_are_told() -> None:
    """Its depth alone does not say what holds it there, where there is no rim."""

    def noted(*supports: Support) -> list[str]:
        rows = work(stair(60.0, 45.0), flights=SEVENS, supports=supports).rows["warnings"]
        return [each.what for each in rows if "foot of a flight" in each.what]

    deep = Support("P1", POST, NEW, below_surface=0.0)
    assert len(noted()) == 1
    assert "below the surface is a guess" in noted()[0]
    assert len(noted(deep)) == 1
    assert "guess" not in noted(deep)[0]
    assert noted(replace(deep, mount=ON_CONCRETE)) == []


def test_two_sides_of_a_flight_of_different_height_are_said() -> None:
    left = stair(60.0, 45.0, run="L", from_support="P3", to_support="P4", assembly="WOOD")
    right = stair(60.0, 45.0, run="S", from_support="P5", to_support="P1", upper_setback=3.0, height=MEETS)
    worked = work(level(60.0, direction=0.0), left, right, assemblies=(WOOD,), flights=SEVENS)

    assert [each.where for each in worked.rows["warnings"] if "differ in height" in each.what] == ["flight F1"]
