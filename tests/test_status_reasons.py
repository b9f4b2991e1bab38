"""Every reason that a declared status gives turns a row stale after some edit: none is there in vain.

That the workbook says the same after an edit is what `test_live_edits` shows.
"""

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN, STATUS, Part, Tab
from railbook.basics.joins import differ, reader
from railbook.estimate import Estimate
from railbook.job.assemblies import ON_FASCIA, Assembly
from railbook.job.build import build
from railbook.job.fastenings import BLOCK, SCREW, Fastening
from railbook.job.runs import MEETS, RAMP, Run
from railbook.job.supports import POST, Support
from railbook.tabs import INPUT_TABS, TABS, Rows
from tests.small_jobs import COMPOSITE, WOOD, flight, level, stair, tabs
from tests.strategies import random_job

SEEDS = (6, 38, 48, 77, 82, 116, 125)  # among them handrails, splices and bends, which are rarer


class Reason(NamedTuple):
    """One reason of the status of a tab, or of a part of it."""

    tab: str
    sort: str
    word: str


def _declaring() -> Iterator[tuple[Tab, str, Part | Tab]]:
    """Tabs with how their rows hold what declares a status: a part of the row, or the row itself."""
    for tab in TABS:
        held: dict[str, Part | Tab] = {"": tab, **tab.parts}
        yield from ((tab, way, each) for way, each in held.items() if each.rests is not None)


def _reasons() -> set[Reason]:
    found = set()
    for _, _, each in _declaring():
        assert each.rests is not None
        found |= {Reason(each.name, "on", word) for word in each.rests.on}
        found |= {Reason(each.name, "kept", word) for word in each.rests.kept}
        found |= {Reason(each.name, "unless", word) for word in each.rests.unless}
    return found


def _figure(of: Part | Tab, word: str, row: Any) -> Any:
    name, dot, figure = word.partition(".")
    return reader(of.joins[name].way_to(figure))(row) if dot else of.column(word).value(row)


def _holding(of: Part | Tab, row: Any) -> Iterator[Reason]:
    """Reasons of a row that hold."""
    rests = of.rests
    assert rests is not None
    yield from (
        Reason(of.name, "on", word) for word in rests.on if reader(of.joins[word].way_to(STATUS))(row) == RUN_AGAIN
    )
    yield from (
        Reason(of.name, "kept", left)
        for left, right in rests.kept.items()
        if differ(_figure(of, left, row), _figure(of, right, row))
    )
    yield from (Reason(of.name, "unless", word) for word in rests.unless if getattr(row, word))


def _seen(rows: Rows) -> set[Reason]:
    """Reasons that hold for any row; each row of which one holds asks for another run."""
    seen = set()
    for tab, way, each in _declaring():
        for row in rows[tab.name]:
            thing = reader(way)(row) if way else row
            holding = set(_holding(each, thing))
            assert (each.column(STATUS).value(thing) == RUN_AGAIN) == bool(holding)
            seen |= holding
    return seen


def _moved(value: Any) -> Any:
    """Another value of the same kind; a figure moves by an odd bit."""
    match value:
        case bool() | None | "":
            return value
        case int():
            return value + 1
        case float():
            return value * 1.37 + 0.11
        case str():
            return f"{value}X"
    return value


def _edited(job: Estimate, seed: int) -> Iterator[Rows]:
    """The job laid out with the choices of old after one edit, another cell each time; a new column moves no other."""
    for tab in INPUT_TABS:
        for column in (each for each in tab.columns if each.typed):
            draw = random.Random(f"{seed} {tab.name} {column.name}")
            rows = [at for at, row in enumerate(job.rows[tab.name]) if _moved(column.value(row)) != column.value(row)]
            for at in draw.sample(rows, min(1, len(rows))):
                value = column.value(job.rows[tab.name][at])
                others = [choice for choice in column.choices if choice != value]
                new = draw.choice(others) if others else _moved(value)
                typed = {each.name: list(job.rows[each.name]) for each in INPUT_TABS}
                typed[tab.name][at] = replace(typed[tab.name][at], **{column.name: new})
                yield from _laid_out(job, typed)


def _laid_out(job: Estimate, typed: dict[str, list[Any]]) -> Iterator[Rows]:
    """The edited job with the choices of old; none where a choice names what is gone."""
    edited, _ = build(typed)
    if edited is None:
        return
    assert job.choices is not None
    try:
        yield estimate.lay_out(edited, job.choices)
    except (LookupError, ValueError):
        return


def _alike() -> Iterator[tuple[Mapping[str, Sequence[Any]], Mapping[str, Sequence[Any]]]]:
    """Typed rows before and after an edit of one of two runs that are cut alike and meet at a corner, with sleeves."""
    first = level(60.0, direction=0.0, run="A", from_support="P1", to_support="P2", assembly=COMPOSITE.assembly)
    second = replace(first, run="B", from_support="P2", to_support="P3", direction=90.0)
    screw = Fastening(
        assembly=COMPOSITE.assembly, joint=BLOCK, what=SCREW, item="SCREW", per_joint=2, length=3.0, gauge="#8"
    )

    def typed(other: Run, *fastenings: Fastening, changed: Assembly = COMPOSITE) -> Mapping[str, Sequence[Any]]:
        listed = (changed, replace(COMPOSITE, assembly="LOWER", level_height=37.5))
        return tabs(first, other, assemblies=listed, fastenings=fastenings)

    was = typed(second, screw)
    for edits in (
        {"clear_bottom": 61.0, "clear_top": 61.0},
        {"clear_top": 60.25},
        {"lean_from": 1.0, "clear_top": None},
        {"lean_to": 1.0, "clear_top": None},
        {"assembly": "LOWER"},
        {"direction": 178.0},
        {"kind": RAMP, "rise": 4.0},
    ):
        yield was, typed(replace(second, **edits), screw)
    yield was, typed(second, replace(screw, gauge="#10"))
    yield was, typed(second, screw, replace(screw, item="MORE"))
    yield was, typed(second, screw, changed=replace(COMPOSITE, post_proud=2.0))


def _meeting() -> Iterator[tuple[Mapping[str, Sequence[Any]], Mapping[str, Sequence[Any]]]]:
    """The same of a flight whose cap bends into a level one, and of two caps that are equally thick at a corner."""
    up = stair(60.0, 45.0, upper_setback=3.0, height=MEETS, direction=0.0)
    on = level(60.0, from_support="P2", to_support="P3", direction=0.0)
    steps = (flight(7.5, 10.0),)
    yield tabs(up, on, flights=steps), tabs(up, replace(on, sections=3), flights=steps)
    leaning = replace(up, lean_from=1.0)
    yield (
        tabs(leaning, on, flights=steps),
        tabs(replace(leaning, upper_setback=None, lower_setback=None), on, flights=steps),
    )
    alike = replace(WOOD, assembly="ALIKE")
    corner = level(60.0, direction=0.0), level(60.0, run="B", from_support="P2", to_support="P3", direction=90.0,
                                               assembly="ALIKE")  # fmt: skip
    thicker = replace(alike, cap_thickness=1.5, level_height=37.0)
    yield tabs(*corner, assemblies=(WOOD, alike)), tabs(*corner, assemblies=(WOOD, thicker))


def _on_edges() -> Iterator[tuple[Mapping[str, Sequence[Any]], Mapping[str, Sequence[Any]]]]:
    """The same of two runs that end at the two posts of an outside corner of the deck, which becomes an inside one."""
    first = level(60.0, direction=0.0)
    second = level(60.0, run="B", from_support="P3", to_support="P4", direction=90.0)
    at_corner: dict[str, Any] = {
        "assemblies": (replace(WOOD, mount=ON_FASCIA),),
        "supports": (Support("P2", POST, from_corner=2.5, corner_post="P3"), Support("P3", POST, from_corner=2.5)),
    }
    yield tabs(first, second, **at_corner), tabs(first, replace(second, direction=270.0), **at_corner)


def _rounded() -> Iterator[tuple[Mapping[str, Sequence[Any]], Mapping[str, Sequence[Any]]]]:
    """The same of a run with a baluster added: (64 7/16 - 16 1/2) / 12 = 3.995 in beside a post is marked as 4 in."""
    flush = replace(COMPOSITE, bracket_fit=0.0, baluster_width=1.5, baluster_least_width=None)
    was, now = (level(clear, assembly=flush.assembly) for clear in (64.4375, 64.375))
    yield tabs(was, assemblies=(flush,)), tabs(now, assemblies=(flush,))


def _askew() -> Iterator[tuple[Mapping[str, Sequence[Any]], Mapping[str, Sequence[Any]]]]:
    """The same of four sides of an octagon, of which the inner two are cut alike: either end of one, and its rails."""
    sides = [
        level(60.0, run=f"S{at}", from_support=f"P{at}", to_support=f"P{at + 1}", direction=45.0 * at)
        for at in range(4)
    ]
    was = tabs(*sides, assemblies=(WOOD,))
    for at, direction in ((0, 3.0), (3, 132.0)):
        turned = [replace(side, direction=direction) if number == at else side for number, side in enumerate(sides)]
        yield was, tabs(*turned, assemblies=(WOOD,))
    yield was, tabs(*sides, assemblies=(replace(WOOD, top_rail_width=2.0),))


@pytest.fixture(scope="module")
def seen() -> set[Reason]:
    """Reasons seen after all these edits."""
    met: set[Reason] = set()
    for seed in SEEDS:
        for rows in _edited(random_job(seed), seed):
            met |= _seen(rows)
    for was, typed in (*_alike(), *_meeting(), *_on_edges(), *_rounded(), *_askew()):
        job, _ = build(was)
        assert job is not None
        choices, _ = estimate.choose(job, seconds=0.1)
        for rows in _laid_out(Estimate(job, choices, {}, ()), {tab: list(each) for tab, each in typed.items()}):
            met |= _seen(rows)
    return met


def test_every_reason_of_every_status_turns_a_row_stale_after_some_edit(seen: set[Reason]) -> None:
    assert _reasons() - seen == set()
    assert len(seen) > 40
