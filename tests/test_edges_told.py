"""What is told of the deck's edge, and what a workbook says of it after an edit.

Posts are 4 1/4 against the fascia, so that the middle of the guard stands 2 1/8 outside; rails are 1 1/2 wide. At a
square corner two posts a and b from it are as far apart as the third side of a right triangle: 2 3/4 and 2 3/4 leave
3.889, 2 13/16 twice 3.977, so that with a sixteenth to spare 2 3/4 is the most.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks import demands, edges
from railbook.checks.check import FAIL, NOT_REQUIRED, PASS
from railbook.checks.edges import edge_problems
from railbook.estimate import Estimate
from railbook.geometry.survey import lay_out_site
from railbook.job.assemblies import INSIDE_RIM, ON_CONCRETE, ON_FACE, ON_FASCIA, ON_SURFACE, Assembly
from railbook.job.build import build
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, POST, WALL, Support
from railbook.tabs import TABS, Rows
from tests.recalculation import WRONG, LibreOffice, Outcome, Shown, formula_cells, with_old_checks
from tests.small_jobs import WOOD, Worked, flight, level, ramp, stair, tabs, work

BARE = replace(
    WOOD, post_width=4.25, mount=ON_FASCIA, bottom_rail_width=1.5, level_clearance=3.5, greatest_spacing=1000.0
)
TALL = replace(BARE, assembly="TALL", level_height=42.0)
FIRST = level(60.0, direction=90.0, assembly=BARE.assembly)
RIGHT = level(60.0, run="B", from_support="P2", to_support="P3", direction=180.0, assembly=BARE.assembly)
BEYOND = replace(RIGHT, from_support="P3", to_support="P4")
PAIR = (Support("P2", POST, from_corner=2.5, corner_post="P3"), Support("P3", POST, from_corner=2.5))


def worked(*runs: Run, there: Sequence[Support] = (), railings: Sequence[Assembly] = (BARE, TALL)) -> Worked:
    return work(*runs, assemblies=tuple(railings), supports=tuple(there))


def told(*runs: Run, there: Sequence[Support] = (), **sizes: Any) -> list[Problem]:
    """What is told of the edge; sizes are those of the railing."""
    made = worked(*runs, there=there, railings=(replace(BARE, **sizes), TALL))
    return list(edge_problems(lay_out_site(made.job, made.choices.site)))


# one post that two runs share


def test_a_post_on_the_fascia_at_an_outside_corner_is_told_with_its_cure() -> None:
    (problem,) = told(FIRST, RIGHT)

    assert problem.severity == LOOK
    assert problem.where == "support P2"
    assert "from run A to run B the guard turns 90 degrees right, round an outside corner" in problem.what
    assert 'near faces at most 2 3/4" from the corner' in problem.remedy
    assert "Corner post on tab Supports" in problem.remedy
    assert "its middle 2 1/8\" and the rim's thickness in from both edges" in problem.remedy


def test_the_cure_counts_the_spacers() -> None:
    """2 1/4 in: 3.9375 is 2.784 square to 2.784, of which the spacer has 1/2."""
    (problem, _), (thick, _) = (told(FIRST, RIGHT, spacer=spacer) for spacer in (0.5, 3.0))

    assert 'near faces at most 2 1/4" from the corner' in problem.remedy
    assert thick.remedy.startswith("choose Mount: Inside rim")


FINE: dict[str, tuple[tuple[Run, ...], dict[str, Any]]] = {
    "an inside corner": ((FIRST, replace(RIGHT, direction=0.0)), {}),
    "straight on": ((FIRST, replace(RIGHT, direction=90.5)), {}),
    "no direction": ((FIRST, replace(RIGHT, direction=None)), {}),
    "inside the rim": ((FIRST, RIGHT), {"mount": INSIDE_RIM}),
    "on the surface": ((FIRST, RIGHT), {"mount": ON_SURFACE}),
    "its own mount": ((FIRST, RIGHT), {"mount": INSIDE_RIM, "there": (Support("P2", POST, mount=INSIDE_RIM),)}),
    "a post that stands": ((FIRST, RIGHT), {"there": (Support("P2", POST, EXISTING),)}),
    "a wall": ((FIRST, RIGHT), {"there": (Support("P2", WALL),)}),
    "a ramp that goes on": ((FIRST, ramp(60.0, 4.0, from_support="P2", to_support="P3", direction=180.0)), {}),
    "two posts": ((FIRST, BEYOND), {"cap_thickness": None, "level_height": 36.0, "there": PAIR}),
}


@pytest.mark.parametrize("what", FINE)
def test_nothing_is_told_where_posts_can_stand(what: str) -> None:
    runs, more = FINE[what]

    assert told(*runs, **more) == []


def test_a_corner_that_is_walked_both_ways_cannot_be_told() -> None:
    back = replace(RIGHT, from_support="P3", to_support="P2", direction=0.0)
    (problem,) = told(FIRST, back)

    assert "runs A and B both end here" in problem.what
    assert "From is the left end of a level run seen from the deck" in problem.remedy


def test_a_post_inside_the_rim_at_an_inside_corner_is_told() -> None:
    (problem,) = told(FIRST, replace(RIGHT, direction=0.0), mount=INSIDE_RIM)

    assert problem.severity == LOOK
    assert "90 degrees left, round an inside corner of the deck: one post inside the rim" in problem.what
    assert "rim that runs on past the corner" in problem.remedy


# two posts round a corner


def test_caps_over_a_corner_are_told_with_their_reach() -> None:
    """2 1/2 to the corner and 2 1/8 beyond."""
    (problem,) = told(FIRST, BEYOND, there=PAIR)

    assert problem.severity == NOTE
    assert problem.where == "supports P2 and P3"
    assert 'run A 4 5/8" and run B 4 5/8"' in problem.what


def test_caps_of_two_heights_do_not_meet_over_a_corner() -> None:
    (problem,) = told(FIRST, replace(BEYOND, assembly="TALL"), there=PAIR)

    assert "caps do not meet over the deck's corner" in problem.what
    assert 'run A 4 5/8" and run B 4 5/8"' in problem.what


FAULTS: dict[str, tuple[tuple[Run, ...], tuple[Support, ...], str]] = {
    "turns left": ((FIRST, replace(BEYOND, direction=0.0)), PAIR, "turns left, as round an inside corner"),
    "no direction": ((FIRST, replace(BEYOND, direction=None)), PAIR, "not to the right"),
    "both end": (
        (FIRST, replace(BEYOND, from_support="P4", to_support="P3", direction=0.0)), PAIR, "runs A and B both end",
    ),
    "not on the fascia": (
        (FIRST, BEYOND), (PAIR[0], replace(PAIR[1], mount=INSIDE_RIM)), "do not both stand on the fascia",
    ),
    "no such post": ((FIRST, BEYOND), (replace(PAIR[0], corner_post="P9"),), "a post at the end of one level run"),
    "itself": ((FIRST, BEYOND), (replace(PAIR[0], corner_post="P2"),), "a post at the end of one level run"),
    "a wall": ((FIRST, BEYOND), (PAIR[0], replace(PAIR[1], kind=WALL)), "a post at the end of one level run"),
    "a post of two runs": (
        (FIRST, BEYOND, level(60.0, run="C", from_support="P2", to_support="P8", direction=90.0)), PAIR,
        "a post at the end of one level run",
    ),
    "two corners": (
        (FIRST, BEYOND), (PAIR[0], replace(PAIR[1], corner_post="P1")), "one of them guards another one already",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", FAULTS)
def test_posts_that_guard_no_corner_are_told(what: str) -> None:
    runs, there, fault = FAULTS[what]
    made = worked(*runs, there=there)
    found = list(edge_problems(lay_out_site(made.job, made.choices.site)))

    assert [each.severity for each in found if fault in each.what] == [LOOK]
    assert len(made.rows["deck_corners"]) == (what == "two corners")


def test_a_distance_without_a_post_round_the_corner_is_told() -> None:
    (problem,) = told(FIRST, there=(Support("P2", POST, from_corner=2.5),))

    assert problem.severity == NOTE
    assert "no post round that corner is named" in problem.what


@pytest.mark.parametrize(
    ("near", "spacer", "remedy"),
    [(3.0, None, 'set both at most 2 3/4" from the corner'), (3.0, 0.5, 'set both at most 2 1/4" from the corner'),
     (3.0, 3.0, "their spacers alone leave more")],
)  # fmt: skip
def test_a_wide_corner_fails_with_the_distance_that_passes(near: float, spacer: float | None, remedy: str) -> None:
    there = [replace(each, from_corner=near, spacer=spacer) for each in PAIR]
    check = worked(FIRST, BEYOND, there=there).check(edges.CORNER)

    assert check.verdict == FAIL
    assert check.remedy.startswith(remedy)


@pytest.mark.parametrize(
    ("drops", "verdict"),
    [((48.0, 48.0), FAIL), ((12.0, 48.0), FAIL), ((48.0, 12.0), FAIL), ((12.0, 12.0), NOT_REQUIRED)],
)
def test_a_corner_must_stop_the_sphere_where_either_guard_is_required(drops: tuple[float, float], verdict: str) -> None:
    runs = (replace(run, drop=drop) for run, drop in zip((FIRST, BEYOND), drops, strict=True))
    check = worked(*runs, there=[replace(each, from_corner=3.0) for each in PAIR]).check(edges.CORNER)

    assert check.verdict == verdict


# under the rail


UNDER: dict[str, tuple[dict[str, float], str]] = {  # sizes, and what makes the opening pass with a sixteenth to spare
    "too high": ({"level_clearance": 3.8}, 'from 3 13/16" to at most 3 11/16"'),  # 3.9375, 1.375: 3.690
    "too far out": ({"spacer": 2.0, "level_clearance": 3.0}, 'to at most 2"'),  # 3.9375, 3.375: 2.028
    "out of reach": ({"spacer": 3.0, "level_clearance": 3.0}, "the rail stands 4 3/8\" outside the deck's edge"),
}


@pytest.mark.parametrize("what", UNDER)
def test_the_opening_under_a_rail_fails_with_its_cure(what: str) -> None:
    sizes, cure = UNDER[what]
    check = worked(FIRST, railings=(replace(BARE, **sizes),)).check(demands.UNDER_RAIL)  # type: ignore[arg-type]

    assert check.verdict == FAIL
    assert cure in check.remedy


@pytest.mark.parametrize(("clearance", "spacer"), [(3.6875, 0.0), (2.0, 2.0)])
def test_what_a_cure_names_passes(clearance: float, spacer: float) -> None:
    railing = replace(BARE, level_clearance=clearance, spacer=spacer)

    assert worked(FIRST, railings=(railing,)).check(demands.UNDER_RAIL).verdict == PASS


# sleeves, crooked runs, balusters that hang


SLEEVED: dict[str, Any] = {"post_width": 3.5, "sleeve_width": 4.25}


def test_sleeves_that_pass_the_fascia_need_a_spacer() -> None:
    (problem,) = told(FIRST, **SLEEVED)

    assert problem.severity == LOOK
    assert "sleeves of posts on the fascia (P1, P2) come 3/8\" over the deck's edge" in problem.what
    assert 'a spacer of at least 3/8"' in problem.remedy


@pytest.mark.parametrize(
    ("sizes", "there", "posts"),
    [
        ({"spacer": 0.375}, (), ""),
        ({"spacer": 0.25}, (), "(P1, P2)"),
        ({}, (Support("P1", POST, spacer=0.5),), "(P2)"),
        ({"spacer": 0.5}, (Support("P1", POST, spacer=0.0),), "(P1)"),
        ({}, (Support("P1", POST, mount=INSIDE_RIM), Support("P2", POST, EXISTING)), ""),
        ({"mount": INSIDE_RIM}, (), ""),
    ],
)
def test_only_sleeves_without_room_are_told(sizes: dict[str, Any], there: tuple[Support, ...], posts: str) -> None:
    found = [each for each in told(FIRST, there=there, **SLEEVED, **sizes) if "sleeves" in each.what]

    assert len(found) == bool(posts)
    assert all(posts in each.what for each in found)


def test_line_posts_have_the_spacer_of_their_railing() -> None:
    (problem,) = told(replace(FIRST, sections=2), **SLEEVED)

    assert "A/1" in problem.what


@pytest.mark.parametrize(
    ("there", "said"),
    [
        (Support("P2", POST, spacer=1.5), '2 1/8" outside at P1, 3 5/8" outside at P2'),
        (Support("P2", POST, mount=ON_SURFACE), '2 1/8" outside at P1, not on the fascia at P2'),
    ],
)
def test_a_run_that_does_not_go_along_the_edge_is_told(there: Support, said: str) -> None:
    (problem,) = [each for each in told(FIRST, there=(there,)) if "spacers" not in each.what]

    assert problem.severity == LOOK
    assert said in problem.what


def test_posts_between_sections_that_stand_elsewhere_than_the_ends_are_told() -> None:
    there = (Support("P1", POST, mount=ON_SURFACE), Support("P2", POST, mount=ON_SURFACE))
    (problem,) = told(replace(FIRST, sections=2), there=there)

    assert told(FIRST, there=there) == []
    assert '2 1/8" outside between its sections' in problem.what


def test_bolts_must_cross_the_spacers() -> None:
    there = (Support("P2", POST, spacer=1.5), Support("P3", POST, spacer=0.0))
    (problem,) = [each for each in told(FIRST, BEYOND, there=there, spacer=0.5) if "spacers" in each.what]

    assert problem.severity == LOOK
    assert problem.where == "support P2"
    assert 'up to 1 1/2" off the fascia, on spacers (P1, P2, P4)' in problem.what


@pytest.mark.parametrize("mount", [INSIDE_RIM, ON_SURFACE])
def test_a_spacer_of_a_post_that_is_not_on_the_fascia_is_told(mount: str) -> None:
    (problem,) = told(FIRST, there=(Support("P2", POST, spacer=0.5),), mount=mount)

    assert "has a spacer, and does not stand on the fascia" in problem.what


def test_a_ramp_may_leave_the_edge() -> None:
    run = ramp(60.0, 4.0, assembly=BARE.assembly)

    assert told(run, there=(Support("P1", POST, mount=ON_CONCRETE),)) == []


FACED: dict[str, Any] = {"baluster_place": ON_FACE, "overlap_top": 2.0, "bottom_rail_depth": 1.5, "top_rail_depth": 3.5}
HANGING: dict[str, tuple[dict[str, Any], str, str]] = {  # 3 1/2 to the rail and 1 1/2 of it: 5 to the surface
    "over the deck": ({"mount": INSIDE_RIM}, LOOK, "its rails stand over the deck"),
    "near face": (
        {"bottom_rail_width": 0.75},
        NOTE,
        '1/4" outside its edge on the near face of the rails, 2 1/2" on',
    ),
    "far face": ({"baluster_width": 1.5}, NOTE, '2 7/8" outside its edge on the far face'),  # 1 3/8 less 1 1/2
    "thin": ({"baluster_thickness": 0.75}, NOTE, '5/8" outside its edge on the near face'),
}


@pytest.mark.parametrize("what", HANGING)
def test_balusters_that_end_below_the_deck_are_told(what: str) -> None:
    sizes, severity, said = HANGING[what]
    (problem,) = told(FIRST, **FACED, overlap_bottom=7.25, **sizes)

    assert problem.severity == severity
    assert "end 2 1/4\" below the deck's surface" in problem.what
    assert said in problem.what


def test_balusters_that_stand_over_the_top_rail_are_told() -> None:
    (problem,) = told(FIRST, **{**FACED, "overlap_top": 4.0}, overlap_bottom=1.0)

    assert 'stand 1/2" over the top rail' in problem.what
    assert 'at most 3 1/2"' in problem.remedy


def test_balusters_beside_a_stair_are_not_held_against_a_deck() -> None:
    made = work(
        stair(65.0, 48.75, upper_setback=2.0, assembly=BARE.assembly),
        assemblies=(replace(BARE, **FACED, overlap_bottom=9.0),), flights=(flight(7.5, 10.0),),
    )  # fmt: skip

    assert list(edge_problems(lay_out_site(made.job, made.choices.site))) == []


# edits of the result


WAS: dict[str, Any] = {"assemblies": (BARE, TALL), "supports": PAIR}
EDITS: Mapping[str, tuple[tuple[Run, Run], dict[str, Any], bool]] = {  # runs, other rows, whether it asks again
    "a spacer": ((FIRST, BEYOND), {"assemblies": (replace(BARE, spacer=0.5), TALL)}, False),
    "a spacer of its own": ((FIRST, BEYOND), {"supports": (PAIR[0], replace(PAIR[1], spacer=1.0))}, False),
    "a post of its own": ((FIRST, BEYOND), {"supports": (replace(PAIR[0], face_width=5.5), PAIR[1])}, False),
    "nearer the corner": ((FIRST, BEYOND), {"supports": (replace(PAIR[0], from_corner=1.5), PAIR[1])}, False),
    "another turn": ((FIRST, replace(BEYOND, direction=150.0)), {}, False),
    "another clearance": ((FIRST, BEYOND), {"assemblies": (replace(BARE, level_clearance=3.8), TALL)}, False),
    "a wider rail": ((FIRST, BEYOND), {"assemblies": (replace(BARE, bottom_rail_width=3.5), TALL)}, False),
    "rails of unknown width": ((FIRST, BEYOND), {"assemblies": (replace(BARE, bottom_rail_width=None), TALL)}, False),
    "supports turned about": ((FIRST, BEYOND), {"supports": PAIR[::-1]}, False),
    "inside the rim": ((FIRST, BEYOND), {"assemblies": (replace(BARE, mount=INSIDE_RIM), TALL)}, True),
    "one post on the surface": ((FIRST, BEYOND), {"supports": (replace(PAIR[0], mount=ON_SURFACE), PAIR[1])}, True),
    "an inside corner": ((FIRST, replace(BEYOND, direction=0.0)), {}, True),
    "no direction": ((FIRST, replace(BEYOND, direction=None)), {}, True),
    "how far is not known": ((FIRST, BEYOND), {"supports": (replace(PAIR[0], from_corner=None), PAIR[1])}, True),
    "parted": ((FIRST, BEYOND), {"supports": (replace(PAIR[0], corner_post=None), PAIR[1])}, True),
    "no row": ((FIRST, BEYOND), {"supports": PAIR[1:]}, True),
    "another railing": ((FIRST, replace(BEYOND, assembly="TALL")), {}, True),
}


def edited(of: Worked, runs: tuple[Run, Run], more: dict[str, Any]) -> Rows:
    """The rows of the edited job with the choices of old."""
    job, _ = build(tabs(*runs, **{**WAS, **more}))
    assert job is not None
    return with_old_checks(of.rows, estimate.lay_out(job, of.choices), job)


@pytest.mark.parametrize("what", EDITS)
def test_an_edit_of_the_edge_is_followed_or_asks_for_another_run(what: str) -> None:
    runs, more, asks = EDITS[what]
    new = edited(work(FIRST, BEYOND, **WAS), runs, more)

    assert RUN_AGAIN in {cap.status for cap in new["caps"]} or not asks
    assert (new["summary"][0].stale_rows > 0) == asks


@pytest.mark.parametrize("mount", [INSIDE_RIM, ON_SURFACE])
def test_posts_that_come_onto_the_fascia_ask_for_another_run(mount: str) -> None:
    of = work(FIRST, BEYOND, assemblies=(replace(BARE, mount=mount), TALL))
    new = edited(of, (FIRST, BEYOND), {"supports": ()})

    assert {line.status for line in new["lines"]} == {RUN_AGAIN}


def test_the_workbook_says_the_same_of_the_edge_after_an_edit(libreoffice: LibreOffice, tmp_path: Path) -> None:
    of = work(FIRST, BEYOND, **WAS)
    books = []
    for what, (runs, more, _) in EDITS.items():
        book = tmp_path / f"{what}.xlsx"
        estimate.write(Estimate(of.job, of.choices, {**of.rows, **_typed(of, runs, more)}, ()), book)
        books.append(book)
    for what, book in zip(EDITS, libreoffice.recalculated(books), strict=True):
        runs, more, _ = EDITS[what]
        new, shown = edited(of, runs, more), Shown({**of.rows, **_typed(of, runs, more)}, formula_cells(book))
        assert not [str(each) for each in _outcomes(what, of.rows, new, shown) if each.verdict == WRONG]


def _typed(of: Worked, runs: tuple[Run, Run], more: dict[str, Any]) -> Rows:
    """The typed rows of an edit."""
    changed: dict[str, Sequence[Any]] = {"runs": runs, **WAS, **more}
    return {tab: rows for tab, rows in changed.items() if rows != of.rows[tab]}


def _outcomes(what: str, old: Rows, new: Rows, shown: Shown) -> list[Outcome]:
    """Every calculated cell of the workbook beside what the engine says of it."""
    return [
        Outcome(
            f"{what}: {tab.name}.{column.name}, row {at + 1}", column.value(new[tab.name][at]),
            shown.value(tab, column.name, at), shown.is_stale(tab.name, at, column.name),
        )
        for tab in TABS
        for at in range(min(len(old[tab.name]), len(new[tab.name])))
        for column in tab.columns
        if column.excel and not column.repeats
    ]  # fmt: skip
