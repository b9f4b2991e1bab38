"""Support blocks: where each stands under the bottom rail, and how long its two sides are.

Blocks share the rail evenly. On stairs the foot must stand on one tread: a block that would straddle
a nosing moves until it does not.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, CUT, INCH, LENGTH, MARK, MILLIMETRE, TAPE, TEXT, VERDICT
from railbook.basics.rounding import PLACES, ceiling, ceiling_excel, floor, floor_excel, round_to, round_to_excel
from railbook.geometry.cells import of_assembly, of_guard, of_measures
from railbook.geometry.sections import Section
from railbook.job.fastenings import BLOCK, SCREW, Fastening
from railbook.job.runs import RAMP, STAIR
from railbook.job.settings import Settings
from railbook.takeoff.screws import INSIDE, UNDER_HEAD

SHORTER, LONGER, SCREW_UNKNOWN = (
    "needs a shorter one",
    "needs a longer one",
    "not known",
)  # of the screw up through a block


class BlockScrew(NamedTuple):
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
    def like_row(self) -> int:
        """Row of the section whose blocks these are."""
        return self.section_row

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.place.assembly_row

    @property
    def line_row(self) -> int:
        """Row of its run on the working tabs."""
        return self.place.line_row

    @property
    def _width(self) -> float:
        return self.place.assembly.block_width or 0.0

    @cached_property
    def wanted(self) -> float:
        """Level distance of its centre from the section's lower face, when blocks share the rail evenly."""
        fit = self.place.line.guard.fit
        return fit + self.number * (self.place.clear - 2 * fit) / (self.of + 1)

    @cached_property
    def beyond_first(self) -> float | None:
        """Its level distance beyond the first nosing; None off the stairs."""
        setback = self.place.line.measures.lower_setback
        if self.place.line.kind != STAIR or setback is None or self.place.line.measures.tread is None:
            return None
        return self.place.lower_face + self.wanted - setback

    @cached_property
    def tread(self) -> int | None:
        """Tread on which it stands, from 0; -1 is the surface below the first nosing."""
        measures = self.place.line.measures
        if self.beyond_first is None or measures.tread is None:
            return None
        last = int(measures.risers or 1) - 1
        return max(-1, min(floor(self.beyond_first / measures.tread), last))

    @cached_property
    def from_nosing(self) -> float | None:
        """Level distance of its centre from the nosing of that tread, so that its foot stands on it."""
        measures = self.place.line.measures
        if self.tread is None or self.beyond_first is None or measures.tread is None:
            return None
        if self.tread < 0:
            return min(self.beyond_first, -self._width / 2)
        free = max(self.beyond_first - self.tread * measures.tread, self._width / 2)
        on_deck = self.tread == int(measures.risers or 1) - 1
        return free if on_deck else min(free, measures.tread - self._width / 2)

    @property
    def tread_number(self) -> int | None:
        """The same counted from 1; 0 is the surface below the first nosing."""
        return None if self.tread is None else self.tread + 1

    @cached_property
    def nosing_distance(self) -> float | None:
        """From the nosing of that tread back to its middle, level, rounded to the tape."""
        return None if self.from_nosing is None else round_to(self.settings.tape_step, self.from_nosing)

    @cached_property
    def moved(self) -> float:
        """How far it was moved uphill to stand on one tread, level."""
        if self.from_nosing is None or self.tread is None or self.beyond_first is None:
            return 0.0
        tread = self.place.line.measures.tread or 0.0
        return self.from_nosing - (self.beyond_first - max(self.tread, 0) * tread)

    @cached_property
    def middle_height(self) -> float | None:
        """Surface to the underside of the rail at its centre, plumb."""
        line = self.place.line
        if line.kind != STAIR:
            return line.guard.clearance
        if self.from_nosing is None:
            return None
        first = 0.0
        if self.tread is not None and self.tread < 0:
            first = (line.measures.flight.first_riser if line.measures.flight else None) or 0.0
        return line.guard.clearance + first + self.from_nosing * line.tangent

    @cached_property
    def rise_across(self) -> float:
        """What the rail gains across the block; on a ramp its foot gains the same."""
        line = self.place.line
        return 0.0 if line.kind == RAMP else self._width * line.tangent

    @cached_property
    def long_side(self) -> float | None:
        """Uphill side, rounded to the tape."""
        return self._tape(1)

    @cached_property
    def tip(self) -> float | None:
        """What the stock must hold: on a ramp its foot has a point too."""
        point = self._width * self.place.line.tangent if self.place.line.kind == RAMP else 0.0
        return None if self.long_side is None else self.long_side + point

    @cached_property
    def short_side(self) -> float | None:
        """Downhill side, rounded to the tape."""
        return self._tape(-1)

    def _tape(self, side: int) -> float | None:
        if self.middle_height is None:
            return None
        return round_to(self.settings.tape_step, self.middle_height + side * self.rise_across / 2)

    @cached_property
    def along(self) -> float:
        """Its centre, along the bottom rail from the lower or left end, rounded to the tape."""
        level = self.wanted + self.moved - self.place.line.guard.fit
        return round_to(self.settings.tape_step, level * self.place.secant)

    @cached_property
    def top_angle(self) -> float:
        """Cut of its top, from square [degrees]."""
        return self.place.line.measures.slope_angle

    @cached_property
    def foot_angle(self) -> float:
        """Cut of its foot, from square: on a ramp it stands on the slope [degrees]."""
        return self.top_angle if self.place.line.kind == RAMP else 0.0

    @property
    def screw_row(self) -> int:
        """Row of its screw on tab Fastenings; 0 where none is known."""
        return self.chosen.row

    @property
    def grip(self) -> float:
        """How far that must reach into the rail."""
        return self.chosen.grip

    @property
    def gauge(self) -> str:
        """Its gauge, as it was typed."""
        return self.chosen.gauge

    @property
    def screw_length(self) -> float | None:
        """Its length, as typed."""
        return None if self.screw is None else self.screw.length

    @cached_property
    def bore(self) -> float | None:
        """How deep its head must sit so that it holds, to the next step of the tape."""
        step = self.settings.tape_step
        return when_known(
            lambda height, length: max(0.0, ceiling((height + self.grip - length) / step) * step),
            self.middle_height,
            self.screw_length,
        )

    @cached_property
    def screw_left(self) -> float | None:
        """What is left of the rail before its point, plumb; negative: it comes out."""
        return when_known(
            lambda height, length, bore: self._rail_depth - (length + bore - height),
            self.middle_height,
            self.screw_length,
            self.bore,
        )

    @property
    def _rail_depth(self) -> float:
        """Of the bottom rail, plumb."""
        return (self.place.assembly.bottom_rail_depth or 0.0) * self.place.secant

    @property
    def screw_says(self) -> str:
        """Whether its screw serves, bored so deep."""
        if self.screw_left is None:
            return SCREW_UNKNOWN
        least = INSIDE[self.settings.unit] * self.place.secant
        if round(self.screw_left - least, PLACES) < 0:
            return SHORTER
        bore, under = self.bore or 0.0, (self.middle_height or 0.0) - (self.bore or 0.0)
        return LONGER if bore > 0 and round(under - UNDER_HEAD[self.settings.unit], PLACES) < 0 else ""

    @cached_property
    def status(self) -> str:
        """Asks for another run when its section does, or needs another number of blocks, or has another screw."""
        kept = self.place.status != RUN_AGAIN and self.place.blocks == self.of
        return "" if kept and self._has_its_screw else RUN_AGAIN

    @property
    def _has_its_screw(self) -> bool:
        """Whether the chosen row of tab Fastenings still holds the screw that was chosen; none was: nothing to hold."""
        if not self.screw_row or self.screw is None:
            return not self.screw_row
        now = (self.screw.assembly, self.screw.joint, self.screw.what, self.screw.gauge or "")
        return now == (self.place.assembly.assembly, BLOCK, SCREW, self.gauge)


def _s(column: str) -> str:
    """Formula part: a figure of the section."""
    return f"INDEX({{sections_{column}}},{{section_row}})"


def _side(sign: str) -> str:
    """Formula: one side, rounded to the tape."""
    height = f"{{middle_height}}{sign}{{rise_across}}/2"
    return f'=IF({{middle_height}}="","",{round_to_excel(height)})'


def _of_screw(column: str) -> str:
    """Formula part: what was typed for its screw."""
    return f"INDEX({{fastenings_{column}}},{{screw_row}})"


_WIDTH = of_assembly("block_width")
_BORE = ceiling_excel("({middle_height}+{grip}-{screw_length})/{tape_step}")
_UNDER = f'IF({{unit}}="{MILLIMETRE}",{UNDER_HEAD[MILLIMETRE]:g},{UNDER_HEAD[INCH]:g})'
_OTHER_SCREW = (
    f"{_of_screw('assembly')}<>{of_assembly('assembly')},"
    f'{_of_screw("joint")}<>"{BLOCK}",{_of_screw("what")}<>"{SCREW}",{_of_screw("gauge")}&""<>{{gauge}}&""'
)
_INSIDE = f'IF({{unit}}="{MILLIMETRE}",{INSIDE[MILLIMETRE]:g},{INSIDE[INCH]:g})*{_s("secant")}'
_ON_TREAD = floor_excel(f"{{beyond_first}}/{of_measures('tread')}")
_DECK = f"(MAX(1,{or_zero(of_measures('risers'))})-1)"
_FIRST_RISER = f"INDEX({{flight_working_first_riser}},{of_measures('flight_row')})"
_FIRST = f"IF({{tread}}>=0,0,{or_zero(_FIRST_RISER)})"

TAB = Tab(
    "blocks",
    "Support blocks",
    Block,
    (
        Column("used_in", "Sections", TEXT, width=14),
        Column("number", "Block", COUNT),
        Column("of", "Of", COUNT),
        Column("along", "Centre along the bottom rail", TAPE,
            "=" + round_to_excel(f"({{wanted}}+{{moved}}-{of_guard('fit')})*{_s('secant')}")),
        Column("tread_number", "Stands on tread", COUNT, '=IF({tread}="","",{tread}+1)', width=9),
        Column("nosing_distance", "Middle from its nosing", TAPE,
            f'=IF({{from_nosing}}="","",{round_to_excel("{from_nosing}")})'),
        Column("long_side", "Uphill side", TAPE, _side("+")),
        Column("short_side", "Downhill side", TAPE, _side("-")),
        Column("top_angle", "Top cut", CUT, f"={of_measures('slope_angle')}"),
        Column("foot_angle", "Foot cut", CUT, f'=IF({of_measures("kind")}="Ramp",{of_measures("slope_angle")},0)'),
        Column("bore", "Bore for its screw", TAPE,
            f'=IF(COUNT({{middle_height}},{{screw_length}})<2,"",MAX(0,{_BORE}*{{tape_step}}))'),
        Column("screw_says", "Screw", TEXT,
            f'=IF({{screw_left}}="","{SCREW_UNKNOWN}",IF(ROUND({{screw_left}}-{_INSIDE},{PLACES})<0,"{SHORTER}",'
            f'IF(AND({{bore}}>0,ROUND({{middle_height}}-{{bore}}-{_UNDER},{PLACES})<0),"{LONGER}","")))',
            width=14),
        Column("screw_left", "Rail left before its point", LENGTH,
            f'=IF({{bore}}="","",{of_assembly("bottom_rail_depth")}*{_s("secant")}-({{screw_length}}+{{bore}}-{{middle_height}}))'),
        Column("screw_length", "Screw length", LENGTH,
            f'=IF({{screw_row}}=0,"",IF({_of_screw("length")}="","",{_of_screw("length")}))'),
        Column("screw_row", "Screw row", COUNT),
        Column("grip", "Must reach", LENGTH),
        Column("gauge", "Gauge", TEXT),
        Column("tip", "Tip to tip", LENGTH,
            f'=IF({{long_side}}="","",{{long_side}}+IF({of_measures("kind")}="Ramp",{_WIDTH}*{of_measures("tangent")},0))'),
        Column("wanted", "Even share", LENGTH,
            f"={of_guard('fit')}+{{number}}*({_s('clear')}-2*{of_guard('fit')})/({{of}}+1)"),
        Column("beyond_first", "Beyond first nosing", LENGTH,
            f'=IF({of_measures("kind")}<>"Stair","",IF(COUNT({of_measures("lower_setback")},{of_measures("tread")})<2,"",'
            f"{_s('lower_face')}+{{wanted}}-{of_measures('lower_setback')}))"),
        Column("tread", "Tread", COUNT,
            f'=IF({{beyond_first}}="","",MAX(-1,MIN({_ON_TREAD},{_DECK})))'),
        Column("from_nosing", "From its nosing", LENGTH,
            f'=IF({{tread}}="","",IF({{tread}}<0,MIN({{beyond_first}},-{_WIDTH}/2),'
            f"IF({{tread}}={_DECK},MAX({{beyond_first}}-{{tread}}*{of_measures('tread')},{_WIDTH}/2),"
            f"MIN(MAX({{beyond_first}}-{{tread}}*{of_measures('tread')},{_WIDTH}/2),{of_measures('tread')}-{_WIDTH}/2))))"),
        Column("moved", "Moved uphill", LENGTH,
            f'=IF({{from_nosing}}="",0,{{from_nosing}}-({{beyond_first}}-MAX({{tread}},0)*{of_measures("tread")}))'),
        Column("middle_height", "Height at its middle", LENGTH,
            f'=IF({of_measures("kind")}<>"Stair",{of_guard("clearance")},IF({{from_nosing}}="","",'
            f"{of_guard('clearance')}+{_FIRST}+{{from_nosing}}*{of_measures('tangent')}))"),
        Column("rise_across", "Rise across", LENGTH,
            f'=IF({of_measures("kind")}="Ramp",0,{_WIDTH}*{of_measures("tangent")})'),
        Column("section", "First section", MARK),
        Column("section_row", "Section row", COUNT),
        Column("line_row", "Run row", COUNT, f"={_s('line_row')}"),
        Column("like_row", "Like row", COUNT),
        Column("assembly_row", "Assembly row", COUNT, f"={_s('assembly_row')}"),
        Column(STATUS, "Status", VERDICT, ask_again(
            f'{_s("status")}="run again"', f"{_s('blocks')}<>{{of}}",
            f"IF({{screw_row}}=0,FALSE,OR({_OTHER_SCREW}))")),
    ),
    purpose="Blocks under the bottom rail, marked along its underside. On stairs each stands on one tread. Bore: how "
    "deep the wider hole for the head of its screw goes in from below, so that the screw holds in the rail.",
    crew=True,
    paper_to="screw_says",
    key="used_in",
)  # fmt: skip
