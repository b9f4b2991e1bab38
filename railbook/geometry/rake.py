"""The rake of a line of guard: which measurements are trusted, and what follows from them.

Best first: rise and clear, slope length and rise, slope length and clear, the taped angle, riser
and tread. On a short slope the taped angle comes first, because a sixteenth on the tape then turns
the slope more than the bevel does.
"""

import math

LEVEL_SOURCE = "level"
ANGLE = "angle"
RISE_CLEAR = "rise and clear"
SLOPE_RISE = "slope length and rise"
SLOPE_CLEAR = "slope length and clear"
RISER_TREAD = "riser and tread"
NONE = "none"


def source(
    *,
    clear: float | None,
    rise: float | None,
    slope_length: float | None,
    angle: float | None,
    pitch_known: bool,
    short_slope: float,
) -> str:
    """Name of the measurements that the slope is taken from.

    Args:
        clear: level distance between support faces [job unit].
        rise: height gained over the clear [job unit].
        slope_length: along the slope between the faces [job unit].
        angle: taped angle [degrees].
        pitch_known: whether riser and tread are both known.
        short_slope: length below which a taped angle is trusted first [job unit].

    >>> source(clear=60.0, rise=45.0, slope_length=75.0, angle=36.9, pitch_known=True, short_slope=36.0)
    'rise and clear'
    >>> source(clear=24.0, rise=18.0, slope_length=None, angle=36.9, pitch_known=True, short_slope=36.0)
    'angle'
    """
    if angle is not None and _is_short(clear, slope_length, angle, short_slope):
        return ANGLE
    if rise is not None and clear is not None:
        return RISE_CLEAR
    if slope_length is not None and rise is not None:
        return SLOPE_RISE
    if slope_length is not None and clear is not None:
        return SLOPE_CLEAR
    if angle is not None:
        return ANGLE
    return RISER_TREAD if pitch_known else NONE


def _is_short(clear: float | None, slope_length: float | None, angle: float, short_slope: float) -> bool:
    """Whether the slope is known to be shorter than that; with neither length nobody can tell."""
    if slope_length is None:
        slope_length = None if clear is None else clear / math.cos(math.radians(angle))
    return slope_length is not None and slope_length < short_slope


SOURCE_EXCEL = (
    '=IF({kind}="Level","level",'
    'IF(IF({angle_taped}="",FALSE,IF({slope_taped}<>"",{slope_taped}<{short_slope},'
    'IF({clear_taped}="",FALSE,{clear_taped}/COS(RADIANS({angle_taped}))<{short_slope}))),"angle",'
    'IF(COUNT({rise_taped},{clear_taped})=2,"rise and clear",'
    'IF(COUNT({slope_taped},{rise_taped})=2,"slope length and rise",'
    'IF(COUNT({slope_taped},{clear_taped})=2,"slope length and clear",'
    'IF({angle_taped}<>"","angle",'
    'IF(COUNT({riser},{tread})=2,"riser and tread","none")))))))'
)


def tangent_by_rise(*, rise: float, clear: float) -> float:
    """Tangent of the slope from rise over clear.

    Source: right triangle; by hand 3-4-5.

    >>> tangent_by_rise(rise=45.0, clear=60.0)
    0.75
    """
    return rise / clear


def tangent_by_slope_and_rise(*, slope_length: float, rise: float) -> float:
    """Tangent from the slope length and the rise.

    >>> tangent_by_slope_and_rise(slope_length=75.0, rise=45.0)
    0.75
    """
    return rise / math.sqrt(slope_length**2 - rise**2)


def tangent_by_slope_and_clear(*, slope_length: float, clear: float) -> float:
    """Tangent from the slope length and the clear.

    >>> tangent_by_slope_and_clear(slope_length=75.0, clear=60.0)
    0.75
    """
    return math.sqrt(slope_length**2 - clear**2) / clear


def tangent_by_angle(angle: float) -> float:
    """Tangent from the taped angle [degrees].

    >>> tangent_by_angle(45.0)
    1.0
    """
    return math.tan(math.radians(angle))


TANGENT_EXCEL = (
    '=IF({source}="level",0,IF({source}="rise and clear",{rise_taped}/{clear_taped},'
    'IF({source}="slope length and rise",{rise_taped}/SQRT({slope_taped}^2-{rise_taped}^2),'
    'IF({source}="slope length and clear",SQRT({slope_taped}^2-{clear_taped}^2)/{clear_taped},'
    'IF({source}="angle",TAN(RADIANS({angle_taped})),'
    'IF({source}="riser and tread",{riser}/{tread},""))))))'
)


def tangent_from(
    used: str,
    *,
    clear: float | None,
    rise: float | None,
    slope_length: float | None,
    angle: float | None,
    riser: float | None,
    tread: float | None,
) -> float | None:
    """Tangent of the slope by the measurements that `source` named, 0 on the level; None where one is missing.

    Args:
        used: one of the names above.
        clear: level distance [job unit].
        rise: height gained over the clear [job unit].
        slope_length: along the slope [job unit].
        angle: taped angle [degrees].
        riser: of the flight [job unit].
        tread: of the flight [job unit].

    >>> tangent_from(SLOPE_RISE, clear=None, rise=3.0, slope_length=5.0, angle=None, riser=None, tread=None)
    0.75
    """
    if used == LEVEL_SOURCE:
        return 0.0
    if used == ANGLE and angle is not None:
        return tangent_by_angle(angle)
    if used == RISE_CLEAR and rise is not None and clear is not None:
        return tangent_by_rise(rise=rise, clear=clear)
    if used == SLOPE_RISE and slope_length is not None and rise is not None:
        return tangent_by_slope_and_rise(slope_length=slope_length, rise=rise)
    if used == SLOPE_CLEAR and slope_length is not None and clear is not None:
        return tangent_by_slope_and_clear(slope_length=slope_length, clear=clear)
    return None if riser is None or tread is None else tangent_by_rise(rise=riser, clear=tread)


def secant(tangent: float) -> float:
    """Length along the slope for each unit of level length.

    >>> secant(0.75)
    1.25
    """
    return math.sqrt(1 + tangent**2)


def degrees(tangent: float) -> float:
    """Angle of the slope [degrees].

    A 9 in 12 slope: 36.87 degrees, 15.00 in a foot (carpenter's square tables).

    >>> degrees(9 / 12)
    36.87
    """
    return math.degrees(math.atan(tangent))


def clear_by_flight(*, lower_setback: float, risers: float, tread: float, upper_setback: float) -> float:
    """Level distance between the post faces that the flight itself predicts [job unit].

    Between N risers lie N - 1 treads.

    >>> clear_by_flight(lower_setback=2.0, risers=7, tread=10.0, upper_setback=3.0)
    65.0
    """
    return lower_setback + (risers - 1) * tread + upper_setback
