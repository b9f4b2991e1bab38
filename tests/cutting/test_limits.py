"""How long the search goes on: counted work, the processor's clock only behind it, and what the plan says of it."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from railbook.cutting.effort import PATIENCE, Effort
from railbook.cutting.generation import Generation
from railbook.cutting.grains import in_whole
from railbook.cutting.master import Master
from railbook.cutting.mixing import best_mix
from railbook.cutting.plan import plan
from tests.benchmarks.jobs import job
from tests.cutting.instances import WITHOUT_KERF, instances

ROOT = Path(__file__).parents[2]
TOLD = (  # the search of caps for a hundred different sections is stopped long before the proof, by work alone
    "from railbook.cutting.plan import plan\n"
    "from tests.benchmarks.jobs import job\n"
    "caps = job(100, 4, custom=True)[2]\n"
    "print('ready', flush=True)\n"
    "print(plan(*caps, seconds=0.4))\n"
)
SHARE = 1 / 6  # of the time, in turns of a hundredth of a second, that a busy machine has for one of many programs


def started() -> subprocess.Popen[str]:
    """A program of its own that plans those caps and prints the plan; it is about to begin."""
    program = subprocess.Popen([sys.executable, "-c", TOLD], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    assert program.stdout.readline() == "ready\n"
    return program


def kept_waiting(program: subprocess.Popen[str]) -> None:
    """Let a program run a small part of the time only, until it is done."""
    while program.poll() is None:
        os.kill(program.pid, signal.SIGSTOP)
        time.sleep(0.01 / SHARE - 0.01)
        os.kill(program.pid, signal.SIGCONT)
        time.sleep(0.01)


@pytest.mark.skipif(sys.platform == "win32", reason="a program cannot be made to wait there")
def test_a_busy_machine_changes_neither_the_plan_nor_the_count_of_its_work() -> None:
    alone, waiting = started(), started()
    kept_waiting(waiting)
    plans = [program.communicate()[0] for program in (alone, waiting)]

    assert "proven=False" in plans[0]
    assert plans[1] == plans[0]


def test_the_clock_stops_a_search_that_counts_too_little(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the clock has run out from the start, everything is still cut."""
    caps = job(100, 4, custom=True)[2]
    readings = iter(range(0, 10**9, 10**6))
    monkeypatch.setattr(time, "process_time", lambda: float(next(readings)))

    found = plan(*caps, seconds=0.4)

    assert (found.out_of_time, found.proven, found.missing) == (True, False, ())
    assert found.cost <= found.by_hand


def test_the_clock_stops_the_solver_at_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """A whole program that would be solved with the clock standing still is given up when it has run out."""
    hard = next(one for one in instances("triplets") if one.optimum > 20)
    question = in_whole(hard.pieces, [hard.board], WITHOUT_KERF).question
    master = Master(question)
    Generation(master).go_on(Effort(10.0))
    reading = 0.0
    monkeypatch.setattr(time, "process_time", lambda: reading)
    mixed = [best_mix(question, master.cuts, question.counts, [None], effort=Effort(10.0, ends=1.0)).settled]
    reading = 2.0
    mixed += [best_mix(question, master.cuts, question.counts, [None], effort=Effort(10.0, ends=1.0)).settled]

    assert mixed == [True, False]


def test_more_work_never_makes_it_worse() -> None:
    rails = job(30, 2, custom=True)[0]
    plans = [plan(*rails, seconds=seconds) for seconds in (0.0, 0.05, 5.0)]

    assert [found.cost for found in plans] == sorted((found.cost for found in plans), reverse=True)
    assert plans[-1].proven


def test_plan_and_bound_share_the_seconds() -> None:
    """Pieces with two different slopes have a bound of their own; both together end with the clock behind them."""
    hard = next(one for one in instances("triplets") if one.optimum > 20)
    mixed = [
        piece.__class__(piece.mark, piece.length, 0.1, 0.2 + 0.1 * (at % 3)) for at, piece in enumerate(hard.pieces)
    ]
    began = time.process_time()

    plan(mixed, [hard.board], WITHOUT_KERF, seconds=0.5)

    assert time.process_time() - began < PATIENCE * 0.5 + 1.0
