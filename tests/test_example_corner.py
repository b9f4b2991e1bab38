"""The corner porch is what the program makes of it today, and its figures are those worked by hand.

By hand means: with the equations beside each figure, from the measurements in tests/corner_porch.py and the sizes of
WOOD: posts 3 1/2, rails 1 1/2 wide, caps 1 x 5 1/2 with 1 in past an end post, balusters 1 1/2 square, 1/16 in left at
each rail end, gaps 1/16 in under the sphere of 4 in (IRC 2021 R312.1.3). Both turned posts stand half way between
their runs, 22 1/2 degrees off each, so that along a run they measure 3 1/2 over cos 22 1/2.
"""

import math
from pathlib import Path

import pytest

from railbook.estimate import Estimate
from railbook.takeoff.lots import FAR
from tests.corner_porch import CORNER_JOB
from tests.kept_results import assert_form_is_kept, computed_anew, nearest, pieces, row

TANGENT = math.tan(math.radians(22.5))
HALF = 1.75 / math.cos(math.radians(22.5))  # from the middle of a turned post to its face, along a run
TAPE = 1 / 16


@pytest.fixture(scope="module")
def porch(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The example, computed anew in a folder of its own."""
    return computed_anew(CORNER_JOB, tmp_path_factory)


def test_the_example_is_what_its_measurements_make(tmp_path: Path, *, renew_kept: bool) -> None:
    assert_form_is_kept(CORNER_JOB, tmp_path, renew=renew_kept)


def test_rails_have_a_long_side_towards_the_far_side(porch: Estimate) -> None:
    """Each end that is askew adds half of 1 1/2 times tan 22 1/2 on the far side: 0.311. All corners turn right, so
    that the walking side is the inner one."""
    for run, clear, ends in (("A.2", (136.25 - 3.5) / 2, 1), ("B.1", 52.375, 2), ("C.1", 64.5, 1)):
        rail = row(porch, "cut_list", part="Both rails", where=run)
        middle, more = clear - 2 * TAPE, ends * 0.75 * TANGENT

        assert rail.length == nearest(middle + more, TAPE), run
        assert rail.other_edge == nearest(middle - more, TAPE), run
        assert rail.long_edge == FAR
    across = row(porch, "cut_list", part="Both rails", where="B.1")
    assert (across.lower_cut, across.upper_cut) == (-22.5, 22.5)


def test_posts_at_the_clipped_corner_say_how_they_are_set(porch: Estimate) -> None:
    turned = {post.post: post.turned for post in porch.rows["posts"] if post.turned}

    assert turned == {"P2": "face on bisector of A, B", "P3": "face on bisector of B, C"}


def test_marks_of_the_clipped_corner_are_taped_on_the_walking_side(porch: Estimate) -> None:
    """n = (52.375 - 3.9375)/(1.5 + 3.9375) = 8.9, so 9; gap (52.375 - 9 x 1.5)/10; the corner of the rail lies 0.311
    further on than its middle, which lies 1/16 past the face."""
    layout = row(porch, "baluster_layout", used_in="B.1")
    gap = (52.375 - 13.5) / 10

    assert (layout.count, layout.gap) == (9, pytest.approx(gap))
    assert layout.marks[0] == nearest(gap + 0.75 - TAPE - 0.75 * TANGENT, TAPE)
    assert layout.rail_length == nearest(52.25 - 1.5 * TANGENT, TAPE)


def test_caps_round_the_clipped_corner(porch: Estimate) -> None:
    """Half of 5 1/2 times tan 22 1/2 is 1.139. A runs from the wall to a mitre over the middle of P2, B from there over
    P3 and 1 in past it, C ends on the face of P3, 1/16 short, and reaches 1 in past P4."""
    point = 2.75 * TANGENT

    assert pieces(porch, "Cap board")[:3] == [
        ("A", 1, nearest(136.25 + HALF + point, TAPE), nearest(136.25 + HALF + point, TAPE)),
        ("B", 1, nearest(52.375 + 3 * HALF + 1 + point, TAPE), nearest(52.375 + 3 * HALF + 1 + point, TAPE)),
        ("C", 1, nearest(64.5 - TAPE + 4.5 + point, TAPE), nearest(64.5 - TAPE + 4.5 + point, TAPE)),
    ]
    assert row(porch, "cut_list", part="Cap board", where="C").saw == "turn, far side long"


def test_the_post_between_the_two_heights_carries_the_higher(porch: Estimate) -> None:
    """42 - 1 above the deck and 9 1/4 below it; an inch to trim."""
    assert ("P2, A/1, P3", 3, 51.25, 51.25) in pieces(porch, "Post")
    told = [
        each for each in porch.rows["warnings"] if each.where == "support P3" and "under that of run B" in each.what
    ]
    assert [each.severity for each in told] == ["note"]


def test_every_check_passes_and_brackets_are_asked_about(porch: Estimate) -> None:
    verdicts = {each.verdict for each in porch.rows["code_checks"]}

    assert verdicts == {"pass", "guard required"}
    assert sum("angled brackets" in each.remedy for each in porch.rows["warnings"]) == 2
