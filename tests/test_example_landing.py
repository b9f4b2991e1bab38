"""The quarter landing is what the program makes of it today, and its figures are those worked by hand.

By hand means: with the equations beside each figure, from the measurements in tests/quarter_landing.py and the sizes of
WOOD: posts, caps 3 1/2 and 1 x 5 1/2, guards 36 1/2 on the level and 36 on stairs, 1/16 left at each rail end.
"""

import math
from pathlib import Path

import pytest

from railbook.estimate import Estimate
from tests.kept_results import assert_form_is_kept, computed_anew, nearest, pieces, row
from tests.quarter_landing import LANDING_JOB

TAPE = 1 / 16
FIRST, SECOND = 31.1875 / 44.5, 39.5625 / 56.5  # rise over clear of both flights
RISER = 43.5 / 6  # of the second flight


@pytest.fixture(scope="module")
def landing(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The example, computed anew in a folder of its own."""
    return computed_anew(LANDING_JOB, tmp_path_factory)


def secant(slope: float) -> float:
    """Length along a slope for each unit of level length."""
    return math.hypot(1.0, slope)


def test_the_example_is_what_its_measurements_make(tmp_path: Path, *, renew_kept: bool) -> None:
    assert_form_is_kept(LANDING_JOB, tmp_path, renew=renew_kept)


def test_the_first_flight_bends_into_the_guard_of_the_landing(landing: Estimate) -> None:
    """Both undersides meet over the middle of P2, 35 1/2 above the landing; below it the flight's cap falls with it."""
    post = row(landing, "posts", post="P2")

    assert (post.top, post.post_uphill) == ("half level", 35.5)
    assert post.post_downhill == nearest(35.5 - 1.75 * FIRST, TAPE)
    bevel = math.tan(math.atan(FIRST) / 2)  # thickness 1: what either cap's upper side is longer
    assert pieces(landing, "Cap board")[0][:2] == ("S1", 1)
    assert pieces(landing, "Cap board")[0][2] == nearest((44.5 + 3.5 + 1 + 1.75) * secant(FIRST) + bevel, TAPE)
    assert pieces(landing, "Cap board")[1][2] == nearest(40 + 2 * 1.75 + 2.75 + bevel, TAPE)  # a mitre at its other end


def test_the_foot_post_of_the_second_flight_stands_taller_than_the_landing_guard(landing: Estimate) -> None:
    """One riser less the slope over the setback, and the guard's 36, less the cap as it stands; the far side lies
    3 1/2 further down the slope. The cap of L2 ends 1/16 short of it, as the owner was told."""
    post, near = row(landing, "posts", post="P4"), RISER - 2 * SECOND + 36 - secant(SECOND)

    assert post.post_uphill == nearest(near, TAPE)
    assert post.post_downhill == nearest(near - 3.5 * SECOND, TAPE)
    assert row(landing, "cut_list", part="Cap board", where="L2").length == nearest(35.25 + 1.75 - TAPE + 2.75, TAPE)
    told = [each.severity for each in landing.rows["warnings"] if each.where == "support P4" and "under" in each.what]
    assert told == ["note"]


def test_the_leaning_post_is_trimmed_along_itself(landing: Estimate) -> None:
    """E5 leans 1 1/2 degrees away from S2, so that the cap's underside meets its near face higher up: F over 1 - t tan
    1.5, the far face 3 1/2 over cos 1.5 further on, both along the post over cos 1.5. It stands 40 tall."""
    lean = math.radians(1.5)
    face = 2.25 * SECOND + 36 - secant(SECOND)
    meets = 1 - SECOND * math.tan(lean)
    near, far = face / meets, (face + 3.5 / math.cos(lean) * SECOND) / meets
    post = row(landing, "posts", post="E5")

    assert post.post_downhill == nearest(near / math.cos(lean), TAPE)
    assert post.post_uphill == nearest(far / math.cos(lean), TAPE)
    assert post.saw_off == nearest(40 - post.post_uphill, TAPE)
    assert post.top_angle == pytest.approx(math.degrees(math.atan(SECOND) + lean))
    assert not any("E5" in where for where, *_ in pieces(landing, "Post"))


def test_the_guard_of_the_deck_starts_at_the_leaning_post(landing: Estimate) -> None:
    """Its rails' middles are 36.5 - 3 - 1 - 3.5 = 29 apart: the post is 29 tan 1.5 = 0.759 nearer at the top."""
    lean = math.tan(math.radians(1.5))
    top, bottom = (row(landing, "cut_list", part=part, where="D.1") for part in ("Top rail", "Bottom rail"))

    assert top.length == nearest(66.75 - 29 * lean + 1.75 * lean - 2 * TAPE, TAPE)  # its underside
    assert bottom.length == nearest(66.75 - 1.75 * lean - 2 * TAPE, TAPE)  # its upper side
    assert (top.lower_cut, bottom.lower_cut) == pytest.approx((1.5, 1.5))


def test_nothing_fails_and_the_lean_is_asked_about(landing: Estimate) -> None:
    verdicts = {each.verdict for each in landing.rows["code_checks"]}

    assert verdicts == {"pass", "guard required", "not measured"}
    assert sum("is it loose" in each.remedy for each in landing.rows["warnings"]) == 2
