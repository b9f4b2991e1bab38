"""Save a workbook whole: written beside its place under a passing name, then moved there.

What stood in the place before is never lost: only a result that nobody has touched since it was written is
replaced, everything else is kept beside it under a dated name.
"""

import datetime as dt
import errno
import os
import stat
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple

from railbook.basics.machine import remedy, said
from railbook.basics.problem import STOPS, Problem
from railbook.report.seal import is_untouched

MOST_KEPT = 1000  # dated names of one minute
_WRITABLE = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH


class Saved(NamedTuple):
    """What came of saving.

    Attributes:
        problem: why nothing was saved; None when the file stands in its place.
        kept: where the file that stood there before is now; None when there was none worth keeping.
    """

    problem: Problem | None
    kept: Path | None = None


def save_result(path: Path, write: Callable[[Path], None], now: dt.datetime) -> Saved:
    """Write a result; what stands there and is not an untouched result of ours is kept under a dated name.

    Args:
        path: where it is to stand.
        write: writes the whole file to the path it is given.
        now: the date of that name.
    """
    kept: list[Path] = []
    problem = save(path, write, move=partial(_keep_and_move, now=now, kept=kept))
    return Saved(problem, None if problem or not kept else kept[0])


def save_new(path: Path, write: Callable[[Path], None]) -> Problem | None:
    """Write a file where nothing stands yet; something that has come there meanwhile stays."""
    return save(path, write, move=_rename_to_free)


def _replace(passing: Path, path: Path) -> None:
    passing.replace(path)


def save(path: Path, write: Callable[[Path], None], *, move: Callable[[Path, Path], None] = _replace) -> Problem | None:
    """Write a file so that its place never holds half of one.

    Args:
        path: where it is to stand.
        write: writes the whole file to the path it is given.
        move: brings the written file to its place; may raise OSError.

    Returns:
        None when it stands there, else why not; what stood there before is then untouched.
    """
    if taken := _is_taken(path):
        return taken
    try:
        handle, passing = tempfile.mkstemp(prefix=".railbook-", suffix=".xlsx", dir=path.parent)
    except OSError as fault:
        return Problem(str(path.parent), f"cannot write into this folder ({said(fault)})",
                       remedy(fault, "choose a folder in which you may write"), STOPS)  # fmt: skip
    try:
        os.close(handle)
        write(Path(passing))
        _settle(Path(passing))
        taken = _is_taken(path)  # writing takes a while
        if taken is None:
            move(Path(passing), path)
    except OSError as fault:
        otherwise = "close it where it is open, and see whether you may write there"
        return Problem(str(path), f"cannot be written ({said(fault)})", remedy(fault, otherwise), STOPS)
    finally:
        Path(passing).unlink(missing_ok=True)
    return taken


def _is_taken(path: Path) -> Problem | None:
    """Why nothing can be put into that place."""
    if is_open(path):
        return Problem(str(path), "the file is open in a spreadsheet program", "close it there and run again", STOPS)
    if _is(path, stat.S_ISDIR):
        return Problem(str(path), "there is a folder of that name", "give the folder another name", STOPS)
    return None


def _is(path: Path, kind: Callable[[int], bool]) -> bool:
    """Whether something of that kind stands there; a link is a link, wherever it leads."""
    try:
        return kind(path.lstat().st_mode)
    except OSError:
        return False


def _settle(path: Path) -> None:
    """Bring the file to the disk, with the rights that a new file has."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    mask = os.umask(0)
    os.umask(mask)
    path.chmod(0o666 & ~mask)


def _keep_and_move(passing: Path, path: Path, *, now: dt.datetime, kept: list[Path]) -> None:
    """Put the written file into its place; `kept` tells where what stood there is now."""
    if not _is_worth_keeping(path):
        passing.replace(path)
        return
    beside = _kept_beside(path, now)
    try:
        passing.replace(path)
    except BaseException:
        _give_back(beside, path)
        raise
    kept.append(beside)


def _is_worth_keeping(path: Path) -> bool:
    """Whether anything stands there but an untouched result of ours that may be written to."""
    if not os.path.lexists(path):
        return False
    if not _is(path, stat.S_ISREG) or not path.stat().st_mode & _WRITABLE or not os.access(path, os.W_OK):
        return True
    return not is_untouched(path)


def _kept_beside(path: Path, now: dt.datetime) -> Path:
    """Give what stands there a dated name that nothing else has.

    Raises:
        OSError: when the folder refuses, or all names are taken; everything is as it was.
    """
    for beside in _dated(path, now):
        try:
            _rename_to_free(path, beside, leave=True)
        except FileExistsError:
            continue
        except OSError as fault:
            why = f"what stands there cannot be kept as {beside.name}: {said(fault)}"
            raise OSError(fault.errno, why) from fault
        return beside
    raise OSError(errno.EAGAIN, f"{MOST_KEPT} files were kept in this minute")


def _dated(path: Path, now: dt.datetime) -> Iterator[Path]:
    """Names for what is kept, the first one without a number."""
    for number in range(1, MOST_KEPT + 1):
        counted = f" {number}" if number > 1 else ""
        yield path.with_name(f"{path.stem} {now:%Y-%m-%d %H%M}{counted}{path.suffix}")


def _rename_to_free(path: Path, to: Path, *, leave: bool = False) -> None:
    """Give a file a name that nothing has yet; its content is never without a name.

    Args:
        path: its name.
        to: its new name.
        leave: its old name may stay as well, to be replaced by another file at once.

    Raises:
        FileExistsError: something has that name.
        OSError: the folder refuses.
    """
    try:
        os.link(path, to, follow_symlinks=False)
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):  # no second names on this disk: hold the name with an empty file
        to.touch(exist_ok=False)
        try:
            path.replace(to)
        except BaseException:
            if not to.lstat().st_size:  # still the empty one, for all that was interrupted
                to.unlink()
            raise
        return
    if not leave:
        path.unlink()


def _give_back(beside: Path, path: Path) -> None:
    """Take back a dated name, as the file could not be replaced."""
    if not os.path.lexists(path):
        beside.replace(path)
    elif os.path.samestat(beside.lstat(), path.lstat()):
        beside.unlink()


def is_open(path: Path) -> bool:
    """Whether a spreadsheet program's lock stands beside the file."""
    locks = (path.parent / lock for lock in (f"~${path.name}", f".~lock.{path.name}#"))
    try:
        return any(lock.exists() for lock in locks)
    except OSError:  # a name too long for a lock beside it
        return False
