"""Saw stops: what shares a row of the cut list and what does not, worked by hand, and what an edit does to it.

Rails of a level run between plumb posts are as long as the clear; the tape has sixteenths.
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.estimate import Estimate
from railbook.job.build import build
from railbook.job.runs import Run
from railbook.tabs import Rows
from railbook.takeoff import cut_list, lots
from railbook.takeoff.cut_list import FEW
from tests.recalculation import LibreOffice, Shown, formula_cells
from tests.small_jobs import WOOD, Worked, flight, level, stair, tabs, work

PLAIN_WOOD = replace(WOOD, bracket_fit=0.0, relief_cut=None)
RAILS = "Both rails"


def beside(clear: float, **changes: Any) -> Run:
    """A level run B that meets nothing of run A."""
    return level(clear, **({"run": "B", "from_support": "P8", "to_support": "P9"} | changes))


def worked(*runs: Run, **more: Any) -> Worked:
    return work(*runs, **({"assemblies": (PLAIN_WOOD,)} | more))


def stops(of: Worked, part: str) -> list[tuple[str, int, float]]:
    """Where it goes, how many and how long, for each stop of a part."""
    return [(each.where, each.quantity, each.length) for each in of.rows["cut_list"] if each.part == part]


def test_sections_that_differ_by_less_than_the_tape_shows_share_a_stop() -> None:
    """60 and 60 1/64 are both 60 on the tape; 60 1/16 is not."""
    of = worked(level(60.0), beside(60.0 + 1 / 64), level(60.0625, run="C", from_support="P4", to_support="P5"))

    assert stops(of, RAILS) == [("A.1, B.1", 4, 60.0), ("C.1", 2, 60.0625)]
    assert [(each.piece, each.where, each.size) for each in of.rows["lots"] if each.part == RAILS] == [
        (2, "A.1", "top_edge"), (2, "A.1", "bottom_edge"), (2, "B.1", "top_edge"), (2, "B.1", "bottom_edge"),
        (5, "C.1", "top_edge"), (5, "C.1", "bottom_edge"),
    ]  # fmt: skip


def test_balusters_of_sections_of_any_length_share_a_stop() -> None:
    """Under 4 in: (60 - 4)/5.5 = 10.18, so 11; (40 - 4)/5.5 = 6.5, so 7."""
    of = worked(level(60.0), beside(40.0))

    assert [(where, number) for where, number, _ in stops(of, "Baluster")] == [("A.1, B.1", 18)]
    assert [(lot.where, lot.pieces) for lot in of.rows["lots"] if lot.part == "Baluster"] == [("A.1", 11), ("B.1", 7)]


def test_the_cut_list_names_the_row_of_the_first_of_several_lots() -> None:
    of = worked(level(60.0), beside(60.0 + 1 / 64), level(40.0, run="C", from_support="P4", to_support="P5"))
    rows = of.rows["lots"]

    assert {len(each.lots) for each in of.rows["cut_list"]} == {1, 2, 3, 4}
    for each in of.rows["cut_list"]:
        together = rows[each.lots_row - 1 : each.lots_row - 1 + len(each.lots)] if each.lots_row else ()
        assert [lot.piece for lot in together] == [each.piece] * (len(each.lots) if len(each.lots) > 1 else 0)


def test_both_sides_of_a_flight_share_stops() -> None:
    """A raked rail is a parallelogram as thick as its board: carried across the flight it is the same piece."""
    steps, other = flight(7.5, 10.0), stair(60.0, 45.0, run="T", from_support="P5", to_support="P6")
    of = worked(stair(60.0, 45.0), other, flights=(steps,))

    assert stops(of, RAILS) == [("S.1, T.1", 4, 75.0)]  # 60 at 3 in 4
    assert len(stops(of, "Block")) == len({each.length for each in of.rows["cut_list"] if each.part == "Block"})


def test_a_leaning_end_shares_with_its_like_and_not_with_its_mirror_image() -> None:
    """Both lean at From; of the third the far end leans: its left cut is square, the others' right cut is."""
    lean = {"clear_top": None, "lean_from": 2.0}
    mirrored = level(60.0, run="C", from_support="P4", to_support="P5", clear_top=None, lean_to=2.0)
    of = worked(level(60.0, **lean), beside(60.0, **lean), mirrored)

    for part in ("Top rail", "Bottom rail"):
        assert [(where, number) for where, number, _ in stops(of, part)] == [("A.1, B.1", 2), ("C.1", 1)]
    assert stops(of, RAILS) == []


@pytest.mark.parametrize("change", [{"bottom_rail_item": "2X6"}, {"bottom_rail_depth": 5.5}], ids=str)
def test_rails_of_other_stock_or_depth_stay_apart(change: dict[str, Any]) -> None:
    of = worked(level(60.0), assemblies=(replace(PLAIN_WOOD, **change),))

    assert (stops(of, "Top rail"), stops(of, "Bottom rail")) == ([("A.1", 1, 60.0)], [("A.1", 1, 60.0)])
    assert stops(of, RAILS) == []


def test_railings_of_two_assemblies_share_no_stop() -> None:
    other = replace(PLAIN_WOOD, assembly="OTHER")
    of = worked(level(60.0), beside(60.0, assembly="OTHER"), assemblies=(PLAIN_WOOD, other))

    assert stops(of, RAILS) == [("A.1", 2, 60.0), ("B.1", 2, 60.0)]


def test_caps_that_may_be_spliced_over_their_own_posts_keep_rows_of_their_own() -> None:
    """Two sections of 60 in 123.5: each cap crosses a line post; the caps of single sections cross none."""
    of = worked(level(123.5, sections=2), beside(123.5, sections=2))
    single = worked(level(60.0), beside(60.0))

    assert [(where, number) for where, number, _ in stops(of, "Cap board")] == [("A", 1), ("B", 1)]
    assert [(where, number) for where, number, _ in stops(single, "Cap board")] == [("A, B", 2)]


def edited(of: Worked, *runs: Run) -> Rows:
    """The rows of another job with the choices of the first."""
    job, _ = build(tabs(*runs, assemblies=(PLAIN_WOOD,)))
    assert job is not None
    return estimate.lay_out(job, of.choices)


def asked(rows: Rows, tab: str) -> list[tuple[str, str]]:
    """Part and place of the rows of a tab that ask for another run."""
    return [(each.part, each.where) for each in rows[tab] if each.status == RUN_AGAIN]


EDITS = {  # of run B: its clears, and what asks for another run
    "within the stop": (60.0 + 1 / 40, []),
    "beyond it": (60.0 + 1 / 8, [(RAILS, "A.1, B.1"), ("Cap board", "A, B")]),
}


@pytest.mark.parametrize("edit", EDITS)
def test_a_lot_that_leaves_its_stop_asks_for_another_run(edit: str) -> None:
    clear, stale = EDITS[edit]
    of = worked(level(60.0), beside(60.0 + 1 / 64))
    rows = edited(of, level(60.0), beside(clear))

    assert asked(rows, "cut_list") == stale
    assert {where for _, where in asked(rows, "lots")} == ({"B.1", "B"} if stale else set())
    assert [each.length for each in rows["cut_list"] if each.part == RAILS] == [60.0]


def test_the_workbook_says_the_same_of_lots_after_an_edit(libreoffice: LibreOffice, tmp_path: Path) -> None:
    ends = [(f"Q{number}", f"Q{number + 1}") for number in range(0, 2 * FEW, 2)]
    others = [level(40.0 + at, run=f"O{at}", from_support=low, to_support=high) for at, (low, high) in enumerate(ends)]
    of = worked(level(60.0), beside(60.0 + 1 / 64), *others)  # their balusters are too many lots to name each
    assert {len(each.lots) > FEW for each in of.rows["cut_list"] if len(each.lots) > 1} == {False, True}
    books, wanted = [], []
    for number, (clear, _) in enumerate(EDITS.values()):
        runs: Sequence[Run] = (level(60.0), beside(clear), *others)
        book = tmp_path / f"edit {number}.xlsx"
        estimate.write(Estimate(of.job, of.choices, {**of.rows, "runs": runs}, ()), book)
        books.append(book)
        wanted.append(edited(of, *runs))
    made = [Shown({**of.rows, "runs": ()}, formula_cells(book)) for book in libreoffice.recalculated(books)]

    for shown, rows in zip(made, wanted, strict=True):
        for tab in (cut_list.TAB, lots.TAB):
            for at, row in enumerate(rows[tab.name]):
                found = {each.name: shown.value(tab, each.name, at) or "" for each in tab.columns if each.excel}
                assert found == pytest.approx({name: tab.column(name).value(row) or "" for name in found}), row.where
