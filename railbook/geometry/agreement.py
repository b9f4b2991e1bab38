"""Agreement: measurements that were not needed, held against the answer that the trusted ones give."""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import if_known, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.kinds import ANGLE, LENGTH
from railbook.geometry import rake
from railbook.geometry.measures import Measures


@dataclass(frozen=True)
class Agreement:
    """One run's spare measurements; lengths in the job's unit, None where nothing can be compared.

    Attributes:
        measures: its working measures.
    """

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
        return when_known(lambda taped, expected: abs(taped - expected), self.measures.typed.rise, self.rise_expected)

    @cached_property
    def slope_differs(self) -> float | None:
        """Taped slope length against the answer."""
        return when_known(
            lambda taped, expected: abs(taped - expected), self.measures.typed.slope_length, self.slope_expected
        )

    @cached_property
    def angle_differs(self) -> float | None:
        """Taped angle against the answer [degrees]."""
        return when_known(lambda taped: abs(taped - self.measures.slope_angle), self.measures.typed.angle)

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


def _difference(taped: str, answer: str) -> str:
    """Formula: how far two figures are apart, blank unless both are known."""
    return "=" + if_known("ABS({" + taped + "}-{" + answer + "})", taped, answer)


def _expected(slope: str) -> str:
    """Formula: the clear times a figure of the slope."""
    return "=" + if_known("{clear_measured}*{" + slope + "}", "clear_measured")


PART = Part(
    "lines",
    Agreement,
    (
        Column(
            "tolerance", "Tolerance", LENGTH, '={length_tolerance}+IF({risers}="",0,{risers}-1)*{tread_tolerance}',
        ),
        Column("rise_expected", "Rise expected", LENGTH, _expected("tangent")),
        Column("slope_expected", "Slope expected", LENGTH, _expected("secant")),
        Column("pitch", "Riser over tread", ANGLE, "=" + if_known("DEGREES(ATAN({riser}/{tread}))", "riser", "tread")),
        Column("rise_differs", "Rise differs by", LENGTH, _difference("rise_taped", "rise_expected")),
        Column("slope_differs", "Slope differs by", LENGTH, _difference("slope_taped", "slope_expected")),
        Column("angle_differs", "Angle differs by", ANGLE, _difference("angle_taped", "slope_angle")),
        Column("pitch_differs", "Riser and tread differ by", ANGLE, _difference("pitch", "slope_angle")),
        Column("clear_differs", "Flight differs by", LENGTH, _difference("clear_predicted", "clear_measured")),
    ),
)  # fmt: skip
