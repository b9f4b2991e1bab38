"""The working tabs of a result are hidden: what stays in sight, what prints, and what is still read."""

import zipfile
from collections import Counter
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import openpyxl
import pytest
from pypdf import PdfReader

from railbook.basics.double_entry import Column
from railbook.basics.kinds import COUNT, INCH, JOB_UNITS
from railbook.blank_form import draw_form
from railbook.checks import summary
from railbook.estimate import Estimate, compute, estimate
from railbook.report.book import Sheet, write_book
from railbook.tabs import INPUT_TABS, READING_TABS, WORKING_TABS
from tests.porch import PORCH
from tests.recalculation import LibreOffice

IN_SIGHT = [tab.title for tab in (*READING_TABS, *INPUT_TABS)]
MOST_IN_SIGHT = 27
LEAST_LETTERS = 7.0  # on paper [pt]: smaller ones are not read at arm's length
PARAGRAPH = "Nobody has looked at what this line is about, and it may hold the job up. " * 7


@pytest.fixture(scope="module")
def computed(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    place = tmp_path_factory.mktemp("porch") / "porch.xlsx"
    PORCH.draw(place)
    return compute(place)


@pytest.fixture(scope="module")
def result(computed: Estimate) -> Path:
    assert computed.result is not None
    return computed.result


@pytest.fixture(scope="module")
def printed(result: Path, libreoffice: LibreOffice) -> PdfReader:
    return libreoffice.printed(result)


def titles_of(pages: PdfReader, titles: list[str]) -> Counter[str]:
    """How many printed pages each tab has: its title stands in the footer, before the number of the page."""
    text = [page.extract_text() for page in pages.pages]
    return Counter(title for title in titles for page in text if f"{title} Page " in " ".join(page.split()))


def test_only_tabs_to_read_and_to_type_in_are_in_sight(result: Path) -> None:
    book = openpyxl.load_workbook(result)
    states = {sheet.title: sheet.sheet_state for sheet in book.worksheets}

    assert [title for title, state in states.items() if state == "visible"] == IN_SIGHT
    assert len(IN_SIGHT) <= MOST_IN_SIGHT
    assert {states[tab.title] for tab in WORKING_TABS} == {"hidden"}  # a person can show them; not so if "veryHidden"
    assert (book.index(book.worksheets[0]), book.sheetnames[0]) == (0, "Summary")
    assert book.active is book.worksheets[0]
    assert book.security is None or not book.security.lockStructure


def test_the_story_of_a_section_is_a_tab_to_read() -> None:
    assert "Section story" in IN_SIGHT


def test_summary_says_how_hidden_tabs_are_shown(result: Path) -> None:
    purpose = openpyxl.load_workbook(result)["Summary"]["A2"].value

    assert "hidden" in purpose
    assert "right-click any tab" in purpose
    assert "Unhide" in purpose
    assert "Show Sheet" in purpose


def test_no_link_leads_anywhere(result: Path) -> None:
    """One into a hidden tab would open nothing in some programs."""
    with zipfile.ZipFile(result) as parts:
        assert not any(b"<hyperlink" in parts.read(part) for part in parts.namelist() if "worksheets" in part)


def test_hidden_tabs_do_not_print(printed: PdfReader) -> None:
    hidden = titles_of(printed, [tab.title for tab in WORKING_TABS])

    assert hidden == Counter()
    assert titles_of(printed, ["Cut list"])["Cut list"] >= 1


def test_summary_and_story_are_a_page_each(printed: PdfReader) -> None:
    assert titles_of(printed, ["Summary", "Section story"]) == {"Summary": 1, "Section story": 1}


@pytest.mark.parametrize("unit", JOB_UNITS)
def test_summary_stays_one_page_that_can_be_read_when_it_grows(
    tmp_path: Path, libreoffice: LibreOffice, computed: Estimate, unit: str
) -> None:
    """A job of which much is not measured, and three lines more, on letter in inches and on A4 in millimetres."""
    (row,) = computed.rows["summary"]
    added = {f"line_{number}": number for number in range(3)}
    plain = [replace(column, excel="") for column in summary.TAB.columns]
    more = [Column(name, "One line more", COUNT) for name in added]
    tab = replace(summary.TAB, columns=(*plain, *more))
    shown = {column.name: column.value(row) for column in summary.TAB.columns}
    figures = SimpleNamespace(**{**shown, "unmeasured": PARAGRAPH}, **added)
    write_book(tmp_path / "grown.xlsx", [Sheet(tab, [figures])], unit=unit, footer="Grown", form=False)
    pages = libreoffice.printed(tmp_path / "grown.xlsx").pages
    sizes: list[float] = []
    pages[0].extract_text(visitor_text=lambda _, __, matrix, ___, size: sizes.append(abs(size * matrix[3])))

    assert len(PARAGRAPH) > 500
    assert len(pages) == 1
    assert min(size for size in sizes if size) >= LEAST_LETTERS


def test_reading_a_result_back_says_nothing_of_hidden_tabs(result: Path) -> None:
    assert not [problem for problem in estimate(result).problems if "hidden" in problem.what]


def test_a_hidden_input_tab_is_told(result: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(result)
    book["Runs"].sheet_state = "hidden"
    book.save(tmp_path / "hidden.xlsx")
    told = [problem.where for problem in estimate(tmp_path / "hidden.xlsx").problems if "tab is hidden" in problem.what]

    assert told == ["Runs"]


def test_nothing_of_the_measurement_form_is_hidden(tmp_path: Path) -> None:
    """But the sheets that a drop-down and a drawing look at, as ever."""
    draw_form(tmp_path / "form.xlsx", INCH)
    book = openpyxl.load_workbook(tmp_path / "form.xlsx")
    hidden = [sheet.title for sheet in book.worksheets if sheet.sheet_state != "visible"]

    assert [title for title in book.sheetnames if title not in hidden][: len(INPUT_TABS)] == [
        tab.title for tab in INPUT_TABS
    ]
    assert set(hidden) <= {"How to measure points", "Lists"}
