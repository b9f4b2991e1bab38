"""Joined words: a row holds a row of another tab, and its formulas name that row's figures as `{guard.fit}`.

A join is declared once for a tab. From then on a figure of the other row is written in two words, and comes out as
`INDEX({lines_fit},{guard_row})`. A term is a part of a formula with a name of its own: `{depths}` stands for it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from operator import attrgetter
from typing import Any, NamedTuple, Protocol

from railbook.basics.rounding import PLACES, same

JOINED = re.compile(r"\{(\w+)\.(\w+)\}")
TERM = re.compile(r"\{(\w+)\}")
DEEPEST = 12  # terms within terms


class Figure(Protocol):
    """What a join must know of a column."""

    @property
    def typed(self) -> bool:
        """Whether a person fills it in, so that it may be blank."""

    @property
    def way(self) -> str:
        """How the engine comes to it from the row."""


class Columns(Protocol):
    """What a join must know of a tab, or of a part of one."""

    def word(self, column: str, /) -> str:
        """The word for a whole column of it."""

    def column(self, name: str, /) -> Figure:
        """The column of that name; KeyError when there is none."""


class _Plain(NamedTuple):
    """A column of which only the name is known."""

    way: str
    typed: bool = False


class Later(NamedTuple):
    """A tab by its name alone: the one that is being declared, or one that is declared after it.

    Its words are looked up when a workbook is written. None of its columns is typed.
    """

    name: str

    def word(self, column: str, /) -> str:
        """The word for a whole column of it."""
        return f"{self.name}_{column}"

    def column(self, name: str, /) -> Figure:
        """The column of that name, unchecked."""
        return _Plain(name)


@dataclass(frozen=True)
class Join:
    """The row of another tab that a row holds.

    Attributes:
        to: that tab, or the part of it that the row holds.
        at: word of the cell with its row number, from 1; itself a joined word such as `line.assembly_row`.
        way: how the engine comes to the other row from this one, such as `line.guard`.
        maybe: there may be none; the row number is then blank or 0.
    """

    to: Columns
    at: str
    way: str
    maybe: bool = False

    def figure(self, name: str) -> str:
        """Formula part: a figure of the joined row; of a blank typed cell 0 in a sum, "" in a comparison.

        Raises:
            ValueError: there is no such column.
        """
        self._column(name)
        return f"INDEX({{{self.to.word(name)}}},{{{self.at}}})"

    def shown(self, name: str) -> str:
        """Formula part: the same for a cell of its own, where what is blank must stay blank."""
        cell = self.figure(name)
        shown = f'IF({cell}="","",{cell})' if self._column(name).typed else cell
        return f'IF(SUM({{{self.at}}})=0,"",{shown})' if self.maybe else shown

    def way_to(self, name: str) -> str:
        """How the engine comes to a figure of the joined row."""
        return f"{self.way}.{self._column(name).way}"

    def _column(self, name: str) -> Figure:
        try:
            return self.to.column(name)
        except KeyError:
            raise ValueError(f"nothing is called {self.to.word(name)!r}") from None


def through(way: str, joins: Mapping[str, Join]) -> dict[str, Join]:
    """The same joins for a row that comes to them through an object that it holds."""
    return {name: replace(join, way=f"{way}.{join.way}") for name, join in joins.items()}


def reader(way: str) -> Callable[[Any], Any]:
    """What stands at the end of a way through objects; None as soon as a stop on it is None.

    >>> from types import SimpleNamespace
    >>> reader("guard.fit")(SimpleNamespace(guard=SimpleNamespace(fit=0.125)))
    0.125
    >>> reader("guard.fit")(SimpleNamespace(guard=None)) is None
    True
    """
    first, dot, rest = way.partition(".")
    if not dot:
        return attrgetter(first)
    step, onward = attrgetter(first), reader(rest)

    def read(row: Any) -> Any:
        stop = step(row)
        return None if stop is None else onward(stop)

    return read


def written(formula: str, joins: Mapping[str, Join], terms: Mapping[str, str]) -> str:
    """A formula with its terms and joined words written out.

    >>> written("={clear}-{twice}", {}, {"twice": "2*{fit}"})
    '={clear}-(2*{fit})'

    Raises:
        ValueError: a word is joined to nothing, or terms lead back to themselves.
    """

    def joined(word: re.Match[str]) -> str:
        if word[1] not in joins:
            raise ValueError(f"no join is called {word[1]!r} in {formula!r}")
        return joins[word[1]].figure(word[2])

    for _ in range(DEEPEST):
        plain = JOINED.sub(
            joined, TERM.sub(lambda word: f"({terms[word[1]]})" if word[1] in terms else word[0], formula)
        )
        if plain == formula:
            return plain
        formula = plain
    raise ValueError(f"terms lead back to themselves in {formula!r}")


@dataclass(frozen=True)
class Rests:
    """What the status of a tab's rows rests on; declared in the tab's own words, for both sides.

    Attributes:
        on: joins whose row must not ask for another run.
        free: joins to rows with a status that may ask for one without this row being wrong.
        kept: a chosen figure, and the word of the figure that it must still equal.
        found: words of row numbers that a formula looks for; the engine lays out no row for what is not there.
        unless: a property of the row that is true when it asks for another run, and the same as a formula.
    """

    on: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    kept: Mapping[str, str] = field(default_factory=dict, hash=False)
    found: tuple[str, ...] = ()
    unless: Mapping[str, str] = field(default_factory=dict, hash=False)


def differ(left: object, right: object) -> bool:
    """Whether what was chosen and what is needed differ: figures beyond the sixth place, words without case.

    >>> differ(2.0, 2.0000000001), differ(None, 2.0), differ("Post", "post"), differ(None, "")
    (False, True, False, False)
    """
    if isinstance(left, int | float) and isinstance(right, int | float):
        return not same(left, right)
    left, right = ("" if each is None else each for each in (left, right))
    if isinstance(left, str) and isinstance(right, str):
        return left.casefold() != right.casefold()
    return True


def differ_excel(left: str, right: str) -> str:
    """Formula part: the twin of `differ`.

    >>> differ_excel("{of}", "{place.blocks}")
    'IF(COUNT({of},{place.blocks})=2,ABS({of}-{place.blocks})>=0.000001,{of}<>{place.blocks})'
    """
    apart = f"ABS({left}-{right})>={10.0**-PLACES:.{PLACES}f}"
    return f"IF(COUNT({left},{right})=2,{apart},{left}<>{right})"
