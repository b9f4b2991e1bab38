"""How cells look: plain enough for a black-and-white print, light where somebody types."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from xlsxwriter import Workbook
from xlsxwriter.format import Format

from railbook.basics.double_entry import RUN_AGAIN, Column
from railbook.basics.kinds import BAR, TICK

SIZE, CREW_SIZE, HINT_SIZE = 11, 12, 8  # of the text [pt]; the crew reads at arm's length
EVEN_FONT, EVEN_SIZE = "Courier New", 9  # every sign has one width
INK, GREY, RULE = "#000000", "#7F7F7F", "#A6A6A6"
PAPER, TYPED_FILL, BAND_FILL, HEADER_FILL = "#FFFFFF", "#FFF8E1", "#F2F2F2", "#E4E4E4"

PLAIN, BAND, SAMPLE = "plain", "band", "sample"  # tones of a row: sample is one that shows how to type
TONES: Mapping[str, Mapping[str, Any]] = MappingProxyType(
    {
        PLAIN: {},
        BAND: {"bg_color": BAND_FILL},
        SAMPLE: {"italic": True, "font_color": GREY},
    }
)
TEXT_SIDE = MappingProxyType({"align": "left", "indent": 1})
SIDES = MappingProxyType({"left": 1, "left_color": RULE, "right": 1, "right_color": RULE})
TITLE = MappingProxyType({"bold": True, "font_size": 16})
PURPOSE = MappingProxyType({"italic": True})
WRAPPED_PURPOSE = MappingProxyType({"italic": True, "text_wrap": True, "valign": "top"})
STALE_COUNT = MappingProxyType({"bold": True, "num_format": "0;-0;"})  # no figure when nothing is stale
STALE_LINE = MappingProxyType({"bold": True})
LABEL = MappingProxyType({"bold": True, "valign": "bottom"})
WRAPPED_LABEL = MappingProxyType({**LABEL, "text_wrap": True})
HEADER = MappingProxyType(
    {"bold": True, "text_wrap": True, "valign": "bottom", "top": 1, "bg_color": HEADER_FILL, **SIDES}
)
UNIT_LINE = MappingProxyType({"font_size": 9, "valign": "top", "bg_color": HEADER_FILL, "bottom": 1, **SIDES})
HINT_LINE = MappingProxyType(
    {
        "font_size": HINT_SIZE,
        "text_wrap": True,
        "valign": "vcenter",
        "bottom": 1,
        "font_color": "#404040",
        **SIDES,
        **TEXT_SIDE,
    }
)
SIDE_HEADING = MappingProxyType({"bold": True, "font_size": 13, "valign": "vcenter", "top": 1})
SIDE_LABEL = MappingProxyType({"bold": True, "text_wrap": True, "valign": "top"})
SIDE_UNIT = MappingProxyType({"valign": "top", **TEXT_SIDE})
SIDE_HINT = MappingProxyType({"text_wrap": True, "valign": "top", "font_color": "#404040"})

AS_IT_IS = "General"  # a number format: as many decimals as there are
STRUCK = MappingProxyType({"font_strikeout": True})
BOLD = MappingProxyType({"bold": True})
VERDICTS: Mapping[str, Mapping[str, Any]] = MappingProxyType(
    {
        "fail": {"bold": True, "font_color": PAPER, "bg_color": INK},
        RUN_AGAIN: BOLD,
        "left out": BOLD,
        "stops": BOLD,
        "not measured": {"italic": True},
    }
)


class Ink(NamedTuple):
    """The format of a cell, and the same for text that would otherwise pass for a formula once edited."""

    plain: Format
    quoted: Format


class Styles:
    """The formats of one book: equal looks share one format."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[frozenset[tuple[str, Any]], Format] = {}

    def format(self, look: Mapping[str, Any]) -> Format:
        """The book's format for a look."""
        key = frozenset(look.items())
        if key not in self._made:
            self._made[key] = self._book.add_format(dict(look))
        return self._made[key]

    def ink(self, look: Mapping[str, Any]) -> Ink:
        """The book's formats for a cell that holds data."""
        return Ink(self.format(look), self.format({**look, "quote_prefix": True}))


def cell_look(column: Column, unit: str, *, tone: str = PLAIN, crew: bool = False) -> dict[str, Any]:
    """Look of a cell that holds data.

    Args:
        column: what it holds.
        unit: the job's length unit, or the row's own.
        tone: PLAIN, BAND or SAMPLE.
        crew: large and ruled, for paper.

    >>> from railbook.basics.kinds import TAPE
    >>> cell_look(Column("cut", "Cut", TAPE), "in", crew=True)["num_format"]
    '# ??/??'
    """
    look: dict[str, Any] = {
        "num_format": number_format(column, unit),
        "valign": "vcenter",
        "font_size": CREW_SIZE if crew else SIZE,
    }
    if not column.kind.numeric:
        look |= {"text_wrap": True, **TEXT_SIDE}
    if column.kind == TICK:
        look |= {"align": "center", "indent": 0, "font_size": CREW_SIZE + 2}
    if column.kind == BAR:
        look |= {"font_name": EVEN_FONT, "font_size": EVEN_SIZE, "text_wrap": False}
    if column.typed or crew:
        look |= {"border": 1, "border_color": RULE}
    if column.typed:
        look |= {"locked": False, "bg_color": TYPED_FILL}
    return {**look, **TONES[tone]}


def number_format(column: Column, unit: str) -> str:
    """Spreadsheet format of a column's cells.

    A calculated text is not declared as text: a program would then show an edited formula instead
    of its result. A figure in a unit that the kind does not know is shown as it is.

    >>> number_format(Column("end", "End cut", excel="={mark}"), "in")
    'General'
    >>> from railbook.basics.kinds import LIMIT
    >>> number_format(Column("slope", "Slope", LIMIT), "deg")
    'General'
    """
    if column.excel and not column.kind.numeric:
        return AS_IT_IS
    return column.kind.formats.get(unit, AS_IT_IS)
