"""Posts as the schedule has them trimmed, each on its own surface, with the sleeve over it where it gets one."""

import math
from typing import NamedTuple

import numpy as np

from railbook.job.supports import POST
from tests.drawn.bays import Bay
from tests.drawn.carriers import ON_RAMP, carrier
from tests.drawn.ground import Ground, Stretch
from tests.drawn.reading import Reading, Trimmed
from tests.drawn.solids import Frame, Plane, Solid, Vector, across

HALF_LEVEL, PROUD = "half level", "square, proud"  # how its top is cut


class Core(NamedTuple):
    """A post or a sleeve: its width and its two heights above the surface at its own faces."""

    width: float
    downhill: float
    upwards: float


class Stood(NamedTuple):
    """A post where it stands, drawn along the run that its heights are told for.

    Attributes:
        frame: from its middle at its surface.
        slope: of the surface along that run.
        outer: what is seen: the sleeve, or the bare post; `inner` the post in its sleeve.
        lean: what its faces gain in x for each in z, about `about`.
    """

    row: Trimmed
    stretch: Stretch
    frame: Frame
    slope: float
    outer: Core
    inner: Core | None
    lean: float
    about: float


def top_height(post: Stood, core: Core, x: float) -> float:
    """Height of a top at x of its drawing."""
    return min(
        float(plane.point[2] - (x - plane.point[0]) * plane.normal[0] / plane.normal[2]) for plane in _top(post, core)
    )


def top_points(post: Stood) -> list[Vector]:
    """Points of what is seen of its top, in space: a little inside its corners and beside the ridge of a bend.

    None lies on a diagonal or on the middle of the post, where caps meet and neither lies over it.
    """
    half = post.outer.width / 2
    places = (-half * 7 / 8, half * 7 / 8, *((-half / 8, half / 8) if post.row.top == HALF_LEVEL else ()))
    points = []
    for x in places:
        height = top_height(post, post.outer, x)
        points += [np.array((x + post.lean * (height - post.about), y, height)) for y in (-half * 3 / 4, half * 3 / 4)]
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
            found.append(_end_post(row, stretch, bays, outer, inner))
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
        return bare, None
    seen = Core(own or assembly.sleeve_width or 0.0, row.sleeve_downhill, row.sleeve_uphill)
    return seen, bare._replace(width=assembly.post_width or 0.0)


def _line_post(row: Trimmed, stretch: Stretch, outer: Core, inner: Core | None) -> Stood:
    """A post between sections, at its place from the From face."""
    middle = (row.position or 0.0) + outer.width / 2
    slope = stretch.taped.tangent if row.stands == ON_RAMP else 0.0
    surface = stretch.taped.surface(middle if slope else row.position or 0.0)
    frame = Frame(stretch.frame.point(np.array((middle, 0.0, surface))), stretch.frame.ahead)
    return Stood(row, stretch, frame, slope, outer, inner, 0.0, 0.0)


def _end_post(row: Trimmed, stretch: Stretch, bays: list[Bay], outer: Core, inner: Core | None) -> Stood:
    """A post at an end of a run; one on a ramp stands on the slope, with its uphill face where the run begins."""
    is_low = stretch.low.mark == row.post
    stand = stretch.low if is_low else stretch.high
    slope = stretch.taped.tangent if row.stands == ON_RAMP else 0.0
    foot = stand.foot - np.array((0.0, 0.0, slope * outer.width / 2))
    own = [bay for bay in bays if bay.stretch is stretch]
    face = (own[0].low if is_low else own[-1].high) if own else None
    about = 0.0 if face is None else face.z - (0.0 if is_low else stretch.taped.rise)
    lean = 0.0 if face is None or not _leans(stretch, is_low=is_low) else face.lean
    return Stood(row, stretch, Frame(foot, stretch.frame.ahead), slope, outer, inner, lean, about)


def _leans(stretch: Stretch, *, is_low: bool) -> bool:
    """Whether somebody recorded that it leans."""
    return bool(stretch.run.lean_from if is_low else stretch.run.lean_to)


def _top(post: Stood, core: Core) -> list[Plane]:
    """The planes of a top; half level: sloped from the downhill face to the middle, level from there on."""
    half, slope = core.width / 2, post.slope
    low = np.array((-half, 0.0, core.downhill - half * slope))
    high = np.array((half, 0.0, core.upwards + half * slope))
    if post.row.top != HALF_LEVEL:
        rise = high - low
        return [Plane(np.array((-rise[2], 0.0, rise[0])), low)]
    tangent = math.tan(math.radians(post.row.top_angle or 0.0))
    return [Plane(np.array((-tangent, 0.0, 1.0)), low), Plane(np.array((0.0, 0.0, 1.0)), high)]


def post_solids(post: Stood) -> list[Solid]:
    """What is seen of a post in space, and the post in its sleeve."""
    solids = []
    for core in (post.outer, post.inner):
        if core is None:
            continue
        half, about = core.width / 2, np.array((0.0, 0.0, post.about))
        side, foot = np.array((1.0, 0.0, -post.lean)), np.array((-post.slope, 0.0, 1.0))
        reach = np.array((half, 0.0, 0.0))
        solids.append(
            post.frame.solid(
                *across(-half, half), Plane(-side, about - reach), Plane(side, about + reach),
                Plane(-foot, np.zeros(3)), *_top(post, core),
            )
        )  # fmt: skip
    return solids
