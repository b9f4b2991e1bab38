"""Cap boards: how far each reaches past the faces of its two supports, and how its ends are cut.

Caps run over posts. A level corner of turn T is mitred at T/2. In line with a rake both caps are cut at
half the slope; at the top of a flight the upper surface is the longer one, at its foot the underside.
A raked cap met at a plan corner cannot close on one mitre: it butts against the level cap.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, CUT, LENGTH, MARK, VERDICT
from railbook.geometry.cells import of_assembly, of_measures
from railbook.geometry.joints import AT_WALL, BEND, BUTT, CORNER, DOUBLED_BACK, OPEN_END, End, Joints
from railbook.geometry.lines import Line
from railbook.job.assemblies import Assembly


@dataclass(frozen=True)
class Cap:
    """The cap board of one run; lengths in the job's unit, along the board unless said otherwise.

    Attributes:
        run: its run, at `line_row` of the working tabs.
        joints: how it ends.
        from_met: the run that it meets at From, `to_met` at To; None where it meets none.
    """

    run: str
    line: Line
    line_row: int
    joints: Joints
    from_met: Line | None
    to_met: Line | None

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
    def from_reach(self) -> float:
        """Level distance past the From face, at the middle of the board."""
        return self._reach(self.joints.from_end, self.line.measures.from_face)

    @cached_property
    def to_reach(self) -> float:
        """Level distance past the To face, at the middle of the board."""
        return self._reach(self.joints.to_end, self.line.measures.to_face)

    def _reach(self, end: End, face: float) -> float:
        if end.kind == AT_WALL:
            return 0.0
        if end.kind in (OPEN_END, DOUBLED_BACK):
            return face + (self._assembly.cap_overhang or 0.0)
        if end.kind == BUTT:
            return -((self._assembly.cap_width or 0.0) - face) / 2
        return face / 2

    @cached_property
    def middle_length(self) -> float:
        """Along the middle of the board; of a raked cap, along its underside."""
        reach = self.line.lean.cap_clear + self.from_reach + self.to_reach
        return reach * self.line.secant

    @cached_property
    def from_cut(self) -> float:
        """Saw setting at From, from square; the sign tells which way it leans [degrees]."""
        if self.joints.from_end.kind == AT_WALL:
            return self.line.measures.slope_angle - self.line.lean.from_lean
        return self._cut(self.joints.from_end, self.joints.from_turn, self.from_met, -1)

    @cached_property
    def to_cut(self) -> float:
        """Saw setting at To, from square [degrees]."""
        if self.joints.to_end.kind == AT_WALL:
            return self.line.measures.slope_angle + self.line.lean.to_lean
        return self._cut(self.joints.to_end, self.joints.to_turn, self.to_met, 1)

    def _cut(self, end: End, turned: float, met: Line | None, side: int) -> float:
        if end.kind == CORNER:
            return turned / 2
        longer_above = side if end.upper else -side
        slope = self.line.measures.slope_angle
        if end.kind == BUTT:
            return longer_above * slope
        if end.kind != BEND or met is None:
            return 0.0
        return longer_above * abs(slope - met.measures.slope_angle) / 2

    @cached_property
    def mitre_gain(self) -> float:
        """Long point less middle: half the width times the tangents of both mitres."""
        return (self._assembly.cap_width or 0.0) / 2 * sum(self._tangents(CORNER))

    @cached_property
    def bend_gain(self) -> float:
        """What bevels at the top of a flight and plumb cuts at a wall add above, where the upper side is longer."""
        return (self._assembly.cap_thickness or 0.0) * (sum(self._tangents(BEND, BUTT)) + self._wall_points)

    @property
    def _wall_points(self) -> float:
        """Tangents of the cuts at walls, as far as the upper side stands out past the underside."""
        low = math.tan(math.radians(self.from_cut)) if self.joints.from_end.kind == AT_WALL else 0.0
        high = math.tan(math.radians(self.to_cut)) if self.joints.to_end.kind == AT_WALL else 0.0
        return max(0.0, -low) + max(0.0, high)

    def _tangents(self, *kinds: str) -> list[float]:
        ends = ((self.joints.from_end, self.from_cut), (self.joints.to_end, self.to_cut))
        return [
            math.tan(math.radians(abs(cut)))
            for end, cut in ends
            if end.kind in kinds and (end.upper or end.kind == CORNER)
        ]

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
        lines = (self.line, self.from_met, self.to_met)
        return RUN_AGAIN if any(line is not None and line.status for line in lines) else ""


def _joint(column: str) -> str:
    """Formula part: a word of this run's joints."""
    return f"INDEX({{joints_{column}}},{{line_row}})"


def _reach(end: str) -> str:
    """Formula: how far the cap reaches past the face at one end."""
    face, joint = of_measures(f"{end}_face"), _joint(f"{end}_joint")
    return (
        f'=IF({joint}="Wall",0,IF(OR({joint}="End",{joint}="Doubled back"),{face}+{of_assembly("cap_overhang")},'
        f'IF({joint}="Butt",-({of_assembly("cap_width")}-{face})/2,{face}/2)))'
    )


def _cut(end: str, side: str, leaning: str) -> str:
    """Formula: saw setting at one end."""
    slope, joint, other = of_measures("slope_angle"), _joint(f"{end}_joint"), _joint(f"{end}_other")
    longer_above = f"IF({_joint(f'{end}_upper')}=1,{side}1,-({side}1))"
    return (
        f'=IF({joint}="Wall",{slope}{leaning}INDEX({{lines_{end}_lean}},{{line_row}}),IF({joint}="Corner",{_joint(f"{end}_turn")}/2,IF({joint}="Butt",{longer_above}*{slope},'
        f'IF({joint}="Bend",{longer_above}*ABS({slope}-INDEX({{lines_slope_angle}},{other}))/2,0))))'
    )


def _mitre(end: str) -> str:
    """Formula part: tangent of a mitre at one end."""
    return f'IF({_joint(f"{end}_joint")}="Corner",TAN(RADIANS(ABS({{{end}_cut}}))),0)'


def _bevel(end: str) -> str:
    """Formula part: tangent of a bevel at one end, where the upper surface is the longer one."""
    joint = _joint(f"{end}_joint")
    bevelled = f'OR({joint}="Bend",{joint}="Butt")'
    return f"IF(AND({bevelled},{_joint(f'{end}_upper')}=1),TAN(RADIANS(ABS({{{end}_cut}}))),0)"


_WALL_POINTS = (
    f'IF({_joint("from_joint")}="Wall",MAX(0,-TAN(RADIANS({{from_cut}}))),0)'
    f'+IF({_joint("to_joint")}="Wall",MAX(0,TAN(RADIANS({{to_cut}}))),0)'
)


def _met(end: str) -> str:
    """Formula part: whether the run met at one end asks for another run."""
    other = _joint(f"{end}_other")
    return f'IF({other}="",FALSE,INDEX({{lines_status}},{other})="run again")'


TAB = Tab(
    "caps",
    "Working caps",
    Cap,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Run row", COUNT),
        Column("like_row", "Like row", COUNT),
        Column("assembly_row", "Assembly row", COUNT, f"={of_measures('assembly_row')}"),
        Column("from_reach", "Past the From face", LENGTH, _reach("from")),
        Column("to_reach", "Past the To face", LENGTH, _reach("to")),
        Column(
            "middle_length", "Middle length", LENGTH,
            f"=(INDEX({{lines_cap_clear}},{{line_row}})+{{from_reach}}+{{to_reach}})*{of_measures('secant')}",
        ),
        Column("from_cut", "Cut at From", CUT, _cut("from", "-", "-")),
        Column("to_cut", "Cut at To", CUT, _cut("to", "", "+")),
        Column("mitre_gain", "Mitres add", LENGTH, f"={of_assembly('cap_width')}/2*({_mitre('from')}+{_mitre('to')})"),
        Column(
            "bend_gain", "Bevels add", LENGTH,
            f"={of_assembly('cap_thickness')}*({_bevel('from')}+{_bevel('to')}+{_WALL_POINTS})",
        ),
        Column("long_point", "Long point", LENGTH, "={middle_length}+{mitre_gain}+{bend_gain}"),
        Column("short_point", "Short point", LENGTH, "={middle_length}-{mitre_gain}"),
        Column(
            STATUS, "Status", VERDICT,
            ask_again('INDEX({lines_status},{line_row})="run again"', _met("from"), _met("to")),
        ),
    ),
    purpose="Cap boards: how far each reaches past its supports, and how its ends are cut.",
    key="run",
)  # fmt: skip
