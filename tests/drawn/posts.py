"""Posts as the schedule has them trimmed, each on its own surface, with the sleeve over it where it gets one."""

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from railbook.job.supports import POST
from tests.drawn.bays import Bay
from tests.drawn.caps import is_straight
from tests.drawn.carriers import BEND, ON_RAMP, carrier
from tests.drawn.ground import Ground, Stretch
from tests.drawn.reading import Reading, Trimmed
from tests.drawn.solids import Frame, Plane, Solid, Vector
from tests.drawn.turned import stretched

LEVEL_TOP, PROUD, SLOPED = "level", "square, proud", "sloped"  # how its top is
ALONG: Vector = np.array((1.0, 0.0, 0.0))
SIDES = (-1, 1)
RIDGE, VALLEY = "ridge", "valley"  # where two caps fall, or rise, from their joint


class Core(NamedTuple):
    """A post or a sleeve: its width and its two heights above the surface, along its own faces, where the middle of its
    run meets them.

    Attributes:
        joint: (x, height) where its top bends, x from its middle uphill; None where it is one plane.
        stretched: what it is wider along the run, where it is turned.
    """

    width: float
    downhill: float
    upwards: float
    joint: tuple[float, float] | None = None
    stretched: float = 1.0

    @property
    def half(self) -> float:
        """From its middle to its faces, along the run."""
        return self.width / 2 * self.stretched

    @property
    def bends(self) -> list[tuple[float, float]]:
        """(x, height) of its top from face to face."""
        low, high = (-self.half, self.downhill), (self.half, self.upwards)
        return [low, high] if self.joint is None else [low, self.joint, high]


class Stood(NamedTuple):
    """A post where it stands, drawn along the run that its heights are told for.

    Attributes:
        frame: from its middle at its surface.
        slope: of the surface along that run.
        outer: what is seen: the sleeve, or the bare post; `inner` the post in its sleeve.
        lean: what its faces gain in x for each in z; `aside` what its sides gain in y.
        look: where one of its faces looks, in its drawing.
    """

    row: Trimmed
    stretch: Stretch
    frame: Frame
    slope: float
    outer: Core
    inner: Core | None
    lean: float
    aside: float
    look: Vector = ALONG

    @property
    def looks(self) -> tuple[Vector, Vector]:
        """Where two neighbouring faces look."""
        return self.look, np.array((-self.look[1], self.look[0], 0.0))

    @property
    def is_turned(self) -> bool:
        """Whether its run meets it otherwise than square."""
        return self.outer.stretched > 1

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
    """Height of a top, that far from its middle; a corner of a post that is turned reaches past its run's faces."""
    bends = core.bends
    (start, low), (end, high) = bends[:2] if x <= bends[1][0] else bends[-2:]
    return low + (x - start) * (high - low) / (end - start)


def top_points(post: Stood) -> list[Vector]:
    """Points of what is seen of its top, in space: a little inside its corners and beside the joint of a bend.

    None lies on a diagonal or on the joint, where caps meet and neither lies over it.
    """
    half, joint = post.outer.width / 2, post.outer.joint
    looks = [each[:2] for each in post.looks]
    corners = [(one * way * half * 7 / 8, other * half * 3 / 4) for one, other in (looks, looks[::-1]) for way in SIDES]
    places = [one + other * side for one, other in corners[: len(corners) if post.is_turned else 2] for side in SIDES]
    if joint is not None:
        beside = [np.array((joint[0] + side * half / 8, y * half * 3 / 4)) for side in SIDES for y in SIDES]
        places += [each for each in beside if all(abs(float(each @ look)) < half for look in looks)]
    return [post.frame.point(_on_top(post, float(x), float(y))) for x, y in places]


def _on_top(post: Stood, x: float, y: float) -> Vector:
    """The point of its top that far from its middle, in its drawing."""
    at, height = post.top(x, top_height(post.outer, x))
    return np.array((at, y + post.aside * height, height))


def top_corners(post: Stood) -> list[Vector]:
    """The four corners of what is seen of its top, in space."""
    half, (one, other) = post.outer.width / 2, post.looks
    places = [(one * way + other * side) * half for way in SIDES for side in SIDES]
    return [post.frame.point(_on_top(post, float(x), float(y))) for x, y, _ in places]


def highest(post: Stood, core: Core) -> float:
    """Of a post or its sleeve: at its joint, at its faces, and where it is turned at its corners."""
    looks = [float(look[0]) * core.width / 2 for look in post.looks]
    corners = [sum(looks), -sum(looks), looks[0] - looks[1], looks[1] - looks[0]] if post.is_turned else []
    return max(*(height for _, height in core.bends), *(top_height(core, x) for x in corners))


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
    more = 1.0 if row.position is not None else stretched(reading, row.post, stretch.run)
    assembly, typed = stretch.taped.assembly, reading.supports.get(row.post)
    own = None if typed is None else typed.face_width
    bare = Core(own or assembly.post_width or 0.0, row.post_downhill, row.post_uphill, stretched=more)
    if row.sleeve_downhill is None or row.sleeve_uphill is None:
        return bare._replace(joint=_joint(row, bare.half)), None
    seen = Core(own or assembly.sleeve_width or 0.0, row.sleeve_downhill, row.sleeve_uphill, stretched=more)
    joint = _joint(row, seen.half)
    inside = None if joint is None else (joint[0], joint[1] - (assembly.post_below_sleeve or 0.0))
    return seen._replace(joint=joint), bare._replace(width=assembly.post_width or 0.0, joint=inside)


def _joint(row: Trimmed, half: float) -> tuple[float, float] | None:
    """Where two caps bend over a post, from its middle."""
    if row.joint_at is None or row.joint_height is None:
        return None
    return row.joint_at - half, row.joint_height


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
    foot = stand.foot - np.array((0.0, 0.0, slope * outer.half))
    own = [bay for bay in bays if bay.stretch is stretch]
    seen = (own[0].low if is_low else own[-1].high) if own else None
    way = -1 if row.stands == BEND and is_low and _both_leave(ground, stretch) else 1
    frame, face = Frame(foot, stretch.frame.ahead * way), stretch.faces[not is_low]
    lean = float(stand.lean @ frame.ahead) if seen is None or not _leans(stretch, is_low=is_low) else seen.lean * way
    look = np.array((float(face @ frame.ahead), float(face @ frame.right), 0.0))
    return Stood(row, stretch, frame, slope, outer, inner, lean, float(stand.lean @ frame.right), look)


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
        (x, height), chord = joint[0], core._replace(joint=None)
        if height < top_height(chord, x):
            return [[low, joint[0]], [joint[0], high]]
    return [core.bends]


def post_solids(post: Stood) -> list[Solid]:
    """What is seen of a post in space, and the post in its sleeve."""
    cores = [core for core in (post.outer, post.inner) if core is not None]
    return [_solid(post, core, tops) for core in cores for tops in _slices(core)]


def _solid(post: Stood, core: Core, tops: list[tuple[float, float]]) -> Solid:
    """A convex part of a post under that part of its top."""
    gained, foot = np.array((post.lean, post.aside, 0.0)), np.array((-post.slope, 0.0, 1.0))
    points = [np.array((x, 0.0, z)) for x, z in (post.top(*each) for each in tops)]
    sides = [_side(look * way, gained, core.width / 2) for look in post.looks for way in SIDES]
    parted = [Plane(np.array((1.0, 0.0, -post.lean)) * (1 if at else -1), points[at]) for at in _parted(core, tops)]
    return post.frame.solid(
        *sides, *parted, Plane(-foot, np.zeros(3)), *(_over(low, high) for low, high in pairwise(points))
    )


def _side(out: Vector, gained: Vector, half: float) -> Plane:
    """The face that looks so of a post that leans so, that far from its middle, square to that."""
    leaning = float(out @ gained)
    return Plane(out - np.array((0.0, 0.0, leaning)), out * half * math.hypot(1.0, leaning))


def _parted(core: Core, tops: list[tuple[float, float]]) -> list[int]:
    """At which of its ends a part of it is parted at the joint, 0 or -1; none where it is all of it."""
    return [] if len(tops) == len(core.bends) else [-1 if tops[-1] == core.joint else 0]


def _over(start: Vector, end: Vector) -> Plane:
    """The plane of a top between two places of it."""
    rise = end - start
    return Plane(np.array((-rise[2], 0.0, rise[0])), start)
