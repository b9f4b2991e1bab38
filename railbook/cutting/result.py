"""The cutting plan as it leaves this room: boards in the order they are cut, and what is known of the plan."""

from dataclasses import dataclass
from typing import NamedTuple

from railbook.cutting.pieces import Fault


class CutPiece(NamedTuple):
    """A piece as it lies on its board.

    Attributes:
        piece: its place in the list that was given, from 0.
        mark: what the caller calls it.
        start: from the board's left end to its left end, along the mid-line.
        length: along the mid-line.
        left: lean of its left end as it lies.
        right: lean of its right end as it lies.
    """

    piece: int
    mark: str
    start: float
    length: float
    left: float
    right: float


class CutBoard(NamedTuple):
    """Boards that are cut alike.

    Attributes:
        board: its place in the list that was given, from 0.
        mark: what the caller calls it.
        number: how many are cut so.
        pieces: from the left end of the board, in the order they are cut.
        used: what the pieces need between the trims, kerfs and wedges among it.
        offcut: what is left behind one more cut, at its shorter edge, without the far trim; never negative.
    """

    board: int
    mark: str
    number: int
    pieces: tuple[CutPiece, ...]
    used: float
    offcut: float


class Proof(NamedTuple):
    """Whole-number prices that prove a bound (see `check_bound`).

    Attributes:
        prices: of each piece in the list that was given, in parts of a price unit; 0 for one too long.
        savings: of each board, by how much a full one may be worth more than it costs.
        scale: parts of a price unit.
        price_unit: what a price unit is worth.
    """

    prices: tuple[int, ...] = ()
    savings: tuple[int, ...] = ()
    scale: int = 1
    price_unit: float = 1.0


NO_PROOF = Proof()


@dataclass(frozen=True)
class Plan:
    """How to cut all pieces of one material.

    Attributes:
        boards: what is cut from what, boards cut alike gathered.
        cost: of all boards, at the prices that were given.
        bound: no plan costs less. With pieces left without a board it counts the boards that are used.
        proven: whether no plan costs less than this one, to the grain of the saw and a ten-thousandth of a board's
            price.
        proof: prices that prove the bound.
        by_hand: what first-fit-decreasing would cost, each board taken as short as it may be.
        work: what the search took: counted, not timed, in seconds of one core.
        too_long: places of the pieces that no board can hold.
        missing: places of the pieces for which the boards on hand do not suffice, and how many.
        faults: why there is no plan; all else is empty then.
    """

    boards: tuple[CutBoard, ...] = ()
    cost: float = 0.0
    bound: float = 0.0
    proven: bool = False
    proof: Proof = NO_PROOF
    by_hand: float = 0.0
    work: float = 0.0
    too_long: tuple[int, ...] = ()
    missing: tuple[tuple[int, int], ...] = ()
    faults: tuple[Fault, ...] = ()

    @property
    def out_of_time(self) -> bool:
        """Whether a limit of work stopped the search before it could prove the plan."""
        return not (self.proven or self.faults)

    @property
    def gap(self) -> float:
        """What the plan may cost more than the best one; 0 when it is proven."""
        return 0.0 if self.proven else self.cost - self.bound

    @property
    def board_count(self) -> int:
        """How many boards are cut."""
        return sum(board.number for board in self.boards)
