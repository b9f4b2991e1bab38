"""What the witness finds today: set aside by name, where Warnings tells it or where it is a fault that waits."""

from collections.abc import Callable, Iterator

from railbook.job.runs import LEVEL, Run
from tests.drawn.checks import findings
from tests.drawn.ends import CLOSE
from tests.drawn.finding import Finding
from tests.drawn.reading import BALUSTER, CAP, POST, TOP_RAIL, Reading
from tests.drawn.told import TURNS_BACK, is_askew, is_refused, refuses

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


def is_back_beside(found: Finding, reading: Reading) -> bool:
    """Where a guard turns back so sharply that a run comes beside one with which it shares no post: the site's own."""
    runs = [run for name in found.where for run in _runs(name, reading)]
    marks = [mark or "" for run in runs for mark in (run.from_support, run.to_support)]
    return found.check == "overlap" and any(is_askew(reading, mark) for mark in marks) and not _touch(found, reading)


def is_within_play(found: Finding, reading: Reading) -> bool:
    """Two caps that close may be a sixteenth apart in height, and the post is as high as the higher one."""
    allowed = reading.hair + reading.step + CLOSE[reading.settings.unit]
    of_a_post = found.check == "post top" or (found.check == "overlap" and found.where[0].startswith(POST))
    row = reading.post(found.where[0].removeprefix(f"{POST} "))
    return of_a_post and found.by <= allowed and row is not None and len(row.runs) > 1


def is_post_of_a_clash(found: Finding, reading: Reading) -> bool:
    """Where caps clash the post is left as long as the highest run needs, as Warnings tells with the clash."""
    posts = [name.removeprefix(f"{POST} ") for name in found.where if reading.post(name.removeprefix(f"{POST} "))]
    return found.check in ("post top", "overlap") and any(refuses(reading, mark) for mark in posts)


def is_told_lap(found: Finding, reading: Reading) -> bool:
    """Boards of two runs that claim the angle between them beside their post: Warnings names both runs, and asks to
    nip caps that are wider than the post, or to part the rails."""
    pairs = [list(_runs(name, reading)) for name in found.where]
    if found.check != "overlap" or not all(pairs):
        return False
    one, other = (those[0] for those in pairs)
    capped = [run.run for run, name in zip((one, other), found.where, strict=True) if name.startswith(CAP)]
    shared = {one.from_support, one.to_support} & {other.from_support, other.to_support}
    for row in reading.told:
        told, named = f"{row.what} ", row.where.removeprefix("support ") in shared
        if not all(f" {run.run} " in told for run in (one, other)):
            continue
        first = told.startswith("the rails") or (told.startswith("the caps") and capped)
        laps = first or any(told.startswith(f"the cap of run {run} laps") for run in capped)
        if named and " beside the post" in told and laps:
            return True
    return False


def is_on_one_side(found: Finding, reading: Reading) -> bool:
    """Two runs that leave a post on one side of it, whose boards or posts come beside each other, as Warnings tells."""
    if found.check != "overlap":
        return False
    one, other = (_all_runs(name, reading) for name in found.where)
    told = [f"{row.what} " for row in reading.told if TURNS_BACK in row.what]
    return any(f" {run} " in what and f" {met} " in what for what in told for run in one for met in other - {run})


def _all_runs(name: str, reading: Reading) -> set[str]:
    """The runs that a piece belongs to; of a post all that meet there."""
    row = reading.post(name.removeprefix(f"{POST} "))
    return {run.run for run in _runs(name, reading)} | set(() if row is None else row.runs)


def is_set_out_by_hand(found: Finding, reading: Reading) -> bool:
    """Balusters on the face of rails that come to a post askew: Warnings asks to set out the one beside it by hand."""
    runs = [run for name in found.where for run in _runs(name, reading)] if found.check == "overlap" else []
    told = {row.where for row in reading.told if "balusters stand on the face" in row.what}
    balusters = [name for name in found.where if name.startswith(BALUSTER)]
    return bool(balusters) and all(f"run {run.run}" in told for run in runs) and _touch(found, reading)


def is_cut_by_hand(found: Finding, reading: Reading) -> bool:
    """Where a run meets a support askew that leans besides, its lengths suppose that it stands plumb, as Warnings
    tells: what stands there is measured and cut by hand."""
    told = {row.where.removeprefix("run ") for row in reading.told if "one of its supports leans besides" in row.what}
    named = {run.run for name in found.where for run in _runs(name, reading)}
    posts = [reading.post(name.removeprefix(f"{POST} ")) for name in found.where]
    return bool(told & (named | {run for row in posts if row is not None for run in row.runs}))


TOLD: tuple[Known, ...] = (
    is_told_notch, is_rail_of_a_clash, is_post_of_a_clash, is_told_lap, is_on_one_side, is_within_play, is_back_beside,
    is_set_out_by_hand, is_cut_by_hand,
)  # fmt: skip


def wrong(reading: Reading) -> list[Finding]:
    """What the witness finds, but for what is known."""
    return [found for found in findings(reading) if not any(known(found, reading) for known in TOLD)]


def _rail_into_level_cap(found: Finding, reading: Reading) -> Run | None:
    """The run whose top rail laps a cap at a post where a level guard ends; None where it is something else."""
    if found.check != "overlap":
        return None
    rail, cap = sorted(found.where, key=lambda name: name.startswith(CAP))
    own, met = next(_runs(rail, reading), None), next(_runs(cap, reading), None)
    if own is None or met is None or not rail.startswith(TOP_RAIL) or not cap.startswith(CAP):
        return None
    shared = {own.from_support, own.to_support} & {met.from_support, met.to_support}
    at = [run for run in reading.runs if run is not own and shared & {run.from_support, run.to_support}]
    return own if any(run.kind == LEVEL for run in at) else None


def _touch(found: Finding, reading: Reading) -> bool:
    """Whether both pieces of a finding belong to one post or to runs that share one."""
    ends = []
    for name in found.where:
        own = {mark or "" for run in _runs(name, reading) for mark in (run.from_support, run.to_support)}
        ends.append(own or {name.removeprefix(f"{POST} ")})
    return bool(set.intersection(*ends))


def _runs(name: str, reading: Reading) -> Iterator[Run]:
    """The runs that the name of a piece speaks of."""
    words = {word.partition(".")[0] for word in name.split()}
    return (run for run in reading.runs if run.run in words)
