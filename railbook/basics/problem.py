"""A finding about the user's input or job, as a value: it names the cell, the fault and the remedy."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

STOPS = "stops"  # nothing can be computed
LEFT_OUT = "left out"  # this row is left out, the rest is computed
LOOK = "look"  # computed, but somebody must look at it
NOTE = "note"  # worth knowing


class Problem(NamedTuple):
    """One finding, tied to the cell or the part that it came from.

    Attributes:
        where: the cell as the spreadsheet names it, or the tab, run or file.
        what: the fault, with what was read.
        remedy: what to type, measure or do.
        severity: STOPS, LEFT_OUT, LOOK or NOTE.

    >>> print(Problem("Runs!D7", "no clear at bottom", "measure post face to post face"))
    Runs!D7: no clear at bottom - measure post face to post face
    """

    where: str
    what: str
    remedy: str
    severity: str = LEFT_OUT

    def __str__(self) -> str:
        return f"{self.where}: {self.what} - {self.remedy}"


@dataclass(frozen=True)
class Origin:
    """Where a typed row came from.

    Attributes:
        tab: title of the tab.
        cells: column name -> cell address such as `Runs!D7`.
        faulty: names of the columns whose cell could not be read (a problem was reported for each).
        texts: what stood in those cells, so that a copy of the row loses nothing.
    """

    tab: str = ""
    cells: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    faulty: frozenset[str] = frozenset()
    texts: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def cell(self, column: str) -> str:
        """Address of one column's cell in this row; the tab's title when the column is absent.

        >>> Origin("Runs", {"rise": "Runs!H7"}).cell("rise")
        'Runs!H7'
        """
        return self.cells.get(column, self.tab)
