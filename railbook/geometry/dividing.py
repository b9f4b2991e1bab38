"""Runs divided into sections, or refused: what makes a run impossible once it is worked out."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from railbook.basics.problem import Problem
from railbook.basics.units import tape_text
from railbook.geometry.askew_rails import room_on, widest
from railbook.geometry.division import Division, choose_treads
from railbook.geometry.guards import Guard
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.survey import SiteChoices, lines_of
from railbook.job.build import Job
from railbook.job.runs import STAIR

NOTHING = Division(0)


def divide(job: Job, guards: Sequence[Guard]) -> tuple[dict[str, Division], dict[str, str], list[Problem]]:
    """The sections of every run, and what they rest on; a problem for each that cannot be divided, and is left out."""
    divisions: dict[str, Division] = {}
    chosen_for: dict[str, str] = {}
    problems: list[Problem] = []
    for guard in guards:
        line = _undivided(job, guard)
        found = list(_guard_problems(line))
        division = None if found else _divide(line)
        if division is None:
            problems += found or [_not_divided(line)]
        else:
            divisions[guard.run], chosen_for[guard.run] = division, line.chosen_now
    return divisions, chosen_for, problems


def _guard_problems(line: Line) -> Iterator[Problem]:
    """What makes a run impossible once it is worked out."""
    guard, more = line.guard, line.lean.from_more + line.lean.to_more
    measures, at = guard.measures, guard.measures.typed.origin.cell
    if guard.opening is None and (measures.typed.lean_from is not None or measures.typed.lean_to is not None):
        yield Problem(at("upper_setback"), f"run {guard.run} leans, and the height of its rails is not known",
                      "fill in the upper setback, or Height: Own")  # fmt: skip
    if line.meets_corner:
        yield _corner_problem(line)
    if measures.clear + min(0.0, more) <= 2 * guard.fit:
        yield Problem(at("clear_bottom"), f"run {guard.run} has a clear of {measures.clear:g} between finished faces",
                      "measure it again, or see Measured to, Bracket fit and Fit allowance")  # fmt: skip
    elif guard.opening is not None and (guard.opening <= 0 or (guard.baluster_length or 0) <= 0):
        yield Problem(at("assembly"), f"run {guard.run} leaves no room between its rails: {guard.opening:g}",
                      "see heights, clearances and rail depths of its assembly")  # fmt: skip


def _corner_problem(line: Line) -> Problem:
    """A rail that is too wide for the face that it meets askew: it would end at the post's corner."""
    measures, settings = line.measures, line.guard.settings
    ends = (FROM, measures.typed.from_support, measures.from_skew), (TO, measures.typed.to_support, measures.to_skew)
    rooms = {end: room for end, _, _ in ends if (room := room_on(measures, end)) is not None}
    end = min(rooms, key=lambda each: rooms[each])
    mark, skew = next((mark, skew) for each, mark, skew in ends if each == end)
    wide, most = (
        tape_text(each, settings.tape_step, settings.unit) for each in (widest(measures, line.unit), rooms[end])
    )
    off = f"{abs(skew):.4g} degrees off its face, which holds a rail of {most} at most, not {wide}"
    what = f"run {line.run} meets the corner of post {mark}: {off}"
    remedy = "a wider post, a narrower rail (Top rail width), or a post turned otherwise (Post bearing); see Direction"
    return Problem(measures.typed.origin.cell("direction"), what, remedy)


def _undivided(job: Job, guard: Guard) -> Line:
    """The run as a line that nothing was chosen for yet."""
    choices = SiteChoices(
        job.settings.unit, job.settings.rule_set, (), {guard.run: NOTHING}, {guard.run: ""}, {}, (), (), {}, {}, {}, {}
    )
    return lines_of(job, (guard,), choices)[0]


def _divide(line: Line) -> Division | None:
    """Sections and, on stairs, treads of one run; None when it cannot be told."""
    wanted = line.sections_needed
    if wanted is None or wanted < 1 or not _leaves_room(line, wanted):
        return None
    if wanted == 1 or line.kind != STAIR:
        return Division(wanted)
    if line.treads is None:
        return None
    treads = choose_treads(wanted, line.room, line.treads)
    ascending = all(low < high for low, high in pairwise(treads))
    return Division(wanted, treads) if ascending and treads[0] >= 0 else None


def _leaves_room(line: Line, sections: int) -> bool:
    """Whether so many sections leave a rail in each, and on stairs a tread for every line post."""
    posts = (sections - 1) * line.measures.post_face
    if (line.measures.clear - posts) / sections <= 2 * line.guard.fit:
        return False
    return line.treads is None or sections - 1 <= line.treads.treads


def _not_divided(line: Line) -> Problem:
    """Why a run cannot be divided, in the user's words."""
    at = line.measures.typed.origin.cell
    if line.kind == STAIR and line.treads is None:
        return Problem(
            at("lower_setback"),
            f"run {line.run} is too long for one section, and its line posts must stand on treads",
            "fill in risers and tread on tab Flights, and the lower setback here",
        )
    return Problem(at("sections"), f"run {line.run} cannot be divided: no section fits between its posts",
                   "see Sections here, and Greatest post spacing and Post width of its assembly")  # fmt: skip
