"""What keeps a piece off the cutting plan, or the plan from being priced: a sentence each."""

from collections.abc import Iterator, Mapping, Sequence

from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.basics.rounding import PLACES
from railbook.basics.units import tape_text
from railbook.boards.pieces import Planned, Planning
from railbook.boards.questions import Material, Question
from railbook.boards.rough import final_tip
from railbook.boards.splices import HANDRAIL
from railbook.cutting.pieces import BOARD as OF_BOARD
from railbook.cutting.pieces import PIECE, SAW, SHORTER_THAN_KERF, Fault
from railbook.job.build import Job
from railbook.job.prices import BOARD, BOARDS, YARD_BOARD, Price
from railbook.takeoff.layout import Shop

WIDEST_KERF = {INCH: 0.25, MILLIMETRE: 6.0}  # of usual blades: common practice, no source
SETTINGS = {"kerf": "saw_kerf", "trim": "end_trim", "shortest_offcut": "shortest_offcut"}


def unlisted(job: Job, shop: Shop) -> Iterator[Problem]:
    """Items that the cut list needs and tab Prices does not list at all, and boards without a length."""
    listed = {price.item for price in job.prices if price.sold_as != YARD_BOARD or price.on_hand}
    for item in dict.fromkeys(piece.item for piece in shop.pieces if piece.item and piece.quantity):
        if item not in listed:
            what = f"tab Prices lists no board of {item}, which the cut list needs"
            yield Problem("Prices", what, "list its boards with their lengths; it is not on the cutting plan", NOTE)
    needed = {piece.item for piece in shop.pieces}
    for price in job.prices:
        if price.sold_as in BOARDS and price.item in needed and not price.length:
            what = f"a board of {price.item} has no length"
            yield Problem(price.origin.cell("length"), what, "type the length on sale; it is not planned with", LOOK)
        elif price.sold_as in BOARDS and price.item in needed and not is_longer_than_trims(job, price):
            what = f"nothing is left of a board of {price.item} between its end trims"
            yield Problem(price.origin.cell("length"), what, "correct one of them; it is not planned with", LOOK)


def wide_kerf(job: Job) -> Iterator[Problem]:
    """A saw kerf that is more likely a slip of the pen."""
    kerf, settings = job.settings.kerf, job.settings
    if kerf > WIDEST_KERF[settings.unit]:
        what = f"a saw kerf of {tape_text(kerf, settings.tape_step, settings.unit)} is wider than usual blades"
        where = settings.origin.cell("saw_kerf") or "Job"
        yield Problem(where, what, "type the width of the blade; every cut takes so much", LOOK)


def is_longer_than_trims(job: Job, price: Price) -> bool:
    """Whether anything is left of a board between its end trims."""
    return round((price.length or 0.0) - 2 * job.settings.trim, PLACES) > 0


def unpriced(job: Job, materials: Sequence[Material]) -> Iterator[Problem]:
    """Items none of whose boards has a price: the shortest total length is planned for instead."""
    items = [each.item for each in materials if not each.priced]
    if items:
        what = f"boards without a price: {', '.join(items)}"
        remedy = "type it; until then their plan needs the least length, not the least money"
        yield Problem("Prices", what, remedy, NOTE)
    passed_by = [
        f"{each.item} of {tape_text(price.length, job.settings.tape_step, job.settings.unit)}"
        for each in materials
        for price in each.prices
        if price.sold_as == BOARD and not each.is_bought(price)
    ]
    if passed_by:
        what = f"not bought, since only other lengths have a price: {', '.join(passed_by)}"
        yield Problem("Prices", what, "type their prices if they are on sale", NOTE)


def too_few(question: Question, left_out: Mapping[int, int]) -> Iterator[Problem]:
    """Pieces for which the boards in the yard do not suffice."""
    item = question.material.item
    for at, number in left_out.items():
        piece = question.pieces[at]
        what = f"{number} of {piece.needed} {piece.cut.part.lower()} of {piece.cut.length_text} have no board left"
        remedy = f"list a board of {item} that is on sale; what is on hand is not enough"
        yield Problem(f"cut list no. {piece.of.piece_row}", what, remedy, LOOK)


def too_long(piece: Planned, room: float) -> Problem:
    """A piece that no board can hold, with that room between its trims, and that cannot be spliced."""
    remedy = "list a longer board, or divide the run; it is not on the cutting plan"
    if piece.cut.source == "caps":
        remedy = "list a longer board, or set line posts to splice it over; it is not on the cutting plan"
    final = final_tip(piece.cut)
    if final is not None and round(final - room, PLACES) <= 0:
        remedy = "list a longer board, or type a smaller Rough allowance: sawn to length it fits; it is not on the plan"
    return Problem(f"cut list no. {piece.of.piece_row}", _longer(piece), remedy, LOOK)


def spliced(piece: Planned, parts: Sequence[Planning]) -> Problem:
    """A piece that is spliced, and where."""
    what = f"{_longer(piece)}: it is cut in {len(parts)} parts"
    place = "at a bracket"
    if piece.cut.part != HANDRAIL:
        behind = {each.section_row: each.before for each in piece.cut.crossings}
        before = ", ".join(behind[part.section_row] for part in parts[1:])
        place = f"over the post before section {before}"
    return Problem(f"cut list no. {piece.of.piece_row}", what, f"splice it {place}, or list a longer board", NOTE)


def _longer(piece: Planned) -> str:
    part = f"{piece.cut.part.lower()} of {piece.cut.length_text} for {piece.cut.where}"
    return f"{part} is longer than any board of {piece.of.item}, trimmed at both ends"


def faulty(job: Job, question: Question, faults: Sequence[Fault]) -> Iterator[Problem]:
    """What the solver cannot plan with, each with its cell."""
    item = question.material.item
    remedy = f"correct it: {item} is not on the cutting plan"
    short = sum(fault.fault == SHORTER_THAN_KERF for fault in faults)
    if short:
        what = f"the saw kerf is wider than {short} of {len(question.places)} lines of {item} are long"
        yield Problem(job.settings.origin.cell("saw_kerf") or "Job", what, remedy, LOOK)
    for fault in (fault for fault in faults if fault.fault != SHORTER_THAN_KERF):
        if fault.about == OF_BOARD:
            price = job.prices[question.sources[fault.number][0] - 1]
            figure = {"length": price.length, "price": price.price, "on_hand": price.on_hand}[fault.field]
            what = f"{fault.field.replace('_', ' ')} {figure:g} of a board of {item}: {fault.fault}"
            yield Problem(price.origin.cell(fault.field), what, remedy, LOOK)
        elif fault.about == PIECE:
            piece = question.pieces[question.places[fault.number]]
            what = f"{piece.cut.part.lower()} of {piece.cut.length_text}: {fault.fault}"
            yield Problem(f"cut list no. {piece.of.piece_row}", what, remedy, LOOK)
        elif fault.about == SAW and fault.field in SETTINGS:
            word = SETTINGS[fault.field]
            where = job.settings.origin.cell(word) or "Job"
            yield Problem(where, f"{word.replace('_', ' ')}: {fault.fault}", "correct it: nothing is planned", LOOK)
        else:
            yield Problem("Prices", f"boards of {item}: {fault.fault}", remedy, LOOK)
