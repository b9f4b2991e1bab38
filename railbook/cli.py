"""The commands. This is the only file that prints or sets an exit status.

0: done. 1: done, but something in the job needs attention. 2: nothing was written, with the reason.
130: broken off by the person at the keyboard, as shells have it.
"""

import errno
import io
import shutil
import sys
import time
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from railbook.basics.machine import broken_off
from railbook.basics.problem import STOPS, Problem
from railbook.basics.version import VERSION

if TYPE_CHECKING:
    from railbook.estimate import Estimate

LENGTH_UNITS = {"in": "inches", "mm": "millimetres"}
DONE, ATTENTION, NOTHING_WRITTEN, BROKEN_OFF = 0, 1, 2, 130
LONGEST_SEARCH, PATIENCE = 20, 1.0  # seconds: of a search that is asked for; before anything is said of long work
NOT_CARRIED = (
    "nothing that was typed into it is in the new one: measurements, prices, amendments, amounts paid, ticks, "
    "notes, tabs of your own"
)


class Seconds(click.FloatRange):
    """So many seconds, and what may be said in words where it is something else."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The number; a usage error for anything else."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            self.fail(f"{value} is no number of seconds from {self.min:g} to {self.max:g}", param, ctx)


class Commands(click.Group):
    """The commands, on any terminal: what the computer refuses is a sentence, and so is an interruption."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")  # a sign that the terminal lacks stops nothing
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            click.echo("interrupted; no file is half written", err=True)
            ctx.exit(BROKEN_OFF)
        except (MemoryError, OSError) as fault:
            if isinstance(fault, OSError) and fault.errno == errno.EPIPE:
                raise  # nobody listens any more
            click.echo(_line(broken_off("railbook", fault)), err=True)
            ctx.exit(NOTHING_WRITTEN)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION)
def main() -> None:
    """From site measurements of deck and stair railings to a workbook one can saw from."""


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--unit", type=click.Choice(["in", "mm"]), default="in", show_default=True, help="Length unit of the job."
)
def new(file: Path, unit: str) -> None:
    """Write a blank measurement workbook."""
    from railbook import blank_form

    problem = blank_form.write_form(file, unit)
    if problem is not None:
        click.echo(_line(problem), err=True)
        sys.exit(NOTHING_WRITTEN)
    click.echo(f"{file}: a blank measurement workbook in {LENGTH_UNITS[unit]}")
    click.echo(f"fill it in, then: railbook compute {_quoted(file)}")


@main.command(short_help="Compute workbooks; each result goes beside its input.")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--search",
    "seconds",
    type=Seconds(0, LONGEST_SEARCH),
    metavar="SECONDS",
    help=f"Look so many seconds for a cheaper cutting plan, at most {LONGEST_SEARCH}; without it as long as suits the "
    "job, half a second for 100 sections.",
)
def compute(files: tuple[Path, ...], seconds: float | None) -> None:
    """Read measurement workbooks and write each result beside its input.

    A result that somebody has saved since is kept under a dated name.
    """
    done: list[tuple[Path, Estimate]] = []
    try:
        worst = max(_compute(file, done, seconds) for file in files)
    finally:
        for _, computed in done:
            if computed.kept is not None:
                click.echo(f"kept: {computed.kept}, which stood there before; {NOT_CARRIED}")
    sys.exit(worst)


def _compute(file: Path, done: list[tuple[Path, "Estimate"]], seconds: float | None) -> int:
    """Compute one of several workbooks, whatever becomes of it; its exit status."""
    from railbook.estimate import Estimate, compute, result_path

    place = result_path(file) if file.name else file  # a folder as "." has no name, and no result
    before = next(((other, each) for other, each in done if _are_one(place, each.result)), None)
    if before is not None and _are_one(file, before[0]):
        return DONE  # named twice
    progress = Progress(file.name)
    try:
        problem = _in_the_way(file, done) if before is None else _same_place(file, before[0])
        nothing = Estimate(None, None, {}, (problem,)) if problem else None
        computed = nothing or compute(file, seconds=seconds, tell=progress.tell)
    except Exception as fault:  # noqa: BLE001 - a mistake of ours must not stop the other files
        computed = Estimate(None, None, {}, (_our_mistake(file, fault),))
    finally:
        progress.clear()
    if computed.result is not None:
        done.append((file, computed))
    return _report(file, computed, may_search_longer=seconds is None)


class Progress:
    """One line that says what takes long, where somebody is watching; it is gone at the end."""

    def __init__(self, about: str) -> None:
        self._about, self._begun, self._shown = about, time.monotonic(), 0

    def tell(self, words: str) -> None:
        """Say it in place of what was said before, once a second has passed."""
        if sys.stderr.isatty() and time.monotonic() - self._begun >= PATIENCE:
            line = f"{self._about}: {words}"[: shutil.get_terminal_size().columns - 1]
            click.echo(f"\r{line:{self._shown}}", nl=False, err=True)
            self._shown = len(line)

    def clear(self) -> None:
        """Leave the line empty."""
        if self._shown:
            click.echo(f"\r{'':{self._shown}}\r", nl=False, err=True)


def _are_one(path: Path, other: Path | None) -> bool:
    """Whether two names are one file."""
    try:
        return other is not None and path.samefile(other)
    except OSError:
        return False


def _same_place(file: Path, other: Path) -> Problem:
    """Two workbooks whose results have one name."""
    what = f"its result would be written over that of {other}, which was computed just now"
    return Problem(str(file), what, "give one of the two workbooks another name", STOPS)


def _in_the_way(file: Path, done: Sequence[tuple[Path, "Estimate"]]) -> Problem | None:
    """A workbook that is no longer the one that was meant."""
    for other, computed in done:
        if _are_one(file, computed.result):
            what = f"was written just now, as the result of {other}"
            return Problem(str(file), what, "compute it in a command of its own", STOPS)
    return None


def _our_mistake(file: Path, fault: Exception) -> Problem:
    """A mistake of the program, with the place that helps to mend it."""
    *_, last = traceback.extract_tb(fault.__traceback__)
    what = f"railbook failed ({type(fault).__name__} in {Path(last.filename).name}, line {last.lineno}: {fault})"
    return Problem(str(file), " ".join(what.split()), "send the workbook to whoever looks after railbook", STOPS)


@main.command(short_help="Evaluate a workbook's formulas afresh and compare.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--sample", is_flag=True, help="For large workbooks: the first, middle and last cell of each formula only."
)
@click.option("--libreoffice", is_flag=True, help="Compare every cell with LibreOffice's recalculation instead.")
def verify(file: Path, *, sample: bool, libreoffice: bool) -> None:
    """Evaluate every formula of a workbook afresh and compare with its values."""
    from railbook import verify as verifying
    from railbook.basics.problem import Problem

    lacks = None if libreoffice else verifying.missing_extra()
    verdict = lacks or (
        verifying.verify_by_libreoffice(file)
        if libreoffice
        else verifying.verify(file, sample=sample, processes=verifying.PROCESSES, progress=_progress)
    )
    if isinstance(verdict, Problem):
        click.echo(_line(verdict), err=True)
        sys.exit(NOTHING_WRITTEN)
    for found in (*verdict.differences, *verdict.lost):
        click.echo(f"  {found}")
    click.echo(f"{file}: {verdict}")
    sys.exit(DONE if verdict.agrees else ATTENTION)


def _progress(done: int, of: int) -> None:
    """Say how far verifying has come, where somebody is watching."""
    if sys.stderr.isatty():
        click.echo(f"\r{done} of {of} formulas", nl=done == of, err=True)


def _report(file: Path, computed: "Estimate", *, may_search_longer: bool) -> int:
    """Say what came of one workbook; its exit status."""
    if computed.result is None:
        for problem in computed.problems:
            click.echo(_line(problem), err=True)
        click.echo(f"{file}: nothing was written", err=True)
        return NOTHING_WRITTEN
    from railbook.estimate import is_result

    for line in (
        *_counted(file, computed),
        *_costed(computed),
        *_unproven(computed, may_search_longer=may_search_longer),
    ):
        click.echo(line)
    for warning in computed.rows["warnings"]:
        click.echo(f"  {warning.severity:12} {warning.where}: {warning.what} - {warning.remedy}")
    if is_result(file):
        click.echo(f"  ticks, comments and tabs of your own stay in {file}: only the tabs to type in are carried on")
    click.echo(f"written: {computed.result}")
    return ATTENTION if computed.needs_attention else DONE


def _counted(file: Path, computed: "Estimate") -> Iterator[str]:
    """What was laid out and checked, and what was not."""
    summary = computed.rows["summary"][0]
    yield (
        f"{file}: runs: {summary.runs_laid_out} laid out, {summary.runs_left_out} left out; "
        f"checks: {summary.checks_made} made, {summary.checks_failed} fail, {summary.checks_unmeasured} not measured, "
        f"{summary.to_look_at} to look at"
    )
    if summary.checks_unmeasured:
        yield f"  not measured: {summary.unmeasured}"
    yield f"  nobody looked at: {summary.unseen}"


def _costed(computed: "Estimate") -> Iterator[str]:
    """Boards and the price, as far as known."""
    summary = computed.rows["summary"][0]
    if isinstance(summary.boards_cost, float) and isinstance(summary.boards_by_hand, float):
        yield (
            f"  boards: {summary.boards_to_buy} to buy for {summary.boards_cost:.2f}, {summary.plan_proof}; "
            f"cut the longest first they would cost {summary.boards_by_hand:.2f}"
        )
    elif computed.rows["cutting_plan"]:
        yield f"  boards: {summary.boards_to_buy} to buy, {summary.boards_cost}"
    if isinstance(summary.whole_price, float):
        yield f"  price of the job: {summary.whole_price:,.2f}, {summary.whole_price_says}"


def _unproven(computed: "Estimate", *, may_search_longer: bool) -> Iterator[str]:
    """Cutting plans that may not be the best, and what to do about it."""
    plans = [plan for plan in computed.rows["plans"] if plan.unproven]
    for plan in plans:
        gap, item = plan.of.gap, plan.of.item
        above = "" if gap is None else f", at most {gap:.2f} above it"
        yield f"  plan of {item}: {plan.proof}{above}"
    if plans and may_search_longer:
        yield f"  to look for cheaper plans for {LONGEST_SEARCH} seconds: --search {LONGEST_SEARCH}"


def _line(problem: "Problem") -> str:
    """One problem on one line."""
    return f"{problem.severity}: {problem}"


def _quoted(file: Path) -> str:
    """A file name that the shell takes as one word."""
    return f'"{file}"' if " " in str(file) else str(file)
