"""The third example: a steep old flight that fails, and whose warnings say what to change to what.

Five risers of 8 1/4 to 8 3/8 in lead from a yard to a back door; the house stands on one side, so that the flight has
one guard. Its owner wants the new railing WOOD as the old one was: 33 1/2 in high, its bottom rail 2 in above the
nosings, its lower post where the old one stood, 12 3/4 in before the first nosing. Four checks fail (exit status 1):
the height of the guard, the triangle of riser, tread and bottom rail, the largest riser, and the place of the lower
post. `MENDED` is the same job with every remedy applied: it passes.

Run `python -m tests.steep_stairs` to write examples/steep-stairs.xlsx anew.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from railbook.basics.kinds import INCH
from railbook.job import starters
from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import FINISHED, OPEN, OWN, STAIR, Run
from railbook.job.supports import NEW, POST, Support
from tests.filled_form import EXAMPLES, Filled, as_typed

_WOOD, *_OTHERS = starters.assemblies(INCH)


def wood(**cells: Any) -> tuple[Assembly, ...]:
    """The starting assemblies, the first with these cells typed over."""
    return (replace(_WOOD, **cells), *_OTHERS)


RUN = as_typed(
    Run, run="S1", location="Back stairs, yard side", kind=STAIR, flight="F1", from_support="P1", to_support="P2",
    direction=90.0, assembly="WOOD", measured_to=FINISHED, clear_bottom="55 3/4", rise="45 1/8",
    lower_setback="12 3/4", upper_setback="2", stair_side=OPEN, drop="3' 5 1/2\"", height=OWN,
)  # fmt: skip
FLIGHT = as_typed(
    Flight, flight="F1", risers=5, total_rise="41 1/2", tread="10 1/4", nosing_overhang="3/4", least_riser="8 1/4",
    greatest_riser="8 3/8", least_tread="10 1/4", greatest_tread="10 5/16", open_risers="No", handrails=1,
    notes="Handrail is there, on the house wall",
)  # fmt: skip
SUPPORTS = (
    as_typed(Support, support="P2", kind=POST, state=NEW, gap_beyond="2 1/2", notes="End post beside the house"),
)
OLD_SIZES = wood(stair_height="33 1/2", stair_clearance="2")
NAMES = {"job_name": "Back stairs, 31 Orchard Street", "address": "31 Orchard Street", "measured_by": "R. Moss"}


def stairs(run: Run = RUN, flight: Flight = FLIGHT, assemblies: Sequence[Assembly] = OLD_SIZES) -> Filled:
    """The job with these rows."""
    tabs = {"runs": (run,), "flights": (flight,), "supports": SUPPORTS, "assemblies": assemblies}
    return Filled(EXAMPLES / "steep-stairs.xlsx", INCH, NAMES, tabs)


STAIRS_JOB = stairs()

if __name__ == "__main__":
    STAIRS_JOB.draw(STAIRS_JOB.place)
