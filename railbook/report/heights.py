"""How high a row is drawn: every line of wrapped text shows, also where a program does not see to it."""

from collections.abc import Iterable, Sequence

from xlsxwriter.utility import cell_autofit_width

from railbook.basics.double_entry import Column
from railbook.report import styles
from railbook.report.widths import BOLD, INDENT

SURE = 0.7  # part of a cell's width that any text of as many letters leaves free
FILLED = 0.97  # part of a line that words fill before they wrap
DIGIT, PADDING = 7.0, 7  # widths of a digit, and of what the library adds to a text [px]
LINE, CREW_LINE, HINT_LINE, TITLE_LINE, HEADING_LINE = 15.0, 16.5, 11.0, 24.0, 22.0  # height of a line of text [pt]
CREW_ROOM = 3.5  # between the ruled rows of the crew [pt]


def lines_of(text: str, *, width: float, size: float = styles.SIZE) -> int:
    r"""How many lines a text takes in a cell that wraps it.

    Args:
        text: what stands in the cell.
        width: of the cell [characters].
        size: of the letters [pt].

    >>> lines_of("cut square", width=12), lines_of("cut square", width=8), lines_of("one\ntwo", width=12)
    (1, 2, 2)
    """
    if len(text) <= SURE * width * styles.SIZE / size and "\n" not in text:
        return 1
    room = FILLED * width * DIGIT * styles.SIZE / size
    return sum(_wrapped(paragraph.split(), room) for paragraph in text.split("\n"))


def _wrapped(words: Sequence[str], room: float) -> int:
    """Lines of one paragraph; a word longer than the line goes on in the next [room in px]."""
    count, filled = 1, 0
    for word in words:
        longer = filled + _pixels(f" {word}") if filled else _pixels(word)
        if filled and longer > room:
            count, longer = count + 1, _pixels(word)
        filled = longer
        if filled > room:
            count, filled = count + int(filled / room), 0
    return count


def _pixels(text: str) -> int:
    """Width of one line of text at the usual size [px]."""
    return cell_autofit_width(text) - PADDING


def lines_down(rows: Sequence[Sequence[object]], *, width: float, crew: bool) -> list[int]:
    """Lines that each row of a column needs; figures take one."""
    size = styles.CREW_SIZE if crew else styles.SIZE
    texts = {cell for row in rows for cell in row if isinstance(cell, str)}
    lines: dict[object, int] = {text: lines_of(text, width=width - INDENT, size=size) for text in texts}
    if max(lines.values(), default=1) == 1:
        return [1] * len(rows)
    return [max((lines.get(cell, 1) for cell in row), default=1) for row in rows]


def row_height(lines: int, *, crew: bool = False) -> float:
    """Height of a row of so many lines [pt]; rows for the crew are roomier.

    >>> row_height(1), row_height(2), row_height(1, crew=True)
    (15.0, 30.0, 20.0)
    """
    return lines * CREW_LINE + CREW_ROOM if crew else lines * LINE


def label_height(labels: Iterable[tuple[str, float]]) -> float:
    """Height of the row of labels over columns that repeat [pt]: each label with the width that it has [characters]."""
    return row_height(max((lines_of(text, width=width, size=BOLD * styles.SIZE) for text, width in labels), default=1))


def header_height(columns: Iterable[tuple[Column, float]]) -> float:
    """Height of the row of headers [pt]: each column with its width."""
    heads = [
        lines_of(column.header, width=width - INDENT, size=BOLD * styles.SIZE)
        for column, width in columns
        if not column.repeats
    ]
    return row_height(max(heads, default=1))


def hint_height(columns: Iterable[tuple[Column, float]]) -> float:
    """Height of the row of hints [pt]: each column with its width."""
    lines = [lines_of(column.hint, width=width - INDENT, size=BOLD * styles.HINT_SIZE) for column, width in columns]
    return max(lines, default=1) * HINT_LINE
