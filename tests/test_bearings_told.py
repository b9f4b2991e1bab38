"""Directions said back in words, and lines that begin and end at one wall: worked on a drawing in coordinates.

A porch before a wall, posts 3 1/2 in: out 60 in, along 120 in, back 60 in. Out and back are 60 + 1 3/4 each from the
wall to the middle of a corner post.
"""

from dataclasses import replace
from typing import Any

import pytest

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.bearings import bearing_problems
from railbook.geometry.survey import lay_out_site
from railbook.job.runs import Run
from railbook.job.supports import WALL, Support
from tests.small_jobs import level, work

WALLED = (Support(support="W", kind=WALL),)
OUT = level(60.0, run="A", from_support="W", to_support="P1", direction=0.0)
ALONG = level(120.0, run="B", from_support="P1", to_support="P2", direction=90.0)
BACK = level(60.0, run="C", from_support="P2", to_support="W", direction=180.0)


def told(*runs: Run, supports: tuple[Support, ...] = WALLED) -> list[Problem]:
    worked = work(*runs, supports=supports)
    return list(bearing_problems(lay_out_site(worked.job, worked.choices.site)))


def test_every_corner_is_said_in_words() -> None:
    (problem,) = told(OUT, ALONG, BACK)

    assert problem.severity == NOTE
    assert problem.what.endswith("P1: 90 to the right, walking A to B; P2: 90 to the right, walking B to C")


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"direction": 45.0}, "45 to the right"), ({"direction": 315.0}, "45 to the left"),
     ({"direction": 0.5}, "straight on"),
     ({"direction": 270.0, "from_support": "P2", "to_support": "P1"}, "90 to the right, walking A to B")],
)  # fmt: skip
def test_a_corner_by_its_turn(changes: dict[str, Any], words: str) -> None:
    """A run that is typed from its far end turns as the guard does."""
    (problem,) = told(OUT, replace(ALONG, **changes))

    assert words in problem.what


def test_nothing_is_said_without_directions() -> None:
    assert told(OUT, replace(ALONG, direction=None)) == []


def missed(*runs: Run, supports: tuple[Support, ...] = WALLED) -> list[str]:
    return [each.what for each in told(*runs, supports=supports) if each.severity == LOOK]


@pytest.mark.parametrize(("clear", "says"), [(60.0, ""), (60.9375, ""), (63.5, '3 1/2" beyond'), (55.0, '5" before')])
def test_a_line_comes_back_to_its_wall_within_an_inch(clear: float, says: str) -> None:
    found = missed(OUT, ALONG, replace(BACK, clear_bottom=clear, clear_top=clear))

    assert len(found) == bool(says)
    assert says in "".join(found)


def test_a_wrong_bearing_shows_in_the_line() -> None:
    """The last run typed 10 degrees off: 61.75 less 61.75 cos 10 is 0.94; 20 degrees off it is 3.72."""
    for direction, number in ((170.0, 0), (160.0, 1)):
        assert len(missed(OUT, ALONG, replace(BACK, direction=direction))) == number


def test_a_line_between_two_walls_is_nobodys_loop() -> None:
    """Two wings of a house may stand forward of each other."""
    walls = (*WALLED, Support(support="W2", kind=WALL))
    assert missed(OUT, ALONG, replace(BACK, to_support="W2"), supports=walls) == []
