"""Which guards have the height at which their cap meets another instead of their own; nothing is raised unasked."""

from collections.abc import Sequence
from typing import NamedTuple

from railbook.basics.problem import LOOK, Problem
from railbook.geometry.guards import Guard
from railbook.geometry.joints import is_square, is_straight, turn
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.met_heights import IN_LINE, TO_A_LEVEL_GUARD, TO_LEVEL_CAP, TO_RAKED_CAP
from railbook.geometry.survey import Heights, Raised
from railbook.job.build import Job
from railbook.job.runs import LEVEL, MEETS
from railbook.job.supports import LOWER, RAISE, Support

IN_PAIRS = 2  # runs of a post whose heights are brought together


class _End(NamedTuple):
    """One guard at one of its supports."""

    guard: Guard
    end: str

    @property
    def is_level(self) -> bool:
        return self.guard.kind == LEVEL

    @property
    def middle(self) -> float | None:
        """Underside of its cap over the middle of the post, by its own height."""
        return self.guard.over(self.end).middle(self.guard.own_height)

    def turn_to(self, other: "_End") -> float:
        """Plan turn into another run [degrees]; 0 where a direction is blank."""
        here, there = (each.guard.measures.typed.direction for each in (self, other))
        if here is None or there is None:
            return 0.0
        arriving = here + (180.0 if self.end == FROM else 0.0)
        return turn(arriving=arriving, leaving=there + (0.0 if other.end == FROM else 180.0))


def choose_heights(job: Job, guards: Sequence[Guard]) -> tuple[Heights, tuple[Problem, ...]]:
    """Guards that are as high as their cap needs to meet another.

    Args:
        job: what was typed.
        guards: every guard with its own height.

    Returns:
        run -> how it gets its height, and a problem for each support where heights cannot be brought together.
    """
    met: dict[str, list[_End]] = {}
    for guard in guards:
        typed = guard.measures.typed
        met.setdefault(typed.from_support or "", []).append(_End(guard, FROM))
        met.setdefault(typed.to_support or "", []).append(_End(guard, TO))
    heights = {
        guard.run: _to_level(_End(guard, TO), met[guard.measures.typed.to_support or ""])
        for guard in guards
        if guard.kind != LEVEL and guard.measures.typed.height == MEETS
    }
    problems: list[Problem] = []
    for mark, ends in met.items():
        support = job.support_of.get(mark)
        if support is not None and support.heights in (RAISE, LOWER) and len(ends) > 1:
            problems += _bring_together(support, ends, heights)
    return heights, tuple(problems)


def _to_level(raked: _End, ends: Sequence[_End]) -> Raised:
    """How a raked guard meets the level one at its top: at the edge of one that it meets square, else in line."""
    levels = [each for each in ends if each.is_level]
    if not levels:
        return Raised(TO_A_LEVEL_GUARD, raked.end)
    askew = [each for each in levels if not is_straight(raked.turn_to(each))]
    if not askew:
        return Raised(IN_LINE, raked.end, levels[0].guard.run, levels[0].end)
    cover = next((each for each in askew if is_square(raked.turn_to(each))), askew[0])
    return Raised(TO_LEVEL_CAP, raked.end, cover.guard.run, cover.end)


def _bring_together(support: Support, ends: Sequence[_End], heights: dict[str, Raised]) -> list[Problem]:
    """Raise or lower one of two guards at a post; what cannot be is told."""
    at, wish = support.origin.cell("heights"), "raise" if support.heights == RAISE else "lower"
    if len(ends) > IN_PAIRS:
        what = f"{len(ends)} runs meet at support {support.support}: which of them to {wish} is not clear"
        return [Problem(at, what, "bring their heights together on tab Assemblies, or let the post stand proud", LOOK)]
    low, high = sorted(ends, key=lambda each: each.middle or 0.0)
    moved, other = (low, high) if support.heights == RAISE else (high, low)
    how = _how(moved, other)
    if not how or low.middle is None or high.middle is None:
        what = f"the guards at support {support.support} cannot be brought to one height"
        return [Problem(at, what, "two slopes close on no mitre round a corner, nor do heights that are not known: let "
                        "the post stand proud, or keep both", LOOK)]  # fmt: skip
    taken = [each.guard.run for each in (moved, other) if each.guard.run in heights]
    if taken:
        what = f"run {taken[0]} has the height of another guard already, so that support {support.support} changes none"
        return [Problem(at, what, "choose one support that gives its height, or Height: Own for that run", LOOK)]
    heights[moved.guard.run] = Raised(how, moved.end, other.guard.run, other.end)
    return []


def _how(moved: _End, other: _End) -> str:
    """How a guard can be brought to the height of another; empty where it cannot."""
    way = moved.turn_to(other)
    if is_straight(way) or (moved.is_level and other.is_level):
        return IN_LINE
    if not is_square(way) or moved.is_level == other.is_level:
        return ""
    return TO_RAKED_CAP if moved.is_level else TO_LEVEL_CAP
