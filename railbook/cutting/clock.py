"""How much time is left."""

import time
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Clock:
    """A stretch of time that started when this was made [s].

    >>> Clock(0.0).over, Clock(60.0).over, Clock(60.0).part(0.0).over
    (True, False, True)
    """

    seconds: float
    started: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float:
        """What is left of it [s]."""
        return self.started + self.seconds - time.monotonic()

    @property
    def over(self) -> bool:
        """Whether nothing is left."""
        return self.left <= 0

    def part(self, seconds: float) -> "Clock":
        """A stretch from now on, no longer than what is left."""
        return Clock(min(seconds, max(self.left, 0.0)))
