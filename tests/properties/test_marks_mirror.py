"""Law: marks ascend, mirror each other within a tape step, and end where the rail ends.

Where only one end of a section leans, what its end gap has more than the other is the skew of the mirror.
"""

from itertools import pairwise

import pytest
from hypothesis import given

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import Support
from tests.properties.draws import LAW, any_runs, railings, shops, standing
from tests.small_jobs import work


@LAW
@given(any_runs(), railings(), shops(), standing())
def test_marks_ascend_and_mirror(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings, supports=there)

    for row in worked.rows["baluster_layout"]:
        marks = [mark for mark in row.marks if mark is not None]
        edge = row.section.top_edge if row.rail == "Top" else row.section.bottom_edge
        skew = (row.end_gap - row.upper_end_gap) * row.section.secant
        assert len(marks) == row.count
        if row.section.lower_more == row.section.upper_more:
            assert skew == pytest.approx(0.0, abs=1e-9)
        assert all(low < high for low, high in pairwise(marks))
        for mark, mirrored in zip(marks, reversed(marks), strict=True):
            assert abs(mark + mirrored - edge - skew) <= settings.tape_step + 1e-6


@LAW
@given(any_runs(), railings(), shops(), standing())
def test_every_mark_is_on_the_tape_and_the_last_one_checks(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings, supports=there)

    for row in worked.rows["baluster_layout"]:
        marks = [mark for mark in row.marks if mark is not None]
        assert all(mark / settings.tape_step == int(mark / settings.tape_step) for mark in marks)
        last = marks[-1] if marks else 0.0
        assert last + row.after_last == pytest.approx(row.rail_length, abs=1e-9)
        edge = row.section.top_edge if row.rail == "Top" else row.section.bottom_edge
        assert abs(row.rail_length - edge) <= settings.tape_step / 2 + 1e-6
