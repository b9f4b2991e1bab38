"""Handrails of their own: the pieces of each and how they are cut, its returns and its brackets.

On stairs a handrail runs from the lowest to the top nosing, along the slope, and past both as the assembly
says: past the lowest nosing along the slope, past the top one level. The line over the nosings and the line
over the landing, both at the handrail's height, meet plumb above the top nosing: there the top edges of rail
and level end bend. On the level nothing is added.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import if_known, when_known
from railbook.basics.double_entry import STATUS, Column, Tab, first_rows
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import COUNT, CUT, LENGTH, MARK, TAPE, TEXT, VERDICT
from railbook.basics.rounding import ceiling, ceiling_excel, round_to, round_to_excel
from railbook.geometry import handrail_slopes
from railbook.geometry.chosen import Chosen
from railbook.geometry.flights import FlightWorking
from railbook.geometry.handrail_slopes import HandrailSlope
from railbook.job import assemblies, runs
from railbook.job.assemblies import Assembly
from railbook.job.build import Job
from railbook.job.runs import HANDRAIL, LEVEL
from railbook.job.settings import Settings

MITRE = 45.0  # of rail and return, square to each other: it lies in the plane of both [degrees]
ENDS = 2
RAIL, LEVEL_END, RETURNS = "rail", ", level end", ", returns"  # what a handrail is made of


def brackets_needed(*, length: float, spacing: float) -> int:
    """Brackets of a handrail: one at each end, and between them at most that far apart.

    A rail of 96 in on brackets 48 in apart has 3: two ends and the middle (by hand).

    >>> brackets_needed(length=96.0, spacing=48.0), brackets_needed(length=20.0, spacing=48.0)
    (3, 2)
    """
    return max(ENDS, ceiling(length / spacing) + 1)


@dataclass(frozen=True)
class Handrail:
    """One handrail of its own; lengths in the job's unit, None where a measurement is missing.

    Attributes:
        run: its mark.
        like_row: its row on this tab and on that of the slopes: a handrail is like itself only.
        slope: its slope and its length between the nosings.
        assembly: its railing, at `assembly_row` of tab Assemblies.
        chosen_shape: the pieces that were chosen for it, in words.
        chosen: what all choices rest on.
    """

    run: str
    like_row: int
    slope: HandrailSlope
    assembly: Assembly
    assembly_row: int
    chosen_shape: str
    chosen: Chosen
    settings: Settings

    @property
    def location(self) -> str:
        """Where it is."""
        return self.slope.typed.location or ""

    @property
    def item(self) -> str:
        """What it is cut from."""
        return self.assembly.handrail_item or ""

    @cached_property
    def height(self) -> float | None:
        """Its top above the nosing line, or above the surface, plumb [job unit]."""
        return self.assembly.handrail_height

    @cached_property
    def past_bottom(self) -> float | None:
        """Along the slope past the lowest nosing; none on the level [job unit]."""
        level = 0.0 if self.slope.kind == LEVEL else self.assembly.handrail_past_bottom or 0.0
        return when_known(lambda secant: level * secant, self.slope.secant)

    @cached_property
    def past_top(self) -> float:
        """Level past the top nosing; none on the level [job unit]."""
        return 0.0 if self.slope.kind == LEVEL else self.assembly.handrail_past_top or 0.0

    @cached_property
    def rail_exact(self) -> float | None:
        """The rail itself, to its long points [job unit]."""
        return when_known(lambda between, past: between + past, self.slope.between, self.past_bottom)

    @cached_property
    def rail_length(self) -> float | None:
        """The same, rounded to the tape [job unit]."""
        return when_known(lambda exact: round_to(self.settings.tape_step, exact), self.rail_exact)

    @cached_property
    def level_end(self) -> float | None:
        """The level piece past the top nosing, to its long points, rounded to the tape; None: none [job unit]."""
        return round_to(self.settings.tape_step, self.past_top) if self.past_top else None

    @cached_property
    def total(self) -> float | None:
        """Rail and level end together, without the returns [job unit].

        Commercial practice: 13 nosings on 7 in risers and 11 in treads, 12 in level past the top one and a
        tread along the slope past the lowest one, 12 x 13.0384 + 12 + 13.0384 = 181.50.
        """
        return when_known(lambda exact: exact + self.past_top, self.rail_exact)

    @cached_property
    def returns(self) -> int:
        """Pieces that turn an end to the wall."""
        return ENDS if self.return_length else 0

    @property
    def return_length(self) -> float | None:
        """Length of such a piece, to its long point; None: no returns [job unit]."""
        return self.assembly.handrail_return

    @property
    def _bend(self) -> float:
        """Saw setting where rail and level end meet: half the slope."""
        return (self.slope.slope_angle or 0.0) / 2

    @property
    def return_cut(self) -> float:
        """Saw setting where a return meets the rail, from square [degrees]."""
        return MITRE if self.returns else 0.0

    @property
    def lower_cut(self) -> float:
        """Saw setting at the lower or left end, from square; the sign tells which way it leans [degrees]."""
        return -self.return_cut

    @property
    def upper_cut(self) -> float:
        """Saw setting at the upper or right end of the rail, from square [degrees]."""
        return self._bend if self.past_top else self.return_cut

    @property
    def level_cut(self) -> float:
        """Saw setting of the level end where it meets the rail, from square [degrees]."""
        return self._bend if self.past_top else 0.0

    @property
    def square_cut(self) -> float:
        """Saw setting of a return at the wall, from square [degrees]."""
        return 0.0

    @cached_property
    def brackets(self) -> int | None:
        """Brackets."""
        count = when_known(
            lambda total, spacing: brackets_needed(length=total, spacing=spacing),
            self.total,
            self.assembly.handrail_bracket_spacing,
        )
        return None if count is None else int(count)

    @cached_property
    def shape(self) -> str:
        """The pieces that it is made of, in words."""
        return RAIL + (LEVEL_END if self.past_top else "") + (RETURNS if self.returns else "")

    @property
    def unknown(self) -> bool:
        """Whether it cannot be laid out any more."""
        return None in (self.total, self.brackets, self.height)

    @property
    def other_kind(self) -> bool:
        """Whether its run is no handrail any more."""
        return self.slope.typed.kind != HANDRAIL

    @property
    def flight_lost(self) -> bool:
        """Whether the flight that it names cannot be found."""
        return bool(self.slope.typed.flight) and self.slope.flight is None

    @property
    def settings_moved(self) -> bool:
        """Whether unit or rule set were changed."""
        return bool(self.chosen.settings_moved)

    @cached_property
    def status(self) -> str:
        """Asks for another run when other pieces are needed, or when it cannot be laid out any more."""
        return TAB.status_of(self)


def handrail_slopes_of(job: Job, flights: Sequence[FlightWorking], marks: Iterable[str]) -> tuple[HandrailSlope, ...]:
    """The slope of each handrail of those marks; a mark that is gone stays out."""
    run_rows = first_rows([run.run for run in job.runs])
    flight_rows = first_rows([flight.flight for flight in flights])

    def slope(mark: str) -> HandrailSlope:
        typed = job.runs[run_rows[mark] - 1]
        flight_row = flight_rows.get(typed.flight or "")
        flight = flights[flight_row - 1] if flight_row else None
        return HandrailSlope(mark, run_rows[mark], typed, flight, flight_row, job.in_force)

    return tuple(slope(mark) for mark in marks if mark in run_rows)


def handrails_of(
    job: Job, slopes: Sequence[HandrailSlope], shapes: Mapping[str, str], chosen: Chosen
) -> tuple[Handrail, ...]:
    """One row for each of the slopes.

    Args:
        job: what is to be built.
        slopes: see `handrail_slopes_of`.
        shapes: run -> the pieces chosen for it, see `choose_shapes`.
        chosen: what all choices rest on.
    """
    rows = first_rows([each.assembly for each in job.assemblies])

    def handrail(like_row: int, slope: HandrailSlope) -> Handrail:
        row = rows[slope.typed.assembly or ""]
        assembly = job.assemblies[row - 1]
        return Handrail(slope.run, like_row, slope, assembly, row, shapes[slope.run], chosen, job.settings)

    return tuple(handrail(row, slope) for row, slope in enumerate(slopes, start=1))


def choose_shapes(job: Job, flights: Sequence[FlightWorking]) -> dict[str, str]:
    """Run -> the pieces of its handrail, for every handrail that can be laid out."""
    sound = dict.fromkeys((run.run for run in job.sound_handrails), "")
    chosen = Chosen(job.settings, job.settings.unit, job.settings.rule_set)
    slopes = handrail_slopes_of(job, flights, sound)
    return {each.run: each.shape for each in handrails_of(job, slopes, sound, chosen)}


TAB = Tab(
    "handrails",
    "Handrails",
    Handrail,
    (
        Column("run", "Run", MARK, width=7),
        Column("location", "Where", TEXT, '={typed.location}&""'),
        Column("item", "Cut from", MARK, '={assembly.handrail_item}&""', width=13),
        Column("height", "Height of its top", TAPE, of="assembly.handrail_height"),
        Column("rail_length", "Rail", TAPE, '=IF({rail_exact}="","",' + round_to_excel("{rail_exact}") + ")"),
        Column("lower_cut", "Lower or left cut", CUT, "=-{return_cut}"),
        Column("upper_cut", "Upper or right cut", CUT, "=IF({past_top}>0,{level_cut},{return_cut})"),
        Column("level_end", "Level end", TAPE, '=IF({past_top}=0,"",' + round_to_excel("{past_top}") + ")"),
        Column("level_cut", "Level end, lower cut", CUT,
            '=IF({past_top}=0,0,IF({slope.slope_angle}="",0,{slope.slope_angle}/2))'),
        Column("returns", "Returns", COUNT, '=IF({return_length}="",0,2)'),
        Column("return_length", "Return", TAPE, of="assembly.handrail_return"),
        Column("return_cut", "Return cut", CUT, "=IF({returns}>0,45,0)"),
        Column("brackets", "Brackets", COUNT,
            '=IF(OR({total}="",{assembly.handrail_bracket_spacing}=""),"",'
            f"MAX(2,{ceiling_excel('{total}/{assembly.handrail_bracket_spacing}')}+1))"),
        Column("total", "Length in all", LENGTH, "=" + if_known("{rail_exact}+{past_top}", "rail_exact")),
        Column("rail_exact", "Rail, exact", LENGTH,
            '=IF(COUNT({slope.between},{past_bottom})<2,"",{slope.between}+{past_bottom})'),
        Column("past_bottom", "Past the bottom", LENGTH,
            '=IF({slope.secant}="","",IF({slope.kind}="Level",0,{assembly.handrail_past_bottom})*{slope.secant})'),
        Column("past_top", "Past the top", LENGTH,
            '=IF({slope.kind}="Level",0,{assembly.handrail_past_top}+0)'),
        Column("assembly_row", "Assembly row", COUNT,
            "=MATCH({typed.assembly},{assemblies_assembly},0)"),
        Column("like_row", "Like row", COUNT),
        Column("square_cut", "Return at the wall", CUT),
        Column("chosen_shape", "Chosen for", TEXT, width=24),
        Column("shape", "Made of", TEXT,
            '="rail"&IF({past_top}>0,", level end","")&IF({returns}>0,", returns","")', width=24),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Lengths to long points, on the top edge. Cuts are saw settings from square: 45 with a return, "
    "half the slope where a level end follows.",
    none="No run of kind Handrail.",
    crew=True,
    paper_to="brackets",
    key="run",
    joins={
        "slope": Join(handrail_slopes.TAB, "like_row", "slope"),
        "typed": Join(runs.TAB, "slope.run_row", "slope.typed"),
        "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
    },
    rests=Rests(
        kept={"chosen_shape": "shape"},
        unless={
            "unknown": "COUNT({total},{brackets},{height})<3",
            "other_kind": '{typed.kind}<>"Handrail"',
            "flight_lost": 'IF({slope.flight_row}="",FALSE,NOT(ISNUMBER({slope.flight_row})))',
            "settings_moved": "{settings_moved}=1",
        },
    ),
)  # fmt: skip
