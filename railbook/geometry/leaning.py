"""Leaning posts: what a lean does to heights, on plain numbers, with the same as parts of formulas.

x runs from a face of the post along the run, away from the post, at the surface; a face that leans by alpha, + when
its top leans away from the run, is at x = -z tan(alpha) at height z. The underside of a cap rises by tau for each unit
of x, so that it meets the face at F / (1 + tau tan(alpha)), F its height over the foot of the face. Everything that is
plumb over a place of the surface is divided by the same at the place where it meets the post, slopes among it as the
post sees them. Measured along its width the post is level p / cos(alpha) wide.

A lean that rails are cut to is the one that heights follow: it is the face as it was taped.
"""

import math
from typing import NamedTuple

from railbook.basics.blank import or_zero, when_known
from railbook.geometry.lifts import FROM, TO, half_of, lift_of, rise_away
from railbook.geometry.measures import Measures
from railbook.job.runs import Run


def swung(*, rise: float, lean: float) -> float:
    """What a height over the foot of a face becomes where it meets the face.

    Args:
        rise: of what meets it, for each level unit walked away from the post.
        lean: of the face, + when its top leans away from the run [degrees].

    On the level nothing; by hand, up 3 in 4 a face that leans away by 45 degrees is met at four sevenths.

    >>> swung(rise=0.0, lean=45.0), round(7 * swung(rise=0.75, lean=45.0), 9)
    (1.0, 4.0)
    """
    return 1 / (1 + rise * math.tan(math.radians(lean)))


def wide(lean: float) -> float:
    """Level width of a post for each unit of its width.

    >>> wide(0.0), round(wide(60.0), 9)
    (1.0, 2.0)
    """
    return 1 / math.cos(math.radians(lean))


def along(lean: float, sideways: float) -> float:
    """Length along a post for each unit of height.

    Args:
        lean: along the run [degrees].
        sideways: square to it [degrees].

    >>> along(0.0, 0.0), round(along(45.0, 45.0) ** 2, 9)
    (1.0, 3.0)
    """
    return math.hypot(1.0, math.tan(math.radians(lean)), math.tan(math.radians(sideways)))


class Over(NamedTuple):
    """The cap of a run over the post at one of its ends; lengths in the job's unit.

    Attributes:
        lift: of the cap over the foot of the post, less the guard's height; None while that is not measured.
        rise: what the cap gains for each level unit walked away from the post.
        half: from the middle of the post to its face.
        lean: of the post, + when its top leans away from the run [degrees].
    """

    lift: float | None
    rise: float
    half: float
    lean: float = 0.0

    @property
    def _wider(self) -> float:
        """What half of the post is wider along the level."""
        return self.half * (wide(self.lean) - 1)

    def middle(self, height: float | None) -> float | None:
        """Underside of the cap where the middle of the post meets it, by the height of its guard.

        By hand: a cap of 3 in 4 that stands 35 over the foot of a post, which leans away by 45 degrees, at 4/7 of it.

        >>> Over(-1.0, 0.75, 0.0).middle(36.0), round(Over(-1.0, 0.75, 0.0, 45.0).middle(36.0), 9)
        (35.0, 20.0)
        """
        turned = swung(rise=self.rise, lean=self.lean)
        return when_known(lambda own, lift: (own + lift - self.rise * self._wider) * turned, height, self.lift)

    def height(self, middle: float | None) -> float | None:
        """Height of the guard whose cap is met there: the other way round.

        >>> round(Over(-1.0, 0.75, 0.0, 45.0).height(20.0), 9)
        36.0
        """
        turned = swung(rise=self.rise, lean=self.lean)
        return when_known(lambda met, lift: met / turned - lift + self.rise * self._wider, middle, self.lift)


def over(measures: Measures, end: str, lean: float) -> Over:
    """The cap of a run over the post at one of its ends, which leans so [degrees]."""
    return Over(lift_of(measures, end), rise_away(measures, end), half_of(measures, end), lean)


def recorded_ends(run: Run) -> tuple[str, ...]:
    """Ends of a run at which somebody took the lean of its support.

    >>> recorded_ends(Run()), recorded_ends(Run(lean_to=0.0))
    ((), ('to',))
    """
    return tuple(end for end, lean in ((FROM, run.lean_from), (TO, run.lean_to)) if lean is not None)


def tangent_excel(lean: str) -> str:
    """Formula part: tangent of a lean.

    >>> tangent_excel("{lean}")
    'TAN(RADIANS({lean}))'
    """
    return f"TAN(RADIANS({lean}))"


def wide_excel(lean: str) -> str:
    """Formula part: what a width is multiplied by, the twin of `wide`."""
    return f"/COS(RADIANS({lean}))"


def swung_excel(rise: str, lean: str) -> str:
    """Formula part: what a height is multiplied by, the twin of `swung`."""
    return f"/(1+{rise}*{tangent_excel(lean)})"


def rise_excel(tangent: str, end: str) -> str:
    """Formula part: what a cap gains for each level unit walked away from the post at an end of its run."""
    return tangent if end == FROM else f"(-{tangent})"


def over_excel(height: str, lift: str, rise: str, face: str, lean: str) -> str:
    """Formula part: the twin of `Over.middle`."""
    return f"({height}+{lift}-{rise}*{_wider(face, lean)}){swung_excel(rise, lean)}"


def from_post_excel(middle: str, lift: str, rise: str, face: str, lean: str) -> str:
    """Formula part: the twin of `Over.height`."""
    return f"({middle})*(1+{rise}*{tangent_excel(lean)})-{lift}+{rise}*{_wider(face, lean)}"


def taped_excel(cell: str) -> str:
    """Formula part: a recorded lean; a blank is plumb."""
    return or_zero(cell)


def _wider(face: str, lean: str) -> str:
    """Formula part: what half of a post is wider along the level."""
    return f"{face}/2*(1{wide_excel(lean)}-1)"
