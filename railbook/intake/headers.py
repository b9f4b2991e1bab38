"""Which header belongs to which column: any order, any case, and a near miss is named."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import NamedTuple

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import UNIT
from railbook.basics.problem import LOOK, NOTE, STOPS, Problem

_UNIT_IN_BRACKETS = re.compile(r"[(\[](?:in\.?|inch|inches|mm|millimet(?:er|re)s?|deg|degrees|%)[)\]]$")
_NEAR = 0.6  # share of letters that a renamed header must keep to be offered


class Label(NamedTuple):
    """A header as found.

    Attributes:
        text: what it says; nothing, for a formula that was never calculated.
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
    absent: list[str] = []
    for column in read_columns(tab):
        found = [label for label in labels if spelled(label.text) == spelled(column.header)]
        if len(found) > 1:
            yield _twice(column, found)
        if not found and (is_needed(tab, column) or _near(column, strangers)):
            yield _missing(tab, column, strangers)
        elif not found:
            absent.append(f'"{column.header}"')
    if absent:
        what = f"has no header {', '.join(absent)}"
        yield Problem(tab.title, what, "nothing to do if you deleted it or the form is an older one: it is blank", NOTE)
    yield from (_unknown(label) for label in strangers if label.in_use)


def _missing(tab: Tab, column: Column, strangers: Iterable[Label]) -> Problem:
    """A header that is not there, with the one that looks most like it."""
    near = _near(column, strangers)
    renamed = f'; did you rename it "{near.text}" ({near.where})?' if near else ""
    return Problem(
        tab.title,
        f'has no header "{column.header}"{renamed}',
        f'type the header "{column.header}" over its cells',
        STOPS if is_needed(tab, column) else LOOK,
    )


def _near(column: Column, strangers: Iterable[Label]) -> Label | None:
    """The unknown header that looks most like a column's own."""
    by_spelling = {spelled(label.text): label for label in strangers if label.text}
    near = get_close_matches(spelled(column.header), list(by_spelling), n=1, cutoff=_NEAR)
    return by_spelling[near[0]] if near else None


def _twice(column: Column, found: Sequence[Label]) -> Problem:
    return Problem(
        found[1].where,
        f'the header "{column.header}" stands twice, also in {found[0].where}',
        "rename or delete one of them",
        STOPS,
    )


def _unknown(label: Label) -> Problem:
    said = f'the header "{label.text}"' if label.text else "the header, a formula without a calculated value,"
    return Problem(
        label.where,
        f"{said} is not one of this tab; what belongs to it was not read",
        "nothing to do if these are your own notes; otherwise use the form's own header",
        LOOK,
    )
