"""Posts that stand already and lean: heights, cuts and lengths as drawn in space with plain vectors."""

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.drawn_leaning import (
    ASIDE,
    EXACT,
    UP,
    Case,
    Plane,
    arrival_of,
    flown,
    near_and_far,
    random_case,
    vector,
    worked_case,
)  # fmt: skip
from tests.small_jobs import Worked

# By hand, on the near face of the lower post F = 7.75 - 1.25 x 0.775 + 36.5 - 1.265158 = 42.016092, on that of the
# upper one 1.25 x 0.775 + 36.5 - 1.265158 = 36.203592; the slope is atan 0.775 = 37.7757. Leans of 1, 2, 1.5 degrees
# have tangents of 0.0174551, 0.0349208, 0.0261859 and secants of 1.0001523, 1.0006095, 1.0003428. Along the post:
#     1: 42.016092 / 1.0135277 x 1.0001523, far (42.016092 - 4.25 x 1.0001523 x 0.775) by the same
#    -2: 42.016092 / 0.9729364 x 1.0006095, far (42.016092 - 4.25 x 1.0006095 x 0.775)
#   1.5: 36.203592 / 0.9797059 x 1.0003428, far (36.203592 + 4.25 x 1.0003428 x 0.775)
BY_HAND = [
    ("P1", 0.0, 42.016092, 38.722342, 37.776),
    ("P1", 1.0, 41.461613, 38.210835, 36.776),
    ("P1", -2.0, 43.211152, 39.821653, 39.776),
    ("P2", 1.5, 36.966198, 40.330481, 39.276),
]
AS_DESIGNED = [(42.016, 38.722), (41.462, 38.211), (43.211, 39.822), (36.966, 40.330)]


@pytest.mark.parametrize(("by_hand", "designed"), list(zip(BY_HAND, AS_DESIGNED, strict=True)))
def test_worked_heights_at_both_ends_of_a_flight(by_hand: tuple[Any, ...], designed: tuple[float, float]) -> None:
    """Along the near and the far face, and the cut, from square; the three are those of the design."""
    mark, lean, *heights, cut = by_hand
    low = mark == "P1"
    post = flown(**{"lean_from" if low else "lean_to": lean}).row("posts", post=mark)
    trims = (post.worked.trim_uphill, post.worked.trim_downhill)
    shown = (post.sleeve_uphill, post.sleeve_downhill)

    assert heights == pytest.approx(designed, abs=6e-4)
    assert (trims if low else trims[::-1]) == pytest.approx(heights, abs=1e-5)
    assert (shown if low else shown[::-1]) == pytest.approx(heights, abs=1 / 32 + 1e-5)
    assert post.top_angle == pytest.approx(cut, abs=6e-4)


# 300 posts, drawn


@cache
def cases() -> tuple[tuple[Case, Worked], ...]:
    """300 of them."""
    return tuple((case, worked_case(case)) for case in map(random_case, range(300)))


def test_heights_along_leaning_posts_are_those_of_the_drawing() -> None:
    """Both faces of sleeve and post, on the tape, and before they are rounded."""
    for case, worked in cases():
        post, heights = worked.row("posts", post=case.mark), case.heights
        assert post.line.run == case.run.run
        exact = near_and_far(case, post.worked, "trim")
        assert exact == pytest.approx((heights["sleeve near"], heights["sleeve far"]), abs=EXACT)
        for of in ("sleeve", "post"):
            expected = (heights[f"{of} near"], heights[f"{of} far"])
            assert near_and_far(case, post, of) == pytest.approx(expected, abs=1 / 32 + EXACT)


def test_the_post_inside_a_leaning_sleeve_is_that_of_the_drawing() -> None:
    """Parallel to the cut of the sleeve and so much lower, plumb, before it is rounded."""
    for case, worked in cases():
        post, heights = worked.row("posts", post=case.mark), case.heights
        insets = (-post.inset, post.inset) if case.mark == "P1" else (post.inset, -post.inset)
        found = [
            trim + inset - post.lower
            for trim, inset in zip(near_and_far(case, post.worked, "trim"), insets, strict=True)
        ]
        assert found == pytest.approx((heights["post near"], heights["post far"]), abs=EXACT)


def test_caps_stand_over_the_middle_of_leaning_posts_as_drawn() -> None:
    """Where the axis meets the underside of the cap, and where both faces do."""
    for case, worked in cases():
        arrival = arrival_of(worked, case.run.run, "from" if case.mark == "P1" else "to")
        half = case.drawn.width / 2
        assert arrival.middle == pytest.approx(case.drawn.height(half), abs=EXACT)
        if case.where != "on the ramp":  # whose far foot is lower than its near one
            assert arrival.arm.face == pytest.approx(case.drawn.height(0.0), abs=EXACT)


def test_cuts_of_leaning_posts_and_their_sleeves_are_those_of_the_drawing() -> None:
    """From square, + higher uphill: of the top, and of the foot of the sleeve; and tip to tip, by its four corners.

    A sleeve that leans two ways is cut in two planes; the saw is set along the run."""
    for case, worked in cases():
        post = worked.row("posts", post=case.mark)
        axis = vector(case.drawn.axis[0], 0.0, 1.0)
        uphill = 1 if case.mark == "P1" else -1  # x runs uphill at the lower end
        across = vector(axis[2], 0.0, -axis[0]) * uphill
        for plane, cut in ((case.drawn.cap, post.top_angle), (case.drawn.surface, post.foot_angle)):
            way = np.cross(ASIDE, plane.square) * uphill
            assert cut == pytest.approx(math.degrees(math.atan2(way @ axis, way @ across)), abs=EXACT)
        if case.beside is None:
            unit = axis / np.linalg.norm(axis)
            feet = [case.drawn.foot(back) for back in (0.0, case.drawn.width)]
            tops = [case.drawn.cap.met(foot, case.drawn.axis) for foot in feet]
            places = [float(each @ unit) for each in (*feet, *tops)]
            assert post.sleeve_tip == pytest.approx(max(places) - min(places), abs=1 / 16)


def test_the_cap_reaches_over_a_leaning_post_to_its_far_face() -> None:
    """Alone at its post it overhangs the far face; past the near one it is level as long as from face to face there."""
    seen = 0
    for case, worked in cases():
        if case.beside is None:
            cap, faces = worked.only("caps"), [case.drawn.foot(back) for back in (0.0, case.drawn.width)]
            near, far = (case.drawn.cap.met(foot, case.drawn.axis) for foot in faces)
            reach = cap.from_reach if case.mark == "P1" else cap.to_reach
            expected = abs(near[0] - far[0]) + (case.assembly.cap_overhang or 0.0)
            assert reach == pytest.approx(expected, abs=EXACT)
            seen += 1
    assert seen > 100


def test_what_is_sawn_off_a_leaning_post_is_beyond_its_higher_face() -> None:
    for case, worked in cases():
        post = worked.row("posts", post=case.mark)
        high = max(case.heights["post near"], case.heights["post far"])
        assert post.needed == pytest.approx(high, abs=1 / 32 + EXACT)
        assert post.saw_off == pytest.approx(60.0 - high, abs=1 / 16 + EXACT)


def test_proud_posts_that_lean_are_cut_square_beyond_the_cap() -> None:
    """Square to the axis, 1 in along it over the upper side of the cap at the near face; the foot level or sloped."""
    for seed in range(70):
        case = random_case(seed)
        case = case._replace(assembly=replace(case.assembly, post_proud=1.0), beside=None)
        drawn = case.drawn._replace(aside=0.0)
        post = worked_case(case).row("posts", post=case.mark)
        slope = math.hypot(1.0, drawn.rise)
        over = Plane(drawn.cap.at + UP * (case.assembly.cap_thickness or 0.0) * slope, drawn.cap.square)
        unit = drawn.axis / np.linalg.norm(drawn.axis)
        corner = over.met(drawn.foot(0.0), drawn.axis) + unit
        square = Plane(corner, unit)
        lengths = [
            float(np.linalg.norm(square.met(drawn.foot(back), drawn.axis) - drawn.foot(back)))
            for back in (0.0, drawn.width)
        ]
        assert post.top_angle == 0.0
        assert near_and_far(case, post.worked, "trim") == pytest.approx(lengths, abs=EXACT)
