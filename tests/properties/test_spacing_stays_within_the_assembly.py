"""Law: no section is longer than its assembly allows, from post centre to post centre and from tip to tip."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, NEW, POST, WALL, Support
from tests.properties.draws import THOROUGH, any_runs, railings, sizes
from tests.small_jobs import WOOD, level, work

HAIR = 1e-5


@THOROUGH
@given(any_runs(), railings(), st.sampled_from((WALL, POST)), sizes(3.0, 8.0))
def test_no_section_is_longer_than_allowed(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, kind: str, width: float
) -> None:
    run, flights = drawn
    supports = (Support("P1", kind, EXISTING if kind == POST else NEW, face_width=width),)
    worked = work(run, flights=flights, assemblies=(assembly,), supports=supports)

    for row in worked.sections:
        most, longest = assembly.greatest_spacing, assembly.greatest_rail
        assert most is not None
        assert row.spacing <= most + HAIR
        assert longest is None or max(row.top_tip, row.bottom_tip) <= longest + HAIR


@THOROUGH
@given(sizes(100.0, 300.0), sizes(0.0, 0.5), st.integers(2, 4))
def test_divided_run_whose_tops_are_apart_stays_within_the_spacing(clear: float, lean: float, sections: int) -> None:
    """Only the end sections share what the tops gain, so their share is larger than an even one."""
    spacing = (clear + lean + 3.5) / sections  # a tie: equal shares of the larger clear are exactly allowed
    assembly = replace(WOOD, greatest_spacing=spacing)
    worked = work(level(clear, clear_top=clear + lean), assemblies=(assembly,))

    for row in worked.sections:
        assert row.spacing <= spacing + HAIR
