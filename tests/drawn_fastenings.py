"""Fastenings of random jobs: a row or two for most joints, some joints without any."""

from collections.abc import Iterator, Sequence

from railbook.job.assemblies import Assembly
from railbook.job.fastenings import CAP_TO_RAIL, JOINTS, STOPPED, THROUGH, WHATS, Fastening
from tests.taper import ITEMS, Taper


def drawn_fastenings(taper: Taper, assemblies: Sequence[Assembly]) -> Iterator[Fastening]:
    """Rows for those assemblies in no order; about one job in six has none at all."""
    if taper.chance(1 / 6):
        return
    rows = [
        drawn_fastening(taper, assembly.assembly, joint.word)
        for assembly in assemblies
        for joint in JOINTS
        for _ in range(taper.either(0, 1, 1, 1, 2))
    ]
    taper.draw.shuffle(rows)
    yield from rows


def drawn_fastening(taper: Taper, assembly: str, joint: str) -> Fastening:
    """One row."""
    length, either = taper.length, taper.either
    return Fastening(
        assembly=assembly,
        joint=joint,
        what=either(*WHATS),
        item=either(*ITEMS, "SCREW", "BOLT"),
        per_joint=either(0, 1, 2, 2, 4),
        spacing=length(12, 30) if joint == CAP_TO_RAIL or taper.chance(0.1) else None,
        pilot_bit=either(None, length(1 / 8, 1 / 2)),
        pilot_depth=taper.maybe(0.75, 3),
        hole=either(None, STOPPED, THROUGH),
        counterbore_bit=either(None, None, length(3 / 8, 1)),
        counterbore_depth=taper.maybe(0.5, 1.5),
        driver=either(None, "square #2", "Square #2", "star 25", *("=1+1", "007")),
        notes=taper.text(),
        length=taper.maybe(1, 6),
        gauge=either(None, "#8", "#10", "1/4 in", "4.5 mm", "M6", "thick"),
    )
