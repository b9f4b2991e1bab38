"""Runs divided: how many sections each run needs, and whether the choice still fits the figures."""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import CHOICE, COUNT, FACTOR, LENGTH, MARK, TEXT, VERDICT
from railbook.basics.rounding import ceiling_excel, floor_excel, same
from railbook.geometry.cells import of_assembly, of_guard, of_measures, of_run
from railbook.geometry.chosen import Chosen
from railbook.geometry.division import Division, Room, Treads, equal_sections, tread_sections
from railbook.geometry.guards import Guard
from railbook.geometry.joints import Joints
from railbook.geometry.leans import Lean
from railbook.geometry.measures import Measures
from railbook.job.runs import STAIR


@dataclass(frozen=True)
class Line:
    """One run; lengths in the job's unit.

    Attributes:
        joints: how its cap ends.
        guard: its working guard, at `line_row` of that tab and of this one.
        lean: how its ends lean.
        division: the sections chosen for it.
        chosen_for: what the choice rests on, in words.
        chosen: what all choices rest on.
    """

    run: str
    line_row: int
    guard: Guard
    lean: Lean
    joints: Joints
    division: Division
    chosen_for: str
    chosen: Chosen

    @cached_property
    def measures(self) -> Measures:
        """Its working measures."""
        return self.guard.measures

    @cached_property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.measures.assembly_row

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
    def sections(self) -> int:
        """How many sections were chosen."""
        return self.division.sections

    @cached_property
    def chosen_now(self) -> str:
        """What the choice would rest on now: kind, flight, supports, assembly and kinds of the supports."""
        typed = self.measures.typed
        parts = (typed.kind, typed.flight, typed.from_support, typed.to_support, typed.assembly, self.measures.ends)
        return "|".join(part or "" for part in parts)

    @cached_property
    def rail_clear(self) -> float | None:
        """Greatest clear that the greatest rail length allows, tip to tip; None: no limit of its own."""
        assembly = self.measures.assembly
        if assembly.greatest_rail is None:
            return None
        depth = max(assembly.top_rail_depth or 0.0, assembly.bottom_rail_depth or 0.0)
        edge = assembly.greatest_rail - depth * self.tangent
        return edge / self.secant + 2 * self.guard.fit

    @cached_property
    def room(self) -> Room:
        """What limits the sections."""
        return Room(
            span=self.measures.clear,
            from_extra=self._extra(self.lean.from_more, self.lean.from_spread),
            to_extra=self._extra(self.lean.to_more, self.lean.to_spread),
            post_face=self.measures.post_face,
            from_half=self.measures.from_face / 2,
            to_half=self.measures.to_face / 2,
            spacing=self.measures.assembly.greatest_spacing or math.inf,
            rail_clear=math.inf if self.rail_clear is None else self.rail_clear,
        )

    @cached_property
    def span(self) -> float:
        """Clear at the bottom, which the posts between sections divide."""
        return self.room.span

    def _extra(self, more: float, spread: float) -> float:
        """What a leaning end adds: between the middles of the rails, and out to the points of its cut."""
        return max(0.0, more) + self._half_depth * abs(spread)

    @cached_property
    def _half_depth(self) -> float:
        """Half of the deeper rail as it stands, plumb."""
        assembly = self.measures.assembly
        return max(assembly.top_rail_depth or 0.0, assembly.bottom_rail_depth or 0.0) / 2 * self.secant

    @property
    def from_extra(self) -> float:
        """What a leaning From support adds to the clear higher up."""
        return self.room.from_extra

    @property
    def to_extra(self) -> float:
        """The same at To."""
        return self.room.to_extra

    @cached_property
    def from_most(self) -> float:
        """Greatest clear of the section at From when the run is divided."""
        return self.room.from_most

    @cached_property
    def to_most(self) -> float:
        """Greatest clear of the section at To."""
        return self.room.to_most

    @cached_property
    def middle_most(self) -> float:
        """Greatest clear of a section between line posts."""
        return self.room.middle_most

    @cached_property
    def treads(self) -> Treads | None:
        """Where line posts may stand; None off the stairs or while the flight is not measured."""
        measures = self.measures
        if self.kind != STAIR or measures.tread is None or measures.lower_setback is None:
            return None
        if measures.risers is None:
            return None
        behind = measures.assembly.line_post_setback or 0.0
        return Treads(measures.lower_setback, measures.tread, behind, int(measures.risers) - 1)

    @property
    def line_post_foot(self) -> float | None:
        """On stairs, from the nosing to the uphill face of a line post; None where there is no line post."""
        if self.kind != STAIR or self.sections < 2:
            return None
        return (self.measures.assembly.line_post_setback or 0.0) + self.measures.post_face

    @property
    def tread(self) -> float | None:
        """Tread on which it stands."""
        return self.measures.tread

    @cached_property
    def sections_needed(self) -> int | None:
        """The number forced on tab Runs, else the fewest that the limits allow; None: not known."""
        forced = self.measures.typed.sections
        if forced is not None:
            return forced
        try:
            if self.kind != STAIR or self.room.fits_whole:
                return equal_sections(self.room)
            return None if self.treads is None else tread_sections(self.room, self.treads)
        except ValueError:
            return None

    @cached_property
    def status(self) -> str:
        """Asks for another run when the choice no longer fits the figures."""
        placed = self.kind != STAIR or self.sections < 2 or self.treads is not None
        kept = (
            placed
            and self.chosen_now == self.chosen_for
            and same(self.sections_needed, self.sections)
            and self.joints.fits
            and not (self.lean.recorded and self.lean.lines_apart is None)
        )
        return "" if kept and not self.chosen.settings_moved else RUN_AGAIN


_NOW = '&"|"&'.join(of_run(column) for column in ("kind", "flight", "from_support", "to_support", "assembly"))
_NOW += f'&"|"&{of_measures("ends")}'
_TREAD, _SETBACK = of_measures("tread"), of_measures("lower_setback")
_BEHIND = of_assembly("line_post_setback")
_POST = of_measures("post_face")
_FIRST_MOST = floor_excel(f"({{from_most}}-{_SETBACK}-{_BEHIND})/{_TREAD}")
_LAST_LEAST = ceiling_excel(f"({{span}}-{_SETBACK}-{_BEHIND}-{_POST}-{{to_most}})/{_TREAD}")
_BETWEEN = floor_excel(f"({{middle_most}}+{_POST})/{_TREAD}")
_TREADS = (
    f'IF(COUNT({_SETBACK},{_TREAD},{of_measures("risers")})<3,"",'
    f'IF(OR({_FIRST_MOST}<0,{_BETWEEN}<1),"",'
    f"2+MAX(0,{ceiling_excel(f'({_LAST_LEAST}-{_FIRST_MOST})/MAX(1,{_BETWEEN})')})))"
)
_PAIR = ceiling_excel(f"({{span}}+{_POST})/(MIN({{from_most}},{{to_most}})+{_POST})")
_ALIKE = ceiling_excel(f"({{span}}+{_POST})/(MIN({{from_most}},{{to_most}},{{middle_most}})+{_POST})")
_EQUAL = f'IF(MIN({{from_most}},{{to_most}},{{middle_most}})<=0,"",IF({_PAIR}<=2,2,MAX(3,{_ALIKE})))'
_WHOLE = (
    f"MIN({of_assembly('greatest_spacing')}-({of_measures('from_face')}+{of_measures('to_face')})/2,{{rail_clear}})"
)


def _extra(end: str) -> str:
    """Formula: what a leaning end adds."""
    half = f"MAX({of_assembly('top_rail_depth')},{of_assembly('bottom_rail_depth')})/2*{{secant}}"
    more, spread = f"INDEX({{leans_{end}_more}},{{line_row}})", f"INDEX({{leans_{end}_spread}},{{line_row}})"
    return f"=MAX(0,{more})+{half}*ABS({spread})"


TAB = Tab(
    "lines",
    "Working runs",
    Line,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Row", COUNT),
        Column("chosen_for", "Chosen for", TEXT, width=26),
        Column("chosen_now", "Now", TEXT, f"={_NOW}", width=26),
        Column("assembly_row", "Assembly row", COUNT, f"={of_measures('assembly_row')}"),
        Column("kind", "Kind", CHOICE, f"={of_measures('kind')}"),
        Column("tangent", "Tangent", FACTOR, f"={of_measures('tangent')}"),
        Column("secant", "Secant", FACTOR, f"={of_measures('secant')}"),
        Column(
            "rail_clear", "Rail allows", LENGTH,
            f'=IF({of_assembly("greatest_rail")}="","",({of_assembly("greatest_rail")}-MAX({of_assembly("top_rail_depth")},'
            f"{of_assembly('bottom_rail_depth')})*{{tangent}})/{{secant}}+2*{of_guard('fit')})",
        ),
        Column("span", "Clear", LENGTH, f"={of_measures('clear')}"),
        Column("from_extra", "Lean adds at From", LENGTH, _extra("from")),
        Column("to_extra", "Lean adds at To", LENGTH, _extra("to")),
        Column(
            "from_most", "Most at From", LENGTH,
            f"=MIN({of_assembly('greatest_spacing')}-{of_measures('from_face')}/2-{of_measures('post_face')}/2,{{rail_clear}})-{{from_extra}}",
        ),
        Column(
            "to_most", "Most at To", LENGTH,
            f"=MIN({of_assembly('greatest_spacing')}-{of_measures('to_face')}/2-{of_measures('post_face')}/2,{{rail_clear}})-{{to_extra}}",
        ),
        Column(
            "middle_most", "Most between", LENGTH,
            f"=MIN({of_assembly('greatest_spacing')}-{of_measures('post_face')},{{rail_clear}})",
        ),
        Column(
            "line_post_foot", "Line post foot", LENGTH,
            f'=IF(OR({{kind}}<>"Stair",{{sections}}<2),"",{_BEHIND}+{of_measures("post_face")})',
        ),
        Column("tread", "Tread", LENGTH, f"={_TREAD}"),
        Column("sections", "Sections", COUNT),
        Column(
            "sections_needed", "Sections needed", COUNT,
            f'=IF({of_run("sections")}<>"",{of_run("sections")},IF(ROUND({{span}}+{{from_extra}}+{{to_extra}}-{_WHOLE},6)<=0,1,'
            f'IF({{kind}}="Stair",{_TREADS},{_EQUAL})))',
        ),
        Column(
            STATUS, "Status", VERDICT,
            ask_again(
                f"NOT(ISNUMBER({of_measures('run_row')}))", "NOT(ISNUMBER({assembly_row}))",
                f"IF({of_measures('flight_row')}=\"\",FALSE,"
                f"NOT(ISNUMBER(INDEX({{flight_working_flight_row}},{of_measures('flight_row')}))))",
                '{settings_moved}=1',
                'AND(INDEX({leans_recorded},{line_row})=1,INDEX({leans_lines_apart},{line_row})="")',
                "INDEX({joints_fits},{line_row})=0",
                "{chosen_now}<>{chosen_for}", "{sections_needed}<>{sections}",
                f'AND({{kind}}="Stair",{{sections}}>1,COUNT({_SETBACK},{_TREAD},{of_measures("risers")})<3)',
            ),
        ),
    ),
    purpose="Every run: how many sections it needs, and what limits them.",
    key="run",
)  # fmt: skip
