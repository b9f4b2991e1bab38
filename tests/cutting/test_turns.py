"""More work only adds to what was found: no plan gets dearer, no bound falls; and how much work is usual."""

import random
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from railbook.cutting.pieces import Board, Material, Piece, Saw
from railbook.cutting.plan import plan, plan_all
from railbook.cutting.proof import check_bound
from railbook.cutting.result import Plan
from tests.benchmarks.jobs import job
from tests.cutting.drawn import BOARDS, ENDS_OF_ALL_KINDS, EXACT, pieces_with
from tests.cutting.test_told_cost import hard

MORE_AND_MORE = (0.0, 0.01, 0.03, 0.08, 0.2, 0.5)


def grow_better(plans: list[Plan]) -> None:
    """Plans of one material by more and more work; where boards do not suffice, fewer pieces left out come first."""
    for found, later in pairwise(plans):
        missing, fewer = (sum(number for _, number in each.missing) for each in (found, later))
        assert fewer <= missing
        assert fewer < missing or later.cost <= found.cost
        assert fewer < missing or later.bound >= found.bound
        assert later.proven or not found.proven
        assert later.work >= found.work


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.integers(2, 4))
def test_more_work_for_several_materials_never_makes_one_of_them_worse(seed: int, number: int) -> None:
    """Hard ones share the work, so that what one takes the others do not have."""
    materials = [hard(seed + at) for at in range(number)]

    for plans in zip(*(plan_all(materials, seconds=seconds) for seconds in MORE_AND_MORE), strict=True):
        grow_better(list(plans))


@settings(max_examples=40)
@given(pieces_with(ENDS_OF_ALL_KINDS, kinds=7, count=5), BOARDS)
def test_more_work_never_makes_pieces_of_two_slopes_worse(pieces: list[Piece], boards: list[Board]) -> None:
    """Their bound comes from a search of its own."""
    grow_better([plan(pieces, boards, EXACT, seconds=seconds) for seconds in MORE_AND_MORE])


@pytest.mark.parametrize("seed", range(2))
def test_more_work_never_makes_a_job_of_a_hundred_sections_worse(seed: int) -> None:
    materials = job(100, seed, custom=True)
    tries = [plan_all(materials, seconds=seconds) for seconds in (*MORE_AND_MORE, 1.5)]

    for material, plans in zip(materials, zip(*tries, strict=True), strict=True):
        grow_better(list(plans))
        bounds = [check_bound(material.pieces, material.boards, material.saw, found.proof) for found in plans]
        assert bounds == sorted(bounds)


def all_different(seed: int, number: int) -> Material:
    """Rails of level and stair sections, hardly two alike, nearly every stair at a slope of its own."""
    draw = random.Random(seed)
    slopes = [0.0] * 30 + [draw.randint(108, 124) / draw.randint(160, 176) for _ in range(10)]
    pieces = [
        Piece(str(at), draw.randint(30 * 16, 95 * 16) / 16, slope, slope, count=2)
        for at, slope in enumerate(draw.choice(slopes) for _ in range(number))
    ]
    boards = [Board(f"{feet} ft", 12.0 * feet, price) for feet, price in ((8, 6.4), (10, 8.9), (12, 9.8), (16, 13.6))]
    return Material(tuple(pieces), tuple(boards), Saw(1 / 8, 1 / 4, 3.5, 24.0))


@pytest.mark.parametrize(
    ("materials", "seconds", "gap"),
    [
        (job(10, 1, custom=True), 0.1, 0.0),
        (job(30, 0, custom=True), 0.3, 0.0),
        (job(100, 1, custom=True), 0.6, 0.003),
        ((all_different(1, 100),), 0.6, 0.02),
        ((all_different(1, 1_000),), 4.0, 0.04),
    ],
    ids=["10 sections", "30 sections", "100 sections", "100 rails at 10 slopes", "1,000 rails at 10 slopes"],
)
def test_the_usual_work_is_little_and_comes_near(materials: tuple[Material, ...], seconds: float, gap: float) -> None:
    """Counted, so that the same is found on any machine; goals of this project, no source."""
    plans = plan_all(materials, seconds=None)

    assert sum(found.work for found in plans) < seconds
    assert sum(found.gap for found in plans) <= gap * sum(found.cost for found in plans)


def test_what_is_told_of_long_work_says_how_far_it_is() -> None:
    said: list[str] = []
    plans = plan_all(job(30, 0, custom=True), seconds=None, tell=said.append)

    assert said[0] == "planning boards: the longest pieces first"
    assert said[1].startswith("planning boards: 0 of 3 plans proven best, ")
    assert f"{sum(found.proven for found in plans[:-1])} of 3" in said[-1]
