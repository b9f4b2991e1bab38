"""Tops of posts worked out: where the cap's underside crosses each, or where one that stands proud ends.

Heights stand on the surface that the post itself stands on, plumb; where a post leans it is trimmed to heights taped
along it.
"""

from dataclasses import dataclass, field
from functools import cached_property

from railbook.basics.blank import most, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.kinds import ANGLE, COUNT, FACTOR, LENGTH
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.caps import Cap
from railbook.geometry.joints import bend_past
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.post_leans import PostLean
from railbook.geometry.post_top_words import FLIGHT, JOINS, TERMS, WAYS, BentEnd, Chosen, TopWords, top_words
from railbook.geometry.skews import cosine
from railbook.job.assemblies import Assembly
from railbook.job.runs import LEVEL, RAMP, STAIR
from railbook.job.supports import STAND_PROUD, Support

ON_LEVEL, AT_LOWER_END, AT_UPPER_END = "Level", "Lower end", "Upper end"
ON_TREAD, ON_RAMP, ON_BEND = "Tread", "Ramp", "Bend"


@dataclass(frozen=True)
class PostTop:
    """One support; lengths in the job's unit, plumb but where it is trimmed, before they are rounded.

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
        side: a run that comes to it square to its own and recorded a lean there, at its end `side_end`.
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
    side: Line | None = field(repr=False, default=None)
    side_end: str = ""

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
    def side_row(self) -> int | None:
        """Row of the run whose lean there is sideways to its own."""
        return None if self.side is None else self.side.line_row

    @cached_property
    def leaning(self) -> PostLean:
        """How it leans."""
        own = (each.arrival for each in (self.cover, self.bend) if each is not None)
        end = next((each.end for each in own if each.line is self.line), "")
        return PostLean(self.line, end, self.side, self.side_end)

    @property
    def leans(self) -> bool:
        """Whether a lean of it was recorded."""
        return self.leaning.leans

    @property
    def lean(self) -> float | None:
        """How far it leans along its run [degrees]; None where it stands plumb."""
        return self.leaning.lean if self.leans else None

    @property
    def swung(self) -> float | None:
        """What heights over its foot become where they meet it; None where it stands plumb."""
        return self.leaning.swung if self.leans else None

    @property
    def along(self) -> float | None:
        """Its length for each unit of its height; None where it stands plumb."""
        return self.leaning.along if self.leans else None

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
        return down.arm.half + bend_past(down.arm, up.arm)

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
    def skew(self) -> float:
        """How far the run is turned off its face [degrees]."""
        skews = {FROM: self.line.measures.from_skew, TO: self.line.measures.to_skew}
        return skews.get(self.leaning.end, 0.0)

    @property
    def over_excel(self) -> str:
        """Formula part: over the cosine of that, where it was found askew."""
        sides = {FROM: self.line.measures.from_side, TO: self.line.measures.to_side}
        end = self.leaning.end
        return f"/COS(RADIANS(INDEX({{lines_{end}_skew}},{{line_row}})))" if sides.get(end) else ""

    @cached_property
    def offset(self) -> float | None:
        """How much higher the guard line runs at the downhill face than above its own surface."""
        measures = self.line.measures
        tangent, face = measures.tangent, self.face * self.leaning.wide
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
        return self.face * self.leaning.wide * self.line.tangent * self.leaning.swung

    @cached_property
    def downhill(self) -> float | None:
        """Underside of the cap at the downhill (or left) face."""
        if self.bent is not None:
            return None if self.bent[0].middle is None else self.bent[0].arm.face
        cap, swung = (self.assembly.cap_thickness or 0.0) * self.line.secant, self.leaning.swung
        height = self.line.guard.guard_height
        return when_known(lambda offset, own: (offset + own - cap) * swung, self.offset, height)

    @cached_property
    def uphill(self) -> float | None:
        """Underside of the cap at the uphill (or right) face; at a bend the other cap's."""
        if self.bent is not None:
            return None if self.bent[1].middle is None else self.bent[1].arm.face
        return when_known(lambda height: height + self.rise_across, self.downhill)

    @cached_property
    def square_top(self) -> float | None:
        """Where a post that stands proud is cut, along the face where its rails end; None under a cap."""
        if self.proud is None:
            return None
        rails = self.downhill if self.stands == AT_UPPER_END else most(self.downhill, self.uphill)
        cap, lean = (self.assembly.cap_thickness or 0.0) * self.line.secant * self.leaning.swung, self.leaning
        return when_known(lambda height: (height + cap) * lean.along + (self.proud or 0.0), rails)

    @cached_property
    def trim_downhill(self) -> float | None:
        """Where its finished face is trimmed, along it: downhill; a square top stands higher over a lower foot."""
        return self._along(self.downhill) if self.proud is None else self._square_on(self.trim_uphill)

    def _along(self, height: float | None) -> float | None:
        return when_known(lambda plumb: plumb * self.leaning.along, height)

    def _square_on(self, uphill: float | None) -> float | None:
        """The downhill face of a square top: its foot is lower by what a ramp, or a lean, gains across the post."""
        return when_known(lambda top: top + self.face * self.foot_gain, uphill)

    @property
    def foot_gain(self) -> float:
        """What its foot gains across it, uphill, for each unit of its width."""
        if self.leans:
            return self.leaning.foot(self.line.measures.slope_angle if self.stands == ON_RAMP else 0.0)
        return self.line.tangent if self.stands == ON_RAMP else 0.0

    @cached_property
    def trim_uphill(self) -> float | None:
        """The same uphill."""
        if self.proud is None:
            return self._along(self.uphill)
        over_foot = self.face * self.foot_gain if self.leaning.end == TO else 0.0
        return when_known(lambda top: top - over_foot, self.square_top)

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
    def words(self) -> TopWords:
        """Its formulas, by how it was chosen."""
        side_end = self.side_end if self.side is not None else ""
        return top_words(Chosen(self.leaning.end, self.line.guard.leans(self.leaning.end), side_end, self.bent_ends))

    @property
    def bent_ends(self) -> tuple[BentEnd, ...]:
        """Which ends of which runs bend over it, and whether a lean of theirs was recorded; nothing where none do."""
        if self.bent is None:
            return ()
        return tuple(BentEnd(way, each.end, each.leaning) for way, each in zip(WAYS, self.bent, strict=True))


def stands_of(line: Line) -> tuple[str, str, str]:
    """Places of the lower, the line and the upper posts of a run."""
    if line.kind == LEVEL:
        return ON_LEVEL, ON_LEVEL, ON_LEVEL
    if line.kind == RAMP and line.measures.typed.lower_setback is None:
        return ON_RAMP, ON_RAMP, AT_UPPER_END
    return AT_LOWER_END, ON_RAMP if line.kind == RAMP else ON_TREAD, AT_UPPER_END


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
        Column("offset", "Line above surface", LENGTH, "=[words.offset]"),
        Column("downhill", "Cap underside, downhill", LENGTH, "=[words.downhill]"),
        Column("uphill", "Cap underside, uphill", LENGTH, "=[words.uphill]"),
        Column("crossing", "Caps bend at", LENGTH, "=[words.crossing]", when="is_bent"),
        Column("crest", "Underside there", LENGTH, '=IF({crossing}="","",[words.crest])', when="is_bent"),
        Column("trim_downhill", "Trim, downhill", LENGTH, "=[words.trim_downhill]"),
        Column("trim_uphill", "Trim, uphill", LENGTH, "=[words.trim_uphill]"),
        Column("side_row", "Sideways by run row", COUNT),
        Column("lean", "Leans along the run", ANGLE, "=[words.lean]", when="leans"),
        Column("swung", "Heights where they meet it", FACTOR, "=[words.swung]", when="leans"),
        Column("along", "Along it, of its height", FACTOR, "=[words.along]", when="leans"),
    ),
    joins={**JOINS, **FLIGHT},
    terms=TERMS,
)  # fmt: skip
