"""A tab that is declared wrongly is refused when the workbook is written, not found out on site."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import openpyxl
import pytest

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import LENGTH, MARK
from railbook.report.book import Sheet, write_book
from railbook.report.names import checked_titles, checked_word


def tab(*columns: Column, **more: Any) -> Tab:
    """A tab of plain rows."""
    return Tab("cuts", more.pop("title", "Cuts"), SimpleNamespace, columns, **more)


def write(path: Path, *sheets: Sheet) -> openpyxl.Workbook:
    """A result with these tabs, read back."""
    write_book(path / "cuts.xlsx", sheets, unit="mm", footer="", form=False)
    return openpyxl.load_workbook(path / "cuts.xlsx")


@pytest.mark.parametrize(
    "word", ["run1", "AB12", "xfd1048576", "r", "C", "r1c1", "R2", "rc", "TRUE", "false", "true_", "9lives", "a b", ""]
)
def test_word_that_looks_like_a_cell_or_a_truth_value_is_refused(word: str) -> None:
    with pytest.raises(ValueError, match="cannot name cells"):
        checked_word(word)


@pytest.mark.parametrize("word", ["rise", "runs_rise", "run_1", "level_guard_height", "tax2026x", "rows"])
def test_trade_word_is_accepted(word: str) -> None:
    assert checked_word(word) == word


@pytest.mark.parametrize(
    "title", ["", "a" * 32, "50%", "Tom's", "a:b", "a/b", "a\\b", "what?", "a*b", "[a]", "History"]
)
def test_title_that_links_cannot_bear_is_refused(title: str) -> None:
    with pytest.raises(ValueError, match="cannot be the title"):
        checked_titles([title])


def test_two_tabs_may_not_differ_by_capitals_alone() -> None:
    with pytest.raises(ValueError, match="two tabs"):
        checked_titles(["Cuts", "cuts"])


def test_unknown_word_is_refused_even_without_rows(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="nothing is called 'lenght'"):
        write(tmp_path, Sheet(tab(Column("twice", "Twice", LENGTH, "=2*{lenght}")), []))


def test_number_of_a_column_that_does_not_repeat_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="nothing is called 'nth'"):
        write(tmp_path, Sheet(tab(Column("twice", "Twice", LENGTH, "=2*{nth}")), []))


def test_word_that_a_row_lacks_is_refused(tmp_path: Path) -> None:
    look = tab(Column("found", "Found", LENGTH, "=INDEX({[quantity]},1)"))

    with pytest.raises(ValueError, match="a word of the formula is empty"):
        write(tmp_path, Sheet(look, [SimpleNamespace(quantity="", found=1.0)]))


def test_formula_longer_than_programs_take_is_refused(tmp_path: Path) -> None:
    long = "=" + "+".join(["{a_length}"] * 2000)

    with pytest.raises(ValueError, match="longer than 8000"):
        write(tmp_path, Sheet(tab(Column("a_length", "A", LENGTH), Column("total", "Total", LENGTH, long)), []))


def test_names_that_differ_by_capitals_alone_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="two places"):
        write(tmp_path, Sheet(tab(Column("length", "A", LENGTH), Column("Length", "B", LENGTH)), []))


def test_row_word_that_looks_like_a_cell_is_refused(tmp_path: Path) -> None:
    limits = tab(Column("limit", "Limit", MARK), Column("value", "Value", LENGTH), row_word="limit", row_cell="value")

    with pytest.raises(ValueError, match="'gap4' cannot name cells"):
        write(tmp_path, Sheet(limits, [SimpleNamespace(limit="gap4", value=1.0)]))


def test_drop_down_of_an_unknown_word_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="nothing is called 'boards_item'"):
        write(tmp_path, Sheet(tab(Column("item", "Item", MARK, listed_in="boards_item", typed=True)), []))


def test_repeating_column_may_not_use_one_that_repeats_less_often(tmp_path: Path) -> None:
    both = tab(Column("few", "Few", LENGTH, repeats=True), Column("many", "Many", LENGTH, "={few}", repeats=True))

    with pytest.raises(ValueError, match="repeats more often"):
        write(tmp_path, Sheet(both, [SimpleNamespace(few=(1.0,), many=(1.0, 2.0))]))


def test_tab_that_runs_down_holds_exactly_one_thing() -> None:
    with pytest.raises(ValueError, match="one row"):
        Sheet(tab(Column("length", "Length"), down=True), [])


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_figure_that_no_cell_shows_is_refused(tmp_path: Path, value: float) -> None:
    with pytest.raises(ValueError, match="no cell shows"):
        write(tmp_path, Sheet(tab(Column("one", "One", LENGTH, "=1")), [SimpleNamespace(one=value)]))


def test_words_that_rows_hold_are_put_into_their_own_formula(tmp_path: Path) -> None:
    look = tab(Column("length", "L", LENGTH), Column("found", "Found", LENGTH, "=INDEX({[quantity]},1)"))
    rows = [
        SimpleNamespace(length=7.0, found=7.0, quantity="cuts_length"),
        SimpleNamespace(length=8.0, found=8.0, quantity="length"),
    ]
    written = write(tmp_path, Sheet(look, rows))["Cuts"]

    assert [written["B7"].value, written["B8"].value] == ["=INDEX(cuts_length,1)", "=INDEX(A8,1)"]


def test_younger_functions_get_the_prefix_that_programs_look_for(tmp_path: Path) -> None:
    """MAXIFS is stored as _xlfn.MAXIFS (ECMA-376 knows it not); COUNTIFS is older and is not."""
    columns = (
        Column("length", "L", LENGTH),
        Column("most", "Most", LENGTH, "=MAXIFS({cuts_length},{cuts_length},1)+COUNTIFS({cuts_length},1)"),
    )
    written = write(tmp_path, Sheet(tab(*columns), [SimpleNamespace(length=1.0, most=2.0)]))["Cuts"]

    assert written["B7"].value == "=_xlfn.MAXIFS(cuts_length,cuts_length,1)+COUNTIFS(cuts_length,1)"
