"""Law: a run has the fewest sections: with one fewer some section would be longer than the assembly allows.

On stairs line posts stand on treads at one distance behind a nosing: every choice of treads is tried, and none
does with fewer sections. Where no choice does at all, the run is left out with a problem.
"""

from dataclasses import replace
from itertools import combinations, pairwise
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from railbook.checks.check import FAIL
from railbook.checks.demands import SPACING
from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.supports import POST, WALL, Support
from tests.properties.draws import LAW, THOROUGH, flights, railings, sizes, stairs, straight_runs
from tests.small_jobs import WOOD, Worked, level, stair, work

HAIR = 1e-6


class Span(NamedTuple):
    """What a brute-force search needs to know, worked out from the typed rows alone; level lengths."""

    clear: float
    face: float
    from_face: float
    to_face: float
    spacing: float
    rail: float

    def is_legal(self, clear: float, number: int, of: int) -> bool:
        """Whether a section of that clear may stand there."""
        low = self.from_face if number == 1 else self.face
        high = self.to_face if number == of else self.face
        return 0 < clear <= self.rail + HAIR and clear + (low + high) / 2 <= self.spacing + HAIR


def span(run: Run, assembly: Assembly, *, slope: float, from_face: float | None = None) -> Span:
    """The longest clear by rail: edge = (clear - 2 fit) / cos, tip to tip = edge + depth x tan."""
    face = assembly.sleeve_width or assembly.post_width or 0.0
    depth = max(assembly.top_rail_depth or 0.0, assembly.bottom_rail_depth or 0.0)
    secant = (1 + slope**2) ** 0.5
    fit = assembly.bracket_fit or 0.0
    rail = 1e9 if assembly.greatest_rail is None else (assembly.greatest_rail - depth * slope) / secant + 2 * fit
    assert run.clear_bottom is not None
    assert assembly.greatest_spacing is not None
    own = face if from_face is None else from_face
    return Span(run.clear_bottom, face, own, face, assembly.greatest_spacing, rail)


def fewest_equal(of: Span) -> int:
    """Fewest equal sections, by trying one after the other."""
    return next(
        n
        for n in range(1, 1000)
        if all(of.is_legal((of.clear - (n - 1) * of.face) / n, number, n) for number in range(1, n + 1))
    )


@THOROUGH
@given(straight_runs(lean=False), railings(), st.sampled_from((WALL, POST)), sizes(3.0, 8.0))
def test_equal_sections_are_the_fewest(run: Run, assembly: Assembly, kind: str, width: float) -> None:
    supports = (Support("P1", kind, face_width=width),)
    worked = work(run, assemblies=(assembly,), supports=supports)
    slope = 0.0 if run.rise is None or run.clear_bottom is None else run.rise / run.clear_bottom
    of = span(run, assembly, slope=slope, from_face=0.0 if kind == WALL else width)

    assert worked.only("lines").sections == fewest_equal(of)


@pytest.mark.parametrize("sections", range(1, 8))
def test_tie_takes_no_section_more(sections: int) -> None:
    """n sections of exactly the greatest spacing need n sections, and a sixteenth more needs n + 1."""
    exact = sections * 72.0 - 3.5

    assert work(level(exact)).only("lines").sections == sections
    assert work(level(exact + 1 / 16)).only("lines").sections == sections + 1


def treads_that_do(of: Span, run: Run, on: Flight, behind: float, sections: int) -> list[tuple[int, ...]]:
    """Every choice of treads for the line posts whose sections are all legal."""
    assert on.risers is not None
    assert on.tread is not None
    assert run.lower_setback is not None
    downhill = [run.lower_setback + tread * on.tread + behind for tread in range(on.risers - 1)]
    found = []
    for chosen in combinations(range(on.risers - 1), sections - 1):
        ends = [-of.face, *(downhill[tread] for tread in chosen), of.clear]  # -face: the lower support's far side
        clears = [high - low - of.face for low, high in pairwise(ends)]
        if all(of.is_legal(clear, number, sections) for number, clear in enumerate(clears, start=1)):
            found.append(chosen)
    return found


def laid_out(run: Run, on: Flight, assembly: Assembly) -> tuple[Worked, Span]:
    """The run worked out, and what the search needs of it."""
    assert on.riser is not None
    assert on.tread is not None
    return work(run, flights=(on,), assemblies=(assembly,)), span(run, assembly, slope=on.riser / on.tread)


@LAW
@given(st.data(), flights(), railings())
def test_no_choice_of_treads_does_with_fewer_sections(data: st.DataObject, on: Flight, assembly: Assembly) -> None:
    run = data.draw(stairs(on))
    worked, of = laid_out(run, on, assembly)
    behind = assembly.line_post_setback or 0.0
    if not worked.rows["lines"]:
        assert "too long for one section" in worked.problems[0].what
        assert all(not treads_that_do(of, run, on, behind, number) for number in range(1, 5))
        return

    line = worked.only("lines")
    assert all(not treads_that_do(of, run, on, behind, fewer) for fewer in range(1, line.sections))
    assert line.division.treads in treads_that_do(of, run, on, behind, line.sections)


def test_flight_that_no_line_post_can_divide_is_not_silent() -> None:
    """Two treads and 90 in to the post on the deck: wherever a line post stands, a section is too long."""
    on = Flight(flight="F1", risers=3, riser=7.5, tread=10.0)
    run = stair(113.0, 84.75, upper_setback=90.0)
    worked = work(run, flights=(on,), assemblies=(replace(WOOD, greatest_rake=None),))

    assert not treads_that_do(span(run, WOOD, slope=0.75), run, on, 3.0, 2)
    assert worked.problems or FAIL in {each.verdict for each in worked.rows["code_checks"] if each.asked == SPACING}
