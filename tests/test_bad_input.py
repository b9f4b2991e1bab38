"""Workbooks with mistakes, end to end: each mistake is one clear sentence, never a traceback, and nothing is lost.

Every workbook here is the filled-in porch with one thing spoilt; its four runs are A, B, S1 and S2.
"""

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

import openpyxl
import pytest
from openpyxl import Workbook
from openpyxl.cell import Cell

from railbook import blank_form
from railbook.basics.problem import LEFT_OUT, LOOK, NOTE, STOPS, Problem
from railbook.estimate import Estimate, compute, estimate

pytestmark = pytest.mark.usefixtures("first_plans")

HEADERS, FIRST = 5, 8  # rows of a tab across
Spoil = Callable[[Workbook], None]
RUNS = ("A", "B", "S1", "S2")


class Desk(NamedTuple):
    """A folder with the porch in it, to be spoilt and computed."""

    place: Path
    porch: bytes

    def spoil(self, spoil: Spoil) -> Path:
        """The spoilt workbook."""
        self.place.write_bytes(self.porch)
        book = openpyxl.load_workbook(self.place)
        spoil(book)
        book.save(self.place)
        return self.place

    def read(self, spoil: Spoil) -> Estimate:
        """The spoilt workbook, computed but not written."""
        return clear(estimate(self.spoil(spoil)))

    def compute(self, spoil: Spoil) -> Estimate:
        """The spoilt workbook, computed and written."""
        return clear(compute(self.spoil(spoil)))


@pytest.fixture(scope="module")
def porch(porch_form: Path) -> bytes:
    """The filled-in form, before anybody spoils it."""
    return porch_form.read_bytes()


@pytest.fixture
def desk(tmp_path: Path, porch: bytes) -> Desk:
    return Desk(tmp_path / "job.xlsx", porch)


def clear(computed: Estimate) -> Estimate:
    """The same, if each of its problems is a sentence for people: one line, a place, a fault and a remedy."""
    for problem in computed.problems:
        assert all((problem.where, problem.what, problem.remedy)), problem
        assert not {"\n", "Traceback", "None", "Error", "0x"} & set(str(problem).replace("\n", " \n ").split()), problem
    return computed


def cell(book: Workbook, title: str, header: str, row: str = "") -> Cell:
    """The cell under a header in the row of that mark; the header itself when no mark is given."""
    sheet = book[title]
    (column,) = [each.column_letter for each in sheet[HEADERS] if each.value == header]
    marks = {str(each.value): each.row for each in sheet["A"]}
    found = sheet[f"{column}{marks[row] if row else HEADERS}"]
    assert isinstance(found, Cell)
    return found


def setting(book: Workbook, header: str) -> Cell:
    """The cell beside a label of tab Job."""
    found = next(row[1] for row in book["Job"].iter_rows() if row[0].value == header)
    assert isinstance(found, Cell)
    return found


def typed(header: str, value: Any, row: str = "A", title: str = "Runs") -> Spoil:
    """Type a value into one cell."""

    def spoil(book: Workbook) -> None:
        cell(book, title, header, row).value = value

    return spoil


def without(title: str) -> Spoil:
    return lambda book: book.remove(book[title])


def computed_runs(computed: Estimate) -> tuple[str, ...]:
    return tuple(line.run for line in computed.rows["lines"])


def only(computed: Estimate) -> Problem:
    """The one problem of a job."""
    (problem,) = computed.problems
    return problem


# whole tabs and columns


def test_a_form_that_nobody_filled_in_stops(tmp_path: Path) -> None:
    blank_form.draw_form(tmp_path / "job.xlsx", "in")
    computed = clear(compute(tmp_path / "job.xlsx"))

    assert computed.result is None
    assert (only(computed).severity, only(computed).what) == (STOPS, "Job name is blank")
    assert list(tmp_path.iterdir()) == [tmp_path / "job.xlsx"]


@pytest.mark.parametrize("title", ["Job", "Runs", "Assemblies"])
def test_a_missing_tab_that_is_needed_stops(desk: Desk, title: str) -> None:
    computed = desk.compute(without(title))

    assert computed.result is None
    assert (only(computed).severity, only(computed).where) == (STOPS, title)
    assert "has no such tab" in only(computed).what
    assert "copy it from a new form" in only(computed).remedy


def test_a_missing_tab_is_not_taken_for_another_tab_of_the_form(desk: Desk) -> None:
    assert "Rules" not in only(desk.read(without("Runs"))).what


def test_a_renamed_tab_is_offered_back(desk: Desk) -> None:
    def spoil(book: Workbook) -> None:
        book["Assemblies"].title = "My assemblies"

    assert 'did you rename it "My assemblies"?' in only(desk.read(spoil)).what


@pytest.mark.parametrize(
    ("title", "runs"), [("Flights", ("A", "B")), ("Supports", RUNS), ("Prices", RUNS), ("Rules", RUNS)]
)
def test_a_job_without_an_optional_tab_is_computed(desk: Desk, title: str, runs: tuple[str, ...]) -> None:
    computed = desk.read(without(title))

    assert (computed.problems[0].severity, computed.problems[0].where) == (NOTE, title)
    assert computed_runs(computed) == runs


def test_a_renamed_column_that_is_needed_stops_and_is_offered_back(desk: Desk) -> None:
    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Assembly").value = "Assembly used"

    computed = desk.compute(spoil)
    (stops,) = [each for each in computed.problems if each.severity == STOPS]
    assert computed.result is None
    assert stops.what == 'has no header "Assembly"; did you rename it "Assembly used" (Runs!H5)?'


def test_a_renamed_column_that_is_not_needed_is_looked_at(desk: Desk) -> None:
    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Rise").value = "Total Rise"

    computed = desk.read(spoil)
    assert computed_runs(computed) == RUNS
    assert computed.needs_attention
    assert {each.severity for each in computed.problems} == {LOOK}
    assert any('did you rename it "Total Rise"' in each.what for each in computed.problems)
    assert any("was not read" in each.what and each.where == "Runs!L5" for each in computed.problems)


def test_tabs_and_columns_may_stand_in_any_order(desk: Desk, porch: bytes) -> None:
    def spoil(book: Workbook) -> None:
        for title in ("Runs", "Flights", "Assemblies"):
            rows = list(book[title].iter_rows(min_row=HEADERS))
            values = [[each.value for each in reversed(row)] for row in rows]
            for row, turned in zip(rows, values, strict=True):
                for each, value in zip(row, turned, strict=True):
                    each.value = value
        book.move_sheet("Job", offset=5)
        book.move_sheet("Rules", offset=-6)

    turned = desk.read(spoil)
    desk.place.write_bytes(porch)
    usual = estimate(desk.place)
    assert turned.problems == ()
    for tab in ("cut_list", "posts", "baluster_layout", "code_checks"):
        assert turned.frame(tab).equals(usual.frame(tab))


# single runs: left out with a sentence, the others computed

LEFT_OUT_RUNS: Mapping[str, tuple[Spoil, str, str, str]] = {  # spoilt how, header of its cell, fault, remedy
    "unknown assembly": (typed("Assembly", "CEDAR"), "Assembly", "CEDAR is not on tab Assemblies", "WOOD, COMPOSITE"),
    "length of zero": (typed("Clear at bottom", 0), "Clear at bottom", "0 is no length", "measure again"),
    "negative length": (typed("Clear at bottom", -187.375), "Clear at bottom", "is negative", "measure again"),
    "negative text": (typed("Clear at top", '-15\' 7"'), "Clear at top", "is negative", "measure again"),
    "no length": (typed("Clear at bottom", "15 or so"), "Clear at bottom", '"15 or so" is not a length', "90 3/8"),
    "spreadsheet error": (typed("Clear at bottom", "#REF!"), "Clear at bottom", "error of the spreadsheet", "mend"),
    "never calculated": (typed("Clear at bottom", "=187+3/8"), "Clear at bottom", "no calculated value", "save it"),
    "one support": (typed("To", "P1"), "To", "goes from P1 to itself", "two marks"),
    "unknown kind": (typed("Kind", "Slope"), "Kind", '"Slope" is not one of the choices', "Level, Stair"),
    "wildcard": (typed("To", "P*"), "To", "* ? ~", "another mark"),
    "blank": (typed("Measured to", None), "Measured to", "has no Measured to", "finished faces"),
    "no sections": (typed("Sections", 0), "Sections", "0 sections", "1 or more"),
}  # fmt: skip


@pytest.mark.parametrize("name", LEFT_OUT_RUNS)
def test_a_run_with_a_mistake_is_left_out_and_the_others_are_computed(desk: Desk, name: str) -> None:
    spoil, header, fault, remedy = LEFT_OUT_RUNS[name]
    computed = desk.read(spoil)
    where = f"Runs!{cell(openpyxl.load_workbook(desk.place), 'Runs', header, 'A').coordinate}"

    assert computed_runs(computed) == ("B", "S1", "S2")
    assert (only(computed).severity, only(computed).where) == (LEFT_OUT, where)
    assert fault in only(computed).what
    assert remedy in only(computed).remedy
    summary = computed.rows["summary"][0]
    assert (summary.runs_laid_out, summary.runs_left_out) == (3, 1)


def test_a_rise_without_a_clear_or_a_slope_is_left_out(desk: Desk) -> None:
    """Without riser and tread of its flight a rise alone says nothing about the slope."""

    def spoil(book: Workbook) -> None:
        cell(book, "Runs", "Clear at bottom", "S1").value = None
        for header in ("Tread", "Total rise"):
            cell(book, "Flights", header, "F1").value = None

    computed = desk.read(spoil)
    assert computed_runs(computed) == ("A", "B", "S2")
    assert [each.severity for each in computed.problems if each.where == "Runs!L10"] == [LEFT_OUT]
    assert any("a rise without a clear" in each.what for each in computed.problems)


def test_a_fraction_that_became_a_date_is_left_out_and_offered_back(desk: Desk) -> None:
    def spoil(book: Workbook) -> None:
        where = cell(book, "Runs", "Upper setback", "S1")
        where.value, where.number_format = dt.datetime(2026, 3, 8), "d-mmm"  # a typed 3/8

    problem = only(desk.read(spoil))
    assert (problem.severity, problem.where) == (LEFT_OUT, "Runs!P10")
    assert "is a date, most probably 3/8" in problem.what
    assert "0 3/8" in problem.remedy


@pytest.mark.parametrize("mark", ["A", "a", " A "])
def test_the_second_run_of_a_mark_is_left_out(desk: Desk, mark: str) -> None:
    computed = desk.read(typed("Run", mark, "B"))

    assert computed_runs(computed) == ("A", "S1", "S2")
    assert (only(computed).severity, only(computed).where) == (LEFT_OUT, "Runs!A9")
    assert "stands in Runs!A8 already" in only(computed).what


def test_a_negative_setback_is_a_measurement_like_any_other(desk: Desk) -> None:
    """The nosing line then runs higher at that post: by 4 1/4 in of setback times 47 1/16 in 67 of slope."""
    usual = desk.read(typed("Lower setback", "2 1/4", "S1"))
    moved = desk.read(typed("Lower setback", "-2", "S1"))

    assert moved.problems == ()
    before, after = ({post.post: post.worked.downhill for post in each.rows["posts"]}["P4"] for each in (usual, moved))
    assert after - before == pytest.approx(4.25 * 47.0625 / 67)


def test_an_unknown_unit_stops(desk: Desk) -> None:
    def spoil(book: Workbook) -> None:
        setting(book, "Length unit").value = "ft"

    computed = desk.compute(spoil)
    assert computed.result is None
    assert only(computed) == Problem(
        "Job!B9", 'Length unit: "ft" is not a length unit of a job', "type in or mm", STOPS
    )


# figures that no railing has: refused, never a traceback, never laid out


def test_more_sections_than_fit_are_refused(desk: Desk) -> None:
    """187 3/8 in less 55 posts of 3 1/2 in leave less than nothing for 56 sections."""
    computed = desk.read(typed("Sections", 56))
    clears = [each.of.clear for each in computed.rows["sections"]]

    assert min(clears) > 0
    assert only(computed).severity == LEFT_OUT


def test_a_flight_without_risers_is_refused(desk: Desk) -> None:
    computed = desk.read(typed("Risers", 0, "F1", "Flights"))

    assert computed.problems
    assert computed.needs_attention


def test_blocks_closer_than_they_are_wide_are_refused(desk: Desk) -> None:
    """Blocks 1 1/2 in wide cannot stand every 1/16 in; the shortest rail here would get a thousand."""
    computed = desk.read(typed("Block spacing", "1/16", "WOOD", "Assemblies"))
    blocks = len(computed.rows.get("blocks", ()))

    assert blocks < 1000
    assert computed.problems


@pytest.mark.parametrize("step", ["3", "1 1/2"])
def test_a_tape_step_that_no_inch_tape_has_is_refused(desk: Desk, step: str) -> None:
    def spoil(book: Workbook) -> None:
        setting(book, "Tape step").value = step

    assert [each.severity for each in desk.read(spoil).problems] == [STOPS]


def test_something_far_below_the_table_stops(desk: Desk) -> None:
    def spoil(book: Workbook) -> None:
        book["Runs"]["A20000"] = "Z"

    computed = desk.compute(spoil)
    assert computed.result is None
    assert only(computed).where == "Runs!A20000"
    assert "no more than 12000 rows" in only(computed).what


# what stands in the result


def sheet_of(computed: Estimate, title: str) -> list[list[Any]]:
    """Every value of one tab of the result that was written."""
    assert computed.result is not None
    book = openpyxl.load_workbook(computed.result, data_only=True, read_only=True)
    rows = [list(row) for row in book[title].iter_rows(values_only=True)]
    book.close()
    return rows


def test_a_run_left_out_is_listed_and_copied_with_what_was_typed(desk: Desk) -> None:
    computed = desk.compute(typed("Clear at bottom", "about 15 feet"))
    (row,) = [row for row in sheet_of(computed, "Runs") if row[0] == "A"]
    (warning,) = [row for row in sheet_of(computed, "Warnings") if row[1] == "Runs!K8"]

    assert (row[1], row[9], row[10]) == ("Front, corner to stairs", 187.25, "about 15 feet")
    assert warning[0] == LEFT_OUT
    assert '"about 15 feet" is not a length' in warning[2]
    assert computed.result is not None
    again = clear(compute(computed.result))
    assert [each.what for each in again.problems] == [each.what for each in computed.problems]


def test_rows_without_a_mark_are_copied_with_what_was_typed(desk: Desk) -> None:
    computed = desk.compute(typed("Run", None, "B"))
    (row,) = [row for row in sheet_of(computed, "Runs") if row[1] == "Side, house to corner"]

    assert computed_runs(computed) == ("A", "S1", "S2")
    assert (only(computed).severity, only(computed).what) == (LEFT_OUT, "Run is blank")
    assert (row[0], row[4:6], row[9:11]) == (None, ["W1", "P1"], [65.625, 65.625])


def test_the_second_run_of_a_mark_is_copied_with_its_mark(desk: Desk) -> None:
    rows = sheet_of(desk.compute(typed("Run", "A", "B")), "Runs")

    assert [row[1] for row in rows if row[0] == "A"] == ["Front, corner to stairs", "Side, house to corner"]


def test_a_formula_that_was_never_calculated_is_not_copied_as_a_word(desk: Desk) -> None:
    """Otherwise computing the result again would find a run of that name."""
    computed = desk.compute(typed("Run", "=B9", "B"))
    assert computed.result is not None
    assert computed_runs(computed) == ("A", "S1", "S2")

    assert computed_runs(compute(computed.result)) == ("A", "S1", "S2")


HOSTILE: Mapping[Any, str] = {  # what stands in the porch: what somebody called it instead
    "Front, corner to stairs": '=HYPERLINK("http://example.com","look")',
    "Side, house to corner": "http://example.com/",
    "Stairs, left going up": "{=1+1}",
    "Raised porch, 12 Quarry Road": "=cmd|' /C calc'!A0",
    "P1": "=P2",
    "P2": "@SUM(A1)",
    "P3": "-P3",
    "S1": "=1+1",
    "S2": "+S2",
}


def test_text_that_looks_like_a_formula_or_a_link_stays_text(desk: Desk) -> None:
    """And it gets into no formula: the formulas are those of the same porch with plain names."""

    def spoil(book: Workbook) -> None:
        for sheet in (book["Job"], book["Runs"], book["Supports"]):
            for place in (each for row in sheet.iter_rows() for each in row if each.value in HOSTILE):
                place.value = HOSTILE[place.value]
                place.data_type = "s"

    def cells_of(computed: Estimate) -> list[Cell]:
        assert computed.result is not None
        book = openpyxl.load_workbook(computed.result)
        return [each for sheet in book for row in sheet.iter_rows() for each in row if isinstance(each, Cell)]

    def formulas_in(cells: list[Cell]) -> list[Any]:
        return [each.value for each in cells if each.data_type == "f"]

    usual, cells = cells_of(desk.compute(lambda _: None)), cells_of(desk.compute(spoil))
    for text in HOSTILE.values():
        assert {each.data_type for each in cells if each.value == text} == {"s"}
    assert formulas_in(cells) == formulas_in(usual)
    assert not any(each.hyperlink for each in cells)


def test_marks_that_look_like_numbers_or_conditions_are_marks(desk: Desk) -> None:
    """The same porch under other marks has the same pieces; 1, 01 and 1E0 are three runs."""
    renamed: Mapping[str, Any] = {"A": "01", "B": "1E0", "S1": ">5", "S2": 1}

    def spoil(book: Workbook) -> None:
        for run, mark in renamed.items():
            cell(book, "Runs", "Run", run).value = mark

    usual, odd = desk.read(typed("Run", "A", "A")), desk.compute(spoil)
    assert odd.problems == ()
    assert computed_runs(odd) == ("01", "1E0", ">5", "1")
    cut = [[(piece.part, piece.quantity, piece.length) for piece in each.rows["cut_list"]] for each in (usual, odd)]
    assert cut[0] == cut[1]
    assert [row[0] for row in sheet_of(odd, "Runs")[FIRST - 1 : FIRST + 3]] == ["01", "1E0", ">5", "1"]


@pytest.mark.parametrize("kind", ["Winder", "winders", "Curved", "Cable", "Glass", "Gate", "Spiral"])
def test_what_is_not_laid_out_is_refused_by_name(desk: Desk, kind: str) -> None:
    """The run is left out with a reason of its own, and the others are computed."""
    computed = desk.read(typed("Kind", kind, row="B"))
    problem = only(computed)

    assert problem.severity == LEFT_OUT
    assert problem.where.startswith("Runs!C")
    assert problem.what.startswith("run B: this version does not lay it out: ")
    assert computed_runs(computed) == ("A", "S1", "S2")
    assert computed.rows["runs"][1].origin.texts["kind"] == kind


def test_a_kind_that_is_not_laid_out_stays_in_the_result(desk: Desk) -> None:
    rows = sheet_of(desk.compute(typed("Kind", "winders", row="B")), "Runs")

    assert [row[2] for row in rows if row[0] == "B"] == ["winders"]


def test_a_kind_that_nobody_knows_is_asked_for(desk: Desk) -> None:
    assert "type Level, Stair" in only(desk.read(typed("Kind", "Levl"))).remedy
