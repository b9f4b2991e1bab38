"""The witness: a result drawn in space piece by piece, and what is wrong with it as it would stand.

It shares no equation with the product: what was typed says where things go, what was printed says how they are cut.
What it cannot draw is named in `unplaced`.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from tests.drawn.bays import Bay, bays_of
from tests.drawn.boards import Piece, baluster_solids, block_solid, blocks_of, parts_of, rail_of, rail_solid
from tests.drawn.caps import Capped, cap_of, cap_solid
from tests.drawn.finding import Finding
from tests.drawn.ground import Ground, place
from tests.drawn.posts import Stood, post_solids, stood
from tests.drawn.reading import BALUSTER, BLOCK, CAP, POST, Reading
from tests.drawn.solids import laps


class Drawn(NamedTuple):
    """A job in space.

    Attributes:
        unplaced: run or post -> why it is not drawn.
    """

    reading: Reading
    ground: Ground
    bays: tuple[Bay, ...]
    posts: tuple[Stood, ...]
    caps: tuple[Capped, ...]
    pieces: tuple[Piece, ...]
    unplaced: Mapping[str, str]

    def bays_of(self, run: str) -> list[Bay]:
        """The sections of a run."""
        return [bay for bay in self.bays if bay.stretch.run.run == run]


def draw(reading: Reading) -> Drawn:
    """Put every piece of a result where a carpenter would."""
    ground = place(reading)
    by_run = {mark: bays_of(reading, stretch) for mark, stretch in ground.stretches.items()}
    bays = [bay for those in by_run.values() for bay in those]
    posts, missing = stood(reading, ground, bays)
    caps = [cap for those in by_run.values() if those and (cap := cap_of(reading, ground, those)) is not None]
    unmeasured = {mark: "a baluster or a line post has no figure" for mark, those in by_run.items() if not those}
    pieces = [*_post_pieces(posts), *(piece for bay in bays for piece in _bay_pieces(reading, bay))]
    pieces += [Piece(f"{CAP} {cap.stretch.run.run}", CAP, cap.stretch.run.run, cap_solid(cap)) for cap in caps]
    unplaced = {**ground.unplaced, **unmeasured, **missing}
    return Drawn(reading, ground, tuple(bays), tuple(posts), tuple(caps), tuple(pieces), unplaced)


def _post_pieces(posts: list[Stood]) -> Iterator[Piece]:
    """Posts with their sleeves."""
    for post in posts:
        for solid in post_solids(post):
            yield Piece(f"{POST} {post.row.post}", POST, "", solid)


def _bay_pieces(reading: Reading, bay: Bay) -> Iterator[Piece]:
    """Rails, balusters and blocks of a section."""
    run, mark = bay.stretch.run.run, bay.section
    for part in parts_of(bay):
        rail = rail_of(reading, bay, part)
        if rail is not None:
            yield Piece(f"{part} {mark}", part, run, rail_solid(rail))
    for number, solid in enumerate(baluster_solids(reading, bay), start=1):
        yield Piece(f"{BALUSTER} {mark} no. {number}", BALUSTER, run, solid)
    for block in blocks_of(reading, bay):
        yield Piece(f"{BLOCK} {mark} no. {block.row.number}", BLOCK, run, block_solid(reading, block))


def overlaps(drawn: Drawn) -> Iterator[Finding]:
    """Pieces that would take up the same place, deeper than a hair and what two rounded figures may add."""
    allowed = drawn.reading.hair + drawn.reading.step
    for lap in laps([piece.solid for piece in drawn.pieces], allowed):
        one, other = drawn.pieces[lap.one], drawn.pieces[lap.other]
        if one.name != other.name:
            yield Finding("overlap", (one.name, other.name), lap.depth, "take up the same place")
