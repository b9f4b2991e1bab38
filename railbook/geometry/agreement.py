"""Agreement: measurements that were not needed, held against the answer that the trusted ones give."""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import if_known, when_known
from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import ANGLE, COUNT, LENGTH, MARK
from railbook.geometry import rake
from railbook.geometry.cells import of_measures
from railbook.geometry.measures import Measures


@dataclass(frozen=True)
class Agreement:
    """One run's spare measurements; lengths in the job's unit, None where nothing can be compared.

    Attributes:
        run: its mark, at `line_row` of the working tabs.
        measures: its working measures.
    """

    run: str
    line_row: int
    measures: Measures

    @cached_property
    def tolerance(self) -> float:
        """How far two ways of measuring one length may differ: more on a longer flight."""
        treads = 0.0 if self.measures.risers is None else self.measures.risers - 1
        return self.measures.limits["length_tolerance"] + treads * self.measures.limits["tread_tolerance"]

    @cached_property
    def rise_expected(self) -> float | None:
        """Height that the answer gains between the taped faces."""
        return when_known(lambda clear: clear * self.measures.tangent, self.measures.clear_measured)

    @cached_property
    def slope_expected(self) -> float | None:
        """Slope length of the answer between the taped faces."""
        return when_known(lambda clear: clear * self.measures.secant, self.measures.clear_measured)

    @cached_property
    def pitch(self) -> float | None:
        """Angle of riser over tread [degrees]."""
        return when_known(lambda riser, tread: rake.degrees(riser / tread), self.measures.riser, self.measures.tread)

    @cached_property
    def rise_differs(self) -> float | None:
        """Taped rise against the answer."""
        return when_known(lambda taped, expected: abs(taped - expected), self.measures.rise_taped, self.rise_expected)

    @cached_property
    def slope_differs(self) -> float | None:
        """Taped slope length against the answer."""
        return when_known(lambda taped, expected: abs(taped - expected), self.measures.slope_taped, self.slope_expected)

    @cached_property
    def angle_differs(self) -> float | None:
        """Taped angle against the answer [degrees]."""
        return when_known(lambda taped: abs(taped - self.measures.slope_angle), self.measures.angle_taped)

    @cached_property
    def pitch_differs(self) -> float | None:
        """Angle of riser over tread against the answer [degrees]."""
        return when_known(lambda pitch: abs(pitch - self.measures.slope_angle), self.pitch)

    @cached_property
    def clear_differs(self) -> float | None:
        """Clear that the flight predicts against the clear used."""
        return when_known(
            lambda predicted, clear: abs(predicted - clear), self.measures.clear_predicted, self.measures.clear_measured
        )


_RISE, _SLOPE, _CLEAR = of_measures("rise_taped"), of_measures("slope_taped"), of_measures("clear_measured")
_ANGLE, _PREDICTED = of_measures("angle_taped"), of_measures("clear_predicted")


def _difference(taped: str, answer: str) -> str:
    """Formula: how far two figures are apart, blank unless both are known."""
    return f'=IF(COUNT({taped},{answer})<2,"",ABS({taped}-{answer}))'


TAB = Tab(
    "agreement",
    "Working agreement",
    Agreement,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Row", COUNT),
        Column(
            "tolerance", "Tolerance", LENGTH,
            f'={{length_tolerance}}+IF({of_measures("risers")}="",0,{of_measures("risers")}-1)*{{tread_tolerance}}',
        ),
        Column(
            "rise_expected", "Rise expected", LENGTH,
            f'=IF({_CLEAR}="","",{_CLEAR}*{of_measures("tangent")})',
        ),
        Column(
            "slope_expected", "Slope expected", LENGTH,
            f'=IF({_CLEAR}="","",{_CLEAR}*{of_measures("secant")})',
        ),
        Column(
            "pitch", "Riser over tread", ANGLE,
            f'=IF(COUNT({of_measures("riser")},{of_measures("tread")})<2,"",'
            f"DEGREES(ATAN({of_measures('riser')}/{of_measures('tread')})))",
        ),
        Column("rise_differs", "Rise differs by", LENGTH, _difference(_RISE, "{rise_expected}")),
        Column("slope_differs", "Slope differs by", LENGTH, _difference(_SLOPE, "{slope_expected}")),
        Column("angle_differs", "Angle differs by", ANGLE, _difference(_ANGLE, of_measures("slope_angle"))),
        Column(
            "pitch_differs", "Riser and tread differ by", ANGLE,
            "=" + if_known(f"ABS({{pitch}}-{of_measures('slope_angle')})", "pitch"),
        ),
        Column("clear_differs", "Flight differs by", LENGTH, _difference(_PREDICTED, _CLEAR)),
    ),
    purpose="Measurements that were not needed, held against the answer that the trusted ones give.",
    key="run",
)  # fmt: skip
