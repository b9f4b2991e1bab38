"""Splices: cap boards longer than any board are spliced over line posts, handrails at a bracket; squarely.

Parts are named from tip to splice, so that together they are the length of the cut list. A bracket is set where a
handrail is spliced.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise
from math import ceil, comb
from typing import NamedTuple

from railbook.basics.rounding import PLACES, round_to
from railbook.boards.pieces import CAP, Planned, Planning
from railbook.takeoff.cut_list import Piece

MOST_WAYS = 3  # tried for each piece
MOST_COMBINATIONS = 2_000  # of posts that are looked at; beyond, posts near an even division are taken
HANDRAIL = "Handrail"


class Splice(NamedTuple):
    """Where a piece may be spliced.

    Attributes:
        at: from the left tip, on the tape [job unit].
        section_row: section behind the line post; 0 anywhere.
        face: where that section begins.
    """

    at: float
    section_row: int = 0
    face: float = 0.0


def is_spliced(piece: Piece) -> bool:
    """Whether pieces of this kind may be spliced: caps that run over posts, and handrails."""
    return (piece.part == CAP and piece.source == "caps") or piece.part == HANDRAIL


def ways_to_splice(whole: Planned, longest: float) -> tuple[tuple[Planning, ...], ...]:
    """Ways to splice a piece into as few parts as possible, the most even first; none when it cannot be.

    Args:
        whole: the piece, as it would be unspliced.
        longest: longest part that a board can hold [job unit].
    """
    total = whole.cut.tip_to_tip or 0.0
    fewest = ceil(round(total / longest, PLACES))
    if whole.cut.part == HANDRAIL:
        step = whole.cut.settings.tape_step
        return tuple(_parts(whole, splices) for splices in _anywhere(total, fewest, longest, step))
    posts = _over_posts(whole)
    for splices in range(fewest - 1, len(posts) + 1):
        found = [each for each in _chosen_from(posts, splices, total) if _longest(each, total) <= longest]
        if found:
            found.sort(key=lambda each: (_longest(each, total), [one.at for one in each]))
            return tuple(_parts(whole, each) for each in found[:MOST_WAYS])
    return ()


def _anywhere(total: float, parts: int, longest: float, step: float) -> Iterator[tuple[Splice, ...]]:
    """Equal parts; or parts as long as the boards, and a rest."""
    yield tuple(Splice(round_to(step, total * nth / parts)) for nth in range(1, parts))
    full = int(round(longest / step, PLACES)) * step
    yield tuple(Splice(full * nth) for nth in range(1, parts) if full * nth < total)


def _over_posts(whole: Planned) -> list[Splice]:
    """Middles of the line posts under a cap."""
    step, tip = whole.cut.settings.tape_step, whole.depth / 2 * abs(whole.left)
    return [
        Splice(round_to(step, each.middle + tip), each.section_row, each.lower_face) for each in whole.cut.crossings
    ]


def _chosen_from(posts: Sequence[Splice], splices: int, total: float) -> Iterator[tuple[Splice, ...]]:
    """So many of the posts; of very many the ones nearest to an even division."""
    if comb(len(posts), splices) <= MOST_COMBINATIONS:
        yield from combinations(posts, splices)
        return
    even = [total * nth / (splices + 1) for nth in range(1, splices + 1)]
    nearest = {min(posts, key=lambda post: abs(post.at - place)) for place in even}
    if len(nearest) == splices:
        yield tuple(sorted(nearest))


def _lengths(splices: Sequence[Splice], total: float) -> list[float]:
    places = [0.0, *(splice.at for splice in splices), total]
    return [end - start for start, end in pairwise(places)]


def _longest(splices: Sequence[Splice], total: float) -> float:
    return max(_lengths(splices, total))


def _parts(whole: Planned, splices: Sequence[Splice]) -> tuple[Planning, ...]:
    """The piece as its parts."""
    total, number = whole.cut.tip_to_tip or 0.0, len(splices) + 1
    starts = (Splice(0.0), *splices)
    return tuple(
        whole.of._replace(
            part=nth,
            parts=number,
            part_length=length if nth < number else None,
            before=start.at,
            section_row=start.section_row,
            face=start.face,
            total=total,
        )
        for nth, (length, start) in enumerate(zip(_lengths(splices, total), starts, strict=True), start=1)
    )
