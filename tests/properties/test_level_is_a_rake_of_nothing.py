"""Law: one set of equations serves level, stair and ramp: a ramp that rises next to nothing is a level run."""

from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given

from railbook.job.assemblies import Assembly
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import Support
from tests.properties.draws import LAW, railings, shops, sizes, standing, straight_runs
from tests.small_jobs import Worked, level, ramp, work

NOTHING = 1e-9
SECTION = ("clear", "clear_top", "spacing", "top_tip", "bottom_tip", "blocks")
LAYOUT = ("count", "gap", "end_gap", "pitch", "worst_gap", "baluster_length", "after_last")


def figures(worked: Worked) -> list[Any]:
    """What is worked out for every section, layout, cap and block."""
    rows = worked.rows
    return [
        getattr(row, column)
        for those, columns in (
            (worked.sections, SECTION),
            (rows["baluster_layout"], LAYOUT),
            (rows["posts"], ("post_downhill", "post_uphill", "post_length")),
            (rows["caps"], ("long_point", "middle_length")),
            (rows["blocks"], ("along", "long_side", "short_side")),
        )
        for row in those
        for column in columns
    ]


def pieces(worked: Worked) -> Counter[tuple[str, float, float]]:
    """How many of each part and length are cut, however they are gathered."""
    counted: Counter[tuple[str, float, float]] = Counter()
    for row in worked.rows["cut_list"]:
        counted[row.part, row.length, row.tip_to_tip] += row.quantity
    return counted


@LAW
@given(sizes(18.0, 300.0), sizes(-0.5, 0.5), railings(), shops(), standing())
def test_ramp_that_rises_nothing_is_level(
    clear: float, lean: float, assembly: Assembly, settings: Settings, there: tuple[Support, ...]
) -> None:
    runs = (level(clear, clear_top=clear + lean), ramp(clear, NOTHING, run="A", clear_top=clear + lean))
    flat, raked = (work(run, assemblies=(assembly,), settings=settings, supports=there) for run in runs)

    assert figures(raked) == pytest.approx(figures(flat), abs=1e-6)
    assert pieces(raked) == pieces(flat)


@LAW
@given(straight_runs(longest=200.0), railings(), standing())
def test_balusters_are_counted_on_the_level(run: Run, assembly: Assembly, there: tuple[Support, ...]) -> None:
    """On any slope the count and the gap are those of a level section of the same clear."""
    endless = replace(assembly, greatest_spacing=999.0, greatest_rail=None)

    for row in work(run, assemblies=(assembly,), supports=there).rows["baluster_layout"]:
        flat = work(level(row.widest_clear), assemblies=(endless,)).only("baluster_layout")
        assert flat.count - flat.added == row.count - row.added
