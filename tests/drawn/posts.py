"""Posts as the schedule has them trimmed, each on its own surface, with the sleeve over it where it gets one."""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from railbook.job.supports import POST
from tests.drawn.bays import Bay
from tests.drawn.caps import is_straight
from tests.drawn.carriers import BEND, ON_RAMP, carrier
from tests.drawn.ground import Ground, Stand, Stretch
from tests.drawn.reading import Reading, Trimmed
from tests.drawn.solids import NEAR, Frame, Plane, Solid, Vector

LEVEL_TOP, PROUD, SLOPED = "level", "square, proud", "sloped"  # how its top is
ROUND = 0.75  # of the width of a post lies behind any face as far from its middle
RIDGE, VALLEY = "ridge", "valley"  # where two caps fall, or rise, from their joint


class Core(NamedTuple):
    """A post or a sleeve: its width and its two heights above the surface, along its own faces.

    Attributes:
        joint: (x, height) where its top bends, x from its middle uphill; None where it is one plane.
    """

    width: float
    downhill: float
    upwards: float
    joint: tuple[float, float] | None = None

    @property
    def bends(self) -> list[tuple[float, float]]:
        """(x, height) of its top from face to face."""
        low, high = (-self.width / 2, self.downhill), (self.width / 2, self.upwards)
        return [low, high] if self.joint is None else [low, self.joint, high]


class Stood(NamedTuple):
    """A post where it stands, drawn along the run that its heights are told for.

    Attributes:
        frame: from its middle at its surface.
        slope: of the surface along that run.
        outer: what is seen: the sleeve, or the bare post; `inner` the post in its sleeve.
        lean: what its faces gain in x for each in z; `aside` what its sides gain in y.
        askew: faces of runs that come to it neither straight nor square: each is taped as if the post were square to
            it, so that no more of the post is drawn than lies behind all of them.
    """

    row: Trimmed
    stretch: Stretch
    frame: Frame
    slope: float
    outer: Core
    inner: Core | None
    lean: float
    aside: float
    askew: tuple[Plane, ...] = ()

    def top(self, x: float, height: float) -> tuple[float, float]:
        """(x, z) of what is that long from the surface, along the post, so far from its middle, square to its faces."""
        wide = x * math.hypot(1.0, self.lean)
        foot = self.slope * wide / (1 - self.slope * self.lean)
        z = foot + height / math.hypot(1.0, self.lean, self.aside)
        return wide + self.lean * z, z

    def tops(self, core: Core) -> list[tuple[float, float]]:
        """(x, z) of its top from face to face."""
        return [self.top(x, height) for x, height in core.bends]


def top_height(core: Core, x: float) -> float:
    """Height of a top, that far from its middle."""
    places, heights = zip(*core.bends, strict=True)
    return float(np.interp(x, places, heights))


def top_points(post: Stood) -> list[Vector]:
    """Points of what is seen of its top, in space: a little inside its corners and beside the joint of a bend.

    None lies on a diagonal or on the joint, where caps meet and neither lies over it.
    """
    half, joint = post.outer.width / 2 * (ROUND if post.askew else 1.0), post.outer.joint
    beside = () if joint is None else (joint[0] - half / 8, joint[0] + half / 8)
    points = []
    for x in (-half * 7 / 8, half * 7 / 8, *(x for x in beside if abs(x) < half)):
        at, height = post.top(x, top_height(post.outer, x))
        points += [np.array((at, y + post.aside * height, height)) for y in (-half * 3 / 4, half * 3 / 4)]
    return [post.frame.point(each) for each in points]


def stood(reading: Reading, ground: Ground, bays: list[Bay]) -> tuple[list[Stood], dict[str, str]]:
    """Every post that stands somewhere, and why the others do not; walls and columns are no posts."""
    found, missing = [], {}
    for row in reading.trimmed:
        if row.kind != POST:
            continue
        run = carrier(reading, row)
        stretch = None if run is None else ground.stretches.get(run.run)
        outer, inner = _cores(reading, row, stretch)
        if stretch is None or outer is None:
            missing[row.post] = "its run is not placed, or it has no heights"
        elif row.position is None:
            found.append(_end_post(ground, row, stretch, bays, outer, inner))
        else:
            found.append(_line_post(row, stretch, outer, inner))
    return found, missing


def _cores(reading: Reading, row: Trimmed, stretch: Stretch | None) -> tuple[Core | None, Core | None]:
    """What is seen of it, and the post in its sleeve."""
    if stretch is None or row.post_downhill is None or row.post_uphill is None:
        return None, None
    assembly, typed = stretch.taped.assembly, reading.supports.get(row.post)
    own = None if typed is None else typed.face_width
    bare = Core(own or assembly.post_width or 0.0, row.post_downhill, row.post_uphill)
    if row.sleeve_downhill is None or row.sleeve_uphill is None:
        return bare._replace(joint=_joint(row, bare.width)), None
    seen = Core(own or assembly.sleeve_width or 0.0, row.sleeve_downhill, row.sleeve_uphill)
    joint = _joint(row, seen.width)
    inside = None if joint is None else (joint[0], joint[1] - (assembly.post_below_sleeve or 0.0))
    return seen._replace(joint=joint), bare._replace(width=assembly.post_width or 0.0, joint=inside)


def _joint(row: Trimmed, width: float) -> tuple[float, float] | None:
    """Where two caps bend over a post, from its middle."""
    if row.joint_at is None or row.joint_height is None:
        return None
    return row.joint_at - width / 2, row.joint_height


def _line_post(row: Trimmed, stretch: Stretch, outer: Core, inner: Core | None) -> Stood:
    """A post between sections, at its place from the From face."""
    middle = (row.position or 0.0) + outer.width / 2
    slope = stretch.taped.tangent if row.stands == ON_RAMP else 0.0
    surface = stretch.taped.surface(middle if slope else row.position or 0.0)
    frame = Frame(stretch.frame.point(np.array((middle, 0.0, surface))), stretch.frame.ahead)
    return Stood(row, stretch, frame, slope, outer, inner, 0.0, 0.0)


def _end_post(
    ground: Ground, row: Trimmed, stretch: Stretch, bays: list[Bay], outer: Core, inner: Core | None
) -> Stood:
    """A post at an end of a run; one on a ramp stands on the slope, with its uphill face where the run begins."""
    is_low = stretch.low.mark == row.post
    stand = stretch.low if is_low else stretch.high
    slope = stretch.taped.tangent if row.stands == ON_RAMP else 0.0
    foot = stand.foot - np.array((0.0, 0.0, slope * outer.width / 2))
    own = [bay for bay in bays if bay.stretch is stretch]
    face = (own[0].low if is_low else own[-1].high) if own else None
    way = -1 if row.stands == BEND and is_low and _both_leave(ground, stretch) else 1
    frame = Frame(foot, stretch.frame.ahead * way)
    lean = float(stand.lean @ frame.ahead) if face is None or not _leans(stretch, is_low=is_low) else face.lean * way
    aside = float(stand.lean @ frame.right)
    return Stood(row, stretch, frame, slope, outer, inner, lean, aside, tuple(_askew(ground, stand, frame)))


def _askew(ground: Ground, stand: Stand, frame: Frame) -> Iterator[Plane]:
    """The faces at which other runs see a post to which they come askew, in its drawing; they lean with it."""
    gained = np.array((stand.lean @ frame.ahead, stand.lean @ frame.right, 0.0))
    for other in ground.meeting(stand.mark):
        ahead, across_it = (float(other.frame.ahead @ way) for way in (frame.ahead, frame.right))
        out = np.array((ahead, across_it, 0.0))
        if min(abs(ahead), abs(across_it)) > NEAR:
            leaning = out - np.array((0.0, 0.0, out @ gained))
            yield from (Plane(leaning * way, out * way * stand.reach) for way in (1, -1))


def _both_leave(ground: Ground, stretch: Stretch) -> bool:
    """Whether the run straight on from its foot leaves upward as well: heights are told from the flatter one's face."""
    others = [each for each in ground.meeting(stretch.low.mark) if each.low == stretch.low and each is not stretch]
    return any(each.taped.tangent > 0 and is_straight(each, stretch, stretch.low) for each in others)


def _leans(stretch: Stretch, *, is_low: bool) -> bool:
    """Whether somebody recorded that it leans."""
    return bool(stretch.run.lean_from if is_low else stretch.run.lean_to)


def _slices(core: Core) -> list[list[tuple[float, float]]]:
    """Its top in convex parts: one, but two where it bends down to a valley."""
    low, *joint, high = core.bends
    if joint:
        (x, height), chord = joint[0], Core(core.width, core.downhill, core.upwards)
        if height < top_height(chord, x):
            return [[low, joint[0]], [joint[0], high]]
    return [core.bends]


def post_solids(post: Stood) -> list[Solid]:
    """What is seen of a post in space, and the post in its sleeve."""
    cores = [core for core in (post.outer, post.inner) if core is not None]
    return [_solid(post, core, tops) for core in cores for tops in _slices(core)]


def _solid(post: Stood, core: Core, tops: list[tuple[float, float]]) -> Solid:
    """A convex part of a post under that part of its top."""
    side, foot = np.array((1.0, 0.0, -post.lean)), np.array((-post.slope, 0.0, 1.0))
    flank, half = np.array((0.0, 1.0, -post.aside)), np.array((0.0, core.width / 2 * math.hypot(1.0, post.aside), 0.0))
    points = [np.array((x, 0.0, z)) for x, z in (post.top(*each) for each in tops)]
    return post.frame.solid(
        Plane(-flank, -half), Plane(flank, half), Plane(-side, points[0]), Plane(side, points[-1]),
        Plane(-foot, np.zeros(3)), *(_over(low, high) for low, high in pairwise(points)), *post.askew,
    )  # fmt: skip


def _over(start: Vector, end: Vector) -> Plane:
    """The plane of a top between two places of it."""
    rise = end - start
    return Plane(np.array((-rise[2], 0.0, rise[0])), start)
