"""Baluster layout: one row per distinct rail, with the running marks that the crew transfers to it.

Where the clears at top and bottom differ, number and pitch come from the larger one, and the other
rail's end gaps give up what each end has less there. Balusters stand plumb: beside a support that leans
the gap changes with the height and is widest at one of the two rails, which is where both rows look.
"""

from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Tab, ask_again
from railbook.basics.kinds import COUNT, CUT, LENGTH, TAPE, TEXT, VERDICT
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
from railbook.geometry.cells import of_assembly, of_guard
from railbook.geometry.sections import Section
from railbook.job.settings import Settings

TOP, BOTTOM, BOTH = "Top", "Bottom", "Both"


@dataclass(frozen=True)
class BalusterLayout:
    """The layout of one distinct rail; lengths in the job's unit.

    Attributes:
        layout: its number.
        rail: which rail it is for.
        used_in: marks of the sections that use it.
        section: the first of them, at `section_row` of the working sections.
        added: balusters added because rounding the marks opened a gap too far.
        chosen_clear: the clear that `added` was chosen for.
        slots: how many marks the tab has room for.
    """

    layout: int
    rail: str
    used_in: str
    section: Section
    section_row: int
    settings: Settings
    added: int
    chosen_clear: float
    slots: int

    @cached_property
    def line_row(self) -> int:
        """Row of its run on the working tabs."""
        return self.section.line_row

    @cached_property
    def clear(self) -> float:
        """Level distance between the supports where the balusters meet this rail."""
        return self.section.top_meets if self.rail == TOP else self.section.bottom_meets

    @cached_property
    def larger_clear(self) -> float:
        """The larger of the section's two clears."""
        return max(self.section.bottom_meets, self.section.top_meets)

    @cached_property
    def wider_at_top(self) -> int:
        """1 where the clear at the top rail is the larger one."""
        return int(round(self.section.lower_more + self.section.upper_more, PLACES) >= 0)

    @cached_property
    def width(self) -> float:
        """Width of a baluster where the gap is checked."""
        assembly = self.section.assembly
        return assembly.baluster_least_width or assembly.baluster_width or 0.0

    @cached_property
    def sphere(self) -> float:
        """Sphere that must not pass."""
        return self.section.line.guard.sphere

    @cached_property
    def count(self) -> int:
        """Balusters of the section."""
        clear, width, limit, margin = self.larger_clear, self.width, self.sphere, self.settings.build_margin
        if self.fixed_pitch is None:
            fewest = spacing.count(clear=clear, width=width, limit=limit, margin=margin)
        else:
            fewest = spacing.pitched_count(clear=clear, width=width, limit=limit, margin=margin, pitch=self.fixed_pitch)
        return fewest + self.added

    @cached_property
    def fixed_pitch(self) -> float | None:
        """Centre to centre on the level, where the maker drills the rails; None: gaps are equal."""
        return when_known(lambda pitch: pitch / self.section.secant, self.section.assembly.baluster_pitch)

    @cached_property
    def gap(self) -> float:
        """Level gap between neighbours."""
        if self.fixed_pitch is not None:
            return self.fixed_pitch - self.width
        return spacing.equal_gap(clear=self.larger_clear, width=self.width, balusters=self.count)

    @cached_property
    def even_end_gap(self) -> float:
        """Level gap beside both supports at the rail with the larger clear, were neither end to lean."""
        if not self.count:
            return self.larger_clear
        return (self.larger_clear - self.count * self.width - (self.count - 1) * self.gap) / 2

    @cached_property
    def shift(self) -> float:
        """How far the balusters stand uphill of even, so that the widest gaps of two leaning ends are alike."""
        way = -1 if self.wider_at_top else 1
        return (max(0.0, way * self.section.upper_more) - max(0.0, way * self.section.lower_more)) / 2

    @cached_property
    def end_gap(self) -> float:
        """Level gap between the lower or left support and the baluster beside it, at this rail."""
        own = (self.rail == TOP) - self.wider_at_top if self.rail != BOTH else 0
        return self.even_end_gap + self.shift + own * self.section.lower_more

    @cached_property
    def upper_end_gap(self) -> float:
        """The same at the upper or right support."""
        if not self.count:
            return self.end_gap
        return self.clear - self.end_gap - self.count * self.width - (self.count - 1) * self.gap

    @property
    def least_end_gap(self) -> float:
        """The smaller of its two end gaps."""
        return min(self.end_gap, self.upper_end_gap)

    @property
    def bracket_needs(self) -> float | None:
        """Least end gap that a fixed pitch must leave for the bracket; None: gaps are equal."""
        if self.fixed_pitch is None:
            return None
        return self.section.assembly.least_end_gap or 0.0

    @cached_property
    def pitch(self) -> float:
        """Centre to centre, along the rail."""
        return (self.gap + self.width) * self.section.secant

    @cached_property
    def first(self) -> float:
        """First centre from the rail's lower (left) end, along the rail, before rounding."""
        return (self.end_gap + self.width / 2 - self.section.line.guard.fit) * self.section.secant

    @cached_property
    def rail_length(self) -> float:
        """Edge of the rail, rounded to the tape."""
        edge = self.section.top_edge if self.rail == TOP else self.section.bottom_edge
        return round_to(self.settings.tape_step, edge)

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.section.assembly_row

    @property
    def baluster_exact(self) -> float | None:
        """Length of a baluster before rounding."""
        return self.section.line.guard.baluster_length

    @property
    def baluster_tip(self) -> float | None:
        """Tip to tip of a baluster."""
        return self.section.line.guard.baluster_tip

    @property
    def baluster_angle(self) -> float:
        """Both end cuts of a baluster, from square [degrees]."""
        return self.section.line.guard.baluster_angle

    @cached_property
    def baluster_length(self) -> float | None:
        """Length of a baluster, rounded to the tape."""
        length = self.section.line.guard.baluster_length
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
        step, secant, half = self.settings.tape_step, self.section.secant, self.width / 2
        fit = self.section.line.guard.fit
        widest = spacing.widest_step(first=self.first, pitch=self.pitch, balusters=self.count, step=step)
        last = half_up((self.first + (self.count - 1) * self.pitch) / step) * step
        lower = half_up(self.first / step) * step / secant + fit - half
        upper = self.clear - fit - last / secant - half
        return max(widest / secant - self.width, lower, upper)

    @cached_property
    def status(self) -> str:
        """Asks for another run when the section does, or when the marks no longer serve."""
        section_kept = self.section.status != RUN_AGAIN
        gap_kept = round(self.worst_gap, PLACES) < round(self.sphere, PLACES)
        alike = self.rail != BOTH or meets_alike(self.section)
        added_kept = not self.added or same(self.larger_clear, self.chosen_clear)
        gap_kept = gap_kept or self.fixed_pitch is not None  # another run cures no pitch that the maker drilled
        kept = section_kept and gap_kept and added_kept and alike and self.count <= self.slots
        return "" if kept else RUN_AGAIN


def meets_alike(section: Section) -> bool:
    """Whether both rails of a section meet the balusters alike, so that one row of marks serves both."""
    return same(section.bottom_meets, section.top_meets) and same(section.lower_more, 0.0)


def _of_section(column: str) -> str:
    """Formula part: a figure of the section."""
    return f"INDEX({{sections_{column}}},{{section_row}})"


_STEPS = f"({tape_steps_excel('{first}+({count}-1)*{pitch}')}-{tape_steps_excel('{first}')})"
# Rounded marks at an even pitch lie one of two neighbouring whole numbers of tape steps apart, so the
# widest is their mean, rounded up: no list of marks is needed, which not every program would go through.
_WIDEST = f"({ceiling_excel(f'{_STEPS}/MAX(1,{{count}}-1)')})*{{tape_step}}"
_LAST = round_to_excel("{first}+({count}-1)*{pitch}")
_STRICT = f"MAX(0,{floor_excel('({larger_clear}-{sphere})/({width}+{sphere})')}+1)"
_WITHIN = f"MAX(0,{ceiling_excel('({larger_clear}-{sphere}+{build_margin})/({width}+{sphere}-{build_margin})')})"
_PITCHED = f"IF({_STRICT}=0,0,MAX(1,{floor_excel('({larger_clear}-{width}-2*{sphere})/{fixed_pitch}')}+2))"
_PITCHED_WITHIN = (
    f"IF({_WITHIN}=0,0,MAX(1,{ceiling_excel('({larger_clear}-{width}-2*({sphere}-{build_margin}))/{fixed_pitch}')}+1))"
)
_EDGE = f'IF({{rail}}="Top",{_of_section("top_edge")},{_of_section("bottom_edge")})'
_UNEVEN = (
    f"ABS({_of_section('bottom_meets')}-{_of_section('top_meets')})>=0.000001,"
    f"ABS({_of_section('lower_more')})>=0.000001"
)
_SECANT = _of_section("secant")
_FIT = of_guard("fit")

TAB = Tab(
    "baluster_layout",
    "Baluster layout",
    BalusterLayout,
    (
        Column("layout", "Layout", COUNT, width=7),
        Column("used_in", "Sections", TEXT, width=11),
        Column("rail", "Rail", TEXT, width=8),
        Column("count", "Balusters", COUNT,
            f'=IF({{fixed_pitch}}="",IF({{build_margin}}=0,{_STRICT},{_WITHIN}),'
            f"IF({{build_margin}}=0,{_PITCHED},{_PITCHED_WITHIN}))+{{added}}"),
        Column("baluster_length", "Baluster length", TAPE,
            f'=IF({{baluster_exact}}="","",{round_to_excel("{baluster_exact}")})'),
        Column("rail_length", "Rail length", TAPE, f"={round_to_excel(_EDGE)}"),
        Column("gap", "Gap, level", LENGTH,
            '=IF({fixed_pitch}="",({larger_clear}-{count}*{width})/({count}+1),'
            f"{or_zero('{fixed_pitch}')}-{{width}})"),
        Column("marks", "Running marks from the lower or left end, on the centre of each baluster", TAPE,
            '=IF({nth}>{count},"",' + round_to_excel("{first}+({nth}-1)*{pitch}") + ")", repeats=True, width=7),
        Column("after_last", "Last mark to the end", TAPE, f"={{rail_length}}-IF({{count}}=0,0,{_LAST})"),
        Column("end_gap", "End gap, lower or left", LENGTH,
            f'={{even_end_gap}}+{{shift}}+IF({{rail}}="Both",0,IF({{rail}}="Top",1,0)-{{wider_at_top}})'
            f"*{_of_section('lower_more')}"),
        Column("upper_end_gap", "End gap, upper or right", LENGTH,
            "=IF({count}=0,{end_gap},{clear}-{end_gap}-{count}*{width}-({count}-1)*{gap})"),
        Column("least_end_gap", "Least end gap", LENGTH, "=MIN({end_gap},{upper_end_gap})"),
        Column("bracket_needs", "Bracket needs", LENGTH,
            f'=IF({{fixed_pitch}}="","",{or_zero(of_assembly("least_end_gap"))})'),
        Column("fixed_pitch", "Fixed pitch, level", LENGTH,
            f'=IF({of_assembly("baluster_pitch")}="","",{of_assembly("baluster_pitch")}/{_SECANT})'),
        Column("wider_at_top", "Wider at the top", COUNT,
            f"=IF(ROUND({_of_section('lower_more')}+{_of_section('upper_more')},6)>=0,1,0)"),
        Column("even_end_gap", "End gap, even", LENGTH,
            "=IF({count}=0,{larger_clear},({larger_clear}-{count}*{width}-({count}-1)*{gap})/2)"),
        Column("shift", "Shifted uphill", LENGTH,
            f"=(MAX(0,(1-2*{{wider_at_top}})*{_of_section('upper_more')})"
            f"-MAX(0,(1-2*{{wider_at_top}})*{_of_section('lower_more')}))/2"),
        Column("pitch", "Pitch along the rail", LENGTH, f"=({{gap}}+{{width}})*{_SECANT}"),
        Column("first", "First centre", LENGTH, f"=({{end_gap}}+{{width}}/2-{_FIT})*{_SECANT}"),
        Column("worst_gap", "Widest gap as marked", LENGTH,
            f"=IF({{count}}=0,{{clear}},MAX({_WIDEST}/{_SECANT}-{{width}},"
            f"{round_to_excel('{first}')}/{_SECANT}+{_FIT}-{{width}}/2,"
            f"{{clear}}-{_FIT}-{_LAST}/{_SECANT}-{{width}}/2))"),
        Column("sphere", "Must stop", LENGTH, f"={of_guard('sphere')}"),
        Column("clear", "Clear", LENGTH,
            f'=IF({{rail}}="Top",{_of_section("top_meets")},{_of_section("bottom_meets")})'),
        Column("larger_clear", "Larger clear", LENGTH,
            f"=MAX({_of_section('bottom_meets')},{_of_section('top_meets')})"),
        Column("width", "Width", LENGTH,
            f'=IF({of_assembly("baluster_least_width")}="",{of_assembly("baluster_width")},'
            f"{of_assembly('baluster_least_width')})"),
        Column("baluster_exact", "Baluster", LENGTH, f"={of_guard('baluster_length')}"),
        Column("baluster_tip", "Baluster tip to tip", LENGTH, f"={of_guard('baluster_tip')}"),
        Column("baluster_angle", "Baluster cut", CUT, f"={of_guard('baluster_angle')}"),
        Column("assembly_row", "Assembly row", COUNT, f"={_of_section('assembly_row')}"),
        Column("added", "Added", COUNT),
        Column("chosen_clear", "Chosen for", LENGTH),
        Column("section_row", "Section row", COUNT),
        Column("line_row", "Run row", COUNT, f"={_of_section('line_row')}"),
        Column(STATUS, "Status", VERDICT,
            ask_again(
                f'{_of_section("status")}="run again"', 'AND({fixed_pitch}="",ROUND({worst_gap},6)>=ROUND({sphere},6))',
                "{count}>MAX({baluster_layout_marks_number})",
                "AND({added}>0,ABS({larger_clear}-{chosen_clear})>=0.000001)", f'AND({{rail}}="Both",OR({_UNEVEN}))',
            )),
    ),
    purpose="Measure from the lower (left) corner of the face that the balusters meet, and transfer every mark.",
    crew=True,
    paper_to="after_last",
    key="rail",
)  # fmt: skip
