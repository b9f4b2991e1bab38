"""The example job: a raised porch with an L-shaped level guard and a flight with a guard on both sides.

Walking out of the house: the side guard B starts at the house wall and runs to the corner post P1; the
front guard A goes on from there past a divided length to P2, where the stairs begin; the flight has
guards S1 and S2; its other top post P3 stands close to the house.

Run `python -m tests.porch` to write examples/porch.xlsx anew.
"""

from pathlib import Path
from typing import Any

from railbook.basics.kinds import INCH
from railbook.job.flights import Flight
from railbook.job.runs import FINISHED, LEVEL, MEETS, OPEN, OWN, STAIR, Run
from railbook.job.supports import NEW, POST, WALL, Support
from railbook.report.book import Sheet
from tests.filled_form import EXAMPLES, Filled, as_typed

PLACE = EXAMPLES / "porch.xlsx"
_LEVEL: dict[str, Any] = {
    "kind": LEVEL,
    "assembly": "WOOD",
    "measured_to": FINISHED,
    "stair_side": OPEN,
    "drop": "4' 5\"",
}
_STAIR: dict[str, Any] = {**_LEVEL, "kind": STAIR, "flight": "F1", "height": MEETS}

RUNS = (
    as_typed(
        Run, run="A", location="Front, corner to stairs", from_support="P1", to_support="P2", direction=270.0,
        clear_top="15' 7 1/4\"", clear_bottom="15' 7 3/8\"", **_LEVEL,
    ),
    as_typed(
        Run, run="B", location="Side, house to corner", from_support="W1", to_support="P1", direction=180.0,
        clear_top="65 5/8", clear_bottom="65 5/8", **_LEVEL,
    ),
    as_typed(
        Run, run="S1", location="Stairs, left going up", from_support="P4", to_support="P2", direction=0.0,
        clear_bottom="67", rise="47 1/16", lower_setback="2 1/4", upper_setback="1 3/4", **_STAIR,
    ),
    as_typed(
        Run, run="S2", location="Stairs, right going up", from_support="P5", to_support="P3", direction=0.0,
        slope_length="81 15/16", rise="47 1/16", angle=35.0, lower_setback="2 3/16", upper_setback="1 7/8",
        **{**_STAIR, "height": OWN},
    ),
)  # fmt: skip
FLIGHTS = (
    as_typed(
        Flight, flight="F1", risers=7, total_rise="51 5/8", tread="10 1/2", nosing_overhang="1",
        least_riser="7 5/16", greatest_riser="7 7/16", least_tread="10 7/16", greatest_tread="10 9/16",
        open_risers="No", handrails=1, notes="Handrail goes on the house side",
    ),
)  # fmt: skip
SUPPORTS = (
    as_typed(Support, support="W1", kind=WALL, notes="House wall, 2x6 framing behind the siding"),
    as_typed(Support, support="P3", kind=POST, state=NEW, gap_beyond="3 1/4", notes="End post beside the house"),
)

NAMES = {"job_name": "Raised porch, 12 Quarry Road", "address": "12 Quarry Road", "measured_by": "R. Moss"}
PORCH = Filled(PLACE, INCH, NAMES, {"runs": RUNS, "flights": FLIGHTS, "supports": SUPPORTS})


def porch_sheets() -> list[Sheet]:
    """The form filled in for the porch."""
    return PORCH.sheets()


def draw_porch(path: Path) -> None:
    """Write the filled-in form."""
    PORCH.draw(path)


if __name__ == "__main__":
    draw_porch(PLACE)
