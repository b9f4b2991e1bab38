"""Runs with everything that they name looked up: assembly, flight, supports, and how those are turned."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.double_entry import first_rows
from railbook.geometry.flights import FlightWorking
from railbook.geometry.measures import Measures
from railbook.geometry.turned_posts import Askew, TurnedPost, side_of
from railbook.job.build import Job
from railbook.job.runs import Run


@dataclass(frozen=True)
class _Site:
    """What runs may name, and mark -> row counted from 1 for each; the first wins, as MATCH finds it."""

    job: Job
    flights: Sequence[FlightWorking]
    turned: Sequence[TurnedPost]

    @cached_property
    def limits(self) -> Mapping[str, float]:
        """Limits in force."""
        return self.job.in_force

    @cached_property
    def run_rows(self) -> Mapping[str, int]:
        """Rows of tab Runs."""
        return first_rows([run.run for run in self.job.runs])

    @cached_property
    def flight_rows(self) -> Mapping[str, int]:
        """Rows of the working flights."""
        return first_rows([flight.flight for flight in self.flights])

    @cached_property
    def assembly_rows(self) -> Mapping[str, int]:
        """Rows of tab Assemblies."""
        return first_rows([assembly.assembly for assembly in self.job.assemblies])

    @cached_property
    def support_rows(self) -> Mapping[str, int]:
        """Rows of tab Supports."""
        return first_rows([support.support for support in self.job.supports])

    @cached_property
    def turned_rows(self) -> Mapping[str, int]:
        """Rows of the working turned posts."""
        return first_rows([post.support for post in self.turned])

    def measures(self, run: Run, found: Askew) -> Measures:
        """One run's working measures."""
        flight_row = self.flight_rows.get(run.flight or "")
        assembly_row = self.assembly_rows[run.assembly or ""]
        from_row = self.support_rows.get(run.from_support or "", 0)
        to_row = self.support_rows.get(run.to_support or "", 0)
        from_turned, to_turned = (self.turned_rows.get(mark or "") for mark in (run.from_support, run.to_support))
        return Measures(
            run=run.run,
            run_row=self.run_rows[run.run],
            typed=run,
            assembly=self.job.assemblies[assembly_row - 1],
            assembly_row=assembly_row,
            flight=self.flights[flight_row - 1] if flight_row else None,
            flight_row=flight_row,
            from_typed=self.job.supports[from_row - 1] if from_row else None,
            from_row=from_row,
            to_typed=self.job.supports[to_row - 1] if to_row else None,
            to_row=to_row,
            limits=self.limits,
            from_turned=self.turned[from_turned - 1] if from_turned else None,
            from_turned_row=from_turned,
            from_side=found.at_from,
            to_turned=self.turned[to_turned - 1] if to_turned else None,
            to_turned_row=to_turned,
            to_side=found.at_to,
        )


def measures_of(
    job: Job, flights: Sequence[FlightWorking], turned: Sequence[TurnedPost], found: Mapping[str, Askew]
) -> tuple[Measures, ...]:
    """The working measures of each of the runs that were looked at, askew at their ends as found there."""
    site = _Site(job, flights, turned)
    known = {run.run: run for run in reversed(job.runs)}
    return tuple(site.measures(known[mark], sides) for mark, sides in found.items() if mark in known)


def find_askew(
    job: Job, flights: Sequence[FlightWorking], turned: Sequence[TurnedPost], runs: Sequence[Run]
) -> dict[str, Askew]:
    """Run -> to which side it is askew at both its ends."""
    either = {run.run: Askew(1, 1) for run in runs}
    return {
        each.run: Askew(side_of(each.from_skew), side_of(each.to_skew))
        for each in measures_of(job, flights, turned, either)
    }
