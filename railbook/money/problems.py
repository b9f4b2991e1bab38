"""What is wrong with the money of a job: prices missing or old, unlikely shares, stock and bills that match nothing."""

from collections.abc import Iterator

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.basics.rounding import PLACES
from railbook.basics.units import tape_text
from railbook.job.build import Job
from railbook.job.prices import PACK
from railbook.job.settings import TAB as JOB
from railbook.job.settings import Settings
from railbook.money.layout import Priced
from railbook.money.materials import Material

OLD_DAYS = 180  # from the price's date to the job's; common practice, no source
USUAL = {"tax": 0.3, "fastener_spares": 0.5, "markup_materials": 1.0, "markup_labour": 1.0}  # at most; the same


def pricing_problems(job: Job, priced: Priced) -> Iterator[Problem]:
    """Everything to be said of prices and payments."""
    yield from _unlikely(job.settings)
    yield from _missing(job, priced)
    yield from _old(job, priced)
    yield from _unused_stock(job, priced)
    yield from _unpacked(job, priced)
    yield from _strange_payments(job, priced)


def _name(material: Material) -> str:
    """How a material is called: boards by their length."""
    if not material.item:
        return f"{material.chosen.use} (no item is named on tab Assemblies)"
    return material.item + _of_length(material.length, material.settings)


def _of_length(length: float | None, settings: Settings) -> str:
    """A length of board, behind its item; nothing where there is none."""
    return "" if length is None else f" of {tape_text(length, settings.tape_step, settings.unit)}"


def _unlikely(settings: Settings) -> Iterator[Problem]:
    """Shares that are computed with, though hardly anybody charges so much."""
    for word, most in USUAL.items():
        share: float | None = getattr(settings, word)
        if share is not None and share > most:
            what = f"{JOB.column(word).header} is {100 * share:.15g}%: is that meant?"
            yield Problem(settings.origin.cell(word), what, "nothing to do if it is; else type it again", LOOK)


def _missing(job: Job, priced: Priced) -> Iterator[Problem]:
    """Things to buy without a price, and pieces without a board, in a sentence each."""
    names = [_name(each) for each in priced.materials if each.missing]
    if not any(price.price is not None for price in job.prices):
        return  # nobody asks for money; tab Cost says that it is incomplete
    uncut = dict.fromkeys(part.lower() for part in priced.uncut)
    if uncut:
        what = f"no board is planned for {', '.join(uncut)}: the totals are incomplete"
        yield Problem("Prices", what, "list a board that holds them, see Pieces planned, then run again", LOOK)
    if names:
        what = f"no price for {', '.join(names)}: the totals are incomplete"
        yield Problem("Prices", what, "list each on tab Prices with its price, then run again", LOOK)


def _old(job: Job, priced: Priced) -> Iterator[Problem]:
    """Prices asked long before the job was measured."""
    day = job.settings.date
    dated = [
        (each, each.chosen.price_date)
        for each in priced.materials
        if each.chosen.price_date is not None and each.unit_price is not None
    ]
    if day is None:
        if dated:
            where = job.settings.origin.cell("date") or "Job"
            yield Problem(where, "without the job's date nobody can tell which prices are old", "type it", NOTE)
        return
    old: dict[int, list[Material]] = {}
    for each, asked in dated:
        if (age := (day - asked).days) > OLD_DAYS:
            old.setdefault(age, []).append(each)
    for age, some in old.items():
        where = some[0].price.origin.cell("price_date") if len(some) == 1 else "Prices"
        what = f"prices {age} days older than the job: {', '.join(map(_name, some))}"
        yield Problem(where, what, "ask for them again", LOOK)


def _unused_stock(job: Job, priced: Priced) -> Iterator[Problem]:
    """Stock of an item that is bought by another row of tab Prices."""
    used = {each.item: each.chosen.price_row for each in priced.materials if each.length is None and each.needed}
    boards = {each.chosen.price_row for each in priced.materials if each.length is not None}
    for row, price in enumerate(job.prices, start=1):
        bought_by = used.get(price.item or "", 0)
        if price.on_hand and bought_by and bought_by != row and row not in boards:
            what = f"{price.on_hand} of {price.item} are on hand in a row that is not bought by"
            other = job.prices[bought_by - 1].origin.cell("on_hand") or "the row that is"
            remedy = f"type them in {other}, if they are the same thing"
            yield Problem(price.origin.cell("on_hand"), what, remedy, LOOK)


def _unpacked(job: Job, priced: Priced) -> Iterator[Problem]:
    """Packs that do not say how many pieces they hold."""
    needed = {each.item for each in priced.materials}
    for price in job.prices:
        if price.sold_as == PACK and price.item in needed and not price.pack_of:
            what = f"a pack of {price.item} does not say how many it holds"
            yield Problem(price.origin.cell("pack_of"), what, "type it in Pack of; the row is not used", LOOK)


def _strange_payments(job: Job, priced: Priced) -> Iterator[Problem]:
    """Payments for what is not on tab Materials."""
    known = {(each.item.casefold(), round(each.length or 0.0, PLACES)) for each in priced.materials}
    for row in job.paid:
        if row.paid is not None and ((row.item or "").casefold(), round(row.length or 0.0, PLACES)) not in known:
            what = f"paid for {row.item}{_of_length(row.length, job.settings)}, which is not on tab Materials"
            remedy = "use the item there, with the length of a board; it counts in the total that was paid"
            yield Problem(row.origin.cell("item"), what, remedy, LOOK)
