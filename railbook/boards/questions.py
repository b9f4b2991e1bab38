"""What the solver is asked: the pieces of one material and the boards that they can be cut from."""

from typing import NamedTuple

from railbook.boards.pieces import Planned
from railbook.cutting.pieces import Material as Asked
from railbook.job.prices import BOARD, Price


class Material(NamedTuple):
    """One item that is cut from boards.

    Attributes:
        item: its mark.
        rows: rows of tab Prices that list boards of it, on sale or in the yard.
        prices: those rows.
        pieces: rows of the cut list.
        depth: depth of cut that its boards are planned for [job unit].
    """

    item: str
    rows: tuple[int, ...]
    prices: tuple[Price, ...]
    pieces: tuple[int, ...]
    depth: float

    @property
    def priced(self) -> bool:
        """Whether what is bought has a price: boards without one are not bought then."""
        return all(price.price is not None for price in self.prices if self.is_bought(price))

    @property
    def longest(self) -> float:
        """Length of the longest board that it can be cut from; 0 when there is none [job unit]."""
        return max(
            (price.length or 0.0 for price in self.prices if price.on_hand or self.is_bought(price)), default=0.0
        )

    def is_bought(self, price: Price) -> bool:
        """Whether a row of tab Prices is a board to buy: without any price, boards of every length are."""
        unpriced = all(each.price is None for each in self.prices if each.sold_as == BOARD)
        return price.sold_as == BOARD and (unpriced or price.price is not None)


class Question(NamedTuple):
    """What the solver is asked of one material, with one way to splice.

    Attributes:
        material: which.
        pieces: its pieces, as planned.
        sources: row of tab Prices and 1 for bought, of each board that the solver is given.
        asked: the same in numbers.
        places: places in `pieces` of the pieces that it is given.
    """

    material: Material
    pieces: tuple[Planned, ...]
    sources: tuple[tuple[int, int], ...]
    asked: Asked
    places: tuple[int, ...]
