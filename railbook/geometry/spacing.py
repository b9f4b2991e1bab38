"""Spacing of balusters: how many, how wide the gaps, and where the marks fall on the tape.

A sphere of the limit's size must not pass, so a gap that equals the limit fails. On a rake the gap
that the sphere meets is the level one: counts are taken on level distances.
"""

from itertools import pairwise

from railbook.basics.rounding import ceiling, floor, half_up, round_to


def count(*, clear: float, width: float, limit: float, margin: float) -> int:
    """Fewest balusters that keep every gap under the limit and within the margin.

    Args:
        clear: level distance between supports.
        width: of a baluster where the gap is checked; all in one unit.
        limit: sphere that must not pass.
        margin: how far the gaps stay below the limit.

    Gaps of exactly 4 in fail: 9.5 in with 1-1/2 in balusters takes 2, not 1 (by hand).

    >>> count(clear=9.5, width=1.5, limit=4.0, margin=0.0), count(clear=72.0, width=1.5, limit=4.0, margin=0.0)
    (2, 13)
    """
    if margin:
        return max(0, ceiling((clear - (limit - margin)) / (width + limit - margin)))
    return max(0, floor((clear - limit) / (width + limit)) + 1)


def pitched_count(*, clear: float, width: float, limit: float, margin: float, pitch: float) -> int:
    """Fewest balusters at a fixed pitch that keep both end gaps under the limit and within the margin.

    Args:
        clear: level distance between supports.
        width: of a baluster where the gap is checked; all in one unit.
        limit: sphere that must not pass.
        margin: how far the gaps stay below the limit.
        pitch: centre to centre, level.

    By hand: 72 in at 5 in leaves (72 - 1.5 - 60) / 2 = 5.25 in beside 13 balusters and 2.75 in beside 14;
    59.5 in leaves exactly 4 in beside 11, which lets a 4 in sphere through.

    >>> pitched_count(clear=72.0, width=1.5, limit=4.0, margin=0.0, pitch=5.0)
    14
    >>> pitched_count(clear=59.5, width=1.5, limit=4.0, margin=0.0, pitch=5.0)
    12
    """
    if count(clear=clear, width=width, limit=limit, margin=margin) == 0:
        return 0
    steps = (clear - width - 2 * (limit - margin)) / pitch
    return max(1, ceiling(steps) + 1 if margin else floor(steps) + 2)


def equal_gap(*, clear: float, width: float, balusters: int) -> float:
    """Gap when balusters and gaps fill the clear evenly [unit of the clear].

    >>> equal_gap(clear=72.0, width=1.5, balusters=13)
    3.75
    """
    return (clear - balusters * width) / (balusters + 1)


def rounded_marks(*, first: float, pitch: float, balusters: int, step: float) -> tuple[float, ...]:
    """Running marks from the rail's lower end, each rounded once [unit of the pitch].

    >>> rounded_marks(first=4.5, pitch=5.25, balusters=3, step=1 / 16)
    (4.5, 9.75, 15.0)
    """
    return tuple(round_to(step, first + each * pitch) for each in range(balusters))


def widest_step(*, first: float, pitch: float, balusters: int, step: float) -> float:
    """Widest distance between neighbouring rounded marks, along the rail; 0 with fewer than two.

    >>> widest_step(first=0.3, pitch=1.37, balusters=4, step=1 / 16)
    1.375
    """
    places = [half_up((first + each * pitch) / step) for each in range(balusters)]
    return max((high - low for low, high in pairwise(places)), default=0.0) * step
