"""Small jobs, worked through the whole engine, for tests that look at single figures."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from railbook import estimate
from railbook.basics.problem import Problem
from railbook.checks.check import Check, Demand
from railbook.geometry.sections import Section
from railbook.job import starters
from railbook.job.assemblies import Assembly
from railbook.job.build import Job, build
from railbook.job.fastenings import Fastening
from railbook.job.flights import Flight
from railbook.job.limits import Limit
from railbook.job.prices import Price
from railbook.job.runs import FINISHED, LEVEL, OPEN, OWN, RAMP, STAIR, Run
from railbook.job.settings import Settings
from railbook.job.supports import Support

SIXTEENTH = 1 / 16
PLAIN = Settings(job_name="TEST", tape_step=SIXTEENTH)  # no fit allowance, no margin
WOOD, COMPOSITE, METAL = starters.assemblies("in")


class Worked(NamedTuple):
    """A job with everything that the engine says of it."""

    job: Job
    choices: estimate.Choices
    rows: Mapping[str, Sequence[Any]]
    problems: tuple[Problem, ...]

    def only(self, tab: str) -> Any:
        """The one row of a tab."""
        (row,) = self.rows[tab]
        return row

    @property
    def sections(self) -> list[Section]:
        """Every section, without what is counted along it."""
        return [each.of for each in self.rows["sections"]]

    def section(self, mark: str) -> Section:
        """The section of that mark."""
        (section,) = [each for each in self.sections if each.section == mark]
        return section

    def row(self, tab: str, **wanted: object) -> Any:
        """The one row of a tab that has these values."""
        (row,) = [each for each in self.rows[tab] if all(getattr(each, k) == v for k, v in wanted.items())]
        return row

    def check(self, demand: Demand, where: str = "") -> Check:
        """The one check of that demand, of that part where there are several."""
        (check,) = [each for each in self.rows["code_checks"] if each.asked == demand and each.where.startswith(where)]
        assert isinstance(check, Check)
        return check


def level(clear: float, **changes: Any) -> Run:
    """A level run A between posts P1 and P2."""
    run = Run(
        run="A", kind=LEVEL, from_support="P1", to_support="P2", assembly=WOOD.assembly, measured_to=FINISHED,
        clear_bottom=clear, clear_top=clear, stair_side=OPEN, drop=48.0, height=OWN,
    )  # fmt: skip
    return replace(run, **changes)


def stair(clear: float, rise: float, **changes: Any) -> Run:
    """A stair run S of flight F1 between posts P1 and P2."""
    wanted = {"run": "S", "kind": STAIR, "flight": "F1", "rise": rise, "lower_setback": 3.0} | changes
    return level(clear, **wanted)


def ramp(clear: float, rise: float, **changes: Any) -> Run:
    """A ramp run R between posts P1 and P2."""
    wanted = {"run": "R", "kind": RAMP, "rise": rise} | changes
    return level(clear, **wanted)


def flight(riser: float, tread: float, risers: int = 7, **changes: Any) -> Flight:
    """A flight F1 of equal risers and treads, without overhang."""
    even = Flight(flight="F1", risers=risers, riser=riser, tread=tread, nosing_overhang=0.0, open_risers="No")
    return replace(even, **changes)


def tabs(
    *runs: Run,
    assemblies: Sequence[Assembly] = (WOOD, COMPOSITE, METAL),
    flights: Sequence[Flight] = (),
    supports: Sequence[Support] = (),
    settings: Settings = PLAIN,
    amendments: Mapping[str, float] | None = None,
    prices: Sequence[Price] = (),
    fastenings: Sequence[Fastening] = (),
) -> dict[str, Sequence[Any]]:
    """Typed rows by tab name, as reading a workbook gives them."""
    return {
        "job": [settings],
        "runs": runs,
        "flights": flights,
        "supports": supports,
        "assemblies": assemblies,
        "prices": prices,
        "fastenings": fastenings,
        "rules": tuple(Limit(limit=word, amendment=value) for word, value in (amendments or {}).items()),
    }


def work(*runs: Run, **more: Any) -> Worked:
    """Build, choose and lay out, as the estimate does."""
    job, problems = build(tabs(*runs, **more))
    assert job is not None, problems
    choices, undivided = estimate.choose(job, seconds=1.0)
    problems = (*problems, *undivided)
    return Worked(job, choices, estimate.lay_out(job, choices, problems), problems)
