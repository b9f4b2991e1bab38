"""Choose the money of a job: for every item the way to buy it, and what each run has of it."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from railbook.basics.double_entry import first_rows
from railbook.fastening.bring_along import FASTENER, TRIM
from railbook.geometry.survey import Site
from railbook.job.fastenings import HANDRAILS_TAB, PLACES_TAB
from railbook.job.prices import BOARDS, EACH, KIT, PACK, Price
from railbook.money.layout import PricingChoices, Takeoff, lay_out_pricing
from railbook.money.materials import Material, MaterialChosen
from railbook.money.needs import (
    BY_BOARD,
    BY_KIT,
    BY_PIECE,
    BY_RUN,
    CUT_LIST,
    IN_KIT,
    NOT_BOUGHT,
    NeedChosen,
    kits_of,
    pieces_of,
)
from railbook.money.run_costs import GUARDS, HANDRAILS, RunCostChosen
from railbook.money.run_shares import COUNTED, FASTENERS, FROM_BOARDS, ShareChosen
from railbook.takeoff.cut_list import Piece
from railbook.takeoff.lots import Lot


class Asked(NamedTuple):
    """A row that asks for something, while ways to buy are chosen.

    Attributes:
        source: its tab; `row` its number there, `thing` the row.
        part: trade name of the part, the joint or the trim.
        item: what is bought for it.
        pieces: how many.
        of_boards: it is cut from boards.
        trim: of post trim, its column of tab Assemblies.
    """

    source: str
    row: int
    thing: Any
    part: str
    item: str
    pieces: int
    of_boards: bool = False
    trim: str = ""

    @property
    def key(self) -> tuple[str, int, str]:
        """What tells it apart."""
        return self.source, self.row, self.trim

    @property
    def kits(self) -> dict[tuple[Any, ...], int]:
        """What its pieces go into -> how many kits that is; equal keys share their kits."""
        if self.source == CUT_LIST:
            return {self.kit(lot): lot.alike for lot in self.thing.lots}
        return {(self.item, self.thing.run): kits_of(self.source, self.thing, 0)}

    def kit(self, lot: Lot) -> tuple[Any, ...]:
        """What the pieces of a lot go into."""
        return self.item, lot.members, lot.group


def choose_pricing(of: Takeoff) -> PricingChoices:
    """Choose for every item the way to buy it, and what each run has of it."""
    asked = tuple(_asked(of))
    counted = [each for each in asked if not each.of_boards]
    groups: dict[str, list[Asked]] = {}
    for each in counted:
        if each.pieces:
            groups.setdefault(each.item, []).append(each)
    listed = first_rows([price.item or "" for price in of.job.prices])
    boards = tuple(_boards(of, listed))
    listings = [row.listed for row in of.fastened.brought]
    brought = {row.item: at for at, row in enumerate(listings, start=1) if row.what == FASTENER}
    ways = {
        item: _cheapest(of, item, group, brought.get(item, 0))._replace(listed_row=listed.get(item, 0) if item else 0)
        for item, group in groups.items()
    }
    rows = {item: row for row, item in enumerate(ways, start=len(boards) + 1)}
    bought = _Bought(ways, rows, asked)
    needs, uncut_rows = tuple(bought.needs()), _uncut(of)
    runs = tuple(_runs(of))
    uncut = tuple(each.part for each in asked if each.row in uncut_rows and each.of_boards and each.pieces)
    start = PricingChoices(
        needs, (*boards, *ways.values()), (), (), assemblies=len(of.job.assemblies), runs_counted=of.job.runs_listed,
        runs_left_out=of.job.runs_typed - len(runs), uncut=uncut,
    )  # fmt: skip
    materials = lay_out_pricing(of, start).materials
    shares = tuple(_shares(of, asked, bought, runs))
    return start._replace(
        buying=tuple(_by_supplier(materials)), shares=shares, runs=tuple(_lacking(of, asked, bought, runs))
    )


def _asked(of: Takeoff) -> Iterator[Asked]:
    """Every row that asks for something."""
    sold: dict[str | None, set[str | None]] = {}
    for price in of.job.prices:
        sold.setdefault(price.item, set()).add(price.sold_as)
    cut = {each.cut.piece.of.piece_row for each in of.sawn.cuts}

    def ask(source: str, row: int, thing: Any, part: str, item: str) -> Asked:
        return Asked(source, row, thing, part, item, pieces_of(source, thing))

    for row, piece in enumerate(of.shop.pieces, start=1):
        ways = sold.get(piece.item, set())
        by_board = row in cut or (bool(ways & {*BOARDS}) and not ways - {*BOARDS, None})
        yield ask(CUT_LIST, row, piece, piece.part, piece.item or "")._replace(of_boards=by_board)
    for row, each in enumerate(of.fastened.run_fasteners, start=1):
        yield ask(BY_RUN, row, each, each.of.joint, each.item)
    for row, place in enumerate(of.fastened.places, start=1):
        for what, column in TRIM.items():
            item = getattr(of.job.assemblies[place.assembly_row - 1], column)
            if item:
                yield ask(PLACES_TAB, row, place, what, item)._replace(trim=column)


def _uncut(of: Takeoff) -> set[int]:
    """Rows of the cut list that have no board, or not for all of their pieces."""
    cut = {each.cut.piece.of.piece_row for each in of.sawn.cuts}
    left_out = {each.of.piece_row for each in of.sawn.planned if each.of.left_out}
    return {row for row, _ in enumerate(of.shop.pieces, start=1) if row not in cut} | left_out


def _boards(of: Takeoff, listed: Mapping[str, int]) -> Iterator[MaterialChosen]:
    """Boards of the cutting plan, each length once."""
    parts: dict[int, dict[str, None]] = {}
    for each in of.sawn.cuts:
        parts.setdefault(each.board.of.offer_row, {})[each.cut.piece.cut.part] = None
    offered = sorted(parts.items(), key=lambda part: of.sawn.offers[part[0] - 1].of.price_row)
    for offer_row, used_for in offered:
        row = of.sawn.offers[offer_row - 1].of.price_row
        price = of.job.prices[row - 1]
        item = price.item or ""
        yield MaterialChosen(
            item, ", ".join(used_for), row, price.sold_as or "", price.length, listed.get(item, 0), 0,
            price.price_date, offer_row,
        )  # fmt: skip


def _cheapest(of: Takeoff, item: str, group: Sequence[Asked], brought_row: int) -> MaterialChosen:
    """The cheapest way to buy an item: singly, in packs or in kits; of equal ones the first on tab Prices."""
    use = ", ".join(dict.fromkeys(each.part for each in group))
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


def _charge(of: Takeoff, price: Price, group: Sequence[Asked], brought_row: int) -> float:
    """What the job would be charged; endless without a price."""
    if price.price is None:
        return float("inf")
    if price.sold_as == KIT:
        return price.price * sum(sum(kits.values()) for _, kits in _kits(group))
    brought = of.fastened.brought[brought_row - 1] if brought_row else None
    needed = sum(each.pieces for each in group)
    needed += (brought.to_bring or 0) - (brought.needed or 0) if brought else 0
    used, pack = min(needed, price.on_hand or 0), price.pack_of or 1 if price.sold_as == PACK else 1
    return price.price * (used / pack - (used - needed) // pack)


def _kits(group: Iterable[Asked]) -> Iterator[tuple[Asked, dict[tuple[Any, ...], int]]]:
    """The rows that count kits, and which: of those that go into one section, post or run the first counts it."""
    seen: set[tuple[Any, ...]] = set()
    for each in group:
        new = {key: kits for key, kits in each.kits.items() if key not in seen}
        seen.update(new)
        if new:
            yield each, new


def _assembly_of(each: Asked) -> str:
    """Of post trim the mark of its assembly; nothing else needs one."""
    return each.thing.line.measures.assembly.assembly if each.trim else ""


class _Bought:
    """How each row that asks is bought, and the rows of tab Working needs."""

    def __init__(self, ways: Mapping[str, MaterialChosen], rows: Mapping[str, int], asked: Sequence[Asked]) -> None:
        self.ways, self.rows, self.asked = ways, rows, [each for each in asked if not each.of_boards]
        self.of_boards = {each.item for each in asked if each.of_boards}
        counting = _kits(each for each in self.asked if each.pieces)
        self.kits = {each.key: kits for each, kits in counting}

    def way(self, each: Asked) -> str:
        """Pieces, kits, in another row's kit, or nothing."""
        if each.item not in self.ways:
            return NOT_BOUGHT
        if self.ways[each.item].sold_as != KIT:
            return BY_PIECE
        return BY_KIT if each.key in self.kits else IN_KIT

    def needs(self) -> Iterator[NeedChosen]:
        """Rows that ask for one item are counted together; kits, and items that are also cut from boards, alone."""
        gathered: dict[tuple[str, ...], list[Asked]] = {}
        for each in self.asked:
            alone = self.way(each) in (BY_KIT, IN_KIT) or each.item in self.of_boards
            if alone:
                kits = sum(self.kits.get(each.key, {}).values())
                yield self._need([each])._replace(source_row=each.row, kits=kits)
            else:
                assembly = _assembly_of(each)
                gathered.setdefault((each.source, each.item, each.trim, assembly), []).append(each)
        yield from (self._need(group) for group in gathered.values())

    def _need(self, group: Sequence[Asked]) -> NeedChosen:
        """The need of rows that are counted together."""
        first = group[0]
        return NeedChosen(
            source=first.source,
            item=first.item,
            part=", ".join(dict.fromkeys(each.part for each in group)),
            bought_as=self.way(first),
            material_row=self.rows.get(first.item, 0),
            rows=len(group),
            trim=first.trim,
            assembly=_assembly_of(first),
        )


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


def _shares(
    of: Takeoff, asked: Sequence[Asked], bought: _Bought, runs: Sequence[RunCostChosen]
) -> Iterator[ShareChosen]:
    """What each run has of each row that asks for something that is bought."""
    rows = {(each.source, each.run): row for row, each in enumerate(runs, start=1)}
    last = {each.cut.piece.of.piece_row: each.cut.row for each in of.sawn.cuts}
    parts = _Parts(of)
    for each in asked:
        way = BY_BOARD if each.of_boards else bought.way(each)
        cut_row = last.get(each.row, 0) if each.of_boards else 0
        if way in (NOT_BOUGHT, IN_KIT) or (each.of_boards and not cut_row):
            continue
        left = dict(bought.kits.get(each.key, {}))  # each kit is shared out once, also where two lots go into it
        for lot_row, lot, found in parts.of(each):
            kits = left.pop(each.kit(lot), 0) if way == BY_KIT and lot else 0
            if way == BY_KIT and lot and not kits:
                continue
            share = ShareChosen(
                each.source, each.row, 0, "", _sort(each), 0.0, sum(found.values()), cut_row,
                0 if each.of_boards else bought.rows[each.item], way, kits, lot_row,
            )  # fmt: skip
            for key, part in found.items():
                if part > 0:
                    yield share._replace(cost_row=rows[key], run=key[1], part=part)


def _sort(each: Asked) -> int:
    """Boards, counted items or fasteners."""
    if each.source != CUT_LIST:
        return FASTENERS
    return FROM_BOARDS if each.of_boards else COUNTED


def _lacking(
    of: Takeoff, asked: Sequence[Asked], bought: _Bought, runs: Sequence[RunCostChosen]
) -> Iterator[RunCostChosen]:
    """Every run with the rows of Materials and Working boards of which it has a share, and what lacks a board."""
    offers: dict[int, set[int]] = {}
    for cut in of.sawn.cuts:
        offers.setdefault(cut.cut.piece.of.piece_row, set()).add(cut.board.of.offer_row)
    lacks: dict[tuple[str, str], tuple[set[int], set[int], list[int]]] = {}
    parts, without_board = _Parts(of), _uncut(of)
    for each in asked:
        for key, part in parts.of_all(each).items():
            materials, boards, uncut = lacks.setdefault(key, (set(), set(), []))
            if part <= 0 or not each.pieces:
                continue
            if not each.of_boards:
                materials.add(bought.rows[each.item])
            boards |= offers.get(each.row, set())
            if each.of_boards and each.row in without_board:
                uncut.append(each.row)
    for run in runs:
        materials, boards, uncut = lacks.get((run.source, run.run), (set(), set(), []))
        yield run._replace(materials=tuple(sorted(materials)), offers=tuple(sorted(boards)), uncut=len(uncut))


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

    def of(self, each: Asked) -> Iterator[tuple[int, Lot | None, Mapping[tuple[str, str], float]]]:
        """For each lot its row of Working lots, 0 where it stands alone, the lot, and run -> its members of it."""
        if each.source == PLACES_TAB:
            yield 0, None, {(GUARDS, each.thing.run): 1.0}
        elif each.source == BY_RUN:
            yield 0, None, {(HANDRAILS if each.thing.of.tab == HANDRAILS_TAB else GUARDS, each.thing.run): 1.0}
        else:
            piece: Piece = each.thing
            for at, lot in enumerate(piece.lots):
                found: Mapping[tuple[str, str], float] = self.found.get(
                    (lot.members, lot.group, lot.each if lot.members == "posts" else ""), {}
                )
                yield piece.lots_row + at if piece.lots_row else 0, lot, found

    def of_all(self, each: Asked) -> Counter[tuple[str, str]]:
        """Run -> its members of all lots."""
        parts: Counter[tuple[str, str]] = Counter()
        for _, _, found in self.of(each):
            for run, part in found.items():
                parts[run] += part  # type: ignore[assignment]
        return parts
