"""What the witness finds today: set aside by name, where Warnings tells it or where it is a fault that waits."""

import math
from collections.abc import Callable, Iterator

from railbook.job.runs import LEVEL, Run
from railbook.job.supports import EXISTING
from tests.drawn.checks import findings
from tests.drawn.ends import CLOSE
from tests.drawn.finding import Finding
from tests.drawn.lists import NO_EDGE
from tests.drawn.posts import RIDGE, VALLEY
from tests.drawn.reading import CAP, POST, SLEEVE, TOP_RAIL, Reading
from tests.drawn.told import is_askew, is_refused, lacks_its_cap

Known = Callable[[Finding, Reading], bool]
SEVERAL = 3  # runs at one post


def is_told_notch(found: Finding, reading: Reading) -> bool:
    """Where a flight or a ramp comes to a level guard round a corner, the upper corner of its top rail runs into the
    overhang of the level cap. No tab has a cut for it yet, but Warnings tells it and asks for a notch, unless it is no
    more than a step of the tape, to which rounding may add half a step."""
    rail = _rail_into_level_cap(found, reading)
    if rail is None:
        return False
    told = any(row.where == f"run {rail.run}" and "overhang of the level cap" in row.what for row in reading.told)
    return told or found.by <= reading.hair + 1.5 * reading.step


def is_rail_of_a_clash(found: Finding, reading: Reading) -> bool:
    """Where caps clash, the top rail under the one that is not laid out may run into the other: told with them."""
    if found.check != "overlap":
        return False
    rails = [name for name in found.where if name.startswith(TOP_RAIL)]
    return any(is_refused(reading, run) for name in rails for run in _runs(name, reading))


def is_askew_rail(found: Finding, reading: Reading) -> bool:
    """Rails, balusters and blocks at a post where the guard turns askew are not laid out yet, as Warnings tells."""
    if found.check != "overlap" or all(name.startswith((CAP, POST)) for name in found.where):
        return False
    ends = [mark for name in found.where for run in _runs(name, reading) for mark in (run.from_support, run.to_support)]
    return any(is_askew(reading, mark or "") for mark in ends)


def is_back_beside(found: Finding, reading: Reading) -> bool:
    """Where a guard turns back so sharply that a run comes beside one with which it shares no post: the site's own."""
    runs = [run for name in found.where for run in _runs(name, reading)]
    marks = [mark or "" for run in runs for mark in (run.from_support, run.to_support)]
    return found.check == "overlap" and any(is_askew(reading, mark) for mark in marks) and not _touch(found, reading)


def is_length_of_a_parallel_cap(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: the cut list says that lengths run along an edge, but of a cap whose ends are parallel it shows
    what lies between the tips, under Length as under Tip to tip. See tests/test_drawn_later.py."""
    if found.says != NO_EDGE or not found.where[0].startswith(CAP):
        return False
    row = reading.piece(CAP, found.where[0].removeprefix(f"{CAP} "))
    return row is not None and row.lower_cut * row.upper_cut > 0 and row.length == row.tip_to_tip


def is_untold_third_cap(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: of three runs at a post a cap that can end in no way is left off the cut list, and no warning
    names it; its posts are open and its rails may run into the other two caps."""
    lost = [run for run in reading.runs if _is_lost(run, reading)]
    about = {run.run for name in found.where for run in _runs(name, reading)}
    at = {mark for run in lost for mark in (run.from_support or "", run.to_support or "")}
    if found.check == "post top":
        return found.by == math.inf and any(run.run in _carried(found.where[0], reading) for run in lost)
    if found.check == "cap end":
        return found.where[1] in at
    return found.check in ("overlap", "cut list") and any(run.run in about for run in lost)


def is_within_play(found: Finding, reading: Reading) -> bool:
    """Two caps that close may be a sixteenth apart in height, and the post is as high as the higher one."""
    allowed = reading.hair + reading.step + CLOSE[reading.settings.unit]
    of_a_post = found.check == "post top" or (found.check == "overlap" and found.where[0].startswith(POST))
    row = reading.post(found.where[0].removeprefix(f"{POST} "))
    return of_a_post and found.by <= allowed and row is not None and len(row.runs) > 1


def is_untold_notch(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: where a cap ends at the edge of another, its top rail may run into that cap or into the one that
    this closes with: told of the upper end of a rake against a level cap, but not at a foot, of a level rail or of the
    other cap."""
    if found.check != "overlap":
        return False
    pair = [(rail, cap) for rail, cap in (found.where, found.where[::-1]) if rail.startswith(TOP_RAIL)]
    ends = [(one, mark) for rail, cap in pair for one, mark in _shared(rail, cap, reading) if cap.startswith(CAP)]
    return any(_reach(one, mark, reading) < 0 for one, mark in ends)


def is_edge_beyond_a_mitre(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: at an askew post a third cap ends at the edge of one of two that are mitred, where that edge is
    mitred off."""
    if found.check != "cap end":
        return False
    mark = found.where[1]
    return len(_carried(mark, reading)) >= SEVERAL and is_askew(reading, mark)


def is_hand_of_an_edge(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: a level cap that ends at the edge of another past an askew turn has the sign of a mitre, though
    its long point may lie inside, and so the length of another edge."""
    if found.says != NO_EDGE or not found.where[0].startswith(CAP):
        return False
    runs = _runs(found.where[0], reading)
    return any(
        _reach(run, mark or "", reading) < 0 and is_askew(reading, mark or "")
        for run in runs
        for mark in (run.from_support, run.to_support)
    )


def is_edge_of_the_narrower(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: of two caps of two widths that close a third ends at the edge of the narrower, in the wider."""
    shared = _shared(found.where[0], found.where[1], reading) if found.check == "overlap" else []
    several = [(one, mark) for one, mark in shared if len(_carried(mark, reading)) >= SEVERAL]
    both = all(name.startswith(CAP) for name in found.where)
    return both and any(_reach(one, mark, reading) < 0 for one, mark in several)


def is_lap_on_two_faces(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: caps wider than their post that end on two faces of it, under a third cap or beside a post that
    stands proud, claim the inner angle both."""
    return _laps_with(found, reading, lambda one, other: one == 0 and other == 0)


def is_lap_of_a_step(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: a raked cap that is cut off at the far face of a post is cut square, so that its upper edge
    stands over the face, in the cap that ends there against it."""
    return _laps_with(found, reading, lambda one, other: min(one, other) == 0 and max(one, other) > 0)


def is_height_of_a_ridge(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: a sleeve is cut, and a post that stands already is sawn off, as its higher face asks, and not
    at the ridge between them."""
    part, _, mark = found.where[0].partition(" ")
    row = reading.post(mark)
    told = part == SLEEVE or (row is not None and row.state == EXISTING)
    return found.check == "cut list" and told and row is not None and row.top == RIDGE


def is_post_in_a_valley(found: Finding, reading: Reading) -> bool:
    """FAULT, not told: inside the sleeve of a valley whose lower cap rises to the joint, a post that is level at the
    joint stands through its sleeve into that cap."""
    posts = [reading.post(name.removeprefix(f"{POST} ")) for name in found.where if name.startswith(POST)]
    return found.check == "overlap" and any(
        row is not None and row.top == VALLEY and (row.sleeve_downhill or math.inf) < (row.joint_height or 0.0)
        for row in posts
    )


TOLD: tuple[Known, ...] = (is_told_notch, is_rail_of_a_clash, is_within_play, is_askew_rail, is_back_beside)
FAULTS: tuple[Known, ...] = (
    is_length_of_a_parallel_cap, is_untold_third_cap, is_untold_notch, is_lap_on_two_faces, is_lap_of_a_step,
    is_edge_of_the_narrower, is_edge_beyond_a_mitre, is_hand_of_an_edge, is_height_of_a_ridge, is_post_in_a_valley,
)  # fmt: skip


def wrong(reading: Reading) -> list[Finding]:
    """What the witness finds, but for what is known."""
    return [found for found in findings(reading) if not any(known(found, reading) for known in (*TOLD, *FAULTS))]


def faults(reading: Reading) -> set[str]:
    """Names of the known faults that a result shows."""
    untold = [found for found in findings(reading) if not any(known(found, reading) for known in TOLD)]
    return {known.__name__ for found in untold for known in FAULTS if known(found, reading)}


def _rail_into_level_cap(found: Finding, reading: Reading) -> Run | None:
    """The run whose top rail laps a level cap; None where it is something else."""
    if found.check != "overlap":
        return None
    rail, cap = sorted(found.where, key=lambda name: name.startswith(CAP))
    over = any(run.kind == LEVEL for run in _runs(cap, reading)) and cap.startswith(CAP)
    return next(_runs(rail, reading), None) if rail.startswith(TOP_RAIL) and over else None


def _laps_with(found: Finding, reading: Reading, reach: Callable[[float, float], bool]) -> bool:
    """Whether two caps lap at a support past whose faces they reach so."""
    if found.check != "overlap" or not all(name.startswith(CAP) for name in found.where):
        return False
    reaches: dict[str, list[float]] = {}
    for one, mark in _shared(found.where[0], found.where[1], reading):
        reaches.setdefault(mark, []).append(_reach(one, mark, reading))
    return any(reach(*both) for both in reaches.values())


def _touch(found: Finding, reading: Reading) -> bool:
    """Whether both pieces of a finding belong to one post or to runs that share one."""
    ends = []
    for name in found.where:
        own = {mark or "" for run in _runs(name, reading) for mark in (run.from_support, run.to_support)}
        ends.append(own or {name.removeprefix(f"{POST} ")})
    return bool(set.intersection(*ends))


def _shared(one: str, other: str, reading: Reading) -> list[tuple[Run, str]]:
    """Each of two runs named, with each support at which both end."""
    runs = [run for name in (one, other) for run in _runs(name, reading)]
    ends = [{run.from_support or "", run.to_support or ""} for run in runs]
    return [(run, mark) for run in runs for mark in set.intersection(*ends)] if len(runs) > 1 else []


def _reach(run: Run, mark: str, reading: Reading) -> float:
    reached = reading.reached[run.run]
    return reached.from_reach if mark == run.from_support else reached.to_reach


def _is_lost(run: Run, reading: Reading) -> bool:
    """Whether its cap is not on the cut list, and nothing tells it, at a post of several runs."""
    ends = (run.from_support, run.to_support)
    met = [sum(mark in (each.from_support, each.to_support) for each in reading.runs) for mark in ends]
    return lacks_its_cap(reading, run) and not is_refused(reading, run) and max(met) >= SEVERAL


def _carried(mark: str, reading: Reading) -> tuple[str, ...]:
    row = reading.post(mark)
    return () if row is None else row.runs


def _runs(name: str, reading: Reading) -> Iterator[Run]:
    """The runs that the name of a piece speaks of."""
    words = {word.partition(".")[0] for word in name.split()}
    return (run for run in reading.runs if run.run in words)
