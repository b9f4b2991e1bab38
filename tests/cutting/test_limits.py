"""How long the search goes on: counted work, the clock only behind it, and what the plan says of it."""

import time
from collections.abc import Callable

import pytest

from railbook.cutting.effort import PATIENCE
from railbook.cutting.plan import plan
from tests.benchmarks.jobs import job
from tests.cutting.instances import WITHOUT_KERF, instances


def running(speed: float) -> Callable[[], float]:
    """A clock that runs faster, as it does for whoever waits on a busy machine."""
    true = time.monotonic
    start = true()
    return lambda: start + speed * (true() - start)


def test_a_busy_machine_does_not_change_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search of caps for a hundred different sections is stopped long before the proof, by work alone."""
    caps = job(100, 4, custom=True)[2]
    slow, fast = running(0.1), running(0.3)  # both leave time enough on a machine that runs other tests as well
    monkeypatch.setattr(time, "monotonic", slow)
    alone = plan(*caps, seconds=0.4)
    monkeypatch.setattr(time, "monotonic", fast)

    assert (alone.out_of_time, alone.proven) == (True, False)
    assert plan(*caps, seconds=0.4) == alone


def test_the_clock_stops_a_search_that_counts_too_little(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the clock has run out from the start, everything is still cut."""
    caps = job(100, 4, custom=True)[2]
    monkeypatch.setattr(time, "monotonic", running(1e9))

    found = plan(*caps, seconds=0.4)

    assert (found.out_of_time, found.proven, found.missing) == (True, False, ())
    assert found.cost <= found.by_hand


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
    started = time.monotonic()

    plan(mixed, [hard.board], WITHOUT_KERF, seconds=0.5)

    assert time.monotonic() - started < PATIENCE * 0.5 + 1.0
