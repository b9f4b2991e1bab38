"""What all sheets of one book share while it is drawn."""

from dataclasses import dataclass
from typing import NamedTuple

from xlsxwriter import Workbook

from railbook.report.styles import Styles
from railbook.report.validation import Lists


@dataclass(frozen=True)
class News:
    """What was added to a workbook since, so that no row of any tab knows of it.

    Attributes:
        word: of the cell that counts it.
        count: what it counts when the workbook is written.
        says: what happened, as part of a sentence.
    """

    word: str
    count: int
    says: str


class Plan(NamedTuple):
    """What all sheets of one book share.

    Attributes:
        book: where they are added.
        styles: its formats.
        names: its words and the cells they name.
        lists: drop-downs that stand on a sheet of their own.
        unit: the job's length unit.
        footer: code of the footer.
        form: to be filled in, not a result.
        news: what was added since, where anything can be.
    """

    book: Workbook
    styles: Styles
    names: dict[str, str]
    lists: Lists
    unit: str
    footer: str
    form: bool
    news: News | None
