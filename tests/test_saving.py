"""A workbook is saved whole or not at all, and what stood in its place before is never half overwritten."""

import errno
import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from railbook.basics.problem import NOTE, STOPS, Problem
from railbook.estimate import compute
from railbook.report.book import write_book
from railbook.report.saving import is_open, save
from tests.porch import porch_sheets

OLD, NEW = b"the old workbook", b"the new workbook, rather longer than the old one"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """An older result in a folder of its own."""
    place = tmp_path / "job result.xlsx"
    place.write_bytes(OLD)
    return place


@pytest.fixture
def mask() -> Iterator[Callable[[int], int]]:
    """Sets the process's mask for new files and returns the one before; the first one is put back afterwards."""
    before = os.umask(0o022)
    yield os.umask
    os.umask(before)


def write_new(path: Path) -> None:
    path.write_bytes(NEW)


def break_off(fault: Exception) -> Callable[[Path], None]:
    """A writer that fails in the middle of the file."""

    def write(path: Path) -> None:
        path.write_bytes(NEW[:10])
        raise fault

    return write


def refuse(_: Path) -> None:
    raise AssertionError("nothing may be written here")


def forbidden(**_: object) -> None:
    """Stands in for a folder without the right to write, which would not hold the administrator back."""
    raise PermissionError(errno.EACCES, "Permission denied")


def stopped(problem: Problem | None) -> Problem:
    """The problem, which says in one line that nothing was written and what to do."""
    assert problem is not None
    assert problem.severity == STOPS
    assert problem.remedy
    assert "\n" not in str(problem)
    return problem


def untouched(place: Path) -> bool:
    """Whether the old file stands alone and unchanged in its folder."""
    return place.read_bytes() == OLD and list(place.parent.iterdir()) == [place]


def test_a_new_file_stands_alone_in_its_place(tmp_path: Path) -> None:
    place = tmp_path / "job result.xlsx"

    assert save(place, write_new) is None
    assert place.read_bytes() == NEW
    assert list(tmp_path.iterdir()) == [place]


def test_an_older_file_is_replaced_whole(place: Path) -> None:
    assert save(place, write_new) is None
    assert place.read_bytes() == NEW
    assert list(place.parent.iterdir()) == [place]


def test_the_old_file_stands_until_the_new_one_is_whole(place: Path) -> None:
    """A move within one folder is at once, so the passing file has to lie in that folder."""
    seen: list[tuple[Path, bytes]] = []

    def write(path: Path) -> None:
        write_new(path)
        seen.append((path, place.read_bytes()))

    assert save(place, write) is None
    ((passing, standing),) = seen
    assert standing == OLD
    assert passing.parent == place.parent
    assert passing.suffix == ".xlsx"


def test_the_file_is_on_the_disk_before_it_is_moved(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    steps: list[str] = []
    to_the_disk, move = os.fsync, Path.replace

    def noted_to_the_disk(handle: int) -> None:
        steps.append("to the disk")
        to_the_disk(handle)

    def noted_move(passing: Path, to: Path) -> Path:
        steps.append("moved")
        return move(passing, to)

    monkeypatch.setattr(os, "fsync", noted_to_the_disk)
    monkeypatch.setattr(Path, "replace", noted_move)

    assert save(place, write_new) is None
    assert steps == ["to the disk", "moved"]


def test_a_full_disk_leaves_the_old_file_and_nothing_else(place: Path) -> None:
    problem = stopped(save(place, break_off(OSError(errno.ENOSPC, "No space left on device"))))

    assert problem.where == str(place)
    assert "No space left on device" in problem.what
    assert untouched(place)


def test_a_mistake_of_ours_is_raised_but_leaves_the_old_file_and_nothing_else(place: Path) -> None:
    with pytest.raises(ValueError, match="a word that nobody knows"):
        save(place, break_off(ValueError("a word that nobody knows")))

    assert untouched(place)


def test_an_interrupted_run_leaves_the_old_file_and_nothing_else(place: Path) -> None:
    def write(path: Path) -> None:
        path.write_bytes(NEW[:10])
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        save(place, write)

    assert untouched(place)


def test_a_place_that_may_not_be_replaced_keeps_its_file(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As where the other program's hold on the file shows only when it is replaced."""

    def held(_: Path, __: Path) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "replace", held)
    problem = stopped(save(place, write_new))

    assert "Permission denied" in problem.what
    assert "close it" in problem.remedy
    assert untouched(place)


def test_a_folder_of_that_name_is_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "job result.xlsx"
    place.mkdir()

    stopped(save(place, write_new))
    assert place.is_dir()
    assert list(tmp_path.iterdir()) == [place]


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    problem = stopped(save(tmp_path / "no such folder" / "job.xlsx", refuse))

    assert problem.where == str(tmp_path / "no such folder")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_the_right_to_write_is_named(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "mkstemp", forbidden)
    problem = stopped(save(place, refuse))

    assert problem.where == str(place.parent)
    assert "Permission denied" in problem.what
    assert untouched(place)


@pytest.mark.parametrize("lock", ["~$job result.xlsx", ".~lock.job result.xlsx#"])
def test_a_file_that_is_open_elsewhere_is_not_replaced(place: Path, lock: str) -> None:
    """Names of the lock files that the two most common spreadsheet programs lay beside an open workbook."""
    (place.parent / lock).touch()

    assert is_open(place)
    problem = stopped(save(place, refuse))
    assert problem.where == str(place)
    assert "open" in problem.what
    assert place.read_bytes() == OLD
    assert {each.name for each in place.parent.iterdir()} == {place.name, lock}


@pytest.mark.parametrize("lock", ["~$job.xlsx", ".~lock.other job result.xlsx#", "job result.xlsx.lock"])
def test_a_lock_of_another_file_does_not_matter(place: Path, lock: str) -> None:
    (place.parent / lock).touch()

    assert not is_open(place)
    assert save(place, write_new) is None
    assert place.read_bytes() == NEW


def test_a_name_as_long_as_names_may_be_is_no_traceback(tmp_path: Path) -> None:
    """255 bytes are the longest name; the name of its lock file would be longer."""
    place = tmp_path / ("n" * 250 + ".xlsx")

    problem = save(place, write_new)
    assert problem is not None or place.read_bytes() == NEW


@pytest.mark.parametrize(("wanted", "rights"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664), (0o027, 0o640)])
def test_a_saved_file_has_the_rights_of_any_new_file(
    place: Path, mask: Callable[[int], int], wanted: int, rights: int
) -> None:
    """666 without the bits of the mask, as POSIX has it for a new file; a passing file is 600 otherwise."""
    mask(wanted)

    assert save(place, write_new) is None
    assert place.stat().st_mode & 0o777 == rights
    assert mask(wanted) == wanted


# the same, seen from the job


@pytest.fixture
def porch(tmp_path: Path) -> Path:
    """The example job in a folder of its own."""
    place = tmp_path / "porch.xlsx"
    write_book(place, porch_sheets(), unit="in", footer="", form=True)
    return place


@pytest.mark.parametrize("lock", ["~$porch result.xlsx", ".~lock.porch result.xlsx#"])
def test_nothing_is_written_over_a_result_that_is_open(porch: Path, lock: str) -> None:
    (porch.parent / lock).touch()
    (porch.parent / "porch result.xlsx").write_bytes(OLD)
    computed = compute(porch)

    assert computed.result is None
    stopped(computed.problems[-1])
    assert (porch.parent / "porch result.xlsx").read_bytes() == OLD
    assert len(list(porch.parent.iterdir())) == 3


@pytest.mark.parametrize("lock", ["~$porch.xlsx", ".~lock.porch.xlsx#"])
def test_a_job_that_is_open_is_computed_as_it_was_saved(porch: Path, lock: str) -> None:
    (porch.parent / lock).touch()
    computed = compute(porch)

    assert computed.result == porch.with_name("porch result.xlsx")
    assert [each.severity for each in computed.problems] == [NOTE]
    assert "open in a spreadsheet program" in computed.problems[0].what
    assert "not saved there were not read" in computed.problems[0].remedy


def test_a_job_in_a_folder_without_the_right_to_write_says_so(porch: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "mkstemp", forbidden)
    computed = compute(porch)

    assert computed.result is None
    assert stopped(computed.problems[-1]).where == str(porch.parent)
    assert list(porch.parent.iterdir()) == [porch]
