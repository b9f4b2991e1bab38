"""Slopes of the handrails of their own: from what was taped, or from the flight, to slope and length.

A handrail's own measurements, where there are any, are taken between the lowest and the top nosing; off the
stairs from end to end of the slope, and on the level from end to end of the rail. Without any, the flight
gives both slope and length. What was measured more than once is held against the answer.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import if_known, when_known
from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import ANGLE, CHOICE, COUNT, FACTOR, LENGTH, MARK, TEXT
from railbook.geometry import flights, rake
from railbook.geometry.flights import FlightWorking
from railbook.job import runs
from railbook.job.runs import LEVEL, Run

SLOPED = "Sloped"


@dataclass(frozen=True)
class HandrailSlope:
    """The slope of one handrail; lengths in the job's unit, None where a measurement is missing.

    Attributes:
        run: its mark, at `run_row` of tab Runs.
        typed: what was measured.
        flight: its flight, at `flight_row` of the working flights; None off the stairs.
        limits: word -> limit in force.
    """

    run: str
    run_row: int
    typed: Run
    flight: FlightWorking | None
    flight_row: int | None
    limits: Mapping[str, float]

    @cached_property
    def clear_taped(self) -> float | None:
        """Level distance as taped: low down, else high up [job unit]."""
        return self.typed.clear_top if self.typed.clear_bottom is None else self.typed.clear_bottom

    @property
    def rise_taped(self) -> float | None:
        """Height that it gains, as taped [job unit]."""
        return self.typed.rise

    @property
    def slope_taped(self) -> float | None:
        """Length along the slope, as taped [job unit]."""
        return self.typed.slope_length

    @property
    def angle_taped(self) -> float | None:
        """Slope as taped [degrees]."""
        return self.typed.angle

    @property
    def riser(self) -> float | None:
        """The flight's riser [job unit]."""
        return None if self.flight is None else self.flight.riser

    @property
    def tread(self) -> float | None:
        """The flight's tread [job unit]."""
        return None if self.flight is None else self.flight.tread

    @property
    def risers(self) -> float | None:
        """The flight's number of risers."""
        return None if self.flight is None else self.flight.risers

    @cached_property
    def kind(self) -> str:
        """Level or Sloped."""
        sloped = (self.typed.flight, self.rise_taped, self.slope_taped, self.angle_taped)
        return LEVEL if all(each is None for each in sloped) else SLOPED

    @cached_property
    def source(self) -> str:
        """The measurements that the slope is taken from."""
        if self.kind == LEVEL:
            return rake.LEVEL_SOURCE
        return rake.source(
            clear=self.clear_taped,
            rise=self.rise_taped,
            slope_length=self.slope_taped,
            angle=self.angle_taped,
            pitch_known=self.riser is not None and self.tread is not None,
            short_slope=self.limits["short_slope"],
        )

    @cached_property
    def tangent(self) -> float | None:
        """Tangent of the slope, 0 on the level."""
        return rake.tangent_from(
            self.source,
            clear=self.clear_taped,
            rise=self.rise_taped,
            slope_length=self.slope_taped,
            angle=self.angle_taped,
            riser=self.riser,
            tread=self.tread,
        )

    @cached_property
    def secant(self) -> float | None:
        """Length along the slope for each unit of level length."""
        return when_known(rake.secant, self.tangent)

    @cached_property
    def slope_angle(self) -> float | None:
        """Angle of the slope [degrees]."""
        return when_known(rake.degrees, self.tangent)

    @cached_property
    def span(self) -> float | None:
        """Level distance between its two nosings, or end to end: as taped, else of the flight [job unit]."""
        if self.clear_taped is not None:
            return self.clear_taped
        if self.slope_taped is not None:
            return when_known(lambda slope, secant: slope / secant, self.slope_taped, self.secant)
        if self.rise_taped is not None:
            return when_known(lambda rise, tangent: rise / tangent, self.rise_taped, self.tangent)
        return when_known(lambda risers, tread: (risers - 1) * tread, self.risers, self.tread)

    @cached_property
    def between(self) -> float | None:
        """The same along the slope [job unit]."""
        return when_known(lambda span, secant: span * secant, self.span, self.secant)

    @cached_property
    def flight_least(self) -> float | None:
        """Nosing to nosing along the slope by its flight, less what two ways of measuring may differ [job unit]."""
        return when_known(
            lambda risers, riser, tread: (
                (risers - 1) * tread * rake.secant(riser / tread) - self.limits["length_tolerance"]
            ),
            self.risers, self.riser, self.tread,
        )  # fmt: skip

    @cached_property
    def tolerance(self) -> float:
        """How far two ways of measuring one length may differ [job unit]."""
        treads = 0.0 if self.risers is None else self.risers - 1
        return self.limits["length_tolerance"] + treads * self.limits["tread_tolerance"]

    @cached_property
    def rise_differs(self) -> float | None:
        """Taped rise against the answer [job unit]."""
        return when_known(
            lambda taped, span, tangent: abs(taped - span * tangent), self.rise_taped, self.span, self.tangent
        )

    @cached_property
    def slope_differs(self) -> float | None:
        """Taped slope length against the answer [job unit]."""
        return when_known(lambda taped, between: abs(taped - between), self.slope_taped, self.between)

    @cached_property
    def angle_differs(self) -> float | None:
        """Taped angle against the answer [degrees]."""
        return when_known(lambda taped, slope: abs(taped - slope), self.angle_taped, self.slope_angle)

    @cached_property
    def pitch(self) -> float | None:
        """Angle of riser over tread [degrees]."""
        return when_known(lambda riser, tread: rake.degrees(riser / tread), self.riser, self.tread)

    @cached_property
    def pitch_differs(self) -> float | None:
        """Angle of riser over tread against the answer [degrees]."""
        return when_known(lambda pitch, slope: abs(pitch - slope), self.pitch, self.slope_angle)


TAB = Tab(
    "handrail_slopes",
    "Working slopes",
    HandrailSlope,
    (
        Column("run", "Run", MARK),
        Column("run_row", "Run row", COUNT, "=MATCH({run},{runs_run},0)"),
        Column("flight_row", "Flight row", COUNT,
            '=IF({typed.flight}="","",MATCH({typed.flight},{flight_working_flight},0))'),
        Column("clear_taped", "Clear taped", LENGTH,
            '=IF({typed.clear_bottom}<>"",{typed.clear_bottom},IF({typed.clear_top}="","",{typed.clear_top}))'),
        Column("rise_taped", "Rise taped", LENGTH, of="typed.rise"),
        Column("slope_taped", "Slope taped", LENGTH, of="typed.slope_length"),
        Column("angle_taped", "Angle taped", ANGLE, of="typed.angle"),
        Column("riser", "Riser", LENGTH, of="flight"),
        Column("tread", "Tread", LENGTH, of="flight"),
        Column("risers", "Risers", COUNT, of="flight"),
        Column("kind", "Kind", CHOICE,
            '=IF(AND({typed.flight}="",COUNT({rise_taped},{slope_taped},{angle_taped})=0),"Level","Sloped")'),
        Column("source", "Slope taken from", TEXT, rake.SOURCE_EXCEL, width=22),
        Column("tangent", "Tangent", FACTOR, rake.TANGENT_EXCEL),
        Column("secant", "Secant", FACTOR, "=" + if_known("SQRT(1+{tangent}^2)", "tangent")),
        Column("slope_angle", "Slope", ANGLE, "=" + if_known("DEGREES(ATAN({tangent}))", "tangent")),
        Column(
            "span", "Level length", LENGTH,
            '=IF({clear_taped}<>"",{clear_taped},IF({slope_taped}<>"",IF({secant}="","",{slope_taped}/{secant}),'
            'IF({rise_taped}<>"",IF({tangent}="","",{rise_taped}/{tangent}),'
            'IF(COUNT({risers},{tread})<2,"",({risers}-1)*{tread}))))',
        ),
        Column("between", "Nosing to nosing", LENGTH, "=" + if_known("{span}*{secant}", "span", "secant")),
        Column("flight_least", "Flight asks for", LENGTH,
            "=" + if_known("{by_flight}-{length_tolerance}", "risers", "riser", "tread")),
        Column("tolerance", "Tolerance", LENGTH,
            '={length_tolerance}+IF({risers}="",0,{risers}-1)*{tread_tolerance}'),
        Column("rise_differs", "Rise differs by", LENGTH,
            "=" + if_known("ABS({rise_taped}-{span}*{tangent})", "rise_taped", "span", "tangent")),
        Column("slope_differs", "Slope differs by", LENGTH,
            "=" + if_known("ABS({slope_taped}-{between})", "slope_taped", "between")),
        Column("angle_differs", "Angle differs by", ANGLE,
            "=" + if_known("ABS({angle_taped}-{slope_angle})", "angle_taped", "slope_angle")),
        Column("pitch", "Riser over tread", ANGLE, "=" + if_known("DEGREES(ATAN({riser}/{tread}))", "riser", "tread")),
        Column("pitch_differs", "Riser and tread differ by", ANGLE,
            "=" + if_known("ABS({pitch}-{slope_angle})", "pitch", "slope_angle")),
    ),
    purpose="Every handrail of its own: its slope and its length between the nosings, and what agrees with them.",
    none="No run of kind Handrail.",
    key="run",
    joins={
        "typed": Join(runs.TAB, "run_row", "typed"),
        "flight": Join(flights.TAB, "flight_row", "flight", maybe=True),
    },
    terms={"by_flight": "({risers}-1)*{tread}*SQRT(1+({riser}/{tread})^2)"},
)  # fmt: skip
