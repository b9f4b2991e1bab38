"""Which joint the cap of every run makes at its two supports, from the runs that meet there."""

from collections.abc import Mapping, Sequence

from railbook.geometry.joints import (
    AT_WALL,
    BEND,
    BUTT,
    CORNER,
    DOUBLED_BACK,
    OPEN_END,
    OVER_CENTRE,
    SHARPEST,
    STRAIGHT,
    turn,
)
from railbook.geometry.survey import Meeting, Meetings
from railbook.job.build import Job
from railbook.job.runs import LEVEL, Run
from railbook.job.supports import POST


def choose_meetings(job: Job, runs: Sequence[Run]) -> Meetings:
    """How the cap of each of the runs ends."""
    meeting: dict[str | None, list[Run]] = {}
    for run in runs:
        for mark in dict.fromkeys((run.from_support, run.to_support)):
            meeting.setdefault(mark, []).append(run)
    kinds = {support.support: support.kind for support in job.supports}
    return {
        run.run: (
            _meeting(run, run.from_support, meeting, kinds),
            _meeting(run, run.to_support, meeting, kinds),
        )
        for run in runs
    }


def _meeting(
    run: Run, mark: str | None, meeting: Mapping[str | None, Sequence[Run]], kinds: Mapping[str, str | None]
) -> Meeting:
    """How the cap of a run ends at one support; a run of its own kind comes first."""
    if (kinds.get(mark or "") or POST) != POST:
        return Meeting(AT_WALL)
    others = [other for other in meeting[mark] if other.run != run.run]
    if not others:
        return Meeting(OPEN_END)
    alike = [other for other in others if (other.kind == LEVEL) == (run.kind == LEVEL)]
    other = (alike or others)[0]
    reverse = 0.0 if other.from_support == mark else 180.0
    raked = other if run.kind == LEVEL else run
    upper = int(raked.to_support == mark)
    return Meeting(_kind(run, other, _turn(run, other, mark, reverse)), other.run, reverse, upper)


def _turn(run: Run, other: Run, mark: str | None, reverse: float) -> float | None:
    """Plan turn from a run into another; None where a direction is blank."""
    if run.direction is None or other.direction is None:
        return None
    own = 180.0 if run.from_support == mark else 0.0
    return turn(arriving=run.direction + own, leaving=other.direction + reverse)


def _kind(run: Run, other: Run, turned: float | None) -> str:
    """Corner, bend, butt or plainly over the middle of the post."""
    if run.kind == LEVEL and other.kind == LEVEL:
        return DOUBLED_BACK if turned is not None and abs(turned) > SHARPEST else CORNER
    if LEVEL not in (run.kind, other.kind):
        return OVER_CENTRE
    if turned is None or abs(turned) <= STRAIGHT:
        return BEND
    return OPEN_END if run.kind == LEVEL else BUTT
