"""Supports that a run meets askew: what Warnings says of post, brackets and cap, and what is left to the tape."""

import math
from dataclasses import replace

import pytest

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.askew import askew_problems
from railbook.geometry.survey import lay_out_site
from railbook.job.assemblies import ON_FACE
from railbook.job.runs import Run
from railbook.job.supports import COLUMN, EXISTING, POST, WALL, Support
from tests.small_jobs import Worked, work
from tests.test_corners_told import RAIL, STEPS, along, up

ANGLED = replace(RAIL, bracket_skew=30.0)
CORNER = along("A", "P1", "P2"), along("B", "P2", "P3", 45.0)


def worked(*runs: Run, **more: object) -> Worked:
    """These runs, their brackets made for any corner."""
    return work(*runs, **{"flights": (STEPS,), "assemblies": (ANGLED,), **more})


def told(*runs: Run, **more: object) -> list[Problem]:
    """What is told of supports that a run meets askew."""
    of = worked(*runs, **more)
    return list(askew_problems(lay_out_site(of.job, of.choices.site)))


def looks(*runs: Run, **more: object) -> list[Problem]:
    """What of it somebody must look at."""
    return [each for each in told(*runs, **more) if each.severity == LOOK]


def test_how_a_new_post_is_set_is_a_note() -> None:
    (note,) = told(*CORNER)

    assert (note.severity, note.where) == (NOTE, "support P2")
    assert "run A 22.5 degrees, run B 22.5 degrees" in note.what
    schedule = {post.post: post.turned for post in worked(*CORNER).rows["posts"]}
    assert schedule == {"P1": "", "P2": "face on bisector of A, B", "P3": ""}


@pytest.mark.parametrize("direction", [0.0, 90.0, -90.0, 89.5, 0.9, None])
def test_straight_and_square_corners_say_nothing(direction: float | None) -> None:
    runs = along("A", "P1", "P2"), along("B", "P2", "P3", direction)

    assert told(*runs) == []
    assert {post.turned for post in worked(*runs).rows["posts"]} == {""}


def test_of_a_post_that_stands_already_its_bearing_is_asked() -> None:
    standing = Support(support="P2", kind=POST, state=EXISTING, standing_height=40.0)
    (asked,) = looks(*CORNER, supports=(standing,))

    assert "type its Post bearing" in asked.remedy
    assert looks(*CORNER, supports=(replace(standing, bearing=22.5),)) == []


@pytest.mark.parametrize(("greatest", "is_told"), [(None, True), (5.0, True), (22.4, True), (22.5, False)])
def test_brackets_that_turn_less_are_told_with_the_angle(greatest: float | None, *, is_told: bool) -> None:
    """A blank stands for 5 degrees."""
    found = looks(*CORNER, assemblies=(replace(RAIL, bracket_skew=greatest),))

    assert bool(found) == is_told
    for each in found:
        assert "22.5 degrees" in each.what
        assert "angled brackets" in each.remedy


def test_runs_that_cannot_both_meet_a_wall_square_are_told() -> None:
    """Both ends of a deck at one wall are square to it; a third that comes at 20 is not."""
    wall = Support(support="W", kind=WALL)
    both = along("A", "W", "P2", 180.0), along("C", "P3", "W", 0.0)

    assert looks(*both, supports=(wall,)) == []
    (found,) = looks(*both, along("B", "P4", "W", 20.0), supports=(wall,))
    assert "cannot all meet it square" in found.what
    assert looks(*both, along("B", "P4", "W", 20.0), supports=(replace(wall, bearing=0.0),)) == []
    (round_one,) = looks(*both, along("B", "P4", "W", 20.0), supports=(replace(wall, kind=COLUMN),))
    assert "column W" in round_one.what


def test_a_bearing_without_a_direction_is_told() -> None:
    turned = Support(support="P2", kind=POST, bearing=30.0)
    (found,) = looks(along("A", "P1", "P2", None), supports=(turned,))

    assert "no direction" in found.what


def test_a_cap_that_does_not_cover_its_turned_post_is_told() -> None:
    """4 1/4 x (cos 22.5 + sin 22.5) = 5.553: the cap of 5 1/2 is 0.053 short, which is within a sixteenth."""
    assert looks(*CORNER) == []
    (found, other) = looks(*CORNER, assemblies=(replace(ANGLED, cap_width=5.4),))
    assert "does not cover post P2" in found.what
    assert '5 9/16"' in found.what
    assert "run B" in other.what


def test_a_cap_that_ends_before_the_far_corner_is_told() -> None:
    """A run that leaves an end post at 20 degrees: its corner lies 2.125 (cos 20 + sin 20) = 2.724 out, its face 2.261;
    0.462 of overhang covers it."""
    turned = Support(support="P2", kind=POST, bearing=70.0)
    run = along("A", "P1", "P2", 0.0)

    assert looks(run, supports=(turned,)) == []
    (found,) = looks(run, supports=(turned,), assemblies=(replace(ANGLED, cap_overhang=0.0),))
    assert '7/16"' in found.what
    assert looks(run, supports=(turned,), assemblies=(replace(ANGLED, cap_overhang=0.4375),)) == []


def test_what_is_left_to_the_tape_is_told_and_marked() -> None:
    """A corner post that leans besides: rails there are cut by hand, and the cut list says so."""
    leaning = Support(support="P2", kind=POST, state=EXISTING, standing_height=40.0, bearing=22.5)
    runs = replace(CORNER[0], lean_to=1.0), CORNER[1]
    found = looks(*runs, supports=(leaning,))

    assert ["by hand" in each.remedy for each in found] == [True]
    marked = {
        f"{row.part} {row.where}" for row in worked(*runs, supports=(leaning,)).rows["cut_list"] if "by hand" in row.saw
    }
    assert marked == {"Top rail A.1", "Bottom rail A.1"}


def test_balusters_on_the_face_and_rails_without_a_width_are_told() -> None:
    on_face = replace(ANGLED, baluster_place=ON_FACE, overlap_top=1.0, overlap_bottom=1.0)
    blank = replace(ANGLED, top_rail_width=None, bottom_rail_width=None)

    assert {"set out the baluster" in each.remedy for each in looks(*CORNER, assemblies=(on_face,))} == {True}
    assert {"taken as 1 1/2" in each.what for each in looks(*CORNER, assemblies=(blank,))} == {True}


def test_caps_between_proud_posts_on_a_slope_are_left_to_the_tape() -> None:
    """A flight that leaves a level guard at 45: its own rails are worked out, its caps between the posts are not."""
    proud = replace(ANGLED, post_proud=2.0)
    runs = up("S", "P1", "P2"), along("A", "P2", "P3", 45.0)
    of = worked(*runs, assemblies=(proud,))

    marked = {f"{row.part} {row.where}" for row in of.rows["cut_list"] if "by hand" in row.saw}
    assert marked == {"Cap board S.1"}
    assert any("by hand" in each.remedy and each.where == "run S" for each in looks(*runs, assemblies=(proud,)))


def test_a_twisted_top_is_told_with_its_lowest_and_highest_corner() -> None:
    """A flight of 7.75 : 10 alone on a post that looks 22.5 past it, 4.6 wide along the run. Its cap's underside stands
    at 36.204 over the face, so at 36.204 + 2.3 x 0.775 = 37.987 over the middle; the corners are 2.125 (cos 22.5 +
    sin 22.5) x 0.775 = 2.152 below and above that: 35 13/16 and 40 1/8."""
    turned = Support(support="P2", kind=POST, bearing=22.5)
    of = worked(up("S", "P1", "P2"), supports=(turned,))
    (found,) = looks(up("S", "P1", "P2"), supports=(turned,))
    post, uphill, cosine = of.row("posts", post="P2"), 36.204 + 4.6 * 0.775, math.cos(math.radians(22.5))

    assert (post.worked.trim_downhill, post.worked.trim_uphill) == pytest.approx((36.204, uphill), abs=0.001)
    assert 'corners run from 35 13/16" to 40 1/8"' in found.what
    inside = uphill - 0.375 / cosine * 0.775 - 0.125  # the post in its sleeve
    corner = 1.75 * 0.775 * (cosine + math.sin(math.radians(22.5)) - 1 / cosine)
    assert post.post_uphill == pytest.approx(inside, abs=1 / 32)
    assert post.post_length == pytest.approx(inside + corner + 9.25, abs=1 / 16)
