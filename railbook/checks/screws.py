"""Screws that cannot be seen when they miss: up through support blocks, and down through the cap into the rail."""

from collections.abc import Iterator

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.basics.rounding import ceiling, floor
from railbook.checks.remedies import at_least, at_most, said
from railbook.geometry.survey import Site
from railbook.job import fastenings
from railbook.job.assemblies import Assembly
from railbook.job.build import Job
from railbook.job.fastenings import BLOCK, CAP_TO_RAIL, SCREW, Fastening
from railbook.job.settings import Settings
from railbook.takeoff.blocks import Block
from railbook.takeoff.layout import Shop
from railbook.takeoff.screws import INSIDE, UNDER_HEAD, Reach, thickness


def screw_problems(job: Job, site: Site, shop: Shop) -> Iterator[Problem]:
    """Block and cap screws of the assemblies that the job uses."""
    used = {line.assembly_row for line in site.lines}
    for row, assembly in enumerate(job.assemblies, start=1):
        blocks = [block for block in shop.blocks if block.assembly_row == row]
        joints = [BLOCK] if blocks else []
        joints += [CAP_TO_RAIL] if row in used and assembly.cap_thickness else []
        for joint in joints:
            screws = [each for each in job.fastenings if _is_screw_of(each, assembly, joint)]
            yield from _unknown(assembly, joint, screws)
            for screw in screws:
                if screw.length and thickness(screw, job.settings.unit):
                    at = blocks if joint == BLOCK else ()
                    yield from (problem for block in at for problem in _in_block(screw, block))
                    if joint == CAP_TO_RAIL:
                        yield from _in_rail(screw, assembly, job.settings)


def _is_screw_of(row: Fastening, assembly: Assembly, joint: str) -> bool:
    return row.assembly == assembly.assembly and row.joint == joint and row.what == SCREW


def _unknown(assembly: Assembly, joint: str, screws: list[Fastening]) -> Iterator[Problem]:
    """Screws whose length or diameter nobody typed."""
    for screw in screws:
        if not (screw.length and screw.gauge):
            column = "gauge" if screw.length else "length"
            item = screw.item or "the screw"
            what = f"assembly {assembly.assembly}: nobody knows whether {item} for {joint} reaches and stays inside"
            remedy = "type its Length and Gauge on tab Fastenings"
            yield Problem(screw.origin.cell(column) or fastenings.TAB.title, what, remedy, LOOK)


def _in_block(screw: Fastening, block: Block) -> Iterator[Problem]:
    """One block whose screw does not reach the rail, or comes out of it."""
    height, depth = block.middle_height, block.place.assembly.bottom_rail_depth
    if height is None or depth is None:
        return
    unit, secant = block.settings.unit, block.place.secant
    reach = Reach(screw.length or 0.0, thickness(screw, unit), height, depth * secant,
                  screw.counterbore_depth or 0.0, INSIDE[unit] * secant)  # fmt: skip
    if not reach.fits_within(block.settings.tape_step / 2):
        what = f"{said(height, block.settings)} high, of {block.of} blocks: {_fault(screw, reach, block.settings)}"
        serves = block.bore is not None and not block.screw_says  # Support blocks tells the crew how deep
        cure = block_cure(reach, block.settings)
        yield Problem(f"block {block.number} of {block.used_in}", what, cure, NOTE if serves else LOOK)


def _fault(screw: Fastening, reach: Reach, settings: Settings) -> str:
    """What is wrong with a screw, in words."""
    sunk = f", its head {said(reach.sunk, settings)} deep," if reach.sunk else ""
    if reach.into <= 0:
        return f"{screw.item}{sunk} ends {said(-reach.into, settings)} before the rail"
    if reach.into < reach.needs - 1e-6:
        return f"{screw.item}{sunk} reaches only {said(reach.into, settings)} into the rail"
    if reach.left < 0:
        return f"{screw.item}{sunk} comes {said(-reach.left, settings)} out of the rail"
    return f"{screw.item}{sunk} leaves only {said(reach.left, settings)} of the rail before its point"


def block_cure(reach: Reach, settings: Settings) -> str:
    """How deep to bore for the head there; where no depth serves, which screw does."""
    step = settings.tape_step
    bore = ceiling(reach.least_sunk / step) * step
    if bore <= reach.most_sunk + 1e-6 and (bore == 0 or reach.layers - bore >= UNDER_HEAD[settings.unit]):
        deep = f"the wider hole {said(bore, settings)} deep there" if bore else "no wider hole there"
        return f"bore {deep}, as Support blocks says"
    return f"{_length_cure(reach, settings)}, without a wider hole, or fix the foot of the block to what it stands on"


def _length_cure(reach: Reach, settings: Settings) -> str:
    """The lengths of screw that fit with the head on the surface."""
    step = settings.tape_step
    if ceiling(reach.shortest / step) > floor(reach.longest / step):
        return "no length fits there: take a thinner screw or a thicker rail"
    return f"take a screw of {at_least(reach.shortest, settings)} to {at_most(reach.longest, settings)}"


def _in_rail(screw: Fastening, assembly: Assembly, settings: Settings) -> Iterator[Problem]:
    """A cap screw that does not hold, or whose point comes out where a hand goes round the rail."""
    reach = Reach(screw.length or 0.0, thickness(screw, settings.unit), assembly.cap_thickness or 0.0,
                  assembly.top_rail_depth or 0.0, screw.counterbore_depth or 0.0, INSIDE[settings.unit])  # fmt: skip
    if not reach.fits:
        what = f"assembly {assembly.assembly}, cap to rail: {_fault(screw, reach, settings)}"
        yield Problem(screw.origin.cell("length") or fastenings.TAB.title, what, _length_cure(reach, settings), LOOK)
