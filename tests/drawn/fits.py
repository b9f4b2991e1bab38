"""Checks of what stands between the posts: rail ends, balusters, blocks.

What is allowed is a hair, and half a step of the tape for each rounded figure that takes part.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

from railbook.job.runs import LEVEL, MEETS, STAIR, Run
from railbook.job.supports import LOWER, RAISE
from tests.drawn.bays import Bay, ends_of
from tests.drawn.boards import Block, Rail, balusters_of, blocks_of, fit_of, out_of, parts_of, rail_of
from tests.drawn.finding import Finding
from tests.drawn.ground import past_the_corner
from tests.drawn.reading import BALUSTER, BOTH, BOTTOM, BOTTOM_RAIL, CAP, TOP, TOP_RAIL, Marked, Reading
from tests.drawn.solids import degrees_between
from tests.drawn.witness import Drawn

SAME_ANGLE = 0.1  # closer than a saw is set [degrees]


def rail_ends(drawn: Drawn) -> Iterator[Finding]:
    """Both ends of every rail: at their fit from the face, over the whole depth, and cut as the face stands."""
    for bay in drawn.bays:
        for part in parts_of(bay):
            rail = rail_of(drawn.reading, bay, part)
            if rail is None:
                yield Finding("rail end", (bay.section,), 0.0, f"no {part.lower()} on the cut list")
                continue
            yield from _gaps(drawn, rail)
            yield from _end_cuts(rail)
            yield from _on_its_post(drawn, rail)


def _gaps(drawn: Drawn, rail: Rail) -> Iterator[Finding]:
    """Gaps at the four corners; at the upper end the length and the posts of the schedule were rounded."""
    reading, bay = drawn.reading, rail.bay
    wanted, turned = fit_of(reading, bay, rail.part), math.tan(math.radians(bay.stack.spread))
    for end, face, way, rounded in (("lower", bay.low, 1, 0), ("upper", bay.high, -1, 1 + bay.rounded)):
        corners = rail.corners(upper=way < 0)
        off = max((way * (x - face.at(z, y)) - wanted for x, y, z in corners), key=abs)
        deep = max(z for _, _, z in corners) - min(z for _, _, z in corners)
        if abs(off) > reading.hair + rounded * reading.step / 2 + deep * turned:
            yield Finding("rail end", (f"{rail.part} {bay.section}", end), off, "its gap is not its fit")


def _end_cuts(rail: Rail) -> Iterator[Finding]:
    """Both cuts against the faces."""
    for end, face, slant in zip(("lower", "upper"), (rail.bay.low, rail.bay.high), rail.slants, strict=True):
        off = degrees_between(out_of(slant, rail.bay.stack.tangent), face.normal)
        if off > SAME_ANGLE + rail.bay.stack.spread:
            yield Finding("rail end", (f"{rail.part} {rail.bay.section}", end), off, "degrees off the face")


def _on_its_post(drawn: Drawn, rail: Rail) -> Iterator[Finding]:
    """Both corners of each end lie on a face, not beyond the corner of its post; ears of a cap may."""
    stretch, marks = rail.bay.stretch, ends_of(rail.bay)
    for upper, stand in enumerate((stretch.low, stretch.high)):
        if rail.part == CAP or stand.mark != marks[upper] or not stand.width:
            continue
        leaving = -stretch.frame.ahead if upper else stretch.frame.ahead
        beyond = past_the_corner(leaving, stretch.faces[upper], stand.width, rail.width)
        if beyond > drawn.reading.hair:
            where = (f"{rail.part} {rail.bay.section}", stand.mark)
            yield Finding("rail end", where, beyond, "past the corner of its post")


def balusters(drawn: Drawn) -> Iterator[Finding]:
    """Every baluster plumb by its two marks, every opening under the limit and as wide as the layout says."""
    for bay in drawn.bays:
        rows = [drawn.reading.layout(rail, bay.section) for rail in (BOTTOM, TOP)]
        if rows[0] is None or rows[1] is None or len(rows[0].marks) != len(rows[1].marks):
            yield Finding("balusters", (bay.section,), 0.0, "no marks, or not alike on both rails")
            continue
        yield from _plumb(drawn, bay)
        yield from _openings(drawn, bay)
        for row, part in zip(rows, (BOTTOM_RAIL, TOP_RAIL), strict=True):
            yield from _marked_rail(drawn, bay, row, part)
        yield from _baluster_cuts(drawn, bay)


def _plumb(drawn: Drawn, bay: Bay) -> Iterator[Finding]:
    """Marks of the two rails over each other."""
    for number, each in enumerate(balusters_of(drawn.reading, bay), start=1):
        off = each.top - each.bottom
        if abs(off) > drawn.reading.hair + drawn.reading.step:
            yield Finding("balusters", (bay.section, f"no. {number}"), off, "its marks are not plumb")


def openings(drawn: Drawn, bay: Bay, *, top: bool) -> list[float]:
    """Level openings from post to post where the balusters meet one of the rails."""
    assembly, stack = bay.stretch.taped.assembly, bay.stack
    width = assembly.baluster_least_width or assembly.baluster_width or 0.0
    line = stack.top_under if top else stack.bottom_over
    middles = [each.top if top else each.bottom for each in balusters_of(drawn.reading, bay)]
    edges = [bay.low.on(line, stack.tangent)]
    for middle in middles:
        edges += [middle - width / 2, middle + width / 2]
    edges.append(bay.high.on(line, stack.tangent))
    return [right - left for left, right in pairwise(edges)][::2]


def _openings(drawn: Drawn, bay: Bay) -> Iterator[Finding]:
    """Openings against the sphere, and against the gap of the layout."""
    reading, assembly = drawn.reading, bay.stretch.taped.assembly
    limit, rounded = reading.sphere(bay.stretch.run), bay.rounded * reading.step / 2
    for rail, top in ((BOTTOM, False), (TOP, True)):
        found, row = openings(drawn, bay, top=top), reading.layout(rail, bay.section)
        if max(found) >= limit + rounded:
            yield Finding("balusters", (bay.section, rail), max(found), "an opening lets the sphere through")
        if row is None or len(found) < 2:
            continue
        even = row.rail == BOTH and assembly.baluster_pitch is None
        for number, opening in enumerate(found):
            is_end = number in (0, len(found) - 1)
            off, allowed = opening - row.gap, reading.hair + reading.step + (rounded if is_end else 0.0)
            if (even or not is_end) and abs(off) > allowed:
                yield Finding("balusters", (bay.section, f"opening {number}", rail), off, "not as wide as the layout")


def _marked_rail(drawn: Drawn, bay: Bay, row: Marked | None, part: str) -> Iterator[Finding]:
    """The rail that the marks were made for is the one on the cut list, by its edge on the walking side, and its last
    mark leaves what is said."""
    rail = rail_of(drawn.reading, bay, part)
    if row is None or rail is None:
        return
    last = row.marks[-1] if row.marks else 0.0
    for off, says in (
        (row.rail_length - rail.sides[1], "laid out on a rail of another length"),
        (row.rail_length - last - row.after_last, "the last mark leaves another length"),
    ):
        if abs(off) > drawn.reading.hair:
            yield Finding("balusters", (bay.section, part), off, says)


def _baluster_cuts(drawn: Drawn, bay: Bay) -> Iterator[Finding]:
    """Balusters are cut square, or as the rails run."""
    sawn, slope = drawn.reading.piece(BALUSTER, bay.section), bay.stretch.taped.angle
    cuts = () if sawn is None else (sawn.lower_cut, sawn.upper_cut)
    for cut in cuts:
        off = cut - slope
        if abs(off) > SAME_ANGLE and any(cuts):
            yield Finding("balusters", (bay.section,), off, "degrees off the rails")


def guard_heights(drawn: Drawn) -> Iterator[Finding]:
    """The top of every cap over the surface or the nosings, where the assembly says how high that is."""
    for bay in drawn.bays:
        assembly, run = bay.stretch.taped.assembly, bay.stretch.run
        typed = assembly.stair_height if run.kind == STAIR else assembly.level_height
        bought = assembly.baluster_level_length if run.kind == LEVEL else assembly.baluster_stair_length
        meets = (run.kind != LEVEL and run.height == MEETS) or _is_moved(drawn.reading, run)
        if typed is None or bought is not None or meets:
            continue
        off = bay.stack.cap_over - bay.stretch.taped.floor - typed
        if abs(off) > drawn.reading.hair + drawn.reading.step / 2:
            yield Finding("guard height", (bay.section,), off, "not as high as its assembly says")


def _is_moved(reading: Reading, run: Run) -> bool:
    """Whether one of its supports may raise or lower it."""
    typed = [reading.supports.get(mark or "") for mark in (run.from_support, run.to_support)]
    return any(support is not None and support.heights in (RAISE, LOWER) for support in typed)


def block_fits(drawn: Drawn) -> Iterator[Finding]:
    """Every block touches the rail over it with its whole top, and stands on one tread."""
    for bay in drawn.bays:
        for block in blocks_of(drawn.reading, bay):
            where, stack = (bay.section, f"no. {block.row.number}"), bay.stack
            off = max((z - stack.bottom_under - x * stack.tangent for x, z in block.top), key=abs)
            if abs(off) > drawn.reading.hair + drawn.reading.step:
                yield Finding("block", where, off, "does not meet the rail")
            turned = block.row.top_angle - bay.stretch.taped.angle
            if abs(turned) > SAME_ANGLE:
                yield Finding("block", where, turned, "degrees off the rail")
            off = _past_its_tread(block)
            if off > drawn.reading.hair + drawn.reading.step:
                yield Finding("block", where, off, "its foot stands past its tread")


def _past_its_tread(block: Block) -> float:
    """How far its foot stands out of the tread that it is told to stand on."""
    measures, number = block.bay.stretch.taped, block.row.tread_number
    if measures.run.kind != STAIR or number is None:
        return 0.0
    bounds = (-math.inf, *measures.nosings, math.inf)
    (left, _), (right, _) = block.foot
    return max(bounds[number] - left, right - bounds[number + 1])
