"""The verdict: no zero stands alone, an amended limit is cited so, warnings name cells of the book they stand in."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
from click.testing import CliRunner

from railbook import cli
from railbook.checks import demands
from railbook.checks.check import FAIL, PASS
from railbook.estimate import compute
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, POST, WALL, Support
from tests.filled_form import Filled
from tests.small_jobs import Worked, level, work
from tests.steep_stairs import STAIRS_JOB

UNSEEN = ("strength of posts, rails and joints", "frame, footings and ground", "leans of supports", "windows, pools")


def summary(worked: Worked) -> Any:
    """The Summary of a job."""
    return worked.only("summary")


def test_no_failure_never_stands_alone() -> None:
    told = summary(work(level(60.0)))

    assert told.worst.startswith("0 fail, 0 not measured, ")
    assert told.worst.endswith("read below what nobody looked at")
    assert all(each in told.unseen for each in UNSEEN)


def test_what_was_not_measured_is_named() -> None:
    told = summary(work(level(60.0, drop=None)))

    assert told.checks_unmeasured == 1
    assert told.unmeasured == "guard: drop beside the walking surface (run A)"
    assert "1 not measured" in told.worst


def test_what_stands_already_is_not_taken_for_sound() -> None:
    kept = Support(support="P1", kind=POST, state=EXISTING, standing_height=40.0)
    told = summary(work(level(60.0), supports=(kept, Support(support="P2", kind=WALL))))

    assert "rot and hold of the posts that stand (P1)" in told.unseen
    assert "what the walls and columns are made of (P2)" in told.unseen


def test_leans_that_were_recorded_are_not_named_as_unseen() -> None:
    kept = tuple(Support(support=mark, kind=POST, state=EXISTING, standing_height=40.0) for mark in ("P1", "P2"))
    told = summary(work(level(60.0, lean_from=0.0, lean_to=0.0), supports=kept))

    assert "leans" not in told.unseen


def test_the_terminal_says_it_too(tmp_path: Path) -> None:
    place = tmp_path / "steps.xlsx"
    STAIRS_JOB.draw(place)
    said = CliRunner().invoke(cli.main, ["compute", str(place)]).output

    assert "4 fail, 0 not measured, " in said
    assert "nobody looked at: strength of posts, rails and joints; " in said


# amendments


def test_an_amended_limit_is_cited_as_the_amendment() -> None:
    plain, amended = work(level(60.0)), work(level(60.0), amendments={"level_guard_height": 42.0})

    assert (plain.check(demands.GUARD_HEIGHT).verdict, plain.check(demands.GUARD_HEIGHT).clause) == (PASS, "R312.1.2")
    check = amended.check(demands.GUARD_HEIGHT)
    assert (check.verdict, check.clause) == (FAIL, "local amendment of R312.1.2")
    (warning,) = [row for row in amended.rows["warnings"] if row.check is check]
    assert warning.clause == "local amendment of R312.1.2"


def test_an_amendment_of_another_limit_leaves_the_clause() -> None:
    check = work(level(60.0), amendments={"stair_guard_height": 36.0}).check(demands.GUARD_HEIGHT)

    assert check.clause == "R312.1.2"


# cells


def gapped(run: Run) -> Filled:
    """A form whose run stands two rows below its first."""
    blank = Run()
    return Filled(Path("gapped.xlsx"), "in", {"job_name": "Gapped"}, {"runs": (blank, blank, run)})


def test_a_warning_names_the_cell_of_the_book_that_its_reader_has_open(tmp_path: Path) -> None:
    place = tmp_path / "gapped.xlsx"
    gapped(replace(level(60.0), rise=5.0)).draw(place)
    computed = compute(place)
    (read_at,) = [row.where for row in computed.rows["warnings"] if "is level" in row.what]
    assert computed.result is not None
    typed, result = openpyxl.load_workbook(place), openpyxl.load_workbook(computed.result)
    (named,) = [row[1].value for row in result["Warnings"].iter_rows(min_row=7) if "is level" in str(row[2].value)]

    assert read_at != named
    for book, at in ((typed, read_at), (result, named)):
        tab, _, cell = str(at).partition("!")
        assert book[tab][cell].value == 5.0
