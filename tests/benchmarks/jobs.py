"""Random railing jobs for the cutting plan: rails, balusters and caps of level and stair sections.

Sizes are common practice, prices and the mix of sections are invented; no source.
"""

import math
import random

from railbook.cutting.pieces import Board, Material, Piece, Saw

FEET = (8, 10, 12, 16, 20)
PRICES = {
    "2x4": (5.48, 7.18, 8.98, 12.48, 16.98),
    "2x2": (2.98, 3.88, 4.68, 6.48, 8.38),
    "5/4x6": (8.48, 10.98, 13.48, 18.48, 23.98),
}
DEPTHS = {"2x4": 3.5, "2x2": 1.5, "5/4x6": 5.5}
KERF, TRIM, SHORTEST_OFFCUT = 1 / 8, 1 / 4, 24.0
PITCHES = ((7.0, 11.0), (7.5, 10.25), (7.25, 10.5), (7.75, 10.0))  # riser and tread [in]


def job(sections: int, seed: int, *, custom: bool) -> tuple[Material, ...]:
    """The three materials of a job; in a custom one every section has a length of its own."""
    draw = random.Random(f"{sections} {seed} {custom}")
    counts: dict[str, dict[tuple[float, float, float], int]] = {name: {} for name in PRICES}
    usual = [_sixteenths(draw, 40, 94) for _ in range(max(3, sections // 12 if sections <= 200 else 20))]
    pitches = draw.sample(PITCHES, 2 if sections < 100 else 4)
    for _ in range(sections):
        clear = _sixteenths(draw, 30, 95) if custom or draw.random() < 0.4 else draw.choice(usual)
        riser, tread = draw.choice(pitches) if draw.random() < 0.3 else (0.0, 1.0)
        _section(draw, counts, clear, riser / tread)
    return tuple(_material(name, counts[name]) for name in PRICES)


def _section(
    draw: random.Random, counts: dict[str, dict[tuple[float, float, float], int]], clear: float, slope: float
) -> None:
    """Two rails, their balusters, a cap."""
    rail = _tape(clear * math.hypot(1, slope))
    balusters = max(1, math.floor((clear - 4) / (1.5 + 4)) + 1)
    mitres = draw.choice(((0.0, 0.0), (0.0, 0.0), (0.0, 1.0), (1.0, 1.0))) if not slope else (0.0, 0.0)
    cap = _tape(clear + 4.5)
    for name, piece, number in (
        ("2x4", (rail, slope, slope), 2),
        ("2x2", (34.0 if slope else 32.25, slope, slope), balusters),
        ("5/4x6", (cap, *mitres), 1),
    ):
        counts[name][piece] = counts[name].get(piece, 0) + number


def _material(name: str, counts: dict[tuple[float, float, float], int]) -> Material:
    pieces = tuple(
        Piece(f"{name} {number}", length, left, right, count)
        for number, ((length, left, right), count) in enumerate(sorted(counts.items()), start=1)
    )
    boards = tuple(Board(f"{feet} ft", 12.0 * feet, price) for feet, price in zip(FEET, PRICES[name], strict=True))
    return Material(pieces, boards, Saw(KERF, TRIM, DEPTHS[name], SHORTEST_OFFCUT))


def _sixteenths(draw: random.Random, low: int, high: int) -> float:
    return draw.randint(low * 16, high * 16) / 16


def _tape(length: float) -> float:
    return math.floor(length * 16 + 0.5) / 16
