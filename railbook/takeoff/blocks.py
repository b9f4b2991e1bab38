"""Support blocks: where each stands under the bottom rail, and how long its two sides are.

Blocks share the rail evenly. On stairs the foot must stand on one tread: a block that would straddle
a nosing moves until it does not.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests, written
from railbook.basics.kinds import COUNT, CUT, INCH, LENGTH, MARK, MILLIMETRE, TAPE, TEXT, VERDICT
from railbook.basics.rounding import PLACES, ceiling, ceiling_excel, floor, floor_excel, round_to, round_to_excel
from railbook.geometry import flights, lines, sections
from railbook.geometry.lines import Line
from railbook.geometry.sections import Section
from railbook.job import assemblies, fastenings
from railbook.job.fastenings import BLOCK, SCREW, Fastening
from railbook.job.runs import RAMP, STAIR
from railbook.job.settings import Settings
from railbook.takeoff.screws import INSIDE, UNDER_HEAD

SHORTER, LONGER, SCREW_UNKNOWN = (
    "needs a shorter one",
    "needs a longer one",
    "not known",
)  # of the screw up through a block


@dataclass(frozen=True)
class BlockScrew:
    """The screw of the blocks of an assembly, as chosen: its row on tab Fastenings, and how far it must reach.

    Attributes:
        row: on tab Fastenings; 0: none is known.
        grip: into the rail, six of its diameters.
        gauge: the gauge that `grip` follows from, as typed.
    """

    row: int = 0
    grip: float = 0.0
    gauge: str = ""


@dataclass(frozen=True)
class Block:
    """One support block of a distinct section; lengths in the job's unit.

    Attributes:
        section: mark of the section, at `section_row` of the working sections.
        used_in: every section that has this block.
        number: its place, from 1 at the lower or left end.
        of: blocks of the section, as chosen.
        screw: what goes up through it into the rail; None where tab Fastenings has none.
        chosen: where that stands, and how far it must reach.
    """

    section: str
    used_in: str
    number: int
    of: int
    place: Section
    section_row: int
    settings: Settings
    screw: Fastening | None
    chosen: BlockScrew

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @property
    def line(self) -> Line:
        """Its run."""
        return self.place.line

    @property
    def _width(self) -> float:
        return self.line.measures.assembly.block_width or 0.0

    @cached_property
    def wanted(self) -> float:
        """Level distance of its centre from the section's lower face, when blocks share the rail evenly."""
        fit = self.line.guard.fit
        return fit + self.number * (self.place.clear - 2 * fit) / (self.of + 1)

    @cached_property
    def beyond_first(self) -> float | None:
        """Its level distance beyond the first nosing; None off the stairs."""
        setback = self.line.measures.lower_setback
        if self.line.kind != STAIR or setback is None or self.line.measures.tread is None:
            return None
        return self.place.lower_face + self.wanted - setback

    @cached_property
    def tread_number(self) -> int | None:
        """Tread on which it stands, from 1; 0 is the surface below the first nosing."""
        tread = self.line.measures.tread
        if self.beyond_first is None or tread is None:
            return None
        return max(0, min(floor(self.beyond_first / tread) + 1, self._treads))

    @property
    def _treads(self) -> int:
        """Number of the last tread, which is the deck."""
        return int(self.line.measures.risers or 1)

    @cached_property
    def from_nosing(self) -> float | None:
        """Level distance of its centre from the nosing of that tread, so that its foot stands on it."""
        tread = self.line.measures.tread
        if self.tread_number is None or self.beyond_first is None or tread is None:
            return None
        if self.tread_number == 0:
            return min(self.beyond_first, -self._width / 2)
        free = max(self.beyond_first - (self.tread_number - 1) * tread, self._width / 2)
        return free if self.tread_number == self._treads else min(free, tread - self._width / 2)

    @cached_property
    def nosing_distance(self) -> float | None:
        """From the nosing of that tread back to its middle, level, rounded to the tape."""
        return None if self.from_nosing is None else round_to(self.settings.tape_step, self.from_nosing)

    @cached_property
    def moved(self) -> float:
        """How far it was moved uphill to stand on one tread, level."""
        if self.from_nosing is None or self.tread_number is None or self.beyond_first is None:
            return 0.0
        tread = self.line.measures.tread or 0.0
        return self.from_nosing - (self.beyond_first - max(self.tread_number - 1, 0) * tread)

    @cached_property
    def middle_height(self) -> float | None:
        """Surface to the underside of the rail at its centre, plumb."""
        line = self.line
        if line.kind != STAIR:
            return line.guard.clearance
        if self.from_nosing is None:
            return None
        flight = line.measures.flight
        first = (flight.first_riser or 0.0) if flight and self.tread_number == 0 else 0.0
        return line.guard.clearance + first + self.from_nosing * line.tangent

    @property
    def _rise_across(self) -> float:
        """What the rail gains across the block; on a ramp its foot gains the same."""
        return 0.0 if self.line.kind == RAMP else self._width * self.line.tangent

    @cached_property
    def long_side(self) -> float | None:
        """Uphill side, rounded to the tape."""
        return self._tape(1)

    @cached_property
    def tip(self) -> float | None:
        """What the stock must hold: on a ramp its foot has a point too."""
        point = self._width * self.line.tangent if self.line.kind == RAMP else 0.0
        return None if self.long_side is None else self.long_side + point

    @cached_property
    def short_side(self) -> float | None:
        """Downhill side, rounded to the tape."""
        return self._tape(-1)

    def _tape(self, side: int) -> float | None:
        if self.middle_height is None:
            return None
        return round_to(self.settings.tape_step, self.middle_height + side * self._rise_across / 2)

    @cached_property
    def along(self) -> float:
        """Its centre, along the bottom rail from the lower or left end, rounded to the tape.

        From the corner on the walking side, where that end is askew.
        """
        level = self.wanted + self.moved - self.line.guard.fit - self.place.bottom_corner
        return round_to(self.settings.tape_step, level * self.line.secant)

    @property
    def corner_excel(self) -> str:
        """Formula part: less the corner on the walking side, where the rail's lower end is askew."""
        return _CORNER if self.place.lower_side else ""

    @cached_property
    def top_angle(self) -> float:
        """Cut of its top, from square [degrees]."""
        return self.line.measures.slope_angle

    @cached_property
    def foot_angle(self) -> float:
        """Cut of its foot, from square: on a ramp it stands on the slope [degrees]."""
        return self.top_angle if self.line.kind == RAMP else 0.0

    @property
    def _screw_length(self) -> float | None:
        return None if self.screw is None else self.screw.length

    @cached_property
    def bore(self) -> float | None:
        """How deep its head must sit so that it holds, to the next step of the tape."""
        step, grip = self.settings.tape_step, self.chosen.grip
        return when_known(
            lambda height, length: max(0.0, ceiling((height + grip - length) / step) * step),
            self.middle_height,
            self._screw_length,
        )

    @cached_property
    def screw_left(self) -> float | None:
        """What is left of the rail before its point, plumb; negative: it comes out."""
        return when_known(
            lambda height, length, bore: self._rail_depth - (length + bore - height),
            self.middle_height,
            self._screw_length,
            self.bore,
        )

    @property
    def _rail_depth(self) -> float:
        """Of the bottom rail, plumb."""
        return (self.line.measures.assembly.bottom_rail_depth or 0.0) * self.line.secant

    @property
    def screw_says(self) -> str:
        """Whether its screw serves, bored so deep."""
        if self.screw_left is None:
            return SCREW_UNKNOWN
        least = INSIDE[self.settings.unit] * self.line.secant
        if round(self.screw_left - least, PLACES) < 0:
            return SHORTER
        bore, under = self.bore or 0.0, (self.middle_height or 0.0) - (self.bore or 0.0)
        return LONGER if bore > 0 and round(under - UNDER_HEAD[self.settings.unit], PLACES) < 0 else ""

    @property
    def has_another_screw(self) -> bool:
        """Whether the chosen row of tab Fastenings no longer holds the screw that was chosen."""
        if not self.chosen.row:
            return False
        if self.screw is None:
            return True
        now = (self.screw.assembly, self.screw.joint, self.screw.what, self.screw.gauge or "")
        return now != (self.line.measures.assembly.assembly, BLOCK, SCREW, self.chosen.gauge)

    @cached_property
    def status(self) -> str:
        """Asks for another run when its section does, or needs another number of blocks, or has another screw."""
        return TAB.status_of(self)


def _side(sign: str) -> str:
    """Formula: one side, rounded to the tape."""
    return '=IF({middle_height}="","",' + round_to_excel("{middle_height}" + sign + "{rise_across}/2") + ")"


def _by_unit(of: dict[str, float]) -> str:
    """Formula part: a length that each unit has its own of."""
    return 'IF({unit}="' + MILLIMETRE + f'",{of[MILLIMETRE]:g},{of[INCH]:g})'


_JOINS = {
    "place": Join(sections.PART, "section_row", "place"),
    "line": Join(lines.TAB, "line_row", "line"),
    "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
    "flight": Join(flights.TAB, "line.flight_row", "line.measures.flight", maybe=True),
    "screw": Join(fastenings.TAB, "screw_row", "screw", maybe=True),
}
_CORNER = written("-{place.bottom_corner}", _JOINS, {})

TAB = Tab(
    "blocks",
    "Support blocks",
    Block,
    (
        Column("used_in", "Sections", TEXT, width=14),
        Column("number", "Block", COUNT),
        Column("of", "Of", COUNT),
        Column("along", "Centre along the bottom rail", TAPE,
            "=" + round_to_excel("({wanted}+{moved}-{line.fit}[corner_excel])*{line.secant}")),
        Column("tread_number", "Stands on tread", COUNT,
            '=IF({beyond_first}="","",MAX(0,MIN(' + floor_excel("{beyond_first}/{line.tread}") + "+1,{treads})))",
            when="line.is_stair", width=9),
        Column("nosing_distance", "Middle from its nosing", TAPE,
            '=IF({from_nosing}="","",' + round_to_excel("{from_nosing}") + ")", when="line.is_stair"),
        Column("long_side", "Uphill side", TAPE, _side("+")),
        Column("short_side", "Downhill side", TAPE, _side("-")),
        Column("top_angle", "Top cut", CUT, of="line.slope_angle"),
        Column("foot_angle", "Foot cut", CUT, '=IF({line.kind}="Ramp",{top_angle},0)'),
        Column("bore", "Bore for its screw", TAPE,
            '=IF(COUNT({middle_height},{screw_length})<2,"",MAX(0,'
            + ceiling_excel("({middle_height}+{grip}-{screw_length})/{tape_step}") + "*{tape_step}))"),
        Column("screw_says", "Screw", TEXT,
            '=IF({screw_left}="","' + SCREW_UNKNOWN + '",IF({lacking}<0,"' + SHORTER + '",'
            'IF(AND({bore}>0,{crushed}<0),"' + LONGER + '","")))',
            width=14),
        Column("screw_left", "Rail left before its point", LENGTH,
            '=IF({bore}="","",{assembly.bottom_rail_depth}*{line.secant}-({screw_length}+{bore}-{middle_height}))'),
        Column("screw_length", "Screw length", LENGTH, of="screw.length"),
        Column("screw_row", "Screw row", COUNT, path="chosen.row"),
        Column("grip", "Must reach", LENGTH, path="chosen.grip"),
        Column("gauge", "Gauge", TEXT, path="chosen.gauge"),
        Column("tip", "Tip to tip", LENGTH,
            '=IF({long_side}="","",{long_side}+IF({line.kind}="Ramp",{assembly.block_width}*{line.tangent},0))'),
        Column("wanted", "Even share", LENGTH,
            "={line.fit}+{number}*({place.clear}-2*{line.fit})/({of}+1)"),
        Column("beyond_first", "Beyond first nosing", LENGTH,
            '=IF(COUNT({line.lower_setback},{line.tread})<2,"",{place.lower_face}+{wanted}-{line.lower_setback})',
            when="line.is_stair"),
        Column("from_nosing", "From its nosing", LENGTH,
            '=IF({tread_number}="","",IF({tread_number}=0,MIN({beyond_first},-{half}),'
            "IF({tread_number}={treads},{free},MIN({free},{line.tread}-{half}))))", when="line.is_stair"),
        Column("middle_height", "Height at its middle", LENGTH,
            '=IF({line.kind}<>"Stair",{line.clearance},IF({from_nosing}="","",'
            "{line.clearance}+{first}+{from_nosing}*{line.tangent}))"),
        Column("section", "First section", MARK),
        Column("section_row", "Section row", COUNT),
        Column("line_row", "Run row", COUNT, path="place.line_row"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Blocks under the bottom rail, marked along its underside, on the walking side where it ends askew. On "
    "stairs each stands on one tread. Bore: how deep the wider hole for the head of its screw goes in from below, so "
    "that the screw holds in the rail.",
    crew=True,
    paper_to="screw_says",
    key="used_in",
    joins=_JOINS,
    terms={
        "half": "{assembly.block_width}/2",
        "treads": "MAX(1," + or_zero("{line.risers}") + ")",
        "uphill": "MAX({tread_number}-1,0)*{line.tread}",
        "free": "MAX({beyond_first}-{uphill},{half})",
        "moved": 'IF({from_nosing}="",0,{from_nosing}-({beyond_first}-{uphill}))',
        "first": "IF({tread_number}=0," + or_zero("{flight.first_riser}") + ",0)",
        "rise_across": 'IF({line.kind}="Ramp",0,{assembly.block_width}*{line.tangent})',
        "lacking": "ROUND({screw_left}-" + _by_unit(INSIDE) + f"*{{line.secant}},{PLACES})",
        "crushed": "ROUND({middle_height}-{bore}-" + _by_unit(UNDER_HEAD) + f",{PLACES})",
    },
    rests=Rests(
        on=("place",),
        free=("line",),
        kept={"of": "place.blocks"},
        unless={
            "has_another_screw": 'IF({screw_row}=0,FALSE,OR({screw.assembly}<>{assembly.assembly},'
            '{screw.joint}<>"' + BLOCK + '",{screw.what}<>"' + SCREW + '",{screw.gauge}&""<>{gauge}&""))',
        },
    ),
)  # fmt: skip
