"""The witness bites: one figure of a result that was changed by an eighth or a degree is reported.

Tapes are fine here, so that what rounding explains is far less than what is changed.
"""

import random
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any, NamedTuple

import pytest

from tests.drawn.checks import findings, reading_of
from tests.drawn.finding import Finding
from tests.drawn.reading import BALUSTER, BLOCK, BOTH_RAILS, BOTTOM_RAIL, CAP, POST, SLEEVE, TOP_RAIL, Reading
from tests.drawn.sites import FINE, Kinds, site

EIGHTH, DEGREE = 1 / 8, 1.0
SITES = 12
RAILS = (TOP_RAIL, BOTTOM_RAIL, BOTH_RAILS)


def with_rows(reading: Reading, tab: str, rows: Sequence[Any]) -> Reading:
    """A copy of a result with other rows in one of its tabs."""
    changed: dict[str, Any] = {tab: tuple(rows)}
    return reading._replace(**changed)


class Figure(NamedTuple):
    """A figure of a result.

    Attributes:
        tab: field of the reading.
        column: field of its rows.
        parts: of the cut list; empty for other tabs.
    """

    tab: str
    column: str
    parts: tuple[str, ...] = ()

    def changed(self, reading: Reading, by: float) -> Iterator[Reading]:
        """Copies of a result, each with that figure changed in one row that has it."""
        rows: Sequence[Any] = getattr(reading, self.tab)
        for at, row in enumerate(rows):
            if getattr(row, self.column) is None or (self.parts and row.part not in self.parts):
                continue
            other = row._replace(**{self.column: getattr(row, self.column) + by})
            yield with_rows(reading, self.tab, (*rows[:at], other, *rows[at + 1 :]))


FIGURES = {
    "a rail is longer": (Figure("sawn", "length", RAILS), EIGHTH),
    "a rail is shorter": (Figure("sawn", "length", RAILS), -EIGHTH),
    "a baluster is longer": (Figure("sawn", "length", (BALUSTER,)), EIGHTH),
    "a baluster is shorter": (Figure("sawn", "length", (BALUSTER,)), -EIGHTH),
    "a cap is longer": (Figure("sawn", "length", (CAP,)), EIGHTH),
    "a cap is shorter": (Figure("sawn", "length", (CAP,)), -EIGHTH),
    "a cap is longer from tip to tip": (Figure("sawn", "tip_to_tip", (CAP,)), EIGHTH),
    "a cap is shorter from tip to tip": (Figure("sawn", "tip_to_tip", (CAP,)), -EIGHTH),
    "a rail is longer from tip to tip": (Figure("sawn", "tip_to_tip", RAILS), EIGHTH),
    "a baluster is longer from tip to tip": (Figure("sawn", "tip_to_tip", (BALUSTER,)), EIGHTH),
    "a post is cut shorter": (Figure("sawn", "length", (POST,)), -EIGHTH),
    "a sleeve is cut shorter": (Figure("sawn", "length", (SLEEVE,)), -EIGHTH),
    "a block is cut shorter": (Figure("sawn", "length", (BLOCK,)), -EIGHTH),
    "a piece is missing": (Figure("sawn", "quantity"), -1),
    "the lower cut of a rail": (Figure("sawn", "lower_cut", RAILS), DEGREE),
    "the upper cut of a rail": (Figure("sawn", "upper_cut", RAILS), -DEGREE),
    "the lower cut of a baluster": (Figure("sawn", "lower_cut", (BALUSTER,)), DEGREE),
    "the upper cut of a baluster": (Figure("sawn", "upper_cut", (BALUSTER,)), -DEGREE),
    "the left cut of a cap": (Figure("sawn", "lower_cut", (CAP,)), DEGREE),
    "the right cut of a cap": (Figure("sawn", "upper_cut", (CAP,)), -DEGREE),
    "a post is trimmed higher": (Figure("trimmed", "post_downhill"), EIGHTH),
    "a post is trimmed lower": (Figure("trimmed", "post_uphill"), -EIGHTH),
    "a sleeve is trimmed higher": (Figure("trimmed", "sleeve_uphill"), EIGHTH),
    "a sleeve is trimmed lower": (Figure("trimmed", "sleeve_downhill"), -EIGHTH),
    "a post between sections stands further on": (Figure("trimmed", "position"), EIGHTH),
    "two caps bend over a post further on": (Figure("trimmed", "joint_at"), EIGHTH),
    "two caps bend over a post higher": (Figure("trimmed", "joint_height"), EIGHTH),
    "a standing post is said to need more": (Figure("trimmed", "needed"), EIGHTH),
    "more is sawn off a standing post": (Figure("trimmed", "saw_off"), EIGHTH),
    "the top of a post": (Figure("trimmed", "top_angle"), DEGREE),
    "the foot of a post": (Figure("trimmed", "foot_angle"), DEGREE),
    "a rail is longer than its layout": (Figure("marked", "rail_length"), EIGHTH),
    "more is left after the last mark": (Figure("marked", "after_last"), EIGHTH),
    "a block is longer uphill": (Figure("blocked", "long_side"), EIGHTH),
    "a block is shorter downhill": (Figure("blocked", "short_side"), -EIGHTH),
    "the top of a block": (Figure("blocked", "top_angle"), DEGREE),
}


class Result(NamedTuple):
    """A result, and what the witness finds in it as it is."""

    reading: Reading
    found: frozenset[Finding]

    def is_reported(self, changed: Reading) -> bool:
        """Whether something is found in a changed copy that was not found before."""
        return bool(set(findings(changed)) - self.found)


@cache
def results() -> tuple[Result, ...]:
    """Results of the same sites for each figure."""
    readings = [reading_of(site(seed, Kinds(steps=(FINE,)))) for seed in range(SITES)]
    return tuple(Result(reading, frozenset(findings(reading))) for reading in readings)


@pytest.mark.parametrize("what", FIGURES)
def test_a_changed_figure_is_reported(what: str) -> None:
    """In a row of every site that has such a figure."""
    figure, by = FIGURES[what]
    draw, tried = random.Random(what), 0
    for result in results():
        if copies := list(figure.changed(result.reading, by)):
            assert result.is_reported(draw.choice(copies))
            tried += 1

    assert tried >= SITES / 4


@pytest.mark.parametrize("by", [EIGHTH, -EIGHTH])
@pytest.mark.parametrize("end", ["from_reach", "to_reach"])
def test_a_cap_that_is_said_to_reach_further_is_reported(end: str, by: float) -> None:
    draw = random.Random(0)
    for result in results():
        reached = dict(result.reading.reached)
        run = draw.choice(list(reached))
        reached[run] = reached[run]._replace(**{end: getattr(reached[run], end) + by})
        assert result.is_reported(result.reading._replace(reached=reached))


def moved(reading: Reading, draw: random.Random, by: float) -> Reading:
    """A copy in which one mark of one layout is elsewhere."""
    rows = reading.marked
    at = draw.randrange(len(rows))
    marks = list(rows[at].marks)
    marks[draw.randrange(len(marks))] += by
    return reading._replace(marked=(*rows[:at], rows[at]._replace(marks=tuple(marks)), *rows[at + 1 :]))


@pytest.mark.parametrize("by", [EIGHTH, -EIGHTH])
def test_a_moved_mark_is_reported(by: float) -> None:
    draw = random.Random(0)
    for result in results():
        for _ in range(3):
            assert result.is_reported(moved(result.reading, draw, by))


@pytest.mark.parametrize("tab", ["marked", "sawn"])
def test_a_missing_row_is_reported(tab: str) -> None:
    for result in results():
        assert result.is_reported(with_rows(result.reading, tab, getattr(result.reading, tab)[1:]))
