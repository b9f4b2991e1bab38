"""The fastening of a job laid out: every row of its tabs, from the choices."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, NamedTuple

from railbook.basics.double_entry import RUN_AGAIN, Tab, first_rows
from railbook.fastening import bring_along, fasteners, joint_counts, places, run_fasteners
from railbook.fastening.bring_along import TRIM, Brought, Listed, Needs
from railbook.fastening.fasteners import Fastener, Packed
from railbook.fastening.joint_counts import Counted, Counting, JointCount
from railbook.fastening.places import Places, tally
from railbook.fastening.run_fasteners import RunFastener
from railbook.geometry.cap_ends import CAPPED
from railbook.geometry.caps import Cap
from railbook.geometry.joints import AT_WALL, DIES, EDGE, FLUSH, PROUD, STEP
from railbook.geometry.sections import Section
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import HANDRAILS_TAB, PLACES_TAB
from railbook.job.prices import Price
from railbook.takeoff import section_counts
from railbook.takeoff.layout import Shop
from railbook.takeoff.section_counts import SectionCount

ITEM, PILOT, WIDER, TURNED_BY = "item", "pilot", "counterbore", "driver"  # what of a fastener is brought along


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

    sections: tuple[SectionCount, ...]
    places: tuple[Places, ...]
    joint_counts: tuple[JointCount, ...]
    run_fasteners: tuple[RunFastener, ...]
    fasteners: tuple[Fastener, ...]
    brought: tuple[Brought, ...]
    counted: Counted


TABS: Mapping[str, Tab] = {  # by the field of `Fastened` that holds their rows
    "sections": section_counts.TAB,
    "places": places.TAB,
    "joint_counts": joint_counts.TAB,
    "run_fasteners": run_fasteners.TAB,
    "fasteners": fasteners.TAB,
    "brought": bring_along.TAB,
}


def lay_out_fastening(job: Job, site: Site, shop: Shop, choices: FasteningChoices) -> Fastened:
    """Every row of the fastening tabs of the job with these choices."""
    sections = _sections(job, site, shop, choices)
    sums = tally(site.posts, sections)
    places = tuple(Places(cap.run, cap.line_row, cap.line, cap, sums) for cap in site.caps)
    filled = sum(bool(each.item or each.origin.texts.get("item")) for each in job.fastenings)
    tabs: dict[str, Sequence[Counting]] = {PLACES_TAB: places, HANDRAILS_TAB: site.handrails}
    counted = Counted(tabs, sections, _stale(site, shop), len(choices.known), filled)
    joint_counts = _joint_counts(job, choices, counted)
    shares = _run_fasteners(choices, counted, joint_counts)
    fasteners = _fasteners(choices, joint_counts, _summed(shares))
    needs = _needs(job, counted, fasteners)
    brought = tuple(Brought(row, each, job.settings, needs) for row, each in enumerate(choices.brought, start=1))
    return Fastened(sections, places, joint_counts, shares, fasteners, brought, counted)


def _stale(site: Site, shop: Shop) -> frozenset[str]:
    """Tabs of whose joints something asks for another run."""
    rests_on: dict[str, tuple[Iterable[Any], ...]] = {
        PLACES_TAB: (site.lines, site.posts, site.sections, shop.layouts),
        HANDRAILS_TAB: (site.handrails,),
    }
    return frozenset(
        tab for tab, tabs in rests_on.items() if any(row.status == RUN_AGAIN for rows in tabs for row in rows)
    )


NOT_OVER_A_POST = (AT_WALL, DIES, STEP, PROUD, FLUSH, EDGE)


def _sections(job: Job, site: Site, shop: Shop, choices: FasteningChoices) -> tuple[SectionCount, ...]:
    """One row for each section, with its layout and the chosen rows of tab Fastenings."""
    layouts = {layout.section_row: row for row, layout in reversed(list(enumerate(shop.layouts, start=1)))}
    spaced: dict[str, list[int]] = {}
    for mark, row in choices.spaced:
        spaced.setdefault(mark, []).append(row)
    room = max(1, *map(len, spaced.values()), 1)  # a column that repeats has one cell at least
    loose = [loose_ends(section, site.caps[section.line_row - 1]) for section in site.sections]
    return tuple(
        _section(job, shop, (row, section), layouts.get(section.like_row), spaced.get(section.section, []), room, free)
        for (row, section), free in zip(enumerate(site.sections, start=1), loose, strict=True)
    )


def _section(
    job: Job,
    shop: Shop,
    numbered: tuple[int, Section],
    layout_row: int | None,
    spaced: Sequence[int],
    room: int,
    loose: int,
) -> SectionCount:
    """One section, with room for so many rows of tab Fastenings."""
    row, section = numbered
    layout = None if layout_row is None else shop.layouts[layout_row - 1]
    rows = (*spaced, *(None for _ in range(room - len(spaced))))
    typed = (None if each is None or each > len(job.fastenings) else job.fastenings[each - 1] for each in rows)
    return SectionCount(section, row, layout, layout_row, rows, tuple(typed), loose)


def loose_ends(section: Section, cap: Cap) -> int:
    """Ends of the cap over a section that no post holds: at a wall, at a face, at the edge of another cap."""
    ends = ((section.is_first, cap.from_end), (section.is_last, cap.to_end))
    return sum(here and end.kind in NOT_OVER_A_POST and cap.form == CAPPED for here, end in ends)


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
        RunFastener(run, *runs[of.tab, run], of, choices.brought[choices.packed[row, ITEM] - 1].item)
        for run, row in choices.shares
        if row <= len(joint_counts)
        for of in (joint_counts[row - 1],)
        if (of.tab, run) in runs
    )


def _summed(shares: Sequence[RunFastener]) -> Counter[int]:
    """Row of tab Fastenings -> how many all runs take of it."""
    totals: Counter[int] = Counter()
    for share in shares:
        totals[share.fastening_row] += share.total
    return totals


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
    item = choices.packed[row, ITEM]
    pilot, wider, driver = (choices.packed.get((row, slot)) for slot in (PILOT, WIDER, TURNED_BY))

    def listed(at: int | None) -> Listed | None:
        return None if at is None else choices.brought[at - 1]

    return Packed(
        item, pilot, wider, driver, choices.brought[item - 1], listed(pilot), listed(wider), listed(driver)
    )  # fmt: skip


def _needs(job: Job, counted: Counted, fasteners: Sequence[Fastener]) -> Needs:
    """What is needed, summed once."""
    totals: Counter[int] = Counter()
    stale: set[int] = set()
    for each in fasteners:
        packed = each.packed
        totals[packed.item_row] += each.total
        if each.status == RUN_AGAIN:
            rows = (packed.item_row, packed.pilot_row, packed.counterbore_row, packed.driver_row)
            stale |= {row for row in rows if row is not None}
    return Needs(
        totals=totals,
        trimmed=counted.trimmed,
        stale=frozenset(stale),
        trim_is_stale=PLACES_TAB in counted.stale,
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
