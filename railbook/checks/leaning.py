"""Leaning posts of flights: where a measurement that the sums rest on was taken at another height than they take it."""

import math
from collections.abc import Iterator

from railbook.basics.problem import LOOK, Problem
from railbook.checks.remedies import said
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.post_leans import lean_at
from railbook.geometry.survey import Site
from railbook.job.runs import STAIR
from railbook.job.supports import POST


def leaning_problems(site: Site) -> Iterator[Problem]:
    """Setbacks of leaning posts that nobody taped at their foot, and what stands on nosings beside them."""
    posts = {post.post for post in site.posts if post.kind == POST}
    blocks = {section.run for section in site.sections if section.blocks}
    for line in site.lines:
        if line.kind == STAIR and line.guard.leaning:
            yield from _untaped(line, posts)
            yield from _off_the_nosings(line, has_blocks=line.run in blocks)


def _untaped(line: Line, posts: set[str]) -> Iterator[Problem]:
    """Setbacks that follow from a clear, which is taped at the bottom rail; heights are those over the foot."""
    typed = line.measures.typed
    ends = (
        (FROM, typed.from_support, "lower", typed.lower_setback),
        (TO, typed.to_support, "upper", typed.upper_setback),
    )
    for end, mark, which, setback in ends:
        if setback is None and mark in posts and abs(lean_at(line, end)) > 0:
            what = f"support {mark} of run {line.run} leans, and its {which} setback follows from the clear"
            remedy = f"the clear is taped at the bottom rail, heights stand on the foot: tape the {which} setback there"
            yield Problem(typed.origin.cell(f"{which}_setback"), what, remedy, LOOK)


def _off_the_nosings(line: Line, *, has_blocks: bool) -> Iterator[Problem]:
    """Line posts and blocks, whose nosings are counted from a face that is elsewhere at the bottom rail."""
    back, settings, typed = at_bottom_rail(line), line.guard.settings, line.measures.typed
    if back is None or abs(back) <= settings.tape_step or not (has_blocks or line.sections > 1):
        return
    way = "further from" if back > 0 else "nearer to"
    what = (
        f"support {typed.from_support} of run {line.run} leans: at the bottom rail its face is "
        f"{said(abs(back), settings)} {way} the nosings than at its foot, where the setback is taken"
    )
    remedy = "set posts between sections by the nosings, tape the sections beside them anew, and cut blocks to fit"
    yield Problem(typed.origin.cell("lower_setback"), what, remedy, LOOK)


def at_bottom_rail(line: Line) -> float | None:
    """How much further from the nosings the lower face is at the middle of the bottom rail than at its foot."""
    measures, guard = line.measures, line.guard
    first = None if measures.flight is None else measures.flight.first_riser
    if first is None or measures.lower_setback is None:
        return None
    lean = math.tan(math.radians(lean_at(line, FROM)))
    over = guard.clearance + (measures.assembly.bottom_rail_depth or 0.0) / 2 * line.secant
    return (first - measures.lower_setback * line.tangent + over) * lean / (1 + line.tangent * lean)
