"""Cuts of the top and the foot of a post, from square, along the run that sets its height.

A post that leans is square neither to a level surface nor to a level cap, so that both its ends are cut by its lean.
"""

import math
from functools import cached_property

from railbook.basics.rounding import round_to, round_to_excel
from railbook.geometry.post_bends import PostBend, in_words
from railbook.geometry.post_top_words import uphill_excel
from railbook.geometry.post_tops import AT_LOWER_END, AT_UPPER_END, ON_LEVEL, ON_RAMP
from railbook.geometry.skews import cosine
from railbook.job.supports import POST

SLOPED = (AT_LOWER_END, AT_UPPER_END)


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
    def is_twisted(self) -> bool:
        """Whether its top slopes along a run that meets it askew, so that every corner has a height of its own."""
        return bool(self.worked.over_excel) and self.stands in SLOPED and not self.worked.is_bent

    def corner_of(self, width: float | None) -> float:
        """What the highest corner of a top stands above the middle of the higher face, to the tape.

        Args:
            width: of the post, or of its sleeve; 0 where every face is square to the slope.
        """
        if not self.is_twisted or self.proud is not None:
            return 0.0
        skew = math.radians(abs(self.worked.skew))
        out = math.cos(skew) + math.sin(skew) - 1 / math.cos(skew)  # in half widths, up the slope
        return round_to(self.settings.tape_step, self.line.tangent * (width or 0.0) / 2 * out)

    @property
    def post_corner(self) -> float:
        """The same of the post; without a sleeve it may have a width of its own."""
        seen = self.worked.face * cosine(self.worked.skew)
        return self.corner_of(self.assembly.post_width if self.sleeved else seen)

    @property
    def post_corner_excel(self) -> str:
        """Formula part: the same of the post, added; nothing where every face is square to the slope."""
        seen = f"{{face}}*COS(RADIANS({{line.{self.worked.leaning.end}_skew}}))"
        return self._corner_excel(f"IF({{sleeved}}=1,SUM({{assembly.post_width}}),{seen})")

    @property
    def sleeve_corner_excel(self) -> str:
        """Formula part: the same of its sleeve."""
        return self._corner_excel("SUM({assembly.sleeve_width})")

    def _corner_excel(self, width: str) -> str:
        if not self.is_twisted:
            return ""
        skew = f"RADIANS(ABS({{line.{self.worked.leaning.end}_skew}}))"
        gain = f"{{line.tangent}}*{width}/2*(COS({skew})+SIN({skew})-1/COS({skew}))"
        return in_words(f"+IF({{is_proud}},0,{round_to_excel(f'({gain})')})")

    @property
    def across_angle(self) -> float | None:
        """Cut of both ends square to that run, where it leans sideways too; None where it stands plumb [degrees]."""
        return abs(self.worked.leaning.sideways) if self.kind == POST and self.worked.leans else None

    @property
    def across_excel(self) -> str:
        """Formula part of the same."""
        return in_words(f'IF({{kind}}<>"Post","",{self.worked.words.across})')
