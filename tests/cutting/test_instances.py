"""Every instance of known optimum is solved to it, and proved. (The large triplets: tests/benchmarks.)"""

import pytest

from railbook.cutting.plan import plan
from railbook.cutting.proof import check_bound
from tests.cutting.instances import WITHOUT_KERF, Instance, instances

QUICK = [*instances("pm_small"), *instances("cutgen"), *(one for one in instances("triplets") if one.optimum <= 20)]


@pytest.mark.parametrize("one", QUICK, ids=lambda one: one.name)
def test_the_known_optimum_is_found_and_proved(one: Instance) -> None:
    found = plan(one.pieces, [one.board], WITHOUT_KERF, seconds=60.0)

    assert (found.board_count, found.proven) == (one.optimum, True)
    assert found.by_hand >= found.cost
    assert check_bound(one.pieces, [one.board], WITHOUT_KERF, found.proof) <= one.optimum
