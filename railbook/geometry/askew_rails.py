"""Rails that meet a post askew: how wide they are, whether a post's face holds them, what their points add.

A rail's end lies flat on the face, so that one edge is longer than its middle by half its width times the tangent of
the skew, and the other one shorter.
"""

import math

from railbook.basics.joins import written
from railbook.basics.rounding import PLACES
from railbook.geometry.measures import JOINS, Measures
from railbook.geometry.skews import cosine
from railbook.geometry.turned_posts import widest_rail
from railbook.job.assemblies import USUAL_RAIL_WIDTH
from railbook.job.settings import or_usual

TOP_WIDE = or_usual("assembly.top_rail_width", USUAL_RAIL_WIDTH)
BOTTOM_WIDE = or_usual("assembly.bottom_rail_width", USUAL_RAIL_WIDTH)
WIDEST = f"MAX({TOP_WIDE},{BOTTOM_WIDE})"


def widest(measures: Measures, unit: str) -> float:
    """Width of the wider of its two rails [job unit]."""
    return max(measures.assembly.top_wide(unit), measures.assembly.bottom_wide(unit))


def tangent(skew: float) -> float:
    """Tangent of a skew."""
    return math.tan(math.radians(skew))


def points(measures: Measures, unit: str) -> float:
    """What the points at both ends of a rail add to its middle, level [job unit].

    By hand, a rail of 2 that comes 45 degrees askew to a wall stands out by 1 past its middle.
    """
    return widest(measures, unit) / 2 * (abs(tangent(measures.from_skew)) + abs(tangent(measures.to_skew)))


def points_excel(measures: Measures) -> str:
    """Formula part: the same, taken off; empty for a run that meets both supports square."""
    tangents = [f"TAN(RADIANS(ABS({{{end}_skew}})))" for end, side in _ends(measures).items() if side]
    wide = written(WIDEST, JOINS, {})
    return f"-{wide}/2*({'+'.join(tangents)})" if tangents else ""


def _ends(measures: Measures) -> dict[str, int]:
    """End -> to which side the run was found askew there."""
    return {"from": measures.from_side, "to": measures.to_side}


def room_on(measures: Measures, end: str) -> float | None:
    """Widest rail that the face of an end's post holds [job unit]; None where it is square, or has no edges."""
    face, skew = (measures.from_face, measures.from_skew) if end == "from" else (measures.to_face, measures.to_skew)
    return widest_rail(face * cosine(skew), skew) if skew and face else None


def meets_corner(measures: Measures, unit: str) -> bool:
    """Whether a rail is wider than the face of a post that it meets askew, so that it would end at its corner."""
    wide = widest(measures, unit)
    rooms = (room_on(measures, end) for end in ("from", "to"))
    return any(room is not None and round(wide - room, PLACES) > 0 for room in rooms)


def meets_corner_excel(measures: Measures) -> str:
    """Formula part: the same."""
    found = [_too_wide(end) for end, side in _ends(measures).items() if side]
    return ",".join(written(each, JOINS, {}) for each in found) or "FALSE"


def _too_wide(end: str) -> str:
    skew = f"RADIANS(ABS({{{end}_skew}}))"
    room = f"{{{end}_face}}*COS({skew})*(COS({skew})-SIN({skew}))"
    return f"IF({{{end}_face}}=0,FALSE,ROUND({WIDEST}-{room},{PLACES})>0)"
