"""What later rooms lay out, as it is today: the witness sees it, and Warnings tells it, but for the faults named here.

A fault that is mended makes its test fail here, so that it is taken off.
"""

from dataclasses import replace

import pytest

from railbook.job.runs import Run
from tests.drawn.checks import findings, reading_of
from tests.drawn.known import wrong
from tests.drawn.reading import CAP, Reading
from tests.drawn.sites import Kinds, Site, site
from tests.drawn.told import names
from tests.drawn.witness import draw
from tests.small_jobs import PLAIN, WOOD, level

WIDE = replace(WOOD, assembly="WIDE", post_width=4.5)
FIRST = level(60.0, run="A", direction=0.0)
NEXT = level(60.0, run="B", from_support="P2", to_support="P3", direction=90.0)
THIRD = level(60.0, run="C", from_support="P2", to_support="P4", direction=270.0)
PROUD = replace(WOOD, post_proud=1.0)


def job(*runs: Run) -> Reading:
    """The result of these runs."""
    return reading_of(Site(runs, (), (), (WOOD, WIDE), PLAIN))


def test_caps_between_proud_posts_round_a_corner() -> None:
    """5 1/2 in caps stand 1 in past both sides of 3 1/2 in posts, so two of them claim the same inch: told."""
    lapping = reading_of(Site((FIRST, NEXT), (), (), (PROUD,), PLAIN))

    assert findings(lapping) != []
    assert wrong(lapping) == []


def test_a_post_shared_by_railings_of_two_widths() -> None:
    """P2 is bought once, 3 1/2 in wide, but the cap of B is cut as if it were 4 1/2: told, until its width is typed."""
    shared = job(FIRST, replace(NEXT, direction=0.0, assembly="WIDE"))

    assert findings(shared) != []
    assert names(shared, "P2", "the post there is taken")


def test_a_third_level_run_at_a_post_between_two_in_line() -> None:
    """It ends at their edge."""
    assert findings(job(FIRST, replace(NEXT, direction=0.0), THIRD)) == []


def test_the_length_of_a_cap_with_parallel_mitres() -> None:
    """Between two posts 3 1/2 wide and 60 apart, mitred to the left and to the right: both edges are 63 1/2 long."""
    last = level(60.0, run="C", from_support="P3", to_support="P4", direction=0.0)
    sawn = job(FIRST, NEXT, last).piece(CAP, "B")

    assert sawn is not None
    assert (sawn.length, sawn.tip_to_tip) == (63.5, 69.0)


@pytest.mark.parametrize(
    "kinds",
    [Kinds(turns=(0.0, 22.5, 45.0, 135.0, 170.0)), Kinds(branches=True), Kinds(assemblies=2), Kinds(proud=True)],
    ids=["turns", "branches", "assemblies", "proud"],
)
def test_what_later_rooms_lay_out_can_be_drawn(kinds: Kinds) -> None:
    """Every piece has a place, so that those rooms have their witness."""
    assert [each for seed in range(20) if (each := draw(reading_of(site(seed, kinds))).unplaced)] == []
