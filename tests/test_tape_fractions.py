"""Lengths of an inch job show what a tape has, halves to sixty-fourths, whatever was typed; the values stay exact.

What a cell shows is read from the page that LibreOffice prints, and held against fractions worked with whole numbers.
"""

import re
from fractions import Fraction
from math import floor, gcd
from pathlib import Path
from types import SimpleNamespace

import openpyxl
import pytest

from railbook.basics.double_entry import Column, Tab, asked
from railbook.basics.kinds import ALLOWANCE, INCH, LIMIT, MARK, MEASURED, SIGNED, TAPE, TEXT, VERDICT
from railbook.estimate import compute
from railbook.job.runs import LEVEL, Run
from railbook.report.book import Sheet, write_book
from tests.filled_form import Filled, as_typed
from tests.recalculation import LibreOffice

INCHES = ("3.375", "0.499999", "64.9999", "64.993", "12", "0", "0.001", "90.96875", "3.24", "63.754", "0.3", "7.99")
MILLIMETRES = ("1638", "1200", "2296.5", "3", "19", "0.3")
TAPED = tuple(Fraction(text) for text in INCHES) + tuple(Fraction(text) / Fraction("25.4") for text in MILLIMETRES)
FRACTION = re.compile(r"(?<![\w./])(\d+)/(\d+)(?![\w/])")
TYPED = (
    asked("mark", "Mark", MARK, "Its mark"),
    asked("measured", "Measured", MEASURED, "A length"),
    asked("allowed", "Allowed", ALLOWANCE, "A length or 0"),
    asked("signed", "Signed", SIGNED, "A length, plus or minus"),
)
TYPED_TAB = Tab("lengths", "Lengths", SimpleNamespace, TYPED, key="mark")
CALCULATED_TAB = Tab(
    "cuts",
    "Cuts",
    SimpleNamespace,
    (
        Column("mark", "Mark", MARK),
        Column("cut", "Cut", TAPE, "=INDEX({lengths_measured},{nth_row})"),
        Column("nth_row", "Row", TEXT),
        Column("status", "Status", VERDICT, '=IF(MOD({nth_row},2)=0,"run again","")'),
    ),
)
DOWN_TAB = Tab("settings", "Settings", SimpleNamespace, (asked("kerf", "Kerf", ALLOWANCE, "Of the saw"),), down=True)


def on_tape(length: Fraction) -> str:
    """A length as a tape shows it: to the nearest sixty-fourth, half up, in its lowest terms."""
    whole, rest = divmod(floor(abs(length) * 64 + Fraction(1, 2)), 64)
    parts = [str(whole)] if whole or not rest else []
    parts += [str(Fraction(rest, 64))] if rest else []
    return ("-" if length < 0 and (whole or rest) else "") + " ".join(parts)


def squeezed(text: str) -> str:
    """The text with single spaces, and no space after a minus sign."""
    return " ".join(text.split()).replace("- ", "-")


def marks(count: int) -> list[str]:
    return [f"L{number}" for number in range(1, count + 1)]


def lengths_book(path: Path) -> Path:
    """Every length typed on one tab, and calculated on the next, where every other row asks for another run."""
    typed = [
        SimpleNamespace(mark=mark, measured=float(length), allowed=float(length), signed=-float(length))
        for mark, length in zip(marks(len(TAPED)), TAPED, strict=True)
    ]
    rows = [
        SimpleNamespace(mark=row.mark, cut=row.measured, nth_row=at, status="" if at % 2 else "run again")
        for at, row in enumerate(typed, start=1)
    ]
    sheets = [
        Sheet(TYPED_TAB, typed, blank_rows=1),
        Sheet(CALCULATED_TAB, rows),
        Sheet(DOWN_TAB, [SimpleNamespace(kerf=3 / 25.4)]),
    ]
    write_book(path, sheets, unit=INCH, footer="Lengths", form=False)
    return path


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory, libreoffice: LibreOffice) -> list[list[str]]:
    """Lines of every printed page of the made-up book."""
    book = lengths_book(tmp_path_factory.mktemp("lengths") / "lengths.xlsx")
    return printed_lines(libreoffice, book)


def printed_lines(libreoffice: LibreOffice, book: Path) -> list[list[str]]:
    return [[squeezed(line) for line in page.extract_text().splitlines()] for page in libreoffice.printed(book).pages]


def test_the_fractions_are_worked_by_hand() -> None:
    """1638 mm are 64.488 in: 31/64 is 0.484 and 32/64 0.5; 3 mm are 7.56/64; 0.3 mm are 0.76/64."""
    assert on_tape(Fraction(1638) / Fraction("25.4")) == "64 31/64"
    assert on_tape(Fraction(3) / Fraction("25.4")) == "1/8"
    assert on_tape(Fraction("0.3") / Fraction("25.4")) == "1/64"
    assert [on_tape(Fraction(text)) for text in ("3.375", "-0.3", "64.9999", "0.001", "-0.001")] == [
        "3 3/8", "-19/64", "65", "0", "0"
    ]  # fmt: skip


def test_typed_lengths_show_what_a_tape_has(pages: list[list[str]]) -> None:
    for mark, length in zip(marks(len(TAPED)), TAPED, strict=True):
        shown = next(line for line in pages[0] if line.split()[:1] == [mark])

        assert shown == f"{mark} {on_tape(length)} {on_tape(length)} {on_tape(-length)}"


def test_calculated_lengths_do_so_too_in_rows_that_are_struck_through(pages: list[list[str]]) -> None:
    for at, (mark, length) in enumerate(zip(marks(len(TAPED)), TAPED, strict=True), start=1):
        status = "" if at % 2 else " run again"

        assert f"{mark} {on_tape(length)} {at}{status}" in pages[1]


def test_a_length_on_a_tab_that_runs_down_does_so_too(pages: list[list[str]]) -> None:
    assert any(line.startswith("Kerf 1/8 in") for line in pages[2])


def test_values_stay_exact(tmp_path: Path) -> None:
    """A workbook keeps sixteen digits of a number."""
    sheet = openpyxl.load_workbook(lengths_book(tmp_path / "lengths.xlsx"))["Lengths"]
    exact = [pytest.approx(float(length), rel=1e-15) for length in TAPED]

    assert [sheet[f"B{row}"].value for row in range(8, 8 + len(TAPED))] == exact


def test_what_somebody_types_into_the_workbook_later_shows_so_too(tmp_path: Path, libreoffice: LibreOffice) -> None:
    """45.72 in is 46/64 over 45; it is typed over a length, and into the blank row."""
    path = lengths_book(tmp_path / "lengths.xlsx")
    book = openpyxl.load_workbook(path)
    for row in (8, 8 + len(TAPED)):
        book["Lengths"][f"A{row}"], book["Lengths"][f"B{row}"] = "TYPED", 45.72
    book["Lengths"].print_area = None  # which leaves the blank row out
    book.save(path)
    shown = [line for line in printed_lines(libreoffice, path)[0] if line.startswith("TYPED")]

    assert [line.split()[1:3] for line in shown] == [["45", "23/32"]] * 2


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_limit_shows_fractions_where_it_is_a_length_in_inches_only(
    tmp_path: Path, libreoffice: LibreOffice, unit: str
) -> None:
    """An angle of 4.764 degrees has no fraction of a tape, and its third decimal counts."""
    tab = Tab(
        "rules",
        "Rules",
        SimpleNamespace,
        (
            Column("limit", "Limit", MARK),
            asked("amended", "Amended", LIMIT, "Only where it differs", unit_in="unit"),
            Column("unit", "Unit", TEXT),
        ),
        row_word="limit",
        row_cell="amended",
    )
    length = ("gap", 110 / 25.4, "in") if unit == INCH else ("gap", 110.5, "mm")
    rows = [length, ("slope", 4.764, "deg"), ("rungs", 4.0, "risers")]
    sheet = Sheet(tab, [SimpleNamespace(limit=limit, amended=figure, unit=of) for limit, figure, of in rows])
    write_book(tmp_path / "rules.xlsx", [sheet], unit=unit, footer="", form=False)
    (lines,) = printed_lines(libreoffice, tmp_path / "rules.xlsx")

    assert {"gap 4 21/64 in" if unit == INCH else "gap 110.5 mm", "slope 4.764 deg", "rungs 4 risers"} <= set(lines)


def test_a_job_taped_in_millimetres_prints_tape_fractions_all_through(tmp_path: Path, libreoffice: LibreOffice) -> None:
    run = as_typed(
        Run, run="A", kind=LEVEL, from_support="P1", to_support="P2", assembly="WOOD", measured_to="Finished",
        clear_bottom="1638 mm", clear_top="1638 mm", stair_side="Open", drop="1217 mm", height="Own",
    )  # fmt: skip
    fastenings = {"saw_kerf": "3.2 mm", "shortest_offcut": "305 mm", "end_trim": "7 mm"}
    form = Filled(tmp_path / "site.xlsx", INCH, {"job_name": "Site", **fastenings}, {"runs": (run,)})
    form.draw(form.place)
    result = compute(form.place).result
    assert result is not None
    text = "\n".join(line for page in printed_lines(libreoffice, result) for line in page)
    found = [(int(over), int(under)) for over, under in FRACTION.findall(text)]

    assert "64 31/64" in text
    assert len(found) > 100
    assert [each for each in found if each[1] not in (2, 4, 8, 16, 32, 64) or gcd(*each) > 1] == []
