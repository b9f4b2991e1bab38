"""Kept texts of a workbook tell every cell that stands otherwise, by its name, and nothing else."""

import datetime as dt
from pathlib import Path

import openpyxl
import pytest
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from tests.changed_cells import TYPED, changed
from tests.kept_results import differences, write_texts
from tests.kept_text import Moved, relative, texts_of

VALUE, FORMULA = r"\1>\2<v>99</v></c>", r"\1><f>1+41</f><v>\3</v></c>"
CELL = "Cut list!Q12"  # a rise in 12; those above and below have its formula


@pytest.fixture(scope="module")
def kept(stairs_result: Path) -> dict[str, str]:
    return texts_of(stairs_result)


def told(kept: dict[str, str], made: Path) -> list[str]:
    """Where a workbook differs from what was kept."""
    return [each.where for each in differences(kept, texts_of(made))]


def test_the_same_workbook_differs_nowhere(kept: dict[str, str], stairs_result: Path, tmp_path: Path) -> None:
    """Not even when it went through files."""
    write_texts({"Gone": "", **kept}, tmp_path)
    write_texts(kept, tmp_path)
    again = {each.stem: each.read_text(encoding="utf-8") for each in tmp_path.iterdir()}

    assert again == kept
    assert told(again, stairs_result) == []


@pytest.mark.parametrize(
    ("becomes", "where"),
    [(VALUE, [CELL]), (FORMULA, ["Cut list", CELL]), (TYPED, [CELL])],
    ids=["value", "formula", "no formula"],
)
def test_a_changed_cell_is_told(
    kept: dict[str, str], stairs_result: Path, tmp_path: Path, becomes: str, where: list[str]
) -> None:
    """With another formula it is told besides what formulas its column has."""
    assert told(kept, changed(stairs_result, tmp_path / "changed.xlsx", {CELL: becomes})) == where


def test_another_typed_text_and_number_format_are_told(
    kept: dict[str, str], stairs_result: Path, tmp_path: Path
) -> None:
    book = openpyxl.load_workbook(stairs_result)
    book["Runs"]["B8"] = "elsewhere"
    book["Runs"]["A8"].number_format = "0.00"
    book.save(tmp_path / "changed.xlsx")
    made = texts_of(tmp_path / "changed.xlsx")
    found = list(differences({"Runs": kept["Runs"]}, {"Runs": made["Runs"]}))

    assert found[-1] == Moved("Runs!B8", "Back stairs, yard side", "elsewhere")
    assert [each.where for each in found[:-1]] == ["Runs"] * (len(found) - 1)
    assert "A\t8-8 0.00" in [each.made for each in found]


def test_a_row_more_and_a_tab_less_are_told() -> None:
    short, long = ("2 rows\n\nA\t1\nB\t2\n", "3 rows\n\nA\t1\nB\t2\nC\t3\n")

    assert [str(each) for each in differences({"Cuts": short, "Old": short}, {"Cuts": long, "New": short})] == [
        "New: kept 'no such tab', made 'a tab'",
        "Old: kept 'a tab', made 'no such tab'",
        "Cuts: kept '2 rows', made '3 rows'",
        "Cuts!A3: kept '', made 'C'",
        "Cuts!B3: kept '', made '3'",
    ]


@pytest.mark.parametrize(
    ("kept", "made", "differ"),
    [
        ("=60.0625", "=60.0625000000001", False),  # twelve digits are kept, so nobody sees the sixteenth
        ("0", "1e-13", False),
        ("=60.0625", "=60.0626", True),
        ("=60.0625", "60.0625", True),
        ("=60.0625", "2=60.0625", True),
        ("60", "'60", True),
        ("=", "=0", True),
        ("", "=", True),
    ],
)
def test_a_figure_is_the_same_within_the_digits_kept(kept: str, made: str, *, differ: bool) -> None:
    told = list(differences({"Cuts": f"1 rows\n\n{kept}\n"}, {"Cuts": f"1 rows\n\n{made}\n"}))

    assert [each.where for each in told] == ["Cuts!A1"] * differ


@pytest.mark.parametrize(
    ("formula", "told"),
    [
        ('=IF(H$5>D7,"D7",AG7+$B$7)', '=IF(@$5>D#,"D7",AG#+$B$7)'),  # a text says what it says
        ("=SUM('D7 of H7'!D7,Runs!$H7)", "=SUM('D7 of H7'!D#,Runs!$H#)"),
        ("=LOG10(D7)+runs_7+D77+D6", "=LOG10(D#)+runs_7+D77+D6"),
    ],
)
def test_a_formula_is_told_as_it_looks_from_its_cell(formula: str, told: str) -> None:
    assert relative(formula, "H", 7) == told


def test_texts_that_look_like_figures_stay_texts(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.append([1, "1", 0.1 + 0.2, True, "TRUE", "'", "2026-05-04", dt.date(2026, 5, 4)])
    sheet.append(["=1", "12=", "a\tb\\c\nd"])
    for cell in sheet[2]:
        cell.data_type = "s"
    book.save(tmp_path / "book.xlsx")
    rows = texts_of(tmp_path / "book.xlsx")["Sheet"].partition("\n\n")[2].split("\n")

    assert rows[0].split("\t") == ["1", "'1", "0.3", "TRUE", "'TRUE", "''", "'2026-05-04", "2026-05-04"]
    assert rows[1].split("\t") == ["'=1", "'12=", r"a\tb\\c\nd"]
