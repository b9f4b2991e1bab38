"""The same question in coarser figures: what fits there fits here, and its tables are filled sooner."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from railbook.cutting.whole import Question, Whole

FEW = 8  # slopes that are worth no gathering


def coarsened(question: Question, rooms: int) -> Question:
    """The same question in grains so coarse that the longest board has not many more than so many.

    Widths are rounded up and rooms down, so that what fits here fits there. The grain is a power of two of
    the old one, in which the sixteenths of a tape stay exact as long as possible. Boards ALIKE are left out, and
    slopes that cost about the same wedge become one.
    """
    grain = 1 << max(0, question.longest // rooms).bit_length() - 1 if question.longest > rooms else 1
    widths = tuple(
        kind._replace(width=-(-kind.width // grain), first=-(-kind.first // grain)) for kind in question.widths
    )
    rooms_of = [stock.room // grain for stock in question.stocks]
    for room in rooms_of:
        room[:, question.alike] = -1
    groups = list(range(question.slopes)) if question.steps or question.slopes <= FEW else _gathered(rooms_of)
    begins = np.flatnonzero(np.diff(groups, prepend=-1))
    stocks = tuple(
        replace(stock, room=np.minimum.reduceat(room[: question.slopes], begins))
        for stock, room in zip(question.stocks, rooms_of, strict=True)
    )
    widths = tuple(kind._replace(high=groups[kind.high], low=groups[kind.low]) for kind in widths)
    return replace(question, widths=widths, stocks=stocks)


def _gathered(rooms: Sequence[Whole]) -> list[int]:
    """For each slope the group that it belongs to: neighbours whose boards have the same room to one grain.

    The first slope, which may be none at all, stays by itself.
    """
    room = np.concatenate(rooms, axis=1)
    groups, first = [0], 1
    for slope in range(1, len(room)):
        other = slope == 1 or np.abs(room[slope] - room[first]).max() > 1
        first = slope if other else first
        groups.append(groups[-1] + int(other))
    return groups
