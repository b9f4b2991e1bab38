"""Published kinds of cutting-stock instances, with their known optimum."""

import json
from pathlib import Path
from typing import NamedTuple

from railbook.cutting.pieces import Board, Piece, Saw

WITHOUT_KERF = Saw(kerf=0.0, grain=1.0)


class Instance(NamedTuple):
    """Pieces to cut from boards of one length; the fewest boards are known."""

    name: str
    pieces: tuple[Piece, ...]
    board: Board
    optimum: int


def instances(name: str) -> list[Instance]:
    """All instances of a file beside this one."""
    told = json.loads(Path(__file__).with_name(f"{name}.json").read_text(encoding="utf-8"))
    return [
        Instance(
            one["name"],
            tuple(Piece(str(length), float(length), count=count) for length, count in one["items"]),
            Board("board", float(one["capacity"]), 1.0),
            one["optimum"],
        )
        for one in told["instances"]
    ]
