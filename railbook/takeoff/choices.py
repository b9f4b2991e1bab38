"""What the takeoff leaves to choose: rows of the baluster layout, of the blocks and of the cut list."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from railbook.basics.problem import Problem
from railbook.basics.rounding import PLACES
from railbook.basics.units import tape_text
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.cap_saws import tilts_saw, turns_saw
from railbook.geometry.caps import Cap
from railbook.geometry.handrails import Handrail
from railbook.geometry.joints import AT_EDGES, AT_WALL, CUT_OFF, DIES, MITRED, PROUD, STEP
from railbook.geometry.post_tops import ON_LEVEL, ON_RAMP
from railbook.geometry.posts import Post
from railbook.geometry.sections import Section
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.fastenings import BLOCK, SCREW
from railbook.job.runs import LEVEL, STAIR
from railbook.takeoff.balusters import BalusterLayout
from railbook.takeoff.blocks import Block, BlockScrew
from railbook.takeoff.layout import (
    Gathered,
    Layout,
    Shop,
    ShopChoices,
    Stop,
    blocks_of,
    distinct,
    distinct_sections,
    layouts_of,
    lots_laid_out,
    pieces_of,
)
from railbook.takeoff.lots import (
    BOTH_RAILS,
    BOTTOM_RAIL,
    FAR,
    ROUGH,
    SIDES,
    TILT,
    TOP_RAIL,
    TURN,
    WALKING,
    Lot,
)
from railbook.takeoff.rail_ends import BOTH, BOTTOM, TOP, meets_alike, widest_clear
from railbook.takeoff.screws import HOLDS, thickness

NO_STOP = "askew, and leaning or raked besides"  # of what no saw stop is worked out for
MOST_ADDED = 3  # balusters added because of leans and rounding; more would not cure what opens the gap
SPARE_MARKS = 3  # an edit may ask for a few balusters more before the tab must be made again


def choose_shop(job: Job, site: Site) -> ShopChoices:
    """Choose rows of the takeoff tabs; equal pieces are gathered."""
    layouts = tuple(_layouts(job, site))
    most = max((row.count for row in layouts_of(job, site, layouts, 0)), default=0)
    start = ShopChoices(layouts, most + SPARE_MARKS, tuple(_blocks(site)), (), _block_screws(job))
    shop = lay_out_shop(job, site, start)
    return start._replace(stops=tuple(_stops(tuple(_gathered(site, shop)), lots_laid_out(job, site, shop))))


def squeezed_runs(site: Site, shop: Shop) -> dict[str, Problem]:
    """Run -> why it cannot be laid out: beside a support that leans too far its last baluster has no room."""
    found: dict[str, Problem] = {}
    for layout in shop.layouts:
        for section in site.sections if layout.squeezed else ():
            if section.like_row == layout.section_row:
                found.setdefault(section.run, _squeezed(section, layout))
    return found


def _squeezed(section: Section, layout: BalusterLayout) -> Problem:
    """What is wrong beside the last baluster of a rail."""
    typed, settings = section.line.measures.typed, layout.settings
    at_from = layout.end_gap <= layout.upper_end_gap
    mark, column = (typed.from_support, "lean_from") if at_from else (typed.to_support, "lean_to")
    gap = tape_text(layout.least_end_gap, settings.tape_step, settings.unit)
    where = f"between support {mark} and the baluster beside it at the {layout.rail.lower()} rail"
    remedy = "measure both clears again, and see Bracket fit; straighten or replace a support that leans so far"
    at = typed.origin.cell(column if section.line.lean.recorded else "clear_top")
    return Problem(at, f"run {section.run} leaves {gap} {where}", remedy)


def lay_out_shop(job: Job, site: Site, choices: ShopChoices) -> Shop:
    """Every takeoff row of the job with these choices."""
    shop = Shop(
        layouts=layouts_of(job, site, choices.layouts, choices.slots),
        blocks=blocks_of(job, site, choices),
        pieces=(),
    )
    return replace(shop, pieces=pieces_of(job, site, shop, choices.stops))


def _layouts(job: Job, site: Site) -> Iterator[Layout]:
    """A layout for each distinct section: one row where both rails are alike, else two."""
    plain = [
        Layout(number, rail, section.section, used_in, 0, widest_clear(section))
        for number, (_, section, used_in) in enumerate(distinct_sections(site), start=1)
        for rail in ((BOTH,) if meets_alike(section) else (TOP, BOTTOM))
    ]
    opened = _opened(job, site, plain)
    added = dict.fromkeys(opened, 0)
    for more in range(1, MOST_ADDED + 1):
        wanted = [row._replace(added=more) for row in plain if row.layout in opened]
        still = _opened(job, site, wanted)
        added |= dict.fromkeys(opened - still, more)
        opened = still
    return (row._replace(added=added.get(row.layout, 0)) for row in plain)


def _opened(job: Job, site: Site, layouts: Sequence[Layout]) -> frozenset[int]:
    """Layouts whose marks let the sphere through."""
    return frozenset(row.layout for row in layouts_of(job, site, layouts, 0) if _opens_too_far(row))


def _opens_too_far(row: BalusterLayout) -> bool:
    """Whether rounding the marks lets the sphere through."""
    return round(row.worst_gap, PLACES) >= round(row.line.guard.sphere, PLACES)


def _block_screws(job: Job) -> dict[str, BlockScrew]:
    """Mark of an assembly -> the first screw that goes up through its blocks."""
    found: dict[str, BlockScrew] = {}
    for row, typed in enumerate(job.fastenings, start=1):
        if typed.joint == BLOCK and typed.what == SCREW and typed.assembly:
            grip = HOLDS * thickness(typed, job.settings.unit)
            if grip and typed.length:
                found.setdefault(typed.assembly, BlockScrew(row, grip, typed.gauge or ""))
    return found


def _blocks(site: Site) -> Iterator[tuple[str, str, int]]:
    """Support blocks of each distinct section."""
    return ((section.section, used_in, section.blocks) for _, section, used_in in distinct_sections(site))


def _stops(gathered: Sequence[Gathered], laid_out: Callable[[Gathered, int], Lot]) -> Iterator[Stop]:
    """Lots that the saw is set alike for together, in the order of the first; one that is not measured is alone."""
    lots = [laid_out(each, 0) for each in gathered]
    named = _rails_named(gathered, lots)
    stops: dict[tuple[object, ...], list[Gathered]] = {}
    for at, (each, lot) in enumerate(zip(named, lots, strict=True)):
        asked = (each.part, each.members, each.relief, each.saw, each.planes, each.hand, lot.long_edge, *lot.set_to)
        stops.setdefault((at,) if lot.length is None else asked, []).append(each)
    return (tuple(stop) for stop in stops.values())


def _rails_named(gathered: Sequence[Gathered], lots: Sequence[Lot]) -> list[Gathered]:
    """The lots; those of two rails of a section that are the same piece are called both rails."""
    named = list(gathered)
    for at, (top, bottom) in enumerate(pairwise(lots)):
        depths = (top.assembly.top_rail_depth, top.assembly.bottom_rail_depth)
        is_pair = (top.part, bottom.part) == (TOP_RAIL, BOTTOM_RAIL) and depths[0] == depths[1]
        alike = top.set_to == bottom.set_to and top.long_edge == bottom.long_edge
        if is_pair and alike and top.long_edge in ("", *SIDES):
            named[at], named[at + 1] = (each._replace(part=BOTH_RAILS) for each in gathered[at : at + 2])
    return named


def _gathered(site: Site, shop: Shop) -> Iterator[Gathered]:
    """Lots of equal pieces: posts, then rails, balusters and blocks of each distinct section, then caps."""
    yield from _posts(site)
    firsts = {row.section.section: number for number, row in reversed(list(enumerate(shop.layouts, start=1)))}
    blocks = _first_rows(shop.blocks)
    for row, section, used_in in distinct_sections(site):
        yield from _rails(row, section, used_in)
        yield Gathered(
            "Baluster", used_in, "baluster_item", "lines", section.line_row,
            "baluster_length", "baluster_tip", "baluster_angle", "baluster_angle",
            "count", "sections", row, section.line_row, 0, TURN if section.line.guard.baluster_angle else "",
            counts="baluster_layout", counts_row=firsts[section.section],
        )  # fmt: skip
        yield from _block_pieces(row, section, used_in, blocks.get(section.section, ()))
        if section.assembly.post_proud is not None and section.assembly.cap_thickness:
            yield _cap_between(row, section, used_in)
    for row, cap in enumerate(site.caps, start=1):
        assembly = cap.line.measures.assembly
        if assembly.cap_thickness and assembly.post_proud is None and cap.is_laid_out:
            saw, planes = _saw(cap)
            yield Gathered(
                "Cap board", cap.run, "cap_item", "caps", row,
                "edge" if cap.is_cut_twice else "long_point", "long_point", "from_cut", "to_cut",
                "1", "caps", row, cap.line_row, 0, saw, planes, hand=cap.run if cap.line.sections > 1 else "",
                low_tilt="from_tilt" if cap.is_compound else "", high_tilt="to_tilt" if cap.is_compound else "",
            )  # fmt: skip
    for row, rail in enumerate(site.handrails, start=1):
        yield from _handrail_pieces(row, rail)


def _handrail_pieces(row: int, rail: Handrail) -> Iterator[Gathered]:
    """A handrail, its level end and its returns: a return turns the saw, the bend before a level end tilts it.

    What is cut in two planes has a hand, which only the wall tells: it shares no stop with another run.
    """
    away = f"{TURN}, long point away from wall"
    top = f"{TILT}, top long"
    both = f"lower: {away}; upper: {top}", 2

    def piece(part: str, size: str, lower: str, upper: str, each: str, saw: tuple[str, int]) -> Gathered:
        ends = (size, size, lower, upper, each)
        hand = rail.run if saw[1] > 1 else ""
        return Gathered(
            part, rail.run, "handrail_item", "handrails", row, *ends, "handrails", row, 0, 0, *saw, hand=hand
        )

    plain = (away, 1) if rail.returns else ("", 1)
    bent = both if rail.returns else (top, 1)
    yield piece("Handrail", "rail_exact", "lower_cut", "upper_cut", "1", bent if rail.past_top else plain)
    if rail.past_top:
        saw = (f"lower: {top}; upper: {away}", 2) if rail.returns else (top, 1)
        yield piece("Handrail, level end", "past_top", "level_cut", "return_cut", "1", saw)
    if rail.returns:
        yield piece("Handrail return", "return_length", "return_cut", "square_cut", "returns", (away, 1))


def _saw(cap: Cap) -> tuple[str, int]:
    """How the ends of a cap are sawn, and in how many planes: corners turn the saw, bends and plumb cuts tilt it."""
    left, right = _way(cap.from_end), _way(cap.to_end)
    planes = 2 if cap.is_compound else len({way.partition(",")[0] for way in (left, right) if way}) or 1
    if left == right or not right:
        return left, planes
    return right if not left else f"left: {left}; right: {right}", planes


def _way(end: CapEnd) -> str:
    """How one end is sawn; nothing when it is square."""
    if end.is_askew:
        long = _long_side(end.arrival.side, is_lower=end.arrival.is_from)
        return f"{TURN} and {TILT}, {long} long" if tilts_saw(end) else f"{TURN}, {long} long"
    if end.kind == AT_WALL and end.cut:
        return f"{TILT}, plumb at the wall"
    if end.kind in (DIES, STEP, PROUD, CUT_OFF) and end.cut:
        return f"{TILT}, plumb at the post"
    if turns_saw(end):
        return f"{TURN}, long point outside the bend" if end.kind in MITRED else f"{TURN}, to the other cap's edge"
    if tilts_saw(end) and (end.is_bend or end.kind in AT_EDGES):
        top = end.upper if end.is_bend else not end.arrival.is_from
        return f"{TILT}, {'top' if top else 'underside'} long"
    return ""


def _first_rows(blocks: Sequence[Block]) -> dict[str, tuple[int, ...]]:
    """Section -> rows of its blocks."""
    rows: dict[str, tuple[int, ...]] = {}
    for row, block in enumerate(blocks, start=1):
        rows[block.section] = (*rows.get(block.section, ()), row)
    return rows


def _posts(site: Site) -> Iterator[Gathered]:
    """Posts and sleeves that are cut, gathered where they are cut alike."""
    for row, post, where in distinct(site.posts, lambda post: post.post):
        members = ("posts", row, post.line_row)
        saw = "" if post.stands == ON_LEVEL and not post.foot_angle else TURN
        saw = f"{TURN}; across as on Post schedule" if post.across_angle else saw
        if post.post_length is not None and post.rough:
            sizes = ("rough_length", "rough_length", "foot_angle", "rough_top", "cut")
            yield Gathered("Post", where, "post_item", "posts", row, *sizes, *members, saw=_rough_saw(post))
        elif post.post_length is not None:
            sizes = ("post_length", "rough_length", "foot_angle", "top_angle", "cut")
            yield Gathered("Post", where, "post_item", "posts", row, *sizes, *members, saw=saw, hand=post.top)
        if post.sleeve_length is not None:
            sizes = ("sleeve_length", "sleeve_tip", "foot_angle", "top_angle", "sleeved")
            yield Gathered("Sleeve", where, "sleeve_item", "posts", row, *sizes, *members, saw=saw, hand=post.top)


def _rough_saw(post: Post) -> str:
    """How a rough post is sawn: its top square, whatever it is trimmed to; on a ramp its foot turns the saw."""
    return f"foot: {TURN}; {ROUGH}" if post.stands == ON_RAMP else ROUGH


def _rail_saw(section: Section) -> str:
    """How the ends of rails are sawn: square between plumb posts on the level."""
    return TURN if section.lower_cut or section.upper_cut else ""


def _by_hand(saw: str, section: Section) -> str:
    """How a piece is sawn, and at which posts it is to be measured instead."""
    measured = f"by hand at {', '.join(section.askew_at)}: {NO_STOP}"
    return "; ".join(filter(None, (saw, measured)))


def _rails(row: int, section: Section, used_in: str) -> Iterator[Gathered]:
    """Top and bottom rail of a distinct section; one that ends askew is measured along the longer of its sides."""
    relief = int(section.line.kind != LEVEL)
    size, other = ("long", "short") if section.is_askew else ("edge", "other")
    saw, planes = (_askew_saw(section), 2) if section.is_askew else (_rail_saw(section), 1)
    for part, name in ((TOP_RAIL, "top"), (BOTTOM_RAIL, "bottom")):
        yield Gathered(
            part, used_in, f"{name}_rail_item", "sections", row,
            f"{name}_{size}", f"{name}_tip", "lower_cut", "upper_cut", "1", "sections", row, section.line_row, relief,
            _by_hand(saw, section) if section.is_splayed else saw, planes, other=f"{name}_{other}",
            low_tilt="lower_tilt" if section.is_compound else "",
            high_tilt="upper_tilt" if section.is_compound else "",
        )  # fmt: skip


def _cap_between(row: int, section: Section, used_in: str) -> Gathered:
    """Cap board of a distinct section between posts that stand proud."""
    size, other = ("long", "short") if section.is_askew else ("edge", "other")
    saw = TILT if _rail_saw(section) else ""
    if section.is_askew and not section.is_compound:
        saw = _askew_saw(section)
    return Gathered(
        "Cap board", used_in, "cap_item", "sections", row,
        f"cap_{size}", "cap_tip", "lower_cut", "upper_cut", "1", "sections", row, section.line_row, 0,
        _by_hand(saw, section) if section.is_splayed or section.is_compound else saw, 1 + section.is_askew,
        other=f"cap_{other}",
    )  # fmt: skip


def _long_side(side: int, *, is_lower: bool) -> str:
    """Which side of a board is the longer one at an end that is askew to that side."""
    return WALKING if (side > 0) != is_lower else FAR


def _askew_saw(section: Section) -> str:
    """How rails are sawn of which an end is askew: level ones turned on their underside, raked ones on their side."""
    plain = _rail_saw(section) if section.is_compound else ""
    turned = f"{TURN} and {TILT}" if section.is_compound else TURN
    sides = (section.lower_side, True), (section.upper_side, False)
    low, high = (f"{turned}, {_long_side(side, is_lower=lower)} long" if side else plain for side, lower in sides)
    lying = "on its side: " if section.is_compound else ""
    if low == high:
        return lying + low
    return lying + "; ".join(f"{end}: {way}" for end, way in (("lower", low), ("upper", high)) if way)


def _block_pieces(row: int, section: Section, used_in: str, rows: Sequence[int]) -> Iterator[Gathered]:
    """Support blocks: alike on the level and on ramps, each its own on stairs."""
    ends = ("long_side", "tip", "foot_angle", "top_angle")
    saw = "" if section.line.kind == LEVEL else f"{TURN}, across width"
    alike = bool(rows) and section.line.kind != STAIR
    for number in rows[:1] if alike else rows:
        each = str(len(rows)) if alike else "1"
        yield Gathered(
            "Block", used_in, "block_item", "blocks", number, *ends, each, "sections", row, section.line_row, saw=saw
        )
