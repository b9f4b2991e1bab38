"""Leans as recorded on tab Runs: possible ones, and the same one on both runs of a shared support."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from railbook.basics.problem import LOOK, Problem
from railbook.job.runs import Run

MOST = 10.0  # degrees; a post that leans more is not guarded by this layout, or the slope was typed
AGREES = 0.5  # degrees, of two leans
SQUARE = 90.0
IN_LINE = 5.0  # degrees of turn, up to which two runs have one lean between them


def lean_problems(run: Run) -> Iterator[Problem]:
    """Leans that cannot be, and a lean without the clear that it starts from."""
    at = run.origin.cell
    leans = (("lean_from", run.lean_from), ("lean_to", run.lean_to))
    for column, lean in leans:
        if lean is not None and abs(lean) > MOST:
            yield Problem(at(column), f"run {run.run} has a lean of {lean:g} degrees",
                          f"type degrees from plumb, at most {MOST:g}")  # fmt: skip
    if any(lean for _, lean in leans) and run.clear_top is not None and run.clear_bottom is None:
        yield Problem(at("clear_bottom"), f"run {run.run} has a lean, and its clear at the top only",
                      "with a lean, tape the clear at the bottom too")  # fmt: skip


class _Met(NamedTuple):
    """A run at one of its supports."""

    run: Run
    column: str
    lean: float | None
    arrives: bool

    def turn_into(self, other: "_Met") -> float:
        """Plan turn on arriving along it and leaving along the other [degrees]; 0 where a direction is blank."""
        here, there = self.run.direction, other.run.direction
        if here is None or there is None:
            return 0.0
        turned = there + 180.0 * other.arrives - here - 180.0 * (not self.arrives)
        return abs((turned + 180.0) % 360.0 - 180.0)


def shared_lean_problems(guards: Sequence[Run]) -> Iterator[Problem]:
    """Supports that two guards share, whose lean differs between the two or was taken along one of them only.

    Round a square corner the lean along one run says nothing of that along the other.
    """
    met: dict[str, list[_Met]] = defaultdict(list)
    for run in guards:
        if run.from_support is not None:
            met[run.from_support].append(_Met(run, "lean_from", run.lean_from, arrives=False))
        if run.to_support is not None:
            met[run.to_support].append(_Met(run, "lean_to", run.lean_to, arrives=True))
    for mark, ends in met.items():
        for one, other in combinations(sorted(ends, key=lambda end: not end.arrives), 2):
            if one.run is not other.run:
                yield from _between(mark, one, other)


def _between(mark: str, one: _Met, other: _Met) -> Iterator[Problem]:
    """What is wrong between two runs at one support."""
    turn = one.turn_into(other)
    if turn <= IN_LINE:
        yield from _disagreement(mark, one, other)
    elif abs(turn - SQUARE) > IN_LINE and (one.lean is None) != (other.lean is None):
        yield from _taken_once(mark, one, other, "hold the level along it too, and type what it shows")


def _taken_once(mark: str, one: _Met, other: _Met, remedy: str) -> Iterator[Problem]:
    """A lean that was taken along one of two runs only."""
    blank, told = (one, other) if one.lean is None else (other, one)
    if told.lean:
        what = (
            f"support {mark} leans {told.lean:g} degrees by run {told.run.run}, and run {blank.run.run} says nothing "
            "of it: its rails, cap and heights there are those of a plumb post"
        )
        yield Problem(blank.run.origin.cell(blank.column), what, remedy, LOOK)


def _disagreement(mark: str, one: _Met, other: _Met) -> Iterator[Problem]:
    """What is wrong with one support's two leans: away from one run is towards the other in line."""
    if one.lean is None or other.lean is None:
        sign = -((one.lean or 0.0) + (other.lean or 0.0))
        yield from _taken_once(mark, one, other, f"type it on the other run too, with the other sign: {sign:g}")
    elif abs(one.lean + other.lean) > AGREES:
        figures = f"{one.lean:g} degrees by run {one.run.run} and {other.lean:g} by run {other.run.run}"
        yield Problem(other.run.origin.cell(other.column), f"support {mark} leans {figures}",
                      "away from one run is towards the other: type one lean with both signs", LOOK)  # fmt: skip
