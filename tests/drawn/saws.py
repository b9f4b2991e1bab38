"""How the saw is set for an end of a board, and what it cuts.

A board lies on one of its sides. The blade stands square on the table and to the board's length; it is turned by the
cut, about what is square to the table, and then tilted about the line that it draws on the table. Words say which side
is the longer one. In the drawing of a board s runs along it, w to its right seen from its lower or left end, which is
its walking side, and n square to its upper side.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

from tests.drawn.reading import Sawn

WALKING, FAR = "walking side", "far side"
SIDES = {WALKING: 1, FAR: -1}  # on which side of its middle
ON_ITS_SIDE, BY_HAND = "on its side: ", "by hand at "


class Slant(NamedTuple):
    """What s of an end gains for each unit of w and of n."""

    by_width: float = 0.0
    by_depth: float = 0.0


def ways_of(sawn: Sawn) -> tuple[str, str]:
    """How the saw stands for each end: one word for both, a word for each, or one for the end that is cut."""
    words, ends = sawn.saw.removeprefix(ON_ITS_SIDE), {}
    parts = words.split("; ")
    for part in parts:
        for place, names in enumerate((("left: ", "lower: "), ("right: ", "upper: "))):
            if part.startswith(names):
                ends[place] = part.partition(": ")[2]
    if ends:
        return ends.get(0, ""), ends.get(1, "")
    return words, words


def sides_of(sawn: Sawn) -> Iterator[float]:
    """Lengths of a board on its far and on its walking side."""
    other = sawn.length if sawn.other_edge is None else sawn.other_edge
    for side in (FAR, WALKING):
        yield other if sawn.long_edge in SIDES and sawn.long_edge != side else sawn.length


def is_askew(sawn: Sawn) -> bool:
    """Whether words say which of its sides is the longer one at an end."""
    return any(f"{side} long" in sawn.saw for side in SIDES)


def long_side(way: str, ahead: int) -> int:
    """Sign of what an end gains to the right: 0 where no side is the longer one."""
    return next((sign * ahead for side, sign in SIDES.items() if f"{side} long" in way), 0)


def rail_slants(sawn: Sawn) -> tuple[Slant, Slant]:
    """Both ends of a rail: on its underside a level one is turned; on its side a raked one is turned and tilted."""
    lies = sawn.saw.startswith(ON_ITS_SIDE)
    angles = (sawn.lower_cut, sawn.lower_tilt), (sawn.upper_cut, sawn.upper_tilt)
    low, high = (
        _rail_slant(way, _tangent(cut), _tangent(tilt), ahead, lies=lies)
        for way, (cut, tilt), ahead in zip(ways_of(sawn), angles, (-1, 1), strict=True)
    )
    return low, high


def _tangent(angle: float) -> float:
    return math.tan(math.radians(angle))


def _rail_slant(way: str, cut: float, tilt: float, ahead: int, *, lies: bool) -> Slant:
    """One of them, by the tangents of its angles."""
    sign = long_side(way, ahead)
    if not sign:
        return Slant(by_depth=cut)
    if not lies:
        return Slant(by_width=sign * abs(cut))
    return Slant(sign * abs(tilt) * math.hypot(1.0, cut), cut)  # the tilt opens square to the line on the table


def flat_slant(way: str, cut: float, tilt: float, ahead: int) -> Slant:
    """An end of a board that lies flat, turned along a face that it meets askew, and tilted if it is raked."""
    turned, tilted = _tangent(cut), _tangent(tilt)
    return Slant(long_side(way, ahead) * abs(turned), tilted * math.hypot(1.0, turned))
