"""Stairways: whether each flight needs a handrail, and how many of its sides have one or a cap that serves as one."""

from dataclasses import dataclass

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, MARK
from railbook.geometry import flights
from railbook.geometry.flights import FlightWorking
from railbook.job import flights as typed_flights


@dataclass(frozen=True)
class Stairway:
    """One flight with the guards and handrails on its sides.

    Attributes:
        flight: its mark, at `flight_row` of the working flights.
        caps: guards of the flight whose cap a hand can close round.
        rails: its runs of handrail alone.
        from_risers: risers from which on a handrail is required.
    """

    flight: str
    flight_row: int
    working: FlightWorking
    caps: int
    rails: int
    from_risers: float

    @property
    def graspable_sides(self) -> int:
        """Sides with a handrail, or with a cap that a hand can close round."""
        return self.caps + self.rails + (self.working.typed.handrails or 0)

    @property
    def sides_needed(self) -> int | None:
        """1 when the flight has enough risers to need a handrail; None: risers not counted."""
        risers = self.working.risers
        return None if risers is None else int(risers >= self.from_risers)


TAB = Tab(
    "stairways",
    "Working handrails",
    Stairway,
    (
        Column("flight", "Flight", MARK),
        Column("flight_row", "Row", COUNT),
        Column(
            "graspable_sides", "Graspable sides", COUNT,
            "=COUNTIFS({lines_flight_row},{flight_row},{lines_graspable},1)"
            "+COUNTIFS({handrail_slopes_flight_row},{flight_row})+" + or_zero("{typed.handrails}"),
        ),
        Column(
            "sides_needed", "Needed", COUNT,
            '=IF({working.risers}="","",IF({working.risers}>={handrail_risers},1,0))',
        ),
    ),
    purpose="Every flight: whether it needs a handrail, and how many sides have one.",
    key="flight",
    joins={
        "working": Join(flights.TAB, "flight_row", "working"),
        "typed": Join(typed_flights.TAB, "working.flight_row", "working.typed"),
    },
)  # fmt: skip
