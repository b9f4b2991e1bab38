"""The same cells by plain calls of the libraries, in a process of its own: what reading and writing cost at least.

    python -m tests.benchmarks.raw read form.xlsx
    python -m tests.benchmarks.raw write result.xlsx copy.xlsx

Each prints seconds of a core and cells. Written are all formulas with their values, all numbers and texts, without any
format, name, rule or drop-down. Finding out what to write is not timed.
"""

import json
import sys
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple
from xml.etree.ElementTree import Element, iterparse

import openpyxl
import xlsxwriter
from xlsxwriter.utility import xl_cell_to_rowcol

from railbook.tabs import INPUT_TABS

_SPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


class Found(NamedTuple):
    """One filled cell: row and column from 0, formula or nothing, value."""

    row: int
    column: int
    formula: str
    value: str | float


def read(form: Path) -> tuple[float, int]:
    """Read the input tabs with openpyxl."""
    started = time.process_time()
    book = openpyxl.load_workbook(form, read_only=True, data_only=True)
    rows = [row for tab in INPUT_TABS for row in book[tab.title].iter_rows(values_only=True)]
    seconds = time.process_time() - started
    return seconds, sum(value is not None for row in rows for value in row)


def write(result: Path, copy: Path) -> tuple[float, int]:
    """Write what stands in a result with xlsxwriter."""
    book, seconds, number = xlsxwriter.Workbook(copy), 0.0, 0
    for title, cells in sheets(result):
        started = time.process_time()
        sheet = book.add_worksheet(title)
        for row, column, formula, value in cells:
            if formula:
                sheet.write_formula(row, column, formula, None, value)
            elif isinstance(value, str):
                sheet.write_string(row, column, value)
            else:
                sheet.write_number(row, column, value)
        seconds += time.process_time() - started
        number += len(cells)
    started = time.process_time()
    book.close()
    return seconds + time.process_time() - started, number


def sheets(result: Path) -> Iterator[tuple[str, list[Found]]]:
    """Title and filled cells of each sheet, one sheet at a time."""
    with zipfile.ZipFile(result) as book:
        titles = [each.get("name", "") for each in _tags(book, "xl/workbook.xml", "sheet")]
        texts = [_text(each) for each in _tags(book, "xl/sharedStrings.xml", "si")]
        for number, title in enumerate(titles, start=1):
            found = (_found(each, texts) for each in _tags(book, f"xl/worksheets/sheet{number}.xml", "c"))
            yield title, [cell for cell in found if cell is not None]


def _tags(book: zipfile.ZipFile, part: str, name: str) -> Iterator[Element]:
    """Every element of one name, forgotten when it was looked at."""
    with book.open(part) as xml:
        for _, element in iterparse(xml):
            if element.tag == _SPACE + name:
                yield element
            if element.tag in (_SPACE + name, _SPACE + "row"):
                element.clear()


def _text(element: Element) -> str:
    return "".join(each.text or "" for each in element.iter(f"{_SPACE}t"))


def _found(cell: Element, texts: list[str]) -> Found | None:
    """What a cell holds; None when it is blank."""
    formula, stored = cell.findtext(f"{_SPACE}f", ""), cell.findtext(f"{_SPACE}v")
    row, column = xl_cell_to_rowcol(cell.get("r", ""))
    match cell.get("t", "n"):
        case "s":
            return Found(row, column, formula, texts[int(stored or "0")])
        case "inlineStr":
            return Found(row, column, formula, _text(cell))
        case "str":
            return Found(row, column, formula, stored or "")
        case _ if not stored:
            return Found(row, column, formula, "") if formula else None
        case _:
            return Found(row, column, formula, float(stored))


if __name__ == "__main__":
    _what, *_places = sys.argv[1:]
    print(json.dumps(read(*map(Path, _places)) if _what == "read" else write(*map(Path, _places))))
