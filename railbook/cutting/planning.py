"""One material on its way from the question to the plan."""

import math

from railbook.cutting.bound import Bound
from railbook.cutting.effort import Effort
from railbook.cutting.grains import Asked, in_whole
from railbook.cutting.layout import laid_out, rows_of, without_board
from railbook.cutting.offcuts import gathered
from railbook.cutting.pieces import Material, faults_in
from railbook.cutting.result import Plan, Proof
from railbook.cutting.search import Search


def begun(material: Material) -> "Planning | Plan":
    """The search for a plan, begun by hand; or the plan itself where there is nothing to search."""
    faults = faults_in(*material)
    if faults:
        return Plan(faults=faults)
    asked = in_whole(*material)
    return Planning(material, asked) if asked.question.widths else Plan(proven=True, too_long=asked.too_long)


class Planning:
    """The best plan of a material so far, and what is known of it.

    Where pieces had to be taken as longer than they are, a second search, for pieces that are never longer than
    the true ones, says what no plan undercuts.

    Attributes:
        kinds: of width that are searched among.
        work: what it has taken so far [s].
    """

    def __init__(self, material: Material, asked: Asked) -> None:
        self._material, self._asked = material, asked
        self._search = self._floor = Search(asked.question)
        if asked.floor is not asked.question:
            self._floor = Search(asked.floor)
        self.kinds = sum(len(each.question.widths) for each in self._searches)
        self.work = sum(each.begun for each in self._searches)

    @property
    def _searches(self) -> tuple[Search, ...]:
        return (self._search,) if self._floor is self._search else (self._search, self._floor)

    @property
    def proven(self) -> bool:
        """Whether no plan costs less."""
        return self._search.answer.cost <= self._floor.answer.least

    @property
    def gap(self) -> float:
        """What the plan may cost more than the best one."""
        return (self._search.answer.cost - self._floor.answer.least) * self._asked.question.price_unit

    @property
    def over(self) -> bool:
        """Whether more work would change nothing."""
        return self.proven or all(each.answer.proven for each in self._searches)

    def go_on(self, effort: Effort) -> None:
        """Search further."""
        waiting = [each for each in self._searches if not each.answer.proven]
        for at, each in enumerate(waiting):
            if not self.proven:
                each.go_on(effort.part(effort.left / (len(waiting) - at)))
        self.work += effort.done

    def plan(self) -> Plan:
        """The plan in the caller's words: money is that of the boards, at the prices that were given."""
        pieces, boards, saw = self._material
        answer, question = self._search.answer, self._asked.question
        missing = without_board(answer.use, self._asked.places, pieces)
        unserved = question.missing_price * sum(number for _, number in missing)
        rows = gathered(rows_of(answer.use, self._asked.places, pieces), *self._material)
        cost = math.fsum(boards[row.board].price * row.number for row in rows)
        least = min(cost, max(0, self._floor.answer.least - unserved) * question.price_unit)
        return Plan(
            boards=tuple(laid_out(row, pieces, boards[row.board], saw) for row in rows),
            cost=cost,
            bound=cost if self.proven else least,
            proven=self.proven,
            proof=_proof(self._asked, self._floor.answer.bound, len(pieces)),
            by_hand=cost + (answer.by_hand - answer.cost) * question.price_unit,
            work=self.work,
            too_long=self._asked.too_long,
            missing=missing,
        )


def _proof(asked: Asked, bound: Bound, pieces: int) -> Proof:
    """The prices of the bound, piece by piece."""
    prices = [0] * pieces
    for kind, places in enumerate(asked.floor_places):
        for place in places:
            prices[place] = bound.prices[kind]
    return Proof(tuple(prices), bound.savings, bound.scale, asked.floor.price_unit)
