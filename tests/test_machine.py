"""What the computer refuses is one sentence: a full disk, too few handles, low memory, a poor terminal, ctrl-C."""

import errno
import os
import re
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

import pytest

from railbook import cli, estimate
from railbook.basics.problem import STOPS, Problem
from railbook.estimate import Estimate
from railbook.intake import workbook, written
from railbook.report import book as report_book
from tests.small_jobs import level
from tests.test_cli import draw, draw_quiet, railbook_says

ROOT = Path(__file__).parent.parent
NO_MEMORY = "needs more memory than this computer has free - close other programs, or divide the job"


@pytest.fixture
def quiet(tmp_path: Path) -> Path:
    """A small job with nothing to look at, in a folder of its own."""
    folder = tmp_path / "job"
    folder.mkdir()
    return draw_quiet(folder / "quiet.xlsx")


def raising(fault: BaseException) -> Callable[..., None]:
    """Stands in for whatever fails in that way."""

    def fail(*_: object, **__: object) -> None:
        raise fault

    return fail


def process(*words: str | Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own."""
    command = [sys.executable, "-m", "railbook", *map(str, words)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, check=False, env={**os.environ, **environment})


def python(code: str, *words: str | Path) -> subprocess.CompletedProcess[str]:
    """A process of its own that prepares something, then runs the command."""
    command = [sys.executable, "-c", f"{code}\nfrom railbook.cli import main\nmain()", *map(str, words)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def stands_alone(place: Path) -> bool:
    """Whether nothing but the input is in its folder."""
    return list(place.parent.iterdir()) == [place]


def one_problem(computed: Estimate) -> Problem:
    """The only one: nothing was written."""
    assert computed.result is None
    (problem,) = computed.problems
    assert problem.severity == STOPS
    return problem


# the disk


def test_a_full_disk_is_one_sentence_and_leaves_nothing(quiet: Path, tmp_path: Path) -> None:
    """No file of the process may pass 20,000 bytes; the system says so as it does of a full disk."""
    parts = tmp_path / "parts"
    parts.mkdir()
    code = "import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))"
    done = python(f"import tempfile\ntempfile.tempdir = {str(parts)!r}\n{code}", "compute", quiet)

    assert done.returncode == cli.NOTHING_WRITTEN
    assert done.stdout == ""
    why, outcome = done.stderr.splitlines()
    assert why.endswith("cannot be written (File too large) - make room on the disk and run again")
    assert outcome == f"{quiet}: nothing was written"
    assert stands_alone(quiet)
    assert list(parts.iterdir()) == []


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "(No space left on device) - make room on the disk"),
        (OSError(errno.EMFILE, "Too many open files"), "(Too many open files) - close other programs"),
    ],
)
def test_what_the_system_refuses_is_told_as_it_said_it(
    quiet: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception, said: str
) -> None:
    monkeypatch.setattr(Path, "write_bytes", raising(fault))
    problem = one_problem(estimate.compute(quiet))

    assert said in str(problem)
    assert stands_alone(quiet)


def test_a_workbook_that_is_too_large_is_told_as_the_system_says_it(
    quiet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The library has a word of its own for that."""
    fault = zipfile.LargeZipFile("Filesize would require ZIP64 extensions")
    monkeypatch.setattr(zipfile.ZipFile, "writestr", raising(fault))
    problem = one_problem(estimate.compute(quiet))

    assert "(File too large) - make room on the disk" in str(problem)
    assert stands_alone(quiet)


def test_a_result_that_fits_nowhere_leaves_the_old_one(quiet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old = quiet.with_name("quiet result.xlsx")
    old.write_bytes(b"somebody's own")
    monkeypatch.setattr(Path, "write_bytes", raising(OSError(errno.ENOSPC, "No space left on device")))
    one_problem(estimate.compute(quiet))

    assert old.read_bytes() == b"somebody's own"
    assert len(list(quiet.parent.iterdir())) == 2


# file handles


def test_too_few_handles_to_read_are_one_sentence(quiet: Path) -> None:
    """The process keeps those that it has and gets no more."""
    code = (
        "import os, resource\nfrom railbook import cli, estimate\nhandle = os.dup(0)\nos.close(handle)\n"
        "resource.setrlimit(resource.RLIMIT_NOFILE, (handle, handle))"
    )
    done = python(code, "compute", quiet)

    assert done.returncode == cli.NOTHING_WRITTEN
    assert done.stderr.splitlines()[0] == (
        "stops: quiet.xlsx: the file cannot be read (Too many open files) - close other programs and run again"
    )


def test_too_few_handles_to_write_are_one_sentence(quiet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "mkstemp", raising(OSError(errno.EMFILE, "Too many open files")))
    problem = one_problem(estimate.compute(quiet))

    assert (problem.where, problem.remedy) == (str(quiet.parent), "close other programs and run again")
    assert "Too many open files" in problem.what


def test_too_few_handles_anywhere_else_are_one_sentence(quiet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As where a part of a library is loaded only when it is used."""
    monkeypatch.setattr(estimate, "choose", raising(OSError(errno.EMFILE, "Too many open files")))

    assert str(one_problem(estimate.compute(quiet))) == (
        "quiet.xlsx: the computer refuses (Too many open files) - close other programs and run again"
    )


# memory


@pytest.mark.parametrize("fault", [MemoryError(), "out of memory"])
def test_low_memory_while_reading_is_no_damage(
    quiet: Path, monkeypatch: pytest.MonkeyPatch, fault: MemoryError | str
) -> None:
    """The XML reader has a word of its own for it, number 1 of its faults."""
    if isinstance(fault, str):
        parse_fault = ParseError(fault)
        parse_fault.code = 1
        monkeypatch.setattr(workbook, "layout", raising(parse_fault))
    else:
        monkeypatch.setattr(workbook, "layout", raising(fault))

    assert str(one_problem(estimate.compute(quiet))) == f"quiet.xlsx: the file {NO_MEMORY}"
    assert str(written.written(quiet)) == f"quiet.xlsx: the file {NO_MEMORY}"


def test_low_memory_while_fetching_the_file_is_told(quiet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "read_bytes", raising(MemoryError()))

    assert str(one_problem(estimate.compute(quiet))) == f"quiet.xlsx: the file {NO_MEMORY}"


@pytest.mark.parametrize("step", ["choose", "lay_out", "write"])
def test_low_memory_while_computing_or_writing_is_told(quiet: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    monkeypatch.setattr(estimate, step, raising(MemoryError()))

    assert str(one_problem(estimate.compute(quiet))) == f"quiet.xlsx: the file {NO_MEMORY}"
    assert stands_alone(quiet)


def test_low_memory_in_earnest(quiet: Path) -> None:
    """A file of 150 MB, in a process that may take 100 MB more than it has when it starts."""
    with quiet.open("r+b") as file:
        file.truncate(150_000_000)
    code = (
        "import resource, re\nfrom pathlib import Path\nfrom railbook import estimate\n"
        "taken = int(re.search(r'VmSize:\\s+(\\d+)', Path('/proc/self/status').read_text())[1]) * 1024\n"
        "resource.setrlimit(resource.RLIMIT_AS, (taken + 100_000_000,) * 2)"
    )
    done = python(code, "compute", quiet)

    assert done.returncode == cli.NOTHING_WRITTEN
    assert done.stderr.splitlines()[0] == f"stops: quiet.xlsx: the file {NO_MEMORY}"


def test_low_memory_of_another_command_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(report_book, "_draw", raising(MemoryError()))
    said = railbook_says("new", tmp_path / "job.xlsx")

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert said.stderr == f"stops: railbook: the file {NO_MEMORY}\n"
    assert list(tmp_path.iterdir()) == []


# the terminal


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "cp437:strict"])
def test_signs_that_the_terminal_lacks_stop_nothing(tmp_path: Path, encoding: str) -> None:
    """A fault in a word of Cyrillic that the screen has to tell, then another file."""
    cyrillic = "\u0421\u0422\u0423\u041f\u0415\u041d\u042c"
    odd = draw(tmp_path / "odd.xlsx", level(60.125, assembly=cyrillic), level(60.125, run="B"))
    quiet = draw_quiet(tmp_path / "quiet.xlsx")
    done = process("compute", odd, quiet, PYTHONIOENCODING=encoding)

    assert done.returncode == cli.ATTENTION
    assert done.stderr == b""
    assert done.stdout.count(b"written: ") == 2
    assert b"\\u0421\\u0422" in done.stdout or cyrillic.encode() in done.stdout
    assert (tmp_path / "odd result.xlsx").exists()
    assert (tmp_path / "quiet result.xlsx").exists()


def test_a_name_that_is_no_text_stops_nothing(tmp_path: Path) -> None:
    """A file from a system of another encoding: its name has a byte that is no letter here."""
    place = Path(os.fsdecode(os.fsencode(tmp_path) + b"/porch\xff.xlsx"))
    draw_quiet(place)
    done = process("compute", place, PYTHONIOENCODING="utf-8")

    assert (done.returncode, done.stderr) == (cli.DONE, b"")
    assert b"porch\\udcff result.xlsx" in done.stdout


def test_a_full_disk_under_the_output_is_one_sentence(quiet: Path) -> None:
    with Path("/dev/full").open("w") as full:
        command = [sys.executable, "-m", "railbook", "compute", str(quiet)]
        done = subprocess.run(command, cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, check=False)

    assert done.returncode == cli.NOTHING_WRITTEN
    assert done.stderr.count("\n") == 1
    assert "No space left on device" in done.stderr
    assert quiet.with_name("quiet result.xlsx").exists()


# ctrl-C


def test_ctrl_c_leaves_no_half_file_and_no_traceback(quiet: Path, tmp_path: Path) -> None:
    """A real one, in the middle of writing, with an empty file on the disk that waits for it."""
    parts = tmp_path / "parts"
    parts.mkdir()
    code = f"""
import signal, tempfile, zipfile
tempfile.tempdir = {str(parts)!r}
signal.signal(signal.SIGINT, signal.default_int_handler)
write, done = zipfile.ZipFile.writestr, []
def interrupted(archive, *args, **more):
    write(archive, *args, **more)
    done.append(args)
    if len(done) == 5:
        signal.raise_signal(signal.SIGINT)
zipfile.ZipFile.writestr = interrupted
"""
    done = python(code, "compute", quiet)

    assert done.returncode == 130
    assert done.stdout == ""
    assert done.stderr.splitlines() == ["interrupted; no file is half written"]
    assert stands_alone(quiet)
    assert list(parts.iterdir()) == []


def test_ctrl_c_still_tells_what_was_kept_before(quiet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    quiet.with_name("quiet result.xlsx").write_bytes(b"somebody's own")
    other = draw_quiet(quiet.with_name("other.xlsx"), 62.125)
    compute = estimate.compute

    def interrupted(path: Path, **more: Any) -> Estimate:
        if path == other:
            raise KeyboardInterrupt
        return compute(path, **more)

    monkeypatch.setattr(estimate, "compute", interrupted)
    said = railbook_says("compute", quiet, other)

    assert said.exit_code == cli.BROKEN_OFF
    assert said.stdout.splitlines()[-1].startswith("kept: ")


# several files


def test_a_mistake_of_ours_in_one_file_stops_no_other(quiet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    other = draw_quiet(quiet.with_name("other.xlsx"), 62.125)
    compute = estimate.compute

    def mistaken(path: Path, **more: Any) -> Estimate:
        if path == other:
            raise ValueError("a word\nthat nobody knows")
        return compute(path, **more)

    monkeypatch.setattr(estimate, "compute", mistaken)
    said = railbook_says("compute", other, quiet)

    assert said.exit_code == cli.NOTHING_WRITTEN
    why, outcome = said.stderr.splitlines()
    assert re.match(
        r"stops: .*other\.xlsx: railbook failed \(ValueError in test_machine\.py, line \d+: a word that", why
    )
    assert outcome == f"{other}: nothing was written"
    assert quiet.with_name("quiet result.xlsx").exists()


@pytest.mark.parametrize("place", [".", "..", "/", ""])
def test_a_place_without_a_name_of_its_own_stops_no_other(quiet: Path, place: str) -> None:
    said = railbook_says("compute", place, quiet)

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert "the file is a folder" in said.stderr
    assert quiet.with_name("quiet result.xlsx").exists()


def test_a_file_that_cannot_be_written_stops_no_other(quiet: Path, tmp_path: Path) -> None:
    (quiet.parent / "quiet result.xlsx").mkdir()
    other = draw_quiet(tmp_path / "other.xlsx", 62.125)
    said = railbook_says("compute", quiet, other)

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert "there is a folder of that name" in said.stderr
    assert (tmp_path / "other result.xlsx").exists()
