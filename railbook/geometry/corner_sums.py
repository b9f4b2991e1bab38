"""Sums at an outside corner of the deck, on plain numbers: two posts on the fascia, one on each edge, guard it.

A square post on the fascia at an outside corner would touch the deck at a single line. From is the left support seen
from the walking side, so that whoever walks a level run from From to To has the deck at the right hand:

            outside                      at the end of edge 1 the guard turns to the right
        P1          corner               where the deck has an outside corner (drawn), and
    ----[]-a1-------+                    to the left where it has an inside one: there one
        edge 1      | a2                 post touches both edges.
         deck       [] P2
                    | edge 2

With edge 1 along x, the corner at the origin and the turn T, edge 2 runs along u = (cos T, -sin T), and n = (sin T,
cos T) points away from the deck. A post's arris toward deck and corner lies a before the corner and c outside its edge
(c is the spacer, less what a sleeve is thicker): P = (-a1, c1) and Q = a2 u + c2 n. Nothing wider passes between the
posts than P and Q are apart. Middles of the guards, e outside their edges, meet past the corner: along edge 1 at
(e2 - e1 cos T)/sin T, which is e tan(T/2) where both stand equally far out.
"""

import math
from typing import NamedTuple

from railbook.geometry.joints import SHARPEST, STRAIGHT


class Place(NamedTuple):
    """Where a post on the fascia stands beside a corner.

    Attributes:
        near: along the edge, its near face to the corner.
        inner: from the edge out to its face toward the deck.
    """

    near: float
    inner: float


def opening_round(one: Place, other: Place, turn: float) -> float:
    """What passes between two posts that guard an outside corner [job unit]; the turn in degrees, to the right.

    By hand, at a square corner (-3, 1) and (1, -2) are as far apart as 4 and 3 square to each other.

    >>> opening_round(Place(3.0, 1.0), Place(2.0, 1.0), 90.0)
    5.0
    """
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    along = one.near + other.near * cosine + other.inner * sine
    across = one.inner + other.near * sine - other.inner * cosine
    return math.hypot(along, across)


def greatest_near(inner: float, other_inner: float, turn: float, limit: float) -> float | None:
    """How far from the corner both posts may stand so that no more than a limit passes; None: too far out for any.

    Args:
        inner: from the edge out to the first post's face toward the deck.
        other_inner: the same of the second.
        turn: to the right [degrees].
        limit: what may pass.

    By hand, at a square corner: as far apart as 3 + 1 and 3 + 1 square to each other.

    >>> round(greatest_near(1.0, 1.0, 90.0, math.sqrt(32.0)), 9)
    3.0
    """
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    square, half = 2 * (1 + cosine), sine * (inner + other_inner)
    rest = inner**2 + other_inner**2 - 2 * inner * other_inner * cosine - limit**2
    root = half**2 - square * rest
    return None if root < 0 or math.sqrt(root) < half else (math.sqrt(root) - half) / square


def past_corner(own: float, other: float, turn: float) -> float:
    """How far past an outside corner the middles of two guards meet, along the edge of the first [job unit].

    Args:
        own: from its edge out to the middle of the first guard.
        other: the same of the second.
        turn: to the right [degrees].

    By hand: at a square corner the first goes on until it is as far out as the second.

    >>> round(past_corner(2.0, 3.0, 90.0), 9)
    3.0
    """
    radians = math.radians(turn)
    return (other - own * math.cos(radians)) / math.sin(radians)


def is_outside(turn: float) -> bool:
    """Whether a turn on walking with the deck at the right hand is that of an outside corner."""
    return STRAIGHT < turn <= SHARPEST
