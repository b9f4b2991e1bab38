"""Which joint the caps of the runs at one post make: the first of the list that can be built.

Boards that close come first (through, mitre, bend, at the edge of a level one), then a cap that ends on the post's face
under the one that runs over it, then what closes badly and is told. Nothing is raised or lowered here.
"""

import math
from collections.abc import Callable, Sequence
from itertools import combinations
from typing import NamedTuple

from railbook.geometry.joints import (
    BEND,
    CLASH,
    CUT_OFF,
    DIES,
    EDGE,
    FLUSH,
    MITRE,
    ONE_SLOPE,
    OPEN_END,
    REFUSED,
    SAME,
    SHARPEST,
    SQUARE,
    STEP,
    STRAIGHT,
    THROUGH,
    Arm,
    Play,
    bend_past,
    edge_apart,
    is_square,
    is_straight,
    mitre,
    slip,
    turned,
)

MOST_RUNS = 3  # at one post


class Joined(NamedTuple):
    """How the cap of one arm ends.

    Attributes:
        kind: one of the words of `joints.py`.
        met: number of the arm that it is held against, from 0; None where it meets none.
    """

    kind: str
    met: int | None = None


def joined(arms: Sequence[Arm], play: Play) -> tuple[Joined, ...]:
    """How the cap of every run ends at one post; the order of the arms is that of the answer."""
    if len(arms) == 1:
        return (Joined(OPEN_END),)
    if len(arms) > MOST_RUNS:
        return tuple(Joined(CLASH) for _ in arms)
    if len(arms) == MOST_RUNS:
        return _three(arms, play)
    kinds = pair(arms[0], arms[1], play)
    return Joined(kinds[0], 1), Joined(kinds[1], 0)


def pair(one: Arm, other: Arm, play: Play) -> tuple[str, str]:
    """The joint of two runs, as the kind of each end: the first that can be built."""
    way = turned(one, other)
    if abs(way) > SHARPEST:
        return REFUSED, REFUSED
    if not one.thick or not other.thick:
        return _beside_bare(one, other, way)
    if one.middle is None or other.middle is None:
        return _unknown(one, other, way)
    return (
        _closed(one, other, way, play)
        or _swapped(one, other, lambda cover, low: _flush(cover, low, way, play))
        or _swapped(one, other, lambda cover, low: _dies(cover, low, way))
        or _swapped(one, other, lambda cover, low: _edge(cover, low, way))
        or _swapped(one, other, lambda cover, low: _step(cover, low, way))
        or (CLASH, CLASH)
    )


def _closed(one: Arm, other: Arm, way: float, play: Play) -> tuple[str, str] | None:
    """Boards that run through, are mitred or bend."""
    if abs(one.thick - other.thick) > SAME:
        return None
    level, close = one.is_level and other.is_level, abs(one.under - other.under) <= play.apart + SAME
    if is_straight(way):
        if close and abs(one.rise + other.rise) <= ONE_SLOPE:
            return THROUGH, THROUGH
        bends = one.rise + other.rise and abs(bend_past(one, other)) <= one.half - play.bearing + SAME
        return (BEND, BEND) if bends else None
    both = (one.width, other.width), (other.width, one.width)
    turns_out = all(mitre(own, met, abs(way)) >= 0 for own, met in both)
    return (MITRE, MITRE) if level and close and turns_out else None


Kinds = tuple[str, str]  # of the run whose cap is the cover, and of the other


def _swapped(one: Arm, other: Arm, test: Callable[[Arm, Arm], Kinds | None]) -> Kinds | None:
    """The kinds that a test of cover and lower cap gives, a level cover first, then the higher one."""
    for cover, low in sorted(((one, other), (other, one)), key=lambda two: (not two[0].is_level, -two[0].under)):
        kinds = test(cover, low)
        if kinds is not None:
            return kinds if cover is one else (kinds[1], kinds[0])
    return None


def _butts(cover: Arm, low: Arm, way: float) -> bool:
    """Whether a cap may end at a level one's edge: round a square turn, or when it is level too and the edge is there.

    Round a shallow turn the cover's edge ends at its overhang, before the whole width of the other cap has come to it.
    """
    if not cover.is_level or is_straight(way) or is_square(way):
        return cover.is_level and is_square(way)
    sine, cosine = abs(math.sin(math.radians(way))), math.cos(math.radians(way))
    reached = (cover.width / 2 * cosine + low.width / 2) / sine
    return low.is_level and reached <= cover.half + cover.overhang


def _flush(cover: Arm, low: Arm, way: float, play: Play) -> Kinds | None:
    if not _butts(cover, low, way) or abs(edge_apart(cover, low, way)) > play.apart + SAME:
        return None
    return OPEN_END, FLUSH


def _dies(cover: Arm, low: Arm, way: float) -> Kinds | None:
    if slip(cover, low, way, cover.overhang) >= -SAME:
        return OPEN_END, DIES
    return (CUT_OFF, DIES) if slip(cover, low, way, cover.ear) >= -SAME else None


def _edge(cover: Arm, low: Arm, way: float) -> Kinds | None:
    if not _butts(cover, low, way):
        return None
    return (OPEN_END, EDGE) if -cover.thick < edge_apart(cover, low, way) < low.plumb else None


def _step(cover: Arm, low: Arm, way: float) -> Kinds | None:
    over = cover.under - cover.rise * low.half
    return (CUT_OFF, STEP) if is_straight(way) and low.face - SAME <= over < low.top else None


def _beside_bare(one: Arm, other: Arm, way: float) -> Kinds:
    """One run without a cap, or both: its rails end at the face, so that a cap over the post may reach that far."""
    capped, bare = (one, other) if one.thick else (other, one)
    if not capped.thick:
        return OPEN_END, OPEN_END
    known = capped.middle is not None and bare.middle is not None
    kinds = (OPEN_END if known and slip(capped, bare, way, capped.overhang) >= -SAME else CUT_OFF), DIES
    return kinds if capped is one else (kinds[1], kinds[0])


def _unknown(one: Arm, other: Arm, way: float) -> Kinds:
    """Where a height is not known: as if the two met."""
    if is_straight(way):
        return (THROUGH, THROUGH) if one.is_level == other.is_level else (BEND, BEND)
    if one.is_level != other.is_level and is_square(way):
        return (OPEN_END, FLUSH) if one.is_level else (FLUSH, OPEN_END)
    return CLASH, CLASH


def _three(arms: Sequence[Arm], play: Play) -> tuple[Joined, ...]:
    """Two runs that close and the third beside them; else one cap beside which both others end; else what closes."""
    pairs = sorted(combinations(range(len(arms)), 2), key=lambda two: not all(arms[each].is_level for each in two))
    closing = [ends for two in pairs if (ends := _closing(arms, two, play))]
    covers = sorted(range(len(arms)), key=lambda each: (not arms[each].is_level, -(arms[each].middle or 0.0)))
    under = [ends for cover in covers if (ends := _beside_one(arms, cover, play))]
    whole = [ends for ends in (*closing, *under) if not any(end.kind in (CLASH, REFUSED) for end in ends.values())]
    ends = next(iter((*whole, *closing)), {number: Joined(CLASH) for number in range(len(arms))})
    return tuple(ends[number] for number in range(len(arms)))


def _closing(arms: Sequence[Arm], two: tuple[int, int], play: Play) -> dict[int, Joined]:
    """Two runs that close, and how the third ends beside them; empty where the two do not."""
    one, other = two
    kinds = pair(arms[one], arms[other], play)
    if not set(kinds) <= {THROUGH, MITRE, BEND}:
        return {}
    third = 3 - one - other
    ends = {one: Joined(kinds[0], other), other: Joined(kinds[1], one)}
    return {**ends, third: _against(arms, third, two, play)}


def _against(arms: Sequence[Arm], low: int, pair_of: tuple[int, int], play: Play) -> Joined:
    """How a third run ends beside two that close: at the edge of the wider one that it meets square, or under both."""
    for cover in pair_of:
        if abs(turned(arms[cover], arms[low])) > SHARPEST:
            return Joined(REFUSED, cover)
    if not _are_known(arms, (low, *pair_of)):
        return Joined(CLASH)
    widest = sorted(pair_of, key=lambda cover: -arms[cover].width)
    ways = {cover: turned(arms[cover], arms[low]) for cover in widest}
    square = {cover: way for cover, way in ways.items() if is_square(way) and not _turns_back(arms, low, pair_of)}
    wide = max((arms[cover].width for cover in square), default=0.0)  # its edge is in the way of the narrower one's
    square = {cover: way for cover, way in square.items() if arms[cover].width > wide - SAME}
    flush = next((cover for cover, way in square.items() if _flush(arms[cover], arms[low], way, play)), None)
    if flush is not None:
        return Joined(FLUSH, flush)
    if _turns_back(arms, low, pair_of):
        return Joined(CLASH)
    rooms = {cover: slip(arms[cover], arms[low], way, 0.0) for cover, way in ways.items()}  # neither overhangs there
    if min(rooms.values()) >= -SAME:
        return Joined(DIES, min(rooms, key=lambda cover: rooms[cover]))
    edge = next((cover for cover, way in square.items() if _edge(arms[cover], arms[low], way)), None)
    return Joined(CLASH) if edge is None else Joined(EDGE, edge)


def _turns_back(arms: Sequence[Arm], low: int, others: Sequence[int]) -> bool:
    """Whether a run comes nearer than square to another on its own side of the post."""
    return any(abs(turned(arms[other], arms[low])) > SQUARE + STRAIGHT for other in others)


def _beside_one(arms: Sequence[Arm], cover: int, play: Play) -> dict[int, Joined]:
    """Both other caps end under one that runs over the post, or at its edge; empty where one of them cannot."""
    others = [each for each in range(len(arms)) if each != cover]
    if not arms[cover].thick or not _are_known(arms, (cover, *others)):
        return {}
    for overhang, kind in ((arms[cover].overhang, OPEN_END), (arms[cover].ear, CUT_OFF)):
        ends = {each: _beside(arms[cover], arms[each], overhang, play) for each in others}
        if all(ends.values()):
            return {cover: Joined(kind, others[0]), **{each: Joined(end, cover) for each, end in ends.items()}}
    return {}


def _beside(cover: Arm, low: Arm, overhang: float, play: Play) -> str:
    """How one cap ends beside another that runs over the post; empty where it cannot."""
    way = turned(cover, low)
    if abs(way) > SHARPEST:
        return ""
    if is_square(way) and _flush(cover, low, way, play):
        return FLUSH
    return DIES if slip(cover, low, way, overhang) >= -SAME else ""


def _are_known(arms: Sequence[Arm], which: Sequence[int]) -> bool:
    """Whether the heights of all of these are."""
    return all(arms[each].middle is not None for each in which)
