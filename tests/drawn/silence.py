"""Checks of what Warnings must tell of caps: one that is not laid out, one that does not meet the other at its post."""

from collections.abc import Iterator

from railbook.job.supports import STAND_PROUD
from tests.drawn.caps import CapEnd, Capped, others_at
from tests.drawn.ends import BUTTED, CLOSE, CLOSED, FREE, ways_to_end
from tests.drawn.finding import Finding
from tests.drawn.reading import CAP, Reading
from tests.drawn.told import is_refused, lacks_its_cap, names
from tests.drawn.witness import Drawn


def missing_caps(drawn: Drawn) -> Iterator[Finding]:
    """Every cap is on the cut list, or Warnings says why not."""
    for run in drawn.reading.runs:
        if lacks_its_cap(drawn.reading, run) and not is_refused(drawn.reading, run):
            yield Finding("cut list", (f"{CAP} {run.run}",), 0.0, "is not on it, and nothing says why")


def untold_ends(drawn: Drawn) -> Iterator[Finding]:
    """A cap that ends on a shared post without meeting another is told, or at an edge without being flush with it."""
    for cap in drawn.caps:
        for end in (cap.low, cap.high):
            mark = end.stand.mark
            if not others_at(drawn.ground, cap.stretch, end.stand) or _is_meant(drawn.reading, mark):
                continue
            ways = {way.says for way in ways_to_end(drawn, cap, end) if way.excess <= 0}
            flush = BUTTED in ways and _is_flush(drawn, cap, end)
            if ways and not ways & {FREE, CLOSED} and not flush and not names(drawn.reading, mark, "cap"):
                yield Finding("told", (cap.stretch.run.run, mark), 0.0, "nothing tells how its cap ends")


def _is_meant(reading: Reading, mark: str) -> bool:
    """Whether what is done there was typed: a post that stands proud, by its row or its railing."""
    typed = reading.supports.get(mark)
    runs = [run for run in reading.runs if mark in (run.from_support, run.to_support)]
    proud = any(reading.assemblies[run.assembly or ""].post_proud is not None for run in runs)
    return proud or (typed is not None and typed.heights == STAND_PROUD)


def _is_flush(drawn: Drawn, cap: Capped, end: CapEnd) -> bool:
    """Whether the top of an end is as high as the top of a level cap there."""
    tops = [
        float(other.point(0.0, 0.0, other.thickness)[2])
        for other in drawn.caps
        if other is not cap and not other.stretch.taped.tangent and end.stand.mark in _marks(other)
    ]
    height = max(float(corner[2]) for corner in cap.corners(end))
    allowed = CLOSE[drawn.reading.settings.unit] + drawn.reading.hair + 2 * drawn.reading.step
    return any(abs(height - top) <= allowed for top in tops)


def _marks(cap: Capped) -> tuple[str, str]:
    return cap.low.stand.mark, cap.high.stand.mark
