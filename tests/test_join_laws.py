"""Laws of joins: each leads to the row whose number stands beside it, and each with a status is rested on or free."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

import pytest

from railbook.basics.double_entry import Part, Tab
from railbook.basics.joins import Join, reader
from railbook.tabs import TABS, Rows
from tests.strategies import random_job

SEEDS = (*range(10), 20, 25, 26)


class Declared(NamedTuple):
    """A join of a tab, with what holds it: the tab, or a part of it."""

    tab: Tab
    name: str
    join: Join

    @property
    def where(self) -> str:
        return f"{self.tab.name}.{self.name}"


JOINS = [Declared(tab, name, join) for tab in TABS for name, join in tab.joins.items()]
BY_NAME = {tab.name: tab for tab in TABS}


def _joined_tab(join: Join) -> Tab:
    """The tab on which the joined row stands."""
    return BY_NAME[join.to.word("x").removesuffix("_x")] if not isinstance(join.to, Tab) else join.to


def _number(declared: Declared, word: str, row: object) -> Any:
    """The row number in a cell, or in a cell of a row that is joined first."""
    name, dot, figure = word.partition(".")
    if not dot:
        return declared.tab.column(word).value(row)
    prefix = declared.name.rpartition(".")[0]
    join = declared.tab.joins[f"{prefix}.{name}" if prefix else name]
    return reader(join.way_to(figure))(row)


def _rows_of(tab: Tab, rows: Rows) -> list[Any]:
    return list(rows[tab.name])


def _led_to(declared: Declared, rows: Rows) -> Iterator[tuple[Any, Any]]:
    """For each row of the tab the object at the end of the way, and the row at the number."""
    target = _joined_tab(declared.join)
    others = _rows_of(target, rows)
    for row in rows[declared.tab.name]:
        number = _number(declared, declared.join.at, row)
        found = reader(declared.join.way)(row)
        yield found, others[int(number) - 1] if number and int(number) <= len(others) else None


def _answers(declared: Declared, thing: object) -> Part | Tab | None:
    """What the joined object answers for: the tab of its class, or a part of the tab; None: a few of its figures."""
    target, to = _joined_tab(declared.join), declared.join.to
    answering: tuple[Part | Tab, ...] = (*((to,) if isinstance(to, Part) else ()), target, *target.parts.values())
    return next((each for each in answering if isinstance(thing, each.row)), None)


def _shown_by(of: Part | Tab, thing: object, names: Iterable[str]) -> Mapping[str, Any]:
    return {name: of.column(name).value(thing) for name in names}


def _both_show(declared: Declared, found: object, row: object) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """What the joined object shows, and what the row shows of the same."""
    tab, answers = _joined_tab(declared.join), _answers(declared, found)
    if answers is None:
        names = [column.name for column in tab.columns if hasattr(found, column.name)]
        assert names
        return {name: getattr(found, name) for name in names}, _shown_by(tab, row, names)
    names = [column.name for column in answers.columns]
    return _shown_by(answers, found, names), _shown_by(tab, row, names)


@pytest.fixture(scope="module")
def jobs() -> list[Rows]:
    return [random_job(seed).rows for seed in SEEDS]


@pytest.mark.parametrize("declared", JOINS, ids=[each.where for each in JOINS])
def test_the_way_leads_to_the_row_at_the_number(declared: Declared, jobs: list[Rows]) -> None:
    led = [pair for rows in jobs for pair in _led_to(declared, rows)]

    for found, row in led:
        assert (found is None) == (row is None) or declared.join.maybe
        if found is not None and row is not None and found is not row:
            of_object, of_row = _both_show(declared, found, row)
            assert of_object == of_row
    assert any(row is not None for _, row in led), "no job has such a row"


def _rests() -> Iterator[tuple[str, Part | Tab]]:
    """Tabs, and parts of tabs, that say what their status rests on."""
    for tab in TABS:
        answering: tuple[Part | Tab, ...] = (tab, *tab.parts.values())
        yield from ((each.name, each) for each in answering if each.rests is not None)


def test_every_join_to_a_tab_with_a_status_is_rested_on_or_free() -> None:
    """A condition that both sides forget is found by nothing else."""
    forgotten = []
    for name, each in _rests():
        own = {word: join for word, join in each.joins.items() if "." not in word}
        named = {*each.rests.on, *each.rests.free} if each.rests else set()
        with_status = {word for word, join in own.items() if _joined_tab(join).has_status}
        forgotten += [f"{name}.{word}" for word in with_status - named]
        assert named <= set(own), name

    assert forgotten == []


def test_most_statuses_are_declared() -> None:
    declared = [each for _, each in _rests()]

    assert len(declared) >= 15
