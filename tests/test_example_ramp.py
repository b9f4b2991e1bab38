"""The garden ramp is what the program makes of it today, and its figures are those worked by hand.

By hand means: with the equations beside each figure, from the measurements in tests/garden_ramp.py and the sizes of
the starting assembly METAL in millimetres: posts 90, rails 40, caps 25 x 140, balusters 20, guard 930, clearance 75,
let in 12 at each end, 2 for the bracket and 1.5 left at each rail end, gaps 1.5 under the sphere of 102 (IRC 2021
R312.1.3).
"""

import math
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from railbook import cli
from railbook.estimate import Estimate
from tests.garden_ramp import RAMP_JOB
from tests.kept_results import assert_form_is_kept, assert_result_is_kept, computed_anew, nearest, pieces, row

SLOPE = 468.0 / 5616.0  # 1 in 12
HEIGHT = 930.0 + 25.0 * (math.hypot(12.0, 1.0) / 12.0 - 1.0) - 45.0 / 12.0  # of the ramp guard
SECANT = math.hypot(12.0, 1.0) / 12.0
ANGLE = math.degrees(math.atan(1 / 12))  # 4.76
SECTION = (5616.0 - 3 * 90.0) / 4  # run R: three posts 90 wide between four sections


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The example, computed anew in a folder of its own."""
    return computed_anew(RAMP_JOB, tmp_path_factory)


def verdict(garden: Estimate, demand: str, where: str) -> str:
    """The verdict of the one check of that demand, of that part."""
    found: str = row(garden, "code_checks", demand=demand, where=where).verdict
    return found


# the files


def test_the_example_is_what_its_measurements_make(tmp_path: Path, *, renew_kept: bool) -> None:
    assert_form_is_kept(RAMP_JOB, tmp_path, renew=renew_kept)


def test_the_result_is_what_computing_the_example_gives(garden: Estimate, *, renew_kept: bool) -> None:
    assert_result_is_kept(garden, RAMP_JOB, renew=renew_kept)


def test_it_asks_about_a_leaning_post_and_notes_two_long_pieces(garden: Estimate, tmp_path: Path) -> None:
    """E1 leans 1 degree. The longest boards on tab Prices are 4800 mm; cap and handrail of the ramp are over 5600."""
    assert [(each.severity, re.split("[,;]", each.remedy)[0]) for each in garden.rows["warnings"]] == [
        ("look", "is it loose"),
        ("look", "missing: bolts through the frame with plates below"),
        ("note", "splice it over the post before section R.3"),
        ("note", "splice it at a bracket"),
        ("note", "nothing to do where that is so"),  # the corners as the directions have them
        ("note", "nothing to do where that is so"),  # posts that are not on tab Supports
    ]

    place = tmp_path / RAMP_JOB.place.name
    place.write_bytes(RAMP_JOB.place.read_bytes())
    assert CliRunner().invoke(cli.main, ["compute", str(place)]).exit_code == 1


# run R, the ramp


def test_ramp_rises_one_in_twelve_as_all_three_measurements_say(garden: Estimate) -> None:
    """Root of (5616 squared + 468 squared) = 5635.47, taped 5636: half a millimetre apart, 6 are allowed."""
    measures = row(garden, "lines", run="R").measures

    assert measures.tangent == pytest.approx(1 / 12)
    assert measures.slope_angle == pytest.approx(ANGLE)
    assert row(garden, "lines", run="R").agreement.slope_expected == pytest.approx(math.hypot(5616.0, 468.0))
    assert verdict(garden, "slope length against the other measurements", "run R") == "pass"


def test_ramp_guard_is_divided_from_the_wall_into_four_sections(garden: Estimate) -> None:
    """A wall has no half post, yet (5616 + 90)/1800 = 3.17, so four; (5616 - 3 x 90)/4 = 1336.5 each."""
    sections = [each.of for each in garden.rows["sections"] if each.of.run == "R"]

    assert [each.clear for each in sections] == [1336.5] * 4
    assert [each.spacing for each in sections] == [1381.5, 1426.5, 1426.5, 1426.5]  # 45 beside the wall, else 90
    assert row(garden, "caps", run="R").from_end.kind == "Wall"
    assert row(garden, "posts", post="W1").cut == 0


def test_ramp_rails_are_parallelograms(garden: Estimate) -> None:
    """Edge (1336.5 - 2 x 3.5)/cos = 1334.11; the plumb cut adds 40/12 = 3.33."""
    assert nearest((SECTION - 7.0) * SECANT, 1.0) == 1334.0
    assert nearest((SECTION - 7.0) * SECANT + 40.0 / 12, 1.0) == 1337.0
    assert ("R.1, R.2, R.3, R.4", 8, 1334.0, 1337.0) in pieces(garden, "Both rails")
    cut = row(garden, "cut_list", part="Both rails", where="R.1, R.2, R.3, R.4")
    assert (cut.lower_cut, cut.upper_cut) == pytest.approx((ANGLE, ANGLE))


def test_ramp_has_eleven_balusters_a_section(garden: Estimate) -> None:
    """n = (1336.5 - 100.5)/(20 + 100.5) = 10.26, so 11; gap = (1336.5 - 11 x 20)/12, level.

    The cap meets the level one over the middle of P1, 45 past its face: 930 + 25 x (1/cos - 1) - 45/12 = 926.34.
    Square ends: 926.34 - 75 - (25 + 40 + 40)/cos + 24 - 20/12 = 768.31.
    """
    layout = row(garden, "baluster_layout", used_in="R.1, R.2, R.3, R.4")

    assert layout.count == 11
    assert layout.gap == pytest.approx(1116.5 / 12)
    assert layout.marks[0] == nearest((1116.5 / 12 + 10.0 - 3.5) * SECANT, 1.0) == 100.0
    assert nearest(HEIGHT - 75.0 - 105.0 * SECANT + 24.0 - 20.0 / 12, 1.0) == 768.0
    assert ("R.1, R.2, R.3, R.4", 44, 768.0, 768.0) in pieces(garden, "Baluster")


def test_posts_on_the_ramp_are_cut_to_it_at_top_and_foot(garden: Estimate) -> None:
    """926.34 - 25/cos = 901.25 at either face; the point of the foot adds 90/12 = 7.5.

    They are sawn square at the top, 25 longer than that: 933.5, half up.
    """
    post = row(garden, "posts", post="R/2")

    assert nearest(HEIGHT - 25.0 * SECANT, 1.0) == 901.0
    assert (post.post_downhill, post.post_uphill) == (901.0, 901.0)
    assert (post.top_angle, post.foot_angle) == pytest.approx((ANGLE, ANGLE))
    assert ("R/1, R/2, R/3", 3, 934.0, 934.0) in pieces(garden, "Post")


def test_two_blocks_stand_under_each_ramp_rail(garden: Estimate) -> None:
    """1334.11/600 = 2.2: three lengths of 444.70; 75 high, and 40/12 = 3.33 for the point of the foot."""
    blocks = [each for each in garden.rows["blocks"] if each.used_in.startswith("R.1")]

    assert [each.along for each in blocks] == [445.0, 889.0]
    assert [(each.long_side, each.short_side) for each in blocks] == [(75.0, 75.0)] * 2
    assert ("R.1, R.2, R.3, R.4", 8, 75.0, 78.0) in pieces(garden, "Block")


def test_opening_under_the_ramp_rail_is_measured_square_to_it(garden: Estimate) -> None:
    """75 x cos = 74.74, under 102."""
    assert row(garden, "lines", run="R").edge.under_rail == pytest.approx(75.0 / SECANT)
    assert verdict(garden, "opening under the bottom rail", "run R") == "pass"


def test_ramp_cap_bends_into_the_level_cap_at_half_the_slope(garden: Estimate) -> None:
    """Wall to the middle of P1, (5616 + 45)/cos = 5680.62, which is the longer edge: the plumb cut at the wall, at 4.76
    degrees, takes more off the upper side than the bevel gives, 25 x tan(2.38) = 1.04, which the stock must hold."""
    cap = row(garden, "caps", run="R")

    assert cap.from_cut == pytest.approx(ANGLE)  # plumb at the wall
    assert cap.to_cut == pytest.approx(ANGLE / 2)
    assert nearest(5661.0 * SECANT + 25.0 * math.tan(math.radians(ANGLE / 2)), 1.0) == 5682.0
    assert nearest(5661.0 * SECANT, 1.0) == 5681.0
    assert ("R", 1, 5681.0, 5682.0) in pieces(garden, "Cap board")


# run H, the handrail on the house wall


def test_handrail_runs_along_the_ramp_and_returns_to_the_wall(garden: Estimate) -> None:
    """5616/cos = 5635.47 to the long points of two mitres; on brackets 800 apart: 7.04, so 8 spaces and 9 brackets."""
    handrail = row(garden, "handrails", run="H")

    assert nearest(5616.0 * SECANT, 1.0) == handrail.rail_length == 5635.0
    assert (handrail.lower_cut, handrail.upper_cut) == (-45.0, 45.0)
    assert handrail.brackets == 9
    assert pieces(garden, "Handrail return") == [("H", 2, 80.0, 80.0)]
    heights = [each.verdict for each in garden.rows["code_checks"] if each.where == "handrail H"]
    assert heights == ["pass", "pass"]  # 915 stands between 864 and 965


# run A, the long side of the landing


def test_long_side_of_the_landing_is_two_sections(garden: Estimate) -> None:
    """2000 + 90 is over 1800: (2000 - 90)/2 = 955; n = (955 - 100.5)/120.5 = 7.09, so 8; gap = (955 - 160)/9."""
    layout = row(garden, "baluster_layout", used_in="A.1, A.2")

    assert [each.of.clear for each in garden.rows["sections"] if each.of.run == "A"] == [955.0, 955.0]
    assert layout.count == 8
    assert layout.gap == pytest.approx(795.0 / 9)
    assert layout.rail_length == 948.0  # 955 less 3.5 at each end
    # 930 - 75 - 105 + 24; of the short side B.1 has 11, see below
    assert ("A.1, A.2, B.1", 27, 774.0, 774.0) in pieces(garden, "Baluster")
    assert ("P1, P2, A/1", 3, 930.0, 930.0) in pieces(garden, "Post")  # 930 - 25, and 25 to trim; P1 likewise


def test_landing_caps_meet_at_the_corner_in_a_mitre(garden: Estimate) -> None:
    """A quarter turn: 45 degrees. Corner to P1, middle to middle, 2000 + 90; half of 140 to the long point."""
    long_side, end = row(garden, "caps", run="A"), row(garden, "caps", run="B")

    assert (abs(long_side.from_cut), abs(end.to_cut)) == pytest.approx((45.0, 45.0))
    bend = 25.0 * math.tan(math.radians(ANGLE / 2))  # the upper side is the longer one at the top of the ramp
    assert long_side.long_point == pytest.approx(2090.0 + 70.0 + bend)
    assert long_side.middle_length - long_side.mitre_gain == pytest.approx(2090.0 - 70.0)


# run B, from the leaning wall post to the corner


def test_lean_and_both_clears_agree(garden: Estimate) -> None:
    """The rails' middles are 930 - 75 - 25 - 40 = 790 apart: 790 x tan(1) = 13.79, taped 14."""
    lean = row(garden, "lines", run="B").lean

    assert lean.lines_apart == pytest.approx(790.0)
    assert lean.top_differs == pytest.approx(14.0 - 790.0 * math.tan(math.radians(1.0)))
    assert verdict(garden, "clear at top against the recorded leans", "run B") == "pass"


def test_rails_at_the_leaning_post_are_cut_to_its_lean(garden: Estimate) -> None:
    """What both clears say: arctan(14/790) = 1.015. A rail's inner edge lies 20 from its middle: 0.35 of level."""
    inner = 20.0 * 14.0 / 790.0
    top, bottom = (row(garden, "cut_list", part=part, where="B.1") for part in ("Top rail", "Bottom rail"))

    assert top.length == nearest(1324.0 - inner - 7.0, 1.0) == 1317.0
    assert bottom.length == nearest(1310.0 + inner - 7.0, 1.0) == 1303.0
    leaning = math.degrees(math.atan(14.0 / 790.0))
    assert [abs(each.lower_cut) for each in (top, bottom)] == pytest.approx([leaning, leaning], abs=1e-6)
    assert (top.upper_cut, bottom.upper_cut) == (0.0, 0.0)


def test_balusters_beside_the_leaning_post_stand_plumb(garden: Estimate) -> None:
    """Under the top rail 1323.65: n = (1323.65 - 100.5)/120.5 = 10.15, so 11; gap = (1323.65 - 220)/12 = 91.97.

    Over the bottom rail the post is 14 x 750/790 = 13.29 nearer.
    """
    gap = (1324.0 - 20.0 * 14.0 / 790.0 - 220.0) / 12
    top, bottom = (row(garden, "baluster_layout", used_in="B.1", rail=rail) for rail in ("Top", "Bottom"))

    assert (top.count, bottom.count) == (11, 11)
    assert top.gap == bottom.gap == pytest.approx(gap)
    assert top.marks[0] == nearest(gap + 6.5, 1.0) == 98.0
    assert bottom.marks[0] == nearest(gap - 14.0 * 750.0 / 790.0 + 6.5, 1.0) == 85.0


def test_existing_post_is_not_bought_and_is_tall_enough(garden: Estimate) -> None:
    """It needs 930 - 25 = 905, and stands 905; 60 to the house are under 102."""
    post = row(garden, "posts", post="E1")

    assert (post.cut, post.needed, post.worked.face) == (0, 905.0, 100.0)
    assert not any("E1" in where for where, *_ in pieces(garden, "Post"))
    assert verdict(garden, "existing post: height", "support E1") == "pass"
    assert verdict(garden, "gap between the end post and the wall", "support E1") == "pass"


# the whole


def test_every_check_passes_and_every_guard_is_required(garden: Estimate) -> None:
    """Drops of 890 and 900 are over 762 (IRC 2021 R312.1.1)."""
    verdicts = [each.verdict for each in garden.rows["code_checks"]]

    assert set(verdicts) == {"pass", "guard required"}
    assert verdicts.count("guard required") == 3


def test_totals_of_the_garden_ramp(garden: Estimate) -> None:
    """New posts P1, P2, three on the ramp, one on the landing; two rails in each of seven sections; 44 + 16 + 11
    balusters; 8 + 2 + 2 blocks."""
    summary = garden.rows["summary"][0]

    assert (summary.posts_total, summary.rails_total, summary.sections_total) == (6, 14, 7)
    assert (summary.balusters_total, summary.blocks_total) == (71, 12)
