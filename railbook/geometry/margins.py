"""Margins: how far each joint of two caps is from where it can no longer be built as laid out.

A margin is the least of the conditions of its own kind of joint; below zero the joint asks for another run. A clash
counts the other way: what would first close or clear there is still that far off.
"""

from collections.abc import Callable, Iterator
from functools import cache
from typing import NamedTuple

from railbook.geometry.joints import (
    BEND,
    CLASH,
    DIES,
    EDGE,
    FLUSH,
    MITRE,
    NEVER,
    ONE_SLOPE,
    SAME,
    STEP,
    THROUGH,
    Arm,
    Play,
    bend_past,
    edge_apart,
    is_square,
    is_straight,
    slip,
)
from railbook.geometry.leaning import rise_excel, swung_excel, wide_excel


class Terms(NamedTuple):
    """What was chosen of a joint: all that its margin's formula is made from.

    Attributes:
        joint: its kind; of the cap that runs over the post, the kind of the other's end.
        over: whether it is that cap.
        ends: which end of its run this is, and which of the other: from or to.
        levels: whether each of the two runs is level.
        way: straight, square or askew.
        short: whether the cap over the post is cut off at the face.
        even: whether both caps are equally thick.
        play: what may be apart.
        leaning: 1 for each of the two along which the post leans.
        askew: whether each of the two runs comes askew to its face.
    """

    joint: str
    over: bool
    ends: tuple[str, str]
    levels: tuple[bool, bool]
    way: str
    short: bool
    even: bool
    play: Play
    leaning: tuple[int, int] = (0, 0)
    askew: tuple[bool, bool] = (False, False)


_SAME, _NEVER = f"{SAME:.6f}", f"{NEVER:.0f}"
STRAIGHT_ON, SQUARE_ON, ASKEW = "straight", "square", "askew"
TOGETHER = (THROUGH, MITRE)


def way_of(turn: float) -> str:
    """The word for a turn.

    >>> way_of(0.5), way_of(-90.0), way_of(45.0)
    ('straight', 'square', 'askew')
    """
    if is_straight(turn):
        return STRAIGHT_ON
    return SQUARE_ON if is_square(turn) else ASKEW


def margin_of(terms: Terms, own: Arm, met: Arm, turn: float) -> float | None:
    """Room that is left [job unit]; None where a height is not known or nothing is held.

    Args:
        terms: of the joint as it was chosen.
        own: the run.
        met: the run that it is held against.
        turn: plan turn between them [degrees].
    """
    if None in (own.middle, met.middle):
        return None
    cover, low = (own, met) if terms.over else (met, own)
    apart, over = edge_apart(cover, low, turn), cover.under - cover.rise * low.half
    margins: dict[str, Callable[[], float]] = {
        CLASH: lambda: -max(_cures(terms, own, met, turn)),
        THROUGH: lambda: terms.play.apart - abs(own.under - met.under),
        MITRE: lambda: terms.play.apart - abs(own.under - met.under),
        BEND: lambda: own.half - terms.play.bearing - abs(bend_past(own, met)),
        FLUSH: lambda: terms.play.apart - abs(apart),
        EDGE: lambda: min(apart + cover.thick, low.plumb - apart),
        STEP: lambda: min(over - low.face, low.top - over),
        DIES: lambda: slip(cover, low, turn, cover.ear if terms.short else cover.overhang),
    }
    return margins[terms.joint]() if terms.joint in margins else None


def _cures(terms: Terms, own: Arm, met: Arm, turn: float) -> Iterator[float]:
    """Margins of the joints that two caps which clash may come to make."""
    yield slip(own, met, turn, 0.0)
    yield slip(met, own, turn, 0.0)
    if terms.way == STRAIGHT_ON and terms.even:
        through = abs(own.rise + met.rise) <= ONE_SLOPE
        bends = own.half - terms.play.bearing - abs(bend_past(own, met))
        yield terms.play.apart - abs(own.under - met.under) if through else bends
    if terms.way == SQUARE_ON and any(terms.levels):
        cover, low = (own, met) if terms.levels[0] else (met, own)
        yield terms.play.apart - abs(edge_apart(cover, low, turn))


class _Said(NamedTuple):
    """An arm in the words of a row: formula parts; `swung` turns level lengths where `lean` was recorded."""

    half: str
    rise: str
    under: str
    thick: str
    plumb: str
    width: str
    overhang: str
    swung: str
    lean: str
    ear: str

    @property
    def near(self) -> str:
        return f"{self.half}-{self.ear}" if self.ear else self.half

    @property
    def face(self) -> str:
        return f"({self.under}+{self.half}*{self.rise})"

    @property
    def top(self) -> str:
        return f"({self.face}+{self.plumb})"


def _said(end: str, run: tuple[str, str], middle: str, leaning: int, *, is_askew: bool) -> _Said:
    """An arm by the joins that lead to its run and its assembly."""
    line, assembly = run
    thick, lean = f"{{{assembly}.cap_thickness}}", f"{{{line}.{end}_lean}}"
    slant = f"TAN(RADIANS(ABS({{{line}.{end}_skew}})))"
    rise = rise_excel(f"{{{line}.tangent}}", end)
    wider, turned = (wide_excel(lean), swung_excel(rise, lean)) if leaning else ("", "")
    return _Said(
        half=f"{{{line}.{end}_face}}/2{wider}", rise=f"({rise}{turned})" if leaning else rise, under=middle,
        thick=thick, plumb=f"{thick}*{{{line}.secant}}{turned}", width=f"{{{assembly}.cap_width}}",
        overhang=f"{{{assembly}.cap_overhang}}", swung=turned, lean=lean,
        ear=f"{{{assembly}.cap_width}}/2*{slant}" if is_askew else "",
    )  # fmt: skip


def own_said(end: str, leaning: int, *, is_askew: bool = False) -> _Said:
    """The run of the row, in its words."""
    return _said(end, ("line", "assembly"), "{middle}", leaning, is_askew=is_askew)


def met_said(end: str, leaning: int, *, is_askew: bool = False) -> _Said:
    """The run that it is held against."""
    return _said(end, ("met_line", "met_assembly"), "{met.middle}", leaning, is_askew=is_askew)


@cache
def margin_excel(terms: Terms) -> str:
    """Formula of `margin_of`, in words and joins; blank where a height is not known."""
    own = own_said(terms.ends[0], terms.leaning[0], is_askew=terms.askew[0])
    met = met_said(terms.ends[1], terms.leaning[1], is_askew=terms.askew[1])
    room = _room_excel(terms, own, met)
    return f'=IF(OR({own.under}="",{met.under}=""),"",{room})' if room else ""


def _room_excel(terms: Terms, own: _Said, met: _Said) -> str:
    cover, low = (own, met) if terms.over else (met, own)
    apart, over = _edge_excel(cover, low), f"({cover.under}-{cover.rise}*{low.half})"
    together = f"{terms.play.apart:g}-ABS({own.under}-{met.under})"
    levels = terms.levels if terms.over else (terms.levels[1], terms.levels[0])
    margins = {
        CLASH: f"-MAX({','.join(_cures_excel(terms, own, met))})",
        THROUGH: together,
        MITRE: together,
        BEND: f"{own.half}-{terms.play.bearing:g}-ABS({bend_excel(own, met)})",
        FLUSH: f"{terms.play.apart:g}-ABS({apart})",
        EDGE: f"MIN({apart}+{cover.thick},{low.plumb}-({apart}))",
        STEP: f"MIN({over}-{low.face},{low.top}-{over})",
        DIES: _slip_excel(terms.way, cover, low, levels, (cover.ear or "0") if terms.short else cover.overhang),
    }
    return margins.get(terms.joint, "")


def _cures_excel(terms: Terms, own: _Said, met: _Said) -> Iterator[str]:
    yield _slip_excel(terms.way, own, met, terms.levels, "0")
    yield _slip_excel(terms.way, met, own, (terms.levels[1], terms.levels[0]), "0")
    if terms.way == STRAIGHT_ON and terms.even:
        through = f"{terms.play.apart:g}-ABS({own.under}-{met.under})"
        bends = f"{own.half}-{terms.play.bearing:g}-ABS({bend_excel(own, met)})"
        yield f"IF(ABS({own.rise}+{met.rise})<={ONE_SLOPE:g},{through},{bends})"
    if terms.way == SQUARE_ON and any(terms.levels):
        cover, low = (own, met) if terms.levels[0] else (met, own)
        yield f"{terms.play.apart:g}-ABS({_edge_excel(cover, low)})"


def bend_excel(own: _Said, met: _Said) -> str:
    """Formula part: the twin of `bend_past`."""
    bends = f"({own.rise}+{met.rise})"
    return f"IF(ABS({bends})<{_SAME},{_NEVER},({own.under}-{met.under})/{bends})"


def edge_excel(cover: _Said) -> str:
    """Formula part: from the middle of the post to the edge of the cap over it, along the other run."""
    sine = "SIN(RADIANS(ABS({turn})))"
    return f"IF({sine}<{_SAME},{_NEVER},{cover.width}/2/{sine})"


def _edge_excel(cover: _Said, low: _Said) -> str:
    return f"{low.under}+{low.rise}*{edge_excel(cover)}+{low.plumb}-{cover.under}-{cover.plumb}"


def _slip_excel(way: str, cover: _Said, low: _Said, levels: tuple[bool, bool], overhang: str) -> str:
    """Formula part: the twin of `slip`.

    Args:
        way: straight, square or askew.
        cover: the run whose cap runs over the post.
        low: the other.
        levels: whether each of them is level.
        overhang: of the cover past the far face.
    """
    if way == STRAIGHT_ON:
        at_face, nearer = f"{cover.under}-{cover.rise}*{low.half}-{low.top}", f"-{low.ear}" if low.ear else "0"
        bends = f"({cover.rise}+{low.rise})"
        return f"({at_face}-MAX({bends}*({nearer}),{bends}*{overhang}))"
    if way == SQUARE_ON:
        falls = f"{cover.rise}*MIN({low.width}/2,{cover.half}+{overhang})"
        fallen = f"IF({cover.rise}>0,{falls},-{cover.rise}*{low.width}/2)"
        return f"({cover.under}-{fallen}-{low.top}-{_gained_excel(low, f'{cover.width}/2')})"
    turn = "RADIANS({turn})"
    far = f"({cover.width}/2+{low.width}/2*ABS(COS({turn})))/ABS(SIN({turn}))"
    if levels[0]:
        return f"({cover.under}-{low.top}-{_gained_excel(low, far)})"
    side = f"{low.width}/2*ABS(SIN({turn}))"
    corners = (
        f"{cover.rise}*MAX(-({at})*COS({turn}){sign}{side},-({cover.half}+{overhang}))-{low.rise}*({at}-{low.half})"
        for at in (low.near, far)
        for sign in "-+"
    )
    return f"({cover.under}-{low.top}+MIN({','.join(corners)}))"


def _gained_excel(low: _Said, far: str) -> str:
    """Formula part: what the top of a cap that ends on the face gains from there."""
    gained = f"MAX(0,{low.rise})*({far}-{low.half})"
    return f"({gained}+MAX(0,-{low.rise})*{low.ear})" if low.ear else gained
