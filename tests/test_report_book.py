"""A written workbook of made-up tabs gives its own values when another program evaluates it afresh."""

import os
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import formulas
import numpy as np
import openpyxl
import pytest

from railbook.basics.double_entry import Column, Tab, asked, look_up
from railbook.basics.drawing import Drawing, Page, Stroke
from railbook.basics.kinds import COUNT, LENGTH, MARK, MEASURED, VERDICT
from railbook.report.book import Sheet, first_row, write_book

os.environ["TQDM_DISABLE"] = "1"  # its progress bar would stand between the test results


@dataclass(frozen=True)
class Shop:
    """Settings of a workshop for picture frames."""

    moulding: float = 2.0
    spare: float = 0.5

    @property
    def allowance(self) -> float:
        return 2 * self.moulding + self.spare


@dataclass(frozen=True)
class Limit:
    limit: str
    published: float
    amendment: float | None = None

    @property
    def in_force(self) -> float:
        return self.published if self.amendment is None else self.amendment


@dataclass(frozen=True)
class Frame:
    frame: str
    across: float | None
    up: float | None


@dataclass(frozen=True)
class Cut:
    """A frame's cut; `quantity` says which of the frame's sides is looked at."""

    frame: str
    quantity: str
    taped: Frame
    row: int
    shop: Shop
    longest: float
    chosen: float | None

    @property
    def frame_row(self) -> int:
        return self.row

    @property
    def side(self) -> float | None:
        return self.taped.across if self.quantity == "frames_across" else self.taped.up

    @property
    def length(self) -> float | None:
        return None if self.side is None else self.side + self.shop.allowance

    @property
    def marks(self) -> tuple[float | None, ...]:
        """Every 10 along the cut, blank past its end."""
        return tuple(None if self.length is None or 10 * nth > self.length else 10.0 * nth for nth in range(1, 5))

    @property
    def steps(self) -> tuple[float | None, ...]:
        return tuple(None if mark is None else mark / 2 for mark in self.marks)

    @property
    def last_mark(self) -> float:
        return max((mark for mark in self.marks if mark is not None), default=0.0)

    @property
    def verdict(self) -> str:
        if self.length is None:
            return "not measured"
        return "pass" if self.length <= self.longest else "fail"

    @property
    def status(self) -> str:
        return "" if self.length == self.chosen else "run again"


SHOP = Tab(
    "shop",
    "Shop",
    Shop,
    (
        asked("moulding", "Moulding", MEASURED, "Width of the moulding"),
        asked("spare", "Spare", LENGTH, "Added to every cut"),
        Column("allowance", "Allowance", LENGTH, "=2*{moulding}+{spare}"),
    ),
    down=True,
)
LIMITS = Tab(
    "limits",
    "Limits",
    Limit,
    (
        Column("limit", "Limit", MARK),
        Column("published", "Published", MEASURED),
        asked("amendment", "Amendment", MEASURED, "Only where it differs"),
        Column("in_force", "In force", MEASURED, '=IF({amendment}="",{published},{amendment})'),
    ),
    row_word="limit",
    row_cell="in_force",
    key="limit",
)
FRAMES = Tab(
    "frames",
    "Frames",
    Frame,
    (
        asked("frame", "Frame", MARK, "Its mark"),
        asked("across", "Across", MEASURED, "Level size"),
        asked("up", "Up", MEASURED, "Plumb size"),
    ),
    key="frame",
)
CUTS = Tab(
    "cuts",
    "Cut list",
    Cut,
    (
        Column("frame", "Frame", MARK),
        Column("quantity", "Quantity", MARK),
        Column("frame_row", "Row", COUNT, "=MATCH({frame},{frames_frame},0)"),
        Column("side", "Side", LENGTH, look_up("[quantity]", "frame_row").join(("=", ""))),
        Column("length", "Length", LENGTH, '=IF({side}="","",{side}+{allowance})'),
        Column(
            "marks",
            "Marks along the cut",
            LENGTH,
            '=IF({length}="","",IF(10*{nth}>{length},"",10*{nth}))',
            repeats=True,
        ),
        Column("steps", "Half way to the mark", LENGTH, '=IF({marks}="","",{marks}/2)', repeats=True),
        Column("last_mark", "Last mark", LENGTH, "=MAX({marks})"),
        Column("verdict", "Verdict", VERDICT,
               '=IF({length}="","not measured",IF({length}<={longest_cut},"pass","fail"))'),
        Column("chosen", "Chosen for", LENGTH),
        Column("status", "Status", VERDICT, '=IF({length}={chosen},"","run again")'),
    ),
    crew=True,
)  # fmt: skip


@dataclass(frozen=True)
class Total:
    stale: int
    total: float
    half_way: float
    longest_of_a: float


TOTALS = Tab(
    "totals",
    "Summary",
    Total,
    (
        Column("stale", "Rows to run again", COUNT, "={cuts_status_count}"),
        Column("total", "Total length", LENGTH, "=SUM({cuts_length})"),
        Column("half_way", "Third step of the second cut", LENGTH,
               "=INDEX({cuts_steps},2,MATCH(3,{cuts_marks_number},0))"),
        Column("longest_of_a", "Longest cut of A", LENGTH, '=MAXIFS({cuts_length},{cuts_frame_row},1)'),
    ),
    down=True,
)  # fmt: skip

TAPED = (Frame("A", 24.0, 36.375), Frame("B", 12.0, None))


def cuts(frames: tuple[Frame, ...] = TAPED, shop: Shop = Shop(), longest: float = 36.0) -> list[Cut]:
    """Both sides of both frames, chosen for what is taped in TAPED at an allowance of 4.5."""
    chosen = {("A", "frames_across"): 28.5, ("A", "frames_up"): 40.875, ("B", "frames_across"): 16.5}
    return [
        Cut(frame.frame, side, frame, row, shop, longest, chosen.get((frame.frame, side)))
        for row, frame in enumerate(frames, start=1)
        for side in ("frames_across", "frames_up")
    ]


def sheets(rows: list[Cut]) -> list[Sheet]:
    """The whole workbook."""
    stale = sum(row.status == "run again" for row in rows)
    lengths = [row.length for row in rows if row.length is not None]
    total = Total(stale, sum(lengths), 15.0, max(lengths[:2]))
    return [
        Sheet(SHOP, [Shop()]),
        Sheet(LIMITS, [Limit("shortest_cut", 6.0), Limit("longest_cut", 48.0, 36.0)]),
        Sheet(FRAMES, TAPED, blank_rows=3),
        Sheet(CUTS, rows),
        Sheet(TOTALS, [total]),
    ]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("frames") / "frames.xlsx"
    write_book(path, sheets(cuts()), unit="in", footer="Frames", form=False)
    return path


@cache
def model(path: Path) -> Any:
    """The workbook as `formulas` reads it; slow, so once for each file."""
    return formulas.ExcelModel().loads(str(path)).finish()


def figure(solution: Any, cell: str) -> Any:
    """One evaluated value; `cell` is such as CUT LIST'!E7."""
    value = np.asarray(solution[f"'[frames.xlsx]{cell}"].value, object).ravel()[0]
    return value.item() if isinstance(value, np.generic) else value


def test_workbook_recalculates_to_its_own_values(book: Path) -> None:
    assert model(book).compare(str(book), solution=model(book).calculate()) == "No differences."


def test_formulas_that_look_up_settings_limits_and_other_tabs_give_hand_worked_values(book: Path) -> None:
    """By hand: 24 + 2 x 2 + 0.5 = 28.5 passes 36 in force; 36.375 + 4.5 = 40.875 does not."""
    solution = model(book).calculate()

    assert [figure(solution, f"CUT LIST'!E{row}") for row in range(7, 11)] == [28.5, 40.875, 16.5, ""]
    assert [figure(solution, f"CUT LIST'!O{row}") for row in range(7, 11)] == [
        "pass",
        "fail",
        "pass",
        "not measured",
    ]


def test_repeating_columns_use_their_header_number_and_each_other(book: Path) -> None:
    """Marks 10, 20 on a cut of 28.5, then blanks; each step is half its own mark."""
    solution = model(book).calculate()

    assert [figure(solution, f"CUT LIST'!{column}7") for column in "FGHI"] == [10, 20, "", ""]
    assert [figure(solution, f"CUT LIST'!{column}7") for column in "JKLM"] == [5, 10, "", ""]
    assert figure(solution, "CUT LIST'!N7") == 20


def test_a_changed_measurement_moves_values_and_status_as_it_moves_the_engine(book: Path) -> None:
    changed = cuts(frames=(replace(TAPED[0], across=33.0), TAPED[1]))
    solution = model(book).calculate(inputs={"'[frames.xlsx]FRAMES'!B8": 33.0})

    assert figure(solution, "CUT LIST'!E7") == changed[0].length == 37.5
    assert figure(solution, "CUT LIST'!O7") == changed[0].verdict == "fail"
    assert [figure(solution, f"CUT LIST'!Q{row}") for row in range(7, 11)] == [row.status for row in changed]
    assert figure(solution, "CUT LIST'!A3") == 1
    assert figure(solution, "CUT LIST'!B3") == "row rests on older figures: run railbook again"


def test_a_changed_setting_moves_every_row(book: Path) -> None:
    changed = cuts(shop=Shop(moulding=3.0))
    solution = model(book).calculate(inputs={"'[frames.xlsx]SHOP'!B5": 3.0})

    assert [figure(solution, f"CUT LIST'!E{row}") for row in (7, 8, 9)] == [row.length for row in changed[:3]]
    assert figure(solution, "SUMMARY'!B5") == 3


def test_an_amended_limit_is_in_force_under_its_own_name(book: Path) -> None:
    """The amendment of 36 stands in for the published 48; at 41 both cuts of A pass."""
    solution = model(book).calculate(inputs={"'[frames.xlsx]LIMITS'!C9": 41.0})

    assert [figure(solution, f"CUT LIST'!O{row}") for row in (7, 8)] == ["pass", "pass"]


def test_stale_rows_written_by_the_engine_are_counted_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "frames.xlsx"
    write_book(path, sheets(cuts(shop=Shop(spare=1.0))), unit="in", footer="", form=False)
    values = openpyxl.load_workbook(path, data_only=True)

    assert values["Cut list"]["A3"].value == 3
    assert values["Cut list"]["B3"].value == "rows rest on older figures: run railbook again"


def test_every_column_is_named_past_its_last_row(book: Path) -> None:
    names = openpyxl.load_workbook(book).defined_names

    assert names["frames_across"].attr_text == "Frames!$B$8:$B$59"
    assert names["cuts_marks"].attr_text == "'Cut list'!$F$7:$I$60"
    assert names["cuts_marks_number"].attr_text == "'Cut list'!$F$5:$I$5"
    assert names["cuts_status_count"].attr_text == "'Cut list'!$A$3"
    assert names["longest_cut"].attr_text == "Limits!$D$9"
    assert names["moulding"].attr_text == "Shop!$B$5"


def test_an_empty_tab_still_names_blank_rows(tmp_path: Path) -> None:
    path = tmp_path / "frames.xlsx"
    write_book(path, [Sheet(FRAMES, [])], unit="in", footer="", form=False)

    assert openpyxl.load_workbook(path).defined_names["frames_up"].attr_text == "Frames!$C$8:$C$57"


def test_first_row_is_where_the_data_stand(book: Path) -> None:
    written = openpyxl.load_workbook(book)

    assert written["Frames"].cell(first_row(FRAMES), 1).value == "A"
    assert written["Cut list"].cell(first_row(CUTS), 1).value == "A"
    assert written["Shop"].cell(first_row(SHOP), 2).value == 2.0


def test_equal_jobs_give_equal_files(tmp_path: Path) -> None:
    first, second = tmp_path / "one.xlsx", tmp_path / "two.xlsx"
    for path in (first, second):
        write_book(path, sheets(cuts()), unit="in", footer="Frames", form=False)

    assert first.read_bytes() == second.read_bytes()


def test_a_page_to_read_follows_the_tabs(tmp_path: Path) -> None:
    path = tmp_path / "frames.xlsx"
    page = Page("How to tape", ("Hold the tape level.",), (Drawing("Frame", (Stroke(((0, 0), (4, 3))),)),))
    write_book(path, [Sheet(FRAMES, TAPED)], unit="in", footer="A & B", form=True, pages=[page])
    written = openpyxl.load_workbook(path)

    assert written.sheetnames[:2] == ["Frames", "How to tape"]
    assert written["How to tape"]["A2"].value == "Hold the tape level."
    assert "A && B" in str(written["How to tape"].HeaderFooter.oddFooter)


def test_rows_of_a_repeating_column_must_be_of_one_length(tmp_path: Path) -> None:
    @dataclass(frozen=True)
    class Row:
        marks: tuple[float, ...]

    tab = Tab("rows", "Rows", Row, (Column("marks", "Marks", LENGTH, repeats=True),))

    with pytest.raises(ValueError, match="differ in length"):
        write_book(tmp_path / "x.xlsx", [Sheet(tab, [Row((1,)), Row(())])], unit="in", footer="", form=False)
