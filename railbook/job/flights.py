"""Flights: one row per flight of stairs, shared by the runs on its two sides."""

from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import ALLOWANCE, COUNT, MARK, MEASURED, TEXT, YES_NO
from railbook.basics.problem import Origin


@dataclass(frozen=True)
class Flight:
    """One flight as typed; lengths in the job's unit, None for a blank.

    Attributes:
        risers: counted between the surfaces that the two posts stand on.
        total_rise: floor to floor between those surfaces.
        tread: nosing to nosing, level (not the width of the board).
        handrails: graspable rails beside the guards' own caps.
        nosing_overhang: how far a nosing stands in front of the riser below it; 0 is an answer.
    """

    flight: str = ""
    risers: int | None = None
    total_rise: float | None = None
    riser: float | None = None
    tread: float | None = None
    nosing_overhang: float | None = None
    first_riser: float | None = None
    least_riser: float | None = None
    greatest_riser: float | None = None
    least_tread: float | None = None
    greatest_tread: float | None = None
    open_risers: str | None = None
    handrails: int | None = None
    notes: str | None = None
    origin: Origin = Origin()


TAB = Tab(
    "flights",
    "Flights",
    Flight,
    (
        asked("flight", "Flight", MARK, "Your mark for the flight: F1", needed=True, width=7),
        asked("risers", "Risers", COUNT, "Counted between the surfaces on which the lower and upper posts stand"),
        asked("total_rise", "Total rise", MEASURED, "Plumb between those two surfaces"),
        asked("riser", "Riser", MEASURED, "Usual riser; blank: total rise divided by the risers"),
        asked("tread", "Tread", MEASURED, "Nosing to nosing, level (not the width of the board)"),
        asked(
            "nosing_overhang",
            "Nosing overhang",
            ALLOWANCE,
            "Nosing in front of the riser below; 0 when flush, blank when not measured",
        ),
        asked("first_riser", "First riser", MEASURED, "Only where the lowest riser differs"),
        asked("least_riser", "Least riser", MEASURED, "Smallest riser of the flight"),
        asked("greatest_riser", "Greatest riser", MEASURED, "Largest riser of the flight"),
        asked("least_tread", "Least tread", MEASURED, "Smallest tread of the flight"),
        asked("greatest_tread", "Greatest tread", MEASURED, "Largest tread of the flight"),
        asked("open_risers", "Open risers", YES_NO, "Yes when one can see through between the treads"),
        asked(
            "handrails",
            "Handrails",
            COUNT,
            "Graspable handrails that are there already; not those that stand as runs of kind Handrail",
        ),
        asked("notes", "Notes", TEXT, "Anything the crew should know", width=24),
    ),
    purpose="One row for each flight of stairs, shared by the runs on its two sides.",
    key="flight",
    optional=True,
)
