"""A page of text and line drawings as plain data: the trade says what, the report room draws it.

Drawings are in any unit of length, x to the right and y up, and both axes are always drawn to one scale.
"""

from dataclasses import dataclass
from typing import NamedTuple

Point = tuple[float, float]

OUTLINE = "outline"  # a built thing: post, board, house wall
SURFACE = "surface"  # what people walk on, and the ground
HIDDEN = "hidden"  # out of sight, or a line that only carries a dimension: dashed
MEASURE = "measure"  # a dimension: a thin line with a tick at both ends
POINTER = "pointer"  # from a label to the thing it names: a thin line without ticks
STYLES = (OUTLINE, SURFACE, HIDDEN, MEASURE, POINTER)

LEFT, RIGHT, ABOVE, BELOW, CENTRE = "left", "right", "above", "below", "center"
ALIGNS = (LEFT, RIGHT, ABOVE, BELOW, CENTRE)  # where the text stands, seen from its point


class Extent(NamedTuple):
    """A box that something fills [unit of the drawing]."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Bottom to top."""
        return self.top - self.bottom


@dataclass(frozen=True)
class Stroke:
    """Straight lines from point to point, in one of STYLES."""

    points: tuple[Point, ...]
    style: str = OUTLINE


@dataclass(frozen=True)
class Label:
    """A few words at a point; `align` is the side of the point on which they stand."""

    x: float
    y: float
    text: str
    align: str = CENTRE


class Term(NamedTuple):
    """A word of the drawing and what it means."""

    name: str
    meaning: str


@dataclass(frozen=True)
class Drawing:
    """One drawing under its title, with the words that it explains below it."""

    title: str
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...] = ()
    caption: tuple[Term, ...] = ()


class Passage(NamedTuple):
    """A heading and the sentences under it, each with its own bullet."""

    title: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Page:
    """A sheet to read: opening lines, drawings with their words, and closing lists."""

    title: str
    intro: tuple[str, ...]
    drawings: tuple[Drawing, ...]
    notes: tuple[Passage, ...] = ()
