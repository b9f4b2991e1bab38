"""Random materials for the cutting plan, small enough to be checked by other means."""

from hypothesis import strategies as st

from railbook.cutting.pieces import Board, Piece, Saw

# slopes of right triangles with whole sides: 3-4-5, 5-12-13; in grains of 1/192 in every sum is exact
EXACT = Saw(kerf=1 / 8, trim=1 / 4, depth=3.5, shortest_offcut=12.0, grain=1 / 192)
ENDS_SQUARE_OR_SLOPED = [(0.0, 0.0), (0.75, 0.75), (5 / 12, 5 / 12)]
ENDS_OF_ONE_ANGLE = [(0.0, 0.0), (0.75, 0.75), (0.75, -0.75), (0.0, 0.75), (-0.75, 0.0)]
ENDS_NEARLY_ALIKE = [(0.0, 0.0), (0.75, 0.75), (0.7505, 0.7505), (0.0, 0.75), (0.7505, 0.0), (0.7505, -0.75)]
ENDS_OF_ALL_KINDS = [*ENDS_OF_ONE_ANGLE, (5 / 12, 0.75), (0.0, 5 / 12), (1.0, 0.0), (1.0, -5 / 12)]


def pieces_with(
    ends: list[tuple[float, float]], *, kinds: int, count: int, shortest: int = 11
) -> st.SearchStrategy[list[Piece]]:
    """A few kinds of pieces, in quarters of an inch."""
    kind = st.tuples(st.integers(4 * shortest, 160), st.sampled_from(ends), st.integers(1, count))
    return st.lists(kind, min_size=1, max_size=kinds).map(
        lambda drawn: [
            Piece(f"P{at}", length / 4, *leans, count=number) for at, (length, leans, number) in enumerate(drawn)
        ]
    )


BOARDS = st.lists(
    st.tuples(st.integers(28, 54), st.integers(100, 999), st.none() | st.integers(0, 3)), min_size=1, max_size=3
).map(
    lambda drawn: [
        Board(f"B{at}", float(length), cents / 100 if number is None or cents % 2 else 0.0, number)
        for at, (length, cents, number) in enumerate(drawn)
    ]
)
