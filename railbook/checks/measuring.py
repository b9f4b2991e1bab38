"""Whether spare measurements agree with the answer; a disagreement is reported with both figures."""

from collections.abc import Iterator

from railbook.checks.check import AT_MOST, Demand
from railbook.checks.demands import Subject, Works
from railbook.geometry import rake
from railbook.geometry.agreement import Agreement

MEASURING = "measurement"
RISE = Demand("rise against the other measurements", "rise_differs", AT_MOST, "tolerance",
              "", MEASURING, of_rules=False)  # fmt: skip
SLOPE = Demand("slope length against the other measurements", "slope_differs", AT_MOST, "tolerance",
               "", MEASURING, of_rules=False)  # fmt: skip
CLEAR = Demand("clear against risers, treads and setbacks", "clear_differs", AT_MOST, "tolerance",
               "", MEASURING, of_rules=False)  # fmt: skip
ANGLE = Demand("angle against the other measurements", "angle_differs", AT_MOST, "angle_tolerance",
               "", MEASURING, unit="deg")  # fmt: skip
PITCH = Demand("slope of riser and tread against the run", "pitch_differs", AT_MOST, "angle_tolerance",
               "", MEASURING, unit="deg")  # fmt: skip
TOTAL_RISE = Demand("total rise against its risers", "rise_difference", AT_MOST, "tolerance",
                    "count the risers again, and measure riser and total rise", MEASURING, of_rules=False)  # fmt: skip


def agreements(works: Works) -> Iterator[Subject]:
    """Every spare measurement of every run and flight."""
    for row, agreement in enumerate(works.site.agreements, start=1):
        for demand, taped, answer in _spare(agreement):
            remedy = f"measured {taped:.3f}, the other measurements give {answer:.3f}: measure again"
            yield Subject(demand, f"run {agreement.run}", "agreement", row, agreement, row, remedy)
    for row, flight in enumerate(works.site.flights, start=1):
        if flight.rise_difference is not None:
            yield Subject(TOTAL_RISE, f"flight {flight.flight}", "flight_working", row, flight, None, TOTAL_RISE.remedy)


def _spare(agreement: Agreement) -> Iterator[tuple[Demand, float, float]]:
    """Measurements that the slope was not taken from, each with the answer."""
    measures, source = agreement.measures, agreement.measures.source
    spare = (
        (RISE, measures.rise_taped, agreement.rise_expected, "rise" in source),
        (SLOPE, measures.slope_taped, agreement.slope_expected, "slope" in source),
        (ANGLE, measures.angle_taped, measures.slope_angle, source == rake.ANGLE),
        (PITCH, agreement.pitch, measures.slope_angle, source == rake.RISER_TREAD),
        (CLEAR, measures.clear_predicted, measures.clear_measured, measures.clear_is_predicted),
    )
    for demand, taped, answer, used in spare:
        if taped is not None and answer is not None and not used:
            yield demand, taped, answer
