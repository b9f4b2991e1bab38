"""Where typed cells stand in the workbook that is written: rows close up, so a copy may stand in another row."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from xlsxwriter.utility import xl_col_to_name

from railbook.basics.problem import Origin
from railbook.report.layout import VALUES, Sheet, first_row, rows_down

ELSEWHERE = " of the measurements"  # a cell that was not copied


@dataclass(frozen=True)
class Copied:
    """Address of every typed cell as it was read -> its address where it is written.

    >>> copied = Copied({"Runs!J9": "Runs!J8", "Prices!B4": "Prices!B4"})
    >>> copied.here("Runs!J9: no clear; see Prices!B4"), copied.here("Prices!A30")
    ('Runs!J8: no clear; see Prices!B4', 'Prices!A30 of the measurements')
    """

    places: Mapping[str, str]

    @cached_property
    def _addresses(self) -> re.Pattern[str]:
        titles = sorted({re.escape(at.rpartition("!")[0]) for at in self.places}, key=len, reverse=True)
        return re.compile(rf"(?:{'|'.join(titles)})![A-Z]{{1,3}}\d+\b" if titles else r"(?!)")

    def here(self, text: str) -> str:
        """A text that names the cells of the workbook that it stands in."""
        return self._addresses.sub(lambda found: self.places.get(found[0], found[0] + ELSEWHERE), text)


def copied_to(sheets: Sequence[Sheet]) -> Copied:
    """Where the typed cells of these sheets were read, and where they are written."""
    return Copied({read_at: at for sheet in sheets for read_at, at in _cells_of(sheet)})


def _cells_of(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """The cells of one sheet: where each was read and where it is written."""
    tab, start = sheet.tab, first_row(sheet.tab)
    letters = {span.column.name: xl_col_to_name(VALUES if tab.down else span.first) for span in sheet.spans}
    down = rows_down(tab) if tab.down else {}
    for row, thing in enumerate(sheet.rows, start=start):
        origin = getattr(thing, "origin", None)
        if isinstance(origin, Origin):
            for name, read_at in origin.cells.items():
                if name in letters:
                    yield read_at, f"{tab.title}!{letters[name]}{down.get(name, row)}"
