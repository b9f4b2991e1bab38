"""Choose the money of a job: for every item the way to buy it, and what each run has of it."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from railbook.basics.double_entry import first_rows
from railbook.geometry.survey import Site
from railbook.job.fastenings import HANDRAILS_TAB, PLACES_TAB
from railbook.job.prices import BOARDS, EACH, KIT, PACK, Price
from railbook.money.layout import PricingChoices, Takeoff, counted, lay_out_pricing
from railbook.money.materials import Material, MaterialChosen
from railbook.money.needs import (
    BY_BOARD,
    BY_KIT,
    BY_PIECE,
    BY_RUN,
    CUT_LIST,
    IN_KIT,
    NOT_BOUGHT,
    Need,
    NeedChosen,
    NeedCount,
)
from railbook.money.run_costs import GUARDS, HANDRAILS, RunCostChosen
from railbook.money.run_shares import COUNTED, FASTENERS, FROM_BOARDS, ShareChosen
from railbook.takeoff.bring_along import FASTENER, TRIM
from railbook.takeoff.cut_list import Piece


def choose_pricing(of: Takeoff) -> PricingChoices:
    """Choose for every item the way to buy it, and what each run has of it."""
    counts = counted(of, tuple(_asked(of)))
    groups: dict[str, list[NeedCount]] = {}
    for count in counts:
        if count.chosen.bought_as == BY_PIECE and count.pieces:
            groups.setdefault(count.item, []).append(count)
    listed = first_rows([price.item or "" for price in of.job.prices])
    boards = tuple(_boards(of, listed))
    brought = {row.item: at for at, row in enumerate(of.fastened.brought, start=1) if row.what == FASTENER}
    ways = {
        item: _cheapest(of, item, group, brought.get(item, 0))._replace(listed_row=listed.get(item, 0) if item else 0)
        for item, group in groups.items()
    }
    rows = {item: row for row, item in enumerate(ways, start=len(boards) + 1)}
    needs = tuple(_settled(counts, ways, rows))
    materials = (*boards, *ways.values())
    runs = tuple(_runs(of))
    start = PricingChoices(
        needs, materials, (), runs, assemblies=len(of.job.assemblies), runs_counted=of.job.runs_listed,
        runs_left_out=of.job.runs_typed - len(runs),
    )  # fmt: skip
    priced = lay_out_pricing(of, start)
    shares = tuple(_shares(of, priced.needs, runs))
    return start._replace(buying=tuple(_by_supplier(priced.materials)), shares=shares)


def _asked(of: Takeoff) -> Iterator[NeedChosen]:
    """Every row that asks for something."""
    sold: dict[str | None, set[str | None]] = {}
    for price in of.job.prices:
        sold.setdefault(price.item, set()).add(price.sold_as)
    cut = {each.piece_row for each in of.sawn.cuts}
    for piece in of.shop.pieces:
        ways = sold.get(piece.item, set())
        by_board = piece.piece in cut or (bool(ways & {*BOARDS}) and not ways - {*BOARDS, None})
        yield NeedChosen(CUT_LIST, (piece.piece,), piece.part, piece.item or "", BY_BOARD if by_board else BY_PIECE)
    for each in of.fastened.run_fasteners:
        yield NeedChosen(BY_RUN, (each.run, each.fastening_row), each.joint, each.item)
    for place in of.fastened.places:
        for what, column in TRIM.items():
            item = getattr(of.job.assemblies[place.assembly_row - 1], column)
            if item:
                yield NeedChosen(PLACES_TAB, (place.run,), what, item, trim=column)


def _boards(of: Takeoff, listed: Mapping[str, int]) -> Iterator[MaterialChosen]:
    """Boards of the cutting plan, each length once."""
    parts: dict[int, dict[str, None]] = {}
    for cut in of.sawn.cuts:
        piece = of.shop.pieces[cut.piece_row - 1]
        parts.setdefault(of.sawn.boards[cut.plan_row - 1].price_row, {})[piece.part] = None
    for row, of_row in sorted(parts.items()):
        price = of.job.prices[row - 1]
        item = price.item or ""
        use = ", ".join(of_row)
        yield MaterialChosen(
            item, use, row, price.sold_as or "", price.length, listed.get(item, 0), 0, price.price_date
        )


def _cheapest(of: Takeoff, item: str, group: Sequence[NeedCount], brought_row: int) -> MaterialChosen:
    """The cheapest way to buy an item: singly, in packs or in kits; of equal ones the first on tab Prices."""
    use = ", ".join(dict.fromkeys(count.chosen.part for count in group))
    ways = [
        (_charge(of, price, group, brought_row), row, price)
        for row, price in enumerate(of.job.prices, start=1)
        if item and price.item == item and (price.sold_as in (EACH, KIT) or (price.sold_as == PACK and price.pack_of))
    ]
    if not ways:
        return MaterialChosen(item, use, 0, "", None, brought_row=brought_row)
    _, row, price = min(ways, key=lambda way: way[:2])
    spared = 0 if price.sold_as == KIT else brought_row
    return MaterialChosen(item, use, row, price.sold_as or "", None, brought_row=spared, price_date=price.price_date)


def _charge(of: Takeoff, price: Price, group: Sequence[NeedCount], brought_row: int) -> float:
    """What the job would be charged; endless without a price."""
    if price.price is None:
        return float("inf")
    if price.sold_as == KIT:
        return price.price * sum(count.kits for _, count in _kits(group))
    brought = of.fastened.brought[brought_row - 1] if brought_row else None
    needed = sum(count.pieces for count in group)
    needed += (brought.to_bring or 0) - (brought.needed or 0) if brought else 0
    used, pack = min(needed, price.on_hand or 0), price.pack_of or 1 if price.sold_as == PACK else 1
    return price.price * (used / pack - (used - needed) // pack)


def _kits(group: Iterable[NeedCount]) -> Iterator[tuple[tuple[Any, ...], NeedCount]]:
    """The rows that count kits: of those that go into one section, post or run the first."""
    found: dict[tuple[Any, ...], NeedCount] = {}
    for count in group:
        found.setdefault(_kit_key(count), count)
    yield from found.items()


def _kit_key(count: NeedCount) -> tuple[Any, ...]:
    """Equal for rows that share a kit."""
    if count.chosen.source == CUT_LIST:
        return count.chosen.item, count.thing.members, count.thing.group
    return count.chosen.item, count.chosen.key[0]


def _settled(
    counts: Sequence[NeedCount], ways: Mapping[str, MaterialChosen], rows: Mapping[str, int]
) -> Iterator[NeedChosen]:
    """The needs with the way that each is bought."""
    asked = [count for count in counts if count.chosen.bought_as == BY_PIECE and count.pieces]
    firsts = {id(count) for _, count in _kits(asked)}
    for count in counts:
        chosen = count.chosen
        if chosen.bought_as == BY_BOARD:
            yield chosen
        elif not count.pieces:
            yield chosen._replace(bought_as=NOT_BOUGHT)
        else:
            kit = ways[chosen.item].sold_as == KIT
            bought_as = (BY_KIT if id(count) in firsts else IN_KIT) if kit else BY_PIECE
            yield chosen._replace(bought_as=bought_as, material_row=rows[chosen.item])


def _by_supplier(materials: Sequence[Material]) -> Iterator[int]:
    """Rows of tab Materials by supplier; who is not known comes last."""
    rows = sorted(materials, key=lambda each: (not each.supplier, each.supplier.casefold(), each.number))
    return (each.number for each in rows)


def _runs(of: Takeoff) -> Iterator[RunCostChosen]:
    """Every run with its new posts, shared ones in parts."""
    shared: dict[str, float] = {}
    runs = _runs_of_posts(of.site)
    for post in of.site.posts:
        for run in runs[post.post]:
            shared[run] = shared.get(run, 0.0) + post.cut / len(runs[post.post])
    for line in of.site.lines:
        yield RunCostChosen(GUARDS, line.run, shared.get(line.run, 0.0))
    for rail in of.site.handrails:
        yield RunCostChosen(HANDRAILS, rail.run, 0.0)


def _runs_of_posts(site: Site) -> dict[str, tuple[str, ...]]:
    """Mark of a post -> runs that end at it; between the sections of a run it is that run's."""
    ends: dict[str, dict[str, None]] = {}
    for line in site.lines:
        typed = line.measures.typed
        for mark in (typed.from_support, typed.to_support):
            ends.setdefault(mark or "", {})[line.run] = None
    return {post.post: tuple(ends.get(post.post, (post.line.run,))) for post in site.posts}


def _shares(of: Takeoff, needs: Sequence[Need], runs: Sequence[RunCostChosen]) -> Iterator[ShareChosen]:
    """What each run has of each need."""
    rows = {(each.source, each.run): row for row, each in enumerate(runs, start=1)}
    parts = _Parts(of)
    for need in needs:
        found = parts.of(need)
        whole = sum(found.values())
        for key, part in found.items():
            if part > 0:
                yield ShareChosen(need.number, rows[key], key[1], _sort(need), part, whole)


def _sort(need: Need) -> int:
    """Boards, counted items or fasteners."""
    if need.source != CUT_LIST:
        return FASTENERS
    return FROM_BOARDS if need.bought_as == BY_BOARD else COUNTED


class _Parts:
    """Pieces of every run, by tab and like row, counted once."""

    def __init__(self, of: Takeoff) -> None:
        self.found: dict[tuple[str, int, str], Counter[tuple[str, str]]] = {}
        for section in of.site.sections:
            self._add("sections", section.like_row, "", (GUARDS, section.line.run), 1.0)
        for cap in of.site.caps:
            self._add("caps", cap.like_row, "", (GUARDS, cap.run), 1.0)
        for rail in of.site.handrails:
            self._add("handrails", rail.like_row, "", (HANDRAILS, rail.run), 1.0)
        runs = _runs_of_posts(of.site)
        for post in of.site.posts:
            for run in runs[post.post]:
                for each in ("cut", "sleeved"):
                    self._add("posts", post.like_row, each, (GUARDS, run), getattr(post, each) / len(runs[post.post]))

    def _add(self, members: str, group: int, each: str, run: tuple[str, str], part: float) -> None:
        self.found.setdefault((members, group, each), Counter())[run] += part  # type: ignore[assignment]

    def of(self, need: Need) -> Mapping[tuple[str, str], float]:
        """Run -> its pieces."""
        if need.source == PLACES_TAB:
            return {(GUARDS, need.of.thing.run): 1.0}
        if need.source == BY_RUN:
            tab = HANDRAILS if need.of.thing.tab == HANDRAILS_TAB else GUARDS
            return {(tab, need.of.thing.run): 1.0}
        piece: Piece = need.of.thing
        each = piece.each if piece.members == "posts" else ""
        return self.found.get((piece.members, piece.group, each), {})
