"""Formula cells of a job, tab by tab: counted from its rows, or in the workbook that was written of it.

python -m tests.benchmarks.formula_cells result.xlsx
"""

import json
import re
import sys
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from railbook.report.layout import Sheet
from railbook.tabs import TABS

CHUNK = 1 << 20
_FORMULA = re.compile(rb"<f[ >/]")
_TITLE = re.compile(r'<sheet name="([^"]*)"')


def formula_cells(rows: Mapping[str, Sequence[Any]]) -> dict[str, int]:
    """Name of a tab -> cells with a formula in its rows, without a workbook.

    The live line under a title, at most two cells a tab, is not counted: it does not grow with the job.

    Args:
        rows: name of a tab -> its rows, as `estimate.lay_out` gives them.
    """
    return {tab.name: _in_rows(Sheet(tab, rows[tab.name])) for tab in TABS}


def _in_rows(sheet: Sheet) -> int:
    """Formula cells of the rows of one tab."""
    calculated = [span for span in sheet.spans if span.column.excel]
    return sum(span.across for span in calculated for row in sheet.rows if span.column.formula(row))


def written_formula_cells(result: Path) -> dict[str, int]:
    """Title of a sheet -> cells with a formula in the workbook; the sheets are streamed."""
    with zipfile.ZipFile(result) as book:
        titles = _TITLE.findall(book.read("xl/workbook.xml").decode())
        return {
            title: sum(len(_FORMULA.findall(part)) for part in _parts(book, f"xl/worksheets/sheet{number}.xml"))
            for number, title in enumerate(titles, start=1)
        }


def _parts(book: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """A sheet piece by piece; no piece ends inside a tag."""
    with book.open(name) as sheet:
        rest = b""
        while chunk := sheet.read(CHUNK):
            done, tag, rest = (rest + chunk).rpartition(b"<")
            rest = tag + rest
            yield done
        yield rest


if __name__ == "__main__":
    print(json.dumps(written_formula_cells(Path(sys.argv[1]))))
