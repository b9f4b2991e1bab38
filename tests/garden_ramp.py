"""The second example: a ramp to a level landing beside a house, in millimetres.

The ramp R comes in through a gap in the garden wall W1 and rises eastward along the house, 468 in 5616 mm, which is
1 in 12. Its open side has a guard, which ends in line at the post P1 of the landing; the wall side has a handrail of
its own, H. Walking out onto the landing: the end guard B starts at the existing wall post E1, which leans 1 degree
away from it and stays, and runs to the corner post P2; the long guard A goes on from there back to P1.

Its checks pass, with one thing to look at (exit status 1): its posts stand on bases that wood screws alone hold. The
cap board of the ramp and its handrail are longer than any board of tab Prices, so both are spliced.

Run `python -m tests.garden_ramp` to write examples/garden-ramp.xlsx anew.
"""

from typing import Any

from railbook.basics.kinds import MILLIMETRE
from railbook.job.runs import FINISHED, HANDRAIL, LEVEL, MEETS, OPEN, RAMP, Run
from railbook.job.supports import EXISTING, POST, WALL, Support
from tests.filled_form import EXAMPLES, Filled, as_typed

_GUARD: dict[str, Any] = {"assembly": "METAL", "measured_to": FINISHED, "stair_side": OPEN}

RUNS = (
    as_typed(
        Run, run="R", location="Ramp, garden side", kind=RAMP, from_support="W1", to_support="P1", direction=90.0,
        clear_bottom="5616", rise="468", slope_length="5636", drop="0.89 m", height=MEETS, **_GUARD,
    ),
    as_typed(
        Run, run="A", location="Landing, garden side", kind=LEVEL, from_support="P2", to_support="P1",
        direction=270.0, clear_top="2000", clear_bottom="2000", drop="0.9 m", **_GUARD,
    ),
    as_typed(
        Run, run="B", location="Landing, house to corner", kind=LEVEL, from_support="E1", to_support="P2",
        direction=180.0, clear_top="1324", clear_bottom="1310", lean_from=1.0, drop="0.9 m",
        notes="E1 leans towards the house", **_GUARD,
    ),
    as_typed(
        Run, run="H", location="Ramp, house side", kind=HANDRAIL, assembly="METAL", clear_bottom="5616", rise="468",
        notes="On the house wall, into the studs",
    ),
)  # fmt: skip
SUPPORTS = (
    as_typed(Support, support="W1", kind=WALL, notes="Garden wall, solid brick"),
    as_typed(
        Support, support="E1", kind=POST, state=EXISTING, face_width="100", standing_height="905", gap_beyond="60",
        notes="Old wall post, sound and cut level; it stays",
    ),
)  # fmt: skip
NAMES = {"job_name": "Garden ramp, 5 Mill Lane", "address": "5 Mill Lane", "measured_by": "A. Reed"}
RAMP_JOB = Filled(EXAMPLES / "garden-ramp.xlsx", MILLIMETRE, NAMES, {"runs": RUNS, "flights": (), "supports": SUPPORTS})

if __name__ == "__main__":
    RAMP_JOB.draw(RAMP_JOB.place)
