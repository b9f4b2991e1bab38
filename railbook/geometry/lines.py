"""Runs divided: how many sections each run needs, and whether the choice still fits the figures."""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Rests, through
from railbook.basics.kinds import COUNT, LENGTH, TEXT, VERDICT
from railbook.basics.rounding import ceiling_excel, floor_excel
from railbook.geometry import agreement, edges, guards, leans, measures, triangles
from railbook.geometry.agreement import Agreement
from railbook.geometry.askew_rails import meets_corner, meets_corner_excel, points, points_excel
from railbook.geometry.chosen import Chosen
from railbook.geometry.division import Division, Room, Treads, equal_sections, tread_sections
from railbook.geometry.edges import SAID_EXCEL, Edge
from railbook.geometry.guards import Guard
from railbook.geometry.leans import Lean
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.measures import Measures
from railbook.geometry.triangles import Triangle
from railbook.job.runs import STAIR

PLUMB = 1e-10  # gain of a face that is none


@dataclass(frozen=True)
class Line:
    """One run; lengths in the job's unit.

    Attributes:
        line_row: its row on this tab.
        guard: its heights and its opening.
        division: the sections chosen for it.
        chosen_for: what the choice rests on, in words.
        chosen: what all choices rest on.
    """

    run: str
    line_row: int
    guard: Guard
    division: Division
    chosen_for: str
    chosen: Chosen

    @cached_property
    def measures(self) -> Measures:
        """Its measures worked out."""
        return self.guard.measures

    @cached_property
    def lean(self) -> Lean:
        """How its ends lean."""
        return Lean(self.guard)

    @cached_property
    def triangle(self) -> Triangle:
        """The triangles under it."""
        return Triangle(self.guard)

    @cached_property
    def edge(self) -> Edge:
        """How it stands to the deck's edge."""
        return Edge(self.guard)

    @cached_property
    def agreement(self) -> Agreement:
        """Its spare measurements."""
        return Agreement(self.measures)

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
        """What the choice would rest on now: kind, marks, height, whether it has a direction, what the supports are."""
        typed, ends = self.measures.typed, self.measures.ends
        marks = (typed.kind, typed.flight, typed.from_support, typed.to_support, typed.assembly)
        parts = (*marks, typed.height, "" if typed.direction is None else "turns", ends)
        return "|".join(part or "" for part in parts) + self.edge.said

    @cached_property
    def rail_clear(self) -> float | None:
        """Greatest clear that the greatest rail length allows, tip to tip; None: no limit of its own."""
        assembly = self.measures.assembly
        if assembly.greatest_rail is None:
            return None
        depth = max(assembly.top_rail_depth or 0.0, assembly.bottom_rail_depth or 0.0)
        edge = assembly.greatest_rail - depth * self.tangent
        return edge / self.secant + 2 * self.guard.fit - points(self.measures, self.unit)

    @property
    def unit(self) -> str:
        """The job's length unit."""
        return self.guard.settings.unit

    @property
    def points_excel(self) -> str:
        """Formula part: what the points of rails that end askew take off it."""
        return points_excel(self.measures)

    @property
    def meets_corner(self) -> bool:
        """Whether a rail is wider than the face of a post that it meets askew."""
        return meets_corner(self.measures, self.unit)

    @property
    def meets_corner_excel(self) -> str:
        """Formula part of the same."""
        return meets_corner_excel(self.measures)

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

    @property
    def flight_lost(self) -> bool:
        """Whether the flight that it names cannot be found."""
        return bool(self.measures.typed.flight) and self.measures.flight is None

    @property
    def is_stair(self) -> bool:
        """Whether it is a stair; another kind asks for another run."""
        return self.kind == STAIR

    @property
    def unplaced(self) -> bool:
        """Whether its line posts have no treads to stand on any more."""
        return self.kind == STAIR and self.sections > 1 and self.treads is None

    @property
    def turns_otherwise(self) -> bool:
        """Whether it meets a support otherwise askew than was found."""
        return self.measures.turns_otherwise

    @property
    def lean_unknown(self) -> bool:
        """Whether it leans and the height between its rails is not known."""
        return bool(self.lean.recorded) and self.lean.lines_apart is None

    @property
    def leans_anew(self) -> bool:
        """Whether a post leans by which no height was told so; one that leans no more has those of a plumb one."""
        spreads = {FROM: self.lean.from_spread, TO: self.lean.to_spread}
        return any(abs(spread) > PLUMB for end, spread in spreads.items() if not self.guard.leans(end))

    @property
    def leans_anew_excel(self) -> str:
        """Formula part: the same."""
        spreads = [f"ABS({{{end}_spread}})" for end in (FROM, TO) if not self.guard.leans(end)]
        return f"MAX(0,{','.join(spreads)})>{PLUMB:.10f}" if spreads else "FALSE"

    @property
    def settings_moved(self) -> bool:
        """Whether unit or rule set were changed."""
        return bool(self.chosen.settings_moved)

    @cached_property
    def status(self) -> str:
        """Asks for another run when the choice no longer fits the figures."""
        return TAB.status_of(self)


_EXTRA = "=MAX(0,{END_more})+MAX({assembly.top_rail_depth},{assembly.bottom_rail_depth})/2*{secant}*ABS({END_spread})"
_MOST = "=MIN({assembly.greatest_spacing}-{END_face}/2-{post_face}/2,{rail_clear})-{END_extra}"


def _at(end: str, formula: str) -> str:
    """A formula for one end."""
    return formula.replace("END", end)


TAB = Tab(
    "lines",
    "Working runs",
    Line,
    (
        Column("line_row", "Row", COUNT),
        Column("chosen_for", "Chosen for", TEXT, width=26),
        Column(
            "chosen_now", "Now", TEXT,
            '={typed.kind}&"|"&{typed.flight}&"|"&{typed.from_support}&"|"&{typed.to_support}&"|"&{typed.assembly}'
            '&"|"&{typed.height}&"|"&IF({typed.direction}="","","turns")&"|"&{ends}&{edge_said}',
            width=26,
        ),
        Column(
            "rail_clear", "Rail allows", LENGTH,
            '=IF({assembly.greatest_rail}="","",({assembly.greatest_rail}-MAX({assembly.top_rail_depth},'
            "{assembly.bottom_rail_depth})*{tangent})/{secant}+2*{fit}[points_excel])",
        ),
        Column("from_extra", "Lean adds at From", LENGTH, _at("from", _EXTRA)),
        Column("to_extra", "Lean adds at To", LENGTH, _at("to", _EXTRA)),
        Column("from_most", "Most at From", LENGTH, _at("from", _MOST)),
        Column("to_most", "Most at To", LENGTH, _at("to", _MOST)),
        Column(
            "middle_most", "Most between", LENGTH, "=MIN({assembly.greatest_spacing}-{post_face},{rail_clear})",
        ),
        Column(
            "line_post_foot", "Line post foot", LENGTH,
            '=IF({sections}<2,"",{behind}+{post_face})', when="is_stair",
        ),
        Column("sections", "Sections", COUNT),
        Column(
            "sections_needed", "Sections needed", COUNT,
            '=IF({typed.sections}<>"",{typed.sections},IF(ROUND({clear}+{from_extra}+{to_extra}-{whole},6)<=0,1,'
            'IF({kind}="Stair",{by_treads},{equal})))',
        ),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Every run: from what was taped to its clear, slope and setbacks, its heights and opening, the triangle "
    "under it, how its supports lean, and how many sections it needs.",
    key="run",
    parts={
        "measures": measures.PART,
        "agreement": agreement.PART,
        "guard": guards.PART,
        "triangle": triangles.PART,
        "lean": leans.PART,
        "edge": edges.PART,
    },
    joins=through("measures", measures.JOINS),
    terms={
        "behind": "{assembly.line_post_setback}",
        "edge_said": SAID_EXCEL,
        "first_most": floor_excel("({from_most}-{lower_setback}-{behind})/{tread}"),
        "last_least": ceiling_excel("({clear}-{lower_setback}-{behind}-{post_face}-{to_most})/{tread}"),
        "between": floor_excel("({middle_most}+{post_face})/{tread}"),
        "by_treads": 'IF(COUNT({lower_setback},{tread},{risers})<3,"",IF(OR({first_most}<0,{between}<1),"",'
        f"2+MAX(0,{ceiling_excel('({last_least}-{first_most})/MAX(1,{between})')})))",
        "pair": ceiling_excel("({clear}+{post_face})/(MIN({from_most},{to_most})+{post_face})"),
        "alike": ceiling_excel("({clear}+{post_face})/(MIN({from_most},{to_most},{middle_most})+{post_face})"),
        "equal": 'IF(MIN({from_most},{to_most},{middle_most})<=0,"",IF({pair}<=2,2,MAX(3,{alike})))',
        "whole": "MIN({assembly.greatest_spacing}-({from_face}+{to_face})/2,{rail_clear})",
    },
    rests=Rests(
        found=("run_row", "assembly_row"),
        kept={"chosen_for": "chosen_now", "sections": "sections_needed"},
        unless={
            "flight_lost": 'IF({flight_row}="",FALSE,NOT(ISNUMBER({flight.flight_row})))',
            "settings_moved": "{settings_moved}=1",
            "lean_unknown": 'AND({recorded}=1,{lines_apart}="")',
            "turns_otherwise": "[measures.turns_otherwise_excel]",
            "meets_corner": "[meets_corner_excel]",
            "leans_anew": "[leans_anew_excel]",
            "unplaced": 'AND({kind}="Stair",{sections}>1,COUNT({lower_setback},{tread},{risers})<3)',
        },
    ),
)  # fmt: skip
