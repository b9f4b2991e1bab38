"""Where runs meet at a support: turns and caps that this version lays out as if they met square or in line.

Every height stands on the surface that the post stands on. A run that ends at a post has its cap's underside at the
height F at the post's face; walking away from the post it rises tau for each unit of level length (a flight that
leaves upward +t, one that arrives from below -t). So at the post's middle it stands at F - D tau, with D half the face.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from railbook.basics.blank import when_known
from railbook.basics.problem import LOOK, Problem
from railbook.basics.rounding import same
from railbook.basics.units import tape_text
from railbook.checks.remedies import at_most
from railbook.geometry.joints import SHARPEST, STRAIGHT, turn
from railbook.geometry.lines import Line
from railbook.geometry.post_tops import PostTop, stands_of
from railbook.geometry.survey import Site
from railbook.job.runs import LEVEL, MEETS
from railbook.job.supports import POST, Support

SQUARE = 90.0
ONE_SLOPE = 0.01  # tangents that differ no more are one slope


class Arrival(NamedTuple):
    """One run at one of its two supports; lengths in the job's unit.

    Attributes:
        line: the run.
        lower: whether the support is its From, which on a rake is the lower one.
    """

    line: Line
    lower: bool

    @property
    def run(self) -> str:
        """Its mark."""
        return self.line.run

    @property
    def is_level(self) -> bool:
        """Whether it is level."""
        return self.line.kind == LEVEL

    @property
    def away(self) -> float | None:
        """Bearing in which it leaves the support [degrees]; None where it was not taken."""
        direction = self.line.measures.typed.direction
        return when_known(lambda bearing: bearing if self.lower else bearing + 180.0, direction)

    @property
    def rise_away(self) -> float:
        """What it gains for each unit of level length, walking away from the support."""
        return self.line.tangent if self.lower else -self.line.tangent

    @property
    def support(self) -> Support | None:
        """The support's row on tab Supports."""
        return self.line.measures.from_typed if self.lower else self.line.measures.to_typed

    @property
    def ends_at_built(self) -> bool:
        """Whether it ends at a wall or a column, where its cap stops."""
        return self.support is not None and (self.support.kind or POST) != POST

    @property
    def has_cap(self) -> bool:
        """Whether its cap runs over posts."""
        assembly = self.line.measures.assembly
        return bool(assembly.cap_thickness) and assembly.post_proud is None

    @property
    def board(self) -> tuple[float, float]:
        """Width and thickness of its cap."""
        return self.cap_width, self.cap_thickness

    @property
    def cap_thickness(self) -> float:
        """Thickness of its cap, square to it."""
        return self.line.measures.assembly.cap_thickness or 0.0

    @property
    def cap_plumb(self) -> float:
        """Its cap's thickness, plumb."""
        return self.cap_thickness * self.line.secant

    @property
    def cap_width(self) -> float:
        """Width of its cap."""
        return self.line.measures.assembly.cap_width or 0.0

    @property
    def face_height(self) -> float | None:
        """Underside of its cap at the support's face."""
        low, _, high = stands_of(self.line)
        top = PostTop("", low if self.lower else high, self.line, self.line.line_row, self.support, 0)
        return top.uphill if self.lower else top.downhill

    @property
    def middle_height(self) -> float | None:
        """Underside of its cap over the middle of the support."""
        face = self.line.measures.from_face if self.lower else self.line.measures.to_face
        return when_known(lambda height: height - face / 2 * self.rise_away, self.face_height)


def corner_problems(site: Site) -> Iterator[Problem]:
    """Everything about supports that runs share; at a wall or a column no caps meet and no post turns."""
    for mark, met in _met(site).items():
        if any(arrival.ends_at_built for arrival in met):
            continue
        for one, other in combinations(met, 2):
            yield from _pair_problems(mark, one, other, met)
        if any(arrival.away is None for arrival in met):
            runs = ", ".join(arrival.run for arrival in met)
            what = f"runs {runs} meet here without a direction"
            yield Problem(f"support {mark}", what, "the cap is laid out straight on; fill in Direction", LOOK)


def _met(site: Site) -> dict[str, list[Arrival]]:
    """Support -> the runs that end there, where two or more do."""
    met: dict[str, list[Arrival]] = {}
    for line in site.lines:
        typed = line.measures.typed
        met.setdefault(typed.from_support or "", []).append(Arrival(line, lower=True))
        met.setdefault(typed.to_support or "", []).append(Arrival(line, lower=False))
    return {mark: arrivals for mark, arrivals in met.items() if len(arrivals) > 1}


def _turned(one: Arrival, other: Arrival) -> float | None:
    """Plan turn on arriving along one run and leaving along the other [degrees]; None without bearings."""
    return when_known(lambda here, there: turn(arriving=here + 180.0, leaving=there), one.away, other.away)


def _pair_problems(mark: str, one: Arrival, other: Arrival, met: Sequence[Arrival]) -> Iterator[Problem]:
    """What is wrong with two runs at one support, of all that end there."""
    turned = _turned(one, other)
    angle = abs(turned or 0.0)
    if angle > SHARPEST:
        what = f"runs {one.run} and {other.run} leave support {mark} on one side of it"
        remedy = "correct one of the two directions; two runs that turn back need two posts, and a short run between"
        yield Problem(one.line.measures.typed.origin.cell("direction"), what, remedy, LOOK)
        return
    if min(angle, abs(angle - SQUARE)) > STRAIGHT:
        side = "right" if (turned or 0.0) > 0 else "left"
        what = f"from run {one.run} to run {other.run} the guard turns {angle:.4g} degrees {side}"
        remedy = (
            "rails and caps there are laid out with the ends and lengths of a straight or square turn: measure and "
            "cut that corner by hand, or correct the directions"
        )
        yield Problem(f"support {mark}", what, remedy, LOOK)
    if one.has_cap and other.has_cap and not _butts_elsewhere(one, other, met, angle):
        if not one.is_level and not other.is_level:
            yield from _two_rakes(mark, one, other, is_straight=angle <= STRAIGHT)
        yield from _apart(mark, one, other, angle)
    elif one.has_cap != other.has_cap:
        capped, bare = (one, other) if one.has_cap else (other, one)
        what = f"the cap of run {capped.run} is laid out over the post as if run {bare.run} had one there"
        yield Problem(f"support {mark}", what, "cut its end by hand, at the post's face or past it", LOOK)


def _butts_elsewhere(one: Arrival, other: Arrival, met: Sequence[Arrival], angle: float) -> bool:
    """Whether a rake goes on straight as a level run whose cap turns a corner there, against which it may butt."""
    if one.is_level == other.is_level or angle > STRAIGHT:
        return False
    level = one if one.is_level else other
    turns = (abs(_turned(level, third) or 0.0) for third in met if third.is_level and third is not level)
    return any(abs(turned - SQUARE) <= STRAIGHT for turned in turns)


def _two_rakes(mark: str, one: Arrival, other: Arrival, *, is_straight: bool) -> Iterator[Problem]:
    """Two raked caps at one post, unless one goes on as the other."""
    if is_straight and abs(one.rise_away + other.rise_away) <= ONE_SLOPE:
        return
    where = "bend there" if is_straight else "meet round a corner, where two slopes close on no mitre"
    what = f"the raked caps of runs {one.run} and {other.run} {where}"
    yield Problem(f"support {mark}", what, "both are laid out to the middle of the post: cut their ends by hand there, "
                  "or end both at the post and let it stand proud", LOOK)  # fmt: skip


def _apart(mark: str, one: Arrival, other: Arrival, angle: float) -> Iterator[Problem]:
    """Caps that do not meet: undersides over the middle of the post, or tops where one butts against a level cap."""
    is_square = abs(angle - SQUARE) <= STRAIGHT
    if one.is_level and other.is_level and angle > STRAIGHT and one.board != other.board:
        what = f"caps of two sizes, of runs {one.run} and {other.run}, are cut to one mitre angle"
        yield Problem(f"support {mark}", what, "cut that mitre by hand, from the corners of the two boards", LOOK)
    flush = is_square and one.is_level != other.is_level
    heights = _flush_tops(one, other) if flush else (one.middle_height, other.middle_height)
    if heights[0] is None or heights[1] is None:
        return
    settings, apart = one.line.guard.settings, heights[0] - heights[1]
    if abs(apart) <= settings.tape_step + 1e-6:
        return
    here, there, by = (tape_text(each, settings.tape_step, settings.unit) for each in (*heights, abs(apart)))
    parts = "tops of the caps where one butts against the other" if flush else "undersides of the caps over its middle"
    what = f"{parts}: run {one.run} {here}, run {other.run} {there} above its surface, {by} apart"
    yield Problem(f"support {mark}", what, _bring_together(one, other, apart, is_square=is_square), LOOK)


def _flush_tops(one: Arrival, other: Arrival) -> tuple[float | None, float | None]:
    """Tops of a raked and a level cap where the raked one reaches the level one's edge round a square turn."""
    level, raked = (one, other) if one.is_level else (other, one)
    edge = raked.rise_away * level.cap_width / 2
    top = when_known(lambda middle: middle + edge + raked.cap_plumb, raked.middle_height)
    tops = {level.run: level.line.guard.guard_height, raked.run: top}
    return tops[one.run], tops[other.run]


def _bring_together(one: Arrival, other: Arrival, apart: float, *, is_square: bool) -> str:
    """What makes two caps meet; every other way is the user's own.

    Args:
        one: a run.
        other: the run that it meets.
        apart: how much higher the cap of the first one stands.
        is_square: whether the guard turns a square corner there.
    """
    as_if = "both caps are laid out as if they met:"
    if one.is_level and other.is_level:
        return f"{as_if} give the two guards one height and one cap, or end the lower cap at the post"
    level, raked = (one, other) if one.is_level else (other, one)
    by_hand = "end the lower cap at the post, or let posts stand proud"
    guard = raked.line.guard
    alike = level.cap_width == raked.cap_width if is_square else level.cap_thickness == raked.cap_thickness
    would_meet = level.is_level and alike and same(guard.level_height, level.line.guard.guard_height)
    if not would_meet or raked.lower or raked.line.measures.typed.height == MEETS:
        return f"{as_if} raise or lower one guard by that much, {by_hand}"
    met_height = (guard.guard_height or 0.0) - (apart if raked is one else -apart)
    if met_height >= guard.height_limit - 1e-6:
        return f"{as_if} choose Height: Meets level guard for run {raked.run}, or {by_hand}"
    back = (raked.line.measures.upper_setback or 0.0) - (guard.height_limit - met_height) / guard.tangent
    nearer = at_most(back + raked.line.measures.to_taken, guard.settings)  # as it was taped
    return (
        f"{as_if} move the upper post to an upper setback of at most {nearer} and choose Height: Meets level guard for "
        f"run {raked.run} (from where it stands the guard would be too low), or {by_hand}"
    )
