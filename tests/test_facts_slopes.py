"""Slopes, plumb cuts and plan corners against published and hand-worked figures.

Sources stand beside each figure: a document, "from memory", or how it was derived. Printed tables are
rounded, and one misprints 9 in 12 as 36.37 degrees and another 8 in 12 as 33.75: the true values stand here.
"""

import math
from dataclasses import replace
from typing import Any

import pytest

from railbook.geometry.joints import BEND, FLUSH, MITRE, turn
from railbook.job.runs import MEETS, Run
from tests.small_jobs import WOOD, Worked, flight, level, ramp, stair, work

LONG = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)


def slope(clear: float, rise: float) -> Worked:
    """One ramp of that clear and rise, in one section."""
    return work(ramp(clear, rise), assemblies=(LONG,))


# rise in 12, length per foot of run [in], angle [degrees]. Lengths: a how-to on common rafters (2 to 12 and
# 14 to 18), Army correspondence course EN0069A (13), Griffith, Carpentry (6), NAVEDTRA 14044 fig. 2-17 (7).
# Angles: a published slope table, its 9 in 12 corrected from 36.37 to 36.87 (3-4-5 triangle).
SLOPES = (
    (2, 12.17, 9.46), (3, 12.37, 14.04), (4, 12.65, 18.43), (5, 13.00, 22.62), (6, 13.42, 26.57),
    (7, 13.89, 30.26), (8, 14.42, 33.69), (9, 15.00, 36.87), (10, 15.62, 39.81), (11, 16.28, 42.51),
    (12, 16.97, 45.00), (13, 17.69, None), (14, 18.44, None), (15, 19.21, None), (16, 20.00, None),
    (17, 20.81, None), (18, 21.63, None),
)  # fmt: skip


@pytest.mark.parametrize(("rise", "per_foot", "angle"), SLOPES)
def test_framing_square_tables(rise: int, per_foot: float, angle: float | None) -> None:
    measures = slope(60.0, 5.0 * rise).only("lines").measures

    assert 12 * measures.secant == pytest.approx(per_foot, abs=0.00501)
    assert 12 * measures.tangent == pytest.approx(rise)
    if angle is not None:
        assert measures.slope_angle == pytest.approx(angle, abs=0.00501)


def test_misprinted_angles_are_not_repeated() -> None:
    """9 in 12 is a 3-4-5 triangle; 8 in 12 is atan(2/3) (derived, recomputed to four places)."""
    assert slope(96.0, 72.0).only("lines").measures.slope_angle == pytest.approx(36.8699, abs=5e-5)
    assert slope(96.0, 64.0).only("lines").measures.slope_angle == pytest.approx(33.6901, abs=5e-5)


# level run and rise in 12, length along the slope as printed [in], its tolerance
@pytest.mark.parametrize(
    ("clear", "rise", "along", "within"),
    [
        (96.0, 7, 111.125, 1 / 16),  # NAVEDTRA 14044 fig. 2-17: 13.89 x 8 = 111-1/8, 9'-3-1/8"
        (150.0, 6, 167.75, 0.05),  # Griffith, Carpentry: 13.42 x 12.5 = 167.75 in
        (124.0, 13, 182.79, 0.05),  # Army EN0069A fig. 2-17: 17.69 x 10'-4" = 182.79, called 15'-3"
    ],
)
def test_lengths_along_the_slope(clear: float, rise: int, along: float, within: float) -> None:
    measures = slope(clear, clear * rise / 12).only("lines").measures

    assert measures.along == pytest.approx(along, abs=within)


def test_seven_in_twelve_over_eight_feet_on_the_tape() -> None:
    """9'-3-1/8" by the rounded table (NAVEDTRA 14044) and by the exact length alike."""
    rail = slope(96.0, 56.0).row("cut_list", part="Both rails")

    assert rail.length_text == "9' 3 1/8\""


def test_plumb_cut_rail_over_five_treads() -> None:
    """7-1/2 on 10 in, five treads, rails 3-1/2 in deep (derived, 3-4-5): edge 62.5, tip to tip 62.5 + 3.5 x
    0.75 = 65.125, saw at 36.87 from square.

    A plumb line across a rail is 3.5 x 1.25 = 4.375."""
    worked = work(stair(50.0, 37.5), assemblies=(LONG,), flights=(flight(7.5, 10.0, risers=6),))
    section, guard = worked.only("sections").of, worked.only("lines").guard

    assert (section.top_edge, section.bottom_edge) == (62.5, 62.5)
    assert (section.top_tip, section.bottom_tip) == (65.125, 65.125)
    assert (section.lower_cut, section.upper_cut) == pytest.approx((36.87, 36.87), abs=0.005)
    assert guard.stack == pytest.approx(4.375 + 4.375 + 1.25)  # the cap board is 1 in thick


@pytest.mark.parametrize(
    ("riser", "tread", "cut"),
    [(7.5, 10.0, 18.435), (7.75, 10.0, 18.888), (7.0, 11.0, 16.236)],  # half of atan(riser / tread) (derived)
)
def test_caps_in_line_with_a_flight_share_the_slope(riser: float, tread: float, cut: float) -> None:
    up = stair(60.0, 60.0 * riser / tread, height=MEETS, upper_setback=3.0)
    on = level(60.0, from_support="P2", to_support="P3")
    worked = work(up, on, assemblies=(LONG,), flights=(flight(riser, tread),))
    raked, flat = worked.row("caps", run="S"), worked.row("caps", run="A")

    assert (raked.to_end.kind, flat.from_end.kind) == (BEND, BEND)
    assert raked.to_cut == pytest.approx(cut, abs=5e-4)
    assert abs(flat.from_cut) == pytest.approx(cut, abs=5e-4)


def test_raked_cap_at_a_plan_corner_is_butted_not_mitred() -> None:
    """A raked cap and a level cap cannot close on one vertical mitre: across a cap of width w the raked face
    moves by w x tan(slope), 5.5 x 0.75 = 4.125 in here (derived). It stops at the level cap's edge, cut plumb."""
    up = stair(60.0, 45.0, height=MEETS, upper_setback=3.0, direction=0.0)
    on = level(60.0, from_support="P2", to_support="P3", direction=90.0)
    raked = work(up, on, assemblies=(LONG,), flights=(flight(7.5, 10.0),)).row("caps", run="S")

    assert raked.to_end.kind == FLUSH
    assert raked.to_cut == pytest.approx(36.87, abs=0.005)
    assert raked.to_reach == -(5.5 - 3.5) / 2


# bearings are clockwise from north, so a right-hand corner is positive (surveyors' convention)
@pytest.mark.parametrize(
    ("arriving", "leaving", "turned"),
    [
        (0.0, 90.0, 90.0),
        (0.0, 270.0, -90.0),
        (350.0, 35.0, 45.0),
        (10.0, 325.0, -45.0),
        (180.0, 180.0, 0.0),
        (270.0, 45.0, 135.0),
    ],
)
def test_plan_turns(arriving: float, leaving: float, turned: float) -> None:
    assert turn(arriving=arriving, leaving=leaving) == pytest.approx(turned)


def corner(turned: float, *, width: float = 5.5) -> Worked:
    """Two level runs of 60 in clear between 3-1/2 in posts that meet at P2 with that turn."""
    first = level(60.0, direction=0.0)
    second = level(60.0, run="B", from_support="P2", to_support="P3", direction=turned % 360)
    return work(first, second, assemblies=(replace(LONG, cap_width=width),))


# half the turn; the square corner at 45, the bay window at 22-1/2, the hexagon at 30 (carpenters' practice)
@pytest.mark.parametrize(("turned", "mitre"), [(90.0, 45.0), (45.0, 22.5), (60.0, 30.0), (-90.0, -45.0), (30.0, 15.0)])
def test_level_corner_is_mitred_at_half_its_turn(turned: float, mitre: float) -> None:
    cap = corner(turned).row("caps", run="A")

    assert cap.to_end.kind == MITRE
    assert cap.to_cut == pytest.approx(mitre)


def test_long_and_short_point_of_a_square_corner() -> None:
    """60 in clear, half a post at the corner, a post and 1 in of overhang at the open end: 66.25 along the
    middle; a 45 degree mitre on 5-1/2 in adds and takes 2-3/4 (derived)."""
    cap = corner(90.0).row("caps", run="A")

    assert cap.middle_length == 60.0 + 1.75 + 3.5 + 1.0
    assert cap.long_point == pytest.approx(66.25 + 2.75)
    assert cap.middle_length - cap.mitre_gain == pytest.approx(66.25 - 2.75)


def test_long_point_of_a_piece_between_two_corners() -> None:
    """Centre distance and half the width times both tangents, 2.75 (tan 45 + tan 22.5) (derived): 60, half of a post
    3 1/2 wide at the square corner, and that half over cos 22.5 at the other, whose post is turned between its runs."""
    runs: tuple[Run, ...] = (
        level(60.0, direction=0.0),
        level(60.0, run="B", from_support="P2", to_support="P3", direction=90.0),
        level(60.0, run="C", from_support="P3", to_support="P4", direction=135.0),
    )
    cap = work(*runs, assemblies=(LONG,)).row("caps", run="B")
    gain = 2.75 * (1.0 + math.tan(math.radians(22.5)))
    centres = 60.0 + 1.75 + 1.75 / math.cos(math.radians(22.5))

    assert cap.long_point == pytest.approx(centres + gain)
    assert cap.middle_length - cap.mitre_gain == pytest.approx(centres - gain)


def test_runs_that_fold_back_on_themselves_are_not_mitred_without_end() -> None:
    """A slip in a bearing can make a corner of 180 degrees, which no mitre closes: no cap is laid out there."""
    worked = corner(180.0)

    assert worked.row("caps", run="A").long_point is None
    assert not [piece for piece in worked.rows["cut_list"] if piece.part == "Cap board"]
    assert any("on one side of it" in each.what for each in worked.rows["warnings"])


# all four ways to tape one slope of 3-4-5 give one answer (derived)
@pytest.mark.parametrize(
    ("taped", "source"),
    [
        ({"clear_bottom": 60.0, "rise": 45.0}, "rise and clear"),
        ({"slope_length": 75.0, "rise": 45.0}, "slope length and rise"),
        ({"slope_length": 75.0, "clear_bottom": 60.0}, "slope length and clear"),
        ({"slope_length": 75.0, "angle": math.degrees(math.atan(0.75))}, "angle"),
        ({"clear_bottom": 60.0}, "riser and tread"),
    ],
)
def test_every_sufficient_pair_gives_the_same_slope(taped: dict[str, float], source: str) -> None:
    changes: dict[str, Any] = {"clear_bottom": None, "clear_top": None, "rise": None} | taped
    run = replace(stair(60.0, 45.0), **changes)
    measures = work(run, assemblies=(LONG,), flights=(flight(7.5, 10.0),)).only("lines").measures

    assert measures.source == source
    assert measures.tangent == pytest.approx(0.75)
    assert measures.clear == pytest.approx(60.0)
