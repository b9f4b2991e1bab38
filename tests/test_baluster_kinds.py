"""Balusters at a fixed pitch, on the face of the rails, bought ready made, and turned: worked by hand.

The railing is the wood one: rails 3-1/2 in deep, cap 1 in, balusters 1-1/2 in wide, level guard 36-1/2 over 3 in,
stair guard 36 over 1/2 in. Stairs rise 7-1/2 on 10 in, 3-4-5: secant 1-1/4, so cap and rails stand 8 x 1.25 = 10 in.
Spheres: 4 in on the level, 4-3/8 on stairs (IRC 2018 R312.1.3).
"""

import random
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple

import pytest

from railbook.job.assemblies import ON_FACE, RAKE, SQUARE, Assembly
from railbook.job.runs import MEETS
from tests.small_jobs import PLAIN, WOOD, Worked, flight, level, ramp, stair, work

LONG = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)
SEVENS = (flight(7.5, 10.0),)
FINE = 1 / 64  # the finest tape


def kind(**changes: Any) -> Assembly:
    """The wood railing in long sections, with balusters of another kind."""
    return replace(LONG, **changes)


def on_level(clear: float, **changes: Any) -> Worked:
    return work(level(clear), assemblies=(kind(**changes),))


def on_stair(clear: float, **changes: Any) -> Worked:
    return work(stair(clear, clear * 0.75, upper_setback=3.0), assemblies=(kind(**changes),), flights=SEVENS)


# clear, balusters, end gap at 5 in centres: (clear - 1.5 - 5 (n - 1)) / 2 must be under 4 in
PITCHED = (
    (72.0, 14, 2.75),  # (70.5 - 65) / 2; thirteen would leave (70.5 - 60) / 2 = 5.25
    (59.5, 12, 1.5),  # (58 - 55) / 2; eleven would leave exactly 4, which a 4 in sphere passes
    (59.375, 11, 3.9375),  # (57.875 - 50) / 2: an eighth less, and eleven do
    (4.0, 1, 1.25),  # no baluster would leave exactly 4; one has no pitch to keep: (4 - 1.5) / 2
    (3.9375, 0, 3.9375),  # nothing that a 4 in sphere could pass
)


@pytest.mark.parametrize(("clear", "balusters", "end_gap"), PITCHED)
def test_fixed_pitch_on_the_level(clear: float, balusters: int, end_gap: float) -> None:
    layout = on_level(clear, baluster_pitch=5.0).only("baluster_layout")

    assert (layout.count, layout.end_gap, layout.upper_end_gap) == (balusters, end_gap, end_gap)
    if balusters > 1:
        assert layout.gap == 3.5
        assert layout.marks[:2] == (end_gap + 0.75, end_gap + 5.75)


def test_fixed_pitch_is_kept_along_a_raked_rail() -> None:
    """5 in along the rail is 4 in on the level. 60 in clear: (58.5 - 4 (n - 1)) / 2 under 4.375 takes n = 14, ends
    (58.5 - 52) / 2 = 3.25; the first mark is (3.25 + 0.75) x 1.25 = 5 in up the rail, the last 70, of 75."""
    layout = on_stair(60.0, baluster_pitch=5.0).only("baluster_layout")

    assert (layout.count, layout.gap) == (14, pytest.approx(2.5))
    assert (layout.end_gap, layout.upper_end_gap) == pytest.approx((3.25, 3.25))
    assert [mark for mark in layout.marks if mark is not None] == [5.0 * each for each in range(1, 15)]
    assert (layout.rail_length, layout.after_last) == (75.0, 5.0)


def test_pitch_that_lets_the_sphere_through_between_balusters_fails() -> None:
    """6 in centres leave 4-1/2 in between 1-1/2 in balusters, which no number of them cures."""
    worked = on_level(72.0, baluster_pitch=6.0)

    assert worked.only("baluster_layout").worst_gap == pytest.approx(4.5)
    assert [check.verdict for check in worked.rows["code_checks"] if check.found == pytest.approx(4.5)] == ["fail"]


class Pitched(NamedTuple):
    """One case of fixed pitch in whole sixteenths, so that ties are exact."""

    clear: Fraction
    width: Fraction
    margin: Fraction
    pitch: Fraction

    def is_legal(self, gap: Fraction) -> bool:
        """Under the sphere of 4 in; with a margin, within it."""
        return gap <= 4 - self.margin if self.margin else gap < 4

    def ends(self, balusters: int) -> Fraction:
        """Level gap at both ends."""
        return (self.clear - self.width - (balusters - 1) * self.pitch) / 2 if balusters else self.clear

    @property
    def fewest(self) -> int:
        """The first number, counted up from none, that leaves two legal ends."""
        return next(number for number in range(1000) if self.is_legal(self.ends(number)))


def random_pitched(draw: random.Random, *, margin: bool) -> Pitched:
    """A section of a house; every fourth one is a tie, or a sixteenth beside it."""

    def sixteenths(low: float, high: float) -> Fraction:
        return Fraction(draw.randint(round(low * 16), round(high * 16)), 16)

    width, tight = sixteenths(0.75, 2.25), sixteenths(1 / 16, 0.25) if margin else Fraction(0)
    pitch = width + sixteenths(2.5, 3.9375)
    clear = sixteenths(3.0, 150.0)
    if draw.random() < 0.25:
        clear = width + draw.randint(0, 25) * pitch + 2 * (4 - tight) + Fraction(draw.randint(-1, 1), 16)
    return Pitched(clear, width, tight, pitch)


@cache
def pitched() -> tuple[tuple[Pitched, Any], ...]:
    """500 of them with what the engine says."""
    draw = random.Random(5)
    found = []
    for number in range(500):
        case = random_pitched(draw, margin=number % 2 == 1)
        settings = replace(PLAIN, tape_step=FINE, build_margin=float(case.margin))
        assembly = kind(baluster_width=float(case.width), baluster_pitch=float(case.pitch))
        worked = work(level(float(case.clear)), assemblies=(assembly,), settings=settings)
        found.append((case, worked.only("baluster_layout")))
    return tuple(found)


def test_fixed_pitch_takes_the_fewest_that_a_count_from_none_finds() -> None:
    for case, layout in pitched():
        assert layout.count - layout.added == case.fewest, case
        assert layout.end_gap == pytest.approx(float(case.ends(layout.count)), abs=1e-9)
        assert layout.upper_end_gap == pytest.approx(layout.end_gap, abs=1e-9)


def test_ties_of_fixed_pitch_were_among_them() -> None:
    """At a tie one baluster fewer leaves exactly the limit: without a margin that fails, with one it serves."""
    strict = [case for case, _ in pitched() if not case.margin and case.ends(case.fewest - 1) == 4]
    within = [case for case, _ in pitched() if case.margin and case.ends(case.fewest) == 4 - case.margin]

    assert len(strict) > 10
    assert len(within) > 10


# level: 36.5 - 3 - 8 = 25.5 between the rails; stairs: 36 - 0.5 - 10 = 25.5 as well
@pytest.mark.parametrize("ends", [SQUARE, RAKE])
def test_balusters_on_the_face_lap_both_rails(ends: str) -> None:
    """25.5 + 3 + 2.5 = 31 in, cut square or not; only a raked cut adds 1.5 x 0.75 tip to tip."""
    laps = {"baluster_place": ON_FACE, "overlap_top": 3.0, "overlap_bottom": 2.5, "baluster_ends": ends}
    flat, raked = on_level(60.0, **laps).only("lines").guard, on_stair(60.0, **laps).only("lines").guard

    assert (flat.baluster_length, flat.baluster_tip) == (31.0, 31.0)
    assert (raked.baluster_length, raked.baluster_tip) == (31.0, 31.0 + (1.125 if ends == RAKE else 0.0))


def test_connectors_and_let_ins_mean_nothing_on_the_face() -> None:
    """Only the laps count: 25.5 + 2 + 2."""
    guard = on_level(60.0, baluster_place=ON_FACE, overlap_top=2.0, overlap_bottom=2.0, let_in_top=0.5, seat_top=0.25)

    assert guard.only("lines").guard.baluster_length == 29.5


def test_square_cut_between_raked_rails_still_loses_its_width() -> None:
    """The same stairs between the rails: 25.5 - 1.5 x 0.75."""
    assert on_stair(60.0, baluster_ends=SQUARE).only("lines").guard.baluster_length == 24.375


# changes, guard height: clearance 3 + cap and rails 8 + the baluster less what enters the rails, plus seats
BOUGHT: tuple[tuple[dict[str, Any], float], ...] = (
    ({}, 43.0),  # 3 + 8 + 32
    ({"let_in_top": 0.5, "let_in_bottom": 0.25}, 42.25),  # 32 - 0.75 seen
    ({"seat_top": 0.25, "seat_bottom": 0.25}, 43.5),  # 32 held off by 0.5
    ({"baluster_place": ON_FACE, "overlap_top": 3.0, "overlap_bottom": 2.5}, 37.5),  # 32 - 5.5 seen
)


@pytest.mark.parametrize(("changes", "height"), BOUGHT)
def test_level_guard_follows_from_bought_balusters(changes: dict[str, Any], height: float) -> None:
    worked = on_level(60.0, baluster_level_length=32.0, **changes)
    guard = worked.only("lines").guard

    assert (guard.guard_height, guard.baluster_length, guard.baluster_tip) == (height, 32.0, 32.0)
    assert worked.row("cut_list", part="Baluster").length == 32.0
    assert worked.row("posts", post="P1").post_uphill == height - 1.0  # under the cap


@pytest.mark.parametrize("ends", [SQUARE, RAKE])
def test_stair_guard_follows_from_bought_balusters(ends: str) -> None:
    """0.5 + 10 + 32; used uncut they end square, and between raked rails need 1.5 x 0.75 = 1.125 more of room."""
    guard = on_stair(60.0, baluster_stair_length=32.0, baluster_ends=ends).only("lines").guard

    assert (guard.guard_height, guard.baluster_length) == pytest.approx((43.625, 32.0))
    assert (guard.opening, guard.baluster_tip, guard.baluster_angle) == pytest.approx((33.125, 32.0, 0.0))


def test_ramp_takes_the_length_bought_for_slopes_and_the_clearance_of_the_level() -> None:
    """5 in 60: secant 1.00347; 3 + 8 x 1.00347 + 32, and 1.5 x 5/60 = 0.125 for its square ends."""
    worked = work(ramp(60.0, 5.0), assemblies=(kind(baluster_level_length=30.0, baluster_stair_length=32.0),))
    guard = worked.only("lines").guard

    assert guard.guard_height == pytest.approx(35.125 + 8.0 * (1 + (5 / 60) ** 2) ** 0.5)
    assert guard.baluster_length == pytest.approx(32.0)


def test_each_kind_of_run_takes_its_own_bought_length() -> None:
    """Level 32, stairs 30: 43 in and 0.5 + 10 + 30 + 1.125 (square ends on the rake) = 41.625 in."""
    assembly = kind(baluster_level_length=32.0, baluster_stair_length=30.0)
    worked = work(level(60.0), stair(60.0, 45.0, from_support="P3", to_support="P4", upper_setback=3.0),
                  assemblies=(assembly,), flights=SEVENS)  # fmt: skip

    assert worked.row("lines", run="A").guard.guard_height == 43.0
    assert worked.row("lines", run="S").guard.guard_height == pytest.approx(41.625)


@pytest.mark.parametrize("ends", [SQUARE, RAKE])
def test_stair_meets_the_level_guard_that_bought_balusters_set(ends: str) -> None:
    """The level guard is 3 + 8 + 32 = 43. In line, undersides meet over the middle of the top post, 3 + 1.75 in from
    the edge of the deck: 43 - 1 + 1.25 - 4.75 x 0.75 = 39.6875. Balusters there are cut to fit: 39.6875 - 0.5 - 10,
    less 1.125 when square."""
    up = stair(60.0, 45.0, height=MEETS, upper_setback=3.0)
    on = level(60.0, from_support="P2", to_support="P3")
    worked = work(up, on, assemblies=(kind(baluster_level_length=32.0, baluster_ends=ends),), flights=SEVENS)
    flat, raked = worked.row("lines", run="A").guard, worked.row("lines", run="S").guard

    assert (flat.guard_height, flat.baluster_length) == (43.0, 32.0)
    assert raked.guard_height == pytest.approx(39.6875)
    assert raked.baluster_length == pytest.approx(29.1875 - (1.125 if ends == SQUARE else 0.0))


def test_bought_length_that_a_meeting_guard_cannot_have_is_told() -> None:
    """Stairs that meet the level guard need 29.1875 in balusters there; 32 in ones were bought for them."""
    up = stair(60.0, 45.0, height=MEETS, upper_setback=3.0)
    on = level(60.0, from_support="P2", to_support="P3")
    bought = kind(baluster_level_length=32.0, baluster_stair_length=32.0)
    worked = work(up, on, assemblies=(bought,), flights=SEVENS)

    assert any("bought" in each for each in said(worked))


def test_gap_of_turned_balusters_is_taken_where_they_are_thin() -> None:
    """1-1/2 in squares turned down to 3/4: 72 in takes floor((72 - 4) / 4.75) + 1 = 15, gaps (72 - 15 x 0.75) / 16;
    thirteen, enough for straight ones, would leave (72 - 9.75) / 14 = 4.45 at the neck."""
    layout = on_level(72.0, baluster_least_width=0.75).only("baluster_layout")

    assert (layout.count, layout.gap, layout.end_gap) == (15, 3.796875, 3.796875)
    assert layout.marks[0] == 4.1875  # 3.796875 + 0.375 = 4.171875, on sixteenths half up


def test_turned_balusters_lose_their_full_width_when_cut_square() -> None:
    """The ends are as wide as they were: 25.5 - 1.5 x 0.75."""
    guard = on_stair(60.0, baluster_least_width=0.75, baluster_ends=SQUARE).only("lines").guard

    assert guard.baluster_length == 24.375


def test_turned_balusters_at_a_fixed_pitch() -> None:
    """72 in at 5 in: (72 - 0.75 - 5 (n - 1)) / 2 under 4 takes n = 14, ends (71.25 - 65) / 2 = 3.125; marked on their
    centres, 3.125 + 0.375 = 3.5."""
    layout = on_level(72.0, baluster_least_width=0.75, baluster_pitch=5.0).only("baluster_layout")

    assert (layout.count, layout.gap, layout.end_gap) == (14, 4.25, 3.125)
    assert layout.marks[0] == 3.5


def test_end_gap_too_small_for_the_bracket_is_told() -> None:
    """59-1/2 in at 5 in takes twelve and leaves 1-1/2 in beside the posts; the bracket needs 2."""
    told = on_level(59.5, baluster_pitch=5.0, least_end_gap=2.0)
    quiet = on_level(59.5, baluster_pitch=5.0, least_end_gap=1.5)

    assert told.only("baluster_layout").least_end_gap == 1.5
    assert len(said(told)) == len(said(quiet)) + 1


def said(worked: Worked) -> list[str]:
    """All that is said of a job, a failed check included."""
    return [each.what for each in (*worked.problems, *worked.rows["warnings"])]


@pytest.mark.parametrize("end", ["from", "to"])
def test_no_room_beside_the_last_baluster_is_refused_at_either_end(end: str) -> None:
    """A support that leans 7 degrees away takes 25.5 tan 7 = 3.131 in off the end gap at the bottom rail. The widest
    clear is 60 + 27.25 tan 7 = 63.346: eleven 1-1/2 in balusters leave gaps of 3.904, so 0.773 is left there."""
    run = level(60.0, clear_top=None, **{f"lean_{end}": 7.0})
    refused, roomy = (work(run, assemblies=(kind(bracket_fit=fit),)) for fit in (1.0, 0.5))
    least = min(row.least_end_gap for row in roomy.rows["baluster_layout"])

    assert least == pytest.approx(0.773, abs=5e-4)
    assert (len(refused.rows["sections"]), len(roomy.rows["sections"])) == (0, 1)
    assert any("and the baluster beside it at the bottom rail" in each for each in said(refused))
    assert not any("baluster beside it" in each for each in said(roomy))
