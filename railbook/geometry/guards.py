"""Guards worked out: heights and opening of every run, its balusters, and the triangle under it.

With t the tangent of the slope and c its cosine, a part of depth d measured square to the slope
stands d/c high. One set of equations serves level, stair and ramp.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import if_known, or_zero, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join, Later, through, written
from railbook.basics.kinds import ANGLE, COUNT, LENGTH, TEXT
from railbook.geometry import lifts
from railbook.geometry.leaning import Over, over
from railbook.geometry.lifts import FROM, TO, lift_of, plumb_of
from railbook.geometry.measures import JOINS, Measures
from railbook.geometry.met_heights import IN_LINE, TO_A_LEVEL_GUARD, TO_LEVEL_CAP, height_words
from railbook.job import assemblies
from railbook.job.assemblies import ON_FACE, SQUARE, YES
from railbook.job.runs import CLOSED, LEVEL, STAIR
from railbook.job.settings import Settings


class Meets(NamedTuple):
    """That a guard has not its own height but the one at which its cap meets another, and how: chosen.

    Attributes:
        how: undersides over the middle of the post; or a raked cap's top with that of the level cap at whose edge it
            ends, seen from either; or a level guard that has no run; empty: it has its own height.
        end: of this run, where it meets.
        other: the guard that it meets, which has its own height; None: one without a run.
        other_end: of that run.
    """

    how: str = ""
    end: str = ""
    other: "Guard | None" = None
    other_end: str = ""


OWN_HEIGHT = Meets()


@dataclass(frozen=True)
class Guard:
    """The guard of one run; lengths in the job's unit, plumb unless said otherwise.

    Attributes:
        run: its mark.
        line_row: its row on this tab and on Working measures.
        measures: its working measures.
        meets: the guard that gives it its height.
        leaning: ends at which a post leans, so that heights there follow it: chosen.
    """

    run: str
    line_row: int
    measures: Measures
    settings: Settings
    meets: Meets = OWN_HEIGHT
    leaning: tuple[str, ...] = ()

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

    @property
    def meets_how(self) -> str:
        """How it meets the guard that gives it its height."""
        return self.meets.how

    @property
    def meets_row(self) -> int | None:
        """Row of that guard's run on Working runs."""
        return None if self.meets.other is None else self.meets.other.line_row

    @cached_property
    def own_height(self) -> float | None:
        """Top of cap above the surface or the nosing line, plumb: by bought balusters, or of the assembly."""
        assembly = self.measures.assembly
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

    @property
    def level_height_met(self) -> float | None:
        """The same, where this guard has its height from it."""
        return self.level_height if self.meets_alone else None

    @property
    def meets_alone(self) -> bool:
        """Whether it meets a level guard that has no run."""
        return self.meets.how == TO_A_LEVEL_GUARD

    @cached_property
    def from_lift(self) -> float | None:
        """Underside of its cap over the middle of the From post, less the guard's height."""
        return lift_of(self.measures, FROM)

    @cached_property
    def to_lift(self) -> float | None:
        """The same at To."""
        return lift_of(self.measures, TO)

    def over(self, end: str) -> Over:
        """Its cap over the post at one of its ends, by the recorded lean.

        What two clears tell beyond it rests on this height, so it is left out where heights are brought together.
        """
        typed = self.measures.typed
        lean = (typed.lean_from if end == FROM else typed.lean_to) or 0.0
        return over(self.measures, end, lean if end in self.leaning else 0.0)

    def leans(self, end: str) -> int:
        """1 where the post at that end leans."""
        return int(end in self.leaning)

    @cached_property
    def guard_height(self) -> float | None:
        """Top of cap above the surface or the nosing line, plumb: its own, or where its cap meets another.

        In line the undersides meet over the middle of the post, so that a raked cap stands higher there by what its
        thickness gains plumb; at the edge of a level cap the tops are flush.
        """
        meets, other = self.meets, self.meets.other
        if not meets.how:
            return self.own_height
        own = self.over(meets.end)
        if other is None:
            level = -(self.measures.assembly.cap_thickness or 0.0)
            return own.height(when_known(lambda height: height + level, self.level_height))
        met = other.over(meets.other_end)
        if meets.how == IN_LINE:
            return own.height(met.middle(other.own_height))
        raked, rise = (self, own.rise) if meets.how == TO_LEVEL_CAP else (other, met.rise)
        cover = other if raked is self else self
        reached = rise * (cover.measures.assembly.cap_width or 0.0) / 2 + plumb_of(raked.measures)
        if raked is self:
            return when_known(lambda height: height - reached, own.height(other.own_height))
        return met.middle(when_known(lambda height: height + reached, other.own_height))

    @property
    def height_excel(self) -> str:
        """Formula of the same."""
        meets = self.meets
        leaning = self.leans(meets.end), 0 if meets.other is None else meets.other.leans(meets.other_end)
        words = height_words(meets.how, meets.end, meets.other_end, leaning)
        return written(words, PART.joins, PART.terms)

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
            "level_height_met", "Level guard height", LENGTH,
            '=IF({assembly.baluster_level_length}="",{assembly.level_height},{assembly.level_clearance}+{depths}'
            "+{assembly.baluster_level_length}-IF({on_face},{laps},{let_in}))",
            when="meets_alone",
        ),
        Column("meets_how", "Height meets", TEXT),
        Column("meets_row", "Run row that it meets", COUNT),
        Column("from_lift", "Cap over the From post, less height", LENGTH, lifts.LIFT_EXCEL[FROM]),
        Column("to_lift", "Cap over the To post, less height", LENGTH, lifts.LIFT_EXCEL[TO]),
        Column(
            "own_height", "Own height", LENGTH,
            f'=IF({{bought_length}}<>"",{{clearance}}+{{stack}}+{or_zero("{bought_length}")}-{{seats}},'
            'IF({kind}="Stair",{assembly.stair_height},{assembly.level_height}))',
        ),
        Column("guard_height", "Guard height", LENGTH, "=[height_excel]"),
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
        Column("graspable", "Cap graspable", COUNT, '=IF({assembly.cap_graspable}="Yes",1,0)'),
        Column(
            "guard_required", "Guard required", COUNT,
            '=IF({drop}="",IF(AND({kind}="Stair",{typed.stair_side}="Closed"),0,""),'
            "IF(ROUND({drop},6)>{guard_drop},1,0))",
        ),
    ),
    joins={
        **through("measures", JOINS),
        "met": Join(Later("lines"), "meets_row", "meets.other", maybe=True),
        "met_assembly": Join(assemblies.TAB, "met.assembly_row", "meets.other.measures.assembly", maybe=True),
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
        "step": lifts.STEP_EXCEL,
    },
)  # fmt: skip
