"""What the computer itself refuses - memory, room on the disk, open files - and what to do about it."""

import errno

from railbook.basics.problem import STOPS, Problem
from railbook.basics.units import Refusal

LOW_MEMORY = Refusal("needs more memory than this computer has free", "close other programs, or divide the job")

_ROOM = "make room on the disk and run again"
_FILES = "close other programs and run again"
_REMEDIES = {
    errno.ENOSPC: _ROOM,
    errno.EDQUOT: _ROOM,
    errno.EFBIG: _ROOM,
    errno.EMFILE: _FILES,
    errno.ENFILE: _FILES,
    errno.ENOMEM: LOW_MEMORY.remedy,
    errno.ENAMETOOLONG: "choose a shorter name",
    errno.EEXIST: "choose another name; nothing is overwritten",
    errno.EAGAIN: "run again in a minute",
}


def said(fault: OSError) -> str:
    """What the system says of it.

    >>> said(OSError(errno.ENOSPC, "No space left on device"))
    'No space left on device'
    """
    return fault.strerror or str(fault) or type(fault).__name__


def remedy(fault: OSError, otherwise: str) -> str:
    """What helps against that refusal; `otherwise` where the refusal does not tell.

    >>> remedy(OSError(errno.EMFILE, "Too many open files"), "close it")
    'close other programs and run again'
    """
    return _REMEDIES.get(fault.errno or 0, otherwise)


def broken_off(where: str, fault: OSError | MemoryError) -> Problem:
    """Work on a file that the computer broke off.

    >>> print(broken_off("porch.xlsx", MemoryError()))
    porch.xlsx: the file needs more memory than this computer has free - close other programs, or divide the job
    """
    if isinstance(fault, MemoryError):
        return Problem(where, f"the file {LOW_MEMORY.why}", LOW_MEMORY.remedy, STOPS)
    return Problem(where, f"the computer refuses ({said(fault)})", remedy(fault, "mend that and run again"), STOPS)
