"""The example porch is what the program makes of it today, and its figures are those worked by hand.

By hand means: with the equations beside each figure, from the measurements in tests/porch.py and the sizes of the
starting assembly WOOD: posts, rails and caps 3 1/2, 3 1/2 and 1 x 5 1/2 in, balusters 1 1/2 in, level guard 36 1/2 in,
clearances 3 and 1/2 in, 1/16 in left at each rail end, gaps 1/16 in under the sphere of 4 or 4 3/8 in (IRC 2021
R312.1.3).
"""

import math
from pathlib import Path

import pytest
from click.testing import CliRunner

from railbook import cli
from railbook.estimate import Estimate, is_result
from tests.corner_porch import CORNER_JOB
from tests.filled_form import EXAMPLES
from tests.garden_ramp import RAMP_JOB
from tests.kept_results import KEPT, assert_form_is_kept, assert_result_is_kept, computed_anew, nearest, pieces, row
from tests.porch import PLACE, PORCH
from tests.quarter_landing import LANDING_JOB
from tests.steep_stairs import STAIRS_JOB

README = EXAMPLES.parent / "README.md"

SLOPE = 47.0625 / 67.0  # run S1: rise 47 1/16 over a clear of 67
SECANT = math.hypot(67.0, 47.0625) / 67.0
RISER = 51.625 / 7  # total rise 51 5/8, seven risers


@pytest.fixture(scope="module")
def porch(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The example, computed anew in a folder of its own."""
    return computed_anew(PORCH, tmp_path_factory)


# the files


def test_the_example_is_what_its_measurements_make(tmp_path: Path, *, renew_kept: bool) -> None:
    assert_form_is_kept(PORCH, tmp_path, renew=renew_kept)


def test_the_result_is_what_computing_the_example_gives(porch: Estimate, *, renew_kept: bool) -> None:
    assert_result_is_kept(porch, PORCH, renew=renew_kept)


def test_the_example_folder_holds_the_jobs_and_each_has_its_kept_result() -> None:
    """Whoever follows the README has results beside them."""
    jobs = (PORCH, RAMP_JOB, STAIRS_JOB)
    worked = (CORNER_JOB, LANDING_JOB)  # held by figures worked by hand alone

    assert {each for each in EXAMPLES.glob("*.xlsx") if not is_result(each)} == {
        each.place for each in (*jobs, *worked)
    }
    assert {each.name for each in KEPT.iterdir()} == {each.place.stem for each in jobs}


def test_the_start_of_the_readme_is_true(porch: Estimate, tmp_path: Path) -> None:
    """It says that computing the example has status 1, for two things to look at."""
    said = README.read_text(encoding="utf-8")
    assert "railbook compute examples/porch.xlsx" in said
    assert "two things to look at" in " ".join(said.split())
    assert [warning.severity for warning in porch.rows["warnings"]] == ["look"] * 2 + ["note"] * 9

    (tmp_path / PLACE.name).write_bytes(PLACE.read_bytes())
    assert CliRunner().invoke(cli.main, ["compute", str(tmp_path / PLACE.name)]).exit_code == 1


# run A, the divided level guard between new posts: 15' 7 3/8" low down, 1/8 in less high up, which is no matter


def test_front_guard_is_divided_into_three_equal_sections(porch: Estimate) -> None:
    """Posts at most 72 apart: (187 3/8 + 3 1/2)/72 = 2.65, so three; (187 3/8 - 2 x 3 1/2)/3 = 60 1/8 each."""
    sections = [each.of for each in porch.rows["sections"] if each.of.run == "A"]

    assert [each.clear for each in sections] == [60.125] * 3
    assert [each.clear_top for each in sections] == [60.125] * 3  # new posts are set plumb
    assert [each.spacing for each in sections] == [63.625] * 3
    assert [each.blocks for each in sections] == [2] * 3  # 60 in of rail, none of it longer than 24 in


def test_front_guard_has_eleven_balusters_a_section(porch: Estimate) -> None:
    """n = (60 1/8 - 3 15/16)/(1 1/2 + 3 15/16) = 10.33, so 11; gap = (60 1/8 - 11 x 1 1/2)/12."""
    layout = row(porch, "baluster_layout", used_in="A.1, A.2, A.3")

    assert layout.count == 11
    assert layout.gap == pytest.approx(43.625 / 12)
    assert layout.rail_length == 60.0  # 60 1/8 less 1/16 at each end
    # centres from the rail's end: 3.6354 + 0.75 - 0.0625 = 4.3229, then every 5.1354
    marks = [nearest(4.3229167 + number * 5.1354167) for number in range(11)]
    assert [mark for mark in layout.marks if mark is not None] == marks
    assert (marks[0], marks[-1], layout.after_last) == (4.3125, 55.6875, 4.3125)


def test_level_posts_stand_under_the_cap(porch: Estimate) -> None:
    """36 1/2 less a cap of 1, and 9 1/4 below the surface: 44 3/4; sawn rough 1 in longer."""
    posts = [row(porch, "posts", post=mark) for mark in ("P1", "A/1", "A/2", "P2")]

    assert [post.post_downhill for post in posts] == [35.5] * 4
    assert [post.post_length for post in posts] == [44.75] * 4
    assert pieces(porch, "Post")[0] == ("P1, P2, A/1, A/2", 4, 45.75, 45.75)


def test_level_balusters_fill_the_opening(porch: Estimate) -> None:
    """36 1/2 - 3 - (1 + 3 1/2 + 3 1/2) = 25 1/2; 11 in each of three sections, 12 in the side guard."""
    level = [each for each in pieces(porch, "Baluster") if each[0][0] in "AB"]

    assert level == [("A.1, A.2, A.3, B.1", 45, 25.5, 25.5)]


def test_caps_meet_at_the_corner_in_a_mitre(porch: Estimate) -> None:
    """A quarter turn: 45 degrees; half of 5 1/2 is what the long point gains over the middle."""
    front, side = row(porch, "caps", run="A"), row(porch, "caps", run="B")

    assert (abs(front.from_cut), abs(side.to_cut)) == pytest.approx((45.0, 45.0))
    assert side.long_point == pytest.approx(65.625 + 1.75 + 2.75)  # wall to the middle of the corner post
    assert front.long_point == pytest.approx(1.75 + 187.375 + 3.5 + 1.0 + 2.75)  # and 1 in past P2
    assert front.long_point > 192.0  # no board in the price list is as long, which is one of the warnings


# run B, from the house wall to the corner


def test_side_guard_is_one_section_from_the_wall(porch: Estimate) -> None:
    """A wall has no half post: 65 5/8 + 1 3/4 is under 72. n = (65 5/8 - 3 15/16)/5 7/16 = 11.34, so 12."""
    (section,) = [each.of for each in porch.rows["sections"] if each.of.section == "B.1"]
    layout = row(porch, "baluster_layout", used_in="B.1")

    assert section.spacing == 67.375
    assert section.bottom_edge == 65.5
    assert layout.count == 12
    assert layout.gap == pytest.approx((65.625 - 18.0) / 13)
    assert row(porch, "posts", post="W1").cut == 0


# run S1, the stair guard that meets the level guard


def test_stair_slope_is_rise_over_clear(porch: Estimate) -> None:
    measures = row(porch, "lines", run="S1").measures

    assert measures.tangent == pytest.approx(SLOPE)
    assert measures.slope_angle == pytest.approx(35.085, abs=0.0005)  # arctan 0.702425
    assert row(porch, "flight_working", flight="F1").riser == pytest.approx(7.375)


def test_stair_rails_are_parallelograms(porch: Estimate) -> None:
    """Edge (67 - 2/16)/cos = 81.724; the point of the plumb cut adds 3 1/2 x 0.7024 = 2.458."""
    assert nearest(66.875 * SECANT) == 81.75
    assert nearest(66.875 * SECANT + 3.5 * SLOPE) == 84.1875
    assert ("S1.1", 2, 81.75, 84.1875) in pieces(porch, "Both rails")


def test_stair_balusters_keep_out_the_larger_sphere(porch: Estimate) -> None:
    """n = (67 - 4 5/16)/(1 1/2 + 4 5/16) = 10.78, so 11; gap = (67 - 16 1/2)/12, level."""
    layout = row(porch, "baluster_layout", used_in="S1.1")

    assert layout.count == 11
    assert layout.gap == pytest.approx(50.5 / 12)
    assert layout.marks[0] == nearest((50.5 / 12 + 0.75 - 0.0625) * SECANT) == 6.0


def test_stair_guard_is_flush_with_the_level_cap_that_it_butts_against(porch: Estimate) -> None:
    """The level cap stands 1 in past the post: 36 1/2 - (1 3/4 - 1) x 0.7024 = 35.973; balusters fill what clearance,
    cap and rails leave."""
    guard = row(porch, "lines", run="S1").guard
    height = 36.5 - 0.75 * SLOPE

    assert guard.guard_height == pytest.approx(height)
    assert guard.opening == pytest.approx(height - 0.5 - 8.0 * SECANT)
    assert ("S1.1", 11, 25.6875, 26.75) in pieces(porch, "Baluster")  # 25.697, and 1 1/2 x 0.7024 to the tip


def test_bottom_post_of_the_stairs_is_cut_to_the_slope(porch: Estimate) -> None:
    """Uphill face: riser - 2 1/4 x slope + height - 1/cos; at the downhill face 3 1/2 of slope less. It
    stands on a pad, and is sawn 1 in over its higher face."""
    post = row(porch, "posts", post="P4")
    uphill = RISER - 2.25 * SLOPE + (36.5 - 0.75 * SLOPE) - SECANT

    assert post.worked.uphill == pytest.approx(uphill)
    assert post.worked.downhill == pytest.approx(uphill - 3.5 * SLOPE)
    assert (post.post_uphill, post.post_downhill) == (nearest(uphill), nearest(uphill - 3.5 * SLOPE))
    assert post.post_length == nearest(uphill)
    assert ("P4", 1, nearest(uphill) + 1, nearest(uphill) + 1) in pieces(porch, "Post")


def test_triangle_at_riser_tread_and_rail_is_the_largest_circle_in_it(porch: Estimate) -> None:
    """Legs: greatest riser 7 7/16 + 1/2 + 1 in of overhang x slope, and that over the slope; a + b - hypotenuse."""
    high = 7.4375 + 0.5 + SLOPE
    across = high / SLOPE

    assert row(porch, "lines", run="S1").triangle.triangle == pytest.approx(high + across - math.hypot(high, across))
    assert row(porch, "lines", run="S1").triangle.triangle < 6.0


# run S2, taped along the slope


def test_other_stair_guard_is_worked_out_from_slope_length_and_rise(porch: Estimate) -> None:
    """Clear = root of (81 15/16 squared - 47 1/16 squared) = 67.07, the other side's 67 within a sixteenth or so."""
    measures = row(porch, "lines", run="S2").measures

    assert measures.clear == pytest.approx(math.sqrt(81.9375**2 - 47.0625**2))
    assert measures.source == "slope length and rise"


def test_top_post_beside_the_house_stands_at_the_slope(porch: Estimate) -> None:
    """Its guard stands 36 in over the nosing line, which gains 1 7/8 of slope up to it and 3 1/2 across it."""
    slope = 47.0625 / math.sqrt(81.9375**2 - 47.0625**2)
    secant = math.sqrt(1 + slope**2)
    post = row(porch, "posts", post="P3")

    assert post.worked.downhill == pytest.approx(36.0 + 1.875 * slope - secant)
    assert post.worked.uphill == pytest.approx(36.0 + 5.375 * slope - secant)
    assert (post.post_downhill, post.post_uphill) == (36.125, 38.5625)  # 36.0940 and 38.5498


def test_totals_of_the_porch(porch: Estimate) -> None:
    """Posts P1 to P5 and two between; two rails in each of six sections; 33 + 12 + 11 + 11 balusters; 2 blocks in each
    level section, 3 in each of the stairs (81 3/4 in of rail, none longer than 24 in)."""
    summary = porch.rows["summary"][0]

    assert (summary.posts_total, summary.rails_total, summary.sections_total) == (7, 12, 6)
    assert (summary.balusters_total, summary.blocks_total) == (67, 14)
    assert summary.level_guard == pytest.approx(187.375 + 65.625)
    assert summary.stair_guard == pytest.approx(math.hypot(67.0, 47.0625) + 81.9375)
