"""What the laws are tried on: sound railings, runs and flights that a house can have, sizes on sixteenths."""

from dataclasses import replace
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st

from railbook.job.assemblies import RAKE, SQUARE, Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import EXISTING, POST, WALL, Support
from tests.small_jobs import PLAIN, WOOD, flight, level, ramp, stair

LAW = settings(max_examples=40, deadline=None, derandomize=True)
THOROUGH = settings(LAW, max_examples=150)


def sizes(low: float, high: float) -> st.SearchStrategy[float]:
    """Sixteenths of an inch between two bounds [in]."""
    return st.integers(round(low * 16), round(high * 16)).map(lambda steps: steps / 16)


@st.composite
def railings(draw: st.DrawFn, /, **fixed: Any) -> Assembly:
    """A railing of drawn sizes."""
    post = draw(sizes(3.0, 5.5))
    baluster = draw(sizes(0.75, 2.0))
    drawn: dict[str, Any] = {
        "post_width": post,
        "sleeve_width": draw(st.one_of(st.none(), sizes(post + 0.5, post + 1.5))),
        "post_below_sleeve": 0.125,
        "line_post_setback": draw(sizes(1.5, 3.0)),
        "cap_width": draw(sizes(5.5, 7.25)),
        "cap_thickness": draw(st.one_of(st.none(), sizes(0.75, 1.5))),
        "top_rail_depth": draw(sizes(1.5, 3.5)),
        "bottom_rail_depth": draw(sizes(1.5, 3.5)),
        "bracket_fit": draw(sizes(0.0, 0.5)),
        "baluster_width": baluster,
        "baluster_least_width": draw(st.one_of(st.none(), sizes(0.5, baluster))),
        "baluster_ends": draw(st.sampled_from((SQUARE, RAKE))),
        "let_in_top": draw(sizes(0.0, 0.5)),
        "seat_bottom": draw(sizes(0.0, 0.375)),
        "block_spacing": draw(st.one_of(st.none(), sizes(16.0, 36.0))),
        "greatest_spacing": draw(sizes(54.0, 100.0)),
        "greatest_rail": draw(st.one_of(st.none(), sizes(54.0, 96.0))),
        "stair_clearance": draw(sizes(0.0, 2.0)),
    }
    return replace(WOOD, **(drawn | fixed))


@st.composite
def shops(draw: st.DrawFn) -> Settings:
    """Tape step, fit allowance and build margin."""
    return replace(
        PLAIN,
        tape_step=draw(st.sampled_from((1 / 8, 1 / 16, 1 / 32))),
        fit_allowance=draw(sizes(0.0, 0.25)),
        build_margin=draw(sizes(0.0, 0.25)),
    )


@st.composite
def flights(draw: st.DrawFn, most: int = 16) -> Flight:
    """A flight of equal risers and treads."""
    return flight(draw(sizes(6.0, 8.25)), draw(sizes(9.0, 12.0)), draw(st.integers(2, most)))


@st.composite
def stairs(draw: st.DrawFn, /, on: Flight, **changes: Any) -> Run:
    """A run beside that flight, measured without a slip: posts within 3 in of the end nosings or back from them."""
    assert on.tread is not None
    assert on.riser is not None
    assert on.risers is not None
    low, high = draw(sizes(0.5, on.tread)), draw(sizes(-2.0, 9.0))
    clear = low + (on.risers - 1) * on.tread + high
    return stair(clear, clear * on.riser / on.tread, lower_setback=low, upper_setback=high, **changes)


@st.composite
def straight_runs(draw: st.DrawFn, /, *, lean: bool = True, longest: float = 300.0, **changes: Any) -> Run:
    """A level run or a ramp; its two clears may differ."""
    clear = draw(sizes(18.0, longest))
    leans = draw(sizes(-0.5, 0.5)) if lean else 0.0
    if draw(st.booleans()):
        return level(clear, clear_top=clear + leans, **changes)
    return ramp(clear, clear * draw(sizes(0.5, 2.0)) / 12, clear_top=clear + leans, **changes)


@st.composite
def standing(draw: st.DrawFn) -> tuple[Support, ...]:
    """Which of the supports P1 and P2 stand already, so that two clears may differ there."""
    marks = draw(st.sampled_from(((), ("P1",), ("P2",), ("P1", "P2"))))
    return tuple(
        draw(st.sampled_from((Support(mark, WALL), Support(mark, POST, EXISTING, face_width=4.0)))) for mark in marks
    )


@st.composite
def any_runs(draw: st.DrawFn) -> tuple[Run, tuple[Flight, ...]]:
    """A run of any kind, with its flight."""
    if draw(st.booleans()):
        return draw(straight_runs()), ()
    on = draw(flights())
    return draw(stairs(on)), (on,)
