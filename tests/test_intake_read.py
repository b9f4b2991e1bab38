"""A filled workbook becomes rows and problems, with tabs made up for the purpose."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from railbook.basics.double_entry import Column, Tab, asked
from railbook.basics.kinds import COUNT, DATE, JOB_UNITS, LENGTH, MARK, MEASURED, MONEY, SIGNED, TEXT, UNIT
from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Origin, Problem
from railbook.intake.layout import MOST_COLUMNS, MOST_ROWS
from railbook.intake.read import Reading, read


@dataclass(frozen=True)
class Setting:
    unit: str | None = None
    kerf: float | None = None
    measured: dt.date | None = None
    origin: Origin = Origin()


@dataclass(frozen=True)
class Plank:
    mark: str | None = None
    length: float | None = None
    overhang: float | None = None
    pieces: int | None = None
    notes: str | None = None
    origin: Origin = Origin()


@dataclass(frozen=True)
class Item:
    item: str | None = None
    price: float | None = None
    origin: Origin = Origin()


SETTINGS = Tab(
    "job",
    "Job",
    Setting,
    (
        asked("unit", "Length unit", UNIT, "in or mm", choices=JOB_UNITS, needed=True),
        asked("kerf", "Saw kerf", LENGTH, "width of the cut", needed=True),
        asked("measured", "Date measured", DATE, "day of the visit"),
    ),
    down=True,
)
PLANKS = Tab(
    "planks",
    "Planks",
    Plank,
    (
        asked("mark", "Plank", MARK, "your mark", needed=True),
        asked("length", "Length", MEASURED, "end to end", needed=True),
        asked("overhang", "Overhang", SIGNED, "past the joist"),
        asked("pieces", "Pieces", COUNT, "how many"),
        asked("notes", "Notes", TEXT, "anything"),
        Column("total", "Total length", LENGTH, "={length}*{pieces}"),
    ),
    key="mark",
)
ITEMS = Tab(
    "items",
    "Items",
    Item,
    (asked("item", "Item", MARK, "name", needed=True), asked("price", "Price", MONEY, "for one")),
    optional=True,
)
TABS = (SETTINGS, PLANKS, ITEMS)
Rows = list[list[Any]]
JOB_ROWS: Rows = [["Length unit", "in"], ["Saw kerf", "1/8"], ["Date measured", dt.datetime(2026, 4, 30)]]
HEADERS: list[Any] = ["Plank", "Length", "Overhang", "Pieces", "Notes"]
ITEM_ROWS: Rows = [["Item", "Price"], ["2x4x8", 5.25]]


class _Desk:
    """Writes a workbook and reads it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "job.xlsx"

    def read(self, sheets: Mapping[str, Rows], change: Callable[[Workbook], None] | None = None) -> Reading:
        book = Workbook()
        book.remove(book.worksheets[0])
        for title, rows in sheets.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(row)
        if change:
            change(book)
        book.save(self.path)
        return read(self.path, TABS)

    def planks(self, *rows: Sequence[Any], change: Callable[[Worksheet], None] | None = None) -> Reading:
        """A sound job whose tab Planks holds the headers and these rows."""
        return self.read(
            {"Job": JOB_ROWS, "Planks": [HEADERS, *map(list, rows)], "Items": ITEM_ROWS},
            (lambda book: change(book["Planks"])) if change else None,
        )


@pytest.fixture
def desk(tmp_path: Path) -> _Desk:
    return _Desk(tmp_path)


def _said(reading: Reading) -> list[tuple[str, str]]:
    return [(problem.where, problem.severity) for problem in reading.problems]


def _only(reading: Reading) -> Problem:
    (problem,) = reading.problems
    return problem


def test_every_tab_becomes_rows_of_its_own_class(desk: _Desk) -> None:
    reading = desk.planks(["a", "7' 6 3/8\"", -3.5, 2, "porch"], ["b", 84])
    first, second = reading.rows["planks"]
    (settings,) = reading.rows["job"]
    (item,) = reading.rows["items"]

    assert reading.problems == ()
    assert (settings.unit, settings.kerf, settings.measured) == ("in", 0.125, dt.date(2026, 4, 30))
    assert (first.mark, first.length, first.overhang, first.pieces, first.notes) == ("A", 90.375, -3.5, 2, "porch")
    assert (second.mark, second.length, second.overhang, second.pieces) == ("B", 84.0, None, None)
    assert (item.item, item.price) == ("2X4X8", 5.25)


def test_a_row_knows_where_it_came_from(desk: _Desk) -> None:
    reading = desk.planks(["a", 90])
    (plank,) = reading.rows["planks"]
    (settings,) = reading.rows["job"]

    assert plank.origin.tab == "Planks"
    assert plank.origin.cell("length") == "Planks!B2"
    assert settings.origin.cell("kerf") == "Job!B2"
    assert plank.origin.faulty == frozenset()


def test_an_unreadable_cell_is_named_and_its_row_marked(desk: _Desk) -> None:
    reading = desk.planks(["a", "90,375", None, 2])
    (plank,) = reading.rows["planks"]

    assert (plank.length, plank.pieces, plank.origin.faulty) == (None, 2, frozenset({"length"}))
    assert _only(reading) == Problem(
        "Planks!B2",
        'Length: "90,375" has a comma: decimals or thousands?',
        "type a point for decimals, and no thousands sign",
        LEFT_OUT,
    )


def test_a_fraction_that_became_a_date_is_offered_back(desk: _Desk) -> None:
    def as_typed(sheet: Worksheet) -> None:
        sheet["B2"].number_format = "d-mmm"

    problem = _only(desk.planks(["a", dt.datetime(2026, 3, 8)], change=as_typed))

    assert problem.where == "Planks!B2"
    assert "most probably 3/8" in problem.what
    assert problem.remedy == "format the cell as text, or type 0 3/8"


def test_a_formula_that_was_never_calculated_is_no_blank(desk: _Desk) -> None:
    problem = _only(desk.planks(["a", 90, "=1+1"]))

    assert problem.where == "Planks!C2"
    assert problem.what == "Overhang: the formula has no calculated value"


@pytest.mark.parametrize("written", ["mm", "Millimeters", " MM "])
def test_lengths_are_in_the_unit_of_the_job(desk: _Desk, written: str) -> None:
    job: Rows = [["Saw kerf", 3], ["Length unit", written]]
    reading = desk.read({"Planks": [HEADERS, ["a", "2.296 m"]], "Job": job, "Items": ITEM_ROWS})

    assert reading.rows["job"][0].unit == "mm"
    assert reading.rows["planks"][0].length == 2296.0


@pytest.mark.parametrize(
    ("job", "where", "what"),
    [
        ([["Length unit", None], ["Saw kerf", 0]], "Job!B1", "Length unit is blank"),
        ([["Length unit", "feet"]], "Job!B1", 'Length unit: "feet" is not a length unit of a job'),
        ([["Saw kerf", 0]], "Job", 'has no header "Length unit"'),
        (
            [["Unit of length", "in"], ["Length units", "in"]],
            "Job",
            'has no header "Length unit"; did you rename it "Length units" (Job!A2)?',
        ),
    ],
)
def test_without_a_length_unit_nothing_is_read(desk: _Desk, job: Rows, where: str, what: str) -> None:
    reading = desk.read({"Job": job, "Planks": [HEADERS, ["a", 90]], "Items": ITEM_ROWS})

    assert (_only(reading).where, _only(reading).what, _only(reading).severity) == (where, what, STOPS)
    assert set(reading.rows.values()) == {()}


def test_without_the_tab_of_the_unit_nothing_is_read(desk: _Desk) -> None:
    reading = desk.read({"Planks": [HEADERS, ["a", 90]], "Items": ITEM_ROWS})

    assert _said(reading) == [("Job", STOPS)]
    assert set(reading.rows.values()) == {()}


def test_tabs_without_a_unit_are_a_mistake_of_ours(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="length unit"):
        read(tmp_path / "job.xlsx", (PLANKS,))


def test_a_file_that_cannot_be_opened_gives_no_rows(tmp_path: Path) -> None:
    reading = read(tmp_path / "none.xlsx", TABS)

    assert dict(reading.rows) == {"job": (), "planks": (), "items": ()}
    assert str(_only(reading)) == "none.xlsx: the file is not there - check the name and the folder"


def test_what_holds_for_the_whole_job_stops_it_only_where_needed(desk: _Desk) -> None:
    job: Rows = [["Length unit", "in"], ["Saw kerf", "thin"], ["Date measured", "last week"]]
    reading = desk.read({"Job": job, "Planks": [HEADERS, ["a", 90]], "Items": ITEM_ROWS})

    assert _said(reading) == [("Job!B2", STOPS), ("Job!B3", LOOK)]
    assert reading.rows["job"][0].origin.faulty == {"kerf", "measured"}


def test_columns_tabs_and_headers_may_be_moved_about(desk: _Desk) -> None:
    planks: Rows = [
        ["Planks for the porch"],
        [],
        ["NOTES", None, " length\n(in) ", "Plank *", "pieces:", "Over hang [in]"],
        ["front", None, 90, "a", 2, 1],
    ]
    reading = desk.read({"ITEMS": ITEM_ROWS, " planks ": planks, "job": [["My job"], *reversed(JOB_ROWS)]})
    (plank,) = reading.rows["planks"]

    assert reading.problems == ()
    assert (plank.mark, plank.length, plank.overhang, plank.pieces, plank.notes) == ("A", 90.0, 1.0, 2, "front")
    assert plank.origin.cell("mark") == "Planks!D4"


def test_rows_of_the_form_are_no_data(desk: _Desk) -> None:
    """Units, hints, the example and blank rows; a gap ends nothing."""
    reading = desk.planks(
        ["", "in", "in"],
        ["Your mark", "end to end", "past the joist", "how many", "anything"],
        ["Example", 12, None, 1],
        ["a", 90],
        [None, " "],
        ["b", 84],
    )

    assert [plank.mark for plank in reading.rows["planks"]] == ["A", "B"]
    assert reading.problems == ()


def test_a_unit_among_the_data_is_not_passed_over(desk: _Desk) -> None:
    reading = desk.planks(["a", 90], ["b", "in"])

    assert _said(reading) == [("Planks!B3", LEFT_OUT)]


def test_an_example_is_passed_over_where_rows_have_no_key(desk: _Desk) -> None:
    items: Rows = [["Item", "Price"], ["EXAMPLE", 1], ["2x4", 5], ["2x4", 6]]
    reading = desk.read({"Job": JOB_ROWS, "Planks": [HEADERS], "Items": items})

    assert [item.price for item in reading.rows["items"]] == [5, 6]
    assert reading.problems == ()


def test_a_row_without_its_mark_is_left_out(desk: _Desk) -> None:
    reading = desk.planks([None, 90], ["A?", 84], ["b", 60])

    assert _said(reading) == [("Planks!A2", LEFT_OUT), ("Planks!A3", LEFT_OUT)]
    assert [plank.mark for plank in reading.rows["planks"]] == ["B", None, None]
    assert [dict(plank.origin.texts) for plank in reading.rows["planks"]] == [{}, {}, {"mark": "A?"}]


def test_a_blank_in_a_needed_column_says_what_to_type(desk: _Desk) -> None:
    reading = desk.planks(["a", None, 1])

    assert _only(reading) == Problem("Planks!B2", "Length is blank", "end to end", LEFT_OUT)
    assert reading.rows["planks"][0].origin.faulty == {"length"}


def test_the_second_row_of_one_mark_is_left_out(desk: _Desk) -> None:
    reading = desk.planks(["a", 90], ["A ", 84])

    assert _only(reading).where == "Planks!A3"
    assert _only(reading).what == "Plank: A stands in Planks!A2 already; this row is left out"
    assert [(plank.mark, plank.length) for plank in reading.rows["planks"]] == [("A", 90.0), (None, 84.0)]
    assert reading.rows["planks"][1].origin.texts == {"mark": "A"}


def test_a_missing_tab_stops_unless_the_form_can_do_without(desk: _Desk) -> None:
    reading = desk.read({"Job": JOB_ROWS, "Plank list": [HEADERS]})

    assert _said(reading) == [("Planks", STOPS), ("Items", NOTE)]
    assert reading.problems[0].what == 'the workbook has no such tab; did you rename it "Plank list"?'
    assert reading.rows["planks"] == reading.rows["items"] == ()
    assert len(reading.rows["job"]) == 1


def test_two_tabs_of_one_name_stop(desk: _Desk) -> None:
    reading = desk.read({"Job": JOB_ROWS, "Planks": [HEADERS], " planks": [HEADERS], "Items": ITEM_ROWS})

    assert _said(reading) == [("Planks", STOPS)]


def test_a_missing_needed_column_stops_and_names_the_near_miss(desk: _Desk) -> None:
    planks: Rows = [["Plank", "Lenght", "Overhang", "Pieces", "Notes"], ["a", 90]]
    reading = desk.read({"Job": JOB_ROWS, "Planks": planks, "Items": ITEM_ROWS})

    assert _said(reading) == [("Planks", STOPS), ("Planks!B1", LOOK)]
    assert reading.problems[0].what == 'has no header "Length"; did you rename it "Lenght" (Planks!B1)?'
    assert reading.rows["planks"] == ()


def test_a_missing_column_that_is_not_needed_is_noted(desk: _Desk) -> None:
    planks: Rows = [["Plank", "Length", "Overhang", "Pieces"], ["a", 90]]
    reading = desk.read({"Job": JOB_ROWS, "Planks": planks, "Items": ITEM_ROWS})

    assert _only(reading).what == 'has no header "Notes"'
    assert _only(reading).severity == NOTE
    assert reading.rows["planks"][0].notes is None


def test_a_header_of_nobody_s_is_mentioned_when_something_stands_under_it(desk: _Desk) -> None:
    planks: Rows = [[*HEADERS, "Colour", "Stain", "Total length"], ["a", 90, None, None, None, "grey", None, 180]]
    reading = desk.read({"Job": [*JOB_ROWS, ["Weather", "rain"]], "Planks": planks, "Items": ITEM_ROWS})

    assert _said(reading) == [("Job!A4", LOOK), ("Planks!F1", LOOK)]
    assert 'the header "Colour"' in reading.problems[1].what


def test_a_header_that_stands_twice_stops(desk: _Desk) -> None:
    planks: Rows = [[*HEADERS, "length"], ["a", 90, None, None, None, 84]]
    reading = desk.read({"Job": JOB_ROWS, "Planks": planks, "Items": ITEM_ROWS})

    assert (_only(reading).where, _only(reading).severity) == ("Planks!F1", STOPS)
    assert _only(reading).what == 'the header "Length" stands twice, also in Planks!B1'


@pytest.mark.parametrize("planks", [[], [["only", "words"]], [[None]] * 15 + [HEADERS, ["a", 90]]])
def test_a_tab_without_headers_stops(desk: _Desk, planks: Rows) -> None:
    reading = desk.read({"Job": JOB_ROWS, "Planks": planks, "Items": ITEM_ROWS})

    assert (_only(reading).where, _only(reading).severity) == ("Planks", STOPS)
    assert _only(reading).what == "has no row of headers in its first 15 rows"


def test_hidden_rows_are_read_and_named(desk: _Desk) -> None:
    def hide(sheet: Worksheet) -> None:
        for row in range(3, 16):
            sheet.row_dimensions[row].hidden = True

    reading = desk.planks(*(["P" + str(number), 90] for number in range(2, 15)), change=hide)

    assert len(reading.rows["planks"]) == 13
    assert (_only(reading).where, _only(reading).severity) == ("Planks!A3", NOTE)
    assert _only(reading).what.endswith("(hidden rows: 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 2 more)")


def test_a_cell_swallowed_by_a_merge_is_looked_at(desk: _Desk) -> None:
    def merge(sheet: Worksheet) -> None:
        sheet.merge_cells("B2:B3")

    reading = desk.planks(["a", 90], ["b", None], change=merge)

    assert _said(reading) == [("Planks!B3", LOOK), ("Planks!B3", LEFT_OUT)]
    assert reading.problems[0].what == "cells B2:B3 are merged; only B2 holds a value, the others were read as blank"


def test_a_merge_beside_the_columns_is_nobody_s_business(desk: _Desk) -> None:
    assert desk.planks(["a", 90], change=lambda sheet: sheet.merge_cells("H2:J3")).problems == ()


def test_too_many_rows_stop_instead_of_being_lost(desk: _Desk) -> None:
    def far_below(sheet: Worksheet) -> None:
        sheet.cell(MOST_ROWS + 1, 1, "z")

    reading = desk.planks(["a", 90], change=far_below)

    assert (_only(reading).where, _only(reading).severity) == (f"Planks!A{MOST_ROWS + 1}", STOPS)
    assert str(MOST_ROWS) in _only(reading).what


def test_what_stands_far_to_the_right_is_mentioned(desk: _Desk) -> None:
    def far_right(sheet: Worksheet) -> None:
        sheet.cell(1, MOST_COLUMNS + 1, "Length")

    reading = desk.planks(["a", 90], change=far_right)

    assert (_only(reading).where, _only(reading).severity) == ("Planks!DQ1", LOOK)
    assert len(reading.rows["planks"]) == 1


def test_a_key_that_nobody_types_is_read_too(desk: _Desk, tmp_path: Path) -> None:
    """As on a tab of published limits, where only the amendment is typed."""
    columns = (replace(PLANKS.columns[0], typed=False, needed=False), *PLANKS.columns[1:])
    published = replace(PLANKS, columns=columns)
    desk.planks(["a", 90])
    (plank,) = read(tmp_path / "job.xlsx", (SETTINGS, published)).rows["planks"]

    assert plank.mark == "A"


def test_problems_come_tab_by_tab_and_row_by_row(desk: _Desk) -> None:
    job: Rows = [["Length unit", "in"], ["Saw kerf", 0], ["Date measured", "soon"]]
    planks: Rows = [HEADERS, ["a", "x", "y"], ["b", 90, None, 1.5]]
    reading = desk.read({"Items": [["Item", "Price"], ["2x4", "$5"]], "Planks": planks, "Job": job})

    assert [problem.where for problem in reading.problems] == [
        "Job!B3",
        "Planks!B2",
        "Planks!C2",
        "Planks!D3",
        "Items!B2",
    ]
