"""Runs that meet a post or a wall askew: what nobody knows of it, and what does not go together there.

The sums are worked out (`geometry/turned_posts.py`, `geometry/askew_sections.py`); what is told here is how the post
stands, whether brackets and cap fit it, and the few pieces that are left to the tape.
"""

import math
from collections.abc import Iterator, Sequence

from railbook.basics.kinds import INCH
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.checks.remedies import said
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.joints import CUT_OFF, OPEN_END
from railbook.geometry.lines import Line
from railbook.geometry.meetings import met
from railbook.geometry.posts import Post
from railbook.geometry.skews import cosine
from railbook.geometry.survey import Site
from railbook.geometry.turned_posts import askew, side_of
from railbook.job.assemblies import ON_FACE
from railbook.job.runs import LEVEL
from railbook.job.settings import Settings
from railbook.job.supports import EXISTING, POST

STANDS_OUT = {INCH: 1 / 16}  # of a post past its cap that nobody minds: common practice, no source
STANDS_OUT_METRIC = 1.5


def askew_problems(site: Site) -> Iterator[Problem]:
    """Everything about supports that a run meets askew."""
    settings = site.chosen.settings
    for mark, arrivals in met(site.lines).items():
        off = [each for each in arrivals if each.side]
        if off:
            yield from _stands(mark, off)
            yield from _brackets(mark, off)
        else:
            yield from _not_known(mark, arrivals)
    for end in site.cap_ends:
        yield from _uncovered(end, settings)
    for post in site.posts:
        if post.is_twisted and post.kind == POST and post.proud is None:
            yield from _twisted(post, settings)
    for line in site.lines:
        if line.measures.from_side or line.measures.to_side:
            yield from _left_to_the_tape(line)


def _where(mark: str) -> str:
    return f"support {mark}"


def _angles(off: Sequence[Arrival]) -> str:
    """How askew each of the runs comes."""
    return ", ".join(f"run {each.run} {abs(each.skew):.4g} degrees" for each in off)


def _stands(mark: str, off: Sequence[Arrival]) -> Iterator[Problem]:
    """A post that stands already, of which nobody said how it is turned; of a new one, how it is to be set."""
    typed = off[0].typed
    if typed is not None and typed.bearing is not None:
        return
    what = f"off the faces of post {mark}: {_angles(off)}"
    if typed is not None and typed.state == EXISTING:
        remedy = "it stands already: type its Post bearing, for these angles and lengths suppose it was set to suit"
        yield Problem(_where(mark), what, remedy, LOOK)
    else:
        remedy = (
            "set it turned as Post schedule says, and pack it out: none of its faces lies flat on a rim; a post turned "
            "otherwise needs its Post bearing on tab Supports"
        )
        yield Problem(_where(mark), what, remedy, NOTE)


def _brackets(mark: str, off: Sequence[Arrival]) -> Iterator[Problem]:
    """Brackets that do not turn so far."""
    over = [each for each in off if each.assembly.turns_too_far(each.skew)]
    if over:
        most = min(each.assembly.bracket_turns for each in over)
        what = f"rail brackets at {mark}: {_angles(over)} off the face, and their greatest skew is {most:g}"
        remedy = "take angled brackets there, and see Bracket fit; or type Greatest bracket skew of the assembly"
        yield Problem(_where(mark), what, remedy, LOOK)


def _not_known(mark: str, arrivals: Sequence[Arrival]) -> Iterator[Problem]:
    """Supports of which it cannot be told whether a run meets them askew."""
    typed = arrivals[0].typed
    ways = {each.run: each.away for each in arrivals if each.away is not None}
    if typed is not None and typed.bearing is not None:
        lost = [each.run for each in arrivals if each.away is None]
        if lost:
            what = f"support {mark} has a bearing, and run {', '.join(lost)} has no direction: taken as square to it"
            yield Problem(_where(mark), what, "fill in Direction", LOOK)
    elif typed is not None and (typed.kind or POST) != POST and len(ways) > 1:
        first, *others = ways.values()
        if any(side_of(askew(way, first)) for way in others):
            what = f"runs {', '.join(ways)} meet {(typed.kind or '').lower()} {mark}, and cannot all meet it square"
            remedy = "they are laid out as if they did: type its Post bearing, or give each of its faces its own mark"
            yield Problem(_where(mark), what, remedy, LOOK)


def _uncovered(end: CapEnd, settings: Settings) -> Iterator[Problem]:
    """A cap that is too narrow for a post that is turned under it, or ends too near its middle."""
    own, skew = end.arrival, math.radians(abs(end.arrival.skew))
    if not own.side or not own.assembly.cap_thickness or not own.assembly.cap_width or not _covers(end):
        return
    needs = 2 * own.half * cosine(own.skew) * (math.cos(skew) + math.sin(skew))
    allowed = STANDS_OUT.get(settings.unit, STANDS_OUT_METRIC)
    where, what = _where(own.support), f"the cap of run {own.run} does not cover post {own.support}, which is turned"
    if needs - own.assembly.cap_width > allowed:
        remedy = "take a wider cap board, or let the post stand proud (Where heights differ) with a post cap"
        yield Problem(where, f"{what}: {said(needs, settings)} wide", remedy, LOOK)
    overhang = needs / 2 - own.half
    if end.kind == OPEN_END and own.half + overhang - (end.past - own.half) > allowed / 2:
        remedy = "type that as its Cap overhang, or let it run on by hand to the far corner"
        yield Problem(where, f"{what}: it must reach {said(overhang, settings)} past its far face", remedy, LOOK)


def _covers(end: CapEnd) -> bool:
    """Whether it reaches over the middle of a post."""
    return end.kind in (OPEN_END, CUT_OFF) or (end.met is not None and end.past > 0)


def _twisted(post: Post, settings: Settings) -> Iterator[Problem]:
    """A top that slopes along a run which meets the post askew: no two of its corners are equally high."""
    heights, skew = (post.worked.trim_downhill, post.worked.trim_uphill), math.radians(abs(post.worked.skew))
    if None not in heights:
        middle = sum(each or 0.0 for each in heights) / 2
        half = post.worked.face * math.cos(skew) / 2
        out = post.line.tangent * half * (math.cos(skew) + math.sin(skew))
        low, high = said(middle - out, settings), said(middle + out, settings)
        what = (
            f"the top of post {post.post} slopes along run {post.line.run}, which meets it askew: its corners run from"
        )
        remedy = "the heights listed are where the middle of the rail meets its faces: mark all four corners by the cap"
        yield Problem(_where(post.post), f"{what} {low} to {high}", remedy, LOOK)


def _left_to_the_tape(line: Line) -> Iterator[Problem]:
    """Pieces of a run that no saw stop is worked out for, and balusters beside a face that is askew."""
    measures, settings = line.measures, line.guard.settings
    assembly, where = measures.assembly, f"run {line.run}"
    if line.lean.recorded:
        what = "it meets a support askew, and one of its supports leans besides"
        remedy = (
            "measure and cut the rails and caps at that end by hand; the lengths listed suppose that it stands plumb"
        )
        yield Problem(where, what, remedy, LOOK)
    if line.kind != LEVEL and assembly.post_proud is not None and assembly.cap_thickness:
        yield Problem(where, "its caps end on the slope at a post that it meets askew", "cut those ends by hand", LOOK)
    if assembly.baluster_place == ON_FACE:
        what = "its balusters stand on the face of its rails, and it meets a support askew"
        yield Problem(where, what, "set out the baluster beside that support by hand, and check its gap", LOOK)
    if assembly.top_rail_width is None or assembly.bottom_rail_width is None:
        wide = said(measures.assembly.top_wide(settings.unit), settings)
        what = f"it meets a support askew, and the width of a rail is not typed: taken as {wide}"
        yield Problem(where, what, "type Top rail width and Bottom rail width of its assembly", LOOK)
