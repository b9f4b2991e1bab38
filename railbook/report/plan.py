"""What all sheets of one book share while it is drawn."""

from typing import NamedTuple

from xlsxwriter import Workbook

from railbook.report.styles import Styles
from railbook.report.validation import Lists


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
    """

    book: Workbook
    styles: Styles
    names: dict[str, str]
    lists: Lists
    unit: str
    footer: str
    form: bool
