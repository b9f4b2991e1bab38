"""The fourth example: a porch round the corner of a house, its own corner clipped at 45 degrees, guards of two heights.

The lane lies nine feet below the side of the porch, so the owner wants 42 in there and round the clipped corner; along
the front 36 1/2 in will do. Looking out, the guard goes round from left to right: run A from the house wall W1 along
the lane to P2, run B across the clipped corner to P3, run C along the front to P4. There two stone steps lead down to
the garden, 48 in wide; run D goes on from P5 to the other corner P6, and run E from there back to the wall W7.

P2 and P3 are turned half way between their runs, 22 1/2 degrees off each, which asks for angled rail brackets; at P3
the cap of the low guard ends under that of the high one, as the owner has been told (Keep). Both end posts at the steps
are new. Every check passes.

Run `python -m tests.corner_porch` to write examples/corner-porch.xlsx anew.
"""

from dataclasses import replace
from typing import Any

from railbook.basics.kinds import INCH
from railbook.job import starter_fastenings, starters
from railbook.job.runs import FINISHED, LEVEL, OPEN, Run
from railbook.job.supports import KEEP, NEW, POST, WALL, Support
from tests.filled_form import EXAMPLES, Filled, as_typed

_WOOD, *_OTHERS = starters.assemblies(INCH)
TALL = replace(_WOOD, assembly="TALL", description="As WOOD, 42 in high", level_height=42.0)
_GUARD: dict[str, Any] = {"kind": LEVEL, "assembly": "WOOD", "measured_to": FINISHED, "stair_side": OPEN}
_HIGH = {**_GUARD, "assembly": "TALL", "drop": "9 ft"}

RUNS = (
    as_typed(
        Run, run="A", location="Along the lane", from_support="W1", to_support="P2", direction=180.0,
        clear_top="11' 4 1/4\"", clear_bottom="11' 4 1/4\"", **_HIGH,
    ),
    as_typed(
        Run, run="B", location="Clipped corner", from_support="P2", to_support="P3", direction=225.0,
        clear_top="52 3/8", clear_bottom="52 3/8", **_HIGH,
    ),
    as_typed(
        Run, run="C", location="Front, left of the steps", from_support="P3", to_support="P4", direction=270.0,
        clear_top="64 1/2", clear_bottom="64 1/2", drop="31 1/2", **_GUARD,
    ),
    as_typed(
        Run, run="D", location="Front, right of the steps", from_support="P5", to_support="P6", direction=270.0,
        clear_top="7' 2\"", clear_bottom="7' 2\"", drop="34", **_GUARD,
    ),
    as_typed(
        Run, run="E", location="Far side, back to the house", from_support="P6", to_support="W7", direction=0.0,
        clear_top="58 3/4", clear_bottom="58 3/4", drop="36", **_GUARD,
    ),
)  # fmt: skip
SUPPORTS = (
    as_typed(Support, support="W1", kind=WALL, notes="Siding, blocking behind"),
    as_typed(Support, support="P3", kind=POST, state=NEW, heights=KEEP, notes="High guard ends here, low one begins"),
    as_typed(Support, support="W7", kind=WALL, notes="Siding, blocking behind"),
)
ASSEMBLIES = (_WOOD, TALL, *_OTHERS)
FASTENINGS = (
    *starter_fastenings.fastenings(INCH),
    *(replace(each, assembly="TALL") for each in starter_fastenings.fastenings(INCH) if each.assembly == "WOOD"),
)
NAMES = {"job_name": "Corner porch, 2 Quarry Lane", "address": "2 Quarry Lane", "measured_by": "T. Finch"}
CORNER_JOB = Filled(
    EXAMPLES / "corner-porch.xlsx",
    INCH,
    NAMES,
    {"runs": RUNS, "flights": (), "supports": SUPPORTS, "assemblies": ASSEMBLIES, "fastenings": FASTENINGS},
)

if __name__ == "__main__":
    CORNER_JOB.draw(CORNER_JOB.place)
