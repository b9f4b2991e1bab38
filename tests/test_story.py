"""Section story: the figures add up line by line as the hints say, and typing another section tells its story live."""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.checks import story
from railbook.checks.story import Story, story_of
from railbook.estimate import Estimate
from tests.recalculation import LibreOffice, Shown, formula_cells, same
from tests.small_jobs import WOOD, level, stair, work
from tests.strategies import random_job

SEEDS = range(60, 72)


def stories(job: Estimate) -> dict[str, Story]:
    """The story of every section of a job."""
    assert job.job is not None
    counts, step = job.rows["sections"], job.job.settings.tape_step
    return {count.of.section: story_of(counts, count.of.section, step) for count in counts}


class Told:
    """What the tab tells of one section, by word."""

    def __init__(self, of: Story) -> None:
        self.of = of

    def __getattr__(self, word: str) -> Any:
        return story.TAB.column(f"story_{word}").value(self.of)


def test_every_story_adds_up_as_its_hints_say() -> None:
    told = [Told(each) for seed in SEEDS for each in stories(random_job(seed)).values()]

    for each in told:
        assert None not in (each.tangent, each.clear_measured, each.top_edge)
        tangent, secant = each.tangent or 0.0, each.secant or 0.0
        taken = (each.from_taken or 0.0) + (each.to_taken or 0.0)
        more = (each.lower_more or 0.0) + (each.upper_more or 0.0)
        between = (each.top_meets or 0.0) - 2 * (each.fit or 0.0)
        assert secant == pytest.approx(math.sqrt(1 + tangent**2))
        assert each.run_clear == pytest.approx((each.clear_measured or 0.0) - taken)
        assert each.top_meets == pytest.approx((each.bottom_meets or 0.0) + more)
        assert each.top_edge == pytest.approx(between * secant)
    high = [each for each in told if each.guard_height is not None]
    for each in high:
        opening = (each.guard_height or 0.0) - (each.stack or 0.0) - (each.clearance or 0.0)
        assert each.opening == pytest.approx(opening)
        assert each.baluster == pytest.approx(opening + (each.seats or 0.0))
    assert len(high) > 80


def test_story_of_a_level_section_worked_by_hand() -> None:
    """Two sections in 127 in: (127 - 3.5) / 2 = 61.75. Opening 36.5 - (1 + 3.5 + 3.5) - 3 = 25.5; 61.75 takes 11
    balusters of 1.5 under 4 in: (61.75 - 16.5) / 12 = 3.770833, first mark 3.770833 + 0.75."""
    worked = work(level(127.0), assemblies=(replace(WOOD, level_height=36.5, bracket_fit=0.0),))
    told = Told(worked.only("story"))

    assert (told.section, told.run, told.sections) == ("A.1", "A", 2)
    assert (told.clear_taped, told.clear, told.top_length) == (127.0, 61.75, 61.75)
    assert (told.opening, told.baluster, told.balusters) == (25.5, 25.5, 11)
    assert told.gap == pytest.approx(3.770833, abs=1e-6)
    assert told.first == pytest.approx(4.520833, abs=1e-6)


def test_a_section_that_is_not_there_has_no_story() -> None:
    worked = work(level(60.0), stair(60.0, 45.0, from_support="P3", to_support="P4"), assemblies=(WOOD,))

    told = story_of(worked.rows["sections"], "H", 1 / 16)

    assert told == Story("H", 1 / 16)
    assert {each.value(told) for each in story.TAB.columns} == {"H", None}


def test_another_section_is_told_as_soon_as_its_mark_is_typed(libreoffice: LibreOffice, tmp_path: Path) -> None:
    job = random_job(SEEDS.start)
    other = list(stories(job))[-1]
    typed = replace(job.rows["story"][0], story_section=other)
    rows = {**job.rows, "story": (typed,)}
    estimate.write(replace(job, rows=rows), tmp_path / "story.xlsx")
    (made,) = libreoffice.recalculated([tmp_path / "story.xlsx"])
    shown, wanted = Shown(rows, formula_cells(made)), stories(job)[other]

    assert other != job.rows["story"][0].story_section
    assert {
        column.name: (column.value(wanted), shown.value(story.TAB, column.name, 0))
        for column in story.TAB.columns
        if not same(column.value(wanted), shown.value(story.TAB, column.name, 0))
    } == {}
