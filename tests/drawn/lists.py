"""Checks of the cut list against the other tabs: as many pieces as stand, and each as long as the other tab says."""

import math
from collections import Counter
from collections.abc import Iterator

from railbook.basics.kinds import INCH
from railbook.job.assemblies import ON_CONCRETE, ON_SURFACE
from railbook.job.supports import EXISTING, NEW
from tests.drawn.boards import Rail, blocks_of, parts_of, rail_of
from tests.drawn.finding import Finding
from tests.drawn.posts import PROUD, Stood, highest
from tests.drawn.reading import BALUSTER, BLOCK, BOTH_RAILS, BOTTOM_RAIL, CAP, POST, SLEEVE, TOP_RAIL, Reading
from tests.drawn.witness import Drawn

NO_EDGE = "its length is that of no edge"
RAILS = "Rails"  # a rail may be listed as one of both


def quantities(drawn: Drawn) -> Iterator[Finding]:
    """As many pieces are cut as stand; told only where the whole job is drawn."""
    if drawn.unplaced:
        return
    cut: Counter[str] = Counter()
    for row in drawn.reading.sawn:
        cut[RAILS if row.part in (TOP_RAIL, BOTTOM_RAIL, BOTH_RAILS) else row.part] += row.quantity
    stand = Counter(RAILS if each.part in (TOP_RAIL, BOTTOM_RAIL) else each.part for each in drawn.pieces)
    stand[POST] = sum(post.row.state == NEW for post in drawn.posts)
    stand[SLEEVE] = sum(post.inner is not None for post in drawn.posts)
    for part in (RAILS, BALUSTER, BLOCK, CAP, POST, SLEEVE):
        if cut[part] != stand[part]:
            yield Finding("cut list", (part,), cut[part] - stand[part], "pieces more than stand")


def tips(drawn: Drawn) -> Iterator[Finding]:
    """Length and tip to tip of a row say the same piece, by its cuts: the length is that of an edge, of the longer one
    where an end is square or the cuts oppose, as the tab says."""
    for cap in drawn.caps:
        sawn, edges = cap.sawn, cap.edges
        if sawn.lower_cut * sawn.upper_cut <= 0:
            edges = [max(edges)]
        yield from _edge(drawn, f"{CAP} {cap.stretch.run.run}", min((sawn.length - edge for edge in edges), key=abs))
    for bay in drawn.bays:
        for part in parts_of(bay):
            rail = rail_of(drawn.reading, bay, part)
            if rail is not None:
                ends = [(side, n) for side in (-1, 1) for n in (0.0, rail.deep)]
                low, high = ([rail.s(*each, upper=upper) for each in ends] for upper in (False, True))
                off = rail.sawn.tip_to_tip - max(high) + min(low)
                yield from _edge(drawn, f"{part} {bay.section}", off)
                yield from _sides(drawn, rail)
        row = drawn.reading.piece(BALUSTER, bay.section)
        if row is not None:
            wide = bay.stretch.taped.assembly.baluster_width or 0.0
            low_cut, high_cut = (math.tan(math.radians(cut)) * wide for cut in (row.lower_cut, row.upper_cut))
            tip = row.length + max(0.0, high_cut) + max(0.0, -low_cut)
            yield from _edge(drawn, f"{BALUSTER} {bay.section}", row.tip_to_tip - tip)


def _sides(drawn: Drawn, rail: Rail) -> Iterator[Finding]:
    """The two sides of a rail, both rounded, differ as its ends are turned."""
    if abs(rail.differ) > drawn.reading.hair + drawn.reading.step:
        where = f"{rail.part} {rail.bay.section}"
        yield Finding("cut list", (where,), rail.differ, "its sides differ otherwise than its ends are turned")


def _edge(drawn: Drawn, name: str, off: float) -> Iterator[Finding]:
    """Both are rounded to the tape."""
    if abs(off) > drawn.reading.hair + drawn.reading.step:
        yield Finding("cut list", (name,), off, NO_EDGE)


def lengths(drawn: Drawn) -> Iterator[Finding]:
    """Posts, sleeves and blocks are cut as long as the schedule and the support blocks have them."""
    for post in drawn.posts:
        for part, wanted in _post_lengths(drawn.reading, post):
            row = drawn.reading.piece(part, post.row.post)
            pointed = bool(post.slope) or post.is_turned  # the point of a foot on a ramp is rounded, and a corner
            rounded = drawn.reading.step if pointed else 0.0
            off = None if row is None else row.length - wanted
            yield from _off(drawn, f"{part} {post.row.post}", off, rounded)
    for bay in drawn.bays:
        for block in blocks_of(drawn.reading, bay):
            rows = [row for row in drawn.reading.sawn if row.part == BLOCK and bay.section in row.where]
            wanted = block.row.long_side or 0.0
            off = min((row.length - wanted for row in rows), key=abs, default=None)
            yield from _off(drawn, f"{BLOCK} {bay.section} no. {block.row.number}", off)


def standing(drawn: Drawn) -> Iterator[Finding]:
    """A post that stands already is said to need what reaches its highest point, and to lose no more than the rest."""
    for post in drawn.posts:
        row, typed = post.row, drawn.reading.supports.get(post.row.post)
        if row.state != EXISTING or typed is None:
            continue
        high = highest(post, post.inner or post.outer)
        rounded = drawn.reading.step if post.is_turned else 0.0
        yield from _off(drawn, f"{POST} {row.post}", (row.needed or 0.0) - high, rounded)
        if typed.standing_height is not None and row.saw_off is not None:
            yield from _off(drawn, f"{POST} {row.post}", typed.standing_height - row.saw_off - high, rounded)


def _off(drawn: Drawn, name: str, off: float | None, rounded: float = 0.0) -> Iterator[Finding]:
    if off is None:
        yield Finding("cut list", (name,), 0.0, "is not on it")
    elif abs(off) > drawn.reading.hair + rounded:
        yield Finding("cut list", (name,), off, "is not as long as the other tab says")


def _post_lengths(reading: Reading, post: Stood) -> Iterator[tuple[str, float]]:
    """What is cut for a post, and how long it must be: up to its highest point, and down to its foot."""
    row, assembly, typed = post.row, post.stretch.taped.assembly, reading.supports.get(post.row.post)
    if row.sleeve_downhill is not None and row.sleeve_uphill is not None:
        yield SLEEVE, highest(post, post.outer)
    if row.state != NEW or row.post_downhill is None or row.post_uphill is None:
        return
    below = assembly.below_surface or 0.0
    if typed is not None:
        below = 0.0 if typed.mount in (ON_SURFACE, ON_CONCRETE) else below
        below = below if typed.below_surface is None else typed.below_surface
    final = highest(post, post.inner or post.outer) + below
    yield POST, final + _rough(reading, post)


def _rough(reading: Reading, post: Stood) -> float:
    """What a post is sawn longer, tip to tip, to be trimmed on site: an inch or 25 mm unless its railing says so."""
    assembly = post.stretch.taped.assembly
    usual = 1.0 if reading.settings.unit == INCH else 25.0
    more = usual if assembly.rough_allowance is None else assembly.rough_allowance
    point = 0.0 if post.row.top == PROUD else (assembly.post_width or 0.0) * post.slope
    return more + point if more else 0.0
