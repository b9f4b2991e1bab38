"""The cutting plan in words and as bars: what the saw operator reads."""

import math
from collections.abc import Sequence
from itertools import groupby

from railbook.basics.units import tape_text
from railbook.boards.cuts import Lying
from railbook.boards.pieces import Planned
from railbook.cutting.result import CutBoard
from railbook.takeoff.cut_list import Piece
from railbook.takeoff.lots import ROUGH, TILT

BLOCK = "Block"
BAR = 36  # signs for the longest board
FILLED, LEFT_OVER, CUT_MARK = "=", ".", "|"


def pieces_text(lying: Sequence[Lying], planned: Sequence[Planned]) -> str:
    """A board's pieces in cutting order, one line for those that follow each other and lie alike."""
    said = (_said(each, planned[each.planned_row - 1]) for each in lying)
    return "\n".join(_times(text, len(list(same))) for text, same in groupby(said))


def _times(text: str, number: int) -> str:
    return f"{number} x {text}" if number > 1 else text


def _said(lying: Lying, piece: Planned) -> str:
    """One piece: its number, its length on the tape, and how its ends are cut as it lies."""
    cut = piece.cut
    part = f", part {piece.part} of {piece.parts}" if piece.parts > 1 else ""
    rough = "rough " if ROUGH in cut.saw else ""
    name = f"No. {piece.of.piece_row} {rough}{cut.part.lower()}{part}"
    length = tape_text(piece.length, cut.settings.tape_step, cut.settings.unit)
    ends = [cut.lower_cut if piece.part == 1 else 0.0, cut.upper_cut if piece.part == piece.parts else 0.0]
    if not any(ends):
        return f"{name}: {length}"
    if cut.planes > 1:
        return f"{name}: {length}, cuts: see cut list"
    if lying.turned:
        ends.reverse()
    left, right = (_setting(lying.over * end) for end in ends)
    return f"{name}: {length}, {left} to {right}{_how(cut)}"


def _how(cut: Piece) -> str:
    """How a slanted cut is sawn, where it is not simply turned across the board's face."""
    if cut.part == BLOCK:
        return ", across width"
    return f", {TILT}" if cut.saw.startswith(TILT) else ""


def _setting(cut: float) -> str:
    r"""A cut as it lies on the board [degrees from square].

    >>> _setting(35.085), _setting(-45.0), _setting(0.0)
    ('/35.1', '\\45.0', '|')
    """
    if abs(cut) < 0.05:
        return "|"
    return f"{'/' if cut > 0 else chr(92)}{abs(cut):.1f}"


def bar_text(board: CutBoard, length: float, longest: float) -> str:
    """The board to scale: a mark at each cut, dots for what is left over.

    Args:
        board: with its pieces.
        length: of the board.
        longest: of the boards of this material: its bar has `BAR` signs.
    """
    scale = BAR / longest
    ends = [piece.start + piece.length for piece in board.pieces]
    signs = [LEFT_OVER] * max(1, math.floor(length * scale + 0.5))
    for at in range(min(len(signs), math.floor(ends[-1] * scale + 0.5))):
        signs[at] = FILLED
    for place in (0.0, *ends):
        signs[min(len(signs) - 1, math.floor(place * scale + 0.5))] = CUT_MARK
    return "".join(signs)
