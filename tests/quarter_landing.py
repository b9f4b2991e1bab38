"""The fifth example: a flight to a quarter landing, a guard round it, a second flight, and one post that leans.

From the yard the first flight S1 rises north to the landing; its guard stands on the open, left side. The landing's own
guard goes on from there, L1 along its west edge to the corner post P3, L2 along its north edge to P4, where the second
flight S2 rises east to the deck. P4 is the foot post of that flight, so it stands taller than L2 asks, and the cap of
L2 ends on its side. At the top stands the old corner post E5 of the deck, sound, leaning 1 1/2 degrees away from the
stairs, and from it the deck's guard D runs on to the house wall W6.

Run `python -m tests.quarter_landing` to write examples/quarter-landing.xlsx anew.
"""

from typing import Any

from railbook.basics.kinds import INCH
from railbook.job.flights import Flight
from railbook.job.runs import FINISHED, LEVEL, MEETS, OPEN, OWN, STAIR, Run
from railbook.job.supports import EXISTING, KEEP, NEW, POST, WALL, Support
from tests.filled_form import EXAMPLES, Filled, as_typed

_GUARD: dict[str, Any] = {"assembly": "WOOD", "measured_to": FINISHED, "stair_side": OPEN}

RUNS = (
    as_typed(
        Run, run="S1", location="Yard to landing", kind=STAIR, flight="F1", from_support="P1", to_support="P2",
        direction=0.0, clear_bottom="44 1/2", rise="31 3/16", lower_setback="1 3/4", upper_setback="1 1/4",
        drop="3' 1\"", height=MEETS, **_GUARD,
    ),
    as_typed(
        Run, run="L1", location="Landing, west", kind=LEVEL, from_support="P2", to_support="P3", direction=0.0,
        clear_top="40", clear_bottom="40", drop="3' 2\"", **_GUARD,
    ),
    as_typed(
        Run, run="L2", location="Landing, north", kind=LEVEL, from_support="P3", to_support="P4", direction=90.0,
        clear_top="35 1/4", clear_bottom="35 1/4", drop="3' 2\"", **_GUARD,
    ),
    as_typed(
        Run, run="S2", location="Landing to deck", kind=STAIR, flight="F2", from_support="P4", to_support="E5",
        direction=90.0, clear_bottom="56 1/2", rise="39 9/16", lower_setback="2", upper_setback="2 1/4",
        lean_to=1.5, drop="6' 4\"", height=OWN, **_GUARD,
    ),
    as_typed(
        Run, run="D", location="Deck, east", kind=LEVEL, from_support="E5", to_support="W6", direction=90.0,
        clear_bottom="66 3/4", lean_from=-1.5, drop="6' 5\"", **_GUARD,
    ),
)  # fmt: skip
FLIGHTS = (
    as_typed(
        Flight, flight="F1", risers=5, total_rise="36 1/4", tread="10 3/8", nosing_overhang="1", open_risers="No",
        handrails=1, notes="Handrail on the house side is there",
    ),
    as_typed(
        Flight, flight="F2", risers=6, total_rise="43 1/2", tread="10 7/16", nosing_overhang="1", open_risers="No",
        handrails=1, notes="Handrail on the house side is there",
    ),
)  # fmt: skip
SUPPORTS = (
    as_typed(Support, support="P1", kind=POST, state=NEW, mount="On concrete", notes="On the pad at the foot"),
    as_typed(
        Support,
        support="P4",
        kind=POST,
        state=NEW,
        mount="Inside rim",
        heights=KEEP,
        notes="Foot of the second flight, beside the rim of the landing",
    ),
    as_typed(
        Support,
        support="E5",
        kind=POST,
        state=EXISTING,
        face_width="3 1/2",
        standing_height="40",
        heights=KEEP,
        notes="Old corner post, sound; leans away from the stairs",
    ),
    as_typed(Support, support="W6", kind=WALL, notes="Siding, blocking behind"),
)
NAMES = {"job_name": "Garden stairs, 9 Weir Street", "address": "9 Weir Street", "measured_by": "L. Ash"}
LANDING_JOB = Filled(
    EXAMPLES / "quarter-landing.xlsx", INCH, NAMES, {"runs": RUNS, "flights": FLIGHTS, "supports": SUPPORTS}
)

if __name__ == "__main__":
    LANDING_JOB.draw(LANDING_JOB.place)
