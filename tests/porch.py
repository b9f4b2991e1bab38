"""The example job: a raised porch with an L-shaped level guard and a flight with a guard on both sides.

Walking out of the house: the side guard B starts at the house wall and runs to the corner post P1; the
front guard A goes on from there past a divided length to P2, where the stairs begin; the flight has
guards S1 and S2; its other top post P3 stands close to the house.

Run `python -m tests.porch` to write examples/porch.xlsx anew.
"""

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import Any

from railbook.basics.kinds import INCH
from railbook.job import starters
from railbook.job.assemblies import ON_CONCRETE
from railbook.job.flights import Flight
from railbook.job.paid import Paid
from railbook.job.prices import BOARD, YARD_BOARD, Price
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
    as_typed(Support, support="P4", kind=POST, state=NEW, mount=ON_CONCRETE, notes="On the pad before the steps"),
    as_typed(Support, support="P5", kind=POST, state=NEW, mount=ON_CONCRETE, notes="On the pad before the steps"),
)

NAMES = {
    "job_name": "Raised porch, 12 Quarry Road", "address": "12 Quarry Road", "measured_by": "R. Moss",
    "date": dt.date(2026, 5, 4),
    "tax": 0.07, "labour_rate": 55.0, "hours_per_post": 1.25, "hours_per_level": 0.4, "hours_per_stair": 0.6,
    "markup_materials": 0.15, "markup_labour": 0.1, "cost_permit": 85.0, "cost_delivery": 60.0,
    "cost_tear_out": 240.0, "cost_dump": 45.0,
}  # fmt: skip
MONEY = {  # invented
    ("4X4 POST", 96.0): 13.9, ("4X4 POST", 120.0): 17.2, ("4X4 POST", 144.0): 22.9, ("4X4 POST", 192.0): 33.5,
    ("5/4X6 CAP", 96.0): 11.4, ("5/4X6 CAP", 120.0): 14.9, ("5/4X6 CAP", 144.0): 17.6, ("5/4X6 CAP", 192.0): 25.8,
    ("2X4", 96.0): 6.4, ("2X4", 120.0): 8.9, ("2X4", 144.0): 9.8, ("2X4", 192.0): 13.6,
    ("2X2", 96.0): 3.6, ("2X2", 120.0): 5.1, ("2X2", 144.0): 6.5, ("2X2", 192.0): 9.2,
    ("1/2 X 6 BOLT", None): 2.6, ("HOLD-DOWN", None): 14.5, ("2X8 BLOCKING", None): 4.1,
    ("1/4 X 3 1/2 SCREW", None): 38.0, ("1/4 X 3 ANCHOR", None): 1.9,
    ("#8 X 2 SCREW", None): 9.5, ("#8 X 2 1/2 SCREW", None): 11.0, ("#8 X 3 SCREW", None): 12.5,
    ("POST BASE", None): 18.5, ("1/2 X 4 ANCHOR", None): 2.2,
}  # fmt: skip
ASKED_ON = dt.date(2026, 4, 20)
ON_HAND = {("2X4", 144.0): 2, ("#8 X 3 SCREW", None): 60}


def _priced(row: Price) -> Price:
    """A starting row with its price, where it was asked for."""
    key = (row.item or "", row.length)
    if key not in MONEY:
        return row
    supplier = "Lumber yard" if row.sold_as == BOARD else "Hardware store"
    return replace(
        row, price=MONEY[key], price_date=ASKED_ON, supplier=supplier, taxable="Yes", on_hand=ON_HAND.get(key)
    )


LEFT_OVER = Price(item="5/4X6 CAP", description="left over from last year", sold_as=YARD_BOARD, length=76.5, price=5.0,
                  on_hand=1)  # fmt: skip
PRICES = (*map(_priced, starters.prices(INCH)), LEFT_OVER)
PAID = (
    Paid(item="4X4 POST", length=96.0, paid=29.75, notes="Bill 1"),
    Paid(item="#8 X 2 SCREW", paid=31.2, notes="Bill 2"),
)
TABS = {"runs": RUNS, "flights": FLIGHTS, "supports": SUPPORTS, "prices": PRICES, "paid": PAID}
PORCH = Filled(PLACE, INCH, NAMES, TABS)


def porch_sheets() -> list[Sheet]:
    """The form filled in for the porch."""
    return PORCH.sheets()


def draw_porch(path: Path) -> None:
    """Write the filled-in form."""
    PORCH.draw(path)


if __name__ == "__main__":
    draw_porch(PLACE)
