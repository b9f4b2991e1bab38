"""Cap boards: how far each reaches past the faces of its two supports, and how its ends are cut.

Caps run over posts. A level corner of turn T is mitred at T/2. In line with a rake both caps are cut at
half the slope; at the top of a flight the upper surface is the longer one, at its foot the underside.
A raked cap met at a plan corner cannot close on one mitre: it butts against the level cap.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.kinds import ANGLE, COUNT, CUT, LENGTH, MARK, TEXT, VERDICT
from railbook.geometry.cells import of_assembly, of_measures
from railbook.geometry.lines import Line
from railbook.job.assemblies import Assembly

AT_WALL, OPEN_END, CORNER, BEND, BUTT, OVER_CENTRE = "Wall", "End", "Corner", "Bend", "Butt", "Over post"


def turn(*, arriving: float, leaving: float) -> float:
    """Signed plan turn between two bearings, clockwise positive, within -180 to 180 [degrees].

    >>> turn(arriving=0.0, leaving=90.0), turn(arriving=350.0, leaving=10.0), turn(arriving=90.0, leaving=45.0)
    (90.0, 20.0, -45.0)
    """
    return (leaving - arriving + 540.0) % 360.0 - 180.0


@dataclass(frozen=True)
class Joint:
    """How a cap ends, chosen from the runs that meet there.

    Attributes:
        kind: one of the words above.
        other_row: row of the run that it meets on the working tabs; None when there is none.
        reverse: degrees added to that run's direction when it arrives there rather than leaves.
    """

    kind: str
    other: Line | None = None
    reverse: float = 0.0

    @property
    def other_row(self) -> int | None:
        """Row of the run that it meets on the working tabs."""
        return None if self.other is None else self.other.line_row


@dataclass(frozen=True)
class Cap:
    """The cap board of one run; lengths in the job's unit, along the board unless said otherwise.

    Attributes:
        run: its run, at `line_row` of the working tabs.
        from_joint: how it ends at From; `to_joint` at To.
    """

    run: str
    line: Line
    line_row: int
    from_end: Joint
    to_end: Joint

    @property
    def from_joint(self) -> str:
        """How it ends at From."""
        return self.from_end.kind

    @property
    def to_joint(self) -> str:
        """How it ends at To."""
        return self.to_end.kind

    @property
    def from_other(self) -> int | None:
        """Row of the run met at From."""
        return self.from_end.other_row

    @property
    def to_other(self) -> int | None:
        """Row of the run met at To."""
        return self.to_end.other_row

    @property
    def from_reverse(self) -> float:
        """180 when the run met at From ends there."""
        return self.from_end.reverse

    @property
    def to_reverse(self) -> float:
        """180 when the run met at To ends there."""
        return self.to_end.reverse

    @property
    def like_row(self) -> int:
        """A cap is like itself only."""
        return self.line_row

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @property
    def _assembly(self) -> Assembly:
        return self.line.measures.assembly

    @cached_property
    def from_turn(self) -> float:
        """Plan turn at From, seen when walking To to From [degrees]; 0 where a direction is blank."""
        return self._turn(self.from_end, 180.0)

    @cached_property
    def to_turn(self) -> float:
        """Plan turn at To, seen when walking From to To [degrees]."""
        return self._turn(self.to_end, 0.0)

    def _turn(self, joint: Joint, own: float) -> float:
        mine = self.line.measures.typed.direction
        other = None if joint.other is None else joint.other.measures.typed.direction
        if mine is None or other is None:
            return 0.0
        return turn(arriving=mine + own, leaving=other + joint.reverse)

    @cached_property
    def from_reach(self) -> float:
        """Level distance past the From face, at the middle of the board."""
        return self._reach(self.from_end, self.line.measures.from_face)

    @cached_property
    def to_reach(self) -> float:
        """Level distance past the To face, at the middle of the board."""
        return self._reach(self.to_end, self.line.measures.to_face)

    def _reach(self, joint: Joint, face: float) -> float:
        if joint.kind == AT_WALL:
            return 0.0
        if joint.kind == OPEN_END:
            return face + (self._assembly.cap_overhang or 0.0)
        if joint.kind == BUTT:
            return -((self._assembly.cap_width or 0.0) - face) / 2
        return face / 2

    @cached_property
    def middle_length(self) -> float:
        """Along the middle of the board; of a raked cap, along its underside at the upper bend."""
        reach = self.line.measures.clear_top + self.from_reach + self.to_reach
        return reach * self.line.secant

    @cached_property
    def from_cut(self) -> float:
        """Saw setting at From, from square: across the width at a corner, through the thickness at a bend."""
        return self._cut(self.from_end, self.from_turn)

    @cached_property
    def to_cut(self) -> float:
        """Saw setting at To, from square [degrees]."""
        return self._cut(self.to_end, self.to_turn)

    def _cut(self, joint: Joint, turned: float) -> float:
        if joint.kind == CORNER:
            return turned / 2
        if joint.kind == BUTT:
            return self.line.measures.slope_angle
        return self._bend(joint)

    def _bend(self, joint: Joint) -> float:
        """Half the slope between the two runs."""
        if joint.kind != BEND or joint.other is None:
            return 0.0
        return abs(self.line.measures.slope_angle - joint.other.measures.slope_angle) / 2

    @cached_property
    def mitre_gain(self) -> float:
        """Long point less middle: half the width times the tangents of both mitres."""
        return (self._assembly.cap_width or 0.0) / 2 * sum(abs(each) for each in self._tangents(CORNER))

    @cached_property
    def bend_gain(self) -> float:
        """What bevels through the thickness add on the longer surface."""
        return (self._assembly.cap_thickness or 0.0) * sum(abs(each) for each in self._tangents(BEND, BUTT))

    def _tangents(self, *kinds: str) -> list[float]:
        ends = ((self.from_end, self.from_cut), (self.to_end, self.to_cut))
        return [math.tan(math.radians(cut)) for joint, cut in ends if joint.kind in kinds]

    @cached_property
    def long_point(self) -> float:
        """What the stock must hold."""
        return self.middle_length + self.mitre_gain + self.bend_gain

    @cached_property
    def short_point(self) -> float:
        """The shorter edge between two mitres."""
        return self.middle_length - self.mitre_gain

    @cached_property
    def status(self) -> str:
        """Asks for another run when its own run or one that it meets does."""
        met = [joint.other.status for joint in (self.from_end, self.to_end) if joint.other is not None]
        return next((each for each in (self.line.status, *met) if each), "")


def _turn(end: str, own: int) -> str:
    """Formula: plan turn at one end, 0 where a direction is blank."""
    mine = f"INDEX({{runs_direction}},{of_measures('run_row')})"
    other = f"INDEX({{runs_direction}},INDEX({{measures_run_row}},{{{end}_other}}))"
    return (
        f'=IF({{{end}_other}}="",0,IF(COUNT({mine},{other})<2,0,'
        f"MOD({other}+{{{end}_reverse}}-({mine}+{own})+540,360)-180))"
    )


def _reach(end: str) -> str:
    """Formula: how far the cap reaches past the face at one end."""
    face = of_measures(f"{end}_face")
    return (
        f'=IF({{{end}_joint}}="Wall",0,IF({{{end}_joint}}="End",{face}+{of_assembly("cap_overhang")},'
        f'IF({{{end}_joint}}="Butt",-({of_assembly("cap_width")}-{face})/2,{face}/2)))'
    )


def _cut(end: str) -> str:
    """Formula: saw setting at one end."""
    slope = of_measures("slope_angle")
    return (
        f'=IF({{{end}_joint}}="Corner",{{{end}_turn}}/2,IF({{{end}_joint}}="Butt",{slope},'
        f'IF({{{end}_joint}}="Bend",ABS({slope}-INDEX({{measures_slope_angle}},{{{end}_other}}))/2,0)))'
    )


def _tangent(end: str, kinds: str) -> str:
    """Formula part: tangent of one end's cut when its joint is of those kinds."""
    return f"IF({kinds.replace('?', f'{{{end}_joint}}')},TAN(RADIANS(ABS({{{end}_cut}}))),0)"


def _met(end: str) -> str:
    """Formula part: whether the run met at one end asks for another run."""
    return f'IF({{{end}_other}}="",FALSE,INDEX({{lines_status}},{{{end}_other}})="run again")'


_CORNER, _BEVEL = '?="Corner"', 'OR(?="Bend",?="Butt")'

TAB = Tab(
    "caps",
    "Working caps",
    Cap,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Run row", COUNT),
        Column("like_row", "Like row", COUNT),
        Column("assembly_row", "Assembly row", COUNT, f"={of_measures('assembly_row')}"),
        Column("from_joint", "At From", TEXT, width=9),
        Column("to_joint", "At To", TEXT, width=9),
        Column("from_other", "Meets row at From", COUNT),
        Column("to_other", "Meets row at To", COUNT),
        Column("from_reverse", "Reversed at From", COUNT),
        Column("to_reverse", "Reversed at To", COUNT),
        Column("from_turn", "Turn at From", ANGLE, _turn("from", 180)),
        Column("to_turn", "Turn at To", ANGLE, _turn("to", 0)),
        Column("from_reach", "Past the From face", LENGTH, _reach("from")),
        Column("to_reach", "Past the To face", LENGTH, _reach("to")),
        Column(
            "middle_length", "Middle length", LENGTH,
            f"=({of_measures('clear_top')}+{{from_reach}}+{{to_reach}})*{of_measures('secant')}",
        ),
        Column("from_cut", "Cut at From", CUT, _cut("from")),
        Column("to_cut", "Cut at To", CUT, _cut("to")),
        Column(
            "mitre_gain", "Mitres add", LENGTH,
            f"={of_assembly('cap_width')}/2*({_tangent('from', _CORNER)}+{_tangent('to', _CORNER)})",
        ),
        Column(
            "bend_gain", "Bevels add", LENGTH,
            f"={of_assembly('cap_thickness')}*({_tangent('from', _BEVEL)}+{_tangent('to', _BEVEL)})",
        ),
        Column("long_point", "Long point", LENGTH, "={middle_length}+{mitre_gain}+{bend_gain}"),
        Column("short_point", "Short point", LENGTH, "={middle_length}-{mitre_gain}"),
        Column(
            STATUS, "Status", VERDICT,
            f'=IF(OR(INDEX({{lines_status}},{{line_row}})="run again",{_met("from")},{_met("to")}),"run again","")',
        ),
    ),
    purpose="Cap boards: how far each reaches past its supports, and how its ends are cut.",
    key="run",
)  # fmt: skip
