"""Clears of sections: where each begins, its room between two supports, and how long its rails are in the middle.

A rail on a rake is a parallelogram: both ends are plumb cuts, both edges have one length. The length named is that of
the edge that meets the balusters: the underside of the top rail, the upper side of the bottom rail.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from railbook.geometry.lines import Line
from railbook.geometry.rails import edge_length
from railbook.job.assemblies import Assembly
from railbook.job.runs import STAIR


@dataclass(frozen=True)
class SectionClear:
    """One section; lengths in the job's unit.

    Attributes:
        section: its mark: run, dot, number from the From end.
        number: its place in the run, from 1.
        line: its run, at `line_row` of Working runs.
        lower_tread: stairs: tread of the line post at its lower end; None at the run's own support.
        upper_tread: the same at its upper end.
        like_row: the first section cut exactly like this one, counted from 1.
        first: that section; None when it is this one.
    """

    section: str
    run: str
    number: int
    line: Line
    line_row: int
    lower_tread: int | None
    upper_tread: int | None
    like_row: int
    first: Any = None

    @cached_property
    def of(self) -> int:
        """Number of sections of the run, as chosen."""
        return self.line.sections

    @cached_property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @cached_property
    def assembly(self) -> Assembly:
        """Its assembly."""
        return self.line.measures.assembly

    @cached_property
    def tangent(self) -> float:
        """Tangent of the slope."""
        return self.line.tangent

    @cached_property
    def secant(self) -> float:
        """Length along the slope for each unit of level length."""
        return self.line.secant

    @cached_property
    def lower_face(self) -> float:
        """Level distance from the run's From face to this section's lower face."""
        measures = self.line.measures
        if self.number == 1:
            return 0.0
        if self.lower_tread is None:
            return (self.number - 1) * (self._equal_clear + measures.post_face)
        return self._nosing(self.lower_tread) + measures.post_face

    def _nosing(self, tread: int) -> float:
        """Downhill face of a line post on that tread."""
        measures = self.line.measures
        behind = self.assembly.line_post_setback or 0.0
        return (measures.lower_setback or 0.0) + tread * (measures.tread or 0.0) + behind

    @cached_property
    def _equal_clear(self) -> float:
        measures = self.line.measures
        return (measures.clear - (self.of - 1) * measures.post_face) / self.of

    @cached_property
    def clear(self) -> float:
        """Level distance between its faces, low down."""
        if self.line.kind != STAIR or self.of == 1:
            return self._equal_clear
        upper = self.line.measures.clear if self.upper_tread is None else self._nosing(self.upper_tread)
        return upper - self.lower_face

    @property
    def is_first(self) -> bool:
        """Whether it begins at the run's From support."""
        return self.number == 1

    @property
    def is_last(self) -> bool:
        """Whether it ends at the run's To support."""
        return self.number == self.of

    @cached_property
    def lower_spread(self) -> float:
        """Gain of its lower face for each unit of height, by a recorded lean; a line post stands plumb."""
        return self.line.lean.from_spread if self.is_first else 0.0

    @cached_property
    def upper_spread(self) -> float:
        """The same at its upper face."""
        return self.line.lean.to_spread if self.is_last else 0.0

    @cached_property
    def clear_top(self) -> float:
        """Its clear along the middle of the top rail."""
        lean = self.line.lean
        return self.clear + (lean.from_more if self.is_first else 0.0) + (lean.to_more if self.is_last else 0.0)

    @cached_property
    def lower_more(self) -> float:
        """What its lower end has more where the balusters meet the top rail than where they meet the bottom one."""
        return self._more(self.lower_spread, self.line.lean.from_more if self.is_first else 0.0)

    @cached_property
    def upper_more(self) -> float:
        """The same at its upper end."""
        return self._more(self.upper_spread, self.line.lean.to_more if self.is_last else 0.0)

    def _more(self, spread: float, shared: float) -> float:
        return spread * (self.line.guard.opening or 0.0) if self.line.lean.recorded else shared

    @cached_property
    def top_meets(self) -> float:
        """Clear along the underside of the top rail, where the balusters meet it."""
        return self.clear_top - self._half(self.assembly.top_rail_depth) * (self.lower_spread + self.upper_spread)

    @cached_property
    def bottom_meets(self) -> float:
        """Clear along the upper side of the bottom rail."""
        return self.clear + self._half(self.assembly.bottom_rail_depth) * (self.lower_spread + self.upper_spread)

    def _half(self, depth: float | None) -> float:
        """Half the depth of a rail as it stands, plumb."""
        return (depth or 0.0) * self.secant / 2

    @cached_property
    def spacing(self) -> float:
        """Level distance between the centres of its supports; a wall counts with its face."""
        measures = self.line.measures
        low = measures.from_face if self.number == 1 else measures.post_face
        high = measures.to_face if self.number == self.of else measures.post_face
        return max(self.clear, self.clear_top) + (low + high) / 2

    @cached_property
    def top_edge(self) -> float:
        """Edge length of the top rail, on its underside."""
        return edge_length(clear=self.top_meets, fit=self.line.guard.fit, secant=self.secant)

    @cached_property
    def bottom_edge(self) -> float:
        """Edge length of the bottom rail, on its upper side."""
        return edge_length(clear=self.bottom_meets, fit=self.line.guard.fit, secant=self.secant)

    @cached_property
    def cap_edge(self) -> float:
        """Cap board between posts that stand proud, on its underside."""
        clear = self.clear_top + self._half(self.assembly.top_rail_depth) * (self.lower_spread + self.upper_spread)
        return edge_length(clear=clear, fit=self.line.guard.settings.fit_allowance, secant=self.secant)
