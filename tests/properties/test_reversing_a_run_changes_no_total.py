"""Law: which end of a level run is called From changes no total, no length and no layout."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from railbook.job.assemblies import Assembly
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import EXISTING, NEW, POST, WALL, Support
from tests.properties.draws import LAW, railings, shops, sizes
from tests.small_jobs import WOOD, Worked, level, work

SUMMARY = (
    "sections_total", "level_guard", "posts_total", "rails_total", "balusters_total", "blocks_total",
    "checks_made", "checks_failed", "checks_unmeasured",
)  # fmt: skip

SAWN = ("Top rail", "Bottom rail", "Both rails", "Cap board")
STANDING = tuple(Support(mark, POST, EXISTING) for mark in ("W", "P1", "P2", "P3"))


WAYS = ((0.0, 90.0, 0.0), (0.0, 90.0, 180.0), (90.0, 0.0, 0.0), (0.0, 0.0, 270.0))
ASKEW = ((0.0, 45.0, 90.0), (45.0, 0.0, 90.0), (0.0, 22.5, 330.0))


@st.composite
def chains(draw: st.DrawFn, ways: tuple[tuple[float, float, float], ...] = WAYS) -> tuple[Run, ...]:
    """Three level runs from a wall round two corners to an end post."""
    bearings = draw(st.sampled_from(ways))
    marks = ("W", "P1", "P2", "P3")
    runs = []
    for name, low, high, bearing in zip("ABC", marks, marks[1:], bearings, strict=False):
        clear = draw(sizes(18.0, 220.0))
        runs.append(
            level(
                clear,
                run=name,
                from_support=low,
                to_support=high,
                direction=bearing,
                clear_top=clear + draw(sizes(-0.25, 0.25)),
                drop=draw(st.one_of(st.none(), sizes(20.0, 60.0))),
            )
        )
    return tuple(runs)


def reversed_run(run: Run) -> Run:
    """The same line of guard seen from the other side."""
    assert run.direction is not None
    return replace(
        run, from_support=run.to_support, to_support=run.from_support, direction=(run.direction + 180) % 360
    )  # fmt: skip


def cut(worked: Worked) -> Counter[tuple[str, float, float, tuple[float, ...]]]:
    """How many of each part, length and pair of end cuts."""
    counted: Counter[tuple[str, float, float, tuple[float, ...]]] = Counter()
    for row in worked.rows["cut_list"]:
        cuts = tuple(sorted(round(abs(each), 6) for each in (row.lower_cut, row.upper_cut)))
        counted[row.part, row.length, row.tip_to_tip, cuts] += row.quantity
    return counted


@LAW
@given(chains(), st.sets(st.sampled_from("ABC")), railings(), shops())
def test_nothing_is_gained_by_walking_the_other_way(
    runs: tuple[Run, ...], turned: set[str], assembly: Assembly, settings: Settings
) -> None:
    supports = (Support("W", WALL, NEW), Support("P2", POST, NEW, face_width=6.0))
    there = work(*runs, assemblies=(assembly,), settings=settings, supports=supports)
    back = work(
        *(reversed_run(run) if run.run in turned else run for run in runs),
        assemblies=(assembly,), settings=settings, supports=supports,
    )  # fmt: skip

    for word in SUMMARY:
        assert getattr(back.only("summary"), word) == pytest.approx(getattr(there.only("summary"), word)), word
    assert cut(back) == cut(there)
    assert [row.ends for row in back.rows["cut_list"]] == [row.ends for row in there.rows["cut_list"]]


@LAW
@given(chains(ASKEW), st.sets(st.sampled_from("ABC")), shops())
def test_boards_round_other_corners_are_the_same_solids(
    runs: tuple[Run, ...], turned: set[str], settings: Settings
) -> None:
    """Marks begin at another corner of a rail that ends askew, so only what is sawn is compared."""
    there = work(*runs, assemblies=(WOOD,), settings=settings, supports=STANDING)
    back = work(
        *(reversed_run(run) if run.run in turned else run for run in runs),
        assemblies=(WOOD,), settings=settings, supports=STANDING,
    )  # fmt: skip

    sawn = [{piece: number for piece, number in cut(each).items() if piece[0] in SAWN} for each in (there, back)]
    assert sawn[0] == sawn[1]
    assert {piece[0] for piece in sawn[0]} >= {"Cap board"}


@LAW
@given(chains(), railings(), shops())
def test_layouts_are_the_same_from_either_end(runs: tuple[Run, ...], assembly: Assembly, settings: Settings) -> None:
    """Where both ends stand already: what two clears differ by is shared."""
    more = {"assemblies": (assembly,), "settings": settings, "supports": STANDING}
    there = work(*runs, **more)
    back = work(*(reversed_run(run) for run in runs), **more)

    for row, same in zip(there.rows["baluster_layout"], back.rows["baluster_layout"], strict=True):
        assert (row.count, row.added) == (same.count, same.added)
        assert row.marks == same.marks
