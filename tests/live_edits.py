"""Edits of computed jobs, one for every input column and more, and the books that they share.

Each edit is of another cell. Edits share a book where the engine follows each of them there too: it moves a figure that
the others leave alone, leaves out no run, and makes no book ask for another run that would not.
"""

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

from railbook import estimate
from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import INCH, JOB_UNITS
from railbook.basics.problem import LEFT_OUT
from railbook.estimate import Estimate
from railbook.job.build import build
from railbook.tabs import INPUT_TABS, TABS, Rows
from tests.recalculation import with_old_checks
from tests.strategies import random_job

SEEDS = (*range(40, 51), 57)
NEIGHBOURS = 48  # columns whose edits look at one job first, so that they share its books
TOGETHER = 16  # edits that share a book
TRIED = 120  # edits of a column that are looked at for one that tells
NO_SETBACK = "setback of line posts cleared"

# A tape step more seldom asks for one screw, block or bracket less, or makes an offcut worth keeping.
IN_STEPS = ("spacing", "block_spacing", "handrail_bracket_spacing", "shortest_offcut", "bracket_skew")
# A mark that choices and other tabs name, and what the whole job rests on, are edited in a book of their own.
MARKS = {("runs", "run"), ("flights", "flight"), ("assemblies", "assembly")}
ALONE = {*MARKS, ("job", "unit"), ("job", "rule_set")}
COLUMNS = [(tab, column) for tab in INPUT_TABS for column in tab.columns if column.typed]

Typed = Mapping[str, tuple[Any, ...]]


class Edit(NamedTuple):
    """One typed cell with another value."""

    tab: str
    row: int
    column: str
    value: Any

    def __str__(self) -> str:
        return f"{'cleared ' if self.value is None else ''}{self.tab}.{self.column}"


@dataclass(frozen=True)
class Edited:
    """A computed job, and its typed rows after an edit."""

    what: str
    job: Estimate
    typed: Typed
    edits: tuple[Edit, ...] = ()

    def written(self, path: Path) -> Path:
        """The workbook as it was computed, but for the edited cells."""
        estimate.write(replace(self.job, rows={**self.job.rows, **self.typed}), path)
        return path

    @property
    def laid_out(self) -> Rows | None:
        """What the engine makes of the edited job with the choices of old; None when they rest on what is gone."""
        return self._tried[0]

    @property
    def gone(self) -> type[Exception] | None:
        """By which exception the engine stops at choices that rest on what is gone."""
        return self._tried[1]

    @property
    def asks(self) -> bool:
        """Whether the engine asks for another run, so that the book proves less of other edits."""
        return self.laid_out is None or self.laid_out["summary"][0].stale_rows > 0

    @cached_property
    def is_sound(self) -> bool:
        """Whether no run is left out because of the edit."""
        edited, problems = build(self.typed)
        assert self.job.job is not None
        still = edited is not None and edited.left_out <= self.job.job.left_out
        return still and all(problem.severity != LEFT_OUT for problem in problems)

    @cached_property
    def moved(self) -> frozenset[tuple[str, int, str]]:
        """Calculated cells of which the engine shows another figure than without the edit, where it can show any."""
        return frozenset(_moved(self.job.rows, self.laid_out or {}))

    @property
    def tells(self) -> bool:
        """Whether the engine shows another figure, or none."""
        return self.laid_out is None or any(_moved(self.job.rows, self.laid_out))

    @cached_property
    def _tried(self) -> tuple[Rows | None, type[Exception] | None]:
        """What came of laying the edited job out."""
        edited, _ = build(self.typed)
        if edited is None:  # a tape step that no tape of the other unit has
            return None, None
        assert self.job.choices is not None
        try:
            new = estimate.lay_out(edited, self.job.choices)
            return with_old_checks(self.job.rows, new, edited), None
        except (KeyError, ValueError) as fault:
            if self._rests_on_what_is_gone(fault):
                return None, type(fault)
            raise

    def _rests_on_what_is_gone(self, fault: Exception) -> bool:
        """Whether a choice names a mark that was renamed, or a run whose measurement was taken away."""
        match fault:
            case KeyError(args=(mark,)):
                return any(mark in _marks(self.job.rows, *each) - _marks(self.typed, *each) for each in MARKS)
            case _:
                return bool(re.fullmatch("run .* has no slope", str(fault)))


@dataclass
class Batch:
    """Edits of one job that share a book."""

    edited: Edited

    def admits(self, alone: Edited) -> bool:
        """Whether there is room for one more edit and the engine follows it as if it were alone; then it is added."""
        edits, (edit,) = self.edited.edits, alone.edits
        if len(edits) == TOGETHER or any(each[:3] == edit[:3] for each in edits):
            return False
        more = with_edits(alone.job, [*edits, edit])
        if not (more.is_sound and more.laid_out and self.edited.laid_out and more.asks == self.edited.asks):
            return False
        own = any(_moved(self.edited.laid_out, more.laid_out)) or not alone.tells
        if own and more.moved >= self.edited.moved | alone.moved:
            self.edited = more
            return True
        return False


def _moved(before: Rows, after: Rows) -> Iterator[tuple[str, int, str]]:
    """Calculated cells that differ: tab, row from 0, column."""
    return (
        (tab.name, number, column.name)
        for tab in TABS
        for number, (old, new) in enumerate(zip(before[tab.name], after.get(tab.name, ()), strict=False))
        for column in tab.columns
        if column.excel and column.value(old) != column.value(new)
    )


def _marks(rows: Mapping[str, Sequence[Any]], tab: str, column: str) -> set[str]:
    """What choices name on one tab."""
    return {getattr(row, column) for row in rows[tab]}


@cache
def computed_job(seed: int) -> Estimate:
    return random_job(seed)


@cache
def _alone(seed: int, edit: Edit) -> Edited:
    """A job with one cell changed."""
    return with_edits(computed_job(seed), [edit])


def typed_rows(job: Estimate) -> dict[str, tuple[Any, ...]]:
    return {tab.name: tuple(job.rows[tab.name]) for tab in INPUT_TABS}


def with_edits(job: Estimate, edits: Sequence[Edit], what: str = "") -> Edited:
    """The job with those cells changed."""
    rows = {tab: list(those) for tab, those in typed_rows(job).items()}
    for edit in edits:
        rows[edit.tab][edit.row] = replace(rows[edit.tab][edit.row], **{edit.column: edit.value})
    typed = {tab: tuple(those) for tab, those in rows.items()}
    return Edited(what or ", ".join(map(str, edits)), job, typed, tuple(edits))


Option = tuple[int, Edit]  # seed of a job, and an edit of it


# one small edit of every column


def _a_little_off(column: Column, value: Any, job: Estimate) -> Any:
    """A value a little off: a tape step more, one more, the next choice, another mark."""
    assert job.job is not None
    unit = job.job.settings.unit
    choices = column.choices or (("Yes", "No") if column.kind.name == "yes/no" else ())
    if choices:
        return choices[(choices.index(value) + 1) % len(choices)]
    if isinstance(value, dt.date):
        return value + dt.timedelta(days=1)
    if column.listed_in:
        tab = column.listed_in.partition("_")[0]
        marks = [getattr(row, column.listed_in.removeprefix(f"{tab}_")) for row in job.rows[tab]]
        return marks[(marks.index(value) + 1) % len(marks)] if value in marks else value
    if isinstance(value, str):
        return f"{value}X"
    if column.name in IN_STEPS:
        return value / 2
    step = 1 / 16 if unit == INCH else 1.0
    return value + (1 if isinstance(value, int) else step if column.kind.units[unit] in JOB_UNITS else 0.1)


def _edits_of(tab: Tab, column: Column, job: Estimate) -> Iterator[Edit]:
    """Small edits of that column, one for each row that can bear one."""
    for row, thing in enumerate(job.rows[tab.name]):
        value = column.value(thing)
        if value not in (None, "") and _a_little_off(column, value, job) != value:
            yield Edit(tab.name, row, column.name, _a_little_off(column, value, job))


def _still_sound(seed: int, edit: Edit) -> bool:
    """Whether no run is left out because of the edit; a mark may be renamed under those who use it."""
    if (edit.tab, edit.column) in ALONE:
        return build(_alone(seed, edit).typed)[0] is not None
    return _alone(seed, edit).is_sound


def _small_edit(tab: Tab, column: Column, start: int) -> Option | None:
    """An edit of that column that moves a figure, or for a mark breaks a choice, where one does; else any."""
    alone = (tab.name, column.name) in ALONE
    seeds = [*SEEDS[start % len(SEEDS) :], *SEEDS[: start % len(SEEDS)]]
    options = ((seed, edit) for seed in seeds for edit in _edits_of(tab, column, computed_job(seed)))
    first = None
    for option in islice((option for option in options if _still_sound(*option)), TRIED):
        if _alone(*option).asks if alone else _alone(*option).tells:
            return option
        first = first or option
    return first


# what is taken away


def _clearing(tab: Tab, column: Column, start: int) -> Option | None:
    """A cell that may be cleared and moves a figure then; neighbouring columns in different rows."""
    for seed in SEEDS:
        things = computed_job(seed).rows[tab.name]
        for nth in range(len(things)):
            row = (start + nth) % len(things)
            edit = Edit(tab.name, row, column.name, None)
            filled = getattr(things[row], column.name) not in (None, "")
            if filled and _alone(seed, edit).is_sound and _alone(seed, edit).tells:
                return seed, edit
    return None


# books


def books() -> Iterator[Edited]:
    """A small edit of every input column; and every optional measurement and name taken away where no run needs it."""
    small = [_small_edit(*each, start // NEIGHBOURS) for start, each in enumerate(COLUMNS)]
    cleared = [_clearing(*each, start) for start, each in enumerate(COLUMNS) if _may_be_cleared(*each)]
    waiting: dict[tuple[int, object], list[Batch]] = defaultdict(list)
    for seed, edit in filter(None, (*small, *cleared)):
        where, alone = (edit.tab, edit.column), _alone(seed, edit)
        shared = waiting[seed, where if where in ALONE else alone.asks]
        if where in ALONE or not any(batch.admits(alone) for batch in shared):
            shared.append(Batch(alone))
    return (batch.edited for shared in waiting.values() for batch in shared)


def _may_be_cleared(tab: Tab, column: Column) -> bool:
    return not column.needed and tab.name in ("runs", "flights", "supports", "assemblies")


def sorted_tabs() -> Iterator[Edited]:
    """Input tabs turned upside down by somebody who sorts them."""
    for number, tab in enumerate(("runs", "flights", "supports", "assemblies")):
        job = computed_job(SEEDS[number])
        typed = typed_rows(job)
        yield Edited(f"{tab} sorted", job, {**typed, tab: tuple(reversed(typed[tab]))})


def stretched(what: str, *, forced: bool) -> Edited:
    """A level run made three times as long, one whose sections are forced or one that may need more of them."""
    for job in map(computed_job, SEEDS):
        known = {line.run for line in job.rows["lines"]}
        for row, run in enumerate(job.rows["runs"]):
            if run.kind == "Level" and run.run in known and (run.sections is not None) == forced and run.clear_bottom:
                longer = 3 * run.clear_bottom
                return with_edits(
                    job, [Edit("runs", row, each, longer) for each in ("clear_bottom", "clear_top")], what
                )
    raise LookupError(what)


def unplaced_line_posts() -> Edited:
    """A divided stair without the one setback from which its line posts were laid out."""
    for job in map(computed_job, SEEDS):
        divided = {line.run for line in job.rows["lines"] if line.kind == "Stair" and line.sections > 1}
        for row, run in enumerate(job.rows["runs"]):
            if run.run in divided and (run.lower_setback is None or run.upper_setback is None):
                edits = [Edit("runs", row, column, None) for column in ("lower_setback", "upper_setback")]
                return with_edits(job, edits, NO_SETBACK)
    raise LookupError(NO_SETBACK)
