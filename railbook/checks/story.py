"""Section story: one section followed from the tape to the saw, every figure with how it came about.

The section is typed on the tab itself; the workbook tells its story live. A fresh workbook tells that of the
first section.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join
from railbook.basics.kinds import COUNT, CUT, FACTOR, LENGTH, MARK, TAPE, TEXT, VERDICT, Kind
from railbook.basics.rounding import round_to, round_to_excel
from railbook.geometry import lines, sections
from railbook.geometry.lines import Line
from railbook.geometry.sections import Section
from railbook.takeoff import balusters, section_counts
from railbook.takeoff.balusters import BalusterLayout
from railbook.takeoff.section_counts import SectionCount


@dataclass(frozen=True)
class Story:
    """One section's figures; every one is None where the section is not known.

    Attributes:
        story_section: mark of the section that is told; blank in a job without sections.
        tape_step: what lengths are rounded to [job unit].
        count: its section and its layout.
    """

    story_section: str | None
    tape_step: float
    count: SectionCount | None = None

    @property
    def section(self) -> Section | None:
        """The section."""
        return None if self.count is None else self.count.of

    @property
    def line(self) -> Line | None:
        """Its run."""
        return None if self.section is None else self.section.line

    @property
    def layout(self) -> BalusterLayout | None:
        """Its balusters."""
        return None if self.count is None else self.count.layout

    @property
    def story_top_length(self) -> float | None:
        """The top rail, the longer of its sides, rounded to the tape [job unit]."""
        if self.section is None:
            return None
        return round_to(self.tape_step, self.section.top_edge + abs(self.section.top_across))


def story_of(counts: Sequence[SectionCount], mark: str | None, tape_step: float) -> Story:
    """The story of the section of that mark; an empty one when there is none.

    Args:
        counts: one row for each section, with its layout.
        mark: of the section that is told.
        tape_step: what lengths are rounded to [job unit].
    """
    return Story(mark, tape_step, next((each for each in counts if each.of.section == mark), None))


def _told(name: str, header: str, kind: Kind, figure: str, hint: str) -> Column:
    """A line: the figure of the section, its run or its layout."""
    return Column(f"story_{name}", header, kind, of=figure, hint=hint, width=24)


_SIDE = or_zero("{story_top_across}")

TAB = Tab(
    "story",
    "Section story",
    Story,
    (
        Column("story_section", "Section", MARK, hint="Type the mark of any section, such as A.1: its story is told",
            listed_in="sections_section", typed=True, width=24),
        Column("story_row", "Row", COUNT, '=IFERROR(MATCH({story_section},{sections_section},0),"")',
            hint="its row on Working sections", path="count.section_row"),
        Column("story_line", "Row of its run", COUNT, of="section.line_row", hint="on the other working tabs"),
        Column("story_layout", "Row of its layout", COUNT, of="count.layout_row", hint="on Baluster layout"),
        _told("run", "Run", MARK, "section.run", "the run that it is a part of"),
        _told("clear_taped", "Clear as taped", LENGTH, "line.clear_taped",
            "level, face to face, low down; blank where it follows from slope length, rise or flight"),
        _told("source", "Slope taken from", TEXT, "line.source", "the best of the measurements"),
        _told("tangent", "Rise for each unit", FACTOR, "line.tangent",
            "height gained for each unit of level length"),
        _told("secant", "Along for each unit", FACTOR, "line.secant",
            "length along the slope for each unit of level length: root of 1 + rise for each unit squared"),
        _told("slope", "Slope", CUT, "line.slope_angle", "its angle from level"),
        _told("clear_measured", "Clear measured", LENGTH, "line.clear_measured",
            "as taped; else slope length / along for each unit, or rise / rise for each unit, or by the flight"),
        _told("from_taken", "Sleeve at From takes", LENGTH, "line.from_taken",
            "measured to bare posts: (sleeve - post) / 2"),
        _told("to_taken", "Sleeve at To takes", LENGTH, "line.to_taken", "the same at To"),
        _told("run_clear", "Clear of the run", LENGTH, "line.clear",
            "clear measured - sleeve at From - sleeve at To"),
        _told("post_face", "Face of a line post", LENGTH, "line.post_face", "its sleeve, else the post"),
        _told("sections", "Sections of the run", COUNT, "line.sections",
            "fewest that post spacing and rail length allow, or as forced on tab Runs"),
        _told("clear", "Clear of the section", LENGTH, "section.clear",
            "(clear of the run - line posts x face) / sections; on stairs whole treads between line posts"),
        _told("bottom_meets", "Clear over the bottom rail", LENGTH, "section.bottom_meets",
            "clear of the section, taped at the middle of the bottom rail, + what leans add up to its upper side"),
        _told("lower_more", "Lower end has more at the top", LENGTH, "section.lower_more",
            "between the rails, by the lean of its support (Working runs), or its share of two unequal clears"),
        _told("upper_more", "Upper end has more at the top", LENGTH, "section.upper_more", "the same"),
        _told("top_meets", "Clear under the top rail", LENGTH, "section.top_meets",
            "clear over the bottom rail + what both ends have more at the top"),
        _told("fit", "Fit at each end", LENGTH, "line.fit", "bracket fit + fit allowance, level"),
        _told("top_edge", "Top rail, underside", LENGTH, "section.top_edge",
            "(clear under the top rail - 2 x fit) x along for each unit"),
        _told("lower_skew", "Askew at its lower end", CUT, "section.lower_skew",
            "off the face of its support, clockwise: half of what a corner is off square, or by Post bearing"),
        _told("upper_skew", "Askew at its upper end", CUT, "section.upper_skew", "the same"),
        _told("top_across", "Walking side of the top rail more", LENGTH, "section.top_across",
            "half its width x (tangent at the upper end - tangent at the lower end) x along for each unit"),
        Column("story_top_length", "Top rail on the tape", TAPE,
            '=IF({story_top_edge}="","",' + round_to_excel(f"({or_zero('{story_top_edge}')}+ABS({_SIDE}))") + ")",
            hint="the longer of its sides to the tape step: Length on the cut list", width=24),
        _told("lower_cut", "Cut at its lower end", CUT, "section.lower_cut",
            "slope - lean, from square; of a level rail that ends askew that angle"),
        _told("upper_cut", "Cut at its upper end", CUT, "section.upper_cut", "slope + lean, from square"),
        _told("top_tip", "Top rail, tip to tip", LENGTH, "section.top_tip",
            "edge + the point of a cut: rail depth x tangent of the cut; askew: + half its width x tangents"),
        _told("guard_height", "Guard height", LENGTH, "line.guard_height",
            "of the assembly, by bought balusters, or where it meets the level guard"),
        _told("stack", "Cap and rails", LENGTH, "line.stack",
            "(cap thickness + both rail depths) x along for each unit, plumb"),
        _told("clearance", "Clearance", LENGTH, "line.clearance", "under the bottom rail, of the assembly"),
        _told("opening", "Opening", LENGTH, "line.opening", "guard height - cap and rails - clearance"),
        _told("seats", "Laps and let-ins", LENGTH, "line.seats",
            "let-ins or overlaps - seats - what a square cut loses on a slope"),
        _told("baluster", "Baluster", LENGTH, "line.baluster_length", "opening + laps and let-ins"),
        _told("sphere", "Sphere that must not pass", LENGTH, "layout.sphere", "see tab Rules"),
        _told("widest_clear", "Widest clear", LENGTH, "layout.widest_clear",
            "clear over the bottom rail + what an end has more at the top, where it has more"),
        _told("width", "Baluster width", LENGTH, "layout.width", "where the gap is checked"),
        _told("balusters", "Balusters", COUNT, "layout.count",
            "fewest whose gaps stay under the sphere, less the build margin"),
        _told("gap", "Gap", LENGTH, "layout.gap",
            "(widest clear - balusters x width) / (balusters + 1); with a fixed pitch: pitch - width"),
        _told("end_gap", "Gap at the lower end", LENGTH, "layout.end_gap",
            "beside the lower or left support, at the first rail of the layout"),
        _told("first", "First mark", LENGTH, "layout.first",
            "(gap at the lower end + half a baluster - fit) x along for each unit, from the end of the rail; "
            "where that is askew, from its corner on the walking side"),
        Column(STATUS, "Status", VERDICT, of="count.count_status",
            hint="blank: up to date; run again: the section rests on an older choice", width=24),
    ),
    purpose="Type a section: every figure between the tape and the saw, and how it came about.",
    down=True,
    joins={
        "section": Join(sections.PART, "story_row", "section", maybe=True),
        "line": Join(lines.TAB, "story_line", "line", maybe=True),
        "count": Join(section_counts.TAB, "story_row", "count", maybe=True),
        "layout": Join(balusters.TAB, "story_layout", "layout", maybe=True),
    },
)  # fmt: skip
