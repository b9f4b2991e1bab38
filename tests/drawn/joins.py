"""Joints tried at a post whose caps are not laid out: every way in which its caps may end, drawn and looked at.

A joint is sound when the boards close within a sixteenth, or one of them ends on the post under the other, without a
lap. What rounding may hide is left out, so that what is called sound is sound.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, product
from typing import NamedTuple

import numpy as np

from tests.drawn.bays import Bay
from tests.drawn.boards import along
from tests.drawn.ends import CLOSE
from tests.drawn.solids import Frame, Plane, Solid, Vector, across, depth
from tests.drawn.tops import underside
from tests.drawn.witness import Drawn

FREE, CUT_OFF, ON_FACE, CLOSED, AT_EDGE = "free", "cut off", "on the face", "closed", "at the edge"
OVER = (FREE, CUT_OFF, CLOSED)
BEARING = {"in": 1.5, "mm": 38.0}  # of a cap on its post, at least
LONG = 60.0  # of the boards tried
SQUARE_ON, STRAIGHT_ON, ONE_SIDE = 0.02, 0.9998, 0.9849  # cosines: within a degree, and within ten


class Board(NamedTuple):
    """The cap of one run as it comes to a post, in a drawing that begins at its middle and runs away from it.

    Attributes:
        under: height of its underside over the middle; `rise` what it gains walked away.
        half: from the middle to the face.
        face: where the post's face looks that it comes to.
        post: width of the post.
    """

    run: str
    frame: Frame
    under: float
    rise: float
    half: float
    width: float
    thick: float
    overhang: float
    face: Vector
    post: float

    def solid(self, end: Plane) -> Solid:
        """The board from that end on."""
        ahead, square = along(self.rise)
        low = np.array((0.0, 0.0, self.under))
        return self.frame.solid(
            *across(-self.width / 2, self.width / 2), end, Plane(ahead, low + ahead * LONG),
            Plane(square, low + square * self.thick), Plane(-square, low),
        )  # fmt: skip

    def at(self, x: float) -> Vector:
        """A point of its underside."""
        return np.array((x, 0.0, self.under + x * self.rise))

    @property
    def corners(self) -> list[Vector]:
        """Its upper edge on the face, as far as it is on the post, in space."""
        points = []
        for side in (-1, 1):
            aside = side * self.post / 2 * float(self.face[0])
            top = self.at(self.half - aside * float(self.face[1] / self.face[0]))
            points.append(top + np.array((0.0, aside, self.thick * math.hypot(1.0, self.rise))))
        return [self.frame.point(each) for each in points]


class End(NamedTuple):
    """A way in which a cap may end, with the board that it closes on, or at whose edge it ends."""

    way: str
    plane: Plane
    other: str = ""


def boards_at(drawn: Drawn, mark: str) -> list[Board]:
    """The caps of the runs at a support, laid out or not."""
    found = []
    for bay in drawn.bays:
        stretch, assembly = bay.stretch, bay.stretch.taped.assembly
        first = bay.section.endswith(".1") and stretch.low.mark == mark
        if not (first or (bay.is_last and stretch.high.mark == mark)) or not assembly.cap_thickness:
            continue
        found.append(_board(bay, is_low=first))
    return found


def _board(bay: Bay, *, is_low: bool) -> Board:
    stretch, stack, assembly = bay.stretch, bay.stack, bay.stretch.taped.assembly
    stand = stretch.low if is_low else stretch.high
    reach = stretch.reaches[not is_low]
    x = bay.low.x - reach if is_low else bay.high.x + reach
    ahead = stretch.frame.ahead if is_low else -stretch.frame.ahead
    height = float(stretch.frame.origin[2]) + stack.top_over + x * stack.tangent
    origin = np.array((stand.foot[0], stand.foot[1], 0.0))
    rise = stack.tangent if is_low else -stack.tangent
    drawing, face = Frame(origin, ahead), stretch.faces[not is_low]
    return Board(
        stretch.run.run, drawing, height, rise, reach, assembly.cap_width or 0.0,
        assembly.cap_thickness or 0.0, assembly.cap_overhang or 0.0,
        np.array((float(face @ drawing.ahead), float(face @ drawing.right), 0.0)), stand.width,
    )  # fmt: skip


def sound_joints(drawn: Drawn, mark: str) -> Iterator[tuple[End, ...]]:
    """Every sound way to end all caps at a post."""
    boards = boards_at(drawn, mark)
    for ends in product(*(list(_ends(drawn, board, boards)) for board in boards)):
        if _is_sound(drawn, boards, ends):
            yield ends


def _ends(drawn: Drawn, board: Board, boards: Sequence[Board]) -> Iterator[End]:
    """Every way in which one of them may end."""
    ahead, plumb = along(board.rise)[0], np.array((1.0, 0.0, 0.0))
    yield from (End(FREE, Plane(-out, board.at(-board.half - board.overhang))) for out in (ahead, plumb))
    yield from (End(CUT_OFF, Plane(-out, board.at(-board.half))) for out in (ahead, board.face))
    yield End(ON_FACE, Plane(-board.face, board.at(board.half)))
    for other in boards:
        if other is not board:
            yield from _with(drawn, board, other)


def _with(drawn: Drawn, board: Board, other: Board) -> Iterator[End]:
    """Closed on another board, or at its edge."""
    unit = drawn.reading.settings.unit
    close, turned = CLOSE[unit] - drawn.reading.step, float(board.frame.ahead @ other.frame.ahead)
    alike = abs(board.thick - other.thick) <= close and abs(board.under - other.under) <= close
    if turned < -STRAIGHT_ON and abs(board.thick - other.thick) <= close:
        bends = board.rise + other.rise
        x = (other.under - board.under) / bends if abs(bends) > 1e-3 else 0.0
        if (abs(bends) > 1e-3 or alike) and abs(x) <= board.half - BEARING[unit] - 2 * drawn.reading.step:
            out = along(-other.rise)[0] + along(board.rise)[0]
            yield End(CLOSED, Plane(-out, board.at(x)), other.run)
    if abs(turned) < STRAIGHT_ON and alike and not board.rise and not other.rise:
        yield from _mitred(board, other)
    if abs(turned) < SQUARE_ON and not other.rise:
        edge = board.at(other.width / 2)
        top = edge[2] + board.thick * math.hypot(1.0, board.rise)
        if abs(top - other.under - other.thick) <= close:
            yield End(AT_EDGE, Plane(np.array((-1.0, 0.0, 0.0)), edge), other.run)


def _mitred(board: Board, other: Board) -> Iterator[End]:
    """On a level board round any corner: through both points where their edges cross, in the drawing of the board.

    A board that is much wider than the other one is not cut off by it round a shallow turn, and two that leave a post
    on one side of it make no corner.
    """
    ahead, right = (float(other.frame.ahead @ way) for way in (board.frame.ahead, board.frame.right))
    if ahead > ONE_SIDE:
        return
    side = math.copysign(1.0, right)
    across = np.array(((0.0, 1.0), (-right, ahead)))  # y of the board, y of the other one
    x, y = np.linalg.solve(across, np.array((-side * board.width, side * other.width)) / 2)
    if min(board.width, other.width) >= -ahead * max(board.width, other.width):
        yield End(CLOSED, Plane(np.array((-abs(y), math.copysign(1.0, y) * x, 0.0)), board.at(0.0)), other.run)


def _is_sound(drawn: Drawn, boards: Sequence[Board], ends: Sequence[End]) -> bool:
    """Whether one cap or two that close cover the post, and the others end well against them without a lap."""
    by_run = {board.run: end for board, end in zip(boards, ends, strict=True)}
    for board, end in zip(boards, ends, strict=True):
        met = by_run.get(end.other)
        if end.way == CLOSED and (met is None or met.way != CLOSED or met.other != board.run):
            return False
        if end.way == AT_EDGE and (met is None or met.way not in (FREE, CLOSED)):
            return False
    if sorted(end.way in (FREE, CUT_OFF) for end in ends if end.way in OVER) not in ([True], [False, False]):
        return False
    solids = [board.solid(end.plane) for board, end in zip(boards, ends, strict=True)]
    over = [solid for solid, end in zip(solids, ends, strict=True) if end.way in OVER]
    dying = [board for board, end in zip(boards, ends, strict=True) if end.way == ON_FACE]
    if not all(_is_under(drawn, board, over) for board in dying):
        return False
    pairs = combinations(zip(solids, ends, strict=True), 2)
    return all(_are_apart(drawn, (one, its), (other, end)) for (one, its), (other, end) in pairs)


def _are_apart(drawn: Drawn, one: tuple[Solid, End], other: tuple[Solid, End]) -> bool:
    """Whether two boards touch at most; one that ends on the face stays clear by what rounding may hide."""
    clear = ON_FACE in (one[1].way, other[1].way)
    return depth(one[0], other[0]) <= (-drawn.reading.step if clear else drawn.reading.hair)


def _is_under(drawn: Drawn, board: Board, over: Sequence[Solid]) -> bool:
    """Whether a cap that ends on the face is under what lies over the post, by more than rounding may hide."""
    for corner in board.corners:
        gaps = [gap for solid in over if (gap := underside(solid, corner)) is not None]
        if not gaps or min(gaps) < drawn.reading.step:
            return False
    return True
