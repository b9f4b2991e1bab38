"""What the geometry leaves to choose: sections of every run, the posts, and what is cut alike."""

from collections.abc import Iterator, Sequence

from railbook.basics.problem import Problem
from railbook.geometry.caps import Cap
from railbook.geometry.deck_corners import choose_deck_corners
from railbook.geometry.dividing import divide
from railbook.geometry.guards import Guard
from railbook.geometry.handrails import choose_shapes
from railbook.geometry.heights import choose_heights
from railbook.geometry.joints import BEND, CUT_OFF, MITRED, NOT_LAID_OUT, OPEN_END, THROUGH, is_square, turned
from railbook.geometry.leaning import recorded_ends
from railbook.geometry.leans import Lean
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import PLUMB, Line
from railbook.geometry.measured import find_askew, measures_of
from railbook.geometry.meetings import choose_meetings, met
from railbook.geometry.post_tops import AT_LOWER_END, AT_UPPER_END, ON_BEND, ON_LEVEL, ON_RAMP, ON_TREAD, stands_of
from railbook.geometry.posts import Post
from railbook.geometry.sections import Section
from railbook.geometry.survey import (
    Place,
    SiteChoices,
    cap_ends_of,
    caps_of,
    flights_of,
    guards_of,
    lines_of,
    posts_of,
    sections_of,
)  # fmt: skip
from railbook.geometry.turned_posts import choose_turnings, turned_posts_of
from railbook.job.build import Job
from railbook.job.runs import LEVEL, STAIR
from railbook.job.supports import POST

LIES_OVER = (OPEN_END, CUT_OFF, THROUGH, *MITRED, BEND)  # ends of a cap that reach over the middle of a post
TO_BEARING = "to its Post bearing"


def choose_site(job: Job) -> tuple[SiteChoices, tuple[Problem, ...]]:
    """Choose for every sound run.

    Returns:
        the choices, and a problem for each run that cannot be divided; such a run is left out.
    """
    marks = tuple(dict.fromkeys(flight.flight for flight in job.flights))
    flights = flights_of(job, marks)
    turnings = choose_turnings(job)
    turned = turned_posts_of(job, turnings)
    askew = find_askew(job, flights, turned, job.sound_runs)
    measured = measures_of(job, flights, turned, askew)
    leaning = {(run.run, end) for run in job.sound_runs for end in recorded_ends(run)}
    heights, _ = choose_heights(job, guards_of(job, measured, {}, leaning))
    divisions, chosen_for, problems = divide(job, guards_of(job, measured, heights, leaning))
    askew = {mark: sides for mark, sides in askew.items() if mark in divisions}
    measured = measures_of(job, flights, turned, askew)
    heights, unmet = choose_heights(job, guards_of(job, measured, {}, leaning))
    leaning |= set(_leaning_by_tape(guards_of(job, measured, heights, leaning)))
    guards = guards_of(job, measured, heights, leaning)
    start = SiteChoices(
        job.settings.unit, job.settings.rule_set, marks, divisions, chosen_for, {}, (), turnings, askew, heights, {},
        choose_shapes(job, flights), leaning,
    )  # fmt: skip
    lines = lines_of(job, guards, start)
    meetings = choose_meetings(job, lines)
    caps = caps_of(lines, cap_ends_of(lines, meetings, start.unit))
    likes = _first_of_each((section.section, _cut(section)) for section in sections_of(lines, {}))
    places = _choose_places(job, lines, caps)
    corners = choose_deck_corners(lines)
    chosen = start._replace(likes=likes, places=places, meetings=meetings, deck_corners=corners)
    return chosen, (*problems, *unmet)


def _leaning_by_tape(guards: Sequence[Guard]) -> Iterator[tuple[str, str]]:
    """Ends that lean by what two clears tell beyond the lean that was recorded at the other end."""
    for guard in guards:
        spreads = Lean(guard).from_spread, Lean(guard).to_spread
        yield from ((guard.run, end) for end, spread in zip((FROM, TO), spreads, strict=True) if abs(spread) > PLUMB)


def _cut(section: Section) -> tuple[object, ...]:
    """Everything that decides how a section is cut.

    Raked runs are kept apart, left from right; on stairs the nosings fall elsewhere under every section.
    """
    line = section.line
    if line.kind == STAIR:
        return (section.section,)
    return (
        line.measures.typed.assembly,
        line.kind if line.kind == LEVEL else section.run,
        round(section.clear, 9),
        round(section.clear_top, 9),
        round(section.lower_spread, 9),
        round(section.upper_spread, 9),
        round(section.lower_more, 9),
        round(section.upper_more, 9),
        round(section.lower_skew, 9),
        round(section.upper_skew, 9),
        line.guard.opening,
    )


def _first_of_each(cut: Iterator[tuple[str, tuple[object, ...]]]) -> dict[str, str]:
    """Mark -> first mark with the same cut."""
    firsts: dict[tuple[object, ...], str] = {}
    return {mark: firsts.setdefault(key, mark) for mark, key in cut}


def _choose_places(job: Job, lines: Sequence[Line], caps: Sequence[Cap]) -> tuple[Place, ...]:
    """Every post once, in the order met; the run whose cap lies over it sets its height."""
    met: dict[str, list[Post]] = {}
    wanted = [place for line in lines for place in _places_of(line)]
    for post in posts_of(job, lines, caps, wanted):
        met.setdefault(post.post, []).append(post)
    places = [_place(posts)._replace(turned=_turned(posts)) for posts in met.values()]
    places = _sideways(places, lines)
    likes = _first_of_each((post.post, _post_cut(post)) for post in posts_of(job, lines, caps, places))
    return tuple(place._replace(like=likes[place.post]) for place in places)


def _sideways(places: Sequence[Place], lines: Sequence[Line]) -> list[Place]:
    """Posts with the run that meets each square to its own and recorded a lean: of two the one that leans more."""
    found, arrivals = [], met(lines)
    for place in places:
        at = arrivals.get(place.post, ())
        own = next((each for each in at if each.run == place.run), None)
        square = [each for each in at if own and each.leaning and is_square(turned(own.arm, each.arm))]
        side = max(square, key=lambda each: abs(each.lean), default=None)
        found.append(place if side is None else place._replace(side=side.run, side_end=side.end))
    return found


def _place(posts: Sequence[Post]) -> Place:
    """One post from what every run that meets there wants of it."""
    runs = ", ".join(dict.fromkeys(post.line.run for post in posts))
    kinds = {post.worked.cover.kind for post in posts if post.worked.cover is not None}
    framed = int(any(_is_beside_a_frame(post) for post in posts))
    if kinds & set(NOT_LAID_OUT):  # until a clash is settled the post carries the highest
        return _placed(max(posts, key=_height), runs)._replace(framed=framed)
    proud = [post for post in posts if post.assembly.post_proud is not None]
    if proud and any(post.assembly.post_proud is None for post in posts):
        most = max(proud, key=lambda post: post.assembly.post_proud or 0.0)
        return _placed(max(posts, key=_cap_top), runs)._replace(proud=most.line.run, framed=framed)
    bent = [post for post in posts if post.worked.cover is not None and post.worked.cover.kind == BEND]
    if bent:
        return _bent_place(bent, runs)
    beside_level = any(post.stands == ON_LEVEL for post in posts)
    best = max(posts, key=lambda post: _wish(post, beside_level=beside_level))
    return _placed(best, runs)._replace(number=best.worked.number or 0, framed=framed)


def _bent_place(posts: Sequence[Post], runs: str) -> Place:
    """A post over which two caps bend: its cover is the one that rises to it, or that is level."""
    down, up = sorted(posts, key=lambda post: post.worked.cover.arrival.arm.rise if post.worked.cover else 0.0)
    raked = next(post for post in (down, up) if post.line.kind != LEVEL)
    low, high = (post.worked.cover for post in (down, up))
    framed = int(any(_is_beside_a_frame(post) for post in posts))
    place = _placed(raked, runs)._replace(stands=ON_BEND, framed=framed)
    if low is None or high is None:
        return place
    return place._replace(cover=low.arrival.run, cover_end=low.arrival.end, bend=high.arrival.run,
                          bend_end=high.arrival.end)  # fmt: skip


def _turned(posts: Sequence[Post]) -> str:
    """How a post is set that a run meets askew, in words; empty where every run meets it square."""
    ends = [post.worked.cover.arrival for post in posts if post.worked.cover is not None]
    set_by = next((end.turned_post for end in ends if end.turned_post is not None), None)
    if set_by is None or not any(end.side for end in ends):
        return ""
    if set_by.is_typed:
        return TO_BEARING
    return f"{'corner' if set_by.on_corner else 'face'} on bisector of {set_by.first}, {set_by.second}"


def _placed(post: Post, runs: str) -> Place:
    """A post as one run wants it."""
    cover = post.worked.cover
    kind = f"{post.kind}|{post.state}"
    ends = ("", "") if cover is None else (cover.arrival.run, cover.arrival.end)
    return Place(post.post, runs, post.line.run, post.stands, kind, post.post, *ends, rough=post.is_rough)


def _is_beside_a_frame(post: Post) -> bool:
    """Whether a rim may be there: not on a tread, nor at the foot of a flight or a ramp."""
    is_foot = (
        post.stands == ON_RAMP and post.worked.number is None and post.line.measures.typed.from_support == post.post
    )
    return post.stands not in (AT_LOWER_END, ON_TREAD) and not is_foot


def _wish(post: Post, *, beside_level: bool) -> tuple[bool, bool, float, bool]:
    """What makes a run set the height of a post: its cap lies over it; else it does not end against a level guard.

    Of several the highest does, as where posts stand proud; a level run wins a tie.
    """
    cover = post.worked.cover
    over = cover is not None and cover.kind in LIES_OVER
    ends_against = beside_level and post.stands == AT_UPPER_END and post.proud is None
    return over, not ends_against, *_height(post)


def _cap_top(post: Post) -> float:
    """Top of a run's cap where it ends at a post: one that rises to it ends at its downhill face."""
    cap = (post.assembly.cap_thickness or 0.0) * post.line.secant
    beyond = 0.0 if post.stands == AT_UPPER_END else post.worked.uphill or 0.0
    return max(post.worked.downhill or 0.0, beyond) + cap


def _height(post: Post) -> tuple[float, bool]:
    """How high a run would have the post; a level run wins a tie."""
    return (max(post.worked.trim_downhill or 0.0, post.worked.trim_uphill or 0.0), post.stands == ON_LEVEL)


def _post_cut(post: Post) -> tuple[object, ...]:
    """Everything that decides how a post is cut; walls, columns and posts that lean are like no other."""
    if post.kind != POST or post.worked.leans:
        return (post.post,)
    heights = (post.post_downhill, post.post_uphill, post.sleeve_downhill, post.sleeve_uphill, post.below)
    return (
        post.state,
        post.sleeved,
        post.line.measures.typed.assembly,
        post.stands,
        post.line.measures.slope_angle,
        *heights,
    )


def _places_of(line: Line) -> Iterator[Place]:
    """Where one run has posts: its two supports, and one between each two sections."""
    typed = line.measures.typed
    low, between, high = stands_of(line)
    for mark, stands, end in ((typed.from_support or "", low, FROM), (typed.to_support or "", high, TO)):
        yield Place(mark, line.run, line.run, stands, "", mark, line.run, end)
    for number in range(1, line.sections):
        mark = f"{line.run}/{number}"
        yield Place(mark, line.run, line.run, between, "", mark, number=number)
