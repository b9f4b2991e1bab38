"""A measurement workbook filled in as on site: lengths as text, and the starting rows of the blank form."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from railbook.blank_form import sheets
from railbook.job import settings, starters
from railbook.job.how_to_measure import PAGE
from railbook.report.book import Sheet, write_book

T = TypeVar("T")
EXAMPLES = Path(__file__).parent.parent / "examples"


def as_typed(row: Callable[..., T], **cells: Any) -> T:
    """A row whose lengths stand as they were typed on site, as text."""
    return row(**cells)


class Filled(NamedTuple):
    """One form, filled in.

    Attributes:
        place: where the example is kept.
        unit: its length unit.
        job: cells of tab Job that were typed.
        tabs: tab -> its rows; the other tabs stay as they are in the blank form.
    """

    place: Path
    unit: str
    job: Mapping[str, Any]
    tabs: Mapping[str, Sequence[Any]]

    def sheets(self) -> list[Sheet]:
        """Its tabs, in order."""
        first = Sheet(settings.TAB, (replace(starters.settings(self.unit), **self.job),))
        return [first, *(self._sheet(blank) for blank in sheets(self.unit)[1:])]

    def _sheet(self, blank: Sheet) -> Sheet:
        return Sheet(blank.tab, tuple(self.tabs.get(blank.tab.name, blank.rows)), blank.blank_rows)

    def draw(self, path: Path) -> None:
        """Write it."""
        write_book(path, self.sheets(), unit=self.unit, footer="Site measurements", form=True, pages=(PAGE,))
