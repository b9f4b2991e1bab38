"""How posts are held: what is missing is named, and the pull that a hold-down must carry is told.

Pull on the upper bolt: 200 lb (h + b)/b by moments about the lower bolt, h from the push down to the upper bolt.
"""

from dataclasses import replace
from typing import Any

import pytest

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.holding import holding_problems, pull
from railbook.geometry.post_stands import NOT_TOLD
from railbook.geometry.survey import lay_out_site
from railbook.job import starter_fastenings
from railbook.job.assemblies import INSIDE_RIM, ON_CONCRETE, ON_FASCIA, ON_STRINGER, ON_SURFACE
from railbook.job.fastenings import BLOCKING, BOLT, HOLD_DOWN, Fastening
from railbook.job.runs import Run
from railbook.job.supports import POST, Support
from tests.small_jobs import WOOD, Worked, flight, level, ramp, stair, work

STARTING = starter_fastenings.fastenings("in")
STEPS = flight(7.5, 10.0)
UP = stair(65.0, 48.75, upper_setback=2.0)
LONG = stair(125.0, 93.75, upper_setback=2.0)  # 3 + 12 x 10 + 2: two sections


def worked(*runs: Run, **more: Any) -> Worked:
    """A job with the starting fastenings."""
    return work(*runs, **{"fastenings": STARTING, "flights": (STEPS,), **more})


def told(*runs: Run, **more: Any) -> list[Problem]:
    """What is told of how its posts are held."""
    made = worked(*runs, **more)
    return list(holding_problems(made.job, lay_out_site(made.job, made.choices.site)))


def mounted(mount: str) -> dict[str, Any]:
    """Assemblies whose posts are held that way."""
    below = 0.0 if mount in (ON_SURFACE, ON_CONCRETE) else WOOD.below_surface
    return {"assemblies": (replace(WOOD, mount=mount, below_surface=below),)}


def without(joint: str, what: str) -> tuple[Fastening, ...]:
    """The starting fastenings less one."""
    return tuple(row for row in STARTING if (row.joint, row.what) != (joint, what))


# pull


@pytest.mark.parametrize(
    ("lever", "apart", "pounds"),
    [(38.0, 4.75, 1800.0), (39.0, 4.75, 1842.1), (44.5, 4.75, 2073.7), (39.0, 6.5, 1400.0),
     (39.5, 3.25, 2630.8), (39.5, 5.25, 1704.8), (39.5, 7.25, 1289.7)],
)  # fmt: skip
def test_pull_on_the_upper_bolt(lever: float, apart: float, pounds: float) -> None:
    assert pull(200.0, lever=lever, apart=apart) == pytest.approx(pounds, abs=0.05)


@pytest.mark.parametrize("mount", [INSIDE_RIM, ON_FASCIA])
def test_the_pull_at_the_guards_height_is_told_for_the_usual_rims(mount: str) -> None:
    """36 1/2 high, 1 of decking, bolts 2 in from the edges: h 39.5 over 7.25 - 4, 9.25 - 4 and 11.25 - 4."""
    (problem,) = told(level(60.0), **mounted(mount))

    assert problem.severity == LOOK
    assert "2,631 lb (2x8), 1,705 lb (2x10), 1,290 lb (2x12)" in problem.what
    assert 'bolts 2" from both edges of the rim, 1" of decking' in problem.remedy
    assert 'with 9 1/4" below the surface the post is long enough beside 2x8' in problem.remedy  # 1 + 7 1/4 of 9 1/4
    assert "1,800" not in "".join(str(row) for row in STARTING)


def test_the_pull_in_a_millimetre_job_is_in_kilonewtons() -> None:
    """0.89 kN at 930 + 25 + 50 = 1005 mm over bolts 95, 120 and 145 mm apart: 10.3, 8.3 and 7.1 kN."""
    from railbook.job import starters
    from railbook.job.settings import Settings

    metric = {"assemblies": starters.assemblies("mm"), "fastenings": starter_fastenings.fastenings("mm")}
    (problem,) = told(level(1500.0, drop=1200.0), settings=Settings(unit="mm", tape_step=1.0), **metric)

    assert "10.3 kN (45x195), 8.3 kN (45x220), 7.1 kN (45x245)" in problem.what


# what is missing


def test_a_post_on_the_surface_held_by_wood_screws_is_warned_of() -> None:
    (problem,) = told(level(60.0), **mounted(ON_SURFACE))

    assert "held without bolts through the frame" in problem.what
    assert "bolts through the frame with plates below" in problem.remedy
    (bare,) = told(level(60.0), **mounted(ON_SURFACE), fastenings=())
    assert "held without bolts" in bare.what  # also where tab Fastenings is empty


def test_bolts_through_the_frame_are_what_it_missed() -> None:
    bolted = tuple(replace(row, what=BOLT) if row.joint == "Post on surface" else row for row in STARTING)

    assert told(level(60.0), **mounted(ON_SURFACE), fastenings=bolted) == []


@pytest.mark.parametrize(
    ("mount", "missing"),
    [(INSIDE_RIM, "blocking between the joists"), (ON_FASCIA, "blocking between the joists"),
     (ON_STRINGER, "blocking to the next stringer")],
)  # fmt: skip
@pytest.mark.parametrize("what", [BOLT, "Screw"])
def test_bolts_or_lags_alone_are_warned_of_with_what_is_missing(mount: str, missing: str, what: str) -> None:
    joint = f"Post {mount[0].lower()}{mount[1:]}"
    alone = (Fastening(assembly="WOOD", joint=joint, what=what, item="LAG", per_joint=2),)
    first, second = told(level(60.0), **mounted(mount), fastenings=alone)

    assert "are held without" in first.what
    assert "a hold-down at the upper bolt" in first.what
    assert missing in first.what
    assert "bolts, lags or screws alone failed" in first.remedy
    assert "pull" in second.what


def test_the_hold_down_that_was_named_mends_it() -> None:
    """So does each other part: none of the three may be left out, or be there 0 times."""
    for what, named in ((HOLD_DOWN, "a hold-down"), (BLOCKING, "blocking"), (BOLT, "bolts")):
        alone = without("Post inside rim", what)
        none = tuple(replace(row, per_joint=0) if row.what == what else row for row in STARTING)
        for given in (alone, none):
            (first, _) = told(level(60.0), fastenings=given)
            assert f"held without {named}" in first.what
    assert not any("without" in problem.what for problem in told(level(60.0)))


def test_concrete_keeps_its_base_without_a_word() -> None:
    assert told(level(60.0), **mounted(ON_CONCRETE)) == []
    (problem,) = told(level(60.0), **mounted(ON_CONCRETE), fastenings=without("Post on concrete", "Anchor"))
    assert "held without anchors" in problem.what


@pytest.mark.parametrize(("mount", "below"), [(INSIDE_RIM, 0.0), (ON_SURFACE, 9.25)])
def test_a_post_that_ends_where_nothing_holds_it_is_told(mount: str, below: float) -> None:
    wood = replace(WOOD, mount=mount, below_surface=below)
    problems = [each for each in told(level(60.0), assemblies=(wood,)) if "below the surface" in each.what]

    assert [problem.severity for problem in problems] == [LOOK]


def test_the_pull_on_a_stair_post_is_taken_at_its_cap_not_over_the_nosings() -> None:
    """Foot post, 3/4 slope, setback 3, first riser 7 1/2, guard 36: its cap's top stands 7.5 - 3 x 0.75 + 36 = 41.25
    over the pad at the uphill face; on a stringer with bolts 5 apart, 2 in down: (43.25 + 5)/5 x 200 = 1,930."""
    pulls = [each.what for each in told(UP, **mounted(ON_STRINGER)) if "pull" in each.what]

    assert len(pulls) == 1
    assert '1,930 lb (bolts 5" apart)' in pulls[0]


def test_a_height_that_is_not_known_gives_no_pull() -> None:
    unknown = stair(65.0, 48.75, lower_setback=None, upper_setback=None)
    pulls = [each.what for each in told(unknown, **mounted(ON_STRINGER), flights=(replace(STEPS, risers=None),))
             if "pull" in each.what]  # fmt: skip

    assert ["is not known" in pull for pull in pulls] == [True]


# posts where there is no rim


def items(made: Worked, what: str) -> int:
    """How many of what the schedule has."""
    return sum(
        row.total
        for row in made.rows["fasteners"]
        if row.typed.what == what and (row.of.joint or "").startswith("Post")
    )


def test_the_foot_of_a_flight_buys_no_hold_down_and_no_blocking() -> None:
    """Of two posts only the upper one stands beside the rim."""
    made = worked(UP)

    assert [post.mount for post in made.rows["posts"]] == [NOT_TOLD, INSIDE_RIM]
    assert (items(made, HOLD_DOWN), items(made, BLOCKING), items(made, BOLT)) == (1, 2, 2)
    foot = next(problem for problem in told(UP) if problem.where == "support P1")
    assert foot.severity == LOOK
    assert "there is no rim" in foot.what


def test_a_post_on_a_tread_has_no_rim_either() -> None:
    made = worked(LONG, flights=(flight(7.5, 10.0, risers=13),))

    assert [(post.post, post.mount) for post in made.rows["posts"]] == [
        ("P1", NOT_TOLD), ("P2", INSIDE_RIM), ("S/1", NOT_TOLD)
    ]  # fmt: skip
    assert items(made, HOLD_DOWN) == 1


def test_a_landing_at_the_foot_has_a_rim_when_a_level_guard_says_so() -> None:
    on_landing = worked(UP, level(60.0, run="L", from_support="P0", to_support="P1"))

    assert {post.post: post.mount for post in on_landing.rows["posts"]} == dict.fromkeys(("P0", "P1", "P2"), INSIDE_RIM)
    assert items(on_landing, HOLD_DOWN) == 3


def test_a_landing_between_two_flights_has_a_rim() -> None:
    """Whichever of the two caps is the higher there."""
    upper = replace(UP, run="T", flight="F2", from_support="P2", to_support="P3", direction=90.0)
    made = worked(replace(UP, direction=0.0), upper, flights=(STEPS, replace(STEPS, flight="F2")))

    assert {post.post: post.mount for post in made.rows["posts"]} == {
        "P1": NOT_TOLD, "P2": INSIDE_RIM, "P3": INSIDE_RIM
    }  # fmt: skip


def test_the_foot_of_a_ramp_has_none() -> None:
    made = worked(ramp(60.0, 5.0), flights=())

    assert [post.mount for post in made.rows["posts"]] == [NOT_TOLD, INSIDE_RIM]
    assert any("at the foot of a ramp" in problem.what for problem in told(ramp(60.0, 5.0), flights=()))


def test_what_is_said_on_tab_supports_is_bought() -> None:
    pad = Support(support="P1", kind=POST, mount=ON_CONCRETE)
    made = worked(UP, supports=(pad,))

    assert [(row.typed.item, row.total) for row in made.rows["fasteners"] if row.of.joint == "Post on concrete"] == [
        ("POST BASE", 1), ("1/2 X 4 ANCHOR", 4)
    ]  # fmt: skip
    assert [problem for problem in told(UP, supports=(pad,)) if problem.where == "support P1"] == []


def test_a_foot_that_its_assembly_can_hold_is_a_note() -> None:
    notes = [problem for problem in told(UP, **mounted(ON_STRINGER)) if problem.where == "support P1"]

    assert [problem.severity for problem in notes] == [NOTE]
