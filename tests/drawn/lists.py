"""Checks of the cut list against the other tabs: as many pieces as stand, and each as long as the other tab says."""

from collections import Counter
from collections.abc import Iterator

from railbook.job.assemblies import ON_CONCRETE, ON_SURFACE
from railbook.job.supports import NEW
from tests.drawn.boards import blocks_of
from tests.drawn.finding import Finding
from tests.drawn.posts import Stood
from tests.drawn.reading import BALUSTER, BLOCK, BOTH_RAILS, BOTTOM_RAIL, CAP, POST, SLEEVE, TOP_RAIL, Reading
from tests.drawn.witness import Drawn

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


def lengths(drawn: Drawn) -> Iterator[Finding]:
    """Posts, sleeves and blocks are cut as long as the schedule and the support blocks have them."""
    for post in drawn.posts:
        for part, wanted in _post_lengths(drawn.reading, post):
            row = drawn.reading.piece(part, post.row.post)
            yield from _off(drawn, f"{part} {post.row.post}", None if row is None else row.length - wanted)
    for bay in drawn.bays:
        for block in blocks_of(drawn.reading, bay):
            rows = [row for row in drawn.reading.sawn if row.part == BLOCK and bay.section in row.where]
            wanted = block.row.long_side or 0.0
            off = min((row.length - wanted for row in rows), key=abs, default=None)
            yield from _off(drawn, f"{BLOCK} {bay.section} no. {block.row.number}", off)


def _off(drawn: Drawn, name: str, off: float | None) -> Iterator[Finding]:
    if off is None:
        yield Finding("cut list", (name,), 0.0, "is not on it")
    elif abs(off) > drawn.reading.hair:
        yield Finding("cut list", (name,), off, "is not as long as the other tab says")


def _post_lengths(reading: Reading, post: Stood) -> Iterator[tuple[str, float]]:
    """What is cut for a post, and how long it must be: up to its higher face, and down to its foot."""
    row, assembly, typed = post.row, post.stretch.taped.assembly, reading.supports.get(post.row.post)
    if row.sleeve_downhill is not None and row.sleeve_uphill is not None:
        yield SLEEVE, max(row.sleeve_downhill, row.sleeve_uphill)
    if row.state != NEW or row.post_downhill is None or row.post_uphill is None:
        return
    below = assembly.below_surface or 0.0
    if typed is not None:
        below = 0.0 if typed.mount in (ON_SURFACE, ON_CONCRETE) else below
        below = below if typed.below_surface is None else typed.below_surface
    yield POST, max(row.post_downhill, row.post_uphill) + below
