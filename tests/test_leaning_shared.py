"""Leaning posts that runs share, the formulas of all leaning posts, and what is told of them."""

import math
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN, STATUS
from railbook.basics.problem import LOOK
from railbook.geometry import lines
from railbook.job.assemblies import Assembly
from railbook.job.build import build
from railbook.job.flights import Flight
from railbook.job.runs import MEETS, OWN, Run
from railbook.job.supports import KEEP, LOWER, RAISE, STAND_PROUD, Support
from tests.drawn_leaning import (
    EXACT,
    OLD,
    RAILING,
    STEPS,
    UP,
    Case,
    Plane,
    flown,
    random_case,
    upper_end,
    vector,
)  # fmt: skip
from tests.recalculation import LibreOffice, differences, formula_cells
from tests.small_jobs import Worked, level, stair, tabs, work
from tests.strategies import computed


def met_in_line(seed: int, **changes: Any) -> tuple[Worked, float, float]:
    """A flight whose guard meets a level one straight on, over a post that leans; with its lean and its width."""
    draw = random.Random(seed)
    lean, width = draw.uniform(-4.0, 4.0), draw.choice((3.5, 4.25))
    railing = replace(RAILING, sleeve_width=width, post_width=width - 0.75, cap_thickness=draw.choice((1.0, 1.5)))
    up = stair(62.5, 48.4375, lower_setback=1.25, upper_setback=draw.uniform(0.0, 4.0), clear_top=None, direction=0.0,
               lean_to=lean, assembly=RAILING.assembly, **changes)  # fmt: skip
    on = level(60.0, from_support="P2", to_support="P3", direction=0.0, lean_from=-lean, clear_top=None,
               assembly=RAILING.assembly)  # fmt: skip
    return work(up, on, assemblies=(railing,), flights=(STEPS,), supports=OLD), lean, width


@pytest.mark.parametrize("seed", range(40))
def test_a_guard_that_meets_a_level_one_meets_it_on_the_axis_of_the_post(seed: int) -> None:
    """Both undersides go through one point of it; the post has its joint there, along itself."""
    worked, lean, width = met_in_line(seed, height=MEETS)
    guard, post = worked.row("lines", run="S").guard, worked.row("posts", post="P2")
    under = 36.5 - (guard.measures.assembly.cap_thickness or 0.0)
    plumb = (guard.guard_height or 0.0) - (36.5 - under) * math.hypot(1.0, 0.775)
    drawn = upper_end((7.75, 10.0), guard.measures.upper_setback or 0.0, plumb, width, (lean, 0.0))
    axis = drawn.cap.met(drawn.foot(width / 2), drawn.axis)

    assert axis[2] == pytest.approx(under, abs=EXACT)
    assert (post.stands, post.worked.crest) == ("Bend", pytest.approx(under, abs=EXACT))
    assert post.worked.crossing == pytest.approx(width / math.cos(math.radians(lean)) / 2, abs=EXACT)
    assert post.joint_height == pytest.approx(under / math.cos(math.radians(lean)), abs=1 / 32 + EXACT)
    near = drawn.along(0.0)
    assert post.worked.trim_downhill == pytest.approx(near, abs=EXACT)
    caps = {each.run: each for each in worked.rows["caps"]}
    reach = abs(drawn.cap.met(drawn.foot(0.0), drawn.axis)[0] - axis[0])
    assert caps["S"].to_reach == pytest.approx(reach, abs=EXACT)


def test_a_bend_beside_the_middle_of_a_leaning_post_is_where_the_two_undersides_cross() -> None:
    """Flights of their own height whose caps cross the level one within the bearing: from the downhill face there."""
    seen = 0
    for seed in range(200):
        worked, lean, width = met_in_line(seed, height=OWN)
        post, line = worked.row("posts", post="P2"), worked.row("lines", run="S")
        if post.stands != "Bend":
            continue
        seen += 1
        thick = line.measures.assembly.cap_thickness or 0.0
        plumb = 36.5 - thick * math.hypot(1.0, 0.775)
        drawn = upper_end((7.75, 10.0), line.measures.upper_setback or 0.0, plumb, width, (lean, 0.0))
        crossing = Plane(vector(0.0, 0.0, 36.5 - thick), UP).met(drawn.cap.at, vector(1.0, 0.0, drawn.rise))
        face = drawn.foot(0.0) + drawn.axis * crossing[2] / drawn.axis[2]  # as high as that
        assert post.worked.crossing == pytest.approx(abs(crossing[0] - face[0]), abs=EXACT)
        assert post.worked.crest == pytest.approx(crossing[2], abs=EXACT)
    assert seen > 5


# both sides of the double entry, what asks for another run, what is told


def renamed(case: Case, number: int) -> tuple[list[Run], Assembly, tuple[Flight, ...], list[Support]]:
    """A case with marks of its own."""
    marks = {mark: f"{mark} {number}" for mark in ("P1", "P2", "P3")}

    def own(run: Run, assembly: str) -> Run:
        return replace(
            run, run=f"{run.run} {number}", from_support=marks[run.from_support or ""],
            to_support=marks[run.to_support or ""], assembly=assembly, flight=run.flight and f"{run.flight} {number}",
        )  # fmt: skip

    railing = replace(case.assembly, assembly=f"RAIL {number}")
    runs = [own(case.run, railing.assembly), *([own(case.beside, "LOW")] if case.beside else [])]
    steps = tuple(replace(each, flight=f"{each.flight} {number}") for each in case.flights)
    return runs, railing, steps, [replace(each, support=marks[each.support]) for each in OLD]


def many() -> dict[str, Any]:
    """Leaning posts of every kind in one job: proud ones among them, and guards that meet others each way."""
    railings, steps = [replace(RAILING, assembly="LOW", level_height=30.0)], list[Flight]()
    runs, supports = list[Run](), list[Support]()
    for number in range(36):
        case = random_case(number)
        if number % 5 == 4:
            case = case._replace(assembly=replace(case.assembly, post_proud=1.0))
        more = renamed(case, number)
        runs += more[0]
        railings.append(more[1])
        steps += more[2]
        supports += more[3]
    for number, (turn, wish) in enumerate(((t, w) for t in (0.0, 90.0) for w in (RAISE, LOWER, KEEP, STAND_PROUD)), 50):
        aside = 2.0 if turn else None
        up = stair(62.5, 48.4375, lower_setback=1.25, upper_setback=2.0, clear_top=None, direction=0.0, lean_to=1.5)
        on = level(60.0, from_support="P2", to_support="P3", direction=turn, lean_from=aside or -1.5, clear_top=None)
        case = Case("top", replace(up, height=MEETS if wish == KEEP else OWN), on, RAILING, (STEPS,),
                    upper_end((7.75, 10.0), 2.0, 36.5, 4.25, (1.5, 0.0)))  # fmt: skip
        own_runs, railing, own_steps, own_supports = renamed(case, number)
        runs += [replace(each, assembly=railing.assembly) for each in own_runs]
        railings.append(railing)
        steps += own_steps
        supports += [replace(each, heights=wish if each.support.startswith("P2") else None) for each in own_supports]
    return tabs(*runs, assemblies=railings, flights=steps, supports=supports)


def test_libreoffice_finds_no_difference(libreoffice: LibreOffice, tmp_path: Path) -> None:
    made = tmp_path / "leaning.xlsx"
    job = computed(many())
    estimate.write(job, made)
    (again,) = libreoffice.recalculated([made])

    assert {each.words.lean != "" for each in (post.worked for post in job.rows["posts"])} == {True, False}
    assert {"Bend", "Lower end", "Upper end", "Ramp", "Level"} <= {post.stands for post in job.rows["posts"]}
    assert not differences(formula_cells(made), formula_cells(again))


@pytest.mark.parametrize(("was", "now", "asks"), [(None, 1.0, 1), (0.0, 1.0, 0), (1.0, None, 0), (1.0, -2.0, 0)])
def test_a_lean_where_none_was_recorded_asks_for_another_run(was: float | None, now: float | None, asks: int) -> None:
    """Where one was, how far the post leans is live, and one that was cleared leaves it plumb."""
    worked = flown(lean_from=was)
    typed = replace(worked.row("runs", run="S"), lean_from=now)
    job, _ = build(tabs(typed, assemblies=(RAILING,), flights=(STEPS,), supports=OLD))
    assert job is not None
    rows = estimate.lay_out(job, worked.choices)
    (line,), (post, _) = rows["lines"], rows["posts"]
    anew = flown(lean_from=now).row("posts", post="P1")

    assert line.leans_anew == asks
    assert (lines.TAB.column(STATUS).value(line) == RUN_AGAIN) == asks
    assert (post.worked.trim_uphill == pytest.approx(anew.worked.trim_uphill)) != asks


def test_an_end_without_a_lean_of_its_own_has_what_two_clears_tell_beyond_the_other() -> None:
    """A lean of 0 at From and a clear that is half an inch wider at the top: the upper post leans away."""
    run = stair(62.5, 48.4375, lower_setback=1.25, upper_setback=1.25, clear_top=63.0, lean_from=0.0)
    worked = work(run, flights=(STEPS,), supports=OLD)
    posts = {each.post: each.worked for each in worked.rows["posts"]}

    assert posts["P1"].lean == 0.0
    assert posts["P2"].lean == worked.only("lines").lean.to_lean > 0.5


def told(worked: Worked, about: str) -> list[str]:
    """What Warnings has of that, with the remedy."""
    rows = [each for each in worked.rows["warnings"] if each.severity == LOOK]
    return [f"{each.what}: {each.remedy}" for each in rows if about in f"{each.what} {each.remedy}"]


def test_a_setback_of_a_leaning_post_that_was_not_taped_is_asked_for() -> None:
    assert not told(flown(lean_from=2.0, lean_to=1.0), "follows from the clear")

    (lower,) = told(flown(lean_from=2.0, lower_setback=None), "follows from the clear")
    assert "support P1 of run S leans" in lower
    assert "tape the lower setback" in lower
    assert not told(flown(lean_to=2.0, lower_setback=None), "follows from the clear")


def test_blocks_beside_a_leaning_foot_are_told_how_far_off_they_are() -> None:
    """By hand: the bottom rail's middle meets the near face (7.75 - 1.25 x 0.775 + 1 + 1.75 x 1.265158) / 1.027064 over
    the surface, which is 9.73; times tan 2 it is 0.34, 5/16 on the tape of sixteenths."""
    railing = {"stair_clearance": 1.0, "bottom_rail_depth": 3.5, "block_spacing": 24.0}

    def asked(lean: float, **more: Any) -> list[str]:
        sizes = replace(RAILING, **{**railing, **more})
        run = stair(62.5, 48.4375, lower_setback=1.25, upper_setback=1.25, clear_top=None, lean_from=lean,
                    assembly=RAILING.assembly)  # fmt: skip
        return told(work(run, assemblies=(sizes,), flights=(STEPS,), supports=OLD), "at the bottom rail its face is")

    (away,) = asked(2.0)
    assert '5/16" further from the nosings' in away
    assert "nearer to the nosings" in asked(-2.0)[0]
    assert not asked(2.0, block_spacing=None)
    assert not asked(0.2)


@pytest.mark.parametrize(
    ("direction", "lean", "says"),
    [
        (0.0, None, "run L says nothing of it"),
        (None, None, "run L says nothing of it"),
        (0.0, 1.5, "1.5 degrees by run S and 1.5 by run L"),
        (45.0, None, "hold the level along it too"),
        (0.0, -1.5, ""),
        (90.0, None, ""),
    ],
)
def test_a_lean_that_the_other_run_of_the_post_contradicts_or_does_not_have_is_told(
    direction: float | None, lean: float | None, says: str
) -> None:
    """Straight on, also where no direction was taken, and askew; square to it the other run knows nothing of it."""
    up = stair(62.5, 48.4375, lower_setback=1.25, upper_setback=2.0, clear_top=None, direction=0.0, lean_to=1.5)
    on = level(60.0, run="L", from_support="P2", to_support="P3", direction=direction, lean_from=lean, clear_top=None)
    found = told(work(up, on, flights=(STEPS,), supports=OLD), "support P2 leans")
    shared = [each for each in found if "loose" not in each]

    assert len(shared) == bool(says)
    assert all(says in each for each in shared)


def test_a_leaning_post_between_level_runs_at_a_corner_is_as_long_as_both_leans_ask() -> None:
    """By hand: 35 1/2 plumb; tangents 0.0349208 and 0.0524078, so 35.5 x sqrt(1 + 0.0012195 + 0.0027466) = 35.57033."""
    one = level(60.0, direction=0.0, lean_to=2.0, clear_top=None)
    other = level(60.0, run="B", from_support="P2", to_support="P3", direction=90.0, lean_from=3.0, clear_top=None)
    post = work(one, other, supports=OLD).row("posts", post="P2")

    assert (post.worked.trim_downhill, post.worked.trim_uphill) == pytest.approx((35.57033, 35.57033), abs=1e-5)
    assert sorted((abs(post.top_angle), post.across_angle)) == pytest.approx([2.0, 3.0], abs=EXACT)
    assert post.top_angle == post.foot_angle
