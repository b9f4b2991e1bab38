"""How far a screw reaches into what holds it, and what is left beyond its point.

A screw of length L with its head sunk by c passes the layers before the piece that holds it, and reaches p into that
piece: p = L + c - layers. It holds with six of its diameters, and stays inside while p is less than that piece by
1/4 in (6 mm). Under a raked rail a block's screw stands plumb, so that the rail of depth d is d/cos deep for it.
"""

from dataclasses import dataclass

from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.units import Refusal
from railbook.job.fastenings import Fastening, diameter

HOLDS = 6.0  # diameters of a wood screw in what holds it: NDS 12.1.5.6 (from memory)
INSIDE = {INCH: 0.25, MILLIMETRE: 6.0}  # left before a face that a hand meets: common practice, no source
UNDER_HEAD = {INCH: 0.75, MILLIMETRE: 18.0}  # wood that a wider hole leaves for the head: common practice, no source


@dataclass(frozen=True)
class Reach:
    """One screw through layers into the piece that holds it; lengths in the job's unit, along the screw.

    Attributes:
        length: of the screw.
        diameter: outside of its thread.
        layers: what it passes first, with nothing bored out for its head.
        holder: how deep the piece is that holds it.
        sunk: how deep its head sits.

    A #8 x 3 through a block of 3 in with its head sunk by 1 in, into a rail of 1-1/2 in, by hand:

    >>> screw = Reach(length=3.0, diameter=0.164, layers=3.0, holder=1.5, sunk=1.0, inside=0.25)
    >>> screw.into, screw.left, screw.fits
    (1.0, 0.5, True)
    """

    length: float
    diameter: float
    layers: float
    holder: float
    sunk: float
    inside: float

    @property
    def into(self) -> float:
        """How far it reaches into the piece that holds it; negative: it ends before it."""
        return self.length + self.sunk - self.layers

    @property
    def left(self) -> float:
        """What is left beyond its point; negative: it comes out."""
        return self.holder - self.into

    @property
    def needs(self) -> float:
        """How far it must reach."""
        return HOLDS * self.diameter

    @property
    def fits(self) -> bool:
        """Whether it holds and stays inside."""
        return self.fits_within(0.0)

    def fits_within(self, slack: float) -> bool:
        """The same, for layers that are measured no closer than that."""
        return self.into >= self.needs - slack - 1e-6 and self.left >= self.inside - slack - 1e-6

    @property
    def least_sunk(self) -> float:
        """The shallowest that its head may sit."""
        return max(0.0, self.layers + self.needs - self.length)

    @property
    def most_sunk(self) -> float:
        """The deepest."""
        return self.layers + self.holder - self.inside - self.length

    @property
    def shortest(self) -> float:
        """The shortest screw that fits with its head on the surface."""
        return self.layers + self.needs

    @property
    def longest(self) -> float:
        """The longest."""
        return self.layers + self.holder - self.inside


def thickness(screw: Fastening, unit: str) -> float:
    """Outside of its thread; 0 where its gauge is not known, which is told elsewhere [job unit]."""
    found = diameter(screw.gauge, unit) if screw.gauge else 0.0
    return 0.0 if isinstance(found, Refusal) else found
