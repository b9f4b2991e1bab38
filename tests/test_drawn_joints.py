"""Joints at shared posts drawn in space: no conflict that nothing tells, and no sound joint refused.

The sites mix two railings, feet of flights that are shared, third runs and what supports say of heights, with turns of
0 and 90 degrees, or of any, where bearings of posts and walls and widths of rails are typed besides; at least half of
them must be warned of or refused. 200 sites in every run of the tests, 2,000 with `--thorough`; how many are of which
kind is kept with the result of each test. Known faults are named in tests/drawn/known.py, with a small job for each in
tests/test_drawn_faults.py and tests/test_drawn_askew.py.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from itertools import combinations
from typing import NamedTuple

import pytest

from railbook.job.runs import Run
from tests.drawn.askew_sites import TURNS
from tests.drawn.carriers import is_post
from tests.drawn.checks import reading_of
from tests.drawn.joins import ON_FACE, boards_at, sound_joints
from tests.drawn.known import wrong
from tests.drawn.reading import Reading
from tests.drawn.sites import ASKEW, JOINED, Kinds, site
from tests.drawn.solids import degrees_between
from tests.drawn.told import is_askew, is_refused, lacks_its_cap, names, refuses
from tests.drawn.turned import leaves
from tests.drawn.witness import draw

USUAL, THOROUGH = 200, 2000
SOUND, WARNED, REFUSED = "sound", "warned", "refused"
WARNINGS = ("the cap of run", " beside the post", "on one side of it")
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
    """Whether runs or caps of a site are refused, warned of, or neither."""
    if reading.refused or any(lacks_its_cap(reading, run) for run in reading.runs):
        return REFUSED
    shared = [mark for mark in _marks(reading) if len(_meeting(reading, mark)) > 1]
    return WARNED if any(names(reading, mark, *WARNINGS) for mark in shared) else SOUND


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


def refusals(kinds: Kinds, sites: int) -> Iterator[Refusal]:
    """Posts of sites at which a cap is refused: told there, or not told anywhere."""
    for reading in readings(kinds, sites):
        for mark in _marks(reading):
            met = _meeting(reading, mark)
            lost = [run for run in met if lacks_its_cap(reading, run)]
            untold = len(met) > 2 and any(not is_refused(reading, run) for run in lost)
            if len(met) > 1 and lost and (refuses(reading, mark) or untold):
                yield Refusal(reading, mark)


def _marks(reading: Reading, *others: Run) -> list[str]:
    ends = (mark or "" for run in (*reading.runs, *others) for mark in (run.from_support, run.to_support))
    return list(dict.fromkeys(ends))


def _meeting(reading: Reading, mark: str) -> list[Run]:
    return [run for run in reading.runs if mark in (run.from_support, run.to_support)]


def sound_ways(refusal: Refusal) -> list[tuple[str, ...]]:
    """The sound ways to end all caps there."""
    return [tuple(end.way for end in ends) for ends in sound_joints(draw(refusal.reading), refusal.mark)]


def is_sound(refusal: Refusal) -> bool:
    """Whether there is one."""
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


def test_no_closed_joint_of_two_runs_is_refused_where_they_come_askew(
    record_property: Record, *, thorough: bool
) -> None:
    """A cap that ends on the face under another is held against the least room that there may be between the two at
    such a turn: it may be sound and refused, and is counted only."""
    askew = [each for each in refusals(ASKEW, THOROUGH if thorough else USUAL) if len(each.runs) == 2]
    ways = {place: sound_ways(each) for place, each in enumerate(askew)}
    record_property("posts of two runs that are refused", len(askew))
    record_property("of them sound", sum(map(bool, ways.values())))

    assert len(askew) > 10
    assert [way for those in ways.values() for way in those if ON_FACE not in way] == []


def turn_at(reading: Reading, mark: str) -> float:
    """The turn between two of the runs at a post, refused ones too, that is furthest from straight and square."""
    ways = [way for run in _at(reading, mark) if (way := leaves(run, mark)) is not None]
    turns = [degrees_between(one, -other) for one, other in combinations(ways, 2)]
    return max((round(turn, 2) for turn in turns), key=lambda turn: min(abs(turn), abs(turn - 90.0)), default=0.0)


def outcome_at(reading: Reading, mark: str) -> str:
    """What becomes of a shared post: a run is refused there, or a cap; something is told; all is laid out and well."""
    if any(f"meets the corner of post {mark}:" in row.what for row in reading.told):
        return "run refused"
    if any(lacks_its_cap(reading, run) for run in _meeting(reading, mark)) and refuses(reading, mark):
        return "cap refused"
    return "told" if names(reading, mark, *WARNINGS) else "laid out"


def _at(reading: Reading, mark: str) -> list[Run]:
    """The runs at a support, but for those that are refused at their other end."""
    refused = [run for run in reading.refused if _is_refused_at(reading, run, mark)]
    return [run for run in (*reading.runs, *refused) if mark in (run.from_support, run.to_support)]


def _is_refused_at(reading: Reading, run: Run, mark: str) -> bool:
    return any(row.what.startswith(f"run {run.run} meets the corner of post {mark}:") for row in reading.told)


def test_what_becomes_of_posts_is_counted_by_turn(record_property: Record, *, thorough: bool) -> None:
    """At each of the usual turns runs are laid out; any other turn is counted with those of the same 30 degrees."""
    counted: dict[str, Counter[str]] = {}
    for reading in readings(ASKEW, THOROUGH if thorough else USUAL):
        for mark in _marks(reading, *reading.refused):
            if len(_at(reading, mark)) > 1 and is_post(reading, mark):
                turn = turn_at(reading, mark)
                low = 30 * math.floor(turn / 30)
                word = f"{turn:g}" if turn in (*TURNS, 0.0, 90.0) else f"{low} to {low + 30}"
                counted.setdefault(word, Counter())[outcome_at(reading, mark)] += 1
    record_property("by turn", {turn: dict(counted[turn]) for turn in sorted(counted, key=_first_number)})

    assert all(counted[f"{turn:g}"]["laid out"] + counted[f"{turn:g}"]["told"] for turn in TURNS)


def _first_number(word: str) -> float:
    return float(word.split(maxsplit=1)[0])
