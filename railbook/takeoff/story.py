"""Section story: one section followed from the tape to the saw, every figure with how it came about.

The section is typed on the tab itself; the workbook tells its story live. A fresh workbook tells that of the
first section.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.kinds import COUNT, CUT, FACTOR, LENGTH, MARK, TAPE, TEXT, VERDICT, Kind
from railbook.basics.rounding import round_to, round_to_excel
from railbook.takeoff.section_counts import SectionCount


@dataclass(frozen=True)
class Story:
    """One section's figures; lengths in the job's unit, None where one is not known.

    Attributes:
        story_section: mark of the section that is told; blank in a job without sections.
        story_row: its row on Working sections.
        story_line: row of its run on the working tabs.
        story_layout: row of its balusters on Baluster layout.

    The others are what the tabs named in `TAB` hold in those rows.
    """

    story_section: str | None = None
    story_row: int | None = None
    story_line: int | None = None
    story_layout: int | None = None
    story_run: str | None = None
    story_clear_taped: float | None = None
    story_source: str | None = None
    story_tangent: float | None = None
    story_secant: float | None = None
    story_slope: float | None = None
    story_clear_measured: float | None = None
    story_from_taken: float | None = None
    story_to_taken: float | None = None
    story_run_clear: float | None = None
    story_post_face: float | None = None
    story_sections: int | None = None
    story_clear: float | None = None
    story_bottom_meets: float | None = None
    story_lower_more: float | None = None
    story_upper_more: float | None = None
    story_top_meets: float | None = None
    story_fit: float | None = None
    story_top_edge: float | None = None
    story_top_length: float | None = None
    story_lower_cut: float | None = None
    story_upper_cut: float | None = None
    story_top_tip: float | None = None
    story_guard_height: float | None = None
    story_stack: float | None = None
    story_clearance: float | None = None
    story_opening: float | None = None
    story_seats: float | None = None
    story_baluster: float | None = None
    story_sphere: float | None = None
    story_larger_clear: float | None = None
    story_width: float | None = None
    story_balusters: int | None = None
    story_gap: float | None = None
    story_end_gap: float | None = None
    story_first: float | None = None
    status: str = ""


def story_of(counts: Sequence[SectionCount], mark: str | None, tape_step: float) -> Story:
    """The story of the section of that mark; an empty one when there is none.

    Args:
        counts: one row for each section, with its layout.
        mark: of the section that is told.
        tape_step: what lengths are rounded to [job unit].
    """
    count = next((each for each in counts if each.section == mark), None)
    if count is None:
        return Story(mark)
    section, layout = count.of, count.layout
    line, guard = section.line, section.line.guard
    measures = line.measures
    return Story(
        mark, count.section_row, section.line_row, count.layout_row,
        section.run, measures.clear_taped, measures.source, section.tangent, section.secant, measures.slope_angle,
        measures.clear_measured, measures.from_taken, measures.to_taken, measures.clear, measures.post_face,
        line.sections, section.clear, section.bottom_meets, section.lower_more, section.upper_more, section.top_meets,
        guard.fit,
        section.top_edge, round_to(tape_step, section.top_edge), section.lower_cut, section.upper_cut, section.top_tip,
        guard.guard_height, guard.stack, guard.clearance, guard.opening, guard.seats, guard.baluster_length,
        layout.sphere, layout.larger_clear, layout.width, layout.count, layout.gap, layout.end_gap, layout.first,
        count.status,
    )  # fmt: skip


def _told(name: str, header: str, kind: Kind, figure: str, at: str, hint: str) -> Column:
    """A line: the figure of another tab in the row of the section, its run or its layout."""
    cell = f"INDEX({{{figure}}},{{story_{at}}})"
    return Column(
        f"story_{name}", header, kind, f'=IF({{story_{at}}}="","",IF({cell}="","",{cell}))', hint=hint, width=24
    )


TAB = Tab(
    "story",
    "Section story",
    Story,
    (
        Column("story_section", "Section", MARK, hint="Type the mark of any section, such as A.1: its story is told",
            listed_in="sections_section", typed=True, width=24),
        Column("story_row", "Row", COUNT, '=IFERROR(MATCH({story_section},{sections_section},0),"")',
            hint="its row on Working sections"),
        Column("story_line", "Row of its run", COUNT,
            '=IF({story_row}="","",INDEX({sections_line_row},{story_row}))', hint="on the other working tabs"),
        Column("story_layout", "Row of its layout", COUNT,
            '=IF({story_row}="","",INDEX({section_counts_layout_row},{story_row}))', hint="on Baluster layout"),
        _told("run", "Run", MARK, "sections_run", "row", "the run that it is a part of"),
        _told("clear_taped", "Clear as taped", LENGTH, "lines_clear_taped", "line",
            "level, face to face, low down; blank where it follows from slope length, rise or flight"),
        _told("source", "Slope taken from", TEXT, "lines_source", "line", "the best of the measurements"),
        _told("tangent", "Rise for each unit", FACTOR, "lines_tangent", "line",
            "height gained for each unit of level length"),
        _told("secant", "Along for each unit", FACTOR, "lines_secant", "line",
            "length along the slope for each unit of level length: root of 1 + rise for each unit squared"),
        _told("slope", "Slope", CUT, "lines_slope_angle", "line", "its angle from level"),
        _told("clear_measured", "Clear measured", LENGTH, "lines_clear_measured", "line",
            "as taped; else slope length / along for each unit, or rise / rise for each unit, or by the flight"),
        _told("from_taken", "Sleeve at From takes", LENGTH, "lines_from_taken", "line",
            "measured to bare posts: (sleeve - post) / 2"),
        _told("to_taken", "Sleeve at To takes", LENGTH, "lines_to_taken", "line", "the same at To"),
        _told("run_clear", "Clear of the run", LENGTH, "lines_clear", "line",
            "clear measured - sleeve at From - sleeve at To"),
        _told("post_face", "Face of a line post", LENGTH, "lines_post_face", "line", "its sleeve, else the post"),
        _told("sections", "Sections of the run", COUNT, "lines_sections", "line",
            "fewest that post spacing and rail length allow, or as forced on tab Runs"),
        _told("clear", "Clear of the section", LENGTH, "sections_clear", "row",
            "(clear of the run - line posts x face) / sections; on stairs whole treads between line posts"),
        _told("bottom_meets", "Clear over the bottom rail", LENGTH, "sections_bottom_meets", "row",
            "clear of the section, taped at the middle of the bottom rail, + what leans add up to its upper side"),
        _told("lower_more", "Lower end has more at the top", LENGTH, "sections_lower_more", "row",
            "between the rails, by the lean of its support (Working leans), or its share of two unequal clears"),
        _told("upper_more", "Upper end has more at the top", LENGTH, "sections_upper_more", "row", "the same"),
        _told("top_meets", "Clear under the top rail", LENGTH, "sections_top_meets", "row",
            "clear over the bottom rail + what both ends have more at the top"),
        _told("fit", "Fit at each end", LENGTH, "lines_fit", "line", "bracket fit + fit allowance, level"),
        _told("top_edge", "Top rail, underside", LENGTH, "sections_top_edge", "row",
            "(clear under the top rail - 2 x fit) x along for each unit"),
        Column("story_top_length", "Top rail on the tape", TAPE,
            f'=IF({{story_top_edge}}="","",{round_to_excel(or_zero("{story_top_edge}"))})',
            hint="the same to the tape step: Length on the cut list", width=24),
        _told("lower_cut", "Cut at its lower end", CUT, "sections_lower_cut", "row", "slope - lean, from square"),
        _told("upper_cut", "Cut at its upper end", CUT, "sections_upper_cut", "row", "slope + lean, from square"),
        _told("top_tip", "Top rail, tip to tip", LENGTH, "sections_top_tip", "row",
            "edge + the point of a cut: rail depth x tangent of the cut"),
        _told("guard_height", "Guard height", LENGTH, "lines_guard_height", "line",
            "of the assembly, by bought balusters, or where it meets the level guard"),
        _told("stack", "Cap and rails", LENGTH, "lines_stack", "line",
            "(cap thickness + both rail depths) x along for each unit, plumb"),
        _told("clearance", "Clearance", LENGTH, "lines_clearance", "line", "under the bottom rail, of the assembly"),
        _told("opening", "Opening", LENGTH, "lines_opening", "line", "guard height - cap and rails - clearance"),
        _told("seats", "Laps and let-ins", LENGTH, "lines_seats", "line",
            "let-ins or overlaps - seats - what a square cut loses on a slope"),
        _told("baluster", "Baluster", LENGTH, "lines_baluster_length", "line", "opening + laps and let-ins"),
        _told("sphere", "Sphere that must not pass", LENGTH, "baluster_layout_sphere", "layout", "see tab Rules"),
        _told("larger_clear", "Larger clear", LENGTH, "baluster_layout_larger_clear", "layout",
            "the larger of the clears at the two rails"),
        _told("width", "Baluster width", LENGTH, "baluster_layout_width", "layout", "where the gap is checked"),
        _told("balusters", "Balusters", COUNT, "baluster_layout_count", "layout",
            "fewest whose gaps stay under the sphere, less the build margin"),
        _told("gap", "Gap", LENGTH, "baluster_layout_gap", "layout",
            "(larger clear - balusters x width) / (balusters + 1); with a fixed pitch: pitch - width"),
        _told("end_gap", "Gap at the lower end", LENGTH, "baluster_layout_end_gap", "layout",
            "beside the lower or left support, at the first rail of the layout"),
        _told("first", "First mark", LENGTH, "baluster_layout_first", "layout",
            "(gap at the lower end + half a baluster - fit) x along for each unit, from the end of the rail"),
        Column(STATUS, "Status", VERDICT, '=IF({story_row}="","",INDEX({section_counts_status},{story_row}))',
            hint="blank: up to date; run again: the section rests on an older choice", width=24),
    ),
    purpose="Type a section: every figure between the tape and the saw, and how it came about.",
    down=True,
)  # fmt: skip
