"""Flights worked out: the riser and tread that the sums use, and how much they vary."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import if_known, least, most, when_known
from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, LENGTH, MARK
from railbook.job import flights
from railbook.job.flights import Flight


@dataclass(frozen=True)
class FlightWorking:
    """One flight; lengths in the job's unit, None where a measurement is missing.

    Attributes:
        flight: its mark.
        flight_row: its row on tab Flights, counted from 1.
        typed: what was measured.
        limits: word -> limit in force.

    Worked by hand: 45 in over 6 risers.

    >>> FlightWorking("F1", 1, Flight(risers=6, total_rise=45.0)).riser
    7.5
    """

    flight: str
    flight_row: int
    typed: Flight
    limits: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def risers(self) -> float | None:
        """Risers between the surfaces of the two posts."""
        return self.typed.risers

    @cached_property
    def riser(self) -> float | None:
        """The measured riser, else the total rise divided by the risers [job unit]."""
        if self.typed.riser is not None:
            return self.typed.riser
        return when_known(lambda rise, risers: rise / risers, self.typed.total_rise, self.risers or None)

    @cached_property
    def tread(self) -> float | None:
        """Nosing to nosing, level [job unit]."""
        return self.typed.tread

    @cached_property
    def first_riser(self) -> float | None:
        """The lowest riser where it differs, else the usual one [job unit]."""
        return self.riser if self.typed.first_riser is None else self.typed.first_riser

    @cached_property
    def overhang(self) -> float | None:
        """Nosing in front of the riser below it [job unit]."""
        return self.typed.nosing_overhang

    @cached_property
    def riser_largest(self) -> float | None:
        """Largest riser known [job unit]."""
        return most(self.typed.greatest_riser, self.riser, self.first_riser)

    @cached_property
    def tread_smallest(self) -> float | None:
        """Smallest tread known [job unit]."""
        return least(self.typed.least_tread, self.tread)

    @cached_property
    def tread_largest(self) -> float | None:
        """Largest tread known [job unit]."""
        return most(self.typed.greatest_tread, self.tread)

    @cached_property
    def riser_spread(self) -> float | None:
        """Largest less smallest riser; None unless one beside the usual was measured [job unit]."""
        if most(self.typed.least_riser, self.typed.greatest_riser, self.typed.first_riser) is None:
            return None
        smallest = least(self.typed.least_riser, self.riser, self.first_riser)
        return when_known(lambda large, small: large - small, self.riser_largest, smallest)

    @cached_property
    def tread_spread(self) -> float | None:
        """Largest less smallest tread; None unless one beside the usual was measured [job unit]."""
        if most(self.typed.least_tread, self.typed.greatest_tread) is None:
            return None
        return when_known(lambda large, small: large - small, self.tread_largest, self.tread_smallest)

    @cached_property
    def tolerance(self) -> float:
        """How far the total rise may differ from the risers one by one [job unit]."""
        return self.limits["length_tolerance"] + (self.risers or 0.0) * self.limits["tread_tolerance"]

    @cached_property
    def rise_difference(self) -> float | None:
        """Total rise against the risers one by one; None unless both were measured [job unit]."""
        if self.typed.riser is None:
            return None
        return when_known(lambda total, rise: abs(total - rise), self.typed.total_rise, self.flight_rise)

    @cached_property
    def flight_rise(self) -> float | None:
        """Height from the lower to the upper surface: the first riser and the others [job unit]."""
        return when_known(
            lambda risers, riser, first: first + (risers - 1) * riser,
            self.risers,
            self.riser,
            self.first_riser,
        )


TAB = Tab(
    "flight_working",
    "Working flights",
    FlightWorking,
    (
        Column("flight", "Flight", MARK),
        Column("flight_row", "Row", COUNT, "=MATCH({flight},{flights_flight},0)"),
        Column("risers", "Risers", COUNT, of="typed"),
        Column(
            "riser", "Riser", LENGTH,
            '=IF({typed.riser}<>"",{typed.riser},IF(OR(COUNT({typed.total_rise},{risers})<2,{risers}=0),"",'
            "{typed.total_rise}/{risers}))",
        ),
        Column("tread", "Tread", LENGTH, of="typed"),
        Column(
            "first_riser", "First riser", LENGTH, '=IF({typed.first_riser}="",{riser},{typed.first_riser})',
        ),
        Column("overhang", "Nosing overhang", LENGTH, of="typed.nosing_overhang"),
        Column(
            "riser_largest", "Largest riser", LENGTH,
            '=IF(COUNT({riser},{typed.greatest_riser},{first_riser})=0,"",'
            "MAX({riser},{typed.greatest_riser},{first_riser}))",
        ),
        Column(
            "tread_smallest", "Smallest tread", LENGTH,
            '=IF(COUNT({tread},{typed.least_tread})=0,"",MIN({tread},{typed.least_tread}))',
        ),
        Column(
            "tread_largest", "Largest tread", LENGTH,
            '=IF(COUNT({tread},{typed.greatest_tread})=0,"",MAX({tread},{typed.greatest_tread}))',
        ),
        Column(
            "riser_spread", "Riser variation", LENGTH,
            '=IF(OR(COUNT({typed.least_riser},{typed.greatest_riser},{typed.first_riser})=0,{riser_largest}="",'
            'COUNT({typed.least_riser},{riser},{first_riser})=0),"",'
            "{riser_largest}-MIN({typed.least_riser},{riser},{first_riser}))",
        ),
        Column(
            "tread_spread", "Tread variation", LENGTH,
            "=IF(OR(COUNT({typed.least_tread},{typed.greatest_tread})=0,COUNT({tread_smallest},{tread_largest})<2),"
            '"",{tread_largest}-{tread_smallest})',
        ),
        Column(
            "flight_rise", "Rise of the flight", LENGTH,
            "=" + if_known("{first_riser}+({risers}-1)*{riser}", "first_riser", "risers", "riser"),
        ),
        Column("tolerance", "Tolerance", LENGTH, '={length_tolerance}+IF({risers}="",0,{risers})*{tread_tolerance}'),
        Column(
            "rise_difference", "Total rise differs by", LENGTH,
            '=IF(COUNT({typed.riser},{typed.total_rise},{flight_rise})<3,"",ABS({typed.total_rise}-{flight_rise}))',
        ),
    ),
    purpose="Every flight: the riser and tread that the sums use.",
    key="flight",
    joins={"typed": Join(flights.TAB, "flight_row", "typed")},
)  # fmt: skip
