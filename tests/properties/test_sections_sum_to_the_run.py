"""Law: the clears of all sections and the line posts between them fill the run, at its foot and at its top."""

from itertools import pairwise

import pytest
from hypothesis import given

from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.supports import Support
from tests.properties.draws import LAW, any_runs, railings, standing
from tests.small_jobs import work


@LAW
@given(any_runs(), railings(), standing())
def test_clears_and_line_posts_sum_to_the_clear(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, there: tuple[Support, ...]
) -> None:
    """Two new posts are set plumb, so that the clear at the bottom is that at the top too."""
    run, flights = drawn
    worked = work(run, flights=flights, assemblies=(assembly,), supports=there)
    sections = worked.sections
    face = assembly.sleeve_width or assembly.post_width
    assert face is not None
    assert run.clear_bottom is not None
    assert run.clear_top is not None

    posts = (len(sections) - 1) * face
    if sections:
        assert sum(row.clear for row in sections) + posts == pytest.approx(run.clear_bottom)
        at_top = run.clear_top if there else run.clear_bottom
        assert sum(row.clear_top for row in sections) + posts == pytest.approx(at_top)
        assert all(row.clear > 0 for row in sections)


@LAW
@given(any_runs(), railings())
def test_every_section_begins_where_the_post_before_it_ends(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly
) -> None:
    run, flights = drawn
    sections = work(run, flights=flights, assemblies=(assembly,)).sections
    face = assembly.sleeve_width or assembly.post_width
    assert face is not None

    for before, row in pairwise(sections):
        assert row.lower_face == pytest.approx(before.lower_face + before.clear + face)
