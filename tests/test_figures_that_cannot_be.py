"""Negative hours, prices and counts, and shares beyond everything: each is refused or asked about, by its cell."""

import shutil
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from railbook import blank_form
from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import ANGLE, PAYMENT, SIGNED
from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, Problem
from railbook.basics.units import Refusal
from railbook.estimate import Estimate, estimate
from railbook.intake.cells import read_cell
from railbook.intake.workbook import Cell
from railbook.job import settings
from railbook.tabs import INPUT_TABS
from tests.porch import PAID

pytestmark = pytest.mark.usefixtures("first_plans")

# An overhang may run the other way, a slope fall, a post lean back; money comes back from the yard.
MAY_BE_NEGATIVE = {
    "runs.lower_setback": SIGNED, "runs.upper_setback": SIGNED, "runs.angle": ANGLE, "runs.lean_from": ANGLE,
    "runs.lean_to": ANGLE, "assemblies.greatest_rake": ANGLE, "assemblies.bracket_skew": ANGLE, "paid.paid": PAYMENT,
}  # fmt: skip
NUMERIC = [(tab, column) for tab in INPUT_TABS for column in tab.columns if column.typed and column.kind.numeric]


@pytest.mark.parametrize(("tab", "column"), NUMERIC, ids=lambda each: each.name)
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_negative_figure_is_refused_wherever_it_cannot_be(tab: Tab, column: Column, unit: str) -> None:
    found = read_cell(Cell(-1.0), column, unit)
    may_be = MAY_BE_NEGATIVE.get(f"{tab.name}.{column.name}")

    if may_be is not None:
        assert (column.kind, found) == (may_be, -1.0)
    else:
        assert isinstance(found, Refusal)
        assert found.remedy


def value_cell(sheet: Worksheet, header: str) -> Any:
    """The cell beside a label."""
    (found,) = [row[1] for row in sheet.iter_rows(max_col=2) if row[0].value == header]
    return found


@pytest.fixture
def porch(porch_form: Path, tmp_path: Path) -> Path:
    """A copy of the porch to type in."""
    return Path(shutil.copy(porch_form, tmp_path))


def porch_with(place: Path, **figures: Any) -> tuple[Estimate, dict[str, Problem]]:
    """The porch with these settings typed, and its problems by cell."""
    book = openpyxl.load_workbook(place)
    cells = {}
    for name, figure in figures.items():
        cell = value_cell(book["Job"], settings.TAB.column(name).header)
        cell.value = figure
        cells[name] = f"Job!{cell.coordinate}"
    book.save(place)
    made = estimate(place)
    assert made.choices is not None
    problems = {each.where: each for each in (*made.problems, *made.choices.told)}
    return made, {name: problems[cells[name]] for name in cells if cells[name] in problems}


RATES = {
    "labour_rate": "labour", "hours_per_post": "hours for posts", "hours_per_level": "hours for level guard",
    "hours_per_stair": "hours for stair guard", "tax": "tax", "markup_materials": "mark-up on materials",
    "markup_labour": "mark-up on labour", "cost_permit": "permit", "cost_delivery": "delivery",
    "cost_tear_out": "tear-out", "cost_dump": "dump", "fastener_spares": "spares of fasteners",
}  # fmt: skip


def test_a_negative_rate_is_told_by_its_cell_and_the_total_lacks_it(porch: Path) -> None:
    """Minus two hours for a post are no gift: the total says that it does without the hours."""
    made, told = porch_with(porch, **dict.fromkeys(RATES, -0.5))

    assert set(told) == set(RATES)
    assert {each.severity for each in told.values()} == {LOOK}
    assert {each.what.rpartition(": ")[2] for each in told.values()} == {"-0.5 is negative", "-50% is negative"}
    assert all(each.remedy for each in told.values())
    lacks = made.rows["cost"][0].total_says.partition(": ")[2].split(", ")
    assert set(lacks) == set(RATES.values())
    assert made.rows["cost"][0].job_total == made.rows["cost"][0].materials_charged


@pytest.mark.parametrize(
    ("name", "typed", "why"),
    [
        ("tax", "750%", "is not from 0% to 100%"),
        ("tax", "101%", "is not from 0% to 100%"),
        ("fastener_spares", "500%", "is not from 0% to 100%"),
        ("markup_materials", "1500%", "is not from 0% to 1000%"),
        ("tax", 7.5, "is not from 0% to 100%"),  # the form shows the cell with its sign: 750.0%
    ],
)
def test_a_share_that_cannot_be_is_refused(porch: Path, name: str, typed: Any, why: str) -> None:
    made, told = porch_with(porch, **{name: typed})

    assert why in told[name].what
    assert RATES[name] in made.rows["cost"][0].total_says


@pytest.mark.parametrize("name", ["tax", "markup_labour"])
def test_a_share_in_a_cell_without_the_sign_is_asked_for_with_it(name: str) -> None:
    """Somebody formatted the cell as a plain number."""
    found = read_cell(Cell(15), settings.TAB.column(name), "in")

    assert isinstance(found, Refusal)
    assert (found.why, found.remedy) == ("may be percent or a share of one", "type it with its sign, 15%")


@pytest.mark.parametrize(
    ("name", "typed", "asked"),
    [
        ("tax", "30%", False), ("tax", "31%", True), ("tax", "100%", True),
        ("fastener_spares", "50%", False), ("fastener_spares", "60%", True),
        ("markup_materials", "100%", False), ("markup_materials", "150%", True), ("markup_labour", "150%", True),
    ],
)  # fmt: skip
def test_an_unlikely_share_is_computed_and_asked_about(porch: Path, name: str, typed: str, *, asked: bool) -> None:
    made, told = porch_with(porch, **{name: typed})

    assert getattr(made.rows["job"][0], name) == float(typed.removesuffix("%")) / 100
    assert (name in told) is asked
    assert not asked or (told[name].severity, typed in told[name].what) == (LOOK, True)


def test_a_refund_is_a_payment_with_a_minus(porch: Path) -> None:
    """29.75 and 31.20 were paid; four boards went back for 12.00."""
    book = openpyxl.load_workbook(porch)
    sheet: Any = book["Paid"]
    below = 8 + len(PAID)  # rows before it: title, purpose, headers, units and hints
    for column, value in zip("ABCD", ("4X4 POST", 96, -12.0, "four went back"), strict=True):
        sheet[f"{column}{below}"].value = value
    book.save(porch)
    made = estimate(porch)

    assert made.rows["cost"][0].paid_total == pytest.approx(29.75 + 31.2 - 12.0)
    (post,) = [each for each in made.rows["materials"] if each.item == "4X4 POST" and each.length == 96.0]
    assert post.paid == pytest.approx(29.75 - 12.0)


@pytest.mark.parametrize(
    ("title", "key", "header", "typed"),
    [
        ("Prices", "Item", "Price", -3),
        ("Prices", "Item", "On hand", -1),
        ("Fastenings", "Assembly", "In each joint", -2),
    ],
)
def test_a_negative_figure_of_a_row_is_told_by_its_cell(
    porch: Path, title: str, key: str, header: str, typed: int
) -> None:
    book = openpyxl.load_workbook(porch)
    sheet = book[title]
    labels = next(row for row in sheet.iter_rows() if row[0].value == key)
    (at,) = [cell.column for cell in labels if cell.value == header]
    cell: Any = sheet.cell(int(labels[0].row or 0) + 3, at)
    cell.value = typed
    book.save(porch)
    (told,) = [each for each in estimate(porch).problems if each.where == f"{title}!{cell.coordinate}"]

    assert (told.severity, f"{header}: {typed} is " in told.what) == (LEFT_OUT, True)
    assert told.remedy


def test_the_form_takes_no_figure_that_would_be_refused(tmp_path: Path) -> None:
    """Money, hours, shares and counts begin at 0; tax ends at 100 %."""
    place = tmp_path / "form.xlsx"
    blank_form.draw_form(place, "in")
    sheet = openpyxl.load_workbook(place)["Job"]
    rules = {
        str(cells): (float(rule.formula1), float(rule.formula2))
        for rule in sheet.data_validations.dataValidation
        if rule.type == "decimal"
        for cells in rule.sqref.ranges
    }

    def limits(name: str) -> tuple[float, float]:
        return rules[value_cell(sheet, settings.TAB.column(name).header).coordinate]

    assert limits("tax") == (0.0, 1.0)
    assert limits("markup_labour") == (0.0, 10.0)
    assert limits("hours_per_post")[0] == limits("cost_permit")[0] == 0.0


def test_a_form_from_before_handrails_had_hours_is_read_with_a_note(porch: Path) -> None:
    """The porch has no handrail of its own, so that its total needs no such figure."""
    book = openpyxl.load_workbook(porch)
    book["Job"].delete_rows(value_cell(book["Job"], "Hours, handrail").row)
    book.save(porch)
    made = estimate(porch)
    (told,) = [each for each in made.problems if "Hours, handrail" in each.what]

    assert (told.where, told.severity) == ("Job", NOTE)
    assert made.rows["job"][0].hours_handrail is None
    assert "handrails" not in made.rows["cost"][0].total_says
