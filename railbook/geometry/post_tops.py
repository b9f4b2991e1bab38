"""Tops of posts worked out: where the cap's underside crosses each, or where one that stands proud ends.

Heights stand on the surface that the post itself stands on.
"""

from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import most, or_zero, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join, written
from railbook.basics.kinds import COUNT, LENGTH
from railbook.geometry import cap_ends, caps, flights, lines
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.caps import Cap
from railbook.geometry.joints import NEVER, SAME, bend_past
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.skews import cosine
from railbook.job import assemblies, supports
from railbook.job.assemblies import Assembly
from railbook.job.runs import LEVEL, RAMP, STAIR
from railbook.job.supports import STAND_PROUD, Support

ON_LEVEL, AT_LOWER_END, AT_UPPER_END = "Level", "Lower end", "Upper end"
ON_TREAD, ON_RAMP, ON_BEND = "Tread", "Ramp", "Bend"


@dataclass(frozen=True)
class PostTop:
    """One support; lengths in the job's unit, plumb, before they are rounded.

    Attributes:
        post: its mark.
        stands: which place on its run sets its height.
        line: the run that sets its height, at `line_row` of Working runs.
        typed: its row on tab Supports (`support_row`, 0 when it has none).
        number: its place among the posts between the sections of its run, from 1; None for an end support.
        tread: the tread that such a post stands on, from 0; None off the stairs.
        cover: the end of the cap that lies over it, at `cover_row` of Working cap ends; None between sections.
        bend: the other end where two caps bend over it, at `bend_row`; of the two, `cover` is the downhill one.
        proud_line: the run whose railing says how far it stands proud, at `proud_row`: its own, or another one there.
        cover_cap: cap whose end `cover` is; `bend_cap` that of `bend`.
    """

    post: str
    stands: str
    line: Line
    line_row: int
    typed: Support | None
    support_row: int
    proud_line: Line = field(repr=False)
    proud_row: int
    number: int | None = None
    tread: int | None = None
    cover: CapEnd | None = None
    cover_row: int | None = None
    bend: CapEnd | None = None
    bend_row: int | None = None
    cover_cap: Cap | None = None
    bend_cap: Cap | None = None

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @property
    def assembly(self) -> Assembly:
        """The assembly that sets its height."""
        return self.line.measures.assembly

    @property
    def cover_line_row(self) -> int | None:
        """Row of the run whose cap lies over it."""
        return None if self.cover is None else self.cover.line_row

    @property
    def bend_line_row(self) -> int | None:
        """Row of the other run where two caps bend."""
        return None if self.bend is None else self.bend.line_row

    @property
    def is_bent(self) -> bool:
        """Whether two caps bend over it."""
        return self.bend is not None

    @property
    def bent(self) -> tuple[Arrival, Arrival] | None:
        """The two runs that bend there, the downhill one first."""
        return None if self.cover is None or self.bend is None else (self.cover.arrival, self.bend.arrival)

    @cached_property
    def crossing(self) -> float | None:
        """Level distance from the downhill face to where two caps bend; None where none do."""
        if self.bent is None or None in (self.bent[0].middle, self.bent[1].middle):
            return None
        down, up = self.bent
        return down.half + bend_past(down.arm, up.arm)

    @cached_property
    def crest(self) -> float | None:
        """Underside of both caps there."""
        down = None if self.bent is None else self.bent[0].arm
        return when_known(lambda at: down.face - at * down.rise if down else 0.0, self.crossing)

    @property
    def is_valley(self) -> bool:
        """Whether no cap falls away from where two bend."""
        return self.bent is not None and min(each.arm.rise for each in self.bent) >= 0

    @property
    def is_ridge(self) -> bool:
        """Whether no cap rises away from there."""
        return self.bent is not None and max(each.arm.rise for each in self.bent) <= 0

    @cached_property
    def position(self) -> float | None:
        """Level distance from the run's From face to the near face of a post between sections."""
        measures, sections, face = self.line.measures, self.line.sections, self.line.measures.post_face
        if self.number is None:
            return None
        if self.tread is None:
            equal = (measures.clear - (sections - 1) * face) / sections
            return self.number * (equal + face) - face
        behind, tread = self.assembly.line_post_setback or 0.0, self.tread
        return when_known(lambda first, step: first + tread * step + behind, measures.lower_setback, measures.tread)

    @property
    def face(self) -> float:
        """Its width along the run: its own, or the assembly's; wider where the run meets it askew."""
        own = None if self.typed is None else self.typed.face_width
        return (self.line.measures.post_face if own is None else own) / cosine(self.skew)

    @property
    def end(self) -> str:
        """At which end of the run it stands; empty for a post between sections."""
        if self.number is not None:
            return ""
        return FROM if self.line.measures.typed.from_support == self.post else TO

    @property
    def skew(self) -> float:
        """How far the run is turned off its face [degrees]."""
        skews = {FROM: self.line.measures.from_skew, TO: self.line.measures.to_skew}
        return skews.get(self.end, 0.0)

    @property
    def over_excel(self) -> str:
        """Formula part: over the cosine of that, where it was found askew."""
        sides = {FROM: self.line.measures.from_side, TO: self.line.measures.to_side}
        return f"/COS(RADIANS({_SKEWS[self.end]}))" if sides.get(self.end) else ""

    @cached_property
    def offset(self) -> float | None:
        """How much higher the guard line runs at the downhill face than above its own surface."""
        measures = self.line.measures
        tangent, face = measures.tangent, self.face
        if self.stands == ON_TREAD:
            return (self.assembly.line_post_setback or 0.0) * tangent
        if self.stands == AT_UPPER_END:
            return when_known(lambda setback: setback * tangent, measures.upper_setback)
        if self.stands == AT_LOWER_END:
            return when_known(
                lambda first, setback: first - (setback + face) * tangent, self._first_step, measures.lower_setback
            )
        return 0.0

    @cached_property
    def _first_step(self) -> float | None:
        """Height of the guard's own surface at the first nosing: a riser on stairs, nothing on a ramp."""
        flight = self.line.measures.flight
        return (None if flight is None else flight.first_riser) if self.line.kind == STAIR else 0.0

    @cached_property
    def rise_across(self) -> float:
        """What the cap's underside gains across the post."""
        if self.stands in (ON_LEVEL, ON_RAMP):
            return 0.0
        return self.face * self.line.tangent

    @cached_property
    def downhill(self) -> float | None:
        """Underside of the cap at the downhill (or left) face."""
        if self.bent is not None:
            return None if self.bent[0].middle is None else self.bent[0].arm.face
        cap = (self.assembly.cap_thickness or 0.0) * self.line.secant
        return when_known(lambda offset, height: offset + height - cap, self.offset, self.line.guard.guard_height)

    @cached_property
    def uphill(self) -> float | None:
        """Underside of the cap at the uphill (or right) face; at a bend the other cap's."""
        if self.bent is not None:
            return None if self.bent[1].middle is None else self.bent[1].arm.face
        return when_known(lambda height: height + self.rise_across, self.downhill)

    @cached_property
    def square_top(self) -> float | None:
        """Where a post that stands proud is cut; None under a cap."""
        if self.proud is None:
            return None
        rails = self.downhill if self.stands == AT_UPPER_END else most(self.downhill, self.uphill)
        cap = (self.assembly.cap_thickness or 0.0) * self.line.secant
        return when_known(lambda height: height + cap + (self.proud or 0.0), rails)

    @cached_property
    def trim_downhill(self) -> float | None:
        """Where its finished face is trimmed: downhill; a square top stands higher over the lower side of a ramp."""
        return self.downhill if self.proud is None else when_known(lambda top: top + self._ramp_step, self.square_top)

    @property
    def _ramp_step(self) -> float:
        """What the ramp gains across the post."""
        return self.face * self.line.tangent if self.stands == ON_RAMP else 0.0

    @cached_property
    def trim_uphill(self) -> float | None:
        """The same uphill."""
        return self.uphill if self.proud is None else self.square_top

    @property
    def proud(self) -> float | None:
        """How far it stands above the rails or caps, cut square; None: under the cap."""
        proud = self.proud_line.measures.assembly.post_proud
        if proud is not None:
            return proud
        if self.typed is not None and self.typed.heights == STAND_PROUD:
            return self.typed.proud or 0.0
        return None

    @property
    def downhill_excel(self) -> str:
        """Formula part of the underside downhill."""
        return _UNDER if self.bent is None else _face_excel("cover", self.bent[0].end)

    @property
    def uphill_excel(self) -> str:
        """Formula part of the underside uphill."""
        return _UPHILL if self.bent is None else _face_excel("bend", self.bent[1].end)

    @property
    def crossing_excel(self) -> str:
        """Formula part of where two caps bend."""
        return "" if self.bent is None else _crossing_excel(self.bent[0].end, self.bent[1].end)

    @property
    def crest_excel(self) -> str:
        """Formula part of the underside of both caps there."""
        return "" if self.bent is None else f"{{downhill}}-{{crossing}}*{rise_excel('cover', self.bent[0].end)}"


def stands_of(line: Line) -> tuple[str, str, str]:
    """Places of the lower, the line and the upper posts of a run."""
    if line.kind == LEVEL:
        return ON_LEVEL, ON_LEVEL, ON_LEVEL
    if line.kind == RAMP and line.measures.typed.lower_setback is None:
        return ON_RAMP, ON_RAMP, AT_UPPER_END
    return AT_LOWER_END, ON_RAMP if line.kind == RAMP else ON_TREAD, AT_UPPER_END


JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "cover": Join(cap_ends.TAB, "cover_row", "cover", maybe=True),
    "cover_line": Join(lines.TAB, "cover_line_row", "cover.line", maybe=True),
    "cover_cap": Join(caps.TAB, "cover_line_row", "cover_cap", maybe=True),
    "bend": Join(cap_ends.TAB, "bend_row", "bend", maybe=True),
    "bend_line": Join(lines.TAB, "bend_line_row", "bend.line", maybe=True),
    "bend_cap": Join(caps.TAB, "bend_line_row", "bend_cap", maybe=True),
    "support": Join(supports.TAB, "support_row", "typed", maybe=True),
    "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
    "proud_line": Join(lines.TAB, "proud_row", "proud_line"),
    "proud_assembly": Join(assemblies.TAB, "proud_line.assembly_row", "proud_line.measures.assembly"),
}
_SKEWS = {end: written(f"{{line.{end}_skew}}", JOINS, {}) for end in (FROM, TO)}
PROUD_EXCEL = (
    'IF({proud_assembly.post_proud}<>"",{proud_assembly.post_proud},IF({support_row}=0,"",'
    f'IF({{support.heights}}="{STAND_PROUD}",SUM({{support.proud}}),"")))'
)
_UNDER = written(
    'IF(COUNT({offset},{line.guard_height})<2,"",{offset}+{line.guard_height}-{assembly.cap_thickness}*{line.secant})',
    JOINS, {},
)  # fmt: skip
_UPHILL = written(
    'IF({downhill}="","",{downhill}+IF(OR({stands}="Level",{stands}="Ramp"),0,{face}*{line.tangent}))', JOINS, {}
)


def rise_excel(way: str, end: str) -> str:
    """Formula part: what the cap of one of the two runs that bend gains, walked away from the post."""
    return written(f"({'' if end == FROM else '-'}{{{way}_line.tangent}})", JOINS, {})


def _face_excel(way: str, end: str) -> str:
    """Formula part: underside of a cap at the face of its run."""
    face = f"{{{way}.middle}}+{{{way}_line.{end}_face}}/2*{rise_excel(way, end)}"
    return written(f'IF({{{way}.middle}}="","",{face})', JOINS, {})


def _crossing_excel(down: str, up: str) -> str:
    """Formula part: the twin of `crossing`."""
    bends = f"({rise_excel('cover', down)}+{rise_excel('bend', up)})"
    past = f"IF(ABS({bends})<{SAME:.6f},{NEVER:.0f},({{cover.middle}}-{{bend.middle}})/{bends})"
    known = "COUNT({cover.middle},{bend.middle})<2"
    return written(f'IF({known},"",{{cover_line.{down}_face}}/2+{past})', JOINS, {})


_OFFSET = (
    '=IF({stands}="Tread",{assembly.line_post_setback}*{line.tangent},'
    'IF({stands}="Upper end",IF({line.upper_setback}="","",{line.upper_setback}*{line.tangent}),'
    'IF({stands}="Lower end",IF(OR({line.lower_setback}="",{first_step}=""),"",'
    "{first_step}-({line.lower_setback}+{face})*{line.tangent}),0)))"
)

PART = Part(
    "posts",
    PostTop,
    (
        Column("number", "Between sections", COUNT),
        Column("tread", "On tread", COUNT),
        Column("line_row", "Run row", COUNT),
        Column("cover_row", "Cap end over it", COUNT),
        Column("cover_line_row", "Its run row", COUNT),
        Column("bend_row", "Cap end beside that", COUNT),
        Column("bend_line_row", "Run row of that", COUNT),
        Column("support_row", "Support row", COUNT, "=IFERROR(MATCH({post},{supports_support},0),0)"),
        Column("assembly_row", "Assembly row", COUNT, of="line"),
        Column("proud_row", "Proud by run row", COUNT),
        Column("face", "Face", LENGTH,
            '=IF({support_row}=0,{line.post_face},IF({support.face_width}="",{line.post_face},{support.face_width}))'
            + "[over_excel]"),
        Column("offset", "Line above surface", LENGTH, _OFFSET),
        Column("downhill", "Cap underside, downhill", LENGTH, "=[downhill_excel]"),
        Column("uphill", "Cap underside, uphill", LENGTH, "=[uphill_excel]"),
        Column("crossing", "Caps bend at", LENGTH, "=[crossing_excel]", when="is_bent"),
        Column("crest", "Underside there", LENGTH, '=IF({crossing}="","",[crest_excel])', when="is_bent"),
        Column("trim_downhill", "Trim, downhill", LENGTH,
            '=IF({proud}="",{downhill},IF({trim_uphill}="","",' + or_zero("{trim_uphill}")
            + '+IF({stands}="Ramp",{face}*{line.tangent},0)))'),
        Column("trim_uphill", "Trim, uphill", LENGTH,
            '=IF({proud}="",{uphill},IF({rails}="","",'
            "{rails}+{assembly.cap_thickness}*{line.secant}+{proud}))"),
    ),
    joins={
        **JOINS,
        "flight": Join(flights.TAB, "line.flight_row", "line.measures.flight", maybe=True),
    },
    terms={
        "first_step": 'IF({line.kind}<>"Stair",0,IF({line.flight_row}="","",{flight.first_riser}))',
        "proud": PROUD_EXCEL,
        "rails": 'IF({stands}="Upper end",{downhill},IF(COUNT({downhill},{uphill})=0,"",MAX({downhill},{uphill})))',
    },
)  # fmt: skip
