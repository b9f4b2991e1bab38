"""A tab that runs down the page: one thing, its headers in column A and its values in column B."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from railbook.basics.double_entry import Tab
from railbook.basics.problem import STOPS, Problem
from railbook.intake.cells import is_blank, said
from railbook.intake.headers import Label, header_problems, places, read_columns
from railbook.intake.hiding import hidden_rows, merged_cells
from railbook.intake.rows import Cells, address, build
from railbook.intake.workbook import Sheet

LABELS, VALUES = 1, 2  # columns A and B


class TabRows(NamedTuple):
    """What a tab gave: its rows, what was wrong with it, and the row marked as the form's example."""

    rows: tuple[Any, ...]
    problems: tuple[Problem, ...]
    example: Any = None


def cells(sheet: Sheet, tab: Tab) -> Cells:
    """The value cell beside each header."""
    return {
        name: (address(tab.title, row, VALUES), sheet.cell(row, VALUES))
        for name, row in places(tab, _labels(sheet, tab)).items()
    }


def read_down(sheet: Sheet, tab: Tab, unit: str) -> TabRows:
    """The one row of the tab; none when a header that is needed is missing."""
    found = tuple(header_problems(tab, _labels(sheet, tab)))
    if any(problem.severity == STOPS for problem in found):
        return TabRows((), found)
    built = build(tab, cells(sheet, tab), unit)
    return TabRows((built.row,), (*found, *_layout_problems(sheet, tab), *built.problems))


def _layout_problems(sheet: Sheet, tab: Tab) -> Iterator[Problem]:
    """Hidden rows that hold a value, and values that a merge has swallowed."""
    found = places(tab, _labels(sheet, tab))
    lines = sorted(found[column.name] for column in read_columns(tab) if column.name in found)
    yield from hidden_rows(sheet, tab, [line for line in lines if not is_blank(sheet.cell(line, VALUES))])
    yield from merged_cells(sheet, tab, lines, [VALUES])


def _labels(sheet: Sheet, tab: Tab) -> Sequence[Label]:
    """Everything that stands in column A."""
    return tuple(
        Label(
            said(row[LABELS]),
            number,
            address(tab.title, number, LABELS),
            VALUES in row and not is_blank(row[VALUES]),
        )
        for number, row in sheet.rows.items()
        if LABELS in row and not is_blank(row[LABELS])
    )
