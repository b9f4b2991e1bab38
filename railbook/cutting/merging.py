"""A smaller question near the true one: widths rounded up until many are equal; and its answer taken back.

The linear program of a job in which every length is different starts from the answer to the same job with
lengths rounded up to about half an inch, which has a fraction of the rows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from railbook.cutting.coarse import coarsened
from railbook.cutting.master import Cut, Numbers
from railbook.cutting.whole import Question, Stock, Width


class Merged(NamedTuple):
    """A question with fewer widths.

    Attributes:
        question: every answer to it can be turned into one of the true question.
        groups: for each of its widths, the true ones that were rounded up to it.
    """

    question: Question
    groups: tuple[tuple[int, ...], ...]


def merged(question: Question, rooms: int) -> Merged:
    """Round widths up until the longest board has about so many rooms, and gather those that are equal."""
    coarse = coarsened(question, rooms)
    groups: dict[tuple[int, int, int], list[int]] = {}
    for kind, width in enumerate(coarse.widths):
        groups.setdefault((width.high, -width.width, width.low), []).append(kind)
    alike = [tuple(groups[key]) for key in sorted(groups)]
    widths = tuple(_widest(coarse.widths, kinds) for kinds in alike)
    counts = tuple(sum(question.counts[kind] for kind in kinds) for kinds in alike)
    smaller = replace(coarse, widths=widths, counts=counts)
    stocks = tuple(
        replace(stock, alone=tuple(_alone(question, true, smaller, replace(stock, alone=()), alike)))
        for true, stock in zip(question.stocks, smaller.stocks, strict=True)
    )
    return Merged(replace(smaller, stocks=stocks), tuple(alike))


def _alone(
    question: Question, true: Stock, smaller: Question, stock: Stock, groups: Sequence[Sequence[int]]
) -> Iterator[int]:
    """The groups of which the true board holds one piece, though the rounded one does not."""
    for group, kinds in enumerate(groups):
        if not smaller.holds(stock, {group: 1}) and all(question.holds(true, {kind: 1}) for kind in kinds):
            yield group


def _widest(widths: Sequence[Width], kinds: Sequence[int]) -> Width:
    return widths[kinds[0]]._replace(first=max(widths[kind].first for kind in kinds))


def dealt(question: Question, groups: Sequence[Sequence[int]], cuts: Sequence[Cut], times_of: Numbers) -> list[Cut]:
    """The cuts of a mixture with the true widths dealt out to them, one after the other, in parts.

    Together they make a mixture of the true question that costs no more.
    """
    left = [float(count) for count in question.counts]
    made = []
    for cut, times in zip(cuts, times_of.tolist(), strict=True):
        still = times
        while still > 1e-9:
            pattern = [part for kind, copies in cut.pattern for part in _heads(question, groups[kind], copies, left)]
            if not pattern:
                break
            step = min(still, *(left[kind] / copies for kind, copies in pattern))
            for kind, copies in pattern:
                left[kind] -= step * copies
            still -= step
            made.append(Cut(cut.stock, tuple(sorted(pattern))))
    return made


def _heads(question: Question, group: Sequence[int], copies: int, left: Sequence[float]) -> list[tuple[int, int]]:
    """The first widths of a group of which something is left, so many pieces of them."""
    heads = []
    for kind in group:
        if copies and left[kind] > 1e-9:
            number = min(copies, question.counts[kind])
            heads.append((kind, number))
            copies -= number
    return heads
