"""The demands, one function each: every function yields a row for every part that it looked at."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from railbook.checks.check import AT_LEAST, AT_MOST, DECIDES, UNDER, Demand
from railbook.checks.stairways import Stairway
from railbook.geometry.guards import Guard
from railbook.geometry.survey import Site
from railbook.job.runs import LEVEL, STAIR
from railbook.takeoff.balusters import BOTH
from railbook.takeoff.layout import Shop


class Subject(NamedTuple):
    """One part held against one demand.

    Attributes:
        demand: what is asked.
        where: the part in words.
        source: tab and row of the finding; `thing` is that row.
        line_row: the run's row on the working tabs, where it is about a run.
        remedy: the demand's remedy, or one with figures for this part.
    """

    demand: Demand
    where: str
    source: str
    source_row: int
    thing: Any
    line_row: int | None
    remedy: str


class Works(NamedTuple):
    """Everything that the checks look at."""

    site: Site
    shop: Shop
    stairways: tuple[Stairway, ...]


GUARD_NEEDED = Demand("guard: drop beside the walking surface", "drop", DECIDES, "guard_drop",
                      "measure the drop to the lowest ground within 36 in (914 mm)")  # fmt: skip
GUARD_HEIGHT = Demand("guard: height of the top", "guard_height", AT_LEAST, "height_limit",
                      "raise the guard height of its assembly", of_rules=False, guards_only=True)  # fmt: skip
HANDRAIL_HIGH = Demand("cap that serves as handrail: height", "guard_height", AT_MOST, "handrail_greatest",
                       "lower the stair guard, or add a handrail of its own", of_rules=True)  # fmt: skip
HANDRAIL_LOW = Demand("cap that serves as handrail: height", "guard_height", AT_LEAST, "handrail_least",
                      "raise the stair guard, or add a handrail of its own")  # fmt: skip
OPENING = Demand("opening between balusters as marked", "worst_gap", UNDER, "sphere",
                 "one baluster more, or a smaller build margin", of_rules=False, guards_only=True)  # fmt: skip
UNDER_RAIL = Demand("opening under the bottom rail", "under_rail", UNDER, "level_sphere",
                    "lower the bottom rail: reduce the level clearance of its assembly", guards_only=True)  # fmt: skip
TRIANGLE = Demand("triangle of riser, tread and bottom rail", "triangle", UNDER, "triangle_limit",
                  "lower the bottom rail", of_rules=False, guards_only=True)  # fmt: skip
TRIANGLE_DOUBT = Demand("triangle, if the nosing has the greatest overhang", "triangle_doubt", UNDER, "triangle_limit",
                        "passes only without overhang: measure the nosing overhang on tab Flights",
                        of_rules=False, soft=True)  # fmt: skip
RISER = Demand("largest riser", "riser_largest", AT_MOST, "riser_greatest", "rebuild the flight with more risers")
TREAD = Demand("smallest tread", "tread_smallest", AT_LEAST, "tread_least", "rebuild the flight with deeper treads")
RISER_SPREAD = Demand("variation of risers", "riser_spread", AT_MOST, "riser_variation",
                      "even the risers out; blank: measure the smallest and the largest")  # fmt: skip
TREAD_SPREAD = Demand("variation of treads", "tread_spread", AT_MOST, "tread_variation",
                      "even the treads out; blank: measure the smallest and the largest")  # fmt: skip
SPACING = Demand("post spacing of the assembly", "spacing", AT_MOST, "spacing_most",
                 "more sections, or posts closer together", "the assembly", of_rules=False)  # fmt: skip
RAIL = Demand("rail length of the assembly, tip to tip", "longest_tip", AT_MOST, "rail_most",
              "more sections", "the assembly", of_rules=False)  # fmt: skip
RAKE = Demand("rake of the assembly", "slope_angle", AT_MOST, "rake_most",
              "an assembly made for this slope", "the assembly", of_rules=False, unit="deg")  # fmt: skip
OVERHANG = Demand(
    "nosing overhang", "overhang", AT_MOST, "overhang_greatest", "measure it again, or rebuild the nosing"
)
LINE_POST = Demand("line post stands on its tread", "line_post_foot", AT_MOST, "tread",
                   "reduce the line post setback of its assembly, or force the sections",
                   "follows from the heights", of_rules=False)  # fmt: skip
LOW_GUARD = Demand("lower post within one tread of the first nosing", "lower_setback", AT_MOST, "tread",
                   "move the lower post uphill: in front of it the guard stands low over the lower floor",
                   "follows from the heights", of_rules=False)  # fmt: skip
HANDRAIL = Demand("handrail: sides with one that a hand can grasp", "graspable_sides", AT_LEAST, "sides_needed",
                  "a flat cap cannot be grasped: add a handrail, and count it under Handrails on tab Flights",
                  "R311.7.8", of_rules=False, unit="sides")  # fmt: skip
STANDING = Demand("existing post: height", "standing", AT_LEAST, "needed",
                  "measure its standing height; if it is too short, replace it",
                  "follows from the heights", of_rules=False)  # fmt: skip
GAP_BEYOND = Demand("gap between the end post and the wall", "gap_beyond", UNDER, "level_sphere",
                    "move the post, or close the gap")  # fmt: skip


def guards(works: Works) -> Iterator[Subject]:
    """Whether a guard is needed, and its height."""
    for row, guard in enumerate(works.site.guards, start=1):
        where = f"run {guard.run}"
        for demand in (GUARD_NEEDED, GUARD_HEIGHT):
            yield Subject(demand, where, "guards", row, guard, row, demand.remedy)
        if guard.kind == STAIR and guard.graspable:
            for demand in (HANDRAIL_LOW, HANDRAIL_HIGH):
                yield Subject(demand, where, "guards", row, guard, row, demand.remedy)


def openings(works: Works) -> Iterator[Subject]:
    """The widest gap of every layout, rounded marks and end gaps included."""
    for row, layout in enumerate(works.shop.layouts, start=1):
        rails = "both rails" if layout.rail == BOTH else f"{layout.rail.lower()} rail"
        where = f"layout {layout.layout} ({layout.used_in}), {rails}"
        yield Subject(OPENING, where, "baluster_layout", row, layout, layout.line_row, OPENING.remedy)


def under_rails(works: Works) -> Iterator[Subject]:
    """The gap under the bottom rail, off the stairs."""
    for row, guard in enumerate(works.site.guards, start=1):
        if guard.kind != STAIR:
            yield Subject(UNDER_RAIL, f"run {guard.run}", "guards", row, guard, row, UNDER_RAIL.remedy)


def triangles(works: Works) -> Iterator[Subject]:
    """The triangle beside each tread; a doubt where the overhang was not measured."""
    for row, guard in enumerate(works.site.guards, start=1):
        if guard.kind != STAIR:
            continue
        yield Subject(TRIANGLE, f"run {guard.run}", "guards", row, guard, row, _lower_rail(guard))
        if guard.triangle_doubt is not None:
            yield Subject(TRIANGLE_DOUBT, f"run {guard.run}", "guards", row, guard, row, TRIANGLE_DOUBT.remedy)


def _lower_rail(guard: Guard) -> str:
    """The clearance that would pass with a step of the tape to spare, as the tape says it."""
    if guard.triangle is None:
        return "name the flight of this run, with its riser and tread"
    most = guard.clearance_passing
    if most is None or most <= 0:
        return "even a rail on the nosings would not pass: smaller risers, or close the triangle"
    return f"lower the bottom rail: stair clearance of {guard.clearance_text} or less"


def flights(works: Works) -> Iterator[Subject]:
    """Riser, tread and their variation."""
    for row, flight in enumerate(works.site.flights, start=1):
        for demand in (RISER, RISER_SPREAD, TREAD, TREAD_SPREAD, OVERHANG):
            yield Subject(demand, f"flight {flight.flight}", "flight_working", row, flight, None, demand.remedy)


def handrails(works: Works) -> Iterator[Subject]:
    """Whether every flight that needs a handrail has one."""
    for row, stairway in enumerate(works.stairways, start=1):
        yield Subject(HANDRAIL, f"flight {stairway.flight}", "stairways", row, stairway, None, HANDRAIL.remedy)


def sections(works: Works) -> Iterator[Subject]:
    """Spacing of the posts of every section, and length of its rails."""
    for row, section in enumerate(works.site.sections, start=1):
        where = f"section {section.section}"
        yield Subject(SPACING, where, "sections", row, section, section.line_row, SPACING.remedy)
        if section.rail_most is not None:
            yield Subject(RAIL, where, "sections", row, section, section.line_row, RAIL.remedy)


def line_posts(works: Works) -> Iterator[Subject]:
    """Whether a tread holds every post between the sections of a flight."""
    for row, line in enumerate(works.site.lines, start=1):
        if line.line_post_foot is not None:
            yield Subject(LINE_POST, f"run {line.run}", "lines", row, line, row, LINE_POST.remedy)


def rakes(works: Works) -> Iterator[Subject]:
    """Slope of every rake, and its lower post."""
    for row, measures in enumerate(works.site.measures, start=1):
        if measures.kind != LEVEL and measures.rake_most is not None:
            yield Subject(RAKE, f"run {measures.run}", "measures", row, measures, row, RAKE.remedy)
        if measures.kind == STAIR:
            yield Subject(LOW_GUARD, f"run {measures.run}", "measures", row, measures, row, LOW_GUARD.remedy)


def supports(works: Works) -> Iterator[Subject]:
    """Existing posts, and gaps beyond end posts."""
    for row, post in enumerate(works.site.posts, start=1):
        if post.needed is not None:
            yield Subject(STANDING, f"support {post.post}", "posts", row, post, post.line_row, STANDING.remedy)
        if post.gap_beyond is not None:
            yield Subject(GAP_BEYOND, f"support {post.post}", "posts", row, post, post.line_row, GAP_BEYOND.remedy)
