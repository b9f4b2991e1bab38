"""Law: the count is the least: one baluster fewer leaves a gap that the sphere passes, or that eats the margin.

Where rounding to the tape opened a gap too far one baluster was added, and only there.
"""

from hypothesis import given

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import Support
from tests.properties.draws import LAW, any_runs, railings, shops, standing
from tests.small_jobs import work

HAIR = 1e-6


@LAW
@given(any_runs(), railings(), shops(), standing())
def test_gap_is_legal_and_one_baluster_fewer_is_not(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings, supports=there)

    for row in worked.rows["baluster_layout"]:
        needed = row.count - row.added
        allowed = row.line.guard.sphere - settings.build_margin
        assert row.gap < row.line.guard.sphere
        assert row.gap <= allowed + HAIR
        if needed:
            fewer = (row.widest_clear - (needed - 1) * row.width) / needed
            assert fewer > allowed - HAIR
            assert fewer >= row.line.guard.sphere - HAIR or settings.build_margin > 0


@LAW
@given(any_runs(), railings(), shops(), standing())
def test_baluster_is_added_only_where_the_marks_would_fail(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    """A margin of a tape step keeps every rounded gap legal, so nothing is ever added then."""
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), settings=settings, supports=there)

    for row in worked.rows["baluster_layout"]:
        assert row.added in (0, 1)
        if settings.build_margin >= settings.tape_step:
            assert row.added == 0
