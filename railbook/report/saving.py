"""Save a workbook whole: written beside its place under a passing name, then moved there."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from railbook.basics.problem import STOPS, Problem


def save(path: Path, write: Callable[[Path], None]) -> Problem | None:
    """Write a file so that its place never holds half of one.

    Args:
        path: where it is to stand.
        write: writes the whole file to the path it is given.

    Returns:
        None when it stands there, else why not; what stood there before is then untouched.
    """
    if is_open(path):
        return Problem(str(path), "the file is open in a spreadsheet program", "close it there and run again", STOPS)
    try:
        handle, passing = tempfile.mkstemp(prefix=".railbook-", suffix=".xlsx", dir=path.parent)
    except OSError as fault:
        return Problem(str(path.parent), f"cannot write into this folder ({fault.strerror})",
                       "choose a folder in which you may write", STOPS)  # fmt: skip
    os.close(handle)
    try:
        write(Path(passing))
        _settle(Path(passing))
        Path(passing).replace(path)
    except OSError as fault:
        return Problem(str(path), f"cannot be written ({fault.strerror})",
                       "close it where it is open, and see whether the disk is full", STOPS)  # fmt: skip
    finally:
        Path(passing).unlink(missing_ok=True)
    return None


def _settle(path: Path) -> None:
    """Bring the file to the disk, with the rights that a new file has."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    mask = os.umask(0)
    os.umask(mask)
    path.chmod(0o666 & ~mask)


def is_open(path: Path) -> bool:
    """Whether a spreadsheet program's lock stands beside the file."""
    locks = (path.parent / lock for lock in (f"~${path.name}", f".~lock.{path.name}#"))
    try:
        return any(lock.exists() for lock in locks)
    except OSError:  # a name too long for a lock beside it
        return False
