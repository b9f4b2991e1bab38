"""Leans as recorded on tab Runs: possible ones, and the same one on both runs of a shared support."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from railbook.basics.problem import LOOK, Problem
from railbook.job.runs import Run

MOST = 10.0  # degrees; a post that leans more is not guarded by this layout, or the slope was typed
AGREES = 0.5  # degrees, of two leans and of two directions in line


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


def shared_lean_problems(guards: Sequence[Run]) -> Iterator[Problem]:
    """Supports that two guards in line share, whose lean differs between the two."""
    met: dict[str, list[_Met]] = defaultdict(list)
    for run in guards:
        if run.from_support is not None:
            met[run.from_support].append(_Met(run, "lean_from", run.lean_from, arrives=False))
        if run.to_support is not None:
            met[run.to_support].append(_Met(run, "lean_to", run.lean_to, arrives=True))
    for mark, ends in met.items():
        for arriving in (end for end in ends if end.arrives):
            for leaving in (end for end in ends if not end.arrives):
                if arriving.run is not leaving.run and _in_line(arriving.run, leaving.run):
                    yield from _disagreement(mark, arriving, leaving)


def _in_line(first: Run, second: Run) -> bool:
    """Whether two runs have one direction."""
    if first.direction is None or second.direction is None:
        return False
    return abs((first.direction - second.direction + 180) % 360 - 180) <= AGREES


def _disagreement(mark: str, arriving: _Met, leaving: _Met) -> Iterator[Problem]:
    """What is wrong with one support's two leans: away from one run is towards the other."""
    blank, told = (arriving, leaving) if arriving.lean is None else (leaving, arriving)
    if blank.lean is None:
        if told.lean:
            figures = f"leans {told.lean:g} degrees by run {told.run.run}"
            what = f"support {mark} {figures}, and run {blank.run.run} says nothing of it"
            remedy = f"type it on the other run too, with the other sign: {-told.lean:g}"
            yield Problem(blank.run.origin.cell(blank.column), what, remedy, LOOK)
    elif told.lean is not None and abs(told.lean + blank.lean) > AGREES:
        figures = f"{arriving.lean:g} degrees by run {arriving.run.run} and {leaving.lean:g} by run {leaving.run.run}"
        yield Problem(leaving.run.origin.cell(leaving.column), f"support {mark} leans {figures}",
                      "away from one run is towards the other: type one lean with both signs", LOOK)  # fmt: skip
