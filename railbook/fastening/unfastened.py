"""What tab Fastenings leaves out: joints that nothing is given for, and rows that lack what they need."""

from collections.abc import Iterator, Sequence

from railbook.basics.problem import LOOK, Problem
from railbook.basics.units import Refusal
from railbook.fastening.layout import Fastened
from railbook.job import fastenings
from railbook.job.build import Job
from railbook.job.fastenings import (
    CAP_TO_RAIL,
    JOINT_OF,
    JOINTS,
    RAIL_END,
    RAIL_TO_POST,
    Fastening,
    diameter,
)

INSTEAD = {RAIL_END: RAIL_TO_POST, RAIL_TO_POST: RAIL_END}  # one of the two may hold the rail alone


def fastening_problems(job: Job, fastened: Fastened) -> Iterator[Problem]:
    """What somebody must look at; a job without any row on the tab does without the schedule."""
    if not job.fastenings:
        return
    for row in job.fastenings:
        yield from _row_problems(row, job.settings.unit)
    given: dict[str | None, list[Fastening]] = {}
    for row in job.fastenings:
        given.setdefault(row.assembly, []).append(row)
    for number, assembly in enumerate(job.assemblies, start=1):
        joints = {word: count for word, count in _joints(fastened, number) if count}
        if joints and assembly.assembly:
            yield from _assembly_problems(assembly.assembly, joints, given.get(assembly.assembly, ()))


def _row_problems(row: Fastening, unit: str) -> Iterator[Problem]:
    """A joint along a board without a spacing, and a gauge that says nothing."""
    at = row.origin.cell
    if row.joint in JOINT_OF and JOINT_OF[row.joint].spaced and row.spacing is None:
        yield Problem(at("spacing"), f"{row.joint} has no spacing, so no places are counted",
                      "type the greatest distance between two places, such as 24 in or 600 mm", LOOK)  # fmt: skip
    thick = diameter(row.gauge, unit) if row.gauge else 0.0
    if isinstance(thick, Refusal):
        yield Problem(at("gauge"), f"gauge {row.gauge} {thick.why}", "type it such as #8, 1/4 in, 4.5 mm or M12", LOOK)


def _joints(fastened: Fastened, assembly_row: int) -> Iterator[tuple[str, int]]:
    """Each joint and how many there are; a cap board is one wherever there is one."""
    for joint in JOINTS:
        yield joint.word, fastened.counted.of_assembly[joint.word, assembly_row]
    of_assembly = [place for place in fastened.places if place.assembly_row == assembly_row]
    yield CAP_TO_RAIL, sum(place.line.sections for place in of_assembly if place.assembly.cap_thickness)


def _assembly_problems(assembly: str, joints: dict[str, int], rows: Sequence[Fastening]) -> Iterator[Problem]:
    """Joints of one assembly without a row."""
    if not rows:
        yield Problem(fastenings.TAB.title, f"no fastener is given for assembly {assembly}",
                      "add a row for each thing that goes into its joints", LOOK)  # fmt: skip
        return
    given = {row.joint for row in rows}
    for word, count in joints.items():
        if word not in given and INSTEAD.get(word) not in given:
            what = f"assembly {assembly}: no fastener is given for {word} ({count} in this job)"
            yield Problem(fastenings.TAB.title, what, "add a row for what goes into that joint", LOOK)
