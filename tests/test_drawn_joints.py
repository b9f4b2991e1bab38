"""Joints at shared posts drawn in space: no conflict that nothing tells, and no sound joint refused.

The sites mix two railings, feet of flights that are shared, third runs and what supports say of heights, with turns of
0 and 90 degrees, or of any; at least half of them must be warned of or refused. 200 sites in every run of the tests,
2,000 with `--thorough`; how many are of which kind is kept with the result of each test. Known faults are named in
tests/drawn/known.py, with a small job for each in tests/test_drawn_faults.py.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from typing import NamedTuple

import pytest

from railbook.job.runs import Run
from tests.drawn.checks import reading_of
from tests.drawn.joins import boards_at, sound_joints
from tests.drawn.known import wrong
from tests.drawn.reading import Reading
from tests.drawn.sites import ASKEW, JOINED, Kinds, site
from tests.drawn.told import is_askew, is_refused, lacks_its_cap, names, refuses
from tests.drawn.witness import draw

USUAL, THOROUGH = 200, 2000
SOUND, WARNED, REFUSED = "sound", "warned", "refused"
ROOMS = {"straight and square": JOINED, "askew": ASKEW}

Record = Callable[[str, object], None]  # pytest's record_property


@cache
def readings(kinds: Kinds, sites: int) -> tuple[Reading, ...]:
    """Results of the first sites of a kind."""
    return tuple(reading_of(site(seed, kinds)) for seed in range(sites))


@pytest.mark.parametrize("room", ROOMS)
def test_every_conflict_at_a_shared_post_is_told(room: str, record_property: Record, *, thorough: bool) -> None:
    found = readings(ROOMS[room], THOROUGH if thorough else USUAL)
    kinds = Counter(map(kind_of, found))
    record_property("sites", dict(kinds))

    assert {seed: those for seed, each in enumerate(found) if (those := wrong(each))} == {}
    assert kinds[WARNED] + kinds[REFUSED] >= len(found) / 2


def kind_of(reading: Reading) -> str:
    """Whether caps of a site are refused, warned of, or neither."""
    if any(lacks_its_cap(reading, run) for run in reading.runs):
        return REFUSED
    shared = [mark for mark in _marks(reading) if len(_meeting(reading, mark)) > 1]
    return WARNED if any(names(reading, mark, "the cap of run") for mark in shared) else SOUND


def test_a_joint_that_is_no_longer_told_is_reported() -> None:
    """Without the warnings of caps every site that is warned of or refused has something wrong."""
    plain = [each for each in readings(JOINED, USUAL) if not _is_chosen(each)]
    bad = [each for each in plain if kind_of(each) != SOUND]
    silent = [each._replace(told=tuple(row for row in each.told if "cap" not in row.what)) for each in bad]

    assert len(bad) >= 10
    assert all(wrong(each) for each in silent)


def _is_chosen(reading: Reading) -> bool:
    """Whether a support says itself what is done where heights differ, which needs no warning."""
    return any(support.heights is not None for support in reading.supports.values())


class Refusal(NamedTuple):
    """A post whose caps are not all laid out."""

    reading: Reading
    mark: str

    @property
    def runs(self) -> list[Run]:
        """The runs that meet there."""
        return _meeting(self.reading, self.mark)

    @property
    def is_askew(self) -> bool:
        """Whether the guard turns there neither straight nor square."""
        return is_askew(self.reading, self.mark)

    @property
    def turns(self) -> list[float]:
        """Turns between its runs, from 0 to 180 degrees."""
        away = [(run.direction or 0.0) + 180.0 * (run.to_support == self.mark) for run in self.runs]
        pairs = [(one, other) for place, one in enumerate(away) for other in away[place + 1 :]]
        return sorted(180.0 - abs((one - other + 180.0) % 360.0 - 180.0) for one, other in pairs)


def refusals(kinds: Kinds, sites: int) -> Iterator[Refusal]:
    """Posts of sites at which a cap is refused: told there, or not told anywhere."""
    for reading in readings(kinds, sites):
        for mark in _marks(reading):
            met = _meeting(reading, mark)
            lost = [run for run in met if lacks_its_cap(reading, run)]
            untold = len(met) > 2 and any(not is_refused(reading, run) for run in lost)
            if len(met) > 1 and lost and (refuses(reading, mark) or untold):
                yield Refusal(reading, mark)


def _marks(reading: Reading) -> list[str]:
    ends = (mark or "" for run in reading.runs for mark in (run.from_support, run.to_support))
    return list(dict.fromkeys(ends))


def _meeting(reading: Reading, mark: str) -> list[Run]:
    return [run for run in reading.runs if mark in (run.from_support, run.to_support)]


def is_sound(refusal: Refusal) -> bool:
    """Whether there is a sound way to end all caps there."""
    return any(True for _ in sound_joints(draw(refusal.reading), refusal.mark))


def test_no_sound_joint_of_two_runs_is_refused(record_property: Record, *, thorough: bool) -> None:
    square = [each for each in refusals(JOINED, THOROUGH if thorough else USUAL) if len(each.runs) == 2]
    record_property("posts of two runs that are refused", len(square))

    assert len(square) > 20
    assert [each.mark for each in square if is_sound(each)] == []


def test_no_sound_joint_of_three_runs_is_refused(record_property: Record, *, thorough: bool) -> None:
    """Two others may close, or one cap cover the post, at whose edge one ends and under which the third.

    Where the two that close both rise from the post, the third is held against each as if it ran on to the far face,
    which is lower than it comes: such a joint may be sound and refused, and is counted only.
    """
    square = [each for each in refusals(JOINED, THOROUGH if thorough else USUAL) if len(each.runs) > 2]
    record_property("posts of three runs that are refused", len(square))
    sound = [each for each in square if is_sound(each)]
    record_property("of them sound", len(sound))

    assert [each.mark for each in sound if not is_in_a_valley(each)] == []


def is_in_a_valley(refusal: Refusal) -> bool:
    """Whether two of its caps rise from the post."""
    boards = boards_at(draw(refusal.reading), refusal.mark)
    return sum(board.rise > 0 for board in boards) > 1


def test_refusals_at_other_turns_are_counted(record_property: Record, *, thorough: bool) -> None:
    """By the turn that is furthest from straight and square."""
    askew = [each for each in refusals(ASKEW, THOROUGH if thorough else USUAL) if each.is_askew]
    by_turn = Counter(max(each.turns, key=lambda turn: min(abs(turn), abs(turn - 90.0))) for each in askew)
    record_property("refused by turn", {f"{turn:g}": by_turn[turn] for turn in sorted(by_turn)})

    assert len(askew) > 10
