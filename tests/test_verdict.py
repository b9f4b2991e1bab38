"""The verdict: no zero stands alone, an amended limit is cited so, warnings name cells of the book they stand in."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
from click.testing import CliRunner

from railbook import cli
from railbook.checks import demands
from railbook.checks.check import CLOSE, FAIL, PASS
from railbook.estimate import compute
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, POST, WALL, Support
from tests.filled_form import Filled
from tests.small_jobs import WOOD, Worked, flight, level, stair, work
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


def test_runs_that_were_left_out_stand_in_the_verdict() -> None:
    told = summary(work(level(60.0), level(60.0, run="B", assembly="WOOOD")))

    assert ", 1 left out; " in told.worst


def test_a_guard_that_is_not_required_is_not_close() -> None:
    """An opening of 3.97 under a limit of 4, where the drop is 12 in."""
    near = replace(WOOD, level_clearance=3.97)
    kept, spared = (work(level(60.0, drop=drop), assemblies=[near]) for drop in (48.0, 12.0))

    assert (kept.check(demands.UNDER_RAIL).verdict, spared.check(demands.UNDER_RAIL).verdict) == (CLOSE, PASS)


def test_open_risers_are_cited_with_the_limit_of_balusters() -> None:
    steps = replace(flight(7.5, 10.0), open_risers="Yes")
    worked = work(stair(65.0, 48.75, upper_setback=2.0), flights=(steps,), amendments={"stair_sphere": 4.0})
    check = worked.check(demands.TRIANGLE)

    assert (check.limit, check.clause) == (4.0, "local amendment of R312.1.3 exc. 2")
