"""The deck's edge: what passes between two posts that guard a corner of it, and posts that cannot stand where they are.

A square post on the fascia touches an outside corner of the deck at a single line, and one inside the rim an inside
corner; the other way round one post has two faces to be held by.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.check import Demand
from railbook.checks.demands import Subject, Works
from railbook.checks.marks import few
from railbook.checks.remedies import at_least, at_most, nearer_corner_posts, said
from railbook.geometry import deck_corners
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.corner_sums import greatest_near
from railbook.geometry.deck_corners import LEFT_TO_RIGHT, DeckCorner, declared
from railbook.geometry.guards import Guard
from railbook.geometry.joints import IN_AIR, SHARPEST, is_straight, turned
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.meetings import met
from railbook.geometry.posts import Post
from railbook.geometry.survey import Site
from railbook.job import supports
from railbook.job.assemblies import INSIDE_RIM, ON_FACE, ON_FASCIA
from railbook.job.runs import LEVEL, STAIR

CORNER = Demand("opening between the posts round an outside corner", "opening", "level_sphere", "", guards_only=True)
SAME_LINE = 1e-6


def corners(works: Works) -> Iterator[Subject]:
    """What passes between two posts that guard an outside corner; it counts as a guard where either run does."""
    for row, corner in enumerate(works.site.deck_corners, start=1):
        line = corner.line if corner.line.guard.guard_required != 0 else corner.next_line
        where = f"supports {corner.post} and {corner.other}"
        yield Subject(CORNER, where, deck_corners.TAB, row, corner, line.line_row, nearer_corner_posts(corner))


def edge_problems(site: Site) -> Iterator[Problem]:
    """Everything about the deck's edge that somebody must look at."""
    at = met(site.lines)
    for post in site.posts:
        if post.mount in (ON_FASCIA, INSIDE_RIM):
            for one, other in combinations(at.get(post.post, ()), 2):
                yield from _corner_problems(post, one, other)
    yield from _unpaired(site)
    yield from _caps_in_the_air(site)
    yield from _sleeves(site.posts)
    yield from _spacers(site)
    for line in site.lines:
        yield from _crooked(line)
    yield from _hanging_balusters(site.guards, {line.run: line for line in site.lines})


def _corner_problems(post: Post, one: Arrival, other: Arrival) -> Iterator[Problem]:
    """One post shared by two level runs, at a corner where no square post can be held."""
    way, where = turned(one.arm, other.arm), f"support {post.post}"
    if {one.line.kind, other.line.kind} != {LEVEL} or is_straight(way) or abs(way) > SHARPEST:
        return
    if one.is_from == other.is_from:
        both = "begin" if one.is_from else "end"
        what = f"runs {one.run} and {other.run} both {both} here: whether that corner is an outside one cannot be told"
        remedy = f"turn one of the two about, with its direction: {LEFT_TO_RIGHT}"
        yield Problem(where, what, remedy, LOOK)
        return
    first, second = (other, one) if one.is_from else (one, other)
    way = turned(first.arm, second.arm)
    walked = f"from run {first.run} to run {second.run} the guard turns {abs(way):.4g} degrees"
    else_turned = f"if the deck's corner is no such corner, turn the runs about: {LEFT_TO_RIGHT}"
    if post.mount == ON_FASCIA and way > 0:
        what = f"{walked} right, round an outside corner of the deck: one post on the fascia touches only its corner"
        yield Problem(where, what, f"{_two_posts(first, second, way)}; {else_turned}", LOOK)
    if post.mount == INSIDE_RIM and way < 0:
        what = f"{walked} left, round an inside corner of the deck: one post inside the rim touches only its corner"
        remedy = (
            "bolt it to a rim that runs on past the corner as a joist, with blocking on its other side, or set a post "
            f"on each edge; {else_turned}"
        )
        yield Problem(where, what, remedy, LOOK)


def _two_posts(first: Arrival, second: Arrival, way: float) -> str:
    """Where the two posts go that guard an outside corner on the fascia, or the one that stands inside it."""
    settings, most = first.line.guard.settings, first.line.measures.limits["level_sphere"]
    inner = [(each.line.edge.out(each.end) or 0.0) - each.half for each in (first, second)]
    near = greatest_near(inner[0], inner[1], way, most - settings.tape_step)
    half = (first.assembly.post_width or 0.0) / 2
    inside = (
        f"choose Mount: Inside rim, where one post stands in the corner with its middle {said(half, settings)} and the "
        "rim's thickness in from both edges"
    )
    if near is None:
        return inside
    return (
        f"set two posts, one on each edge, near faces at most {at_most(near, settings)} from the corner, end the runs "
        f"there and name one to the other under Corner post on tab Supports; or {inside}"
    )


def _unpaired(site: Site) -> Iterator[Problem]:
    """Posts that are to guard a corner together and do not, and distances from a corner that nothing rests on."""
    paired: set[str] = set()
    for each in declared(site.lines):
        paired |= {each.post, each.other}
        if not each.arrivals:
            yield Problem(f"support {each.post}", *each.fault, LOOK)
    for mark, arrivals in met(site.lines).items():
        typed = arrivals[0].typed
        if typed is not None and typed.from_corner is not None and mark not in paired:
            what = f"support {mark} has a distance from the deck's corner, and no post round that corner is named"
            where = typed.origin.cell("from_corner") or supports.TAB.title
            yield Problem(where, what, "type the mark of that post under Corner post, or clear the distance", NOTE)


def _caps_in_the_air(site: Site) -> Iterator[Problem]:
    """How far caps reach past the posts that guard a corner; caps that do not meet over it."""
    ends = {(end.arrival.run, end.arrival.end): end for end in site.cap_ends}
    for corner in site.deck_corners:
        one, other = ends[corner.line.run, TO], ends[corner.next_line.run, FROM]
        if any(end.arrival.assembly.cap_thickness for end in (one, other)):
            yield _cap_round(corner, one, other)


def _cap_round(corner: DeckCorner, one: CapEnd, other: CapEnd) -> Problem:
    """The caps of one corner: how far they reach, or would."""
    settings = corner.line.guard.settings
    where = f"supports {corner.post} and {corner.other}"
    reaches = (
        f"run {end.arrival.run} {said(past, settings)}"
        for end, past in ((one, corner.past), (other, corner.other_past))
        if past is not None
    )
    past = " and ".join(reaches) or "not known: measure From deck corner of both posts"
    if one.kind == other.kind == IN_AIR:
        what = f"caps reach past their last posts, to the middle of their mitre over the deck's corner: {past}"
        remedy = "see that the maker of the cap allows so much past a post; fasten the mitre to itself"
        return Problem(where, what, remedy, NOTE)
    what = f"caps do not meet over the deck's corner, and end as at any last post; to meet, past the faces: {past}"
    remedy = "give both guards caps of one height and thickness over their posts, or leave the corner open at the top"
    return Problem(where, what, remedy, NOTE)


def _sleeves(posts: Sequence[Post]) -> Iterator[Problem]:
    """Sleeves on posts on the fascia that come over the deck's edge, for want of a spacer: one row for a railing."""
    found: dict[tuple[str, float], list[Post]] = {}
    for post in posts:
        needs = _needs_spacer(post)
        if needs is not None and post.line.edge.spacer(post.typed) < needs - SAME_LINE:
            found.setdefault((post.assembly.assembly, needs), []).append(post)
    for (assembly, needs), those in found.items():
        settings = those[0].settings
        short = needs - min(each.line.edge.spacer(each.typed) for each in those)
        what = (
            f"assembly {assembly}: sleeves of posts on the fascia ({few(each.post for each in those)}) come "
            f"{said(short, settings)} over the deck's edge"
        )
        remedy = (
            f"a sleeve that passes the fascia needs a spacer of at least {at_least(needs, settings)}: type it under "
            "Fascia spacer on tab Assemblies, or cut the edge of the deck back round each sleeve"
        )
        yield Problem(f"support {those[0].post}", what, remedy, LOOK)


def _spacers(site: Site) -> Iterator[Problem]:
    """Posts that stand off the fascia, which their bolts must cross; spacers of posts that are not on it."""
    off = [post for post in site.posts if post.mount == ON_FASCIA and post.line.edge.spacer(post.typed) > SAME_LINE]
    if off:
        most = max(off, key=lambda each: each.line.edge.spacer(each.typed))
        what = (
            f"posts stand up to {said(most.line.edge.spacer(most.typed), most.settings)} off the fascia, on spacers "
            f"({few(each.post for each in off)})"
        )
        remedy = "see on tab Fastenings that their bolts are longer by that, and that the spacer bears on solid wood"
        yield Problem(f"support {most.post}", what, remedy, LOOK)
    for mark, arrivals in met(site.lines).items():
        typed = arrivals[0].typed
        if typed is not None and typed.spacer and all(each.line.edge.out(each.end) is None for each in arrivals):
            what = f"support {mark} has a spacer, and does not stand on the fascia: it is not used"
            where = typed.origin.cell("spacer") or supports.TAB.title
            yield Problem(where, what, "choose Mount: On fascia, or clear it", LOOK)


def _needs_spacer(post: Post) -> float | None:
    """Spacer behind a sleeved post on the fascia; None where it is no such post, or its own width was typed."""
    assembly = post.assembly
    has_own = post.typed is not None and post.typed.face_width is not None
    if post.mount != ON_FASCIA or not post.sleeved or has_own or assembly.sleeve_width is None:
        return None
    return (assembly.sleeve_width - (assembly.post_width or 0.0)) / 2


def _crooked(line: Line) -> Iterator[Problem]:
    """A level run that does not go along the deck's edge, as its posts stand differently far out."""
    edge, typed, settings = line.edge, line.measures.typed, line.guard.settings
    posts = [(f"at {typed.from_support}", edge.from_out), (f"at {typed.to_support}", edge.to_out)]
    if line.sections > 1:
        posts.append(("between its sections", edge.between_out))
    outs = [out for _, out in posts if out is not None]
    if line.kind != LEVEL or not outs:
        return
    if len(outs) == len(posts) and max(outs) - min(outs) < settings.tape_step - SAME_LINE:
        return
    told = (f"{'not on the fascia' if out is None else f'{said(out, settings)} outside'} {at}" for at, out in posts)
    what = f"run {line.run} does not go along the deck's edge: its middle stands {', '.join(told)}"
    remedy = (
        "one Mount and one spacer for all its posts; the opening under the rail is taken at the end that stands "
        "farther out"
    )
    yield Problem(f"run {line.run}", what, remedy, LOOK)


def _hanging_balusters(guards: Iterable[Guard], lines: dict[str, Line]) -> Iterator[Problem]:
    """Balusters on the face of the rails that stand into the cap, or reach below the deck's surface."""
    for guard in guards:
        assembly, settings = guard.measures.assembly, guard.settings
        if assembly.baluster_place != ON_FACE:
            continue
        over = (assembly.overlap_top or 0.0) - (assembly.top_rail_depth or 0.0) * guard.secant
        if over > SAME_LINE:
            what = f"balusters of run {guard.run} stand {said(over, settings)} over the top rail"
            remedy = (
                f"an overlap at the top of at most {said((assembly.top_rail_depth or 0.0) * guard.secant, settings)}"
            )
            yield Problem(assembly.origin.cell("overlap_top"), what, remedy, LOOK)
        rail = guard.clearance + (assembly.bottom_rail_depth or 0.0) * guard.secant
        below = (assembly.overlap_bottom or 0.0) - rail
        if guard.kind != STAIR and below > SAME_LINE:
            yield _below(lines[guard.run], below, rail)


def _below(line: Line, below: float, rail: float) -> Problem:
    """Balusters that end below the deck's surface: they need a guard outside its edge."""
    guard, edge = line.guard, line.edge
    assembly, settings = guard.measures.assembly, guard.settings
    thick = assembly.baluster_width if assembly.baluster_thickness is None else assembly.baluster_thickness
    near, far = edge.outside - edge.rail_width / 2 - (thick or 0.0), edge.outside + edge.rail_width / 2
    where = assembly.origin.cell("overlap_bottom")
    what = f"balusters of run {guard.run} end {said(below, settings)} below the deck's surface"
    if not edge.off_edge or far < 0:
        remedy = f"an overlap at the bottom of at most {at_most(rail, settings)}, or posts on the fascia"
        return Problem(where, f"{what}, and its rails stand over the deck", remedy, LOOK)
    if near < 0:
        remedy = (
            f"put them on the far face of the rails: on the near one they would be {said(-near, settings)} in the deck"
        )
        return Problem(where, f"{what}, {said(far, settings)} outside its edge on the far face", remedy, NOTE)
    sides = f"{said(near, settings)} outside its edge on the near face of the rails, {said(far, settings)} on the far"
    return Problem(where, f"{what}, {sides}", "nothing to do where nothing on the fascia is in their way", NOTE)
