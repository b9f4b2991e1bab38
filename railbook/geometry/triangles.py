"""Triangles: the opening between riser, tread and bottom rail, and the largest sphere that passes it."""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import or_zero, when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join, through
from railbook.basics.kinds import LENGTH
from railbook.basics.rounding import floor
from railbook.basics.units import tape_text
from railbook.geometry.guards import Guard
from railbook.geometry.measures import JOINS
from railbook.job import flights as typed_flights
from railbook.job.assemblies import YES
from railbook.job.runs import STAIR


def triangle_sphere(*, riser: float, tangent: float, clearance: float, overhang: float) -> float:
    """Largest sphere in the triangle of riser, tread and bottom rail [job unit].

    Args:
        riser: the largest riser.
        tangent: of the slope.
        clearance: nosing line to the underside of the rail, plumb.
        overhang: nosing in front of the riser.

    The incircle of a right triangle: for a 7.5 in riser on a 10 in tread it is exactly 5 in when the
    rail lies on the nosings and exactly 6 in at 1.5 in clearance (3-4-5 triangles, by hand).

    >>> triangle_sphere(riser=7.5, tangent=0.75, clearance=0.0, overhang=0.0)
    5.0
    >>> triangle_sphere(riser=7.5, tangent=0.75, clearance=1.5, overhang=0.0)
    6.0
    """
    plumb = riser + clearance + overhang * tangent
    level = plumb / tangent
    return plumb + level - math.hypot(plumb, level)


@dataclass(frozen=True)
class Triangle:
    """The triangles under one run; lengths in the job's unit, None off the stairs or where one is missing.

    Attributes:
        guard: its working guard.
    """

    guard: Guard

    @property
    def is_stair(self) -> bool:
        """Whether it is a stair; another kind asks for another run."""
        return self.guard.kind == STAIR

    @cached_property
    def triangle(self) -> float | None:
        """Largest sphere in the triangle, with the measured overhang or as if there were none."""
        return self._triangle(self._overhang or 0.0)

    @cached_property
    def triangle_doubt(self) -> float | None:
        """The same with the greatest overhang allowed, where the overhang was not measured."""
        if self._overhang is not None:
            return None
        return self._triangle(self.guard.measures.limits["overhang_greatest"])

    @cached_property
    def _overhang(self) -> float | None:
        return None if self.guard.measures.flight is None else self.guard.measures.flight.overhang

    @cached_property
    def step_height(self) -> float | None:
        """Plumb from a tread up to the line through the nosings: the largest riser, or more over a longer tread.

        A tread longer than the others brings the next nosing out, so the one behind it lies deeper under the line.
        """
        flight = self.guard.measures.flight
        if self.guard.kind != STAIR or flight is None or flight.riser_largest is None:
            return None
        return max(flight.riser_largest, (flight.tread_largest or 0.0) * self.guard.tangent)

    def _triangle(self, overhang: float) -> float | None:
        return when_known(
            lambda step: triangle_sphere(
                riser=step, tangent=self.guard.tangent, clearance=self.guard.clearance, overhang=overhang
            ),
            self.step_height,
        )

    @cached_property
    def clearance_passing(self) -> float | None:
        """Clearance at which the triangle just lets its limit through: it must stay under this."""
        overhang = self._overhang or 0.0
        return when_known(
            lambda step: (
                self.triangle_limit * self.guard.tangent / (self.guard.tangent + 1 - self.guard.secant)
                - step
                - overhang * self.guard.tangent
            ),
            self.step_height,
        )

    @property
    def clearance_text(self) -> str:
        """The greatest clearance on the tape at which the triangle passes with a step of the tape to spare."""
        step, passing = self.guard.settings.tape_step, self.clearance_passing or 0.0
        grows = (
            self.guard.tangent + 1 - self.guard.secant
        ) / self.guard.tangent  # of the sphere, for each unit of clearance
        spare = max(0.0, passing - step / grows)
        return tape_text(floor(spare / step) * step, step, self.guard.settings.unit)

    @property
    def limit_word(self) -> str:
        """The limit that the sphere is held against; with open risers that of balusters."""
        flight = self.guard.measures.flight
        is_open = flight is not None and flight.typed.open_risers == YES
        return "stair_sphere" if is_open else "triangle_sphere"

    @cached_property
    def triangle_limit(self) -> float:
        """Limit of that sphere."""
        return self.guard.measures.limits[self.limit_word]


def _sphere(overhang: str) -> str:
    """Formula part: largest sphere of the triangle for that overhang."""
    plumb = "({step_height}+{clearance}+" + overhang + "*{tangent})"
    return plumb + "+" + plumb + "/{tangent}-SQRT(" + plumb + "^2+(" + plumb + "/{tangent})^2)"


PART = Part(
    "lines",
    Triangle,
    (
        Column(
            "step_height", "Tread to the nosing line", LENGTH,
            '=IF({no_step},"",IF({flight.tread_largest}="",{flight.riser_largest},'
            "MAX({flight.riser_largest},{flight.tread_largest}*{tangent})))",
            when="is_stair",
        ),
        Column(
            "triangle", "Triangle passes", LENGTH,
            '=IF({step_height}="","",' + _sphere(or_zero("{flight.overhang}")) + ")",
            when="is_stair",
        ),
        Column(
            "triangle_doubt", "With most overhang", LENGTH,
            '=IF({step_height}="","",IF({flight.overhang}<>"","",' + _sphere("{overhang_greatest}") + "))",
            when="is_stair",
        ),
        Column(
            "clearance_passing", "Clearance must be under", LENGTH,
            '=IF({triangle}="","",{triangle_limit}*{tangent}/({tangent}+1-{secant})'
            "-{step_height}-" + or_zero("{flight.overhang}") + "*{tangent})",
            when="is_stair",
        ),
        Column(
            "triangle_limit", "Triangle limit", LENGTH,
            '=IF(IF({flight_row}="",FALSE,{steps.open_risers}="Yes"),{stair_sphere},{triangle_sphere})',
        ),
    ),
    joins={
        **through("guard.measures", JOINS),
        "steps": Join(typed_flights.TAB, "flight.flight_row", "guard.measures.flight.typed", maybe=True),
    },
    terms={"no_step": 'IF({flight_row}="",TRUE,{flight.riser_largest}="")'},
)  # fmt: skip
