"""What is kept has a name of its own, is never without one, and is spoken of last."""

import datetime as dt
import errno
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner, Result

from railbook import blank_form, cli, estimate
from railbook.basics.problem import STOPS
from railbook.report.saving import save_result
from tests.test_cli import draw_quiet, railbook_says

DATED = re.compile(r"porch result \d{4}-\d\d-\d\d \d{4}\.xlsx")
NOON, NEW = dt.datetime(2026, 11, 26, 14, 5), b"the new one"
KINDS = ("measurements", "prices", "amendments", "amounts paid", "ticks", "notes", "tabs of your own")


def write_new(path: Path) -> None:
    path.write_bytes(NEW)


# the dated name


def save_over(place: Path, old: bytes) -> Path:
    """Save a result over these bytes; where they are kept."""
    place.write_bytes(old)
    saved = save_result(place, write_new, NOON)
    assert saved.problem is None
    assert saved.kept is not None
    assert place.read_bytes() == NEW
    return saved.kept


def test_every_result_kept_in_one_minute_has_a_name_of_its_own(tmp_path: Path) -> None:
    place = tmp_path / "porch result.xlsx"
    kept = [save_over(place, b"first"), save_over(place, b"second"), save_over(place, b"third")]

    assert [each.name for each in kept] == [
        "porch result 2026-11-26 1405.xlsx",
        "porch result 2026-11-26 1405 2.xlsx",
        "porch result 2026-11-26 1405 3.xlsx",
    ]
    assert [each.read_bytes() for each in kept] == [b"first", b"second", b"third"]


@pytest.mark.parametrize("take", [Path.mkdir, lambda path: path.symlink_to("nowhere")], ids=["folder", "dead link"])
def test_a_name_that_anything_has_is_not_taken(tmp_path: Path, take: Callable[[Path], None]) -> None:
    take(tmp_path / "porch result 2026-11-26 1405.xlsx")

    assert save_over(tmp_path / "porch result.xlsx", b"old").name == "porch result 2026-11-26 1405 2.xlsx"


# at no moment may the old content exist nowhere


def no_links(*_: Any, **__: Any) -> None:
    """Stands in for a disk without second names for a file, such as a memory card's."""
    raise PermissionError(errno.EPERM, "Operation not permitted")


@pytest.fixture(params=["second names", "no second names"])
def disk(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both kinds of disks."""
    if request.param == "no second names":
        monkeypatch.setattr(os, "link", no_links)
    return str(request.param)


def watch(monkeypatch: pytest.MonkeyPatch, folder: Path, old: bytes) -> list[str]:
    """Look for the old content before and after every step that changes a name; the steps."""
    steps: list[str] = []

    def watched(owner: Any, name: str) -> None:
        step = getattr(owner, name)

        def walk(*args: Any, **more: Any) -> Any:
            assert any(each.is_file() and each.read_bytes() == old for each in folder.iterdir()), name
            try:
                return step(*args, **more)
            finally:
                assert any(each.is_file() and each.read_bytes() == old for each in folder.iterdir()), name
                steps.append(name)

        monkeypatch.setattr(owner, name, walk)

    for owner, name in ((os, "link"), (Path, "replace"), (Path, "unlink"), (Path, "touch")):
        watched(owner, name)
    return steps


def test_the_old_content_is_there_at_every_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, disk: str) -> None:
    place = tmp_path / "porch result.xlsx"
    place.write_bytes(b"a week of work")
    steps = watch(monkeypatch, tmp_path, b"a week of work")
    saved = save_result(place, write_new, NOON)

    assert saved.kept is not None
    assert saved.kept.read_bytes() == b"a week of work"
    assert place.read_bytes() == NEW
    assert {each.name for each in tmp_path.iterdir()} == {place.name, saved.kept.name}
    assert steps.count("replace") == (1 if disk == "second names" else 2)


@pytest.mark.parametrize("fault", [PermissionError(errno.EACCES, "Permission denied"), KeyboardInterrupt()])
def test_what_cannot_be_replaced_gets_its_name_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, disk: str, fault: BaseException
) -> None:
    del disk
    place = tmp_path / "porch result.xlsx"
    place.write_bytes(b"a week of work")
    move = Path.replace

    def held(path: Path, to: Path) -> Path:
        if path.name.startswith(".railbook-"):
            raise fault
        return move(path, to)

    monkeypatch.setattr(Path, "replace", held)
    if isinstance(fault, KeyboardInterrupt):
        with pytest.raises(KeyboardInterrupt):
            save_result(place, write_new, NOON)
    else:
        saved = save_result(place, write_new, NOON)
        assert (saved.problem is None, saved.kept) == (False, None)
    assert place.read_bytes() == b"a week of work"
    assert list(tmp_path.iterdir()) == [place]


# seen from the job


@pytest.fixture
def result(porch_result: Path, tmp_path: Path) -> Path:
    """The porch's result beside its input, in a folder of its own."""
    shutil.copy(porch_result.with_name("porch.xlsx"), tmp_path)
    return Path(shutil.copy(porch_result, tmp_path))


def again(result: Path) -> estimate.Estimate:
    """The porch, computed once more."""
    return estimate.compute(result.with_name("porch.xlsx"))


def test_a_folder_that_gives_no_other_name_keeps_the_old_result(result: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result.write_bytes(b"somebody's own")
    monkeypatch.setattr(os, "link", no_links)
    monkeypatch.setattr(Path, "touch", no_links)
    computed = again(result)

    assert (computed.result, computed.kept) == (None, None)
    assert computed.problems[-1].severity == STOPS
    assert "cannot be kept as porch result " in computed.problems[-1].what
    assert result.read_bytes() == b"somebody's own"
    assert len(list(result.parent.iterdir())) == 2


def test_a_program_that_opens_the_result_meanwhile_is_noticed(result: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The lock is looked for before the work and after it."""
    before = result.read_bytes()
    write = estimate.write

    def opened_meanwhile(computed: estimate.Estimate, path: Path) -> None:
        write(computed, path)
        (result.parent / f"~${result.name}").touch()

    monkeypatch.setattr(estimate, "write", opened_meanwhile)
    computed = again(result)

    assert computed.result is None
    assert "open in a spreadsheet program" in computed.problems[-1].what
    assert result.read_bytes() == before


# what the command says


def compute_says(*files: Path) -> Result:
    return railbook_says("compute", *files)


def test_the_last_line_says_what_was_kept_and_what_is_not_carried(result: Path) -> None:
    result.write_bytes(b"somebody's own")
    said = compute_says(result.with_name("porch.xlsx"))
    (kept,) = [each for each in result.parent.iterdir() if DATED.fullmatch(each.name)]
    last = said.stdout.splitlines()[-1]

    assert said.exit_code == cli.ATTENTION
    assert last.startswith(f"kept: {kept}, which stood there before; nothing that was typed into it")
    assert all(kind in last for kind in KINDS)


def test_several_files_say_it_after_everything_else(result: Path, tmp_path: Path) -> None:
    quiet = draw_quiet(tmp_path / "quiet.xlsx")
    result.write_bytes(b"somebody's own")
    lines = compute_says(result.with_name("porch.xlsx"), quiet).stdout.splitlines()

    assert lines[-2] == f"written: {tmp_path / 'quiet result.xlsx'}"
    assert lines[-1].startswith(f"kept: {tmp_path / 'porch result '}")


def test_nothing_kept_is_not_spoken_of(result: Path) -> None:
    said = compute_says(result.with_name("porch.xlsx"))

    assert said.stdout.splitlines()[-1] == f"written: {result}"
    assert "kept: " not in said.stdout


# names of results


def test_workbooks_of_two_endings_have_two_results(tmp_path: Path) -> None:
    one, other = draw_quiet(tmp_path / "job.xlsx"), draw_quiet(tmp_path / "job.xlsm", 62.125)
    said = compute_says(one, other)

    assert said.exit_code == cli.DONE
    assert {each.name for each in tmp_path.iterdir()} == {
        "job.xlsx", "job.xlsm", "job result.xlsx", "job xlsm result.xlsx",
    }  # fmt: skip


def test_two_workbooks_of_one_command_do_not_take_each_other_s_place(tmp_path: Path) -> None:
    one, other = draw_quiet(tmp_path / "job.xlsm"), draw_quiet(tmp_path / "job xlsm.xlsx", 62.125)
    said = compute_says(one, other)
    alone = compute_says(one)

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert f"its result would be written over that of {one}" in said.stderr
    assert alone.exit_code == cli.DONE
    assert "kept: " not in alone.stdout


def test_a_workbook_that_is_named_twice_is_computed_once(tmp_path: Path) -> None:
    place = draw_quiet(tmp_path / "quiet.xlsx")
    said = compute_says(place, tmp_path / "." / "quiet.xlsx", place)

    assert said.exit_code == cli.DONE
    assert said.stdout.count("written: ") == 1


def test_a_result_written_by_the_same_command_is_not_taken_for_what_stood_there(result: Path) -> None:
    """Somebody measured anew in the result: that is kept, and not what would be computed here."""
    book = openpyxl.load_workbook(result)
    book.save(result)
    said = compute_says(result.with_name("porch.xlsx"), result)

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert f"was written just now, as the result of {result.with_name('porch.xlsx')}" in said.stderr
    assert not result.with_name("porch result 2.xlsx").exists()


# a new form


def test_a_new_form_takes_no_name_that_a_dead_link_has(tmp_path: Path) -> None:
    place = tmp_path / "job.xlsx"
    place.symlink_to(tmp_path / "nowhere.xlsx")
    said = railbook_says("new", place)

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert place.is_symlink()
    assert list(tmp_path.iterdir()) == [place]


def test_a_form_that_appears_meanwhile_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, disk: str
) -> None:
    del disk
    place = tmp_path / "job.xlsx"
    draw_form = blank_form.draw_form

    def filled_in_meanwhile(path: Path, unit: str) -> None:
        draw_form(path, unit)
        place.write_bytes(b"a week of measuring")

    monkeypatch.setattr(blank_form, "draw_form", filled_in_meanwhile)
    said = CliRunner().invoke(cli.main, ["new", str(place)])

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert len(said.stderr.splitlines()) == 1
    assert "choose another name; nothing is overwritten" in said.stderr
    assert place.read_bytes() == b"a week of measuring"
    assert list(tmp_path.iterdir()) == [place]


def test_a_result_that_is_computed_again_says_what_stays_behind(result: Path) -> None:
    said = compute_says(result).stdout

    assert f"ticks, comments and tabs of your own stay in {result}" in said
    assert "ticks, comments" not in compute_says(result.with_name("porch.xlsx")).stdout
