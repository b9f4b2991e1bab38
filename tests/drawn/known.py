"""What the witness finds today: set aside by name, where Warnings tells it or where it is a fault that waits."""

from collections.abc import Iterator

from railbook.job.runs import LEVEL
from tests.drawn.checks import findings
from tests.drawn.finding import Finding
from tests.drawn.lists import NO_EDGE
from tests.drawn.reading import CAP, TOP_RAIL, Reading


def is_told_notch(found: Finding, reading: Reading) -> bool:
    """Where a flight or a ramp comes to a level guard round a corner, the upper corner of its top rail runs into the
    overhang of the level cap. No tab has a cut for it yet, but Warnings tells it and asks for a notch, unless it is no
    more than a step of the tape, to which rounding may add half a step."""
    if found.check != "overlap":
        return False
    kinds = {run.run: run.kind for run in reading.runs}
    rail, cap = sorted(found.where, key=lambda name: name.startswith(CAP))
    if not rail.startswith(TOP_RAIL) or kinds.get(cap.removeprefix(f"{CAP} ")) != LEVEL:
        return False
    run = rail.removeprefix(f"{TOP_RAIL} ").rpartition(".")[0]
    told = any(row.where == f"run {run}" and "into the overhang of the level cap" in row.what for row in reading.told)
    return told or found.by <= reading.hair + 1.5 * reading.step


def is_length_of_a_parallel_cap(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: the cut list says that lengths run along an edge, but of a cap whose ends are parallel it shows
    what lies between the tips, under Length as under Tip to tip. See tests/test_drawn_later.py."""
    if found.says != NO_EDGE or not found.where[0].startswith(CAP):
        return False
    row = reading.piece(CAP, found.where[0].removeprefix(f"{CAP} "))
    return row is not None and row.lower_cut * row.upper_cut > 0 and row.length == row.tip_to_tip


KNOWN = (is_told_notch, is_length_of_a_parallel_cap)


def wrong(reading: Reading) -> list[Finding]:
    """What the witness finds, but for what is known."""
    return [found for found in findings(reading) if not any(known(found, reading) for known in KNOWN)]


def is_told(found: Finding, reading: Reading) -> bool:
    """Whether Warnings names one of the supports that a finding is about."""
    named = {told.where for told in reading.told}
    return any(f"support {mark}" in named for mark in _supports(found, reading))


def _supports(found: Finding, reading: Reading) -> Iterator[str]:
    """Marks of the supports named in a finding, or at which the runs named in it end."""
    words = {word.partition(".")[0] for name in found.where for word in name.split()}
    yield from words
    for run in reading.runs:
        if run.run in words:
            yield from (run.from_support or "", run.to_support or "")
