"""How wide a column is drawn: no header word cut, no figure as ####, long text wrapped."""

import math
import re
from collections.abc import Iterator, Sequence

from railbook.basics.double_entry import Column
from railbook.report.styles import CREW_SIZE, SIZE

WIDEST, CREW_WIDEST = 44, 30  # to which long text widens a column; beyond that it wraps [characters]
BOLD = 1.12  # a bold letter's width beside a plain one's
INDENT = 1.3  # between a text and the figures of the column on its left [characters]
ROOM = 1.2 + INDENT  # beside the text, so that it does not touch the lines [characters]
EDGE = 0.7  # that a figure keeps from the lines [characters]
PART = re.compile(r" \?.*|\..*|$")  # of a number format: its fraction or decimals
HINT_LINES, HINT_LETTER = 7, 0.8  # lines that a hint may take; its small letters' width beside plain ones


def width_of(column: Column, cells: Sequence[object], *, unit: str, crew: bool = False) -> float:
    """Width of a sheet column [characters of plain text].

    Args:
        column: what it holds.
        cells: what stands in it.
        unit: the job's length unit.
        crew: drawn in the crew's larger letters.

    >>> width_of(Column("mark", "Mark", width=8), ["P1"], unit="in")
    8.0
    >>> width_of(Column("item", "Item"), ["a text of as many as thirty-eight signs"], unit="in")
    41.5
    """
    header = "" if column.repeats else column.header  # which then stands over all of them
    longest = _longest_word(header) * BOLD + ROOM
    widest = CREW_WIDEST if crew else WIDEST
    filled = max((_needed(cell, column, unit, widest=widest) for cell in _telling(cells)), default=0)
    hint = min(WIDEST, math.ceil(len(column.hint) * HINT_LETTER / HINT_LINES)) if column.typed else 0
    larger = CREW_SIZE / SIZE if crew else 1.0
    return max(longest, hint, larger * max(column.width or column.kind.width, filled))


def _telling(cells: Sequence[object]) -> Iterator[str | float]:
    """Each text, and of figures the least and the greatest, which are the longest."""
    yield from {cell for cell in cells if isinstance(cell, str)}
    if figures := [cell for cell in cells if isinstance(cell, int | float)]:
        yield from (min(figures), max(figures))


def _needed(cell: object, column: Column, unit: str, *, widest: int) -> float:
    """Characters that one cell needs: text may wrap, a figure may not."""
    match cell:
        case str():
            return min(widest, (_longest_word(cell) if column.width else len(cell)) + ROOM)
        case int() | float():
            return len(f"{cell:,.0f}") + len(PART.findall(column.kind.formats[unit])[0]) + EDGE
        case _:
            return 0


def _longest_word(text: str) -> int:
    """Letters of the longest word, which cannot wrap."""
    return max(map(len, text.split()), default=0)
