"""Skews: how far a run is turned off the face of its support at each end, and its formulas.

A run whose supports it meets square has none of them, only the condition that it still does.
"""

import math

from railbook.basics.blank import when_known
from railbook.basics.joins import Join, written
from railbook.geometry import turned_posts
from railbook.geometry.turned_posts import LEAST, TurnedPost, askew

JOINS = {
    "from_turned": Join(turned_posts.TAB, "from_turned_row", "from_turned", maybe=True),
    "to_turned": Join(turned_posts.TAB, "to_turned_row", "to_turned", maybe=True),
}


def skew(direction: float | None, support: TurnedPost | None) -> float:
    """How far a run is turned off the face that it meets, clockwise positive; 0 while that is not known [degrees]."""
    known = when_known(askew, direction, None if support is None else support.bearing)
    return 0.0 if known is None else known


def cosine(skewed: float) -> float:
    """What a width square to the face is of the same along the run.

    >>> cosine(0.0), round(cosine(60.0), 12)
    (1.0, 0.5)
    """
    return math.cos(math.radians(skewed)) if skewed else 1.0


def over_excel(end: str, side: int) -> str:
    """Formula part: over that cosine, at an end that was found askew.

    >>> over_excel("from", 1), over_excel("to", 0)
    ('/COS(RADIANS({from_skew}))', '')
    """
    return f"/COS(RADIANS({{{end}_skew}}))" if side else ""


def skew_excel(end: str) -> str:
    """Formula part: the twin of `skew`, in joined words."""
    figures = f"{{typed.direction}},{{{end}_turned.bearing}}"
    return f"IF(COUNT({figures})<2,0,MOD({{typed.direction}}-{{{end}_turned.bearing}}+45,90)-45)"


def turns_excel(end: str, side: int, joins: dict[str, Join]) -> str:
    """Formula part: whether an end is now askew to another side than was found."""
    now = skew_excel(end)
    return written(f"IF(ABS({now})<={LEAST:g},0,SIGN({now}))<>{side}", joins, {})
