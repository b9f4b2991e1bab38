"""One whole job in a process of its own, stage by stage: seconds on the clock and of a core, the most memory so far.

    python -m tests.benchmarks.stages form.xlsx result.xlsx

Rows compute their figures when somebody asks, so much of the work of laying out is found under "write".
"""

import json
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

PLANNER = "choose_cutting"  # by this name `railbook.estimate` knows what asks the solver
KILOBYTE = 1024


class Stage(NamedTuple):
    """Seconds on the clock and of a core; memory of the process at its peak when the stage is done [bytes]."""

    seconds: float
    cores: float
    memory: int


class Clock:
    """What each stage took."""

    def __init__(self) -> None:
        self.stages: dict[str, Stage] = {}
        self._since = _now()

    def done(self, stage: str) -> None:
        """The stage that was begun with the end of the last one is over."""
        self._note(stage, self._since)
        self._since = _now()

    def timed(self, stage: str, call: Callable[..., Any]) -> Callable[..., Any]:
        """The same function; a call of it is a stage."""

        def measured(*values: Any, **named: Any) -> Any:
            since = _now()
            try:
                return call(*values, **named)
            finally:
                self._note(stage, since)

        return measured

    def take_out(self, stage: str, part: str) -> None:
        """Do not count a part that is a stage of its own."""
        whole, less = self.stages[stage], self.stages[part]
        self.stages[stage] = Stage(whole.seconds - less.seconds, whole.cores - less.cores, whole.memory)

    def _note(self, stage: str, since: tuple[float, float]) -> None:
        seconds, cores = (now - then for now, then in zip(_now(), since, strict=True))
        self.stages[stage] = Stage(seconds, cores, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * KILOBYTE)


def _now() -> tuple[float, float]:
    """The clock, and what this process and those it waited for used of the cores [s]."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return time.perf_counter(), sum(each.ru_utime + each.ru_stime for each in used)


def run(form: Path, result: Path) -> Clock:
    """Compute one job as the command does."""
    clock = Clock()
    from railbook import estimate
    from railbook.intake.read import read
    from railbook.job.build import build
    from railbook.tabs import INPUT_TABS

    clock.done("import")
    reading = read(form, INPUT_TABS)
    clock.done("read")
    job, problems = build(reading.rows)
    assert job is not None, (*reading.problems, *problems)
    clock.done("build")
    with patch.object(estimate, PLANNER, clock.timed("plan", getattr(estimate, PLANNER))):
        choices, undivided = estimate.choose(job)
    clock.done("choose")
    clock.take_out("choose", "plan")
    rows = estimate.lay_out(job, choices, undivided)
    clock.done("lay out")
    estimate.write(estimate.Estimate(job, choices, rows, undivided), result)
    clock.done("write")
    return clock


if __name__ == "__main__":
    print(json.dumps(run(*map(Path, sys.argv[1:])).stages))
