"""How much work is left: counted, not timed, so that the same question gets the same plan on a busy machine too.

Behind the count stands the processor's clock, which tells the time that this program had of the machine: the
clock on the wall goes on while other programs have it.
"""

import math
import time
from dataclasses import dataclass

PATIENCE = 8.0  # so many times the seconds of work may pass on the clock; no call of the solver took over 4.2


@dataclass
class Effort:
    """Work that may be done, in seconds of one core of the machine on which the rates of each step were measured.

    Attributes:
        most: how much [s].
        ends: when the clock stops it in any case, as `time.process_time` tells it [s].
        whole: what this is a part of.
        done: so much so far [s].

    >>> effort = Effort(10.0)
    >>> part = effort.part(4.0)
    >>> part.spend(3.0)
    >>> part.left, effort.left, effort.over
    (1.0, 7.0, False)
    """

    most: float
    ends: float = math.inf
    whole: "Effort | None" = None
    done: float = 0.0

    def spend(self, seconds: float) -> None:
        """Count work that was done."""
        self.done += seconds
        if self.whole:
            self.whole.spend(seconds)

    @property
    def left(self) -> float:
        """What is left of it, never negative [s]."""
        here = max(0.0, self.most - self.done)
        return min(here, self.whole.left) if self.whole else here

    @property
    def over(self) -> bool:
        """Whether nothing is left, or the clock has run out."""
        return self.left <= 0 or self.out_of_time

    @property
    def out_of_time(self) -> bool:
        """Whether the clock has run out."""
        return time.process_time() >= self.ends

    def part(self, seconds: float) -> "Effort":
        """A part of it, from now on; what is done there is done here too."""
        return Effort(seconds, self.ends, self)


def clock_for(seconds: float) -> float:
    """When the clock stops so many seconds of work in any case, as `time.process_time` tells it [s]."""
    return time.process_time() + PATIENCE * seconds
