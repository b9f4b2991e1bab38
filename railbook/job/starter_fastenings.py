"""What a blank form says of the fasteners of its three starting assemblies.

Common practice, no source, but for posts beside the frame: IRC 2021 R507.10 asks that guard posts are
carried into the framing, and bolts alone failed in tests (Virginia Tech, published 2005: two 1/2 in bolts
through the band held 237 lb on average against a criterion of 500 lb). A wood screw should reach six of its
diameters into what holds it, and stop 1/4 in (6 mm) short of a face that a hand meets; its pilot hole is no
wider than its core; a bolt's hole is 1/16 in (1 mm) wider than the bolt (NDS, from memory). Millimetre rows
are sizes of their own, not converted.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.job.assemblies import INSIDE_RIM, ON_CONCRETE, ON_FASCIA, ON_STRINGER, ON_SURFACE
from railbook.job.fastenings import (
    ANCHOR,
    BALUSTER_END,
    BLOCK,
    BLOCKING,
    BOLT,
    BRACKET,
    CAP_TO_POST,
    CAP_TO_RAIL,
    CONNECTOR,
    HANDRAIL_BRACKET,
    HOLD_DOWN,
    RAIL_END,
    RAIL_TO_POST,
    RAIL_TO_WALL,
    SCREW,
    STOPPED,
    THROUGH,
    Fastening,
    post_joint,
)
from railbook.job.prices import EACH, PACK, Price

CHECK = "check with the maker"
SQUARE_2, STAR_25, STAR_30 = "square #2", "star 25", "star 30"


class Driven(NamedTuple):
    """One thing that is driven or bolted: what it is bought as, its length and its gauge."""

    item: str
    length: float
    gauge: str


@dataclass(frozen=True)
class Sizes:
    """Items and bits of one unit; lengths in that unit.

    Attributes:
        long_bolt: of posts outside the rim, where the fascia board stands between.
        wood_bit: pilot narrower than the core of the screws that wood holds; `fine_bit` for slender pieces.
        maker_bit: the wider pilot that makers of composite parts ask for.
        bolt_bit: clears the bolt; `anchor_bit` is as wide as the anchor.
    """

    bolt: Driven
    long_bolt: Driven
    blocking: str
    blocking_screw: Driven
    post_anchor: Driven
    wall_anchor: Driven
    rail_screw: Driven
    block_screw: Driven
    cap_screw: Driven
    flat_cap_screw: Driven
    baluster_screw: Driven
    connector_screw: Driven
    bracket_screw: Driven
    base_screw: Driven
    socket: str
    wood_bit: float
    fine_bit: float
    maker_bit: float
    sleeve_bit: float
    bolt_bit: float
    anchor_bit: float
    head_bit: float
    baluster_bit: float
    shallow: float
    deep: float
    let_in: float
    cap_spacing: float
    edge: str
    slant: str
    stagger: str


SIZES = {
    INCH: Sizes(
        bolt=Driven("1/2 X 6 BOLT", 6.0, "1/2"), long_bolt=Driven("1/2 X 7 BOLT", 7.0, "1/2"),
        blocking="2X8 BLOCKING", blocking_screw=Driven("1/4 X 3 1/2 SCREW", 3.5, "1/4"),
        post_anchor=Driven("1/2 X 4 ANCHOR", 4.0, "1/2"), wall_anchor=Driven("1/4 X 3 ANCHOR", 3.0, "1/4"),
        rail_screw=Driven("#8 X 3 SCREW", 3.0, "#8"), block_screw=Driven("#8 X 3 SCREW", 3.0, "#8"),
        cap_screw=Driven("#8 X 2 1/2 SCREW", 2.5, "#8"), flat_cap_screw=Driven("#8 X 2 SCREW", 2.0, "#8"),
        baluster_screw=Driven("#8 X 2 SCREW", 2.0, "#8"), connector_screw=Driven("#8 X 1 1/4 SCREW", 1.25, "#8"),
        bracket_screw=Driven("#8 X 1 1/4 SCREW", 1.25, "#8"), base_screw=Driven("1/4 X 3 SCREW", 3.0, "1/4"),
        socket="socket 3/4 in", wood_bit=7 / 64, fine_bit=3 / 32, maker_bit=9 / 64, sleeve_bit=3 / 16,
        bolt_bit=9 / 16, anchor_bit=1 / 2, head_bit=1 / 2, baluster_bit=3 / 4, shallow=3 / 4, deep=1.0,
        let_in=1 / 2, cap_spacing=24.0, edge="1-1/2 in", slant="1 in", stagger="1/2 in",
    ),
    MILLIMETRE: Sizes(
        bolt=Driven("M12 X 160 BOLT", 160.0, "M12"), long_bolt=Driven("M12 X 180 BOLT", 180.0, "M12"),
        blocking="45X195 BLOCKING", blocking_screw=Driven("6 X 90 SCREW", 90.0, "6"),
        post_anchor=Driven("M12 X 100 ANCHOR", 100.0, "M12"), wall_anchor=Driven("M6 X 75 ANCHOR", 75.0, "M6"),
        rail_screw=Driven("4.5 X 75 SCREW", 75.0, "4.5"), block_screw=Driven("4.5 X 80 SCREW", 80.0, "4.5"),
        cap_screw=Driven("4.5 X 60 SCREW", 60.0, "4.5"), flat_cap_screw=Driven("4 X 50 SCREW", 50.0, "4"),
        baluster_screw=Driven("4.5 X 60 SCREW", 60.0, "4.5"), connector_screw=Driven("4 X 30 SCREW", 30.0, "4"),
        bracket_screw=Driven("4 X 30 SCREW", 30.0, "4"), base_screw=Driven("6 X 80 SCREW", 80.0, "6"),
        socket="socket 19 mm", wood_bit=2.5, fine_bit=2.5, maker_bit=3.5, sleeve_bit=5.0,
        bolt_bit=13.0, anchor_bit=12.0, head_bit=13.0, baluster_bit=20.0, shallow=20.0, deep=25.0,
        let_in=12.0, cap_spacing=600.0, edge="40 mm", slant="25 mm", stagger="12 mm",
    ),
}  # fmt: skip


def fastenings(unit: str) -> tuple[Fastening, ...]:
    """Rows for the three starting assemblies in the job's unit.

    >>> {row.assembly for row in fastenings("in")} == {"WOOD", "COMPOSITE", "METAL"}
    True
    >>> fastenings("mm")[0].item
    'M12 X 160 BOLT'
    """
    sizes = SIZES[unit]
    own = {"WOOD": _wood, "COMPOSITE": _composite, "METAL": _metal}
    return tuple(
        replace(row, assembly=assembly)
        for assembly, rows in own.items()
        for row in (*_posts(sizes), *rows(sizes), *_everywhere(sizes))
    )


def prices(unit: str) -> tuple[Price, ...]:
    """The items of those rows without prices: what is driven comes in packs, the rest singly.

    >>> [price.pack_of for price in prices("in") if price.item == "#8 X 3 SCREW"]
    [100]
    """
    whats = {row.item: row.what for row in fastenings(unit)}
    return tuple(
        Price(item=item, sold_as=PACK, pack_of=100) if what == SCREW else Price(item=item, sold_as=EACH)
        for item, what in whats.items()
    )


def _row(
    joint: str, what: str, item: str | Driven, per_joint: int, note: str = "", **drilled: float | str
) -> Fastening:
    """One row; its assembly is filled in by who lists it."""
    notes = f"{note}; {CHECK}" if note else CHECK
    row = Fastening(joint=joint, what=what, per_joint=per_joint, notes=notes)
    if isinstance(item, Driven):
        return replace(row, **item._asdict(), **drilled)  # type: ignore[arg-type] # each word with the type of its column
    return replace(row, item=item, **drilled)  # type: ignore[arg-type]


def _posts(sizes: Sizes) -> Iterator[Fastening]:
    """Posts, by mount."""
    for mount, bolt in ((INSIDE_RIM, sizes.bolt), (ON_FASCIA, sizes.long_bolt)):
        joint = post_joint(mount)
        yield _row(joint, BOLT, bolt, 2, "with washers; never through the rim alone",
                   pilot_bit=sizes.bolt_bit, hole=THROUGH, driver=sizes.socket)  # fmt: skip
        yield _row(joint, HOLD_DOWN, "HOLD-DOWN", 1,
                   "at the upper bolt, into the framing: its report carries the pull told on Warnings")  # fmt: skip
        yield _row(joint, BLOCKING, sizes.blocking, 2, "between the joists, both sides of the post")
        yield _row(joint, SCREW, sizes.blocking_screw, 8, "four for each block", driver=STAR_30)
    stringer = post_joint(ON_STRINGER)
    yield _row(stringer, BOLT, sizes.bolt, 2, "with washers", pilot_bit=sizes.bolt_bit, hole=THROUGH,
               driver=sizes.socket)  # fmt: skip
    surface, concrete = post_joint(ON_SURFACE), post_joint(ON_CONCRETE)
    yield _row(surface, BRACKET, "POST BASE", 1, "one made for guard posts, on blocking")
    yield _row(surface, SCREW, sizes.base_screw, 4, "as many as the base has holes", driver=STAR_30)
    yield _row(concrete, BRACKET, "POST BASE", 1, "one made for guard posts")
    yield _row(concrete, ANCHOR, sizes.post_anchor, 4, "masonry bit", pilot_bit=sizes.anchor_bit,
               pilot_depth=sizes.post_anchor.length, hole=STOPPED, driver=sizes.socket)  # fmt: skip


def _drilled(bit: float, depth: float) -> dict[str, float | str]:
    """A pilot that stops in the wood, for a screw of the usual driver."""
    return {"pilot_bit": bit, "pilot_depth": depth, "hole": STOPPED, "driver": SQUARE_2}


def _wood(sizes: Sizes) -> Iterator[Fastening]:
    """Rails and balusters screwed at a slant."""
    yield _row(BALUSTER_END, SCREW, sizes.baluster_screw, 2,
               "at a slant of 30 degrees from along the baluster, half its width from its end, one from each side, "
               "staggered", **_drilled(sizes.fine_bit, sizes.deep))  # fmt: skip
    yield _row(RAIL_TO_POST, SCREW, sizes.rail_screw, 2,
               f"at a slant of 30 degrees, {sizes.slant} from the end of the rail, one from each face, "
               f"staggered by {sizes.stagger}", **_drilled(sizes.wood_bit, sizes.deep))  # fmt: skip
    yield _cap_to_rail(sizes.cap_screw, sizes.wood_bit, sizes)


def _composite(sizes: Sizes) -> Iterator[Fastening]:
    """Connectors, brackets and sleeves."""
    yield _row(BALUSTER_END, CONNECTOR, "BALUSTER CONNECTOR", 1)
    yield _row(BALUSTER_END, SCREW, sizes.connector_screw, 1, "through the connector",
               **_drilled(sizes.maker_bit, sizes.deep))  # fmt: skip
    yield from _brackets(sizes, sizes.maker_bit)
    yield _row(RAIL_TO_POST, SCREW, sizes.rail_screw, 2, "hole through the sleeve only", driver=SQUARE_2,
               pilot_bit=sizes.sleeve_bit, hole=THROUGH)  # fmt: skip
    yield _cap_to_rail(sizes.flat_cap_screw, sizes.maker_bit, sizes)


def _metal(sizes: Sizes) -> Iterator[Fastening]:
    """Balusters let into wood rails on brackets."""
    yield _row(BALUSTER_END, CONNECTOR, "BALUSTER BUSHING", 1, "the hole lets the baluster in",
               pilot_bit=sizes.baluster_bit, pilot_depth=sizes.let_in, hole=STOPPED)  # fmt: skip
    yield from _brackets(sizes, sizes.wood_bit)
    yield _row(RAIL_TO_POST, SCREW, sizes.rail_screw, 2, "through the bracket",
               **_drilled(sizes.wood_bit, sizes.deep))  # fmt: skip
    yield _cap_to_rail(sizes.flat_cap_screw, sizes.wood_bit, sizes)


def _cap_to_rail(screw: Driven, bit: float, sizes: Sizes) -> Fastening:
    """Down through the cap: the point stays inside the rail, where a hand closes round it."""
    return _row(CAP_TO_RAIL, SCREW, screw, 1, "on the middle of the rail", spacing=sizes.cap_spacing,
                **_drilled(bit, sizes.deep))  # fmt: skip


def _brackets(sizes: Sizes, bit: float) -> Iterator[Fastening]:
    """A bracket at each rail end, and its screws into the rail."""
    yield _row(RAIL_END, BRACKET, "RAIL BRACKET", 1)
    yield _row(RAIL_END, SCREW, sizes.bracket_screw, 2, "from the bracket into the rail",
               **_drilled(bit, sizes.shallow))  # fmt: skip


def _everywhere(sizes: Sizes) -> Iterator[Fastening]:
    """What the three have in common."""
    yield _row(RAIL_TO_WALL, ANCHOR, sizes.wall_anchor, 2, "into studs or masonry", driver=STAR_25)
    yield _row(BLOCK, SCREW, sizes.block_screw, 1, "up through the block into the rail, on the bench; on stairs "
               "the wider hole is as deep as Support blocks says", driver=SQUARE_2, hole=THROUGH,
               pilot_bit=sizes.sleeve_bit, counterbore_bit=sizes.head_bit, counterbore_depth=sizes.deep)  # fmt: skip
    yield _row(CAP_TO_POST, SCREW, sizes.rail_screw, 2, f"{sizes.edge} from the edge",
               **_drilled(sizes.wood_bit, sizes.deep))  # fmt: skip
    yield _row(HANDRAIL_BRACKET, BRACKET, "HANDRAIL BRACKET", 1)
    yield _row(HANDRAIL_BRACKET, SCREW, sizes.base_screw, 2, "into studs or blocking", driver=STAR_30)
    yield _row(HANDRAIL_BRACKET, SCREW, sizes.bracket_screw, 2, "from below into the rail, if none come with it",
               **_drilled(sizes.wood_bit, sizes.shallow))  # fmt: skip
