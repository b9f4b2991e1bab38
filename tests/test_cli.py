"""The commands as people type them: what is written, what is said, and the exit status."""

import json
import shlex
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner, Result

import railbook
from railbook import blank_form, cli, estimate
from railbook.basics.kinds import JOB_UNITS
from railbook.basics.problem import STOPS
from railbook.estimate import Estimate
from railbook.intake.read import read
from railbook.job.runs import Run
from railbook.job.supports import WALL, Support
from railbook.report.book import Sheet, write_book
from railbook.tabs import INPUT_TABS, TABS
from tests.porch import draw_porch
from tests.small_jobs import level

ROOT = Path(__file__).parent.parent
DONE, ATTENTION, NOTHING_WRITTEN = 0, 1, 2  # as README.md says
HEAVY = ("openpyxl", "xlsxwriter", "pandas")  # libraries that take long to load


def railbook_says(*words: str | Path) -> Result:
    """The command, run as from the shell."""
    result = CliRunner().invoke(cli.main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def draw(path: Path, *runs: Run, job_name: str = "Porch", supports: Sequence[Support] = ()) -> Path:
    """An inch form filled in with these runs."""
    filled: Mapping[str, Any] = {"runs": runs, "flights": (), "supports": supports}
    first, *others = blank_form.sheets("in")
    job = Sheet(first.tab, (replace(first.rows[0], job_name=job_name),))  # type: ignore[type-var]
    rest = [Sheet(each.tab, filled.get(each.tab.name, each.rows), each.blank_rows) for each in others]
    write_book(path, [job, *rest], unit="in", footer="", form=True)
    return path


def draw_quiet(path: Path, clear: float = 60.125) -> Path:
    """A job with nothing to look at: one level guard of one section, between two walls."""
    return draw(path, level(clear), supports=[Support(support=mark, kind=WALL) for mark in ("P1", "P2")])


@pytest.fixture(scope="module")
def porch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example job, not computed; tests copy it."""
    place = tmp_path_factory.mktemp("porch") / "porch.xlsx"
    draw_porch(place)
    return place


@pytest.fixture(scope="module")
def computed(porch: Path, tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """The example job, computed from Python."""
    place = tmp_path_factory.mktemp("computed") / "porch.xlsx"
    place.write_bytes(porch.read_bytes())
    return railbook.compute(str(place))


def retype(place: Path, title: str, header: str, value: float) -> None:
    """Type a value into the first row of a tab."""
    book = openpyxl.load_workbook(place)
    (column,) = [cell.column_letter for cell in book[title][5] if cell.value == header]
    book[title][f"{column}8"] = value
    book.save(place)


def copied(workbook: Path, place: Path) -> Path:
    """A copy of a workbook, in a place of its own."""
    place.write_bytes(workbook.read_bytes())
    return place


# new


@pytest.mark.parametrize("unit", JOB_UNITS)
def test_a_new_form_lacks_only_the_name_of_the_job_and_its_runs(tmp_path: Path, unit: str) -> None:
    place = tmp_path / "job.xlsx"
    said = railbook_says("new", place, "--unit", unit)

    assert said.exit_code == DONE
    job, problems = estimate.read(place)
    assert job is None
    assert [(each.severity, each.what) for each in problems] == [(STOPS, "Job name is blank")]

    book = openpyxl.load_workbook(place)
    book["Job"]["B5"] = "Porch"
    book.save(place)
    job, problems = estimate.read(place)
    assert job is None
    assert [(each.severity, each.what) for each in problems] == [(STOPS, "no run is filled in")]


@pytest.mark.parametrize(("asked", "unit"), [((), "in"), (("--unit", "in"), "in"), (("--unit", "mm"), "mm")])
def test_a_new_form_is_in_inches_unless_asked_otherwise(tmp_path: Path, asked: tuple[str, ...], unit: str) -> None:
    railbook_says("new", tmp_path / "job.xlsx", *asked)
    (settings,) = read(tmp_path / "job.xlsx", INPUT_TABS).rows["job"]

    assert settings.unit == unit


def test_a_new_form_says_the_next_command(tmp_path: Path) -> None:
    place = tmp_path / "my first job.xlsx"
    said = railbook_says("new", place)

    _, command = said.stdout.split("then: ")
    assert shlex.split(command) == ["railbook", "compute", str(place)]


def test_a_new_form_overwrites_nothing(tmp_path: Path) -> None:
    place = tmp_path / "job.xlsx"
    place.write_bytes(b"a week of measuring")
    said = railbook_says("new", place)

    assert said.exit_code == NOTHING_WRITTEN
    assert "there is a file of that name" in said.stderr
    assert said.stdout == ""
    assert place.read_bytes() == b"a week of measuring"


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("job", "ends in .xlsx"),
        ("job.xls", "ends in .xlsx"),
        ("no such folder/job.xlsx", "cannot write into this folder"),
        ("n" * 300 + ".xlsx", "too long"),
    ],
    ids=["no ending", "old ending", "no folder", "long name"],
)
def test_a_new_form_needs_a_name_and_a_place(tmp_path: Path, name: str, reason: str) -> None:
    said = railbook_says("new", tmp_path / name)

    assert said.exit_code == NOTHING_WRITTEN
    assert reason in said.stderr
    assert len(said.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_unit_is_refused_with_the_two_there_are(tmp_path: Path) -> None:
    said = railbook_says("new", tmp_path / "job.xlsx", "--unit", "ft")

    assert said.exit_code == NOTHING_WRITTEN
    assert "'in', 'mm'" in said.stderr
    assert list(tmp_path.iterdir()) == []


# compute


def test_a_job_with_something_to_look_at_is_done_with_status_1(porch: Path, tmp_path: Path) -> None:
    place = copied(porch, tmp_path / "porch.xlsx")
    said = railbook_says("compute", place)
    result = tmp_path / "porch result.xlsx"

    assert said.exit_code == ATTENTION
    assert said.stderr == ""
    assert said.stdout.splitlines()[0].startswith(f"{place}: runs: 4 laid out, 0 left out")
    assert said.stdout.splitlines()[-1] == f"written: {result}"
    assert place.read_bytes() == porch.read_bytes()
    assert set(tmp_path.iterdir()) == {place, result}


def test_everything_to_look_at_is_said_in_the_result_and_on_the_screen(porch: Path, tmp_path: Path) -> None:
    """The porch's posts must be held, and the rail of a flight runs into the level cap; the cap of its front guard
    is longer than 16 ft, its corners are said, two posts stand on no tab, and six blocks need a deeper hole."""
    said = railbook_says("compute", copied(porch, tmp_path / "porch.xlsx"))
    book = openpyxl.load_workbook(tmp_path / "porch result.xlsx", data_only=True)
    listed = [row for row in book["Warnings"].iter_rows(min_row=7, values_only=True) if row[0]]

    assert [row[0] for row in listed] == ["look"] * 2 + ["note"] * 9
    assert all(f"{row[1]}: {row[2]}" in said.stdout for row in listed)
    assert '7/16" into the overhang' in said.stdout
    assert "longer than any board" in said.stdout


def test_a_job_with_nothing_to_look_at_is_done_with_status_0(tmp_path: Path) -> None:
    said = railbook_says("compute", draw_quiet(tmp_path / "quiet.xlsx"))

    assert said.exit_code == DONE
    assert [line.split()[0] for line in said.stdout.splitlines()[1:]] == ["nobody", "boards:", "written:"]
    assert (tmp_path / "quiet result.xlsx").exists()


def test_a_failed_check_is_status_1(tmp_path: Path) -> None:
    """A level guard of 35 in where 36 in is asked for, IRC 2021 R312.1.2."""
    place = draw_quiet(tmp_path / "low.xlsx")
    retype(place, "Assemblies", "Level guard height", 35)
    said = railbook_says("compute", place)

    assert said.exit_code == ATTENTION
    assert "fail" in said.stdout


NO_WORKBOOKS: Mapping[str, tuple[bytes | None, str]] = {  # name, what stands in the file, why it is refused
    "notes.xlsx": (b"Front: 15 ft 7, side: 5 ft 5", "the file is not an Excel workbook"),
    "runs.csv": (b"Run,Kind,Clear\nA,Level,187.375\n", "the file is not an Excel workbook"),
    "empty.xlsx": (b"", "the file is empty"),
    "cut off.xlsx": (b"PK\x03\x04\x14\x00", "the file is damaged and cannot be read"),
    "secret.xlsx": (bytes.fromhex("D0CF11E0A1B11AE1") + bytes(504), "it is protected by a password"),
    "missing.xlsx": (None, "the file is not there"),
    ".": (None, "the file is a folder"),
}


@pytest.mark.parametrize("name", NO_WORKBOOKS)
def test_what_is_no_workbook_is_status_2_with_the_reason_in_a_line(tmp_path: Path, name: str) -> None:
    """The eight bytes of the password-protected one begin every compound file ([MS-CFB] 2.2)."""
    data, reason = NO_WORKBOOKS[name]
    if data is not None:
        (tmp_path / name).write_bytes(data)
    before = list(tmp_path.iterdir())
    said = railbook_says("compute", tmp_path / name)

    assert said.exit_code == NOTHING_WRITTEN
    assert said.stdout == ""
    why, outcome = said.stderr.splitlines()
    assert why.startswith("stops: ")
    assert reason in why
    assert outcome == f"{tmp_path / name}: nothing was written"
    assert list(tmp_path.iterdir()) == before


@pytest.mark.parametrize("missing_first", [True, False])
def test_several_files_are_all_computed_and_the_worst_status_counts(tmp_path: Path, *, missing_first: bool) -> None:
    quiet, missing = draw_quiet(tmp_path / "quiet.xlsx"), tmp_path / "missing.xlsx"
    said = railbook_says("compute", *((missing, quiet) if missing_first else (quiet, missing)))

    assert said.exit_code == NOTHING_WRITTEN
    assert "missing.xlsx: the file is not there" in said.stderr
    assert (tmp_path / "quiet result.xlsx").exists()


def test_one_file_of_several_that_needs_a_look_gives_status_1(porch: Path, tmp_path: Path) -> None:
    quiet, loud = draw_quiet(tmp_path / "quiet.xlsx"), copied(porch, tmp_path / "porch.xlsx")
    said = railbook_says("compute", loud, quiet)

    assert said.exit_code == ATTENTION
    assert said.stdout.count("written: ") == 2


def test_a_workbook_that_is_open_elsewhere_is_computed_and_said_to_be_open(tmp_path: Path) -> None:
    place = draw_quiet(tmp_path / "quiet.xlsx")
    (tmp_path / "~$quiet.xlsx").touch()
    said = railbook_says("compute", place)

    assert said.exit_code == DONE
    assert (tmp_path / "quiet result.xlsx").exists()
    assert "the workbook is open in a spreadsheet program" in said.output


def test_compute_asks_for_a_file() -> None:
    assert railbook_says("compute").exit_code == NOTHING_WRITTEN


# the process itself


def python_says(*words: str | Path) -> subprocess.CompletedProcess[str]:
    """A process of its own, started where the program can be found."""
    command = [sys.executable, *map(str, words)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_a_name_with_spaces_is_one_file(porch: Path, tmp_path: Path) -> None:
    done = python_says("-m", "railbook", "compute", copied(porch, tmp_path / "12 Quarry Road (porch).xlsx"))
    result = tmp_path / "12 Quarry Road (porch) result.xlsx"

    assert (done.returncode, done.stderr) == (ATTENTION, "")
    assert done.stdout.splitlines()[-1] == f"written: {result}"
    assert result.exists()


def test_help_names_every_command() -> None:
    done = python_says("-m", "railbook", "--help")

    assert done.returncode == DONE
    _, listed = done.stdout.split("Commands:")
    assert {line[2:].split(" ")[0] for line in listed.splitlines()} - {""} == set(cli.main.commands)
    assert {"new", "compute"} <= set(cli.main.commands)


@pytest.mark.parametrize("command", sorted(cli.main.commands))
def test_every_command_is_documented(command: str) -> None:
    assert f"railbook {command}" in (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_version_is_the_package_s() -> None:
    assert railbook_says("--version").stdout.strip().endswith(railbook.__version__)


def test_starting_loads_no_heavy_library() -> None:
    """The commands answer at once: what takes long to load is loaded when it is used."""
    code = f"import sys, json, railbook.cli; print(json.dumps([name for name in {HEAVY} if name in sys.modules]))"

    assert json.loads(python_says("-c", code).stdout) == []


def test_computing_loads_no_tables_library(tmp_path: Path) -> None:
    """Tables are an extra that may not be installed."""
    code = "import sys, railbook; print(railbook.compute(sys.argv[1]).result is not None, 'pandas' in sys.modules)"

    assert python_says("-c", code, draw_quiet(tmp_path / "quiet.xlsx")).stdout.split() == ["True", "False"]


# from Python


def test_python_gives_the_rows_of_every_tab_and_the_place_of_the_result(computed: Estimate) -> None:
    assert set(computed.rows) == {tab.name for tab in TABS}
    assert computed.result is not None
    assert computed.result.name == "porch result.xlsx"
    assert computed.result.exists()
    assert computed.problems == ()


def test_python_gives_every_tab_as_a_frame_with_its_columns(computed: Estimate) -> None:
    for tab in TABS:
        frame = computed.frame(tab.name)
        assert list(frame.columns) == [column.name for column in tab.columns]
        assert len(frame) == len(computed.rows[tab.name])
    assert computed.frame("runs")["run"].tolist() == ["A", "B", "S1", "S2"]
    assert computed.frame("runs")["clear_bottom"].iloc[0] == 15 * 12 + 7.375


def test_a_frame_of_a_tab_that_nobody_knows_is_a_key_error(computed: Estimate) -> None:
    with pytest.raises(KeyError):
        computed.frame("cutlist")


def shown(path: Path, titles: Sequence[str]) -> list[list[tuple[Any, ...]]]:
    """Every value of some tabs of a result."""
    book = openpyxl.load_workbook(path, data_only=True)
    return [list(book[title].iter_rows(values_only=True)) for title in titles]


def test_a_result_is_an_input_and_counts_on(computed: Estimate) -> None:
    assert computed.result is not None
    before = computed.result.read_bytes()
    again = railbook.compute(computed.result)

    assert again.result is not None
    assert again.result == computed.result.with_name("porch result 2.xlsx")
    assert computed.result.read_bytes() == before
    assert again.problems == ()
    titles = ("Cut list", "Baluster layout", "Post schedule", "Runs", "Code checks", "Summary")
    assert shown(again.result, titles) == shown(computed.result, titles)
    assert estimate.result_path(again.result).name == "porch result 3.xlsx"


def test_a_measurement_changed_in_the_result_is_computed(tmp_path: Path) -> None:
    """60 1/8 in between the posts less 1/16 in at each rail end are 60 in of rail; 2 in more are 62 in."""
    first = railbook.compute(draw_quiet(tmp_path / "quiet.xlsx")).result
    assert first is not None
    retype(first, "Runs", "Clear at top", 62.125)
    retype(first, "Runs", "Clear at bottom", 62.125)
    again = railbook.compute(first)

    rails = [(each.quantity, each.length) for each in again.rows["cut_list"] if each.part == "Both rails"]
    assert rails == [(2, 62.0)]
