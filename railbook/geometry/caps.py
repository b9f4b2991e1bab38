"""Cap boards: how far each reaches past the faces of its two supports, and how its ends are cut.

Caps run over posts. A level corner of turn T is mitred at T/2. In line with a rake both caps are cut at
half the slope; at the top of a flight the upper surface is the longer one, at its foot the underside.
A raked cap met at a plan corner cannot close on one mitre: it butts against the level cap.
"""

import math
from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import COUNT, CUT, LENGTH, MARK, VERDICT
from railbook.geometry import joints, lines
from railbook.geometry.joints import AT_WALL, BEND, BUTT, CORNER, DOUBLED_BACK, OPEN_END, End, Joints
from railbook.geometry.lines import Line
from railbook.job import assemblies
from railbook.job.assemblies import Assembly


@dataclass(frozen=True)
class Cap:
    """The cap board of one run; lengths in the job's unit, along the board unless said otherwise.

    Attributes:
        run: mark of its run `line`, at `line_row` of Working runs.
        joints: how it ends.
        from_met: the run that it meets at From, `to_met` at To; None where it meets none.
    """

    run: str
    line: Line = field(repr=False)
    line_row: int
    joints: Joints = field(repr=False)
    from_met: Line | None = field(repr=False)
    to_met: Line | None = field(repr=False)

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
        return TAB.status_of(self)


_REACH = (
    '=IF({joints.END_joint}="Wall",0,IF(OR({joints.END_joint}="End",{joints.END_joint}="Doubled back"),'
    '{line.END_face}+{assembly.cap_overhang},IF({joints.END_joint}="Butt",-({assembly.cap_width}-{line.END_face})/2,'
    "{line.END_face}/2)))"
)
_CUT = (
    '=IF({joints.END_joint}="Wall",{slope}LEANS{line.END_lean},IF({joints.END_joint}="Corner",{joints.END_turn}/2,'
    'IF({joints.END_joint}="Butt",{END_above}*{slope},'
    'IF({joints.END_joint}="Bend",{END_above}*ABS({slope}-{END_met.slope_angle})/2,0))))'
)
_ABOVE = "IF({joints.END_upper}=1,SIDE,-(SIDE))"  # on which side the upper surface is the longer one
_MITRE = 'IF({joints.END_joint}="Corner",{END_leans},0)'
_BEVEL = 'IF(AND(OR({joints.END_joint}="Bend",{joints.END_joint}="Butt"),{joints.END_upper}=1),{END_leans},0)'


def _at(end: str, formula: str) -> str:
    """A formula for one end."""
    leans, side = ("-", "-1") if end == "from" else ("+", "1")
    return formula.replace("END", end).replace("LEANS", leans).replace("SIDE", side)


TAB = Tab(
    "caps",
    "Working caps",
    Cap,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Run row", COUNT),
        Column("like_row", "Like row", COUNT),
        Column("from_reach", "Past the From face", LENGTH, _at("from", _REACH)),
        Column("to_reach", "Past the To face", LENGTH, _at("to", _REACH)),
        Column("middle_length", "Middle length", LENGTH, "=({line.cap_clear}+{from_reach}+{to_reach})*{line.secant}"),
        Column("from_cut", "Cut at From", CUT, _at("from", _CUT)),
        Column("to_cut", "Cut at To", CUT, _at("to", _CUT)),
        Column("mitre_gain", "Mitres add", LENGTH, "={assembly.cap_width}/2*({from_mitre}+{to_mitre})"),
        Column(
            "bend_gain", "Bevels add", LENGTH,
            "={assembly.cap_thickness}*({from_bevel}+{to_bevel}+{from_wall}+{to_wall})",
        ),
        Column("long_point", "Long point", LENGTH, "={middle_length}+{mitre_gain}+{bend_gain}"),
        Column("short_point", "Short point", LENGTH, "={middle_length}-{mitre_gain}"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Cap boards: how far each reaches past its supports, and how its ends are cut.",
    key="run",
    joins={
        "line": Join(lines.TAB, "line_row", "line"),
        "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
        "joints": Join(joints.TAB, "line_row", "joints"),
        "from_met": Join(lines.TAB, "joints.from_other", "from_met", maybe=True),
        "to_met": Join(lines.TAB, "joints.to_other", "to_met", maybe=True),
    },
    terms={
        "slope": "{line.slope_angle}",
        "from_above": _at("from", _ABOVE),
        "to_above": _at("to", _ABOVE),
        "from_leans": "TAN(RADIANS(ABS({from_cut})))",
        "to_leans": "TAN(RADIANS(ABS({to_cut})))",
        "from_mitre": _at("from", _MITRE),
        "to_mitre": _at("to", _MITRE),
        "from_bevel": _at("from", _BEVEL),
        "to_bevel": _at("to", _BEVEL),
        "from_wall": 'IF({joints.from_joint}="Wall",MAX(0,-TAN(RADIANS({from_cut}))),0)',
        "to_wall": 'IF({joints.to_joint}="Wall",MAX(0,TAN(RADIANS({to_cut}))),0)',
    },
    rests=Rests(on=("line", "from_met", "to_met")),
)  # fmt: skip
