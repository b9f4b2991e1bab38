"""Build the job: every name found, every length possible. A run that cannot be laid out is left out."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeVar

from railbook.basics.kinds import INCH
from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Origin, Problem
from railbook.job import limits
from railbook.job.assemblies import ON_FACE, Assembly
from railbook.job.fastenings import Fastening
from railbook.job.flights import Flight
from railbook.job.handrail_runs import length_problems, size_problems
from railbook.job.leaning import lean_problems, shared_lean_problems
from railbook.job.limits import Limit
from railbook.job.not_laid_out import reason
from railbook.job.paid import Paid
from railbook.job.prices import Price
from railbook.job.runs import HANDRAIL, LEVEL, STAIR, Run
from railbook.job.settings import Settings
from railbook.job.supports import Support

Row = TypeVar("Row", Flight, Assembly, Support)


def _by_mark(rows: Iterable[tuple[str | None, Row]]) -> dict[str | None, Row]:
    """Mark -> row; the first wins, as a spreadsheet's MATCH finds it."""
    found: dict[str | None, Row] = {}
    for mark, row in rows:
        found.setdefault(mark, row)
    return found


@dataclass(frozen=True)
class Job:
    """What is to be built.

    Attributes:
        settings: what holds for the whole job.
        runs: every run that has a mark, in the order typed; `left_out` names those that cannot be laid out.
        limits: the rule set with its local amendments.
        fastenings: what goes into every joint.
        paid: what was really paid.
        unmarked: tab name -> rows without a mark of their own: copied, not computed.
    """

    settings: Settings
    runs: tuple[Run, ...]
    left_out: frozenset[str]
    flights: tuple[Flight, ...]
    supports: tuple[Support, ...]
    assemblies: tuple[Assembly, ...]
    prices: tuple[Price, ...]
    limits: tuple[Limit, ...]
    fastenings: tuple[Fastening, ...]
    unmarked: Mapping[str, tuple[Any, ...]]
    paid: tuple[Paid, ...] = ()

    @cached_property
    def in_force(self) -> Mapping[str, float]:
        """Word of a limit -> its value in force."""
        return {row.limit: row.in_force for row in self.limits}

    @cached_property
    def flight_of(self) -> Mapping[str | None, Flight]:
        """Mark -> flight."""
        return _by_mark((flight.flight, flight) for flight in self.flights)

    @cached_property
    def assembly_of(self) -> Mapping[str | None, Assembly]:
        """Mark -> assembly."""
        return _by_mark((assembly.assembly, assembly) for assembly in self.assemblies)

    @cached_property
    def support_of(self) -> Mapping[str | None, Support]:
        """Mark -> support that has a row of its own."""
        return _by_mark((support.support, support) for support in self.supports)

    @cached_property
    def run_marks(self) -> frozenset[str]:
        """Marks of all runs."""
        return frozenset(run.run for run in self.runs)

    @property
    def runs_listed(self) -> int:
        """Rows of tab Runs that show a mark, whether or not it is their own."""
        return len(self.runs) + sum(bool(row.origin.texts.get("run")) for row in self.unmarked.get("runs", ()))

    @property
    def runs_typed(self) -> int:
        """Rows of that tab that somebody filled in."""
        return len(self.runs) + len(self.unmarked.get("runs", ()))

    @property
    def sound_runs(self) -> tuple[Run, ...]:
        """The guards that can be laid out."""
        return tuple(run for run in self.runs if run.run not in self.left_out and run.kind != HANDRAIL)

    @property
    def sound_handrails(self) -> tuple[Run, ...]:
        """The runs of handrail alone that can be laid out."""
        return tuple(run for run in self.runs if run.run not in self.left_out and run.kind == HANDRAIL)


FINEST_INCH, COARSEST_MILLIMETRES = 64, 10.0
_KEYS = {"runs": "run", "flights": "flight", "supports": "support", "assemblies": "assembly"}


def build(rows: Mapping[str, Sequence[Any]]) -> tuple[Job | None, tuple[Problem, ...]]:
    """Build the job from typed rows, by tab name.

    Returns:
        the job, or None when its settings are missing; and what is wrong with it.
    """
    if not rows.get("job"):
        return None, ()
    settings: Settings = rows["job"][0]
    amendments = tuple(rows.get("rules", ()))
    in_force = limits.amended(settings.rule_set, settings.unit, amendments)
    spheres = [row.in_force for row in in_force if row.limit in ("level_sphere", "stair_sphere")]
    problems = tuple(_settings_problems(settings, spheres))
    if problems:
        return None, problems
    marked = {tab: tuple(row for row in rows.get(tab, ()) if getattr(row, key)) for tab, key in _KEYS.items()}
    unmarked = {tab: tuple(row for row in rows.get(tab, ()) if not getattr(row, key)) for tab, key in _KEYS.items()}
    job = Job(
        settings=settings,
        runs=marked["runs"],
        left_out=frozenset(),
        flights=marked["flights"],
        supports=marked["supports"],
        assemblies=marked["assemblies"],
        prices=tuple(rows.get("prices", ())),
        limits=in_force,
        fastenings=tuple(rows.get("fastenings", ())),
        unmarked=unmarked,
        paid=tuple(rows.get("paid", ())),
    )
    if not job.runs:
        return None, (Problem("Runs", "no run is filled in", "type one row for each straight line of guard", STOPS),)
    unknown = limits.unknown_amendments(settings.rule_set, settings.unit, amendments)
    sound, problems = _without_unsound(job)
    return sound, (*problems, *unknown)


def _settings_problems(settings: Settings, spheres: Sequence[float]) -> Iterator[Problem]:
    """What makes the settings useless; a needed cell that cannot be read stops the job on reading."""
    at = settings.origin.cell
    if not _is_on_tapes(settings.tape_step, settings.unit):
        yield Problem(at("tape_step"), f"tape step {settings.tape_step:g}", "type 1/16 in or 1 mm", STOPS)
    if settings.build_margin >= min(spheres) / 2:
        what = f"build margin {settings.build_margin:g} is half of the smallest opening limit or more"
        yield Problem(at("build_margin"), what, "type a small margin such as 1/16 in or 1.5 mm", STOPS)


def _is_on_tapes(step: float, unit: str) -> bool:
    """Whether a tape has such a step: a whole part of an inch down to 1/64, or up to 10 mm."""
    if unit == INCH:
        return step > 0 and 1 <= round(1 / step) <= FINEST_INCH and abs(1 / step - round(1 / step)) < 1e-9
    return 0 < step <= COARSEST_MILLIMETRES


def _without_unsound(job: Job) -> tuple[Job, tuple[Problem, ...]]:
    """The job with the runs named that cannot be laid out, and why."""
    problems: list[Problem] = []
    left_out: set[str] = set()
    for run in job.runs:
        found = list(run_problems(run, job))
        problems += found
        if run.origin.faulty or any(problem.severity == LEFT_OUT for problem in found):
            left_out.add(run.run)
    problems += _unused_sizes(job)
    problems += _unknown_assemblies(job)
    problems += shared_lean_problems([run for run in job.runs if run.kind != HANDRAIL and not run.origin.faulty])
    return replace(job, left_out=frozenset(left_out)), tuple(dict.fromkeys(problems))


def run_problems(run: Run, job: Job) -> Iterator[Problem]:
    """Everything wrong with one run, first its names, then its measurements."""
    if run.origin.faulty:  # each bad cell was reported when it was read
        why = reason(run.origin.texts.get("kind", ""))
        if why is not None:
            where, what = run.origin.cell("kind"), f"run {run.run}: this version does not lay it out: {why}"
            yield Problem(where, what, "lay it out by hand; the other runs are computed")
        return
    yield from _row_problems(run.assembly, job.assembly_of, "assembly", "Assemblies", run.origin)
    if run.flight is not None:
        yield from _row_problems(run.flight, job.flight_of, "flight", "Flights", run.origin)
    yield from _flight_problems(job.flight_of.get(run.flight))
    if run.kind == HANDRAIL:
        yield from _handrail_problems(run, job)
        return
    yield from _support_problems(run, job)
    yield from _assembly_problems(job.assembly_of.get(run.assembly))
    yield from _level_problems(run) if run.kind == LEVEL else _rake_problems(run, job)
    yield from lean_problems(run)
    if run.sections is not None and run.sections < 1:
        yield Problem(run.origin.cell("sections"), "0 sections", "type 1 or more, or leave it blank")


def _flight_problems(flight: Flight | None) -> Iterator[Problem]:
    """A flight that cannot be."""
    if flight is not None and flight.risers is not None and flight.risers < 1:
        yield Problem(flight.origin.cell("risers"), f"flight {flight.flight} has 0 risers",
                      "count them between the surfaces of the two posts, or leave it blank")  # fmt: skip


def _handrail_problems(run: Run, job: Job) -> Iterator[Problem]:
    """Sizes and measurements of a handrail; it has no supports, no sections and no leans."""
    assembly, flight = job.assembly_of.get(run.assembly), job.flight_of.get(run.flight)
    if assembly is not None and not assembly.origin.faulty:
        yield from size_problems(run, assembly)
    if run.flight is None or (flight is not None and not flight.origin.faulty):
        yield from length_problems(run, flight, has_pitch=_has_pitch(flight or Flight()))
    yield from _legs(run)


_GUARD_NEEDS = (
    ("from_support", "From", "type the mark of the support at its left or lower end"),
    ("to_support", "To", "type the mark of the support at its other end"),
    ("measured_to", "Measured to", "choose finished faces or bare posts"),
)


def _support_problems(run: Run, job: Job) -> Iterator[Problem]:
    """Supports of a guard that are not named, or that cannot be."""
    at = run.origin.cell
    for column, header, remedy in _GUARD_NEEDS:
        if getattr(run, column) is None:
            yield Problem(at(column), f"run {run.run} has no {header}", remedy)
    marks = {"from_support": run.from_support, "to_support": run.to_support}
    if run.from_support is not None and run.from_support == run.to_support:
        yield Problem(at("to_support"), f"run {run.run} goes from {run.from_support} to itself",
                      "give its two supports two marks")  # fmt: skip
    for column, mark in marks.items():
        before, slash, number = (mark or "").rpartition("/")
        if slash and number.isdigit() and before in job.run_marks:
            yield Problem(at(column), f"mark {mark} is what railbook calls a post between the sections of run {before}",
                          "give this support another mark")  # fmt: skip
        support = job.support_of.get(mark)
        if support is not None and support.origin.faulty:
            yield Problem(support.origin.cell("support"), f"support {mark} could not be read",
                          f"mend its row; run {run.run} needs it")  # fmt: skip


def _assembly_problems(assembly: Assembly | None) -> Iterator[Problem]:
    """Sizes of an assembly that cannot be."""
    if assembly is None:
        return
    if assembly.block_spacing is not None and assembly.block_spacing <= (assembly.block_width or 0.0):
        yield Problem(assembly.origin.cell("block_spacing"), f"block spacing {assembly.block_spacing:g} of assembly "
                      f"{assembly.assembly} is no more than the width of a block",
                      "type the greatest distance between blocks, or leave it blank for no blocks")  # fmt: skip
    if assembly.baluster_pitch is not None and assembly.baluster_pitch <= (assembly.baluster_width or 0.0):
        yield Problem(assembly.origin.cell("baluster_pitch"), f"fixed pitch {assembly.baluster_pitch:g} of assembly "
                      f"{assembly.assembly} is no more than the width of a baluster",
                      "type the distance from centre to centre, or leave it blank for equal gaps")  # fmt: skip


def _unused_sizes(job: Job) -> Iterator[Problem]:
    """Let-ins and seats of balusters that stand on the face of the rails, of the assemblies that guards use."""
    for mark in dict.fromkeys(run.assembly for run in job.sound_runs):
        assembly = job.assembly_of.get(mark)
        if assembly is None or assembly.baluster_place != ON_FACE:
            continue
        for column in ("let_in_top", "let_in_bottom", "seat_top", "seat_bottom"):
            if getattr(assembly, column):
                what = f"balusters of assembly {mark} stand on the face of the rails: let-ins and seats are not used"
                yield Problem(assembly.origin.cell(column), what, "clear it, or change Baluster place", LOOK)


def _unknown_assemblies(job: Job) -> Iterator[Problem]:
    """Fastenings of an assembly that is not there: the first row of each."""
    firsts: dict[str, Fastening] = {}
    for row in job.fastenings:
        if row.assembly is not None and row.assembly not in job.assembly_of:
            firsts.setdefault(row.assembly, row)
    for mark, row in firsts.items():
        what = f"fastenings are for assembly {mark}, which is not on tab Assemblies"
        remedy = "nothing to do if that railing was deleted; else use its mark there"
        yield Problem(row.origin.cell("assembly"), what, remedy, NOTE)


def _row_problems(
    mark: str | None,
    rows: Mapping[str | None, Assembly] | Mapping[str | None, Flight],
    column: str,
    tab: str,
    origin: Origin,
) -> Iterator[Problem]:
    """A row that the run names but that is missing or could not be read."""
    row = rows.get(mark)
    if row is None:
        known = ", ".join(str(each) for each in rows)
        remedy = f"use one of: {known}" if known else f"fill in tab {tab}"
        yield Problem(origin.cell(column), f"{column} {mark} is not on tab {tab}", remedy)
    elif row.origin.faulty:
        yield Problem(row.origin.cell(column), f"{column} {mark} could not be read", "mend the cells named above")


def _level_problems(run: Run) -> Iterator[Problem]:
    """Measurements of a level run."""
    at = run.origin.cell
    if run.clear_bottom is None and run.clear_top is None:
        yield Problem(at("clear_bottom"), f"run {run.run} has no clear", "measure it level, face to face")
    for column in ("rise", "slope_length", "angle"):
        if getattr(run, column) is not None:
            yield Problem(at(column), f"run {run.run} is level; this measurement is not used",
                          "clear it, or change Kind to Stair or Ramp", LOOK)  # fmt: skip


def _rake_problems(run: Run, job: Job) -> Iterator[Problem]:
    """Measurements of a stair or a ramp: enough of them, and possible ones."""
    yield from _legs(run)
    if run.kind == STAIR and run.flight is None:
        what = f"run {run.run} names no flight: post heights and the triangle stay blank"
        yield Problem(run.origin.cell("flight"), what, "add its flight on tab Flights and name it here", LOOK)
    yield from _slope_problems(run, run.clear_top if run.clear_bottom is None else run.clear_bottom, job)


def _legs(run: Run) -> Iterator[Problem]:
    """An angle, a rise or a clear that cannot be."""
    at = run.origin.cell
    clear = run.clear_top if run.clear_bottom is None else run.clear_bottom
    if run.angle is not None and not 0 < run.angle < 80:
        yield Problem(at("angle"), f"angle of {run.angle:g} degrees", "type the slope from level, such as 36.9")
    taped = "clear_top" if run.clear_bottom is None and run.clear_top is not None else "clear_bottom"
    for column, leg in (("rise", run.rise), (taped, clear)):
        if run.slope_length is not None and leg is not None and leg >= run.slope_length:
            yield Problem(at(column), f"{leg:g} is not shorter than the slope length {run.slope_length:g}",
                          "measure both again; the slope length is the longest of the three")  # fmt: skip


def _has_pitch(flight: Flight) -> bool:
    """Whether a flight has riser and tread."""
    has_riser = flight.riser is not None or (flight.total_rise is not None and bool(flight.risers))
    return has_riser and flight.tread is not None


def _slope_problems(run: Run, clear: float | None, job: Job) -> Iterator[Problem]:
    """Whether slope and clear can be found at all."""
    at = run.origin.cell
    flight = job.flight_of.get(run.flight, Flight())
    has_pitch = _has_pitch(flight)
    legs = sum(each is not None for each in (clear, run.rise, run.slope_length))
    if legs < 2 and run.angle is None and not has_pitch:
        what = "a rise without a clear" if run.rise is not None and legs == 1 else "too few measurements for a slope"
        yield Problem(at("rise"), f"run {run.run} has {what}",
                      "measure two of clear, rise and slope length, or the angle, or riser and tread")  # fmt: skip
        return
    by_flight = None not in (run.lower_setback, run.upper_setback, flight.tread, flight.risers)
    if legs == 0 and not by_flight:
        yield Problem(at("clear_bottom"), f"run {run.run} has no length",
                      "measure its clear, its rise or its slope length between the post faces")  # fmt: skip
