"""What a blank form says of the fasteners of its three starting assemblies.

Common practice, no source, but for posts beside the frame: IRC 2021 R507.10 asks that guard posts are
carried into the framing, and bolts alone failed in tests (Virginia Tech, published 2005: two 1/2 in bolts
through the band held 237 lb on average against a criterion of 500 lb); two 1/2 in bolts with a hold-down
of 1,800 lb are the detail of DCA 6, from memory. Millimetre rows are sizes of their own, not converted.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

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


@dataclass(frozen=True)
class Sizes:
    """Items and bits of one unit; lengths in that unit."""

    bolt: str
    blocking: str
    blocking_screw: str
    post_anchor: str
    wall_anchor: str
    rail_screw: str
    block_screw: str
    baluster_screw: str
    bracket_screw: str
    connector_screw: str
    base_screw: str
    socket: str
    small_bit: float
    sleeve_bit: float
    bolt_bit: float
    head_bit: float
    baluster_bit: float
    shallow: float
    deep: float
    let_in: float
    anchor_deep: float
    cap_spacing: float
    edge: str


SIZES = {
    INCH: Sizes(
        bolt="1/2 X 6 BOLT", blocking="2X8 BLOCKING", blocking_screw="1/4 X 3 1/2 SCREW",
        post_anchor="1/2 X 4 ANCHOR", wall_anchor="1/4 X 3 ANCHOR", rail_screw="#8 X 3 SCREW",
        block_screw="#8 X 3 1/2 SCREW", baluster_screw="#8 X 2 SCREW", bracket_screw="#8 X 3/4 SCREW",
        connector_screw="#8 X 1 1/4 SCREW", base_screw="1/4 X 3 SCREW", socket="socket 3/4 in",
        small_bit=9 / 64, sleeve_bit=3 / 16, bolt_bit=1 / 2, head_bit=1 / 2, baluster_bit=3 / 4,
        shallow=3 / 4, deep=1.0, let_in=1 / 2, anchor_deep=4.0, cap_spacing=24.0, edge="1-1/2 in",
    ),
    MILLIMETRE: Sizes(
        bolt="M12 X 160 BOLT", blocking="45X195 BLOCKING", blocking_screw="6 X 90 SCREW",
        post_anchor="M12 X 100 ANCHOR", wall_anchor="M6 X 75 ANCHOR", rail_screw="4.5 X 75 SCREW",
        block_screw="4.5 X 90 SCREW", baluster_screw="4.5 X 50 SCREW", bracket_screw="4 X 20 SCREW",
        connector_screw="4.5 X 30 SCREW", base_screw="6 X 80 SCREW", socket="socket 19 mm",
        small_bit=3.5, sleeve_bit=5.0, bolt_bit=12.0, head_bit=13.0, baluster_bit=20.0,
        shallow=20.0, deep=25.0, let_in=12.0, anchor_deep=100.0, cap_spacing=600.0, edge="40 mm",
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


def _row(joint: str, what: str, item: str, per_joint: int, note: str = "", **drilled: float | str) -> Fastening:
    """One row; its assembly is filled in by who lists it."""
    notes = f"{note}; {CHECK}" if note else CHECK
    row = Fastening(joint=joint, what=what, item=item, per_joint=per_joint, notes=notes)
    return replace(row, **drilled)  # type: ignore[arg-type] # each word with the type of its column


def _posts(sizes: Sizes) -> Iterator[Fastening]:
    """Posts, by mount."""
    for mount in (INSIDE_RIM, ON_FASCIA):
        joint = post_joint(mount)
        yield _row(joint, BOLT, sizes.bolt, 2, "with washers; never through the rim alone",
                   pilot_bit=sizes.bolt_bit, hole=THROUGH, driver=sizes.socket)  # fmt: skip
        yield _row(joint, HOLD_DOWN, "HOLD-DOWN", 1, "to the upper bolt, 1,800 lb, into the framing")
        yield _row(joint, BLOCKING, sizes.blocking, 2, "between the joists, both sides of the post")
        yield _row(joint, SCREW, sizes.blocking_screw, 8, "four for each block", driver=STAR_30)
    stringer = post_joint(ON_STRINGER)
    yield _row(stringer, BOLT, sizes.bolt, 2, "with washers", pilot_bit=sizes.bolt_bit, hole=THROUGH,
               driver=sizes.socket)  # fmt: skip
    surface, concrete = post_joint(ON_SURFACE), post_joint(ON_CONCRETE)
    yield _row(surface, BRACKET, "POST BASE", 1, "one made for guard posts, on blocking")
    yield _row(surface, SCREW, sizes.base_screw, 4, "as many as the base has holes", driver=STAR_30)
    yield _row(concrete, BRACKET, "POST BASE", 1, "one made for guard posts")
    yield _row(concrete, ANCHOR, sizes.post_anchor, 4, "masonry bit", pilot_bit=sizes.bolt_bit,
               pilot_depth=sizes.anchor_deep, hole=STOPPED, driver=sizes.socket)  # fmt: skip


def _wood(sizes: Sizes) -> Iterator[Fastening]:
    """Rails and balusters screwed at a slant."""
    pilot: dict[str, float | str] = {"pilot_bit": sizes.small_bit, "pilot_depth": sizes.deep, "hole": STOPPED}
    yield _row(BALUSTER_END, SCREW, sizes.baluster_screw, 2, "at a slant", driver=SQUARE_2, **pilot)
    yield _row(RAIL_TO_POST, SCREW, sizes.rail_screw, 2, "at a slant", driver=SQUARE_2, **pilot)


def _composite(sizes: Sizes) -> Iterator[Fastening]:
    """Connectors, brackets and sleeves."""
    yield _row(BALUSTER_END, CONNECTOR, "BALUSTER CONNECTOR", 1)
    yield _row(BALUSTER_END, SCREW, sizes.connector_screw, 1, "through the connector", driver=SQUARE_2,
               pilot_bit=sizes.small_bit, pilot_depth=sizes.deep, hole=STOPPED)  # fmt: skip
    yield from _brackets(sizes)
    yield _row(RAIL_TO_POST, SCREW, sizes.rail_screw, 2, "hole through the sleeve only", driver=SQUARE_2,
               pilot_bit=sizes.sleeve_bit, hole=THROUGH)  # fmt: skip


def _metal(sizes: Sizes) -> Iterator[Fastening]:
    """Balusters let into wood rails on brackets."""
    yield _row(BALUSTER_END, CONNECTOR, "BALUSTER BUSHING", 1, "the hole lets the baluster in",
               pilot_bit=sizes.baluster_bit, pilot_depth=sizes.let_in, hole=STOPPED)  # fmt: skip
    yield from _brackets(sizes)
    yield _row(RAIL_TO_POST, SCREW, sizes.rail_screw, 2, "through the bracket", driver=SQUARE_2,
               pilot_bit=sizes.small_bit, pilot_depth=sizes.deep, hole=STOPPED)  # fmt: skip


def _brackets(sizes: Sizes) -> Iterator[Fastening]:
    """A bracket at each rail end, and its screws into the rail."""
    yield _row(RAIL_END, BRACKET, "RAIL BRACKET", 1)
    yield _row(RAIL_END, SCREW, sizes.bracket_screw, 2, "from the bracket into the rail", driver=SQUARE_2,
               pilot_bit=sizes.small_bit, pilot_depth=sizes.shallow, hole=STOPPED)  # fmt: skip


def _everywhere(sizes: Sizes) -> Iterator[Fastening]:
    """What the three have in common."""
    pilot: dict[str, float | str] = {
        "pilot_bit": sizes.small_bit, "pilot_depth": sizes.deep, "hole": STOPPED, "driver": SQUARE_2,
    }  # fmt: skip
    yield _row(RAIL_TO_WALL, ANCHOR, sizes.wall_anchor, 2, "into studs or masonry", driver=STAR_25)
    yield _row(BLOCK, SCREW, sizes.block_screw, 1, "up through the block into the rail", driver=SQUARE_2,
               pilot_bit=sizes.sleeve_bit, hole=THROUGH, counterbore_bit=sizes.head_bit,
               counterbore_depth=sizes.deep)  # fmt: skip
    yield _row(CAP_TO_POST, SCREW, sizes.rail_screw, 2, f"{sizes.edge} from the edge", **pilot)
    yield _row(CAP_TO_RAIL, SCREW, sizes.rail_screw, 1, "on the middle of the rail", spacing=sizes.cap_spacing, **pilot)
    yield _row(HANDRAIL_BRACKET, BRACKET, "HANDRAIL BRACKET", 1)
    yield _row(HANDRAIL_BRACKET, SCREW, sizes.base_screw, 2, "into studs or blocking", driver=STAR_30)
