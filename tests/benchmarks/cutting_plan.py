"""How good and how fast the cutting plan is: random railing jobs and hard instances, against first-fit and the bound.

    python -m tests.benchmarks.cutting_plan [sections ...]

Without arguments: jobs of 10, 30, 100 and 1,000 sections and the large triplets; 10000 only when asked for.
For each size a line with the work that is usual, and one with work to prove. Times are of this machine and of what
else runs on it, in seconds on the clock and of all cores; ratios were measured in one run.
"""

import resource
import statistics
import sys
import time
from typing import NamedTuple

from railbook.cutting.pieces import Material
from railbook.cutting.plan import plan, plan_all
from railbook.cutting.result import Plan
from tests.benchmarks.jobs import job
from tests.benchmarks.machine import machine
from tests.cutting.instances import WITHOUT_KERF, instances

RUNS = 5


class Size(NamedTuple):
    """What is measured for jobs of one size.

    Attributes:
        seeds: how many random jobs.
        seconds: for all materials together, to prove their plans.
    """

    seeds: int
    seconds: float


SIZES = {10: Size(20, 5.0), 30: Size(20, 5.0), 100: Size(RUNS, 20.0), 1_000: Size(RUNS, 20.0), 10_000: Size(1, 60.0)}


class Measured(NamedTuple):
    """One job: its materials, their plans, the time for all of them on the clock and of all cores [s]."""

    materials: tuple[Material, ...]
    plans: tuple[Plan, ...]
    seconds: float
    work: float


def measured(sections: int, seed: int, seconds: float | None, *, custom: bool) -> Measured:
    """Plan one job."""
    materials = job(sections, seed, custom=custom)
    started, busy = time.perf_counter(), _busy()
    plans = plan_all(materials, seconds=seconds)
    return Measured(materials, plans, time.perf_counter() - started, _busy() - busy)


def _busy() -> float:
    """Seconds that this process and those it started kept a core busy."""
    return sum(usage.ru_utime + usage.ru_stime for usage in map(resource.getrusage, _WHO))


_WHO = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)


def gaps(one: Measured) -> list[float]:
    """For each material, what may be lost, in the cheapest board."""
    return [found.gap / min(b.price for b in m.boards) for m, found in zip(one.materials, one.plans, strict=True)]


def line(sections: int, seconds: float | None, *, custom: bool) -> str:
    """All seeds of one size, in one line."""
    jobs = [measured(sections, seed, seconds, custom=custom) for seed in range(SIZES[sections].seeds)]
    plans = [found for one in jobs for found in one.plans]
    by_hand = statistics.median(sum(p.by_hand for p in one.plans) / sum(p.cost for p in one.plans) for one in jobs)
    over = statistics.median(sum(p.cost for p in one.plans) / sum(p.bound for p in one.plans) for one in jobs)
    allowed = "usual work" if seconds is None else f"{seconds:4.1f} s at most"
    return (
        f"{sections:>6} {'custom' if custom else 'usual ':<6} {allowed}: "
        f"{statistics.median(sum(p.work for p in one.plans) for one in jobs):5.2f} s of work  "
        f"proven {sum(found.proven for found in plans):>3}/{len(plans):<3} "
        f"worst gap {max(g for one in jobs for g in gaps(one)):6.3f} boards  by hand / plan {by_hand:.3f}  "
        f"plan / bound {over:.5f}  patterns / boards {sum(len(p.boards) for p in plans)}"
        f"/{sum(p.board_count for p in plans)}  "
        f"median {statistics.median(one.seconds for one in jobs):6.2f} s (cores {_median_work(jobs):6.2f} s)  "
        f"max {max(one.seconds for one in jobs):6.2f} s"
    )


def _median_work(jobs: list[Measured]) -> float:
    return statistics.median(one.work for one in jobs)


def triplets() -> str:
    """The large triplets, too slow for the tests."""
    told = []
    for one in instances("triplets"):
        started = time.perf_counter()
        found = plan(one.pieces, [one.board], WITHOUT_KERF, seconds=60.0)
        told.append(f"{one.name} {found.board_count}/{one.optimum} {time.perf_counter() - started:.1f} s")
    return "; ".join(told)


def main(sizes: list[int]) -> None:
    """Measure and print."""
    print(f"{machine()}; one job is three materials; seconds of work are counted, not timed, for each process")
    for sections in sizes or [10, 30, 100, 1_000]:
        for custom in (False, True):
            print(line(sections, None, custom=custom), flush=True)
            if sections < 10_000:
                print(line(sections, SIZES[sections].seconds, custom=custom), flush=True)
    if not sizes:
        print(triplets())
    most = max(resource.getrusage(who).ru_maxrss for who in _WHO)
    print(f"memory of the largest process {most / 1024:.0f} MB")


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]])
