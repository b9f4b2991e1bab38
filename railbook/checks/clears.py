"""Two clears of one run, and the leans of its supports: what only somebody on site can tell."""

from collections.abc import Iterator

from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.problem import LOOK, Problem
from railbook.basics.units import tape_text
from railbook.checks.remedies import said
from railbook.geometry.lines import Line
from railbook.geometry.survey import Site
from railbook.job.runs import Run
from railbook.job.supports import WALL
from railbook.takeoff.layout import Shop

# Common practice, no source.
TAPED_ALIKE = {INCH: 0.125, MILLIMETRE: 3.0}  # two clears between new posts may differ by so much
FAR_APART = {INCH: 0.5, MILLIMETRE: 12.0}  # a support that leans so far is not left so
ASKED_FROM = 1.0  # degrees of lean, from which a post may be loose or rotted
STRAIGHTENED_OVER = 4.0  # degrees of lean, over which it does not stay


def clear_problems(site: Site, shop: Shop) -> Iterator[Problem]:
    """Clears that differ, balusters without room beside them, and supports that lean."""
    for line in site.lines:
        yield from _unequal_clears(line)
    yield from _no_room_beside(shop)
    yield from _leaning(site)


def _unequal_clears(line: Line) -> Iterator[Problem]:
    """Two clears without a recorded lean that differ by more than may be where they stand."""
    lean, settings, typed = line.lean, line.guard.settings, line.measures.typed
    apart = abs(lean.taped_more)
    standing = [
        mark for mark, is_there in ((typed.from_support, lean.from_stands), (typed.to_support, lean.to_stands))
        if is_there
    ]  # fmt: skip
    allowed = (TAPED_ALIKE[settings.unit], FAR_APART[settings.unit], settings.tape_step)[len(standing)]
    if lean.recorded or apart <= allowed + 1e-6:
        return
    top, bottom = (
        tape_text(each, settings.tape_step, settings.unit) for each in (line.measures.clear_top, line.measures.clear)
    )
    what = f"run {line.run}: clear {top} at the top and {bottom} at the bottom"
    remedies = (
        "both posts are new and will stand plumb, so the clear at the bottom is used: tape both again; a post that "
        "stands already is Existing on tab Supports",
        f"support {', '.join(map(str, standing))} has the whole difference: tape both again; if it leans so much, "
        "type its lean",
        "which one leans? Each end has half of the difference: type the lean of both, 0 for plumb",
    )
    yield Problem(typed.origin.cell("clear_top"), what, remedies[len(standing)], LOOK)


def _no_room_beside(shop: Shop) -> Iterator[Problem]:
    """Short sections with nothing left beside the last baluster, though their supports stand plumb."""
    for layout in shop.layouts:
        if layout.count and not layout.squeezed and layout.least_end_gap <= layout.section.line.guard.fit:
            what = f"{layout.rail.lower()} rail: end gap of {said(layout.least_end_gap, layout.settings)}"
            remedy = "the bracket finds no room there: move a post, or choose thinner balusters"
            yield Problem(f"layout {layout.layout}", what, remedy, LOOK)


def _leaning(site: Site) -> Iterator[Problem]:
    """Recorded leans: at posts that are still to be set, and at supports that lean so far that it is asked why."""
    new = {post.post for post in site.posts if post.cut}
    walls = {post.post for post in site.posts if post.kind == WALL}
    for line in site.lines:
        for column, lean, mark in _ends(line.measures.typed):
            at = line.measures.typed.origin.cell(column)
            if lean and mark in new:
                what = f"post {mark} is new, and run {line.run} records a lean of {lean:g} degrees there"
                yield Problem(at, what, "set it plumb and clear the lean, or say Existing on tab Supports", LOOK)
            elif abs(lean) > STRAIGHTENED_OVER:
                what = _leans(line, mark, lean)
                remedy = "pack it out plumb" if mark in walls else "straighten or replace it"
                yield Problem(at, what, f"{remedy}, then tape the run again", LOOK)
            elif abs(lean) >= ASKED_FROM and mark not in walls:
                what = _leans(line, mark, lean)
                yield Problem(at, what, "is it loose, or rotted at its foot? No guard is hung on such a post", LOOK)


def _leans(line: Line, mark: str, lean: float) -> str:
    """What was recorded of a support."""
    return f"support {mark} leans {lean:g} {'degree' if abs(lean) == 1 else 'degrees'} along run {line.run}"


def _ends(typed: Run) -> Iterator[tuple[str, float, str]]:
    """Column, recorded lean and support of each end of a run; a blank is plumb."""
    yield "lean_from", typed.lean_from or 0.0, typed.from_support or ""
    yield "lean_to", typed.lean_to or 0.0, typed.to_support or ""
