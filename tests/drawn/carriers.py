"""Which run a row of the post schedule speaks of, and which railing the post is of.

The schedule says how a post stands and how high, and lists its runs, but not whose post it is. It is one of a run that
ends there so: along which its top slopes, else whose cap lies over it, with a sleeve if the post gets one; of level
guards the one whose own height is nearest.
"""

from railbook.job.assemblies import Assembly
from railbook.job.runs import LEVEL, Run
from railbook.job.supports import POST, WALL
from tests.drawn.reading import Reading, Trimmed

LOWER_END, UPPER_END, BEND, ON_RAMP = "Lower end", "Upper end", "Bend", "Ramp"  # where a post stands on its run


def carrier(reading: Reading, row: Trimmed) -> Run | None:
    """The run along which its heights are told."""
    if row.position is not None:
        return next((run for run in reading.runs if run.run == row.runs[0]), None)
    if row.slopes:  # the run along which it is cut; of two that bend the raked one, the downhill one first
        named = [run for mark in row.slopes.split(" to ") for run in reading.runs if run.run == mark]
        return next((run for run in named if run.kind != LEVEL), named[0] if named else None)
    able = [run for run in reading.runs if _carries(run, row) and run.assembly in reading.assemblies]
    over = [run for run in able if reach_of(reading, run, row.post) > 0] or able
    sleeved = row.sleeve_downhill is not None
    alike = [run for run in over if (reading.assemblies[run.assembly or ""].sleeve_width is not None) == sleeved]
    return min(alike or over, key=lambda run: _off_by(reading, run, row), default=None)


def reach_of(reading: Reading, run: Run, mark: str) -> float:
    """How far its cap reaches past the near face of that support."""
    reached = reading.reached[run.run]
    return reached.from_reach if mark == run.from_support else reached.to_reach


def _carries(run: Run, row: Trimmed) -> bool:
    """Whether a post may stand so at an end of that run."""
    wanted = {LOWER_END: run.from_support, ON_RAMP: run.from_support, UPPER_END: run.to_support}
    if row.stands == BEND:
        return run.kind != LEVEL and row.post in (run.from_support, run.to_support)
    if run.kind == LEVEL:
        return row.stands not in wanted and row.post in (run.from_support, run.to_support)
    return row.stands in wanted and wanted[row.stands] == row.post


def _off_by(reading: Reading, run: Run, row: Trimmed) -> float:
    """How far a post is from the height of a level guard; 0 for raked runs."""
    assembly, seen = reading.assemblies[run.assembly or ""], row.sleeve_downhill or row.post_downhill
    if run.kind != LEVEL or assembly.level_height is None or seen is None:
        return 0.0
    return abs(seen - assembly.level_height + (assembly.cap_thickness or 0.0))


def post_assembly(reading: Reading, mark: str, otherwise: Assembly) -> Assembly:
    """The railing that a post is of."""
    row = reading.post(mark)
    run = None if row is None else carrier(reading, row)
    return otherwise if run is None else reading.assemblies[run.assembly or ""]


def outer_width(reading: Reading, mark: str, assembly: Assembly) -> float:
    """Finished width of a support, or of a post of that railing; a wall has none."""
    typed = reading.supports.get(mark)
    if typed is not None and typed.kind == WALL:
        return 0.0
    if typed is not None and typed.face_width is not None:
        return typed.face_width
    own = post_assembly(reading, mark, assembly)
    return own.sleeve_width or own.post_width or 0.0


def is_post(reading: Reading, mark: str) -> bool:
    """Whether that support is a post, over which caps run."""
    typed = reading.supports.get(mark)
    return typed is None or (typed.kind or POST) == POST
