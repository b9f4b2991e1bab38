"""The shop's rows: baluster layouts, support blocks, caps and the cut list, from the site and the choices."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar

from railbook.basics.double_entry import Tab
from railbook.geometry.caps import Cap
from railbook.geometry.posts import Post
from railbook.geometry.sections import Section
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import Fastening
from railbook.takeoff import balusters, blocks, cut_list, lots
from railbook.takeoff.balusters import BalusterLayout
from railbook.takeoff.blocks import Block, BlockScrew
from railbook.takeoff.cut_list import Crossing, Piece
from railbook.takeoff.lots import SOURCES, TURN, Lot, Members

Alike = TypeVar("Alike", Section, Post)


class Layout(NamedTuple):
    """One row of the baluster layout, as chosen.

    Attributes:
        layout: its number.
        rail: which rail.
        section: mark of the first section that uses it.
        used_in: every section that does.
        added: balusters added because rounding opened a gap too far.
        clear: the clear that `added` was chosen for.
    """

    layout: int
    rail: str
    section: str
    used_in: str
    added: int
    clear: float


class Gathered(NamedTuple):
    """One lot of equal pieces, as chosen: see `lots.Lot` for the words.

    Without `counts` its source holds how many each member of the group has.
    """

    part: str
    where: str
    stock: str
    source: str
    source_row: int
    size: str
    tip: str
    lower: str
    upper: str
    each: str
    members: str
    group: int
    line_row: int = 0
    relief: int = 0
    saw: str = TURN
    planes: int = 1
    other: str = ""
    counts: str = ""
    counts_row: int = 0
    low_tilt: str = ""
    high_tilt: str = ""
    hand: str = ""


Stop = tuple[Gathered, ...]  # lots that are cut at one stop of the saw; the cut list shows the first


class ShopChoices(NamedTuple):
    """What was chosen for the shop.

    Attributes:
        layouts: rows of the baluster layout.
        slots: marks that the tab has room for.
        blocks: each distinct section, all sections like it, and how many support blocks they have.
        screws: mark of an assembly -> the screw of its blocks.
        stops: rows of the cut list.
    """

    layouts: tuple[Layout, ...]
    slots: int
    blocks: tuple[tuple[str, str, int], ...]
    stops: tuple[Stop, ...]
    screws: Mapping[str, BlockScrew] = MappingProxyType({})


@dataclass(frozen=True)
class Shop:
    """Rows of the takeoff tabs."""

    layouts: tuple[BalusterLayout, ...]
    blocks: tuple[Block, ...]
    pieces: tuple[Piece, ...]

    @cached_property
    def shared_lots(self) -> tuple[Lot, ...]:
        """Lots that share a stop with others, those of one stop together."""
        return tuple(lot for piece in self.pieces for lot in piece.several)


TABS: Mapping[str, Tab] = {  # by the field of `Shop` that holds their rows
    "layouts": balusters.TAB,
    "blocks": blocks.TAB,
    "pieces": cut_list.TAB,
    "shared_lots": lots.TAB,
}


def layouts_of(job: Job, site: Site, layouts: Sequence[Layout], slots: int) -> tuple[BalusterLayout, ...]:
    """One row for each chosen layout."""
    rows = site.section_rows
    return tuple(
        BalusterLayout(
            layout=each.layout,
            rail=each.rail,
            used_in=each.used_in,
            section=site.sections[rows[each.section] - 1],
            section_row=rows[each.section],
            settings=job.settings,
            added=each.added,
            chosen_clear=each.clear,
            slots=slots,
        )
        for each in layouts
        if each.section in rows
    )


def blocks_of(job: Job, site: Site, choices: ShopChoices) -> tuple[Block, ...]:
    """One row for each block of each distinct section."""
    rows = site.section_rows
    return tuple(
        Block(mark, used_in, number, of, place, rows[mark], job.settings, _screw(job, chosen), chosen)
        for mark, used_in, of in choices.blocks
        if mark in rows
        for place in (site.sections[rows[mark] - 1],)
        for chosen in (choices.screws.get(place.assembly.assembly, BlockScrew()),)
        for number in range(1, of + 1)
    )


def _screw(job: Job, chosen: BlockScrew) -> Fastening | None:
    """What stands in the chosen row of tab Fastenings now."""
    return job.fastenings[chosen.row - 1] if 0 < chosen.row <= len(job.fastenings) else None


def pieces_of(job: Job, site: Site, shop: Shop, chosen: Sequence[Stop]) -> tuple[Piece, ...]:
    """One row for each chosen stop."""
    lay_out, crossed = lots_laid_out(job, site, shop), _crossed(site)
    pieces, lots_row = [], 1
    for number, stop in enumerate(chosen, start=1):
        pieces.append(_piece([lay_out(each, number) for each in stop], lots_row, crossed))
        lots_row += len(pieces[-1].several)
    return tuple(pieces)


def _piece(lots: Sequence[Lot], lots_row: int, crossed: Sequence[tuple[Crossing, ...]]) -> Piece:
    """One row of the cut list; the first of several lots would stand in that row of theirs."""
    first = lots[0]
    figures = {each.name: getattr(first, each.name) for each in fields(Lot)}
    figures["where"] = first.gathered.marks(lot.group for lot in lots)
    crossings = crossed[first.source_row - 1] if first.source == "caps" else ()
    several = (first, *(replace(lot, first=first) for lot in lots[1:])) if len(lots) > 1 else ()
    return Piece(**figures, several=several, lots_row=lots_row if several else 0, crossings=crossings)


def _crossed(site: Site) -> tuple[tuple[Crossing, ...], ...]:
    """For each cap board the line posts that it runs over."""
    behind: dict[int, list[tuple[int, Section]]] = {}
    for row, section in enumerate(site.sections, start=1):
        if section.number > 1:
            behind.setdefault(section.line_row, []).append((row, section))
    return tuple(
        tuple(_crossing(cap, row, section) for row, section in behind.get(cap.line_row, ())) for cap in site.caps
    )


def _crossing(cap: Cap, row: int, section: Section) -> Crossing:
    """Where a cap crosses the line post before a section."""
    middle = cap.from_reach + section.lower_face - cap.line.measures.post_face / 2
    return Crossing(middle * cap.line.secant, section.section, row, section.lower_face)


def lots_laid_out(job: Job, site: Site, shop: Shop) -> Callable[[Gathered, int], Lot]:
    """What lays out a lot, for the stop of that number on the cut list."""
    tabs = _tabs(site, shop)
    members = {tab: Members(rows, SOURCES[tab].key) for tab, rows in tabs.items()}

    def laid_out(chosen: Gathered, piece: int) -> Lot:
        thing = tabs[chosen.source][chosen.source_row - 1]
        counts, row = (chosen.counts, chosen.counts_row) if chosen.counts else (chosen.source, chosen.source_row)
        return Lot(
            piece=piece,
            **chosen._replace(counts=counts, counts_row=row)._asdict(),
            thing=thing,
            counted=tabs[counts][row - 1],
            gathered=members[chosen.members],
            assembly=job.assemblies[thing.assembly_row - 1],
            settings=job.settings,
        )

    return laid_out


def _tabs(site: Site, shop: Shop) -> dict[str, Sequence[Any]]:
    """The tabs that a lot may look at."""
    return {
        "lines": site.lines,
        "sections": site.sections,
        "posts": site.posts,
        "caps": site.caps,
        "handrails": site.handrails,
        "blocks": shop.blocks,
        "baluster_layout": shop.layouts,
    }


def distinct(rows: Sequence[Alike], mark: Callable[[Alike], str]) -> Iterator[tuple[int, Alike, str]]:
    """Each row that others are like, with its number and the marks of all that are cut like it."""
    members: dict[int, list[str]] = {}
    for row in rows:
        members.setdefault(row.like_row, []).append(mark(row))
    for number, row in enumerate(rows, start=1):
        if row.like_row == number:
            yield number, row, ", ".join(members[number])


def distinct_sections(site: Site) -> Iterator[tuple[int, Section, str]]:
    """Each distinct section with its row and the marks of all that are cut like it."""
    return distinct(site.sections, lambda section: section.section)
