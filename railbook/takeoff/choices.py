"""What the takeoff leaves to choose: rows of the baluster layout, of the blocks and of the cut list."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from railbook.basics.rounding import PLACES, same
from railbook.geometry.joints import BEND, BUTT, CORNER, End, Joints
from railbook.geometry.posts import ON_LEVEL
from railbook.geometry.sections import Section
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.runs import LEVEL, STAIR
from railbook.takeoff.balusters import BOTH, BOTTOM, TOP, BalusterLayout
from railbook.takeoff.blocks import Block
from railbook.takeoff.cut_list import TILT, TURN
from railbook.takeoff.layout import (
    Gathered,
    Layout,
    Shop,
    ShopChoices,
    blocks_of,
    distinct,
    distinct_sections,
    layouts_of,
    pieces_of,
)

SPARE_MARKS = 3  # an edit may ask for a few balusters more before the tab must be made again


def choose_shop(job: Job, site: Site) -> ShopChoices:
    """Choose rows of the takeoff tabs; equal pieces are gathered."""
    layouts = tuple(_layouts(job, site))
    most = max((row.count for row in layouts_of(job, site, layouts, 0)), default=0)
    start = ShopChoices(layouts, most + SPARE_MARKS, tuple(_blocks(site)), ())
    shop = lay_out_shop(job, site, start)
    return start._replace(pieces=tuple(_gathered(site, shop)))


def lay_out_shop(job: Job, site: Site, choices: ShopChoices) -> Shop:
    """Every takeoff row of the job with these choices."""
    shop = Shop(
        layouts=layouts_of(job, site, choices.layouts, choices.slots),
        blocks=blocks_of(job, site, choices.blocks),
        pieces=(),
    )
    return replace(shop, pieces=pieces_of(job, site, shop, choices.pieces))


def _layouts(job: Job, site: Site) -> Iterator[Layout]:
    """A layout for each distinct section: one row where both rails are alike, else two."""
    plain = [
        Layout(number, rail, section.section, used_in, 0, max(section.clear, section.clear_top))
        for number, (_, section, used_in) in enumerate(distinct_sections(site), start=1)
        for rail in ((BOTH,) if same(section.clear, section.clear_top) else (TOP, BOTTOM))
    ]
    opened = {row.layout for row in layouts_of(job, site, plain, 0) if _opens_too_far(row)}
    return (row._replace(added=int(row.layout in opened)) for row in plain)


def _opens_too_far(row: BalusterLayout) -> bool:
    """Whether rounding the marks lets the sphere through."""
    return round(row.worst_gap, PLACES) >= round(row.sphere, PLACES)


def _blocks(site: Site) -> Iterator[tuple[str, str, int]]:
    """Support blocks of each distinct section."""
    return ((section.section, used_in, section.blocks) for _, section, used_in in distinct_sections(site))


def _gathered(site: Site, shop: Shop) -> Iterator[Gathered]:
    """Rows of the cut list: posts, then rails, balusters and blocks of each distinct section, then caps."""
    yield from _posts(site)
    firsts = {row.section.section: number for number, row in reversed(list(enumerate(shop.layouts, start=1)))}
    blocks = _first_rows(shop.blocks)
    for row, section, used_in in distinct_sections(site):
        yield from _rails(row, section, used_in)
        yield Gathered(
            "Baluster", used_in, "baluster_item", "baluster_layout", firsts[section.section],
            "baluster_exact", "baluster_tip", "baluster_angle", "baluster_angle",
            "count", "sections", row, 0, _turned(section),
        )  # fmt: skip
        yield from _block_pieces(row, section, used_in, blocks.get(section.section, ()))
    for row, cap in enumerate(site.caps, start=1):
        if cap.line.measures.assembly.cap_thickness:
            yield Gathered(
                "Cap board", cap.run, "cap_item", "caps", row,
                "long_point", "long_point", "from_cut", "to_cut", "1", "caps", row, 0, *_saw(cap.joints),
            )  # fmt: skip


def _saw(joints: Joints) -> tuple[str, int]:
    """How the ends of a cap are sawn, and in how many planes: corners turn the saw, bends and butts tilt it."""
    left, right = _way(joints.from_end), _way(joints.to_end)
    planes = len({way.partition(",")[0] for way in (left, right) if way}) or 1
    if left == right or not right:
        return left, planes
    return right if not left else f"left: {left}; right: {right}", planes


def _way(end: End) -> str:
    """How one end is sawn; nothing when it is square."""
    if end.kind == CORNER:
        return f"{TURN}, long point outside"
    if end.kind not in (BEND, BUTT):
        return ""
    return f"{TILT}, {'top' if end.upper else 'underside'} long"


def _first_rows(blocks: Sequence[Block]) -> dict[str, tuple[int, ...]]:
    """Section -> rows of its blocks."""
    rows: dict[str, tuple[int, ...]] = {}
    for row, block in enumerate(blocks, start=1):
        rows[block.section] = (*rows.get(block.section, ()), row)
    return rows


def _posts(site: Site) -> Iterator[Gathered]:
    """Posts and sleeves that are cut, gathered where they are cut alike."""
    for row, post, where in distinct(site.posts, lambda post: post.post):
        cuts = ("foot_angle", "top_angle")
        saw = "" if post.stands == ON_LEVEL else TURN
        if post.post_length is not None:
            sizes = ("post_length", "post_tip")
            yield Gathered("Post", where, "post_item", "posts", row, *sizes, *cuts, "cut", "posts", row, 0, saw)
        if post.sleeve_length is not None:
            sizes = ("sleeve_length", "sleeve_tip")
            yield Gathered("Sleeve", where, "sleeve_item", "posts", row, *sizes, *cuts, "sleeved", "posts", row, 0, saw)


def _turned(section: Section) -> str:
    """How the ends of rails, balusters and blocks are sawn: square on the level."""
    return "" if section.line.kind == LEVEL else TURN


def _rails(row: int, section: Section, used_in: str) -> Iterator[Gathered]:
    """Top and bottom rail of a distinct section."""
    relief = int(section.line.kind != LEVEL)
    for part, name in (("Top rail", "top"), ("Bottom rail", "bottom")):
        yield Gathered(
            part, used_in, f"{name}_rail_item", "sections", row,
            f"{name}_edge", f"{name}_tip", "plumb_cut", "plumb_cut", "1", "sections", row, relief, _turned(section),
        )  # fmt: skip


def _block_pieces(row: int, section: Section, used_in: str, rows: Sequence[int]) -> Iterator[Gathered]:
    """Support blocks: alike on the level and on ramps, each its own on stairs."""
    ends = ("long_side", "tip", "foot_angle", "top_angle")
    if rows and section.line.kind != STAIR:
        each = str(len(rows))
        yield Gathered(
            "Block", used_in, "block_item", "blocks", rows[0], *ends, each, "sections", row, 0, _turned(section)
        )
        return
    for number in rows:
        yield Gathered("Block", used_in, "block_item", "blocks", number, *ends, "1", "sections", row)
