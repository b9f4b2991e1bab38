"""Several searches in turns until the work is used up; each turn of one is longer than its turn before.

Whose turn it is and how long it is do not depend on how much work may be done: more of it only adds turns at the
end. So a plan never gets dearer with more work, and what is known of the best one never gets less.
"""

import math
from collections.abc import Sequence

from railbook.basics.progress import Tell, quiet
from railbook.cutting.effort import Effort, clock_for
from railbook.cutting.planning import Planning

FIRST, A_KIND = 0.015, 0.3e-3  # work of the first turn; for each kind of width [s]
SOON, SHORT_TURNS, LATER = 1.5, 4, 2.0  # so many times as long as the turn before: the first few turns; later ones
USUAL, MOST_USUAL = 0.25, 40.0  # work when nobody says how much may be done; at most [s]
USUAL_A_KIND, USUAL_A_PAIR = 0.7e-3, 1.2e-6  # the same for each kind of width; for each two of one search [s]


def usual_seconds(plannings: Sequence[Planning]) -> float:
    """Work that suits some searches [s]."""
    more = sum((USUAL_A_KIND + USUAL_A_PAIR * each.kinds) * each.kinds for each in plannings)
    return min(MOST_USUAL, USUAL + more)


def take_turns(plannings: Sequence[Planning], seconds: float, tell: Tell = quiet) -> None:
    """Let each search begin, then always that one go on that has most to gain for the length of its turn.

    Args:
        plannings: they go on as long as they are not proven.
        seconds: of work for all of them together.
        tell: is told how far they are.
    """
    clock, done = clock_for(seconds), sum(each.work for each in plannings)
    turns = [0] * len(plannings)
    while waiting := [at for at, each in enumerate(plannings) if not each.over]:
        at = max(waiting, key=lambda one: _gain(plannings[one], turns[one]))
        effort = Effort(_length(plannings[at], turns[at]), clock)
        if effort.out_of_time or (turns[at] and done + effort.most > seconds):
            break
        proven = sum(each.proven for each in plannings)
        tell(f"planning boards: {proven} of {len(plannings)} plans proven best, {done:.1f} s of work")
        plannings[at].go_on(effort)
        done += effort.done
        turns[at] += 1


def _gain(planning: Planning, turn: int) -> float:
    """What may be gained for each second of a turn; more than anything else where a search has not begun."""
    return planning.gap / _length(planning, turn) if turn else math.inf


def _length(planning: Planning, turn: int) -> float:
    """How long a turn is; one before the first only begins, whatever work may be done [s]."""
    growth = SOON ** min(turn - 1, SHORT_TURNS) * LATER ** max(0, turn - 1 - SHORT_TURNS)
    return (FIRST + A_KIND * planning.kinds) * growth if turn else 0.0
