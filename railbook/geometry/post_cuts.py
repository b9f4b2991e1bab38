"""Cuts of the top and the foot of a post, from square, along the run that sets its height.

A post that leans is square neither to a level surface nor to a level cap, so that both its ends are cut by its lean.
"""

from functools import cached_property

from railbook.geometry.post_bends import PostBend, in_words
from railbook.geometry.post_top_words import uphill_excel
from railbook.geometry.post_tops import ON_LEVEL, ON_RAMP
from railbook.job.supports import POST


class PostCut(PostBend):
    """The cuts of one post; None for what is no post [degrees]."""

    @cached_property
    def top_angle(self) -> float | None:
        """Cut of its top at the saw, from square; a bent top is shaped by hand. None for what is no post [degrees]."""
        if self.kind != POST:
            return None
        if self.proud is not None or self.worked.is_bent:
            return 0.0
        return (0.0 if self.stands == ON_LEVEL else self.line.measures.slope_angle) + self.worked.leaning.uphill

    @property
    def top_angle_excel(self) -> str:
        """Formula part of the same, where it is not square."""
        slope = 'IF({stands}="Level",0,{line.slope_angle})' if self.worked.leans else "{line.slope_angle}"
        return in_words(f"{slope}{self.uphill_excel}")

    @property
    def level_excel(self) -> str:
        """Formula part: a level top is a square one, unless the post leans."""
        return "" if self.worked.leans else '{stands}="Level",'

    @property
    def uphill_excel(self) -> str:
        """Formula part: what a lean adds to the cuts of both ends."""
        return uphill_excel(self.worked.leaning.end) if self.worked.leans else ""

    @property
    def slopes(self) -> str:
        """Along which run its top slopes, bends or is cut to its lean; empty where it is square."""
        if self.kind != POST or self.proud is not None or (self.stands == ON_LEVEL and not self.worked.leans):
            return ""
        return self.line.run if self.worked.bent is None else " to ".join(each.run for each in self.worked.bent)

    @cached_property
    def foot_angle(self) -> float | None:
        """Cut of its foot, from square: on a ramp it stands on the slope, one that leans is not square [degrees]."""
        if self.kind != POST:
            return None
        return (self.line.measures.slope_angle if self.stands == ON_RAMP else 0.0) + self.worked.leaning.uphill

    @property
    def across_angle(self) -> float | None:
        """Cut of both ends square to that run, where it leans sideways too; None where it stands plumb [degrees]."""
        return abs(self.worked.leaning.sideways) if self.kind == POST and self.worked.leans else None

    @property
    def across_excel(self) -> str:
        """Formula part of the same."""
        return in_words(f'IF({{kind}}<>"Post","",{self.worked.words.across})')
