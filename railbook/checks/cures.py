"""What makes two caps meet at a post, or lets one end under the other, each with its figure.

Where a post leans, a guard that is raised meets it elsewhere: its height changes by what is apart there over `swung`.
"""

from railbook.basics.rounding import same
from railbook.checks.remedies import at_least, at_most, said
from railbook.geometry.arrivals import Arrival
from railbook.geometry.joints import EDGE, STEP, bend_past, edge_apart, is_square, is_straight, play_of, slip, turned
from railbook.geometry.lifts import TO
from railbook.job.runs import LEVEL, MEETS
from railbook.job.settings import Settings

PROUD_CURE = "choose Where heights differ: Post proud on tab Supports"


def cures(one: Arrival, other: Arrival, settings: Settings) -> str:
    """What makes two caps that clash close, or lets one end under the other, each with its figure."""
    way, play = turned(one.arm, other.arm), play_of(settings.unit)
    found = []
    if is_straight(way) and same(one.arm.thick, other.arm.thick):
        bends = abs(one.arm.rise + other.arm.rise)
        short = (abs(bend_past(one.arm, other.arm)) - one.arm.half + play.bearing) * bends / min(one.swung, other.swung)
        found.append(
            f"bring the two guards {at_least(max(short, 0.0), settings)} nearer in height, where their caps bend"
        )
    elif is_square(way) and one.arm.is_level != other.arm.is_level:
        level, raked = (one, other) if one.arm.is_level else (other, one)
        apart = edge_apart(level.arm, raked.arm, way) / raked.swung
        verb = "lower" if apart > 0 else "raise"
        found.append(f"{verb} the guard of run {raked.run} by {at_least(abs(apart), settings)}, so that both are flush")
    rooms = [(slip(cover.arm, low.arm, way, cover.arm.overhang) / low.swung, low.run, cover.run)
             for cover, low in ((one, other), (other, one))]  # fmt: skip
    room, low_run, cover_run = max(rooms)
    found.append(f"lower the guard of run {low_run} by {at_least(-room, settings)}, so that its cap ends under that of "
                 f"{cover_run}")  # fmt: skip
    return (
        f"neither cap is laid out, and the post is to be left long until then: {'; or '.join(found)}; or {PROUD_CURE}"
    )


def bring_together(low: Arrival, cover: Arrival, settings: Settings, *, kind: str) -> str:
    """What makes two caps meet; every other way is the user's own."""
    level, raked = (low, cover) if low.arm.is_level else (cover, low)
    by_hand, guard = _by_hand(low, cover, settings, kind=kind), raked.line.guard
    square = is_square(turned(low.arm, cover.arm))
    if (
        level.line.kind != LEVEL
        or raked.line.kind == LEVEL
        or raked.end != TO
        or not (square or is_straight(turned(low.arm, cover.arm)))
    ):
        return by_hand
    if raked.line.measures.typed.height == MEETS or not same(guard.level_height, level.line.guard.guard_height):
        return by_hand
    met_height = _met_height(raked, level, square=square)
    if met_height >= guard.height_limit - 1e-6:
        return f"{by_hand}, or Height: Meets level guard for run {raked.run}"
    back = (raked.line.measures.upper_setback or 0.0) - (guard.height_limit - met_height) / guard.tangent
    nearer = at_most(back + raked.line.measures.to_taken, settings)  # as it was taped
    return (
        f"{by_hand}; from where it stands a guard that meets the level one is too low: for that move the upper post to "
        f"an upper setback of at most {nearer} and choose Height: Meets level guard for run {raked.run}"
    )


def _by_hand(low: Arrival, cover: Arrival, settings: Settings, *, kind: str) -> str:
    """What there is to do: nothing where one cap plainly ends under another, else a figure."""
    way = turned(low.arm, cover.arm)
    closes = (
        is_straight(way)
        or (low.arm.is_level and cover.arm.is_level)
        or (is_square(way) and low.arm.is_level != cover.arm.is_level)
    )
    choice = "choose Raise the lower or Lower the higher on tab Supports" if closes else PROUD_CURE
    if kind == EDGE:
        apart = edge_apart(cover.arm, low.arm, way) / low.swung
        verb = "lower" if apart > 0 else "raise"
        return f"{verb} the guard of run {low.run} there by {said(abs(apart), settings)} to be flush, or {choice}"
    if kind == STEP:
        return f"nothing to do if the step is meant; else {choice}"
    return f"nothing to do if this is meant; {'if they are to meet,' if closes else 'else'} {choice}"


def _met_height(raked: Arrival, level: Arrival, *, square: bool) -> float:
    """Height of a raked guard whose cap meets the level one."""
    height = raked.line.guard.guard_height or 0.0
    if square:
        return height - edge_apart(level.arm, raked.arm, turned(raked.arm, level.arm)) / raked.swung
    return height - (raked.arm.under - level.arm.under) / raked.swung
