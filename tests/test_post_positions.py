"""Where posts stand, what is sawn off standing ones, which edge of a leaning rail is long, what is asked of the user.

The figures are worked by hand beside each test, from the sizes of tests/small_jobs.py: posts of 3 1/2 in, rails
3 1/2 in deep, cap boards 1 x 5 1/2 in.
"""

from dataclasses import replace
from typing import Any

import pytest

from railbook.basics.problem import LOOK
from railbook.checks.warnings import Finding
from railbook.job.assemblies import ON_CONCRETE, ON_FASCIA, ON_SURFACE
from railbook.job.runs import MEETS
from railbook.job.supports import EXISTING, NEW, POST, Support
from tests.small_jobs import WOOD, Worked, flight, level, stair, work


def findings(worked: Worked) -> list[Finding]:
    """What stands on tab Warnings, the checks aside."""
    return [each for each in worked.rows["warnings"] if each.check is None]


def test_line_posts_stand_where_the_sections_end() -> None:
    """190 in between posts at 72 in centres: three sections of (190 - 2 x 3.5) / 3 = 61 in.

    The first line post's near face is at 61, the second's at 61 + 3.5 + 61 = 125.5 in.
    """
    worked = work(level(190.0))

    assert [worked.row("posts", post=mark).position for mark in ("A/1", "A/2")] == [61.0, 125.5]
    assert [worked.row("posts", post=mark).position for mark in ("P1", "P2")] == [None, None]


def test_line_post_on_a_flight_stands_behind_its_nosing() -> None:
    """Treads of 10 in, first nosing 3 in from the post, line posts 3 in behind a nosing."""
    run = stair(120.0, 90.0, lower_setback=3.0, upper_setback=7.0)
    worked = work(run, flights=(flight(7.5, 10.0, risers=12),), assemblies=(replace(WOOD, line_post_setback=3.0),))
    (post,) = [row for row in worked.rows["posts"] if row.worked.number is not None]

    assert post.position == 3.0 + 10.0 * post.worked.tread + 3.0
    assert post.position == worked.section("S.2").lower_face - 3.5


@pytest.mark.parametrize(("standing", "sawn"), [(37.5, 2.0), (35.5, None), (35.0, None)])
def test_standing_post_is_sawn_off_under_the_cap(standing: float, sawn: float | None) -> None:
    """Guard 36 1/2 in, cap 1 in: the post ends at 35 1/2 in."""
    support = Support(support="P1", kind=POST, state=EXISTING, face_width=3.5, standing_height=standing)
    worked = work(level(60.0), supports=(support,), assemblies=(replace(WOOD, level_height=36.5),))

    assert worked.row("posts", post="P1").saw_off == sawn


@pytest.mark.parametrize(("mount", "below"), [(ON_SURFACE, 0.0), (ON_CONCRETE, 0.0), (ON_FASCIA, 9.25), (None, 9.25)])
def test_post_that_stands_on_something_goes_no_deeper(mount: str | None, below: float) -> None:
    support = Support(support="P1", kind=POST, state=NEW, mount=mount)
    worked = work(level(60.0), supports=(support,), assemblies=(replace(WOOD, below_surface=9.25),))

    assert worked.row("posts", post="P1").below == below


@pytest.mark.parametrize(("lean", "edge"), [(2.0, "upper"), (-2.0, "under"), (0.0, "")])
def test_paper_says_which_edge_of_a_leaning_rail_is_long(lean: float, edge: str) -> None:
    """A post that leans away is farther off higher up, so the upper side of both rails is the long one."""
    worked = work(level(60.0, clear_top=None, lean_to=lean))

    assert {row.long_edge for row in worked.rows["cut_list"] if "rail" in row.part} == {edge}


@pytest.mark.parametrize(("mark", "told"), [("PI", 1), ("P1", 0)])
def test_support_on_no_run_is_looked_at(mark: str, told: int) -> None:
    found = findings(work(level(60.0), supports=(Support(support=mark, kind=POST, state=EXISTING),)))

    assert [each.what for each in found if "is on no run" in each.what] == ["support PI is on no run"] * told
    assert {each.severity for each in found if "is on no run" in each.what} <= {LOOK}


@pytest.mark.parametrize(("state", "told"), [(NEW, 1), (EXISTING, 0)])
def test_lean_of_a_post_that_is_still_to_be_set_is_looked_at(state: str, told: int) -> None:
    support = Support(support="P2", kind=POST, state=state, face_width=3.5)
    found = findings(work(level(60.0, lean_to=1.0), supports=(support,)))

    assert sum("is new, and run A records a lean" in each.what for each in found) == told


@pytest.mark.parametrize(("changes", "told"), [({}, ['1/2"']), ({"cap_width": 3.5}, [])])
def test_raked_rail_that_runs_into_the_level_cap_is_looked_at(changes: dict[str, Any], told: list[str]) -> None:
    """A cap 5 1/2 in wide on a 3 1/2 in post overhangs 1 in. The tops are flush where the raked cap butts, so at the
    post the raked rail's upper edge is 1 x 0.75 - 1 x (1.25 - 1) = 0.5 in above the underside of the level cap.
    """
    runs = (
        level(60.0, direction=0.0),
        stair(60.0, 45.0, from_support="P3", to_support="P2", direction=90.0, height=MEETS, upper_setback=2.0),
    )
    worked = work(*runs, flights=(flight(7.5, 10.0),), assemblies=(replace(WOOD, **changes),))
    found = [each.what for each in findings(worked) if "overhang of the level cap" in each.what]

    reaches = "top rail of run S reaches {} into the overhang of the level cap at its upper post"
    assert found == [reaches.format(tall) for tall in told]
