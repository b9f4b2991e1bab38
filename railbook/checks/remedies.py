"""Remedies with figures: what to change to what, so that a check which failed would pass.

Figures are what the tape shows and what a cell of the workbook takes: inches without feet, or millimetres.
What must be at least so much is rounded up to the tape, what may be at most so much is rounded down.
"""

import math

from railbook.basics.kinds import MILLIMETRE
from railbook.basics.rounding import ceiling, floor, round_to, same
from railbook.basics.units import INCHES_PER_FOOT, tape_text
from railbook.geometry.corner_sums import greatest_near
from railbook.geometry.deck_corners import DeckCorner
from railbook.geometry.flights import FlightWorking
from railbook.geometry.guards import Guard
from railbook.geometry.handrails import Handrail
from railbook.geometry.lines import Line
from railbook.geometry.measures import Measures
from railbook.geometry.posts import Post
from railbook.geometry.sections import Section
from railbook.geometry.triangles import Triangle
from railbook.job.assemblies import YES
from railbook.job.runs import LEVEL, MEETS, STAIR
from railbook.job.settings import Settings
from railbook.takeoff.balusters import BalusterLayout


def said(length: float, settings: Settings) -> str:
    r"""A length to the nearest step of the tape, without feet: cells of a result take no foot marks.

    >>> inch, metric = Settings(unit="in", tape_step=1 / 16), Settings(unit="mm", tape_step=1.0)
    >>> said(34.0, inch), said(41.49, inch), said(6.8889, inch), said(914.4, metric)
    ('34"', '41 1/2"', '6 7/8"', '914 mm')
    """
    length = round_to(settings.tape_step, length)
    if settings.unit == MILLIMETRE or length < INCHES_PER_FOOT:
        return tape_text(length, settings.tape_step, settings.unit)
    over = length - floor(length)
    return f'{floor(length)}"' if same(over, 0.0) else f"{floor(length)} {said(over, settings)}"


def at_most(length: float, settings: Settings) -> str:
    r"""The longest length on the tape that is no longer.

    >>> at_most(3.99, Settings(unit="in", tape_step=1 / 16))
    '3 15/16"'
    """
    return said(floor(length / settings.tape_step) * settings.tape_step, settings)


def at_least(length: float, settings: Settings) -> str:
    r"""The shortest length on the tape that is no shorter.

    >>> at_least(33.99, Settings(unit="in", tape_step=1 / 16))
    '34"'
    """
    return said(ceiling(length / settings.tape_step) * settings.tape_step, settings)


def higher_guard(guard: Guard, least: float) -> str:
    """A guard as high as a limit asks."""
    needed = at_least(least, guard.settings)
    if guard.guard_height is None:
        return "fill in its upper setback, or choose Height: Own"
    if guard.meets.other is not None and guard.measures.typed.height != MEETS:
        run = guard.meets.other.run
        return f"it has its height from run {run}: choose Keep or Post proud where they meet, on tab Supports"
    if guard.kind != LEVEL and guard.measures.typed.height == MEETS:
        return f"choose Height: Own, and a {_column_of(guard)} guard height of at least {needed}"
    if guard.bought_length is not None:
        longer = at_least(guard.bought_length + least - guard.guard_height, guard.settings)
        return f"buy balusters of at least {longer} instead of {said(guard.bought_length, guard.settings)}"
    return f"raise the {_height_of(guard)} to at least {needed}"


def lower_guard(guard: Guard, most: float) -> str:
    """A stair guard low enough for its cap to serve as a handrail."""
    if guard.guard_height is None:
        return "fill in its upper setback, or choose Height: Own"
    own = guard.measures.typed.height != MEETS and guard.bought_length is None
    lower = f"lower the {_height_of(guard)}" if own else "lower the stair guard"
    most_said = at_most(most, guard.settings)
    return f"{lower} to at most {most_said}, or add a handrail of its own and say Cap graspable: No"


def _height_of(guard: Guard) -> str:
    """The cell that sets the height of a guard, and what it says."""
    height = said(guard.guard_height or 0.0, guard.settings)
    return f"{_column_of(guard)} guard height of assembly {guard.measures.assembly.assembly} from {height}"


def _column_of(guard: Guard) -> str:
    """Which height of its assembly a guard of its own height has."""
    return "stair" if guard.kind == STAIR else "level"


def less_clearance(line: Line) -> str:
    """A bottom rail so low that the sphere does not pass under it, with a step of the tape to spare."""
    guard, edge = line.guard, line.edge
    settings, assembly = guard.settings, guard.measures.assembly.assembly
    most = guard.measures.limits["level_sphere"] - settings.tape_step
    beside = max(0.0, edge.outside - edge.rail_width / 2) if edge.off_edge else 0.0
    if beside > most:
        return (
            f"the rail stands {said(beside, settings)} outside the deck's edge, and no clearance is small enough: "
            "thinner spacers, a wider bottom rail, or posts inside the rim"
        )
    plumb = at_most(math.sqrt(most**2 - beside**2) * guard.secant, settings)
    remedy = (
        f"reduce the level clearance of assembly {assembly} from {said(guard.clearance, settings)} to at most {plumb}"
    )
    return f"{remedy}, as the rail stands {said(beside, settings)} outside the deck's edge" if beside else remedy


def lower_rail(under: Triangle) -> str:
    """The clearance at which the triangle passes with a step of the tape to spare."""
    guard, flight = under.guard, under.guard.measures.flight
    if under.triangle is None or flight is None:
        return "name the flight of this run, with its riser and tread"
    if under.clearance_passing is None or under.clearance_passing <= 0:
        close = "close the risers" if flight.typed.open_risers == YES else "smaller risers"
        if (under.step_height or 0.0) > (flight.riser_largest or 0.0) + 1e-6 and close == "smaller risers":
            close = "smaller risers and even treads"
        return f"even a rail on the nosings would not pass: {close}, or close the triangle"
    now, assembly = said(guard.clearance, guard.settings), guard.measures.assembly.assembly
    return f"lower the bottom rail: stair clearance of assembly {assembly} from {now} to at most {under.clearance_text}"


def measured_overhang(under: Triangle) -> str:
    """The nosing overhang up to which the triangle passes, with a step of the tape to spare."""
    settings, passing, tangent = under.guard.settings, under.clearance_passing, under.guard.tangent
    step = settings.tape_step
    grows = (tangent + 1 - under.guard.secant) / tangent  # of the sphere, for each unit of height
    overhang = 0.0 if passing is None else (passing - under.guard.clearance - step / grows) / tangent
    if overhang < step:
        return "passes only without overhang: measure the nosing overhang on tab Flights"
    most = at_most(overhang, settings)
    return f"passes with a nosing overhang of at most {most}: measure it on tab Flights"


def more_risers(flight: FlightWorking, settings: Settings) -> str:
    """The fewest risers that the total rise needs, and how high each is."""
    limit = flight.limits["riser_greatest"]
    if flight.riser_largest is None:
        return "measure the riser, or the total rise, and count the risers"
    total = flight.flight_rise if flight.typed.total_rise is None else flight.typed.total_rise
    if total is None or total <= 0:
        return f"rebuild the flight with risers of at most {at_most(limit, settings)}"
    risers = max(ceiling(total / limit), int(flight.risers or 0))
    now = "" if flight.risers is None else f" instead of {flight.risers:g}"
    even = f"total rise {said(total, settings)} in {risers} risers of {said(total / risers, settings)}"
    return f"even the risers out: {even}" if risers == flight.risers else f"rebuild the flight: {even}{now}"


def even_risers(flight: FlightWorking, settings: Settings) -> str:
    """Risers that vary no more than they may."""
    if flight.riser_spread is None:
        return "measure the smallest and the largest riser"
    return f"even the risers out: they may vary by at most {at_most(flight.limits['riser_variation'], settings)}"


def deeper_treads(flight: FlightWorking, settings: Settings) -> str:
    """Treads as deep as the limit asks."""
    if flight.tread_smallest is None:
        return "measure the treads, nosing to nosing"
    least, now = at_least(flight.limits["tread_least"], settings), said(flight.tread_smallest, settings)
    return f"rebuild the flight with treads of at least {least}: the smallest is {now}"


def even_treads(flight: FlightWorking, settings: Settings) -> str:
    """Treads that vary no more than they may."""
    if flight.tread_spread is None:
        return "measure the smallest and the largest tread"
    return f"even the treads out: they may vary by at most {at_most(flight.limits['tread_variation'], settings)}"


def shorter_overhang(flight: FlightWorking, settings: Settings) -> str:
    """A nosing that stands out no more than it may."""
    if flight.overhang is None:
        return "measure it; type 0 where the nosing is flush"
    return f"cut the nosings back to an overhang of at most {at_most(flight.limits['overhang_greatest'], settings)}"


def one_more(layout: BalusterLayout) -> str:
    """Balusters so close together that the sphere does not pass."""
    settings, section = layout.settings, layout.section
    if section.assembly.baluster_pitch is None:
        return f"{layout.count + 1} balusters instead of {layout.count}: run railbook on this workbook again"
    spare = max(settings.build_margin, settings.tape_step)
    most = at_most((layout.line.guard.sphere - spare + layout.width) * section.secant, settings)
    return f"rails drilled at most {most} from centre to centre, along the rail"


def shorter_sections(section: Section, most: float | None, what: str) -> str:
    """More sections, where their number was forced; else posts that stand closer."""
    limit = "" if most is None else f"{what} at most {at_most(most, section.line.guard.settings)}: "
    if section.line.measures.typed.sections is not None:
        return f"{limit}clear Sections of run {section.run}, which forces {section.of}"
    return f"{limit}move the supports of run {section.run} closer together, or set another post between them"


def line_post_on_tread(line: Line) -> str:
    """A post between sections that ends before the next nosing."""
    tread = line.measures.tread
    if tread is None:
        return "fill in the tread of its flight"
    most, behind = tread - line.measures.post_face, line.measures.assembly.line_post_setback or 0.0
    if most < 0:
        return "no tread is as deep as the post is wide: deeper treads, or a guard in one section"
    settings, assembly = line.guard.settings, line.measures.assembly.assembly
    column = f"line post setback of assembly {assembly}"
    return f"reduce the {column} from {said(behind, settings)} to at most {at_most(most, settings)}"


def gentler_rake(measures: Measures) -> str:
    """An assembly for that slope."""
    steepest = ceiling(10 * measures.slope_angle) / 10
    return f"choose an assembly made for slopes of {steepest:.1f} degrees and more"


def nearer_post(measures: Measures, settings: Settings) -> str:
    """A lower post within one tread of the first nosing."""
    if measures.lower_setback is None or measures.tread is None:
        return "measure the lower setback, and the tread of its flight"
    by = at_least(measures.lower_setback - measures.tread, settings)
    most = at_most(measures.tread + measures.from_taken, settings)
    return (
        f"move the lower post uphill by {by}, to a lower setback of at most one tread, {most}: "
        "in front of it the guard stands low over the lower floor"
    )


def raised_handrail(rail: Handrail, least: float) -> str:
    """A handrail as high as the limit asks."""
    return f"raise {_handrail_height(rail)} to at least {at_least(least, rail.settings)}"


def lowered_handrail(rail: Handrail, most: float) -> str:
    """A handrail no higher than the limit allows."""
    return f"lower {_handrail_height(rail)} to at most {at_most(most, rail.settings)}"


def _handrail_height(rail: Handrail) -> str:
    """The cell that sets the height of a handrail, and what it says."""
    return f"the handrail height of assembly {rail.assembly.assembly} from {said(rail.height or 0.0, rail.settings)}"


def taller_post(post: Post) -> str:
    """An existing post as high as the guard needs it."""
    needed = said(post.needed or 0.0, post.settings)
    if post.standing is None:
        return f"measure its standing height: it must be at least {needed}"
    return f"measure it again: it must stand {needed} high; replace it if it is too short"


def nearer_corner_posts(corner: DeckCorner) -> str:
    """Two posts so near the corner of the deck that the sphere does not pass between them, with a step to spare."""
    settings = corner.line.guard.settings
    if corner.near is None or corner.other_near is None:
        return "measure From deck corner of both posts, along the fascia"
    most = corner.line.measures.limits["level_sphere"] - settings.tape_step
    near = greatest_near(corner.inner or 0.0, corner.other_inner or 0.0, corner.turn, most)
    if near is None:
        return "their spacers alone leave more: thinner spacers, or a baluster between the two posts"
    return f"set both at most {at_most(near, settings)} from the corner, or fill the opening between them"


def narrower_gap(post: Post) -> str:
    """An end post so close to the wall that the sphere does not pass, with a step of the tape to spare."""
    most = post.line.measures.limits["level_sphere"] - post.settings.tape_step
    return f"move the post until the gap is at most {at_most(most, post.settings)}, or close the gap"
