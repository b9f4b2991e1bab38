"""A result workbook is live: after an edit it shows what the engine says of the edited job, or asks for another run.

Every input column is edited: the workbook as it was computed, with that one cell changed, is computed
afresh by LibreOffice and held against the engine, which lays the edited job out with the choices of old.
Edits share books, so that two dozen hold them all; each is of another cell.
"""

import datetime as dt
import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN, Column, Tab
from railbook.basics.kinds import INCH, JOB_UNITS
from railbook.basics.problem import LEFT_OUT
from railbook.estimate import Estimate
from railbook.job.build import build
from railbook.tabs import INPUT_TABS, TABS, Rows
from tests.conftest import CELLS
from tests.recalculation import (
    SAME,
    STALE,
    WRONG,
    Book,
    LibreOffice,
    Missing,
    Outcome,
    Shown,
    formula_cells,
    with_old_checks,
)
from tests.strategies import random_job

SEEDS = range(40, 52)
NEIGHBOURS = 48  # columns whose edits look at one job first, so that they share its books
TOGETHER = 16  # edits that share a book
NO_SETBACK = "setback of line posts cleared"
GONE = ("runs.run", "flights.flight", "assemblies.assembly", NO_SETBACK)  # renamed under those who name it, or cleared


# A tape step more seldom asks for one screw, block or bracket less, or makes an offcut worth keeping.
IN_STEPS = ("spacing", "block_spacing", "handrail_bracket_spacing", "shortest_offcut")
# A mark that choices and other tabs name, and what the whole job rests on, are edited in a book of their own.
MARKS = {("runs", "run"), ("flights", "flight"), ("assemblies", "assembly")}
ALONE = {*MARKS, ("job", "unit"), ("job", "rule_set")}


class Edit(NamedTuple):
    """One typed cell with another value."""

    tab: str
    row: int
    column: str
    value: Any


@dataclass(frozen=True)
class Edited:
    """A computed job, and its typed rows after an edit."""

    what: str
    job: Estimate
    typed: Mapping[str, tuple[Any, ...]]

    def written(self, path: Path) -> Path:
        """The workbook as it was computed, but for the edited cells."""
        estimate.write(replace(self.job, rows={**self.job.rows, **self.typed}), path)
        return path

    @property
    def laid_out(self) -> Rows | None:
        """What the engine makes of the edited job with the choices of old; None when they rest on what is gone."""
        edited, _ = build(self.typed)
        if edited is None:  # a tape step that no tape of the other unit has
            return None
        assert self.job.choices is not None
        try:
            new = estimate.lay_out(edited, self.job.choices)
            return with_old_checks(self.job.rows, new, edited)
        except (KeyError, ValueError) as fault:
            if self._rests_on_what_is_gone(fault):
                return None
            raise

    def _rests_on_what_is_gone(self, fault: Exception) -> bool:
        """Whether a choice names a mark that was renamed, or a run whose measurement was taken away."""
        match fault:
            case KeyError(args=(mark,)):
                return mark in self._marks(self.job.rows) - self._marks(self.typed)
            case _:
                return bool(re.fullmatch("run .* has no slope", str(fault)))

    @staticmethod
    def _marks(rows: Mapping[str, Sequence[Any]]) -> set[str]:
        """What choices name."""
        return {getattr(row, column) for tab, column in MARKS for row in rows[tab]}


@cache
def _job(seed: int) -> Estimate:
    return random_job(seed)


def _typed(job: Estimate) -> dict[str, tuple[Any, ...]]:
    return {tab.name: tuple(job.rows[tab.name]) for tab in INPUT_TABS}


def _changed(typed: Mapping[str, tuple[Any, ...]], edits: Sequence[Edit]) -> dict[str, tuple[Any, ...]]:
    """Typed rows with those cells changed."""
    rows = {tab: list(those) for tab, those in typed.items()}
    for edit in edits:
        rows[edit.tab][edit.row] = replace(rows[edit.tab][edit.row], **{edit.column: edit.value})
    return {tab: tuple(those) for tab, those in rows.items()}


def _moved(column: Column, value: Any, job: Estimate) -> Any:
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
        if value not in (None, "") and _moved(column, value, job) != value:
            yield Edit(tab.name, row, column.name, _moved(column, value, job))


def _moves_something(job: Estimate, edit: Edit) -> bool:
    """Whether the engine shows another figure after the edit, with the choices of old."""
    new = Edited("", job, _changed(_typed(job), [edit])).laid_out
    return new is None or any(
        column.value(before) != column.value(after)
        for tab in TABS
        for before, after in zip(job.rows[tab.name], new[tab.name], strict=False)
        for column in tab.columns
        if column.excel
    )


def _still_sound(job: Estimate, edit: Edit) -> bool:
    """Whether no run is left out because of the edit; a mark may be renamed under those who use it."""
    edited, problems = build(_changed(_typed(job), [edit]))
    assert job.job is not None
    if (edit.tab, edit.column) in ALONE:
        return edited is not None
    return edited is not None and edited.left_out <= job.job.left_out and all(p.severity != LEFT_OUT for p in problems)


def _best_edit(tab: Tab, column: Column, start: int) -> tuple[int, Edit] | None:
    """An edit of that column that moves a figure, or for a mark breaks a choice, where one does; else any."""
    tells = _asks if (tab.name, column.name) in ALONE else _moves_something
    seeds = [*SEEDS[start % len(SEEDS) :], *SEEDS[: start % len(SEEDS)]]
    sound = (
        (seed, edit) for seed in seeds for edit in _edits_of(tab, column, _job(seed)) if _still_sound(_job(seed), edit)
    )
    found = [found for found, _ in zip(sound, range(60), strict=False)]
    return next((each for each in found if tells(_job(each[0]), each[1])), found[0] if found else None)


COLUMNS = [(tab, column) for tab in INPUT_TABS for column in tab.columns if column.typed]


@cache
def _small_edits() -> dict[tuple[str, str], tuple[int, Edit]]:
    """The edit of every input column, with the seed of its job."""
    best = {
        (tab.name, column.name): _best_edit(tab, column, start // NEIGHBOURS)
        for start, (tab, column) in enumerate(COLUMNS)
    }
    return {where: found for where, found in best.items() if found is not None}


def _asks(job: Estimate, edit: Edit) -> bool:
    """Whether the engine asks for another run after the edit, so that its book proves less of other edits."""
    new = Edited("", job, _changed(_typed(job), [edit])).laid_out
    return new is None or new["summary"][0].stale_rows > 0


def _batches(found: Iterable[tuple[int, Edit]], verb: str) -> Iterator[Edited]:
    """Edits of one job together, those that ask for another run apart from those that do not."""
    waiting: dict[tuple[int, object], list[list[Edit]]] = defaultdict(list)
    for seed, edit in found:
        where = edit.tab, edit.column
        batches = waiting[seed, where if where in ALONE else _asks(_job(seed), edit)]
        free = [batch for batch in batches if len(batch) < TOGETHER and not _leaves_too_little(seed, batch, edit)]
        if free:
            free[0].append(edit)
        else:
            batches.append([edit])
    for (seed, _), batches in waiting.items():
        for batch in batches:
            what = verb + ", ".join(f"{edit.tab}.{edit.column}" for edit in batch)
            yield Edited(what, _job(seed), _changed(_typed(_job(seed)), batch))


def _leaves_too_little(seed: int, batch: Sequence[Edit], edit: Edit) -> bool:
    """Whether cells would be cleared together of which one may stand in for the other."""
    if edit.value is not None:
        return False
    in_one_row = any((each.tab, each.row) == (edit.tab, edit.row) for each in batch)
    if in_one_row and edit.tab in ("runs", "flights"):
        return True
    return Edited("", _job(seed), _changed(_typed(_job(seed)), [*batch, edit])).laid_out is None


def _cleared() -> Iterator[tuple[int, Edit]]:
    """Every optional measurement and name of a part taken away where no run needs it."""
    for start, (tab, column) in enumerate(COLUMNS):
        if not column.needed and tab.name in ("runs", "flights", "supports", "assemblies"):
            yield from islice(_clearings(tab, column, start), 1)


def _clearings(tab: Tab, column: Column, start: int) -> Iterator[tuple[int, Edit]]:
    """Cells that may be cleared, neighbouring columns in different rows, so that they share a book."""
    for seed in SEEDS:
        things = _job(seed).rows[tab.name]
        for nth in range(len(things)):
            row = (start + nth) % len(things)
            thing = things[row]
            edit = Edit(tab.name, row, column.name, None)
            filled = column.value(thing) not in (None, "")
            if filled and _still_sound(_job(seed), edit) and _moves_something(_job(seed), edit):
                yield seed, edit
                break


def _sorted_tabs() -> Iterator[Edited]:
    """Input tabs turned upside down by somebody who sorts them."""
    for number, tab in enumerate(("runs", "flights", "supports", "assemblies")):
        job = _job(SEEDS[number])
        typed = _typed(job)
        yield Edited(f"{tab} sorted", job, {**typed, tab: tuple(reversed(typed[tab]))})


def _stretched(what: str, *, forced: bool) -> Edited:
    """A level run made three times as long, one whose sections are forced or one that may need more of them."""
    for seed in SEEDS:
        job = _job(seed)
        known = {line.run for line in job.rows["lines"]}
        for row, run in enumerate(job.rows["runs"]):
            if run.kind == "Level" and run.run in known and (run.sections is not None) == forced and run.clear_bottom:
                longer = 3 * run.clear_bottom
                edits = [Edit("runs", row, column, longer) for column in ("clear_bottom", "clear_top")]
                return Edited(what, job, _changed(_typed(job), edits))
    raise LookupError(what)


def _unplaced_line_posts() -> Edited:
    """A divided stair without the one setback from which its line posts were laid out."""
    for seed in SEEDS:
        job = _job(seed)
        divided = {line.run for line in job.rows["lines"] if line.kind == "Stair" and line.sections > 1}
        for row, run in enumerate(job.rows["runs"]):
            if run.run in divided and (run.lower_setback is None or run.upper_setback is None):
                edits = [Edit("runs", row, column, None) for column in ("lower_setback", "upper_setback")]
                return Edited(NO_SETBACK, job, _changed(_typed(job), edits))
    raise LookupError(NO_SETBACK)


def _outcomes(edited: Edited, cells: Book) -> Iterator[Outcome]:
    """Every cell of the workbook after the edit that nobody types: a plain one that must move lacks a formula."""
    shown, new = Shown(edited.job.rows, cells), edited.laid_out
    for tab in TABS:
        now = {**(new or edited.job.rows), "rules": edited.typed["rules"]}[tab.name]
        for row in range(len(edited.job.rows[tab.name])):
            for column in (column for column in tab.columns if not column.typed):
                engine = column.value(now[row]) if row < len(now) else Missing("row")
                where = f"{edited.what}: {tab.name}.{column.name}, row {row + 1}"
                slots = shown.sheets[tab.name].span(column.name).across if column.repeats else 1
                for nth in range(slots):
                    value = engine[nth] if column.repeats and isinstance(engine, tuple) else engine
                    is_stale = shown.is_stale(tab.name, row, column.name)
                    yield Outcome(where, value, shown.value(tab, column.name, row, nth), is_stale)


@pytest.fixture(scope="module")
def outcomes(libreoffice: LibreOffice, tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Outcome]]:
    """Every formula cell of every edited workbook, by edit; all books go through LibreOffice together."""
    place = tmp_path_factory.mktemp("edited")
    edits = [
        *_batches(_small_edits().values(), ""),
        *_batches(_cleared(), "cleared "),
        *_sorted_tabs(),
        _unplaced_line_posts(),
        _stretched("more balusters than marks", forced=True),
        _stretched("more sections than chosen", forced=False),
    ]
    books = [each.written(place / f"edit {number}.xlsx") for number, each in enumerate(edits)]
    made = libreoffice.recalculated(books)
    return {each.what: list(_outcomes(each, formula_cells(book))) for each, book in zip(edits, made, strict=True)}


def _wrong(outcomes: Mapping[str, Sequence[Outcome]], edits: Collection[str]) -> str:
    """Cells that are neither what the engine says nor in a row that asks for another run; a line for each."""
    wrong = [str(each) for what in edits for each in outcomes[what] if each.verdict == WRONG]
    return "\n".join([*wrong[:40], f"and {len(wrong) - 40} more"] if len(wrong) > 40 else wrong)


def test_an_edited_cell_is_followed_or_its_rows_ask_for_another_run(
    outcomes: dict[str, list[Outcome]], record_property: Any
) -> None:
    record_property(CELLS, sum(map(len, outcomes.values())))

    assert not _wrong(outcomes, outcomes.keys() - set(GONE))


@pytest.mark.parametrize("what", GONE)
def test_rows_that_rest_on_what_is_gone_ask_for_another_run(outcomes: dict[str, list[Outcome]], what: str) -> None:
    """A status that shows an error is counted by nobody: the line under the title would say that all is well."""
    assert not _wrong(outcomes, [what])


@pytest.mark.parametrize("fault", [KeyError("slope"), TypeError(), ZeroDivisionError(), ValueError("no section fits")])
def test_a_fault_of_the_engine_is_not_taken_for_a_choice_that_is_gone(
    fault: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lay_out(*_: object) -> Rows:
        raise fault

    job = _job(SEEDS[0])
    monkeypatch.setattr(estimate, "lay_out", lay_out)
    with pytest.raises(type(fault)):
        assert Edited("", job, _typed(job)).laid_out


def test_every_input_column_was_edited() -> None:
    assert {(tab.name, column.name) for tab, column in COLUMNS} == set(_small_edits())


def test_every_measurement_moves_a_figure() -> None:
    """A length or an angle that no figure follows would be asked for in vain."""
    sizes = {(tab.name, column.name) for tab, column in COLUMNS if tab.name != "prices" and column.kind.numeric}
    still = {where for where in sizes if not _moves_something(_job(_small_edits()[where][0]), _small_edits()[where][1])}

    assert still == {("job", "date")}


def test_a_sorted_input_tab_changes_nothing(outcomes: dict[str, list[Outcome]]) -> None:
    for what, cells in outcomes.items():
        if what.endswith(" sorted"):
            assert {outcome.verdict for outcome in cells} == {SAME}, what
            assert not any(outcome.is_stale for outcome in cells), what


@pytest.mark.parametrize("what", ["more balusters than marks", "more sections than chosen"])
def test_what_outgrows_the_workbook_says_so(outcomes: dict[str, list[Outcome]], what: str) -> None:
    totals = [cell for cell in outcomes[what] if ": summary." in cell.where and "_total," in cell.where]

    assert {cell.shown for cell in totals} == {RUN_AGAIN}
    assert any(cell.is_stale and ".marks" in cell.where for cell in outcomes[what])
    assert any(cell.verdict == SAME and not cell.is_stale for cell in outcomes[what])


def test_both_outcomes_are_seen_among_small_edits(outcomes: dict[str, list[Outcome]]) -> None:
    seen = Counter(
        STALE if any(cell.is_stale for cell in cells) else SAME
        for what, cells in outcomes.items()
        if "." in what and not what.startswith("cleared ")
    )

    assert seen[SAME] > 5
    assert seen[STALE] > 5
