"""Cap ends: how the cap of every run ends at its two supports, how far past the face, and how it is cut.

Which joint is made is chosen (`joining.py`); heights, turn, reach, cut and the margin of the joint are live: the least
of the conditions of its own kind, below zero as soon as it cannot be built as laid out.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache, cached_property

from railbook.basics.double_entry import Column, Tab
from railbook.basics.joins import Join, Later, through, written
from railbook.basics.kinds import ANGLE, COUNT, INCH, LENGTH, TEXT
from railbook.geometry import arrivals, lines
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_words import not_round_words, turned_words
from railbook.geometry.deck_corners import is_round, past_face
from railbook.geometry.joints import (
    AT_EDGES,
    AT_WALL,
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
    bend_past,
    edge_of,
    is_straight,
    mitre,
    play_of,
    turned,
)  # fmt: skip
from railbook.geometry.lifts import FROM
from railbook.geometry.lines import Line
from railbook.geometry.margins import (
    STRAIGHT_ON,
    TOGETHER,
    Terms,
    margin_excel,
    margin_of,
    met_said,
    own_said,
    way_of,
)  # fmt: skip
from railbook.job import assemblies, runs
from railbook.job.assemblies import Assembly
from railbook.job.runs import LEVEL

STANDS_PROUD, CAPPED, BARE = "Proud", "Capped", "Bare"  # what a railing's posts carry


@dataclass(frozen=True)
class CapEnd:
    """One end of a cap.

    Attributes:
        arrival: its run there.
        kind: how it ends, one of the words of `joints.py`.
        joint: the joint that it is a part of: of a cap that runs over the post, how the other ends.
        met: the run that it is held against, at `met_row` of this tab; None where it meets none.
        short: whether the cap that runs over the post is cut off at the face instead of overhanging it.
        form: capped, bare or proud, when it was chosen.
        way: straight, square or askew, when it was chosen.
        even: whether both caps were equally thick.
        unit: length unit at the time.
    """

    arrival: Arrival = field(repr=False)
    kind: str
    joint: str = ""
    met: Arrival | None = field(repr=False, default=None)
    met_row: int | None = None
    short: bool = False
    form: str = CAPPED
    way: str = STRAIGHT_ON
    even: bool = True
    unit: str = INCH

    @property
    def line(self) -> Line:
        """Its run."""
        return self.arrival.line

    @property
    def line_row(self) -> int:
        """Row of its run on Working runs."""
        return self.arrival.line_row

    @property
    def met_line_row(self) -> int | None:
        """Row of the run that it is held against."""
        return None if self.met is None else self.met.line_row

    @property
    def is_held(self) -> bool:
        """Whether it is held against another run."""
        return self.met is not None

    @property
    def is_bend(self) -> bool:
        """Whether two caps bend there."""
        return self.kind == BEND

    @cached_property
    def turn(self) -> float:
        """Plan turn into the run that it is held against [degrees]; 0 where a direction is blank."""
        return 0.0 if self.met is None else turned(self.arrival.arm, self.met.arm)

    @property
    def ends(self) -> tuple[str, str]:
        """Which end of its run it is, and which of the other."""
        return self.arrival.end, "" if self.met is None else self.met.end

    @property
    def leaning(self) -> tuple[int, int]:
        """1 for each of the two runs along which the support leans."""
        return self.arrival.leaning, 0 if self.met is None else self.met.leaning

    @property
    def turn_excel(self) -> str:
        """Formula part of the same."""
        own, met = self.ends
        return _in_words(
            _TURN.replace("OWN", "180" if own == FROM else "0").replace("MET", "0" if met == FROM else "180")
        )

    @property
    def upper(self) -> int:
        """1 where the upper surface is the longer one at a bend."""
        return int(self.met is not None and self.is_bend and self.arrival.arm.rise + self.met.arm.rise < 0)

    @property
    def upper_excel(self) -> str:
        """Formula part of what both caps rise, walked away from the post."""
        own, met = own_said(self.ends[0], self.leaning[0]), met_said(self.ends[1], self.leaning[1])
        return _in_words(f"{own.rise}+{met.rise}")

    @cached_property
    def terms(self) -> Terms | None:
        """What its margin is made from; None where nothing is held."""
        met = self.met
        if met is None or (self.short and BARE in (self.form, form_of(met.assembly))):
            return None
        levels = self.arrival.line.kind == LEVEL, met.line.kind == LEVEL
        over = self.kind in (OPEN_END, CUT_OFF)
        ends = self.arrival.end, met.end
        askew, leaning, play = (bool(self.arrival.side), bool(met.side)), self.leaning, play_of(self.unit)
        return Terms(self.joint, over, ends, levels, self.way, self.short, self.even, play, leaning, askew)

    @cached_property
    def margin(self) -> float | None:
        """What is left until the joint can no longer be built; None where nothing is held."""
        if self.terms is None or self.met is None:
            return None
        return margin_of(self.terms, self.arrival.arm, self.met.arm, self.turn)

    @property
    def margin_excel(self) -> str:
        """Formula of the same."""
        return "" if self.terms is None else _in_words(margin_excel(self.terms))

    @cached_property
    def past(self) -> float:
        """Level distance past the face of the support, at the middle of the board."""
        half, turned = self.arrival.arm.half, self.arrival.swung
        if self.kind in (DIES, STEP, PROUD):
            return -self.line.guard.settings.fit_allowance
        if self.kind in (OPEN_END, CUT_OFF):
            return 2 * half * turned + ((self.arrival.assembly.cap_overhang or 0.0) if self.kind == OPEN_END else 0.0)
        if self.kind in TOGETHER or self.met is None:
            return half * turned if self.kind in TOGETHER else 0.0
        if self.kind == IN_AIR:
            return 2 * half + past_face(self.arrival, self.met, self.turn)
        if self.kind == BEND:
            known = None not in (self.arrival.middle, self.met.middle)
            return (half + (bend_past(self.arrival.arm, self.met.arm) if known else 0.0)) * turned
        return self._past_edge(self.met) if self.kind in AT_EDGES else 0.0

    def _past_edge(self, cover: Arrival) -> float:
        """Past the face to the edge of a level cap, whose middle is that of the post at its own height."""
        arm, lean = self.arrival.arm, math.tan(math.radians(self.arrival.lean))
        higher = 0.0 if None in (arm.middle, cover.middle) else arm.face - cover.arm.under
        return arm.half - edge_of(cover.arm, self.turn) - higher * lean

    @property
    def is_askew(self) -> bool:
        """Whether it lies on a face of its support that its run meets askew."""
        return bool(self.arrival.side) and self.kind in (*ON_FACES, CUT_OFF)

    @cached_property
    def cut(self) -> float:
        """Saw setting, from square; the sign tells which way it leans [degrees].

        Of an end askew what the saw is turned by: - where the walking side is the longer one at its upper end.
        """
        if self.is_askew:
            return -math.degrees(math.atan(math.tan(math.radians(self.arrival.skew)) * self.line.secant))
        return self._cut_square

    @property
    def _cut_square(self) -> float:
        """The same of an end that lies on no face askew."""
        slope, lean = self.line.measures.slope_angle, self.line.lean
        if self.kind in ON_FACES:
            return slope - lean.from_lean if self.arrival.is_from else slope + lean.to_lean
        if self.kind == CUT_OFF:
            return slope
        if self.met is None:
            return 0.0
        if self.kind in MITRED:
            return mitre(self.arrival.arm.width, self.met.arm.width, self.turn)
        if self.kind in AT_EDGES:
            return (abs(self.turn) - SQUARE) * (-1 if self.turn < 0 else 1) if self.line.kind == LEVEL else slope
        return self._bevel if self.is_bend else 0.0

    @property
    def _bevel(self) -> float:
        """Half of what the two slopes bend."""
        met = self.met or self.arrival
        longer_above = 1 if self.arrival.is_from != bool(self.upper) else -1
        slopes = (math.copysign(each.line.measures.slope_angle, each.arm.rise) for each in (self.arrival, met))
        return longer_above * abs(sum(slopes)) / 2

    @property
    def slipped(self) -> bool:
        """Whether the joint can no longer be built as laid out."""
        return self.margin is not None and self.margin < -SAME

    @property
    def slipped_excel(self) -> str:
        """Formula part: the same."""
        return "IF(ISNUMBER({margin}),{margin}<-" + f"{SAME:.6f},FALSE)" if self.terms is not None else "FALSE"

    @property
    def turned(self) -> bool:
        """Whether the turn is another one than the joint was chosen for."""
        angle = abs(self.turn)
        if self.met is None:
            return False
        if self.kind == REFUSED:
            return angle <= SHARPEST
        if self.kind == IN_AIR:
            return not is_round(self.arrival, self.met, self.turn)
        return angle > SHARPEST or (way_of(angle) != self.way and not (self.kind == MITRE and not is_straight(angle)))

    @property
    def turned_excel(self) -> str:
        """Formula part: the same."""
        if self.kind == IN_AIR:
            return not_round_words(*self.ends)
        return "FALSE" if self.met is None else turned_words(self.kind, self.way)

    @property
    def uneven(self) -> bool:
        """Whether two caps that were equally thick are no longer so, or the other way."""
        return self.met is not None and is_even(self.arrival, self.met) != self.even

    @property
    def uneven_excel(self) -> str:
        """Formula part: the same."""
        if self.met is None:
            return "FALSE"
        apart = "ABS({assembly.cap_thickness}-{met_assembly.cap_thickness})"
        return f"({apart}<{SAME:.6f})<>{str(self.even).upper()}"


def form_of(assembly: Assembly) -> str:
    """Whether a railing's posts stand proud, or a cap runs over them, or neither."""
    if assembly.post_proud is not None:
        return STANDS_PROUD
    return CAPPED if assembly.cap_thickness else BARE


def is_even(one: Arrival, other: Arrival) -> bool:
    """Whether two caps are equally thick."""
    return abs(one.arm.thick - other.arm.thick) < SAME


_TURN = (  # 0 where a direction is blank
    "IF(COUNT({typed.direction},{met_typed.direction})<2,0,"
    "MOD({met_typed.direction}+MET-({typed.direction}+OWN)+540,360)-180)"
)


def at_shared_posts(ends: Iterable[CapEnd]) -> dict[str, list[CapEnd]]:
    """Post that two or more runs share -> their ends there; at a wall or a column no caps meet."""
    met: dict[str, list[CapEnd]] = {}
    for end in ends:
        if end.kind != AT_WALL:
            met.setdefault(end.arrival.support, []).append(end)
    return {mark: those for mark, those in met.items() if len(those) > 1}


TAB = Tab(
    "cap_ends",
    "Working cap ends",
    CapEnd,
    (
        Column("kind", "Cap ends", TEXT, width=12),
        Column("met_row", "Held against row", COUNT),
        Column("met_line_row", "Its run row", COUNT),
        Column("turn", "Turn", ANGLE, "=[turn_excel]", when="is_held"),
        Column("upper", "Longer on top", COUNT, "=IF([upper_excel]<0,1,0)", when="is_bend"),
        Column("margin", "Margin", LENGTH, "[margin_excel]"),
    ),
    purpose="How the cap of every run ends at its two supports; the margin is what is left until it cannot.",
    parts={"arrival": arrivals.PART},
    joins={
        "met": Join(Later("cap_ends"), "met_row", "met", maybe=True),
        "met_line": Join(lines.TAB, "met_line_row", "met.line", maybe=True),
        "met_typed": Join(runs.TAB, "met_line.run_row", "met.line.measures.typed", maybe=True),
        "met_assembly": Join(assemblies.TAB, "met_line.assembly_row", "met.assembly", maybe=True),
        **through("arrival", arrivals.JOINS),
    },
)


@cache
def _in_words(formula: str) -> str:
    """A formula with its joined words written out."""
    return written(formula, TAB.joins, TAB.terms)
