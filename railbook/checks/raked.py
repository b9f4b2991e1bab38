"""Stairs and ramps: what no check looks at, and what this version lays out as if it were not there."""

import math
from collections.abc import Iterator, Sequence

from railbook.basics.problem import LOOK, Problem
from railbook.basics.rounding import round_to
from railbook.basics.units import tape_text
from railbook.checks.remedies import at_most, said
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.flights import FlightWorking
from railbook.geometry.guards import Guard
from railbook.geometry.joints import AT_EDGES, Arm, edge_of
from railbook.geometry.met_heights import TO_A_LEVEL_GUARD
from railbook.geometry.survey import Site
from railbook.job.assemblies import YES
from railbook.job.runs import CLOSED, LEVEL, MEETS, RAMP, STAIR
from railbook.rules.editions import edition
from railbook.rules.rule import RAMP as ON_RAMPS
from railbook.rules.rule import STAIR as ON_STAIRS

IN_TWELVE = 12  # a slope is published as rise in 12


def sphere_behind_nosing(*, clearance: float, setback: float, tangent: float) -> float:
    """Largest sphere between the deck, the upper post and the bottom rail, behind the top nosing [job unit].

    Args:
        clearance: nosing line to the underside of the rail, plumb.
        setback: top nosing to the post.
        tangent: of the slope.

    The rail stands h = clearance + setback x tangent over the deck at the post; the circle that touches post, deck
    and rail is h + h/t - the third side. By hand, on 3 in 4 with h = 3: 3 + 4 - 5.

    >>> sphere_behind_nosing(clearance=0.75, setback=3.0, tangent=0.75)
    2.0
    """
    height = clearance + setback * tangent
    return 2 * height / (1 + tangent + math.hypot(1.0, tangent))


def raked_problems(site: Site) -> Iterator[Problem]:
    """Everything about stairs and ramps that somebody must look at."""
    yield from _arrivals(site)
    yield from _uneven_sides(site)
    yield from _under_level_caps(site)
    yield from _behind_nosings(site)
    yield from _open_risers(site)
    yield from _ramps_without_handrail(site)
    yield from _closed(site)
    yield from _short_returns(site)


def _arrivals(site: Site) -> Iterator[Problem]:
    """Raked guards that are to meet a level one where there is none."""
    for guard in site.guards:
        typed = guard.measures.typed
        if guard.meets.how == TO_A_LEVEL_GUARD:
            what = f"run {guard.run} meets no level guard at support {typed.to_support}"
            yield Problem(typed.origin.cell("height"), what, "choose Height: Own, or correct the marks", LOOK)


def _uneven_sides(site: Site) -> Iterator[Problem]:
    """Flights whose two guards differ in height."""
    sides: dict[int, list[Guard]] = {}
    for guard in site.guards:
        if guard.kind == STAIR and guard.flight_row is not None and guard.guard_height is not None:
            sides.setdefault(guard.flight_row, []).append(guard)
    for guards in sides.values():
        heights = [guard.guard_height or 0.0 for guard in guards]
        if max(heights) - min(heights) > guards[0].measures.limits["length_tolerance"]:
            named = ", ".join(f"{guard.run} {said(guard.guard_height or 0.0, guard.settings)}" for guard in guards)
            what = f"guards of one flight differ in height: {named}"
            yield Problem(f"flight {guards[0].measures.typed.flight}", what, _one_height(guards), LOOK)


def _one_height(guards: Sequence[Guard]) -> str:
    """How the guards of a flight become alike."""
    own = [guard for guard in guards if guard.measures.typed.height != MEETS]
    meeting = [guard for guard in guards if guard.measures.typed.height == MEETS]
    if not own or not meeting:
        return "choose one height for both sides"
    height, mark = said(meeting[0].guard_height or 0.0, meeting[0].settings), own[0].measures.assembly.assembly
    return f"set the stair guard height of assembly {mark} to {height}, or choose Height: Own for both"


def _under_level_caps(site: Site) -> Iterator[Problem]:
    """Top rails that run up into the overhang of the cap at whose edge their own ends."""
    for end in site.cap_ends:
        own, met, settings = end.arrival.arm, end.met, site.chosen.settings
        if met is None or end.kind not in AT_EDGES or own.middle is None or met.middle is None:
            continue
        line, short = end.line, own.half + end.line.guard.fit  # where the rail ends, from the post's middle
        edge = edge_of(met.arm, end.turn)
        rail = max(own.under + own.rise * at for at in (short, edge))
        over = rail - min((met.arm.under, *(_lowest(each) for each in _third(site, end))))
        if edge > short and over > settings.tape_step:
            tall = tape_text(round_to(settings.tape_step, over), settings.tape_step, settings.unit)
            at = "lower" if end.arrival.is_from and line.kind != LEVEL else "upper"
            post = f"its {at} post" if line.kind != LEVEL else f"post {end.arrival.support}"
            what = f"top rail of run {line.run} reaches {tall} into the overhang of the level cap at {post}"
            remedy = "notch the upper corner of the rail there, or keep that cap flush with the post"
            yield Problem(f"run {line.run}", what, remedy, LOOK)


def _third(site: Site, end: CapEnd) -> Iterator[Arm]:
    """Runs at the same post beside the two of an end, with a cap."""
    for each in site.cap_ends:
        here = each.arrival.support == end.arrival.support and each.arrival.run != end.arrival.run
        if here and each.arrival.arm.thick and each.arrival.middle is not None and each.arrival is not end.met:
            yield each.arrival.arm


def _lowest(arm: Arm) -> float:
    """Lowest underside of a cap over a post."""
    return arm.under - arm.half * abs(arm.rise)


def _behind_nosings(site: Site) -> Iterator[Problem]:
    """Upper posts so far back that the sphere passes behind the top nosing."""
    for guard in site.guards:
        setback = guard.measures.upper_setback
        if guard.kind != STAIR or setback is None or guard.guard_required == 0:
            continue
        limit, settings = guard.measures.limits["level_sphere"], guard.settings
        passes = sphere_behind_nosing(clearance=guard.clearance, setback=setback, tangent=guard.tangent)
        if passes < limit - 1e-6:
            continue
        room = (limit - settings.tape_step) * (1 + guard.tangent + guard.secant) / 2 - guard.clearance
        most = at_most(room / guard.tangent + guard.measures.to_taken, settings)  # as it was taped
        what = f"run {guard.run}: a sphere of {said(passes, settings)} passes behind the top nosing, under the rail"
        remedy = f"move the upper post to a setback of at most {most}, or close the opening there"
        if room <= 0:
            remedy = "close the opening there: the rail itself hangs too high"
        yield Problem(guard.measures.typed.origin.cell("upper_setback"), what, remedy, LOOK)


def _open_risers(site: Site) -> Iterator[Problem]:
    """Flights that one sees through: nobody looks at the opening between two treads."""
    of_guards = {guard.flight_row for guard in site.guards if guard.kind == STAIR}
    for row, flight in enumerate(site.flights, start=1):
        if row in of_guards and flight.typed.open_risers == YES:
            yield _open_riser(flight, site)


def _open_riser(flight: FlightWorking, site: Site) -> Problem:
    settings, limit = site.chosen.settings, flight.limits["level_sphere"]
    asked = edition(settings.rule_set).told("open_riser", settings.unit, ON_STAIRS)
    what = f"flight {flight.flight} has open risers: the opening between its treads is not looked at"
    remedy = (
        f"measure it: where the tread is high over the ground, a sphere of {said(limit, settings)} must not pass "
        f"({asked}); a strip under each tread closes it"
    )
    return Problem(flight.typed.origin.cell("open_risers"), what, remedy, LOOK)


def _ramps_without_handrail(site: Site) -> Iterator[Problem]:
    """Ramps steeper than 1 in 12 beside which no rail stands that a hand can grasp."""
    settings = site.chosen.settings
    rules = edition(settings.rule_set)
    _, steepest = rules.rule("ramp_handrail", settings.unit, ON_RAMPS).asks()
    asked = rules.told("ramp_handrail", settings.unit, ON_RAMPS)
    served = [slope.tangent for slope in site.handrail_slopes if slope.flight_row is None and slope.tangent is not None]
    for guard in site.guards:
        limits = guard.measures.limits
        low, high = limits["handrail_least"], limits["handrail_greatest"]
        reached = bool(guard.graspable) and low <= (guard.guard_height or 0.0) <= high
        if guard.kind != RAMP or guard.tangent <= steepest / IN_TWELVE + 1e-6 or reached:
            continue
        near = math.tan(math.radians(guard.measures.limits["angle_tolerance"]))
        if any(abs(each - guard.tangent) <= near for each in served):
            continue
        slope = f"steeper than {steepest:g} in {IN_TWELVE} (1 in {1 / guard.tangent:.2f})"
        what = f"ramp {guard.run} is {slope} and has no handrail at a height for hands"
        remedy = (
            f"a handrail on one side is required ({asked}): add a run of kind Handrail with the "
            "slope of the ramp, or see that one stands there"
        )
        yield Problem(guard.measures.typed.origin.cell("kind"), what, remedy, LOOK)


def _closed(site: Site) -> Iterator[Problem]:
    """Runs marked Closed where no wall can close them, or where a drop says otherwise."""
    for guard in site.guards:
        typed = guard.measures.typed
        if typed.stair_side != CLOSED or (guard.kind == STAIR and guard.guard_required == 0):
            continue
        what = f"run {guard.run} is marked Closed, which only a stair beside a wall can be"
        remedy = "the drop decides whether a guard is required: measure it, and clear Stair side"
        if guard.kind == STAIR:
            what = f"run {guard.run} is marked Closed, and a drop of {_drop(guard)} was measured beside it"
            remedy = "the drop decides whether a guard is required: say Open, or clear the drop beside a wall"
        yield Problem(typed.origin.cell("stair_side"), what, remedy, LOOK)


def _short_returns(site: Site) -> Iterator[Problem]:
    """Returns of handrails that leave no room for a hand beside a rail of the usual width."""
    settings = site.chosen.settings
    _, room = edition(settings.rule_set).rule("hand_room", settings.unit).asks()
    least = 2 * room  # of the rail, and as much clear space
    for rail in {rail.assembly.assembly: rail for rail in site.handrails}.values():
        back = rail.assembly.handrail_return
        if back is not None and back < least - 1e-6:
            what = f"assembly {rail.assembly.assembly}: a handrail return of {said(back, settings)} leaves no hand room"
            remedy = (
                f"beside a rail 1-1/2 in (38 mm) wide make it {said(least, settings)}: as much again must stay free"
            )
            yield Problem(rail.assembly.origin.cell("handrail_return"), what, remedy, LOOK)


def _drop(guard: Guard) -> str:
    return tape_text(guard.measures.typed.drop, guard.settings.tape_step, guard.settings.unit)
