"""The commands. This is the only file that prints or sets an exit status.

0: done. 1: done, but something in the job needs attention. 2: nothing was written, with the reason.
"""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from railbook.basics.version import VERSION

if TYPE_CHECKING:
    from railbook.basics.problem import Problem
    from railbook.estimate import Estimate

LENGTH_UNITS = {"in": "inches", "mm": "millimetres"}
DONE, ATTENTION, NOTHING_WRITTEN = 0, 1, 2


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
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
def compute(files: tuple[Path, ...]) -> None:
    """Read measurement workbooks and write each result beside its input."""
    from railbook import estimate

    sys.exit(max(_report(file, estimate.compute(file)) for file in files))


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


def _report(file: Path, computed: "Estimate") -> int:
    """Say what came of one workbook; its exit status."""
    if computed.result is None:
        for problem in computed.problems:
            click.echo(_line(problem), err=True)
        click.echo(f"{file}: nothing was written", err=True)
        return NOTHING_WRITTEN
    summary = computed.rows["summary"][0]
    click.echo(
        f"{file}: runs: {summary.runs_laid_out} laid out, {summary.runs_left_out} left out; "
        f"checks: {summary.checks_made} made, {summary.checks_failed} fail, {summary.checks_unmeasured} not measured, "
        f"{summary.to_look_at} to look at"
    )
    if summary.checks_unmeasured:
        click.echo(f"  not measured: {summary.unmeasured}")
    click.echo(f"  nobody looked at: {summary.unseen}")
    if isinstance(summary.boards_cost, float) and isinstance(summary.boards_by_hand, float):
        click.echo(
            f"  boards: {summary.boards_to_buy} to buy for {summary.boards_cost:.2f}, {summary.plan_proof}; "
            f"cut the longest first they would cost {summary.boards_by_hand:.2f}"
        )
    elif computed.rows["cutting_plan"]:
        click.echo(f"  boards: {summary.boards_to_buy} to buy, {summary.boards_cost}")
    for warning in computed.rows["warnings"]:
        click.echo(f"  {warning.severity:12} {warning.where}: {warning.what} - {warning.remedy}")
    click.echo(f"written: {computed.result}")
    return ATTENTION if computed.needs_attention else DONE


def _line(problem: "Problem") -> str:
    """One problem on one line."""
    return f"{problem.severity}: {problem}"


def _quoted(file: Path) -> str:
    """A file name that the shell takes as one word."""
    return f'"{file}"' if " " in str(file) else str(file)
