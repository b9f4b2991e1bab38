"""From site measurements of railings to a checked workbook that one can saw from.

>>> from railbook import compute
>>> compute("no such file.xlsx").result is None
True
"""

from pathlib import Path
from typing import TYPE_CHECKING

from railbook.basics.version import VERSION

if TYPE_CHECKING:
    from railbook.estimate import Estimate

__version__ = VERSION


def compute(path: str | Path) -> "Estimate":
    """Compute a measurement workbook and write the result beside it, as `railbook compute` does.

    Args:
        path: the workbook; it is never changed.

    Returns:
        rows of every tab as values (`rows`), as pandas frames (`frame(tab)`), the problems found, and
        where the result was written; `result` is None when nothing was.
    """
    from railbook import estimate

    return estimate.compute(Path(path))
