"""Formulas of cap ends, in the words of a row and of the run that an end is held against.

`{middle}`, `{turn}` and `{upper}` are figures of the end itself; tabs that hold the end put their own joins for them.
"""

from railbook.geometry.joints import (
    AT_EDGES,
    BEND,
    CUT_OFF,
    DIES,
    IN_AIR,
    MITRE,
    MITRED,
    ON_FACES,
    OPEN_END,
    PROUD,
    REFUSED,
    SAME,
    SHARPEST,
    SQUARE,
    STEP,
    STRAIGHT,
)  # fmt: skip
from railbook.geometry.leaning import tangent_excel
from railbook.geometry.lifts import FROM
from railbook.geometry.margins import (
    SQUARE_ON,
    STRAIGHT_ON,
    TOGETHER,
    bend_excel,
    edge_excel,
    met_said,
    own_said,
)  # fmt: skip

NOTHING = "0"


def past_words(kind: str, own: str, met: str, leaning: tuple[int, int]) -> str:
    """Formula part of how far a cap reaches past the face, in words."""
    here, there = own_said(own, leaning[0]), met_said(met, leaning[1])
    half, turned = here.half, here.swung
    if kind in (DIES, STEP, PROUD):
        return "-{fit_allowance}"
    if kind == IN_AIR:
        own_out, met_out, turn = f"SUM({{line.{own}_out}})", f"SUM({{met_line.{met}_out}})", "RADIANS(ABS({turn}))"
        met_at = f"SUM({{line.{own}_near}})+({met_out}-{own_out}*COS({turn}))/SIN({turn})"
        return f"2*{half}+IF(OR(ABS({{turn}})<={STRAIGHT:g},ABS({{turn}})>{SHARPEST:g}),0,{met_at})"
    if kind in AT_EDGES:
        higher = f"IF(COUNT({{middle}},{{met.middle}})<2,0,{here.face}-{{met.middle}})"
        return f"{half}-{edge_excel(there)}" + (f"-{higher}*{tangent_excel(here.lean)}" if turned else "")
    if kind == BEND:
        reached = f"{half}+IF(COUNT({{middle}},{{met.middle}})<2,0,{bend_excel(here, there)})"
        return f"({reached}){turned}" if turned else reached
    whole = {OPEN_END: f"2*{half}{turned}+{{assembly.cap_overhang}}", CUT_OFF: f"2*{half}{turned}"}
    return f"{half}{turned}" if kind in TOGETHER else whole.get(kind, NOTHING)


def cut_words(kind: str, own: str, met: str, *, is_level: bool) -> str:
    """Formula part of the saw setting, in words."""
    is_from = own == FROM
    if kind in ON_FACES:
        return "{line.slope_angle}" + ("-{line.from_lean}" if is_from else "+{line.to_lean}")
    if kind == CUT_OFF:
        return NOTHING if is_level else "{line.slope_angle}"
    if kind in MITRED:
        turn = "RADIANS({turn})"
        own_width, met_width = "{assembly.cap_width}", "{met_assembly.cap_width}"
        wider = f"IF({own_width}*{met_width}=0,1,{met_width}/{own_width})"
        tangent = f"({wider}-COS({turn}))/SIN({turn})"
        return f"IF(ABS(SIN({turn}))<{SAME:.6f},0,DEGREES(ATAN({tangent})))"
    if kind in AT_EDGES:
        return f"IF({{turn}}<0,-1,1)*(ABS({{turn}})-{SQUARE:g})" if is_level else "{line.slope_angle}"
    if kind != BEND:
        return NOTHING
    slopes = (f"{'' if end == FROM else '-'}{{{line}.slope_angle}}" for end, line in ((own, "line"), (met, "met_line")))
    return f"IF({{upper}}=1,{'-1,1' if is_from else '1,-1'})*ABS({'+'.join(slopes)})/2"


def turn_words_of(end: str, *, is_level: bool) -> str:
    """Formula part of what the saw is turned by for a cap's end, from or to, that lies askew on a face."""
    skew = f"{{line.{end}_skew}}"
    return f"-{skew}" if is_level else f"-DEGREES(ATAN(TAN(RADIANS({skew}))*{{line.secant}}))"


def tilt_words_of(end: str) -> str:
    """Formula part of the tilt of a raked cap's end, from or to, that lies askew on a face."""
    return f"DEGREES(ASIN(COS(RADIANS({{line.{end}_skew}}))*SIN(RADIANS({{line.slope_angle}}))))"


def not_round_words(own: str, met: str) -> str:
    """Formula part: whether a cap meets no other round an outside corner any more, or what tells where is lost."""
    right = "{turn}" if own != FROM else "(-{turn})"
    known = f"COUNT({{line.{own}_near}},{{line.{own}_out}},{{met_line.{met}_out}})<3"
    return f"OR({right}<={STRAIGHT:g},{right}>{SHARPEST:g},{known})"


def turned_words(kind: str, way: str) -> str:
    """Formula part: whether the turn is another one than the joint was chosen for."""
    angle = "ABS({turn})"
    if kind == REFUSED:
        return f"{angle}<={SHARPEST:g}"
    if kind == MITRE:
        return f"OR({angle}<={STRAIGHT:g},{angle}>{SHARPEST:g})"
    square = f"ABS({angle}-{SQUARE:g})>{STRAIGHT:g}"
    if way == STRAIGHT_ON:
        return f"{angle}>{STRAIGHT:g}"
    return square if way == SQUARE_ON else f"OR({angle}<={STRAIGHT:g},NOT({square}),{angle}>{SHARPEST:g})"
