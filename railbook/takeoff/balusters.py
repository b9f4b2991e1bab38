"""Baluster layout: one row per distinct rail, with the running marks that the crew transfers to it.

Where the clears at top and bottom differ, number and pitch come from the larger one and the smaller
rail's end gaps give the difference up, half at each end.
"""

from dataclasses import dataclass
from functools import cached_property

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
        """Level distance between the supports at this rail."""
        return self.section.clear_top if self.rail == TOP else self.section.clear

    @cached_property
    def larger_clear(self) -> float:
        """The larger of the section's two clears."""
        return max(self.section.clear, self.section.clear_top)

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
        fewest = spacing.count(
            clear=self.larger_clear, width=self.width, limit=self.sphere, margin=self.settings.build_margin
        )
        return fewest + self.added

    @cached_property
    def gap(self) -> float:
        """Level gap between neighbours."""
        return spacing.equal_gap(clear=self.larger_clear, width=self.width, balusters=self.count)

    @cached_property
    def end_gap(self) -> float:
        """Level gap between the support and the baluster beside it, at this rail."""
        return self.gap - (self.larger_clear - self.clear) / 2

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
        alike = self.rail != BOTH or same(self.section.clear, self.section.clear_top)
        added_kept = not self.added or same(self.larger_clear, self.chosen_clear)
        kept = section_kept and gap_kept and added_kept and alike and self.count <= self.slots
        return "" if kept else RUN_AGAIN


def _of_section(column: str) -> str:
    """Formula part: a figure of the section."""
    return f"INDEX({{sections_{column}}},{{section_row}})"


_NUMBERS = "{baluster_layout_marks_number}"
_STEPS = (
    f"{tape_steps_excel('{first}+' + _NUMBERS + '*{pitch}')}-{tape_steps_excel('{first}+(' + _NUMBERS + '-1)*{pitch}')}"
)
_WIDEST = f"SUMPRODUCT(MAX(({_NUMBERS}<{{count}})*({_STEPS})))*{{tape_step}}"
_LAST = round_to_excel("{first}+({count}-1)*{pitch}")
_STRICT = f"MAX(0,{floor_excel('({larger_clear}-{sphere})/({width}+{sphere})')}+1)"
_WITHIN = f"MAX(0,{ceiling_excel('({larger_clear}-{sphere}+{build_margin})/({width}+{sphere}-{build_margin})')})"
_EDGE = f'IF({{rail}}="Top",{_of_section("top_edge")},{_of_section("bottom_edge")})'
_UNEVEN = f"ABS({_of_section('clear')}-{_of_section('clear_top')})>=0.000001"
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
        Column("count", "Balusters", COUNT, f"=IF({{build_margin}}=0,{_STRICT},{_WITHIN})+{{added}}"),
        Column("baluster_length", "Baluster length", TAPE,
            f'=IF({{baluster_exact}}="","",{round_to_excel("{baluster_exact}")})'),
        Column("rail_length", "Rail length", TAPE, f"={round_to_excel(_EDGE)}"),
        Column("gap", "Gap, level", LENGTH,
            "=({larger_clear}-{count}*{width})/({count}+1)"),
        Column("marks", "Running marks from the lower or left end, on the centre of each baluster", TAPE,
            '=IF({nth}>{count},"",' + round_to_excel("{first}+({nth}-1)*{pitch}") + ")", repeats=True, width=7),
        Column("after_last", "Last mark to the end", TAPE, f"={{rail_length}}-IF({{count}}=0,0,{_LAST})"),
        Column("end_gap", "End gap, level", LENGTH, "={gap}-({larger_clear}-{clear})/2"),
        Column("pitch", "Pitch along the rail", LENGTH, f"=({{gap}}+{{width}})*{_SECANT}"),
        Column("first", "First centre", LENGTH, f"=({{end_gap}}+{{width}}/2-{_FIT})*{_SECANT}"),
        Column("worst_gap", "Widest gap as marked", LENGTH,
            f"=IF({{count}}=0,{{clear}},MAX({_WIDEST}/{_SECANT}-{{width}},"
            f"{round_to_excel('{first}')}/{_SECANT}+{_FIT}-{{width}}/2,"
            f"{{clear}}-{_FIT}-{_LAST}/{_SECANT}-{{width}}/2))"),
        Column("sphere", "Must stop", LENGTH, f"={of_guard('sphere')}"),
        Column("clear", "Clear", LENGTH,
            f'=IF({{rail}}="Top",{_of_section("clear_top")},{_of_section("clear")})'),
        Column("larger_clear", "Larger clear", LENGTH, f"=MAX({_of_section('clear')},{_of_section('clear_top')})"),
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
                f'{_of_section("status")}="run again"', "ROUND({worst_gap},6)>=ROUND({sphere},6)",
                "{count}>MAX({baluster_layout_marks_number})",
                "AND({added}>0,ABS({larger_clear}-{chosen_clear})>=0.000001)", f'AND({{rail}}="Both",{_UNEVEN})',
            )),
    ),
    purpose="Measure from the lower (left) corner of the face that the balusters meet, and transfer every mark.",
    crew=True,
    paper_to="after_last",
    key="rail",
)  # fmt: skip
