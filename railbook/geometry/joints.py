"""Joints at a post: where two caps cross, how far one stands off the other, what room is left; `joining.py` chooses.

Every height stands on the surface that the post stands on. The underside of a run's cap stands at M over the post's
middle and gains tau for each unit walked away from the post, so at the face, D from the middle, at F = M + D tau; its
top there is K = F + g. Checked by coordinates and polygons, `tests/test_joints_worked.py` has the numbers.
"""

import math
from typing import NamedTuple

from railbook.basics.kinds import INCH

AT_WALL, OPEN_END, CUT_OFF, PROUD = "Wall", "End", "Cut off", "Proud"
THROUGH, MITRE, BEND, FLUSH, DIES = "Through", "Mitre", "Bend", "Flush", "Dies"
EDGE, STEP, CLASH, REFUSED = "Edge", "Step", "Clash", "Turned back"
IN_AIR = "In the air"  # mitred over an outside corner of the deck, past the last post of either run
MITRED = (MITRE, IN_AIR)
NOT_LAID_OUT = (CLASH, REFUSED)
ON_FACES = (AT_WALL, DIES, STEP, PROUD)  # ends that lie against the face of the support
AT_EDGES = (FLUSH, EDGE)  # ends that lie against the edge of a level cap

STRAIGHT = 1.0  # a turn no greater is none: nobody takes a bearing closer [degrees]
SQUARE = 90.0
SHARPEST = 170.0  # greatest turn that is still a corner [degrees]
ONE_SLOPE = 0.01  # tangents that differ no more are one slope
SAME = 1e-6
NEVER = 1e6  # where two lines that are parallel would cross


class Play(NamedTuple):
    """What caps may be apart and still close, and the least that a cap must bear on a post [job unit]."""

    apart: float
    bearing: float


PLAY = {INCH: Play(1 / 16, 1.5)}
METRIC = Play(1.5, 38.0)


def play_of(unit: str) -> Play:
    """The play in a job's unit; common practice, no source.

    >>> play_of("in")
    Play(apart=0.0625, bearing=1.5)
    """
    return PLAY.get(unit, METRIC)


def turn(*, arriving: float, leaving: float) -> float:
    """Signed plan turn between two bearings, clockwise positive, within -180 to 180 [degrees].

    >>> turn(arriving=0.0, leaving=90.0), turn(arriving=350.0, leaving=10.0), turn(arriving=90.0, leaving=45.0)
    (90.0, 20.0, -45.0)
    """
    return (leaving - arriving + 540.0) % 360.0 - 180.0


class Arm(NamedTuple):
    """One run where it ends at a post; lengths in the job's unit.

    Attributes:
        away: bearing in which it leaves the post [degrees]; None where it was not taken.
        rise: what its cap gains for each level unit walked away from the post.
        half: from the middle of the post to its face.
        middle: underside of its cap over the middle of the post; None where a height is not known.
        thick: of its cap, square to it; `plumb` as it stands; 0 where it has none.
        width: of its cap.
        overhang: of its cap past a face.
        slant: tangent of the angle by which it comes askew to its face, without its sign.
    """

    away: float | None
    rise: float
    half: float
    middle: float | None
    thick: float
    plumb: float
    width: float
    overhang: float
    slant: float = 0.0

    @property
    def ear(self) -> float:
        """How far one edge of its cap begins nearer than its middle, where it ends on a face askew."""
        return self.width / 2 * self.slant

    @property
    def is_level(self) -> bool:
        """Whether it is level."""
        return self.rise == 0

    @property
    def under(self) -> float:
        """Underside over the middle, of an arm whose heights are known."""
        if self.middle is None:
            raise ValueError("the height of this run is not known")
        return self.middle

    @property
    def face(self) -> float:
        """Underside at the face."""
        return self.under + self.half * self.rise

    @property
    def top(self) -> float:
        """Top of the cap at the face."""
        return self.face + self.plumb


def turned(one: Arm, other: Arm) -> float:
    """Plan turn on arriving along one run and leaving along the other [degrees]; 0 where a bearing is missing."""
    if one.away is None or other.away is None:
        return 0.0
    return turn(arriving=one.away + 180.0, leaving=other.away)


def is_straight(turn_taken: float) -> bool:
    """Whether a turn is none."""
    return abs(turn_taken) <= STRAIGHT


def is_square(turn_taken: float) -> bool:
    """Whether a turn is square."""
    return abs(abs(turn_taken) - SQUARE) <= STRAIGHT


def bend_past(one: Arm, other: Arm) -> float:
    """Where two caps in line cross: from the middle of the post towards the other run.

    By hand, a rake of 3 in 4 that arrives 0.75 above a level cap crosses it 1 before the middle.

    >>> level = Arm(None, 0.0, 1.75, 35.0, 1.0, 1.0, 5.5, 0.75)
    >>> bend_past(level._replace(rise=-0.75, middle=35.75), level)
    -1.0
    """
    bends = one.rise + other.rise
    return NEVER if abs(bends) < SAME else (one.under - other.under) / bends


def edge_apart(cover: Arm, low: Arm, turn_taken: float) -> float:
    """How much higher the top of a cap stands than a level one, where it reaches that one's edge."""
    edge = edge_of(cover, turn_taken)
    return low.under + low.rise * edge + low.plumb - cover.under - cover.plumb


def edge_of(cover: Arm, turn_taken: float) -> float:
    """From the middle of the post to the edge of the cap over it, along the middle of the other run."""
    sine = math.sin(math.radians(abs(turn_taken)))
    return NEVER if sine < SAME else cover.width / 2 / sine


def slip(cover: Arm, low: Arm, turn_taken: float, overhang: float) -> float:
    """Least room between the underside of a cap over the post and the top of one that ends on its face.

    Args:
        cover: the run whose cap runs over the post.
        low: the run whose cap ends on its face.
        turn_taken: plan turn between them [degrees].
        overhang: of the cover past the far face; of one that is cut off there, its ear.

    By hand: a level cap of 42 over a level cap of 36 1/2, both 1 thick.

    >>> tall, low = (Arm(None, 0.0, 2.125, high, 1.0, 1.0, 5.5, 0.75) for high in (41.0, 35.5))
    >>> slip(tall, low, 90.0, 0.75)
    4.5

    The cap of a flight of 3 in 4 that falls from a face which it meets 22 1/2 degrees off: a corner of its end is
    2.75 tan 22.5 = 1.139 nearer than its middle, and 0.854 higher.

    >>> falls = low._replace(rise=-0.75)
    >>> askew = falls._replace(slant=math.tan(math.radians(22.5)))
    >>> round(slip(tall, falls, 45.0, 0.75) - slip(tall, askew, 45.0, 0.75), 3)
    0.854
    """
    if is_straight(turn_taken):
        places = (low.half - low.ear, low.half + overhang)
        return min(cover.under - cover.rise * at - low.top - low.rise * (at - low.half) for at in places)
    if is_square(turn_taken):
        falls = cover.rise * min(low.width / 2, cover.half + overhang)
        fallen = falls if cover.rise > 0 else -cover.rise * low.width / 2
        return cover.under - fallen - low.top - _gained(low, cover.width / 2)
    return _slip_askew(cover, low, turn_taken, overhang)


def _gained(low: Arm, far: float) -> float:
    """What the top of a cap that ends on the face gains at most from there to that far, or to its nearest corner."""
    return max(0.0, low.rise) * (far - low.half) + max(0.0, -low.rise) * low.ear


def _slip_askew(cover: Arm, low: Arm, turn_taken: float, overhang: float) -> float:
    """The same at any other turn: never more than there is."""
    sine, cosine = abs(math.sin(math.radians(turn_taken))), math.cos(math.radians(turn_taken))
    far = (cover.width / 2 + low.width / 2 * abs(cosine)) / sine
    if cover.is_level:
        return cover.under - low.top - _gained(low, far)
    return min(
        cover.under
        + cover.rise * max(-at * cosine + side * low.width / 2 * sine, -(cover.half + overhang))
        - low.top
        - low.rise * (at - low.half)
        for at in (low.half - low.ear, far)
        for side in (-1, 1)
    )


def mitre(own: float, met: float, turn_taken: float) -> float:
    """Saw setting of a mitre between level boards of two widths, signed as the turn [degrees].

    By hand, equal boards halve the turn; 3 against 4 wide at a square corner: tan = 4/3.

    >>> mitre(5.5, 5.5, 90.0), round(mitre(3.0, 4.0, 90.0), 4), mitre(5.5, 5.5, -45.0)
    (45.0, 53.1301, -22.5)
    """
    radians = math.radians(turn_taken)
    if abs(math.sin(radians)) < SAME:
        return 0.0
    wider = met / own if met and own else 1.0  # of boards whose width nobody said, as if alike
    return math.degrees(math.atan((wider - math.cos(radians)) / math.sin(radians)))
