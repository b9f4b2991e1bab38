"""The triangle that riser, tread and bottom rail leave open on the side of a flight."""

import math


def triangle_sphere(*, riser: float, tangent: float, clearance: float, overhang: float) -> float:
    """Largest sphere in the triangle of riser, tread and bottom rail [job unit].

    Args:
        riser: the largest riser.
        tangent: of the slope.
        clearance: nosing line to the underside of the rail, plumb.
        overhang: nosing in front of the riser.

    The incircle of a right triangle: for a 7.5 in riser on a 10 in tread it is exactly 5 in when the
    rail lies on the nosings and exactly 6 in at 1.5 in clearance (3-4-5 triangles, by hand).

    >>> triangle_sphere(riser=7.5, tangent=0.75, clearance=0.0, overhang=0.0)
    5.0
    >>> triangle_sphere(riser=7.5, tangent=0.75, clearance=1.5, overhang=0.0)
    6.0
    """
    plumb = riser + clearance + overhang * tangent
    level = plumb / tangent
    return plumb + level - math.hypot(plumb, level)
