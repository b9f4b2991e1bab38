"""The demands, one function each: every function yields a row for every part that it looked at."""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from railbook.basics.double_entry import Part, Tab
from railbook.checks import remedies, stairways
from railbook.checks.check import Demand
from railbook.checks.stairways import Stairway
from railbook.geometry import flights as worked_flights
from railbook.geometry import handrail_slopes, lines, posts
from railbook.geometry import handrails as handrail_runs
from railbook.geometry import sections as worked_sections
from railbook.geometry.flights import FlightWorking
from railbook.geometry.survey import Site
from railbook.job.runs import LEVEL, RAMP, STAIR
from railbook.job.settings import Settings
from railbook.rules.rule import AT_LEAST, AT_MOST
from railbook.takeoff import balusters
from railbook.takeoff.layout import Shop
from railbook.takeoff.rail_ends import BOTH


class Subject(NamedTuple):
    """One part held against one demand.

    Attributes:
        demand: what is asked.
        where: the part in words.
        tab: where the finding stands, in row `source_row`; `thing` is that row.
        line_row: the run's row on the working tabs, where it is about a run.
        remedy: the demand's remedy, or where that is empty one with figures for this part.
    """

    demand: Demand
    where: str
    tab: Tab | Part
    source_row: int
    thing: Any
    line_row: int | None
    remedy: str


class Works(NamedTuple):
    """Everything that the checks look at."""

    site: Site
    shop: Shop
    stairways: tuple[Stairway, ...]


THE_ASSEMBLY, FOLLOWS = "the assembly", "follows from the heights"  # where a demand stands that is in no code

GUARD_NEEDED = Demand("guard: drop beside the walking surface", "drop", "guard_drop",
                      "measure the drop to the lowest ground within 36 in (914 mm)")  # fmt: skip
GUARD_HEIGHT = Demand("guard: height of the top", "guard_height", "height_limit", "", of_rules=False, guards_only=True)
HANDRAIL_HIGH = Demand("cap that serves as handrail: height", "guard_height", "handrail_greatest", "")
HANDRAIL_LOW = Demand("cap that serves as handrail: height", "guard_height", "handrail_least", "")
OPENING = Demand("opening between balusters as marked", "worst_gap", "sphere", "", of_rules=False, guards_only=True)
BRACKET_ROOM = Demand("fixed pitch: room beside the last baluster for the bracket", "least_end_gap", "bracket_needs",
                      "another number of sections, or move a post; or order the rails drilled from the other end",
                      AT_LEAST, THE_ASSEMBLY, of_rules=False)  # fmt: skip
UNDER_RAIL = Demand("opening under the bottom rail", "under_rail", "level_sphere", "", guards_only=True)
TRIANGLE = Demand("triangle of riser, tread and bottom rail", "triangle", "triangle_limit", "",
                  of_rules=False, guards_only=True)  # fmt: skip
TRIANGLE_DOUBT = Demand("triangle, if the nosing has the greatest overhang", "triangle_doubt", "triangle_limit", "",
                        of_rules=False, soft=True)  # fmt: skip
RISER = Demand("largest riser", "riser_largest", "riser_greatest", "")
TREAD = Demand("smallest tread", "tread_smallest", "tread_least", "")
RISER_SPREAD = Demand("variation of risers", "riser_spread", "riser_variation", "")
TREAD_SPREAD = Demand("variation of treads", "tread_spread", "tread_variation", "")
SPACING = Demand("post spacing of the assembly", "spacing", "assembly.greatest_spacing",
                 "", AT_MOST, THE_ASSEMBLY, of_rules=False)  # fmt: skip
RAIL = Demand("rail length of the assembly, tip to tip", "longest_tip", "assembly.greatest_rail",
              "", AT_MOST, THE_ASSEMBLY, of_rules=False)  # fmt: skip
RAKE = Demand("rake of the assembly", "slope_angle", "assembly.greatest_rake",
              "", AT_MOST, THE_ASSEMBLY, of_rules=False, unit="deg")  # fmt: skip
RAMP_SLOPE = Demand("slope of the ramp", "slope_angle", "ramp_slope",
                    "1 in 12 where the ramp serves the required door; elsewhere 1 in 8 may do: ask, and enter an "
                    "amendment of 7.13", soft=True, unit="deg")  # fmt: skip
OVERHANG = Demand("nosing overhang", "overhang", "overhang_greatest", "")
LINE_POST = Demand("line post stands on its tread", "line_post_foot", "tread", "", AT_MOST, FOLLOWS, of_rules=False)
LOW_GUARD = Demand("lower post within one tread of the first nosing", "lower_setback", "tread", "", AT_MOST, FOLLOWS,
                   of_rules=False)  # fmt: skip
HANDRAIL = Demand("handrail: sides with one that a hand can grasp", "graspable_sides", "sides_needed",
                  "a flat cap cannot be grasped: add a run of kind Handrail; one that is there already counts "
                  "under Handrails on tab Flights", AT_LEAST, kind="handrail_needed", of_rules=False,
                  unit="sides")  # fmt: skip
RAIL_LOW = Demand("handrail of its own: height", "height", "handrail_least", "")
RAIL_HIGH = Demand("handrail of its own: height", "height", "handrail_greatest", "")
RAIL_COVERS = Demand("handrail of its own: reaches from nosing to nosing", "between", "flight_least",
                     "measure it again, or leave its measurements blank: the flight then gives its length",
                     AT_LEAST, kind="continuity", of_rules=False)  # fmt: skip
STANDING = Demand("existing post: height", "standing", "needed", "", AT_LEAST, FOLLOWS, of_rules=False)
GAP_BEYOND = Demand("gap between the end post and the wall", "gap_beyond", "level_sphere", "")
OF_A_FLIGHT: tuple[tuple[Demand, Callable[[FlightWorking, Settings], str]], ...] = (
    (RISER, remedies.more_risers),
    (RISER_SPREAD, remedies.even_risers),
    (TREAD, remedies.deeper_treads),
    (TREAD_SPREAD, remedies.even_treads),
    (OVERHANG, remedies.shorter_overhang),
)


def guards(works: Works) -> Iterator[Subject]:
    """Whether a guard is needed, and its height."""
    for row, line in enumerate(works.site.lines, start=1):
        where, guard, limits = f"run {line.run}", line.guard, line.measures.limits
        yield Subject(GUARD_NEEDED, where, lines.TAB, row, line, row, GUARD_NEEDED.remedy)
        higher = remedies.higher_guard(guard, guard.height_limit)
        yield Subject(GUARD_HEIGHT, where, lines.TAB, row, line, row, higher)
        if guard.kind == STAIR and guard.graspable:
            higher = remedies.higher_guard(guard, limits["handrail_least"])
            yield Subject(HANDRAIL_LOW, where, lines.TAB, row, line, row, f"{higher}, or add a handrail of its own")
            lower = remedies.lower_guard(guard, limits["handrail_greatest"])
            yield Subject(HANDRAIL_HIGH, where, lines.TAB, row, line, row, lower)


def openings(works: Works) -> Iterator[Subject]:
    """The widest gap of every layout, rounded marks and end gaps included."""
    for row, layout in enumerate(works.shop.layouts, start=1):
        rails = "both rails" if layout.rail == BOTH else f"{layout.rail.lower()} rail"
        where = f"layout {layout.layout} ({layout.used_in}), {rails}"
        yield Subject(OPENING, where, balusters.TAB, row, layout, layout.section.line_row, remedies.one_more(layout))
        if layout.bracket_needs is not None:
            yield Subject(BRACKET_ROOM, where, balusters.TAB, row, layout, layout.section.line_row, BRACKET_ROOM.remedy)


def under_rails(works: Works) -> Iterator[Subject]:
    """The gap under the bottom rail, off the stairs."""
    for row, line in enumerate(works.site.lines, start=1):
        if line.kind != STAIR:
            yield Subject(UNDER_RAIL, f"run {line.run}", lines.TAB, row, line, row, remedies.less_clearance(line))


def triangles(works: Works) -> Iterator[Subject]:
    """The triangle beside each tread; a doubt where the overhang was not measured."""
    for row, line in enumerate(works.site.lines, start=1):
        if line.kind != STAIR:
            continue
        where, under = f"run {line.run}", line.triangle
        yield Subject(TRIANGLE, where, lines.TAB, row, line, row, remedies.lower_rail(under))
        if under.triangle_doubt is not None:
            yield Subject(TRIANGLE_DOUBT, where, lines.TAB, row, line, row, remedies.measured_overhang(under))


def flights(works: Works) -> Iterator[Subject]:
    """Riser, tread and their variation."""
    for row, flight in enumerate(works.site.flights, start=1):
        for demand, remedy in OF_A_FLIGHT:
            said = remedy(flight, works.site.chosen.settings)
            yield Subject(demand, f"flight {flight.flight}", worked_flights.TAB, row, flight, None, said)


def handrails(works: Works) -> Iterator[Subject]:
    """Whether every flight that needs a handrail has one."""
    for row, stairway in enumerate(works.stairways, start=1):
        yield Subject(HANDRAIL, f"flight {stairway.flight}", stairways.TAB, row, stairway, None, HANDRAIL.remedy)


def rails(works: Works) -> Iterator[Subject]:
    """Height of every handrail of its own, and whether one that was measured reaches along its flight."""
    for row, rail in enumerate(works.site.handrails, start=1):
        where, limits = f"handrail {rail.run}", rail.slope.limits
        higher = remedies.raised_handrail(rail, limits["handrail_least"])
        yield Subject(RAIL_LOW, where, handrail_runs.TAB, row, rail, None, higher)
        lower = remedies.lowered_handrail(rail, limits["handrail_greatest"])
        yield Subject(RAIL_HIGH, where, handrail_runs.TAB, row, rail, None, lower)
        if rail.slope.flight_least is not None:
            yield Subject(RAIL_COVERS, where, handrail_slopes.TAB, row, rail.slope, None, RAIL_COVERS.remedy)


def sections(works: Works) -> Iterator[Subject]:
    """Spacing of the posts of every section, and length of its rails."""
    for row, section in enumerate(works.site.sections, start=1):
        where = f"section {section.section}"
        closer = remedies.shorter_sections(section, section.assembly.greatest_spacing, "posts, centre to centre,")
        yield Subject(SPACING, where, worked_sections.PART, row, section, section.line_row, closer)
        if section.assembly.greatest_rail is not None:
            shorter = remedies.shorter_sections(section, section.assembly.greatest_rail, "rails, tip to tip,")
            yield Subject(RAIL, where, worked_sections.PART, row, section, section.line_row, shorter)


def line_posts(works: Works) -> Iterator[Subject]:
    """Whether a tread holds every post between the sections of a flight."""
    for row, line in enumerate(works.site.lines, start=1):
        if line.line_post_foot is not None:
            yield Subject(LINE_POST, f"run {line.run}", lines.TAB, row, line, row, remedies.line_post_on_tread(line))


def rakes(works: Works) -> Iterator[Subject]:
    """Slope of every rake, and its lower post."""
    for row, line in enumerate(works.site.lines, start=1):
        where, measures = f"run {line.run}", line.measures
        if line.kind != LEVEL and measures.assembly.greatest_rake is not None:
            yield Subject(RAKE, where, lines.TAB, row, line, row, remedies.gentler_rake(measures))
        if line.kind == RAMP:
            yield Subject(RAMP_SLOPE, where, lines.TAB, row, line, row, RAMP_SLOPE.remedy)
        if line.kind == STAIR:
            nearer = remedies.nearer_post(measures, works.site.chosen.settings)
            yield Subject(LOW_GUARD, where, lines.TAB, row, line, row, nearer)


def supports(works: Works) -> Iterator[Subject]:
    """Existing posts, and gaps beyond end posts."""
    for row, post in enumerate(works.site.posts, start=1):
        where = f"support {post.post}"
        if post.needed is not None:
            yield Subject(STANDING, where, posts.TAB, row, post, post.line_row, remedies.taller_post(post))
        if post.gap_beyond is not None:
            yield Subject(GAP_BEYOND, where, posts.TAB, row, post, post.line_row, remedies.narrower_gap(post))
