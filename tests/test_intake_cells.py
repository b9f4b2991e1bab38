"""One cell by the kind of its column: the value, or why it is refused."""

import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from railbook.basics import kinds
from railbook.basics.double_entry import Column
from railbook.basics.kinds import Kind
from railbook.basics.units import Refusal
from railbook.intake.cells import ERRORS, READERS, is_blank, read_cell, shown
from railbook.intake.workbook import Cell

KINDS = [kind for kind in vars(kinds).values() if isinstance(kind, Kind) and kind.name in READERS]
CHOICES = ("Level", "Stair", "Ramp")


def _read(value: Any, kind: Kind, *, number_format: str = "General", unit: str = "in") -> Any:
    choices = CHOICES if kind is kinds.CHOICE else ()
    return read_cell(Cell(value, number_format), Column("name", "Header", kind, choices=choices), unit)


@pytest.mark.parametrize(
    ("value", "kind", "read"),
    [
        (90.375, kinds.MEASURED, 90.375),
        (90, kinds.MEASURED, 90.0),
        ("7' 6 3/8\"", kinds.MEASURED, 90.375),
        (-3.5, kinds.SIGNED, -3.5),
        ("\u22123 1/2", kinds.SIGNED, -3.5),
        (0, kinds.SIGNED, 0.0),
        (0, kinds.LENGTH, 0.0),
        ("0", kinds.TAPE, 0.0),
        ("1/8", kinds.LENGTH, 0.125),
        (36.9, kinds.ANGLE, 36.9),
        ("36.9\u00b0", kinds.ANGLE, 36.9),
        ("-36.9 deg", kinds.ANGLE, -36.9),
        ("270", kinds.BEARING, 270.0),
        (12, kinds.COUNT, 12),
        (12.0, kinds.COUNT, 12),
        ("\uff11\uff12", kinds.COUNT, 12),
        (0, kinds.COUNT, 0),
        ("12.5", kinds.NUMBER, 12.5),
        (1.15, kinds.FACTOR, 1.15),
        (0.0825, kinds.PERCENT, 0.0825),
        ("8.25%", kinds.PERCENT, 0.0825),
        ("8.25 %", kinds.PERCENT, 0.0825),
        ("100%", kinds.PERCENT, 1.0),
        ("150%", kinds.MARKUP, 1.5),
        (-12.5, kinds.PAYMENT, -12.5),
        ("0.2", kinds.PERCENT, 0.2),
        (18.97, kinds.MONEY, 18.97),
        ("18.97", kinds.MONEY, 18.97),
        (" a-1 ", kinds.MARK, "A-1"),
        ("cap\u00a0 5/4x6\u200b", kinds.MARK, "CAP 5/4X6"),
        (12, kinds.MARK, "12"),
        (12.0, kinds.MARK, "12"),
        ("=A", kinds.MARK, "=A"),
        (True, kinds.MARK, "TRUE"),
        ("E\u0301 1", kinds.MARK, "\u00c9 1"),
        ("\u062f\u200c\u0631", kinds.MARK, "\u062f\u200c\u0631"),
        ("\u200dA\u200c1", kinds.MARK, "A1"),
        ("stair", kinds.CHOICE, "Stair"),
        (" porch\tfront\x07 ", kinds.TEXT, "porch front"),
        ('=HYPERLINK("x")', kinds.TEXT, '=HYPERLINK("x")'),
        (5551234, kinds.TEXT, "5551234"),
        (12.5, kinds.TEXT, "12.5"),
        (dt.datetime(2026, 4, 30), kinds.TEXT, "2026-04-30"),
        (dt.time(7, 30), kinds.TEXT, "07:30:00"),
        (True, kinds.TEXT, "TRUE"),
        ("y", kinds.YES_NO, "Yes"),
        (False, kinds.YES_NO, "No"),
        ("TRUE", kinds.YES_NO, "Yes"),
        (dt.datetime(2026, 4, 30, 9, 15), kinds.DATE, dt.date(2026, 4, 30)),
        (dt.date(2026, 4, 30), kinds.DATE, dt.date(2026, 4, 30)),
        ("2026-4-30", kinds.DATE, dt.date(2026, 4, 30)),
        ("Inches", kinds.UNIT, "in"),
        ("\u201d", kinds.UNIT, "in"),
        ("Millimetres", kinds.UNIT, "mm"),
    ],
)
def test_what_people_type_is_read(value: Any, kind: Kind, read: Any) -> None:
    found = _read(value, kind)

    assert found == pytest.approx(read) if isinstance(read, float) else found == read
    assert type(found) is type(read)


@pytest.mark.parametrize(
    ("value", "kind", "why"),
    [
        (0, kinds.MEASURED, "is no length"),
        (-1.5, kinds.MEASURED, "is negative"),
        ("-1/8", kinds.LENGTH, "is negative"),
        (float("nan"), kinds.MEASURED, "is no number that can be used"),
        (float("inf"), kinds.MEASURED, "is no number that can be used"),
        (10**400, kinds.COUNT, "is no number that can be used"),
        (45724, kinds.MEASURED, "is more than 1000 feet"),
        ("7-6", kinds.MEASURED, "may be feet and inches, or a subtraction"),
        (dt.time(7, 6), kinds.MEASURED, "is a time of day"),
        (True, kinds.MEASURED, "is a yes or no, which this column does not ask for"),
        ("#REF!", kinds.TEXT, "is an error of the spreadsheet"),
        (91, kinds.ANGLE, "is not from -90 to 90"),
        (-1, kinds.BEARING, "is not from 0 to 360"),
        ("steep", kinds.ANGLE, "is not a plain number"),
        (12.5, kinds.COUNT, "is not whole"),
        (-1, kinds.COUNT, "is negative"),
        ("1e3", kinds.COUNT, "is not a plain number"),
        (dt.datetime(2026, 3, 8), kinds.COUNT, "is a date or a time"),
        (8.25, kinds.PERCENT, "may be percent or a share of one"),
        ("8.25", kinds.PERCENT, "may be percent or a share of one"),
        (1, kinds.PERCENT, "may be percent or a share of one"),
        (-0.1, kinds.PERCENT, "is negative"),
        ("825%", kinds.PERCENT, "is not from 0% to 100%"),
        ("1001%", kinds.MARKUP, "is not from 0% to 1000%"),
        (1e7, kinds.COUNT, "is not from 0 to 1000000"),
        (-0.5, kinds.NUMBER, "is negative"),
        ("%", kinds.PERCENT, "is not a plain number"),
        ("$18.97", kinds.MONEY, "carries a currency sign as text"),
        ("\u20ac 18.97", kinds.MONEY, "carries a currency sign as text"),
        ("1,200.00", kinds.MONEY, "has a comma: decimals or thousands?"),
        ("18,97", kinds.MONEY, "has a comma: decimals or thousands?"),
        (-1, kinds.MONEY, "is negative"),
        ("2*4", kinds.MARK, "has one of * ? ~, which spreadsheets take for any letters"),
        ("A" * 41, kinds.MARK, "has 41 characters"),
        (1.5, kinds.MARK, "is a number with decimals, not a mark"),
        (dt.datetime(2026, 1, 2), kinds.MARK, "is a date or a time, not a mark"),
        ("2026-01-02", kinds.MARK, "is a date or a time, not a mark"),
        ("A" * 1001, kinds.TEXT, "has 1001 characters"),
        ("Spiral", kinds.CHOICE, "is not one of the choices"),
        ("perhaps", kinds.YES_NO, "is neither yes nor no"),
        (1, kinds.YES_NO, "is neither yes nor no"),
        ("feet", kinds.UNIT, "is not a length unit of a job"),
        (46142, kinds.DATE, "is not a date"),
        ("last week", kinds.DATE, "is not a date"),
        ("2026-02-30", kinds.DATE, "is not a day of the calendar"),
    ],
)
def test_a_doubtful_cell_is_refused_with_its_reason(value: Any, kind: Kind, why: str) -> None:
    found = _read(value, kind)

    assert isinstance(found, Refusal)
    assert found.why == why
    assert found.remedy


def test_a_percent_sign_in_the_cell_s_format_is_a_percent_sign() -> None:
    assert _read(1.0, kinds.PERCENT, number_format="0.0%") == 1.0
    assert isinstance(_read(8.25, kinds.PERCENT, number_format="0.0%"), Refusal)  # shown as 825.0%


def test_an_ambiguous_percentage_is_offered_with_its_sign() -> None:
    assert _read(8.25, kinds.PERCENT).remedy == "type it with its sign, 8.25%"


def test_a_date_in_a_length_cell_is_offered_as_its_fraction() -> None:
    refusal = _read(dt.datetime(2026, 3, 8), kinds.MEASURED, number_format="d-mmm")

    assert refusal.why == "is a date, most probably 3/8 that the spreadsheet turned into one"


def test_the_choices_are_listed() -> None:
    assert _read("Spiral", kinds.CHOICE).remedy == "type Level, Stair or Ramp"


def test_a_choice_without_a_list_takes_any_text() -> None:
    assert read_cell(Cell("Oak & Sons"), Column("supplier", "Supplier", kinds.CHOICE), "in") == "Oak & Sons"


def test_bare_numbers_are_in_the_job_s_unit() -> None:
    assert _read("2296", kinds.MEASURED, unit="mm") == 2296.0
    assert _read('90 3/8"', kinds.MEASURED, unit="mm") == pytest.approx(2295.525)  # 90.375 x 25.4


@pytest.mark.parametrize("error", sorted(ERRORS))
def test_every_error_value_is_named_as_one(error: str) -> None:
    assert _read(error, kinds.MARK).why == "is an error of the spreadsheet"


def test_a_formula_without_a_value_says_to_save_the_workbook() -> None:
    refusal = read_cell(Cell(None, uncalculated=True), Column("rise", "Rise", kinds.MEASURED), "in")

    assert "save it and run again" in refusal.remedy


@pytest.mark.parametrize(
    ("cell", "blank"),
    [
        (Cell(None), True),
        (Cell(""), True),
        (Cell(" \u00a0\u200b\n"), True),
        (Cell(0), False),
        (Cell("-"), False),
        (Cell(None, uncalculated=True), False),
        (Cell("#N/A", error=True), False),
    ],
)
def test_blank_is_what_nobody_can_see(cell: Cell, *, blank: bool) -> None:
    assert is_blank(cell) is blank


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (Cell("about 90"), '"about 90"'),
        (Cell(12.0), "12"),
        (Cell("#N/A", error=True), "#N/A"),
        (Cell(None, uncalculated=True), "the formula"),
        (Cell("x" * 70), '"' + "x" * 60 + ' ..."'),
    ],
)
def test_what_was_read_is_quoted(cell: Cell, text: str) -> None:
    assert shown(cell) == text


CELL_VALUES = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.datetimes() | st.times() | st.timedeltas()
)


@given(CELL_VALUES, st.sampled_from(KINDS), st.sampled_from(("in", "mm")))
def test_no_cell_of_any_kind_raises(value: Any, kind: Kind, unit: str) -> None:
    cell = Cell(value)
    found = None if is_blank(cell) else _read(value, kind, unit=unit)

    assert found is None or isinstance(found, (Refusal, float, int, str, dt.date))
    assert shown(cell)
