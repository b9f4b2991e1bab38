"""Which header belongs to which column: any order, any case, and a near miss is named."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import NamedTuple

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import UNIT
from railbook.basics.problem import LOOK, STOPS, Problem

_UNIT_IN_BRACKETS = re.compile(r"[(\[](?:in\.?|inch|inches|mm|millimet(?:er|re)s?|deg|degrees|%)[)\]]$")
_NEAR = 0.6  # share of letters that a renamed header must keep to be offered


class Label(NamedTuple):
    """A header as found.

    Attributes:
        text: what it says.
        place: its column, or its row on a tab that runs down the page.
        where: address of its cell.
        in_use: something stands under it, or beside it.
    """

    text: str
    place: int
    where: str
    in_use: bool


def spelled(header: str) -> str:
    r"""Header as it is compared: no case, blanks, marks of a needed column, or unit in brackets.

    >>> spelled("Slope\nLength (in)") == spelled("slope length *")
    True
    """
    bare = "".join(header.casefold().split()).rstrip("*:")
    return _UNIT_IN_BRACKETS.sub("", bare).rstrip("*:")


def read_columns(tab: Tab) -> tuple[Column, ...]:
    """The columns that are read: what a person fills in, and what tells rows apart."""
    return tuple(column for column in tab.columns if column.typed or column.name == tab.key)


def is_needed(tab: Tab, column: Column) -> bool:
    """Whether nothing can be read from the tab without that column."""
    return column.needed or column.name == tab.key or column.kind.name == UNIT.name


def places(tab: Tab, labels: Sequence[Label]) -> Mapping[str, int]:
    """Column name -> place of its header; the first one, should there be two."""
    return {
        column.name: next(label.place for label in labels if spelled(label.text) == spelled(column.header))
        for column in tab.columns
        if any(spelled(label.text) == spelled(column.header) for label in labels)
    }


def header_problems(tab: Tab, labels: Sequence[Label]) -> Iterator[Problem]:
    """Headers that stand twice, that are missing, and that nobody knows."""
    known = {spelled(column.header) for column in tab.columns}
    strangers = [label for label in labels if spelled(label.text) not in known]
    for column in read_columns(tab):
        found = [label for label in labels if spelled(label.text) == spelled(column.header)]
        if not found:
            yield _missing(tab, column, strangers)
        if len(found) > 1:
            yield _twice(column, found)
    yield from (_unknown(label) for label in strangers if label.in_use)


def _missing(tab: Tab, column: Column, strangers: Iterable[Label]) -> Problem:
    """A header that is not there, with the one that looks most like it."""
    by_spelling = {spelled(label.text): label for label in strangers}
    near = get_close_matches(spelled(column.header), list(by_spelling), n=1, cutoff=_NEAR)
    renamed = f'; did you rename it "{by_spelling[near[0]].text}" ({by_spelling[near[0]].where})?' if near else ""
    return Problem(
        tab.title,
        f'has no header "{column.header}"{renamed}',
        f'type the header "{column.header}" over its cells',
        STOPS if is_needed(tab, column) else LOOK,
    )


def _twice(column: Column, found: Sequence[Label]) -> Problem:
    return Problem(
        found[1].where,
        f'the header "{column.header}" stands twice, also in {found[0].where}',
        "rename or delete one of them",
        STOPS,
    )


def _unknown(label: Label) -> Problem:
    return Problem(
        label.where,
        f'the header "{label.text}" is not one of this tab; what belongs to it was not read',
        "nothing to do if these are your own notes; otherwise use the form's own header",
        LOOK,
    )
