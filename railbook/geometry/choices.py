"""What the geometry leaves to choose: sections of every run, the posts, and what is cut alike."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from railbook.basics.problem import Problem
from railbook.basics.units import tape_text
from railbook.geometry.askew_rails import room_on, widest
from railbook.geometry.caps import Cap
from railbook.geometry.division import Division, choose_treads
from railbook.geometry.guards import Guard
from railbook.geometry.handrails import choose_shapes
from railbook.geometry.heights import choose_heights
from railbook.geometry.joints import BEND, CUT_OFF, MITRE, NOT_LAID_OUT, OPEN_END, THROUGH
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.measured import find_askew, measures_of
from railbook.geometry.meetings import choose_meetings
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

LIES_OVER = (OPEN_END, CUT_OFF, THROUGH, MITRE, BEND)  # ends of a cap that reach over the middle of a post
NOTHING = Division(0)
TO_BEARING = "to its Post bearing"


def choose_site(job: Job) -> tuple[SiteChoices, tuple[Problem, ...]]:
    """Choose for every sound run.

    Returns:
        the choices, and a problem for each run that cannot be divided; such a run is left out.
    """
    problems: list[Problem] = []
    divisions: dict[str, Division] = {}
    chosen_for: dict[str, str] = {}
    marks = tuple(dict.fromkeys(flight.flight for flight in job.flights))
    flights = flights_of(job, marks)
    turnings = choose_turnings(job)
    turned = turned_posts_of(job, turnings)
    askew = find_askew(job, flights, turned, job.sound_runs)
    measured = measures_of(job, flights, turned, askew)
    heights, _ = choose_heights(job, guards_of(job, measured, {}))
    for guard in guards_of(job, measured, heights):
        line = _undivided(job, guard)
        found = list(_guard_problems(line))
        division = None if found else _divide(line)
        if division is None:
            problems += found or [_not_divided(line)]
        else:
            divisions[guard.run], chosen_for[guard.run] = division, line.chosen_now
    askew = {mark: sides for mark, sides in askew.items() if mark in divisions}
    measured = measures_of(job, flights, turned, askew)
    heights, unmet = choose_heights(job, guards_of(job, measured, {}))
    guards = guards_of(job, measured, heights)
    start = SiteChoices(
        job.settings.unit, job.settings.rule_set, marks, divisions, chosen_for, {}, (), turnings, askew, heights, {},
        choose_shapes(job, flights),
    )  # fmt: skip
    lines = lines_of(job, guards, start)
    meetings = choose_meetings(job, lines)
    caps = caps_of(lines, cap_ends_of(lines, meetings, start.unit))
    likes = _first_of_each((section.section, _cut(section)) for section in sections_of(lines, {}))
    places = _choose_places(job, lines, caps)
    return start._replace(likes=likes, places=places, meetings=meetings), (*problems, *unmet)


def _guard_problems(line: Line) -> Iterator[Problem]:
    """What makes a run impossible once it is worked out."""
    guard, more = line.guard, line.lean.from_more + line.lean.to_more
    measures, at = guard.measures, guard.measures.typed.origin.cell
    if guard.opening is None and (measures.typed.lean_from is not None or measures.typed.lean_to is not None):
        yield Problem(at("upper_setback"), f"run {guard.run} leans, and the height of its rails is not known",
                      "fill in the upper setback, or Height: Own")  # fmt: skip
    if line.meets_corner:
        yield _corner_problem(line)
    if measures.clear + min(0.0, more) <= 2 * guard.fit:
        yield Problem(at("clear_bottom"), f"run {guard.run} has a clear of {measures.clear:g} between finished faces",
                      "measure it again, or see Measured to, Bracket fit and Fit allowance")  # fmt: skip
    elif guard.opening is not None and (guard.opening <= 0 or (guard.baluster_length or 0) <= 0):
        yield Problem(at("assembly"), f"run {guard.run} leaves no room between its rails: {guard.opening:g}",
                      "see heights, clearances and rail depths of its assembly")  # fmt: skip


def _corner_problem(line: Line) -> Problem:
    """A rail that is too wide for the face that it meets askew: it would end at the post's corner."""
    measures, settings = line.measures, line.guard.settings
    ends = (FROM, measures.typed.from_support, measures.from_skew), (TO, measures.typed.to_support, measures.to_skew)
    rooms = {end: room for end, _, _ in ends if (room := room_on(measures, end)) is not None}
    end = min(rooms, key=lambda each: rooms[each])
    mark, skew = next((mark, skew) for each, mark, skew in ends if each == end)
    wide, most = (
        tape_text(each, settings.tape_step, settings.unit) for each in (widest(measures, line.unit), rooms[end])
    )
    off = f"{abs(skew):.4g} degrees off its face, which holds a rail of {most} at most, not {wide}"
    what = f"run {line.run} meets the corner of post {mark}: {off}"
    remedy = "a wider post, a narrower rail (Top rail width), or a post turned otherwise (Post bearing); see Direction"
    return Problem(measures.typed.origin.cell("direction"), what, remedy)


def _undivided(job: Job, guard: Guard) -> Line:
    """The run as a line that nothing was chosen for yet."""
    choices = SiteChoices(
        job.settings.unit, job.settings.rule_set, (), {guard.run: NOTHING}, {guard.run: ""}, {}, (), (), {}, {}, {}, {}
    )
    return lines_of(job, (guard,), choices)[0]


def _divide(line: Line) -> Division | None:
    """Sections and, on stairs, treads of one run; None when it cannot be told."""
    wanted = line.sections_needed
    if wanted is None or wanted < 1 or not _leaves_room(line, wanted):
        return None
    if wanted == 1 or line.kind != STAIR:
        return Division(wanted)
    if line.treads is None:
        return None
    treads = choose_treads(wanted, line.room, line.treads)
    ascending = all(low < high for low, high in pairwise(treads))
    return Division(wanted, treads) if ascending and treads[0] >= 0 else None


def _leaves_room(line: Line, sections: int) -> bool:
    """Whether so many sections leave a rail in each, and on stairs a tread for every line post."""
    posts = (sections - 1) * line.measures.post_face
    if (line.measures.clear - posts) / sections <= 2 * line.guard.fit:
        return False
    return line.treads is None or sections - 1 <= line.treads.treads


def _not_divided(line: Line) -> Problem:
    """Why a run cannot be divided, in the user's words."""
    at = line.measures.typed.origin.cell
    if line.kind == STAIR and line.treads is None:
        return Problem(
            at("lower_setback"),
            f"run {line.run} is too long for one section, and its line posts must stand on treads",
            "fill in risers and tread on tab Flights, and the lower setback here",
        )
    return Problem(at("sections"), f"run {line.run} cannot be divided: no section fits between its posts",
                   "see Sections here, and Greatest post spacing and Post width of its assembly")  # fmt: skip


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
    likes = _first_of_each((post.post, _post_cut(post)) for post in posts_of(job, lines, caps, places))
    return tuple(place._replace(like=likes[place.post]) for place in places)


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
    """Everything that decides how a post is cut; walls and columns are like no other."""
    if post.kind != POST:
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
