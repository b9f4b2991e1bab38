"""What random sites hold besides where runs come askew: turns, widths of rails, and bearings of posts and walls."""

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from railbook.job.assemblies import ON_FACE, Assembly
from railbook.job.runs import Run
from railbook.job.supports import POST, WALL, Support

ANY = -1.0  # a turn that is drawn
TURNS = (22.5, 30.0, 45.0, 60.0, 120.0, 135.0)
SHARPEST = 170.0


def drawn_turn(draw: random.Random, turn: float) -> float:
    """A turn as chosen, or to the next quarter of a degree whatever comes."""
    return draw.randint(4, int(4 * SHARPEST)) / 4 if turn == ANY else turn


def widened(draw: random.Random, length: Callable[[float, float], float], assembly: Assembly) -> Assembly:
    """A railing with rails and balusters of some width; balusters on their face need both rails alike."""
    top = draw.choice((None, None, length(1.5, 2.0), length(1.5, 3.0)))
    bottom = top if assembly.baluster_place == ON_FACE else draw.choice((top, top, length(1.5, 2.5)))
    thick = draw.choice((None, None, length(0.75, 1.5)))
    skew = draw.choice((None, None, 20.0, 45.0))
    return replace(
        assembly, top_rail_width=top, bottom_rail_width=bottom, baluster_thickness=thick, bracket_skew=skew,
        cap_width=(assembly.cap_width or 0.0) + draw.choice((0.0, 0.0, length(0.5, 1.5))),
    )  # fmt: skip


def with_bearings(draw: random.Random, runs: Sequence[Run], supports: Sequence[Support]) -> Iterator[Support]:
    """The supports, of some of which it is typed how they are turned: often square to a run, or a usual angle off."""
    met = {mark: run.direction or 0.0 for run in runs for mark in (run.from_support, run.to_support) if mark}
    typed = {support.support: support for support in supports}
    for mark, direction in met.items():
        old = typed.get(mark)
        if draw.random() < (0.7 if old is not None and old.kind == WALL else 0.2):
            off = draw.choice((0.0, 7.5, 15.0, 22.5, draw.randint(4, 160) / 4)) * draw.choice((1, -1))
            support = Support(support=mark, kind=POST) if old is None else old
            typed[mark] = replace(support, bearing=(direction + off) % 360.0)
    yield from typed.values()
