"""Whether spare measurements agree with the answer; a disagreement is reported with both figures."""

from collections.abc import Iterable, Iterator

from railbook.basics.blank import when_known
from railbook.checks.check import Demand
from railbook.checks.demands import Subject, Works
from railbook.geometry import flights as worked_flights
from railbook.geometry import handrail_slopes, lines, rake
from railbook.geometry.agreement import Agreement
from railbook.geometry.handrail_slopes import HandrailSlope
from railbook.rules.rule import AT_MOST

Spare = tuple[Demand, float, float]  # what is asked, what was taped, and the answer

MEASURING = "measurement"
RISE = Demand("rise against the other measurements", "rise_differs", "tolerance",
              "", AT_MOST, MEASURING, of_rules=False)  # fmt: skip
SLOPE = Demand("slope length against the other measurements", "slope_differs", "tolerance",
               "", AT_MOST, MEASURING, of_rules=False)  # fmt: skip
CLEAR = Demand("clear against risers, treads and setbacks", "clear_differs", "tolerance",
               "", AT_MOST, MEASURING, of_rules=False)  # fmt: skip
ANGLE = Demand("angle against the other measurements", "angle_differs", "angle_tolerance",
               "", AT_MOST, MEASURING, unit="deg")  # fmt: skip
PITCH = Demand("slope of riser and tread against the run", "pitch_differs", "angle_tolerance",
               "", AT_MOST, MEASURING, unit="deg")  # fmt: skip
LEAN = Demand("clear at top against the recorded leans", "top_differs", "length_tolerance",
              "", AT_MOST, MEASURING)  # fmt: skip
TOTAL_RISE = Demand("total rise against its risers", "rise_difference", "tolerance",
                    "count the risers again, and measure riser and total rise", AT_MOST, MEASURING,
                    of_rules=False)  # fmt: skip


def agreements(works: Works) -> Iterator[Subject]:
    """Every spare measurement of every run, handrail and flight."""
    for row, line in enumerate(works.site.lines, start=1):
        for demand, taped, answer in _spare(line.agreement):
            yield Subject(demand, f"run {line.run}", lines.TAB, row, line, row, _both(taped, answer))
    for row, slope in enumerate(works.site.handrail_slopes, start=1):
        for demand, taped, answer in _spare_of_handrail(slope):
            yield Subject(demand, f"handrail {slope.run}", handrail_slopes.TAB, row, slope, None, _both(taped, answer))
    for row, flight in enumerate(works.site.flights, start=1):
        if flight.rise_difference is not None:
            yield Subject(
                TOTAL_RISE, f"flight {flight.flight}", worked_flights.TAB, row, flight, None, TOTAL_RISE.remedy
            )


def leans(works: Works) -> Iterator[Subject]:
    """Recorded leans against both clears, where both were taped."""
    for row, line in enumerate(works.site.lines, start=1):
        lean = line.lean
        if lean.top_differs is not None and lean.top_expected is not None:
            remedy = (
                f"{_both(line.measures.clear + lean.taped_more, lean.top_expected)}, or is the sign of a lean reversed?"
            )
            yield Subject(LEAN, f"run {line.run}", lines.TAB, row, line, row, remedy)


def _both(taped: float, answer: float) -> str:
    """The remedy, with both figures."""
    return f"measured {taped:.3f}, the other measurements give {answer:.3f}: measure again"


def _spare_of_handrail(slope: HandrailSlope) -> Iterator[Spare]:
    """Measurements of a handrail that its slope was not taken from, each with the answer."""
    source = slope.source
    rise = when_known(lambda span, tangent: span * tangent, slope.span, slope.tangent)
    spare = (
        (RISE, slope.rise_taped, rise, "rise" in source),
        (SLOPE, slope.slope_taped, slope.between, "slope" in source),
        (ANGLE, slope.angle_taped, slope.slope_angle, source == rake.ANGLE),
        (PITCH, slope.pitch, slope.slope_angle, source == rake.RISER_TREAD),
    )
    return _not_used(spare)


def _spare(agreement: Agreement) -> Iterator[Spare]:
    """Measurements that the slope was not taken from, each with the answer."""
    measures, source = agreement.measures, agreement.measures.source
    spare = (
        (RISE, measures.typed.rise, agreement.rise_expected, "rise" in source),
        (SLOPE, measures.typed.slope_length, agreement.slope_expected, "slope" in source),
        (ANGLE, measures.typed.angle, measures.slope_angle, source == rake.ANGLE),
        (PITCH, agreement.pitch, measures.slope_angle, source == rake.RISER_TREAD),
        (CLEAR, measures.clear_predicted, measures.clear_measured, measures.clear_is_predicted),
    )
    return _not_used(spare)


def _not_used(spare: Iterable[tuple[Demand, float | None, float | None, bool]]) -> Iterator[Spare]:
    """Those that are known on both sides and that the answer does not rest on."""
    for demand, taped, answer, used in spare:
        if taped is not None and answer is not None and not used:
            yield demand, taped, answer
