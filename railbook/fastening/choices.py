"""Choose the rows of the fastening tabs: only what the job has is listed for the crew."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from railbook.basics.rounding import PLACES
from railbook.fastening.bring_along import BIT, DRIVER, FASTENER, TRIM, Listed
from railbook.fastening.joint_counts import Counted, JointCount
from railbook.fastening.layout import (
    ITEM,
    PILOT,
    TURNED_BY,
    WIDER,
    Fastened,
    FasteningChoices,
    Known,
    lay_out_fastening,
)
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import BLOCKING, HOLD_DOWN, JOINT_OF
from railbook.takeoff.layout import Shop

NO_SPARES = (HOLD_DOWN, BLOCKING)  # dear, or cut to fit: no spares
ORDER = (FASTENER, BIT, DRIVER)


def choose_fastening(job: Job, site: Site, shop: Shop) -> tuple[FasteningChoices, Fastened]:
    """Choose the rows: only joints that the job has are listed for the crew.

    Returns:
        the choices, and the joints that they were chosen by, with nothing listed yet.
    """
    known = tuple(Known(row.stands("assembly"), row.stands("joint")) for row in job.fastenings)
    start = FasteningChoices(known, tuple(_spaced(job, site)))
    counted = lay_out_fastening(job, site, shop, start)
    occurring = [each for each in counted.joint_counts if each.typed.is_whole and each.joints]
    rows = {each.fastening_row: row for row, each in enumerate(occurring, start=1)}
    told = [each.is_whole and each.assembly in job.assembly_of for each in job.fastenings]
    whole = {row: rows.get(row, 0) for row, is_told in enumerate(told, start=1) if is_told}
    wanted = sorted((want for each in occurring for want in _wants(each)), key=_place)
    numbers = {key: number for number, key in enumerate(dict.fromkeys(want.key for want in wanted), start=1)}
    chosen = FasteningChoices(
        tuple(each._replace(schedule_row=whole.get(row)) for row, each in enumerate(known, start=1)),
        start.spaced,
        tuple(_shares(counted.counted, occurring)),
        (*_listed(wanted), *_trims(job, counted.counted)),
        {(want.row, want.slot): numbers[want.key] for want in wanted},
    )
    return chosen, counted


def _spaced(job: Job, site: Site) -> Iterator[tuple[str, int]]:
    """Each section with each row of its assembly for a joint along a board."""
    along: dict[str | None, list[int]] = {}
    for row, each in enumerate(job.fastenings, start=1):
        if each.is_whole and JOINT_OF[each.joint or ""].spaced:
            along.setdefault(each.assembly, []).append(row)
    return ((section.section, row) for section in site.sections for row in along.get(section.assembly.assembly, ()))


def _shares(counted: Counted, occurring: Sequence[JointCount]) -> Iterator[tuple[str, int]]:
    """Each run with each fastener that it takes."""
    of_assembly: dict[tuple[str, int], list[JointCount]] = {}
    for each in occurring:
        of_assembly.setdefault((each.tab, each.assembly_row), []).append(each)
    for tab, rows in counted.tabs.items():
        for number, row in enumerate(rows, start=1):
            for each in of_assembly.get((tab, row.assembly_row), ()):
                if each.joints_of_run(number, row):
                    yield row.run, each.fastening_row


class Want(NamedTuple):
    """A fastener, a bit or a driver that a row of tab Fastenings wants brought along.

    Attributes:
        row: that row; `slot` what of it this is.
        key: equal for what is one and the same thing.
        spared: whether spares of it are brought.
    """

    row: int
    slot: str
    key: tuple[str, object]
    item: str
    bit: float | None
    use: str
    spared: bool = False


def _wants(of: JointCount) -> Iterator[Want]:
    """What one row wants brought along."""
    typed, row = of.typed, of.fastening_row
    item, driver = typed.item or "", typed.driver
    yield Want(row, ITEM, (FASTENER, item), item, None, of.joint, typed.what not in NO_SPARES)
    if typed.pilot_bit is not None:
        yield Want(row, PILOT, (BIT, round(typed.pilot_bit, PLACES)), "", typed.pilot_bit, of.joint)
    if typed.counterbore_bit is not None:
        bit = typed.counterbore_bit
        yield Want(row, WIDER, (BIT, round(bit, PLACES)), "", bit, f"{of.joint} (wider hole)")
    if driver:
        yield Want(row, TURNED_BY, (DRIVER, driver.casefold()), driver, None, item)


def _place(want: Want) -> tuple[int, float]:
    """Fasteners, then bits from thin to thick, then drivers."""
    return ORDER.index(want.key[0]), want.bit or 0.0


def _listed(wanted: Sequence[Want]) -> Iterator[Listed]:
    """Each thing once, with everything that it is for."""
    uses: dict[tuple[str, object], dict[str, None]] = {}
    for want in wanted:
        uses.setdefault(want.key, {})[want.use] = None
    firsts = {want.key: want for want in reversed(wanted)}
    spared = {want.key for want in wanted if want.spared}
    return (
        Listed(key[0], firsts[key].item, firsts[key].bit, ", ".join(of), spared=int(key in spared))
        for key, of in uses.items()
    )


def _trims(job: Job, counted: Counted) -> Iterator[Listed]:
    """Skirts and caps of posts, for each assembly that names them and has posts."""
    for row, assembly in enumerate(job.assemblies, start=1):
        for what, column in TRIM.items():
            item: str | None = getattr(assembly, column)
            if item and counted.trimmed[row]:
                yield Listed(what, item, None, f"posts of {assembly.assembly}", assembly.assembly)
