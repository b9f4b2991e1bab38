"""What the witness reports."""

from typing import NamedTuple


class Finding(NamedTuple):
    """One thing that is wrong.

    Attributes:
        check: which check found it.
        where: names of the pieces, sections or supports, sorted by the check.
        by: how far it is off [job unit, or degrees where `says` speaks of an angle].
        says: in words.
    """

    check: str
    where: tuple[str, ...]
    by: float
    says: str
