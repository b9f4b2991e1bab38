"""How the post at an end of a run leans, and what its heights, cuts and widths are multiplied by.

Along the run it leans as the rails there are cut; square to it as another run has it that meets it square. Posts
between sections are new, so they stand plumb.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.geometry.leaning import along, swung, wide
from railbook.geometry.lifts import FROM, rise_away
from railbook.geometry.lines import Line


def lean_at(line: Line, end: str) -> float:
    """Lean that the rails of a run are cut to at one of its ends, + when the top leans away from the run [degrees]."""
    return line.lean.from_lean if end == FROM else line.lean.to_lean


@dataclass(frozen=True)
class PostLean:
    """The lean of one post, seen along the run that sets its height.

    Attributes:
        line: that run.
        end: which end of it; empty for a post between sections.
        side: a run that meets the post square to it and recorded a lean, at its end `side_end`; None where none did.
    """

    line: Line
    end: str
    side: Line | None
    side_end: str

    @property
    def leans(self) -> bool:
        """Whether a lean was recorded; a post of which none was stands plumb."""
        return bool(self.end) and (bool(self.line.guard.leans(self.end)) or self.side is not None)

    @cached_property
    def lean(self) -> float:
        """Along the run [degrees]."""
        return lean_at(self.line, self.end) if self.line.guard.leans(self.end) else 0.0

    @cached_property
    def sideways(self) -> float:
        """Square to it [degrees]."""
        return 0.0 if self.side is None else lean_at(self.side, self.side_end)

    @cached_property
    def uphill(self) -> float:
        """Along the run, + when the top leans uphill, on the level to the right [degrees]."""
        return -self.lean if self.end == FROM else self.lean

    @cached_property
    def swung(self) -> float:
        """What a height over the foot of the post becomes where it meets the post."""
        return swung(rise=rise_away(self.line.measures, self.end), lean=self.lean)

    @cached_property
    def along(self) -> float:
        """Length along the post for each unit of height."""
        return along(self.lean, self.sideways)

    @cached_property
    def wide(self) -> float:
        """Its level width for each unit of its width."""
        return wide(self.lean)

    def foot(self, slope: float) -> float:
        """What a foot on a surface of that slope gains across the post, uphill, for each unit of its width."""
        return math.tan(math.radians(slope + self.uphill))
