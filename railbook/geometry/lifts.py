"""Lifts: how much higher than its guard's height the underside of a run's cap stands over the middle of a post.

Heights stand on the surface that the post stands on: the deck at an upper end, a riser below the first nosing at the
foot of a flight. So a lift is what the slope gains from there, less the cap's thickness.
"""

from railbook.basics.blank import when_known
from railbook.geometry.measures import Measures
from railbook.job.runs import LEVEL, STAIR

FROM, TO = "from", "to"


def half_of(measures: Measures, end: str) -> float:
    """From the middle of an end's post to its face [job unit]."""
    return (measures.from_face if end == FROM else measures.to_face) / 2


def plumb_of(measures: Measures) -> float:
    """A cap's thickness as it stands [job unit]."""
    return (measures.assembly.cap_thickness or 0.0) * measures.secant


def rise_away(measures: Measures, end: str) -> float:
    """What the cap gains for each level unit walked away from an end's post."""
    return measures.tangent if end == FROM else -measures.tangent


def lift_of(measures: Measures, end: str) -> float | None:
    """Lift of a run's cap at one end [job unit]; None while the flight or the setback is not measured."""
    plumb, half = plumb_of(measures), half_of(measures, end)
    if measures.kind == LEVEL:
        return -plumb
    if end == TO:
        return when_known(lambda back: (back + half) * measures.tangent - plumb, measures.upper_setback)
    return when_known(
        lambda step, ahead: step - (ahead + half) * measures.tangent - plumb,
        _first_step(measures), measures.lower_setback,
    )  # fmt: skip


def _first_step(measures: Measures) -> float | None:
    """Height of a guard's own surface at the first nosing: a riser on stairs, nothing on a ramp."""
    if measures.kind != STAIR:
        return 0.0
    return None if measures.flight is None else measures.flight.first_riser


_PLUMB = "{assembly.cap_thickness}*{secant}"
_HALF = "{END_face}/2"
LIFT_EXCEL = {
    FROM: '=IF({kind}="Level",-{assembly.cap_thickness},IF(OR({lower_setback}="",{step}=""),"",'
    f"{{step}}-({{lower_setback}}+{_HALF.replace('END', FROM)})*{{tangent}}-{_PLUMB}))",
    TO: '=IF({kind}="Level",-{assembly.cap_thickness},IF({upper_setback}="","",'
    f"({{upper_setback}}+{_HALF.replace('END', TO)})*{{tangent}}-{_PLUMB}))",
}
STEP_EXCEL = 'IF({kind}<>"Stair",0,IF({flight_row}="","",{flight.first_riser}))'
