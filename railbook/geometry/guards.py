"""Guards worked out: heights and opening of every run, its balusters, and the triangle under it.

With t the tangent of the slope and c its cosine, a part of depth d measured square to the slope
stands d/c high. One set of equations serves level, stair and ramp.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import if_known, or_zero, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join, through
from railbook.basics.kinds import ANGLE, COUNT, LENGTH
from railbook.geometry import joints as cap_joints
from railbook.geometry.joints import BUTT, Joints
from railbook.geometry.measures import JOINS, Measures
from railbook.job.assemblies import ON_FACE, SQUARE, YES
from railbook.job.runs import CLOSED, LEVEL, MEETS, STAIR
from railbook.job.settings import Settings


@dataclass(frozen=True)
class Guard:
    """The guard of one run; lengths in the job's unit, plumb unless said otherwise.

    Attributes:
        run: its mark.
        line_row: its row on this tab and on Working measures.
        measures: its working measures.
        joints: how its cap ends.
    """

    run: str
    line_row: int
    measures: Measures
    joints: Joints
    settings: Settings

    @cached_property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.measures.assembly_row

    @cached_property
    def flight_row(self) -> int | None:
        """Row of its flight on tab Working flights."""
        return self.measures.flight_row

    @cached_property
    def kind(self) -> str:
        """Level, Stair or Ramp."""
        return self.measures.kind

    @cached_property
    def tangent(self) -> float:
        """Tangent of the slope."""
        return self.measures.tangent

    @cached_property
    def secant(self) -> float:
        """Length along the slope for each unit of level length."""
        return self.measures.secant

    @cached_property
    def _is_stair(self) -> bool:
        return self.measures.kind == STAIR

    @cached_property
    def fit(self) -> float:
        """Level gap at each rail end: what the bracket takes and the allowance."""
        return (self.measures.assembly.bracket_fit or 0.0) + self.settings.fit_allowance

    @cached_property
    def clearance(self) -> float:
        """Under the bottom rail, plumb: above the nosing line on stairs, else above the surface."""
        assembly = self.measures.assembly
        return (assembly.stair_clearance if self._is_stair else assembly.level_clearance) or 0.0

    @cached_property
    def guard_height(self) -> float | None:
        """Top of cap above the surface or the nosing line, plumb.

        Balusters bought ready made set it; else the assembly does. A guard that meets the level guard on a stair
        or ramp has the height at which its cap arrives there: in line, the undersides meet over the middle of the top
        post; round a corner, the tops are flush where the raked cap butts against the level one.
        """
        assembly = self.measures.assembly
        if self.kind != LEVEL and self.measures.typed.height == MEETS:
            past, lift = self._meeting
            return when_known(
                lambda level, setback: level + lift - (setback + past) * self.tangent,
                self.level_height,
                self.measures.upper_setback,
            )
        if self.bought_length is not None:
            return self.clearance + self.stack + self.bought_length - self.seats
        return assembly.stair_height if self._is_stair else assembly.level_height

    @cached_property
    def level_height(self) -> float | None:
        """Height of a level guard of the same assembly, which this one may meet."""
        assembly = self.measures.assembly
        if assembly.baluster_level_length is None:
            return assembly.level_height
        seats = self.seats + self._lost  # on the level nothing is lost to the rake
        return (assembly.level_clearance or 0.0) + self._depths + assembly.baluster_level_length - seats

    @cached_property
    def bought_length(self) -> float | None:
        """Length of balusters that are bought ready made; None where they are cut to fit."""
        assembly = self.measures.assembly
        return assembly.baluster_level_length if self.kind == LEVEL else assembly.baluster_stair_length

    @property
    def _on_face(self) -> bool:
        return self.measures.assembly.baluster_place == ON_FACE

    @cached_property
    def seats(self) -> float:
        """What a baluster is longer than the opening: laps or let-ins, less seats and what a square cut loses."""
        assembly = self.measures.assembly
        if self._on_face:
            return (assembly.overlap_top or 0.0) + (assembly.overlap_bottom or 0.0)
        let_in = (assembly.let_in_top or 0.0) + (assembly.let_in_bottom or 0.0)
        return let_in - (assembly.seat_top or 0.0) - (assembly.seat_bottom or 0.0) - self._lost

    @property
    def _lost(self) -> float:
        """What a baluster between raked rails loses when it is cut square: its width times the tangent."""
        return self._width_times_tangent if self._square_ends and not self._on_face else 0.0

    @property
    def _square_ends(self) -> bool:
        """Whether balusters end square: cut so, or used as they were bought."""
        return self.measures.assembly.baluster_ends == SQUARE or self.bought_length is not None

    @cached_property
    def _meeting(self) -> tuple[float, float]:
        """Where the caps meet, level past the upper downhill face, and how much the raked one gains on the level one.

        In line the undersides meet, so the raked cap stands higher by what its thickness gains plumb.
        """
        assembly, face = self.measures.assembly, self.measures.to_face
        if self.joints.to_joint == BUTT:
            return -((assembly.cap_width or 0.0) - face) / 2, 0.0
        return face / 2, (assembly.cap_thickness or 0.0) * (self.secant - 1)

    @cached_property
    def stack(self) -> float:
        """Cap and both rails as they stand, plumb."""
        return self._depths * self.secant

    @property
    def _depths(self) -> float:
        assembly = self.measures.assembly
        depths = (assembly.cap_thickness, assembly.top_rail_depth, assembly.bottom_rail_depth)
        return sum(depth or 0.0 for depth in depths)

    @cached_property
    def opening(self) -> float | None:
        """Between the rails, plumb."""
        return when_known(lambda height: height - self.clearance - self.stack, self.guard_height)

    @cached_property
    def baluster_length(self) -> float | None:
        """Along the edge when cut to the rake; overall when cut square, which is shorter by w t."""
        return when_known(lambda opening: opening + self.seats, self.opening)

    @cached_property
    def baluster_tip(self) -> float | None:
        """Tip to tip, which is what the stock must hold."""
        added = 0.0 if self._square_ends else self._width_times_tangent
        return when_known(lambda length: length + added, self.baluster_length)

    @cached_property
    def baluster_angle(self) -> float:
        """Both end cuts, from square [degrees]."""
        return 0.0 if self._square_ends else self.measures.slope_angle

    @cached_property
    def _width_times_tangent(self) -> float:
        return (self.measures.assembly.baluster_width or 0.0) * self.tangent

    @cached_property
    def sphere(self) -> float:
        """Limit for openings between balusters."""
        return self.measures.limits["stair_sphere" if self._is_stair else "level_sphere"]

    @cached_property
    def height_limit(self) -> float:
        """Least height of the guard."""
        return self.measures.limits["stair_guard_height" if self._is_stair else "level_guard_height"]

    @property
    def under_rail(self) -> float | None:
        """Opening under the bottom rail, square to it; on stairs the triangle governs instead."""
        return None if self._is_stair else self.clearance / self.secant

    @property
    def graspable(self) -> int:
        """1 when the cap serves as a handrail."""
        return int(self.measures.assembly.cap_graspable == YES)

    @cached_property
    def guard_required(self) -> int | None:
        """1 where the drop asks for a guard, 0 where not, None where it was not measured.

        Only a stair can be closed by a wall, and not where a drop was measured beside it.
        """
        typed = self.measures.typed
        if typed.drop is None:
            return 0 if self._is_stair and typed.stair_side == CLOSED else None
        return int(round(typed.drop, 6) > self.measures.limits["guard_drop"])


def _by_kind(stair: str, other: str) -> str:
    """Formula: one figure on stairs, another elsewhere."""
    return '=IF({kind}="Stair",' + stair + "," + other + ")"


PART = Part(
    "lines",
    Guard,
    (
        Column("fit", "Fit", LENGTH, "={assembly.bracket_fit}+{fit_allowance}"),
        Column(
            "clearance", "Clearance", LENGTH, _by_kind("{assembly.stair_clearance}", "{assembly.level_clearance}"),
        ),
        Column("stack", "Cap and rails", LENGTH, "={depths}*{secant}"),
        Column("bought_length", "Bought length", LENGTH, '=IF({kind}="Level",{bought_level},{bought_stair})'),
        Column("seats", "Laps, let-ins less seats", LENGTH, "=IF({on_face},{laps},{let_in}-{lost})"),
        Column(
            "level_height", "Level guard height", LENGTH,
            '=IF({assembly.baluster_level_length}="",{assembly.level_height},{assembly.level_clearance}+{depths}'
            "+{assembly.baluster_level_length}-IF({on_face},{laps},{let_in}))",
        ),
        Column(
            "guard_height", "Guard height", LENGTH,
            '=IF(AND({kind}<>"Level",{typed.height}="Meets level guard"),'
            'IF({upper_setback}="","",IF({joints.to_joint}="Butt",{butting},{bending})),'
            f'IF({{bought_length}}<>"",{{clearance}}+{{stack}}+{or_zero("{bought_length}")}-{{seats}},'
            'IF({kind}="Stair",{assembly.stair_height},{assembly.level_height})))',
        ),
        Column("opening", "Opening", LENGTH, "=" + if_known("{guard_height}-{clearance}-{stack}", "guard_height")),
        Column("baluster_length", "Baluster length", LENGTH, "=" + if_known("{opening}+{seats}", "opening")),
        Column(
            "baluster_tip", "Baluster tip to tip", LENGTH,
            "=" + if_known("{baluster_length}+IF({square},0,{assembly.baluster_width}*{tangent})", "baluster_length"),
        ),
        Column("baluster_angle", "Baluster cut", ANGLE, "=IF({square},0,{slope_angle})"),
        Column("sphere", "Sphere", LENGTH, _by_kind("{stair_sphere}", "{level_sphere}")),
        Column("height_limit", "Least height", LENGTH, _by_kind("{stair_guard_height}", "{level_guard_height}")),
        Column("drop", "Drop", LENGTH, of="typed"),
        Column("under_rail", "Under the rail", LENGTH, _by_kind('""', "{clearance}/{secant}")),
        Column("graspable", "Cap graspable", COUNT, '=IF({assembly.cap_graspable}="Yes",1,0)'),
        Column(
            "guard_required", "Guard required", COUNT,
            '=IF({drop}="",IF(AND({kind}="Stair",{typed.stair_side}="Closed"),0,""),'
            "IF(ROUND({drop},6)>{guard_drop},1,0))",
        ),
    ),
    joins={
        **through("measures", JOINS),
        "joints": Join(cap_joints.TAB, "line_row", "joints"),
    },
    terms={
        "depths": "{assembly.cap_thickness}+{assembly.top_rail_depth}+{assembly.bottom_rail_depth}",
        "bought_level": 'IF({assembly.baluster_level_length}="","",{assembly.baluster_level_length})',
        "bought_stair": 'IF({assembly.baluster_stair_length}="","",{assembly.baluster_stair_length})',
        "square": 'OR({assembly.baluster_ends}="Square",{bought_length}<>"")',
        "lost": "IF({square},{assembly.baluster_width}*{tangent},0)",
        "on_face": '{assembly.baluster_place}="On the face"',
        "laps": "{assembly.overlap_top}+{assembly.overlap_bottom}",
        "let_in": "{assembly.let_in_top}+{assembly.let_in_bottom}-{assembly.seat_top}-{assembly.seat_bottom}",
        "butting": "{level_height}-({upper_setback}-({assembly.cap_width}-{to_face})/2)*{tangent}",
        "bending": "{level_height}+{assembly.cap_thickness}*({secant}-1)-({upper_setback}+{to_face}/2)*{tangent}",
    },
)  # fmt: skip
