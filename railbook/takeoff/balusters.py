"""Baluster layout: one row per distinct rail, with the running marks that the crew transfers to it.

Balusters stand plumb. Beside a support that leans the gap changes with the height and is widest at the one rail
where its face stands back. Number and pitch come from the widest clear, from where the one face stands back to
where the other does; at the other rail an end gap gives up what that end has less there. So no gap, beside a
support or between two balusters, is wider than the others, and marks count from the end of their own rail.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Rests, written
from railbook.basics.kinds import COUNT, LENGTH, TAPE, TEXT, VERDICT
from railbook.basics.rounding import (
    PLACES,
    ceiling_excel,
    floor_excel,
    half_up,
    round_to,
    round_to_excel,
    same,
    tape_steps_excel,
)
from railbook.geometry import spacing
from railbook.geometry.askew_rails import tangent
from railbook.job.settings import Settings
from railbook.takeoff.rail_ends import BOTH, BOTTOM, JOINS, TOP, RailEnds, meets_alike


@dataclass(frozen=True)
class BalusterLayout(RailEnds):
    """The layout of one distinct rail; lengths in the job's unit.

    Attributes:
        layout: its number.
        used_in: marks of the sections that use it.
        section_row: row of the first of them on the working sections; it is its `section`.
        added: balusters added because rounding the marks opened a gap too far.
        chosen_clear: the clear that `added` was chosen for.
        slots: how many marks the tab has room for.
    """

    layout: int
    used_in: str
    section_row: int
    settings: Settings
    added: int
    chosen_clear: float
    slots: int

    @cached_property
    def width(self) -> float:
        """Width of a baluster where the gap is checked."""
        assembly = self.line.measures.assembly
        return assembly.baluster_least_width or assembly.baluster_width or 0.0

    @cached_property
    def count(self) -> int:
        """Balusters of the section."""
        clear, width, margin = self.widest_clear, self.width, self.settings.build_margin
        limit = self.line.guard.sphere
        if self.fixed_pitch is None:
            fewest = spacing.count(clear=clear, width=width, limit=limit, margin=margin)
        else:
            fewest = spacing.pitched_count(clear=clear, width=width, limit=limit, margin=margin, pitch=self.fixed_pitch)
        return fewest + self.added

    @cached_property
    def fixed_pitch(self) -> float | None:
        """Centre to centre on the level, where the maker drills the rails; None: gaps are equal."""
        return when_known(lambda pitch: pitch / self.line.secant, self.line.measures.assembly.baluster_pitch)

    @cached_property
    def gap(self) -> float:
        """Level gap between neighbours."""
        if self.fixed_pitch is not None:
            return self.fixed_pitch - self.width
        return spacing.equal_gap(clear=self.widest_clear, width=self.width, balusters=self.count)

    @cached_property
    def _beside(self) -> float:
        """Level gap beside both supports where their faces stand back."""
        return (self.widest_clear - self.count * self.width - (self.count - 1) * self.gap) / 2

    @cached_property
    def end_gap(self) -> float:
        """Level gap between the lower or left support and the baluster beside it, at this rail."""
        if not self.count:
            return self.clear
        stands_back = {TOP: -1, BOTTOM: 1, BOTH: 0}[self.rail] * self.section.lower_more
        return self._beside - max(0.0, stands_back)

    @cached_property
    def upper_end_gap(self) -> float:
        """The same at the upper or right support."""
        if not self.count:
            return self.end_gap
        return self.clear - self.end_gap - self.count * self.width - (self.count - 1) * self.gap

    @property
    def least_end_gap(self) -> float:
        """The smaller of its two end gaps: at the corner of the baluster, where the support is askew."""
        assembly = self.line.measures.assembly
        half = (assembly.baluster_thickness or assembly.baluster_width or 0.0) / 2
        lower, upper = (half * abs(tangent(skew)) for skew in (self.section.lower_skew, self.section.upper_skew))
        return min(self.end_gap - lower, self.upper_end_gap - upper)

    @property
    def least_gap_excel(self) -> str:
        """Formula part of the same."""
        if not self.section.is_askew:
            return "MIN({end_gap},{upper_end_gap})"
        return _LEAST_GAP

    @property
    def bracket_needs(self) -> float | None:
        """Least end gap that a fixed pitch must leave for the bracket; None: gaps are equal."""
        if self.fixed_pitch is None:
            return None
        return self.line.measures.assembly.least_end_gap or 0.0

    @cached_property
    def pitch(self) -> float:
        """Centre to centre, along the rail."""
        return (self.gap + self.width) * self.line.secant

    @cached_property
    def first(self) -> float:
        """First centre from the rail's lower (left) end, along the rail, before rounding."""
        return (self.end_gap + self.width / 2 - self._start) * self.line.secant

    @property
    def _start(self) -> float:
        """Level, from the lower face at the middle of the rail to where the tape is held."""
        return self.line.guard.fit + self.corner

    @cached_property
    def rail_length(self) -> float:
        """Edge of the rail, on the walking side where an end is askew, rounded to the tape."""
        edge = self.section.top_edge if self.rail == TOP else self.section.bottom_edge
        return round_to(self.settings.tape_step, edge + self.across)

    @cached_property
    def baluster_length(self) -> float | None:
        """Length of a baluster, rounded to the tape."""
        length = self.line.guard.baluster_length
        return None if length is None else round_to(self.settings.tape_step, length)

    @cached_property
    def marks(self) -> tuple[float | None, ...]:
        """Running marks, one for each baluster, then blanks up to the room on the tab."""
        made = spacing.rounded_marks(
            first=self.first, pitch=self.pitch, balusters=self.count, step=self.settings.tape_step
        )
        return (*made, *(None for _ in range(self.slots - len(made))))

    @cached_property
    def after_last(self) -> float:
        """From the last mark to the rail's other end: what the crew measures as a check."""
        if not self.count:
            return self.rail_length
        last = self.first + (self.count - 1) * self.pitch
        return self.rail_length - round_to(self.settings.tape_step, last)

    @cached_property
    def worst_gap(self) -> float:
        """Widest level gap after the marks were rounded, end gaps included."""
        if not self.count:
            return self.clear
        step, secant, half = self.settings.tape_step, self.line.secant, self.width / 2
        widest = spacing.widest_step(first=self.first, pitch=self.pitch, balusters=self.count, step=step)
        last = half_up((self.first + (self.count - 1) * self.pitch) / step) * step
        lower = half_up(self.first / step) * step / secant + self._start - half
        upper = self.clear - self._start - last / secant - half
        return max(widest / secant - self.width, lower, upper)

    @property
    def opens(self) -> bool:
        """Whether its marks let the sphere through; another run cures no pitch that the maker drilled."""
        through = round(self.worst_gap, PLACES) >= round(self.line.guard.sphere, PLACES)
        return through and self.fixed_pitch is None

    @property
    def squeezed(self) -> bool:
        """Whether a support leans so far that beside it nothing is left for the bracket, or the baluster."""
        return self.rail != BOTH and self.count > 0 and round(self.least_end_gap - self.line.guard.fit, PLACES) <= 0

    @property
    def crowded(self) -> bool:
        """Whether it has more marks than the tab has room for."""
        return self.count > self.slots

    @property
    def added_for_another(self) -> bool:
        """Whether balusters were added for another clear."""
        return bool(self.added) and not same(self.widest_clear, self.chosen_clear)

    @property
    def rails_differ(self) -> bool:
        """Whether it serves both rails and they meet the balusters no longer alike."""
        return self.rail == BOTH and not meets_alike(self.section)

    @cached_property
    def status(self) -> str:
        """Asks for another run when the section does, or when the marks no longer serve."""
        return TAB.status_of(self)


_LEAST_GAP = written(
    "MIN({end_gap}-{thick}/2*TAN(RADIANS(ABS({section.lower_skew}))),"
    "{upper_end_gap}-{thick}/2*TAN(RADIANS(ABS({section.upper_skew}))))",
    JOINS,
    {"thick": 'IF({assembly.baluster_thickness}="",{assembly.baluster_width},{assembly.baluster_thickness})'},
)
# Rounded marks at an even pitch lie one of two neighbouring whole numbers of tape steps apart, so the
# widest is their mean, rounded up: no list of marks is needed, which not every program would go through.
_LAST = "{first}+({count}-1)*{pitch}"
_STEPS = f"({tape_steps_excel(_LAST)}-{tape_steps_excel('{first}')})/MAX(1,{{count}}-1)"

TAB = Tab(
    "baluster_layout",
    "Baluster layout",
    BalusterLayout,
    (
        Column("layout", "Layout", COUNT, width=7),
        Column("used_in", "Sections", TEXT, width=11),
        Column("rail", "Rail", TEXT, width=8),
        Column("count", "Balusters", COUNT,
            '=IF({fixed_pitch}="",IF({build_margin}=0,{strict},{within}),'
            "IF({build_margin}=0,{pitched},{pitched_within}))+{added}"),
        Column("baluster_length", "Baluster length", TAPE,
            '=IF({line.baluster_length}="","",' + round_to_excel("{line.baluster_length}") + ")"),
        Column("rail_length", "Rail length", TAPE,
            "=" + round_to_excel('IF({rail}="Top",{section.top_edge},{section.bottom_edge})[across_excel]')),
        Column("gap", "Gap, level", LENGTH,
            '=IF({fixed_pitch}="",({widest_clear}-{count}*{width})/({count}+1),'
            + or_zero("{fixed_pitch}") + "-{width})"),
        Column("marks", "Running marks from the lower or left end, on the centre of each baluster", TAPE,
            '=IF({nth}>{count},"",' + round_to_excel("{first}+({nth}-1)*{pitch}") + ")", repeats=True, width=7),
        Column("after_last", "Last mark to the end", TAPE, "={rail_length}-IF({count}=0,0,{last})"),
        Column("end_gap", "End gap, lower or left", LENGTH,
            "=IF({count}=0,{clear},{beside}-MAX(0,{own}*{section.lower_more}))"),
        Column("upper_end_gap", "End gap, upper or right", LENGTH,
            "=IF({count}=0,{end_gap},{clear}-{end_gap}-{count}*{width}-({count}-1)*{gap})"),
        Column("least_end_gap", "Least end gap", LENGTH, "=[least_gap_excel]"),
        Column("bracket_needs", "Bracket needs", LENGTH,
            '=IF({fixed_pitch}="","",' + or_zero("{assembly.least_end_gap}") + ")"),
        Column("fixed_pitch", "Fixed pitch, level", LENGTH,
            '=IF({assembly.baluster_pitch}="","",{assembly.baluster_pitch}/{line.secant})'),
        Column("pitch", "Pitch along the rail", LENGTH, "=({gap}+{width})*{line.secant}"),
        Column("first", "First centre", LENGTH, "=({end_gap}+{width}/2-({line.fit}[corner_excel]))*{line.secant}"),
        Column("worst_gap", "Widest gap as marked", LENGTH,
            "=IF({count}=0,{clear},MAX({widest}/{line.secant}-{width},"
            + round_to_excel("{first}") + "/{line.secant}+{line.fit}[corner_excel]-{width}/2,"
            "{clear}-({line.fit}[corner_excel])-{last}/{line.secant}-{width}/2))"),
        Column("sphere", "Must stop", LENGTH, of="line"),
        Column("clear", "Clear", LENGTH, '=IF({rail}="Top",{section.top_meets},{section.bottom_meets})'),
        Column("widest_clear", "Widest clear", LENGTH,
            "={section.bottom_meets}+MAX(0,{section.lower_more})+MAX(0,{section.upper_more})"),
        Column("width", "Width", LENGTH,
            '=IF({assembly.baluster_least_width}="",{assembly.baluster_width},{assembly.baluster_least_width})'),
        Column("added", "Added", COUNT),
        Column("chosen_clear", "Chosen for", LENGTH),
        Column("section_row", "Section row", COUNT),
        Column("line_row", "Run row", COUNT, path="section.line_row"),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Measure from the lower (left) corner of the face that the balusters meet, and transfer every mark. Where "
    "a rail ends askew, measure along its edge on the walking side and square the marks across.",
    crew=True,
    paper_to="after_last",
    key="rail",
    joins=JOINS,
    terms={
        "strict": f"MAX(0,{floor_excel('({widest_clear}-{sphere})/({width}+{sphere})')}+1)",
        "within": "MAX(0,"
        + ceiling_excel("({widest_clear}-{sphere}+{build_margin})/({width}+{sphere}-{build_margin})") + ")",
        "pitched": "IF({strict}=0,0,MAX(1,"
        + floor_excel("({widest_clear}-{width}-2*{sphere})/{fixed_pitch}") + "+2))",
        "pitched_within": "IF({within}=0,0,MAX(1,"
        + ceiling_excel("({widest_clear}-{width}-2*({sphere}-{build_margin}))/{fixed_pitch}") + "+1))",
        "last": round_to_excel(_LAST),
        "widest": f"({ceiling_excel(_STEPS)})*{{tape_step}}",
        "beside": "({widest_clear}-{count}*{width}-({count}-1)*{gap})/2",
        "own": 'IF({rail}="Both",0,IF({rail}="Top",-1,1))',
    },
    rests=Rests(
        on=("section",),
        free=("line",),
        unless={
            "opens": 'AND({fixed_pitch}="",ROUND({worst_gap},6)>=ROUND({sphere},6))',
            "squeezed": 'AND({rail}<>"Both",{count}>0,ROUND({least_end_gap}-{line.fit},6)<=0)',
            "crowded": "{count}>MAX({baluster_layout_marks_number})",
            "added_for_another": "AND({added}>0,ABS({widest_clear}-{chosen_clear})>=0.000001)",
            "rails_differ": 'AND({rail}="Both",OR(ABS({section.bottom_meets}-{section.top_meets})>=0.000001,'
            "ABS({section.lower_more})>=0.000001[widths_apart_excel]))",
        },
    ),
)  # fmt: skip
