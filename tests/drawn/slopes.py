"""Slopes of runs, from what was typed."""

import math

from railbook.job.flights import Flight
from railbook.job.runs import LEVEL, Run


def tangent_of(run: Run, flight: Flight | None) -> float | None:
    """Its tangent, from the first two of its measures that say it."""
    clear = run.clear_top if run.clear_bottom is None else run.clear_bottom
    if run.kind == LEVEL:
        return 0.0
    if run.rise is not None and clear is not None:
        return run.rise / clear
    if run.rise is not None and run.slope_length is not None:
        return math.tan(math.asin(run.rise / run.slope_length))
    if run.slope_length is not None and clear is not None:
        return math.tan(math.acos(clear / run.slope_length))
    if run.angle is not None:
        return math.tan(math.radians(run.angle))
    riser = riser_of(flight)
    return riser / flight.tread if riser and flight and flight.tread else None


def riser_of(flight: Flight | None) -> float | None:
    """Riser of a flight, typed or by its total rise."""
    if flight is None:
        return None
    if flight.riser is None and flight.total_rise is not None and flight.risers:
        return flight.total_rise / flight.risers
    return flight.riser
