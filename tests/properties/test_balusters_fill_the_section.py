"""Law: balusters and gaps fill the section exactly, at the top rail and at the bottom rail."""

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
def test_widths_and_gaps_sum_to_the_clear(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings, supports=there)

    for row in worked.rows["baluster_layout"]:
        alike = row.section.lower_more == row.section.upper_more
        ends = 2 * row.end_gap if alike else row.end_gap + row.upper_end_gap
        between = (row.count - 1) * row.gap
        assert row.count * row.width + between + ends == pytest.approx(row.clear, abs=1e-9)


@LAW
@given(any_runs(), railings(), shops(), standing())
def test_rail_pieces_between_the_marks_sum_to_the_rail(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    """On the edge of the rail: end gap less fit, pitches, end gap less fit, all along the slope."""
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings, supports=there)

    for row in worked.rows["baluster_layout"]:
        edge = row.section.top_edge if row.rail == "Top" else row.section.bottom_edge
        if row.count:
            last = (row.upper_end_gap + row.width / 2 - row.section.line.guard.fit) * row.section.secant
            assert row.first + (row.count - 1) * row.pitch + last == pytest.approx(edge, abs=1e-9)
