"""How the saw is set for the ends of a cap board, which lies flat on it: turned, tilted, or both.

A mitre turns it, a plumb cut or a bevel tilts it. A level cap that ends on a face askew is turned by the skew k; one on
a slope theta is turned by atan(tan k / cos theta) and tilted by asin(cos k sin theta), which is the face's own plane.
"""

import math
from collections.abc import Sequence

from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.cap_words import NOTHING, cut_words, tilt_words_of, turn_words_of
from railbook.geometry.joints import AT_EDGES, BEND, CUT_OFF, MITRED, ON_FACES
from railbook.job.runs import LEVEL


def turns_saw(end: CapEnd) -> bool:
    """Whether an end is cut with the saw turned: seen from above it is not square to the board."""
    return end.kind in MITRED or end.is_askew or (end.kind in AT_EDGES and end.line.kind == LEVEL)


def tilts_saw(end: CapEnd) -> bool:
    """Whether an end is cut with the blade tilted: a bevel, or plumb."""
    if end.is_askew:
        return end.line.kind != LEVEL
    return end.kind in (BEND, *ON_FACES) or (end.kind in (CUT_OFF, *AT_EDGES) and end.line.kind != LEVEL)


def turned_tangent(end: CapEnd) -> float:
    """Tangent of what the saw is turned by for an end; 0 where it is not."""
    return math.tan(math.radians(end.cut)) if turns_saw(end) else 0.0


def tilted_tangent(end: CapEnd) -> float:
    """What an end leans along the board for each unit of its thickness; 0 where the blade is not tilted."""
    if not tilts_saw(end):
        return 0.0
    return end.line.tangent if end.is_askew else math.tan(math.radians(end.cut))


def tilt_of(end: CapEnd) -> float:
    """Tilt of the blade for an end, where the saw is turned besides [degrees]."""
    if not end.is_askew:
        return end.cut if tilts_saw(end) else 0.0
    skew, slope = math.radians(end.arrival.skew), math.radians(end.line.measures.slope_angle)
    return math.degrees(math.asin(math.cos(skew) * math.sin(slope)))


def longer_at(end: CapEnd, tangent: float) -> float:
    """The tangent of a cut, + where the left-hand or upper edge is the longer one there."""
    return -tangent if end.arrival.is_from else tangent


def cut_of(end: CapEnd) -> str:
    """Formula part of its cut, in the words of an end."""
    is_level = end.line.kind == LEVEL
    if end.is_askew:
        return turn_words_of(end.arrival.end, is_level=is_level)
    return cut_words(end.kind, *end.ends, is_level=is_level)


def tilt_words(end: CapEnd) -> str:
    """Formula part of `tilt_of`, in the words of an end."""
    if end.is_askew:
        return tilt_words_of(end.arrival.end)
    return cut_of(end) if tilts_saw(end) else NOTHING


def turned_by(end: CapEnd) -> str:
    """Formula part: tangent of a cut that turns the saw."""
    return f"TAN(RADIANS(ABS({{{end.arrival.end}_cut}})))" if turns_saw(end) else NOTHING


def tilted_by(end: CapEnd, *, tilts: bool) -> str:
    """Formula part: tangent of a cut that tilts the blade, where it makes the upper side the longer one.

    Args:
        end: of the cap.
        tilts: whether the tilts of that cap have cells of their own.
    """
    sign = "-" if end.arrival.is_from else ""
    return f"MAX(0,{sign}{_tilted(end, tilts=tilts)})" if tilts_saw(end) else NOTHING


def _tilted(end: CapEnd, *, tilts: bool) -> str:
    if end.is_askew:
        return "{line.tangent}"
    return f"TAN(RADIANS({{{end.arrival.end}_{'tilt' if tilts else 'cut'}}}))"


def leaning_excel(ends: Sequence[CapEnd], *, tilts: bool) -> tuple[str, str]:
    """Formula parts: summed over the ends what each leans, + where the left-hand or the upper edge is longer."""
    turned = (f"{_sign(end)}TAN(RADIANS({{{end.arrival.end}_cut}}))" for end in ends if turns_saw(end))
    tilted = (f"{_sign(end)}{_tilted(end, tilts=tilts)}" for end in ends if tilts_saw(end))
    return f"0{''.join(turned)}", f"0{''.join(tilted)}"


def _sign(end: CapEnd) -> str:
    return "-" if end.arrival.is_from else "+"
