"""Skews: how far a run is turned off the face of its support at each end, and its formulas.

A run whose supports it meets square has none of them, only the condition that it still does.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import when_known
from railbook.basics.double_entry import Column
from railbook.basics.joins import Join, written
from railbook.basics.kinds import ANGLE, COUNT
from railbook.geometry import turned_posts
from railbook.geometry.turned_posts import LEAST, TurnedPost, askew, side_of
from railbook.job import runs
from railbook.job.runs import Run

JOINS = {
    "typed": Join(runs.TAB, "run_row", "typed"),
    "from_turned": Join(turned_posts.TAB, "from_turned_row", "from_turned", maybe=True),
    "to_turned": Join(turned_posts.TAB, "to_turned_row", "to_turned", maybe=True),
}


def skew(direction: float | None, support: TurnedPost | None) -> float:
    """How far a run is turned off the face that it meets, clockwise positive; 0 while that is not known [degrees]."""
    known = when_known(askew, direction, None if support is None else support.bearing)
    return 0.0 if known is None else known


def cosine(skewed: float) -> float:
    """What a width square to the face is of the same along the run.

    >>> cosine(0.0), round(cosine(60.0), 12)
    (1.0, 0.5)
    """
    return math.cos(math.radians(skewed)) if skewed else 1.0


def over_excel(end: str, side: int) -> str:
    """Formula part: over that cosine, at an end that was found askew.

    >>> over_excel("from", 1), over_excel("to", 0)
    ('/COS(RADIANS({from_skew}))', '')
    """
    return f"/COS(RADIANS({{{end}_skew}}))" if side else ""


def skew_excel(end: str) -> str:
    """Formula part: the twin of `skew`, in joined words."""
    figures = f"{{typed.direction}},{{{end}_turned.bearing}}"
    return f"IF(COUNT({figures})<2,0,MOD({{typed.direction}}-{{{end}_turned.bearing}}+45,90)-45)"


def turns_excel(end: str, side: int) -> str:
    """Formula part: whether an end is now askew to another side than was found."""
    now = skew_excel(end)
    return written(f"IF(ABS({now})<={LEAST:g},0,SIGN({now}))<>{side}", JOINS, {})


@dataclass(frozen=True, kw_only=True)
class AskewEnds:
    """How one run meets its two supports.

    Attributes:
        typed: what was measured of it.
        from_turned: how the From support is turned, at `from_turned_row` of Working turned posts; None: not asked.
        from_side: 1 or -1 where the run was found askew there, by the sign of its angle; 0: square. To alike.
    """

    typed: Run
    from_turned: TurnedPost | None = None
    from_turned_row: int | None = None
    from_side: int = 0
    to_turned: TurnedPost | None = None
    to_turned_row: int | None = None
    to_side: int = 0

    @cached_property
    def from_skew(self) -> float:
        """How far the run is turned off the From support's face, clockwise positive; 0 where it is square [degrees]."""
        return skew(self.typed.direction, self.from_turned) if self.from_side else 0.0

    @cached_property
    def to_skew(self) -> float:
        """The same at To."""
        return skew(self.typed.direction, self.to_turned) if self.to_side else 0.0

    @property
    def turns_otherwise(self) -> bool:
        """Whether an end is askew to another side than was found, or no longer, or now."""
        found = (self.from_turned, self.from_side), (self.to_turned, self.to_side)
        return any(side_of(skew(self.typed.direction, support)) != side for support, side in found)

    @property
    def turns_otherwise_excel(self) -> str:
        """Formula part of the same."""
        ends = ("from", self.from_turned, self.from_side), ("to", self.to_turned, self.to_side)
        return ",".join(turns_excel(end, side) for end, support, side in ends if support) or "FALSE"

    @property
    def from_over_excel(self) -> str:
        """Formula part: over the cosine of the From end's skew, where it has one."""
        return over_excel("from", self.from_side)

    @property
    def to_over_excel(self) -> str:
        """The same at To."""
        return over_excel("to", self.to_side)


COLUMNS = (
    Column("from_turned_row", "From turned by row", COUNT),
    Column("to_turned_row", "To turned by row", COUNT),
    Column("from_skew", "From askew by", ANGLE, "=" + written(skew_excel("from"), JOINS, {}), when="from_side"),
    Column("to_skew", "To askew by", ANGLE, "=" + written(skew_excel("to"), JOINS, {}), when="to_side"),
)
