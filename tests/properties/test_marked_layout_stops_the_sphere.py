"""Law: the layout as it is marked, each mark rounded to the tape, still stops the sphere at every gap."""

from itertools import pairwise

import pytest
from hypothesis import given

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.takeoff.balusters import BalusterLayout
from tests.properties.draws import LAW, any_runs, railings, shops
from tests.small_jobs import work


def gaps_as_marked(row: BalusterLayout, fit: float, secant: float) -> list[float]:
    """Level gaps from support to support when every baluster stands on its mark."""
    centres = [mark / secant + fit for mark in row.marks if mark is not None]
    faces = [0.0, *(face for each in centres for face in (each - row.width / 2, each + row.width / 2)), row.clear]
    return [high - low for low, high in list(pairwise(faces))[::2]]


@LAW
@given(any_runs(), railings(), shops())
def test_no_gap_between_marked_balusters_lets_the_sphere_through(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings
) -> None:
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings)

    for row in worked.rows["baluster_layout"]:
        gaps = gaps_as_marked(row, row.section.line.guard.fit, row.section.secant)
        assert len(gaps) == row.count + 1
        assert max(gaps) < row.line.guard.sphere
        assert row.worst_gap == pytest.approx(max(gaps), abs=1e-9)


@LAW
@given(any_runs(), railings(), shops())
def test_rounding_moves_a_gap_by_less_than_a_tape_step(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings
) -> None:
    """Marks are running ones, so errors never add up: two roundings of half a step touch each gap."""
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings)

    for row in worked.rows["baluster_layout"]:
        gaps = gaps_as_marked(row, row.section.line.guard.fit, row.section.secant)[1:-1]
        assert all(abs(gap - row.gap) <= settings.tape_step / row.section.secant + 1e-6 for gap in gaps)
