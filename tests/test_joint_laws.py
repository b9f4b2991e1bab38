"""Laws of joints on random pairs of guards at one post: what was chosen holds, and every cure of a clash cures it."""

import math
import random
from collections import Counter

import pytest

from railbook.geometry.joining import pair
from railbook.geometry.joints import (
    BEND,
    CLASH,
    CUT_OFF,
    DIES,
    EDGE,
    FLUSH,
    OPEN_END,
    REFUSED,
    STEP,
    Arm,
    bend_past,
    edge_apart,
    is_square,
    is_straight,
    play_of,
    slip,
    turned,
)
from railbook.geometry.margins import Terms, margin_of, way_of

PLAY = play_of("in")
TURNS = (0.0, 0.0, 90.0, -90.0, 22.5, 45.0, 60.0, 120.0, 135.0, 165.0)
SEEDS = range(3000)


def arm(draw: random.Random, away: float) -> Arm:
    """A level guard, a flight or a ramp, up or down, at some height."""
    half, thick = 2.125, draw.choice((1.0, 1.0, 1.0, 1.5))
    rise = draw.choice((0.0, 0.0, 0.775, -0.775, 1 / 12, -1 / 12, 0.6))
    high = draw.choice((35.5, 35.5, draw.uniform(30.0, 44.0)))
    return Arm(away, rise, half, high, thick, thick * math.hypot(1.0, rise), draw.choice((3.5, 5.5, 7.25)), 0.75)


def two(seed: int) -> tuple[Arm, Arm]:
    draw = random.Random(seed)
    return arm(draw, 180.0), arm(draw, draw.choice(TURNS) % 360.0)


def held(kinds: tuple[str, str], own: Arm, met: Arm) -> Terms:
    """The joint as it is chosen for the first of two runs."""
    over = kinds[0] in (OPEN_END, CUT_OFF)
    return Terms(
        joint=kinds[1] if over else kinds[0], over=over, ends=("to", "from"), levels=(own.is_level, met.is_level),
        way=way_of(turned(own, met)), short=CUT_OFF in kinds, even=abs(own.thick - met.thick) < 1e-6, play=PLAY,
    )  # fmt: skip


def margins(own: Arm, met: Arm) -> tuple[float | None, float | None]:
    """What both ends of a joint say is left, and it is the same."""
    kinds, way = pair(own, met, PLAY), turned(own, met)
    return margin_of(held(kinds, own, met), own, met, way), margin_of(held(kinds[::-1], met, own), met, own, -way)


def test_what_was_chosen_holds_and_both_ends_say_so() -> None:
    met: Counter[str] = Counter()
    for seed in SEEDS:
        own, other = two(seed)
        met.update(set(pair(own, other, PLAY)))
        here, there = margins(own, other)
        assert here is None or here >= -1e-6
        assert here == pytest.approx(there)

    assert min(met[kind] for kind in (BEND, DIES, EDGE, STEP, CLASH, OPEN_END, CUT_OFF)) > 5


def lowered(one: Arm, by: float) -> Arm:
    return one._replace(middle=one.under - by)


def clashes() -> list[tuple[Arm, Arm]]:
    found = [each for each in map(two, SEEDS) if pair(*each, PLAY)[0] == CLASH]
    assert len(found) > 100
    return found


def test_lowering_one_guard_by_what_it_lacks_lets_it_end_under_the_other() -> None:
    for one, other in clashes():
        way = turned(one, other)
        for cover, low in ((one, other), (other, one)):
            room = slip(cover, low, way, cover.overhang)
            assert DIES in pair(cover, lowered(low, -room + 1e-6), PLAY) or BEND in pair(cover, low, PLAY)


def test_bringing_two_caps_nearer_makes_them_bend() -> None:
    number = 0
    for one, other in clashes():
        bends = one.rise + other.rise
        if is_straight(turned(one, other)) and one.thick == other.thick and abs(bends) > 0.01:
            past = bend_past(one, other)
            short = (abs(past) - one.half + PLAY.bearing) * abs(bends) + 1e-6
            nearer = lowered(one, math.copysign(short, one.under - other.under))
            assert pair(nearer, other, PLAY) == (BEND, BEND)
            number += 1
    assert number > 10


def test_moving_a_raked_cap_by_what_the_tops_differ_makes_it_flush() -> None:
    number = 0
    for one, other in clashes():
        level, raked = (one, other) if one.is_level else (other, one)
        if is_square(turned(one, other)) and level.is_level and not raked.is_level:
            apart = edge_apart(level, raked, turned(one, other))
            flush = lowered(raked, apart)
            assert pair(level, flush, PLAY)[1] == FLUSH
            assert margins(level, flush) == pytest.approx((PLAY.apart, PLAY.apart))
            number += 1
    assert number > 20


def test_a_turn_that_all_but_reverses_is_refused_at_any_height() -> None:
    for seed in range(50):
        own, other = two(seed)
        assert pair(own, other._replace(away=185.0), PLAY) == (REFUSED, REFUSED)
