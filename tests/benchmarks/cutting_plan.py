"""How good and how fast the cutting plan is: random railing jobs and hard instances, against first-fit and the bound.

    python -m tests.benchmarks.cutting_plan [sections ...]

Without arguments: jobs of 10, 30, 100 and 1,000 sections and the large triplets; 10000 only when asked for.
Times are of this machine and of what else runs on it; ratios were measured in one run.
"""

import os
import platform
import resource
import statistics
import sys
import time
from typing import NamedTuple

from railbook.cutting.plan import Material, plan, plan_all
from railbook.cutting.result import Plan
from tests.benchmarks.jobs import job
from tests.cutting.instances import WITHOUT_KERF, instances

SIZES = {10: (20, 2.0), 30: (20, 2.0), 100: (5, 10.0), 1_000: (1, 20.0), 10_000: (1, 60.0)}  # sections: seeds, seconds


class Measured(NamedTuple):
    """One job: its materials, their plans, the time for all of them [s]."""

    materials: tuple[Material, ...]
    plans: tuple[Plan, ...]
    seconds: float


def measured(sections: int, seed: int, seconds: float, *, custom: bool) -> Measured:
    """Plan one job, its materials one by one."""
    materials = job(sections, seed, custom=custom)
    started = time.perf_counter()
    plans = plan_all(materials, seconds=seconds, processes=2 if sections >= 1_000 else 1)
    return Measured(materials, plans, time.perf_counter() - started)


def gaps(one: Measured) -> list[float]:
    """For each material, what may be lost, in the cheapest board."""
    return [found.gap / min(b.price for b in m.boards) for m, found in zip(one.materials, one.plans, strict=True)]


def line(sections: int, *, custom: bool) -> str:
    """All seeds of one size, in one line."""
    seeds, seconds = SIZES[sections]
    jobs = [measured(sections, seed, seconds, custom=custom) for seed in range(seeds)]
    plans = [found for one in jobs for found in one.plans]
    ratios = [sum(p.by_hand for p in one.plans) / sum(p.cost for p in one.plans) for one in jobs]
    times = [one.seconds for one in jobs]
    proven = sum(found.proven for found in plans)
    return (
        f"{sections:>6} {'custom' if custom else 'usual ':<7} proven {proven:>3}/{len(plans):<3} "
        f"worst gap {max(g for one in jobs for g in gaps(one)):6.3f} boards   "
        f"by hand / plan {statistics.mean(ratios):.3f}   "
        f"median {statistics.median(times):7.2f} s  max {max(times):7.2f} s"
    )


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
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, "
        f"Python {platform.python_version()}"
    )
    for sections in sizes or [10, 30, 100, 1_000]:
        for custom in (False, True):
            print(line(sections, custom=custom), flush=True)
    if not sizes:
        print(triplets())
    most = max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    print(f"memory of the largest process {most / 1024:.0f} MB")


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]])
