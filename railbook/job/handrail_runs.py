"""What a run of handrail alone needs: its sizes from the assembly, its length from the flight or from the tape."""

from collections.abc import Iterator

from railbook.basics.problem import Problem
from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import Run

NEEDED = (
    ("handrail_item", "item"),
    ("handrail_height", "height"),
    ("handrail_bracket_spacing", "bracket spacing"),
)


def size_problems(run: Run, assembly: Assembly) -> Iterator[Problem]:
    """Sizes of a handrail that its assembly leaves blank."""
    for column, name in NEEDED:
        if getattr(assembly, column) is None:
            what = f"run {run.run} is a handrail, and assembly {assembly.assembly} has no handrail {name}"
            yield Problem(assembly.origin.cell(column), what, "fill it in, or name an assembly that has one")


def length_problems(run: Run, flight: Flight | None, *, has_pitch: bool) -> Iterator[Problem]:
    """Whether slope and length of a handrail can be found.

    Args:
        run: a run of kind Handrail.
        flight: the flight that it names; None when it names none.
        has_pitch: whether that flight has riser and tread.
    """
    at = run.origin.cell
    clear = run.clear_top if run.clear_bottom is None else run.clear_bottom
    legs = sum(each is not None for each in (clear, run.rise, run.slope_length))
    has_treads = flight is not None and flight.tread is not None and flight.risers is not None and flight.risers > 1
    has_slope = legs > 1 or run.angle is not None or has_pitch
    is_level = flight is None and run.rise is None and run.slope_length is None and run.angle is None
    if legs == 0 and not has_treads:
        remedy = "fill in risers, riser and tread of its flight, or measure it: clear, rise or slope length"
        yield Problem(at("clear_bottom"), f"handrail {run.run} has no length", remedy)
    elif not has_slope and not is_level:
        remedy = "fill in riser and tread of its flight, or measure two of clear, rise and slope length"
        yield Problem(at("rise"), f"handrail {run.run} has too few measurements for a slope", remedy)
