"""How fast the whole job is, how much memory and how many formula cells it takes, beside the bare libraries.

    python -m tests.benchmarks.whole_job [sections ...] [--all] [--tabs] [--runs 5] [--only alike|different]

First the porch, then jobs of those sizes, or of 10, 100 and 1,000; `--all` adds 10,000. Each size comes alike (a tract
of six houses) and all different (every length its own); see houses.py. Every measurement is a process of its own.
"command" is `railbook compute` from its start to its end, with its own memory; the stages are the same work in another
process, their memory the peak so far. Seconds on the clock are of this machine and of what else runs on it; "core s" is
what its cores had to do for them, on which ratios and growth rest.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from tests.benchmarks.machine import machine
from tests.benchmarks.stages import KILOBYTE, Stage

ALIKE, DIFFERENT, PORCH = "alike", "different", "porch"
STAGES = ("import", "read", "build", "choose", "plan", "lay out", "write")
SIZES, LARGEST = (10, 100, 1_000), 10_000
STANDARD = 100  # sections of the job that growth is measured against
MEGABYTE = 1 << 20
ATTENTION = 1  # exit status of a job that was computed
EXAMPLE = Path(__file__).parent.parent.parent / "examples" / "porch.xlsx"
GOALS = {  # the whole command [s]
    (PORCH, 6): 0.8,
    (ALIKE, 100): 2.0, (DIFFERENT, 100): 2.5,
    (ALIKE, 1_000): 10.0, (DIFFERENT, 1_000): 10.0,
    (ALIKE, 10_000): 100.0, (DIFFERENT, 10_000): 100.0,
}  # fmt: skip
MEMORY_GOALS = {(ALIKE, 10_000): 1_000.0, (DIFFERENT, 10_000): 1_000.0}  # of the command [MB]
MOST_CELLS = {ALIKE: 260, DIFFERENT: 350}  # formula cells a section, of jobs of 100


class Job(NamedTuple):
    """What is measured."""

    kind: str
    sections: int

    def __str__(self) -> str:
        return self.kind if self.kind == PORCH else f"{self.sections:,} {self.kind}"


class Ended(NamedTuple):
    """A process that ended: what it took and what it printed."""

    took: Stage
    printed: str


class Measured(NamedTuple):
    """One job.

    Attributes:
        stages: by stage.
        read: seconds of a core of openpyxl for the input; `written` of xlsxwriter for the result.
        cells: formula cells by tab.
        filled: filled cells of the result.
        size: of the result [bytes].
    """

    job: Job
    runs: int
    stages: Mapping[str, Stage]
    command: Stage
    read: float
    written: float
    cells: Mapping[str, int]
    filled: int
    size: int

    @property
    def cells_a_section(self) -> float:
        return sum(self.cells.values()) / self.job.sections


def measured(job: Job, runs: int, folder: Path) -> Measured:
    """Measure one job so many times."""
    form, result, copy = (folder / f"{word}.xlsx" for word in ("site", "stages", "copy"))
    if job.kind == PORCH:
        shutil.copy(EXAMPLE, form)
    else:
        _python("tests.benchmarks.houses", job.sections, job.kind, form)
    staged = [json.loads(_python("tests.benchmarks.stages", form, result).printed) for _ in range(runs)]
    commands = [_python("railbook", "compute", form, status=ATTENTION).took for _ in range(runs)]
    read = [json.loads(_python("tests.benchmarks.raw", "read", form).printed) for _ in range(runs)]
    written = [json.loads(_python("tests.benchmarks.raw", "write", result, copy).printed) for _ in range(runs)]
    return Measured(
        job,
        runs,
        {stage: _usual([Stage(*each[stage]) for each in staged]) for stage in STAGES},
        _usual(commands),
        statistics.median(seconds for seconds, _ in read),
        statistics.median(seconds for seconds, _ in written),
        json.loads(_python("tests.benchmarks.formula_cells", result).printed),
        written[0][1],
        result.stat().st_size,
    )


def _usual(runs: Sequence[Stage]) -> Stage:
    """The median of the times, and the greatest memory."""
    seconds, cores, memory = zip(*runs, strict=True)
    return Stage(statistics.median(seconds), statistics.median(cores), max(memory))


def _python(module: str, *words: object, status: int = 0) -> Ended:
    """Run a module in a process of its own.

    Raises:
        RuntimeError: it ended with another exit status than 0 or the one that is allowed.
    """
    started = time.perf_counter()
    with subprocess.Popen([sys.executable, "-m", module, *map(str, words)], stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        printed = child.stdout.read()
        _, ended, used = os.wait4(child.pid, 0)
        seconds, child.returncode = time.perf_counter() - started, os.waitstatus_to_exitcode(ended)
    if child.returncode not in (0, status):
        raise RuntimeError(f"{module} ended with {child.returncode}")
    return Ended(Stage(seconds, used.ru_utime + used.ru_stime, used.ru_maxrss * KILOBYTE), printed)


def runs_of(sections: int) -> int:
    """How often a job of that size is measured."""
    return 5 if sections <= STANDARD else 3 if sections <= SIZES[-1] else 1


def lines(one: Measured) -> Iterable[str]:
    """What is told of one job."""
    key, took = (one.job.kind, one.job.sections), [*(one.stages[stage] for stage in STAGES), one.command]
    seconds, megabytes = one.command.seconds, one.command.memory / MEGABYTE
    yield f"{one.job!s:16}{f'median of {one.runs}':12}{''.join(f'{word:>9}' for word in (*STAGES, 'command'))}"
    yield _line("seconds", [f"{each.seconds:9.3f}" for each in took]) + _goal(seconds, GOALS.get(key), "s")
    yield _line("core s", [f"{each.cores:9.3f}" for each in took])
    peaks = [f"{each.memory / MEGABYTE:9.0f}" for each in took]
    yield _line("peak MB", peaks) + _goal(megabytes, MEMORY_GOALS.get(key), "MB")
    yield _line(
        "ratios",
        f"  read / openpyxl {one.stages['read'].cores / one.read:.2f} (it takes {one.read:.3f} s), "
        f"write / xlsxwriter {one.stages['write'].cores / one.written:.2f} (it takes {one.written:.3f} s)",
    )
    limit = f", at most {MOST_CELLS[one.job.kind]}" if one.job.kind != PORCH and one.job.sections == STANDARD else ""
    yield _line(
        "cells",
        f"  {one.cells_a_section:.1f} with a formula a section{limit}; {sum(one.cells.values()):,} "
        f"of {one.filled:,} filled ones, {one.size / MEGABYTE:.2f} MB",
    )


def _line(word: str, told: Iterable[str]) -> str:
    return f"{'':16}{word:12}{''.join(told)}"


def _goal(value: float, goal: float | None, unit: str) -> str:
    """A goal, and whether it is met."""
    return "" if goal is None else f"  goal {goal:g} {unit}: {'met' if value <= goal else 'missed'}"


def growth_lines(jobs: Sequence[Measured]) -> Iterable[str]:
    """How many times as long a section takes as one of the standard job of its kind; 1 everywhere is linear growth."""
    standards = {one.job.kind: one for one in jobs if one.job.sections == STANDARD}
    for one in jobs:
        if standard := standards.get(one.job.kind):
            many = one.job.sections / standard.job.sections
            pairs = [(one.stages[stage], standard.stages[stage]) for stage in STAGES] + [
                (one.command, standard.command)
            ]
            times = "".join(f"{large.cores / small.cores / many:9.2f}" for large, small in pairs)
            yield f"{one.job!s:16}{'growth':12}{times}  core s a section, those of {STANDARD} being 1"


def tab_lines(one: Measured) -> Iterable[str]:
    """Formula cells by tab, the most first."""
    for tab, cells in sorted(one.cells.items(), key=lambda each: -each[1]):
        if cells:
            yield f"{'':16}{tab:24}{cells:12,}{cells / one.job.sections:9.1f} a section"


def main(asked: Any) -> None:
    """Measure and print."""
    sizes = asked.sections or (*SIZES, *([LARGEST] if asked.all else []))
    jobs = [Job(kind, sections) for sections in sizes for kind in asked.only or (ALIKE, DIFFERENT)]
    print(f"{machine('xlsxwriter', 'openpyxl')}; {_commit()}")
    done: list[Measured] = []
    for job in (Job(PORCH, 6), *jobs):
        with tempfile.TemporaryDirectory() as folder:
            done.append(measured(job, asked.runs or runs_of(job.sections), Path(folder)))
        print("\n".join((*lines(done[-1]), *(tab_lines(done[-1]) if asked.tabs else ()))), flush=True)
    print("\n".join(growth_lines(done)))


def _commit() -> str:
    """What was measured."""
    told = subprocess.run(
        ["git", "describe", "--always", "--dirty"], cwd=EXAMPLE.parent, capture_output=True, text=True, check=False
    )
    return f"commit {told.stdout.strip() or 'unknown'}"


def _asked() -> Any:
    """Words of the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.whole_job", description=(__doc__ or "").split("\n")[0]
    )
    parser.add_argument("sections", nargs="*", type=int, help="sizes to measure; blank: 10, 100 and 1,000")
    parser.add_argument("--all", action="store_true", help=f"{LARGEST:,} sections too")
    parser.add_argument("--tabs", action="store_true", help="formula cells tab by tab")
    parser.add_argument("--runs", type=int, help="how often each job is measured; blank: five times up to 100 sections")
    parser.add_argument("--only", action="append", choices=(ALIKE, DIFFERENT), help="one kind of job")
    return parser.parse_args()


if __name__ == "__main__":
    main(_asked())
