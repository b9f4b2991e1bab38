"""No cell holds more than 32,767 characters: what is longer is cut, and the cell says so."""

import zipfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railbook import blank_form
from railbook.basics.problem import LEFT_OUT
from railbook.estimate import compute
from railbook.report.book import Sheet, write_book
from railbook.report.cells import LONGEST, cached, fitted
from tests.small_jobs import WOOD, level
from tests.test_cli import draw


def characters(text: str) -> int:
    """Characters as a spreadsheet counts them: two for a sign beyond the first 65,536 (from memory)."""
    return sum(2 if ord(sign) > 0xFFFF else 1 for sign in text)


def values_of(path: Path, title: str) -> list[str]:
    """Every text of one tab of a result."""
    book = openpyxl.load_workbook(path, data_only=True)
    return [str(value) for row in book[title].iter_rows(values_only=True) for value in row if isinstance(value, str)]


@pytest.mark.parametrize(
    "text", ["n" * 32_767, "\N{WAVING BLACK FLAG}" * 16_383, "P1", ""], ids=["letters", "signs", "a mark", "nothing"]
)
def test_what_a_cell_holds_is_not_cut(text: str) -> None:
    assert fitted(text) == text


@pytest.mark.parametrize(
    "text",
    ["n" * 32_768, "\N{WAVING BLACK FLAG}" * 16_384, "n" + "\N{WAVING BLACK FLAG}" * 40_000, "P1, " * 200_000],
    ids=["letters", "signs", "both", "marks"],
)
def test_what_is_longer_is_cut_and_says_how_long_it_was(text: str) -> None:
    cut = fitted(text)
    kept, told = cut.split(" ... cut: ")

    assert LONGEST - 1 <= characters(cut) <= LONGEST
    assert text.startswith(kept)
    assert told == f"{len(text)} characters"
    assert cached(text) == cut


def test_a_note_longer_than_any_cell_is_told_with_its_cell_and_kept_as_far_as_it_goes(tmp_path: Path) -> None:
    """Spreadsheets refuse it, other programs write it."""
    place = draw(tmp_path / "job.xlsx", level(60.125, notes="ZZTOP"), level(60.125, run="B"))
    with zipfile.ZipFile(place) as old:
        parts = {name: old.read(name).replace(b"ZZTOP", b"n" * 40_000) for name in old.namelist()}
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as new:
        for name, part in parts.items():
            new.writestr(name, part)
    computed = compute(place)

    assert computed.result is not None
    (told,) = [each for each in computed.problems if each.severity == LEFT_OUT]
    assert (told.where.startswith("Runs!"), told.remedy) == (True, "shorten it to 1000")
    assert "has 40000 characters" in told.what
    (note,) = [text for text in values_of(computed.result, "Runs") if text.startswith("nnn")]
    assert note.endswith("n ... cut: 40000 characters")
    assert len(note) == 32_767


def test_a_warning_that_names_very_many_things_is_written(tmp_path: Path) -> None:
    """A run of an unknown assembly, and the 900 that there are, of 40 characters each."""
    marks = [f"{'ASSEMBLY OF A VERY LONG NAME':34}{number:06}" for number in range(900)]
    rows: dict[str, Sequence[Any]] = {
        "runs": (level(60.125), level(60.125, run="B", assembly="CEDAR")),
        "assemblies": (WOOD, *(replace(WOOD, assembly=mark) for mark in marks)),
        "flights": (),
        "supports": (),
    }
    first, *others = blank_form.sheets("in")
    job = Sheet(first.tab, (replace(first.rows[0], job_name="Porch"),))  # type: ignore[type-var]
    rest = [Sheet(each.tab, rows.get(each.tab.name, each.rows), each.blank_rows) for each in others]
    place = tmp_path / "job.xlsx"
    write_book(place, [job, *rest], unit="in", footer="", form=True)
    computed = compute(place)

    assert computed.result is not None
    (told,) = [each for each in computed.problems if "assembly CEDAR is not on tab Assemblies" in each.what]
    assert len(told.remedy) > 32_767
    (written,) = [text for text in values_of(computed.result, "Warnings") if text.startswith("use one of: ")]
    assert written.endswith(f" ... cut: {len(told.remedy)} characters")
