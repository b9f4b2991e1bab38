"""The fastening of a job: which rows its tabs have, chosen once, and what is in them."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

from railbook.basics.double_entry import RUN_AGAIN, first_rows
from railbook.basics.rounding import PLACES
from railbook.fastening.bring_along import BIT, DRIVER, FASTENER, TRIM, Brought, Listed, Needs
from railbook.fastening.fasteners import Fastener, Packed
from railbook.fastening.joint_counts import Counted, JointCount
from railbook.fastening.places import Places, tally
from railbook.fastening.run_fasteners import RunFastener
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import BLOCKING, HANDRAILS_TAB, HOLD_DOWN, JOINT_OF, PLACES_TAB
from railbook.job.prices import Price
from railbook.takeoff.layout import Shop
from railbook.takeoff.mounts import Mount
from railbook.takeoff.section_counts import SectionCount
from railbook.takeoff.spacings import Spacing

ITEM, PILOT, WIDER, TURNED_BY = "item", "pilot", "counterbore", "driver"  # what of a fastener is brought along
NO_SPARES = (HOLD_DOWN, BLOCKING)  # dear, or cut to fit: no spares
ORDER = (FASTENER, BIT, DRIVER)


class Known(NamedTuple):
    """A row of tab Fastenings as it was when the job was computed.

    Attributes:
        assembly: its railing; `joint` its joint.
        schedule_row: its row on the Fastener schedule; 0 when its joint does not occur, None when it was left out.
    """

    assembly: str
    joint: str
    schedule_row: int | None = None


class FasteningChoices(NamedTuple):
    """What was chosen for the fastening; rows are those of tab Fastenings.

    Attributes:
        known: every row.
        spaced: section and row, for joints along a board.
        shares: run and row.
        brought: rows of tab Bring along.
        packed: row and what of it -> row of tab Bring along.
    """

    known: tuple[Known, ...]
    spaced: tuple[tuple[str, int], ...]
    shares: tuple[tuple[str, int], ...] = ()
    brought: tuple[Listed, ...] = ()
    packed: Mapping[tuple[int, str], int] = MappingProxyType({})


@dataclass(frozen=True)
class Fastened:
    """Rows of the fastening tabs."""

    mounts: tuple[Mount, ...]
    section_counts: tuple[SectionCount, ...]
    places: tuple[Places, ...]
    spacings: tuple[Spacing, ...]
    joint_counts: tuple[JointCount, ...]
    run_fasteners: tuple[RunFastener, ...]
    fasteners: tuple[Fastener, ...]
    brought: tuple[Brought, ...]
    counted: Counted


# choosing


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
        (*_listed(wanted), *_trims(job, counted.places)),
        {(want.row, want.slot): numbers[want.key] for want in wanted},
    )
    return chosen, counted


def _spaced(job: Job, site: Site) -> Iterator[tuple[str, int]]:
    """Each section with each row of its assembly for a joint along a board."""
    along: dict[str | None, list[int]] = {}
    for row, each in enumerate(job.fastenings, start=1):
        if each.is_whole and not JOINT_OF[each.joint or ""].column:
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
                if RunFastener(row.run, number, row, each).joints:
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
        Listed(key[0], firsts[key].item, firsts[key].bit, ", ".join(of), spared=key in spared)
        for key, of in uses.items()
    )


def _trims(job: Job, places: Sequence[Places]) -> Iterator[Listed]:
    """Skirts and caps of posts, for each assembly that names them and has posts."""
    posts = _trimmed(places)
    for row, assembly in enumerate(job.assemblies, start=1):
        for what, column in TRIM.items():
            item: str | None = getattr(assembly, column)
            if item and posts[row]:
                yield Listed(what, item, None, f"posts of {assembly.assembly}", assembly.assembly)


def _trimmed(places: Sequence[Places]) -> Counter[int]:
    """Row of an assembly -> posts that get trim."""
    posts: Counter[int] = Counter()
    for place in places:
        posts[place.assembly_row] += place.trimmed
    return posts


# laying out


def lay_out_fastening(job: Job, site: Site, shop: Shop, choices: FasteningChoices) -> Fastened:
    """Every row of the fastening tabs of the job with these choices."""
    mounts = tuple(Mount(post.post, row, post) for row, post in enumerate(site.posts, start=1))
    counts = _section_counts(site, shop)
    sums = tally(mounts, counts, site.sections)
    places = tuple(Places(line.run, line.line_row, line, sums) for line in site.lines)
    spacings = _spacings(job, site, choices)
    filled = sum(bool(each.item or each.origin.texts.get("item")) for each in job.fastenings)
    tabs = {PLACES_TAB: places, HANDRAILS_TAB: site.handrails}
    counted = Counted(tabs, spacings, len(choices.known), filled)
    joint_counts = _joint_counts(job, choices, counted)
    shares = _run_fasteners(choices, counted, joint_counts)
    fasteners = _fasteners(choices, joint_counts, _summed(shares))
    needs = _needs(job, places, fasteners)
    brought = tuple(Brought(row, each, job.settings, needs) for row, each in enumerate(choices.brought, start=1))
    return Fastened(mounts, counts, places, spacings, joint_counts, shares, fasteners, brought, counted)


def _section_counts(site: Site, shop: Shop) -> tuple[SectionCount, ...]:
    """One row for each section whose layout is known."""
    layouts = {layout.section_row: row for row, layout in reversed(list(enumerate(shop.layouts, start=1)))}
    return tuple(
        SectionCount(
            section.section, row, layouts[section.like_row], section, shop.layouts[layouts[section.like_row] - 1]
        )
        for row, section in enumerate(site.sections, start=1)
        if section.like_row in layouts
    )


def _spacings(job: Job, site: Site, choices: FasteningChoices) -> tuple[Spacing, ...]:
    """One row for each chosen section and row of tab Fastenings."""
    rows = site.section_rows
    return tuple(
        Spacing(mark, rows[mark], row, site.sections[rows[mark] - 1], job.fastenings[row - 1])
        for mark, row in choices.spaced
        if mark in rows and row <= len(job.fastenings)
    )


def _joint_counts(job: Job, choices: FasteningChoices, counted: Counted) -> tuple[JointCount, ...]:
    """One row for each row of tab Fastenings that was known."""
    rows = first_rows([assembly.assembly for assembly in job.assemblies])
    return tuple(
        JointCount(row, typed, rows.get(typed.stands("assembly"), 0), *known, counted)
        for row, (typed, known) in enumerate(zip(job.fastenings, choices.known, strict=False), start=1)
    )


def _run_fasteners(
    choices: FasteningChoices, counted: Counted, joint_counts: Sequence[JointCount]
) -> tuple[RunFastener, ...]:
    """One row for each chosen run and fastener."""
    runs = {
        (tab, row.run): (number, row) for tab, rows in counted.tabs.items() for number, row in enumerate(rows, start=1)
    }
    return tuple(
        RunFastener(run, *runs[of.tab, run], of)
        for run, row in choices.shares
        if row <= len(joint_counts)
        for of in (joint_counts[row - 1],)
        if (of.tab, run) in runs
    )


def _summed(shares: Sequence[RunFastener]) -> Counter[int]:
    """Row of tab Fastenings -> its joints in all runs."""
    joints: Counter[int] = Counter()
    for share in shares:
        joints[share.fastening_row] += share.joints
    return joints


def _fasteners(
    choices: FasteningChoices, joint_counts: Sequence[JointCount], in_runs: Counter[int]
) -> tuple[Fastener, ...]:
    """One row for each row of tab Fastenings that is listed."""
    return tuple(
        Fastener(of.schedule_row, of, in_runs[of.fastening_row], _packed(choices, of.fastening_row))
        for of in joint_counts
        if of.schedule_row
    )


def _packed(choices: FasteningChoices, row: int) -> Packed:
    """Where one fastener stands on tab Bring along."""
    pilot, wider, driver = (choices.packed.get((row, slot)) for slot in (PILOT, WIDER, TURNED_BY))
    item = choices.packed[row, ITEM]

    def bit(at: int | None) -> float | None:
        return None if at is None else choices.brought[at - 1].bit

    listed = choices.brought[item - 1].item
    return Packed(
        item, pilot, wider, driver, listed, bit(pilot), bit(wider),
        None if driver is None else choices.brought[driver - 1].item,
    )  # fmt: skip


def _needs(job: Job, places: Sequence[Places], fasteners: Sequence[Fastener]) -> Needs:
    """What is needed, summed once."""
    totals: Counter[int] = Counter()
    stale: set[int] = set()
    for each in fasteners:
        totals[each.item_row] += each.total
        if each.status == RUN_AGAIN:
            rows = (each.item_row, each.pilot_row, each.counterbore_row, each.driver_row)
            stale |= {row for row in rows if row is not None}
    return Needs(
        totals=totals,
        trimmed=_trimmed(places),
        stale=frozenset(stale),
        trim_is_stale=any(place.status == RUN_AGAIN for place in places),
        marks=first_rows([assembly.assembly for assembly in job.assemblies]),
        items={
            (assembly.assembly, column): getattr(assembly, column)
            for assembly in reversed(job.assemblies)
            for column in TRIM.values()
        },
        prices=_first_prices(job.prices),
    )


def _first_prices(prices: Sequence[Price]) -> dict[str, tuple[int, Price]]:
    """Item -> its first row on tab Prices."""
    return {price.item: (row, price) for row, price in reversed(list(enumerate(prices, start=1))) if price.item}
