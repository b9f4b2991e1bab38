"""Tops of posts worked out: where the cap's underside crosses each, or where one that stands proud ends.

Heights stand on the surface that the post itself stands on.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import if_known, most, or_zero, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, LENGTH
from railbook.geometry import flights, lines
from railbook.geometry.lines import Line
from railbook.job import assemblies, supports
from railbook.job.assemblies import Assembly
from railbook.job.runs import LEVEL, RAMP, STAIR
from railbook.job.supports import Support

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
        level: at a bend, the level run whose cap goes on from the middle of the post; at `level_row`.
    """

    post: str
    stands: str
    line: Line
    line_row: int
    typed: Support | None
    support_row: int
    number: int | None = None
    tread: int | None = None
    level: Line | None = None

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @property
    def assembly(self) -> Assembly:
        """The assembly that sets its height."""
        return self.line.measures.assembly

    @property
    def level_row(self) -> int | None:
        """Row of the level run that goes on at a bend."""
        return None if self.level is None else self.level.line_row

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
        """Its width along the run: its own, or the assembly's."""
        if self.typed is None or self.typed.face_width is None:
            return self.line.measures.post_face
        return self.typed.face_width

    @cached_property
    def offset(self) -> float | None:
        """How much higher the guard line runs at the downhill face than above its own surface."""
        measures = self.line.measures
        tangent, face = measures.tangent, self.face
        if self.stands == ON_TREAD:
            return (self.assembly.line_post_setback or 0.0) * tangent
        if self.stands in (AT_UPPER_END, ON_BEND):
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
        if self.stands in (ON_LEVEL, ON_RAMP, ON_BEND):
            return 0.0
        return self.face * self.line.tangent

    @cached_property
    def downhill(self) -> float | None:
        """Underside of the cap at the downhill (or left) face."""
        cap = (self.assembly.cap_thickness or 0.0) * self.line.secant
        return when_known(lambda offset, height: offset + height - cap, self.offset, self.line.guard.guard_height)

    @cached_property
    def uphill(self) -> float | None:
        """Underside of the cap at the uphill (or right) face; at a bend the level cap's."""
        if self.level is not None:
            cap = self.level.measures.assembly.cap_thickness or 0.0
            return when_known(lambda height: height - cap, self.level.guard.guard_height)
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
        """How far it stands above the rails, cut square; None: under the cap."""
        return self.assembly.post_proud


def stands_of(line: Line) -> tuple[str, str, str]:
    """Places of the lower, the line and the upper posts of a run."""
    if line.kind == LEVEL:
        return ON_LEVEL, ON_LEVEL, ON_LEVEL
    if line.kind == RAMP and line.measures.typed.lower_setback is None:
        return ON_RAMP, ON_RAMP, AT_UPPER_END
    return AT_LOWER_END, ON_RAMP if line.kind == RAMP else ON_TREAD, AT_UPPER_END


JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "level": Join(lines.TAB, "level_row", "level", maybe=True),
    "support": Join(supports.TAB, "support_row", "typed", maybe=True),
    "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
}
_OFFSET = (
    '=IF({stands}="Tread",{assembly.line_post_setback}*{line.tangent},'
    'IF(OR({stands}="Upper end",{stands}="Bend"),'
    'IF({line.upper_setback}="","",{line.upper_setback}*{line.tangent}),'
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
        Column("level_row", "Level run row", COUNT),
        Column("support_row", "Support row", COUNT, "=IFERROR(MATCH({post},{supports_support},0),0)"),
        Column("assembly_row", "Assembly row", COUNT, of="line"),
        Column("face", "Face", LENGTH,
            '=IF({support_row}=0,{line.post_face},IF({support.face_width}="",{line.post_face},{support.face_width}))'),
        Column("offset", "Line above surface", LENGTH, _OFFSET),
        Column("downhill", "Cap underside, downhill", LENGTH,
            '=IF(COUNT({offset},{line.guard_height})<2,"",'
            "{offset}+{line.guard_height}-{assembly.cap_thickness}*{line.secant})"),
        Column("uphill", "Cap underside, uphill", LENGTH,
            '=IF({level_row}<>"",IF({level.guard_height}="","",{level.guard_height}-{level_assembly.cap_thickness}),'
            + if_known("{downhill}+{rise_across}", "downhill") + ")"),
        Column("trim_downhill", "Trim, downhill", LENGTH,
            '=IF({assembly.post_proud}="",{downhill},IF({trim_uphill}="","",' + or_zero("{trim_uphill}")
            + '+IF({stands}="Ramp",{face}*{line.tangent},0)))'),
        Column("trim_uphill", "Trim, uphill", LENGTH,
            '=IF({assembly.post_proud}="",{uphill},IF({rails}="","",'
            "{rails}+{assembly.cap_thickness}*{line.secant}+{assembly.post_proud}))"),
    ),
    joins={
        **JOINS,
        "flight": Join(flights.TAB, "line.flight_row", "line.measures.flight", maybe=True),
        "level_assembly": Join(assemblies.TAB, "level.assembly_row", "level.measures.assembly", maybe=True),
    },
    terms={
        "first_step": 'IF({line.kind}<>"Stair",0,IF({line.flight_row}="","",{flight.first_riser}))',
        "rise_across": 'IF(OR({stands}="Level",{stands}="Ramp",{stands}="Bend"),0,{face}*{line.tangent})',
        "rails": 'IF({stands}="Upper end",{downhill},IF(COUNT({downhill},{uphill})=0,"",MAX({downhill},{uphill})))',
    },
)  # fmt: skip
