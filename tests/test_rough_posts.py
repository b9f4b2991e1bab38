"""Posts that are sawn rough and trimmed on site: both lengths worked by hand, what follows which, and what it costs.

Wood under a cap of 1 in: a level post ends up 36 1/2 - 1 = 35 1/2 above the surface and 9 1/4 below it, 44 3/4 in all.
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.kinds import MILLIMETRE
from railbook.basics.problem import LOOK, NOTE
from railbook.estimate import Estimate
from railbook.geometry import posts
from railbook.job import starters
from railbook.job.assemblies import Assembly
from railbook.job.build import build
from railbook.job.prices import BOARD, YARD_BOARD, Price
from railbook.job.settings import Settings
from railbook.job.supports import EXISTING, POST, Support
from railbook.tabs import Rows
from railbook.takeoff import cut_list
from tests.porch import PLACE
from tests.recalculation import LibreOffice, Shown, formula_cells
from tests.shown import shown
from tests.small_jobs import COMPOSITE, SIXTEENTH, WOOD, Worked, flight, level, ramp, stair, tabs, work

FINAL = 44.75
SAWN = "top rough: trim on site"


def railing(allowance: float | None, of: Assembly = WOOD) -> Assembly:
    return replace(of, rough_allowance=allowance)


def sawn(of: Worked, part: str = "Post") -> list[tuple[str, int, float, float, str]]:
    """Where it goes, how many, length, tip to tip and how the saw is set, for each stop of a part."""
    rows = (each for each in of.rows["cut_list"] if each.part == part)
    return [(each.where, each.quantity, each.length, each.tip_to_tip, each.saw) for each in rows]


# lengths


@pytest.mark.parametrize(
    ("typed", "length", "saw"),
    [(None, 45.75, SAWN), (0.0, FINAL, ""), (SIXTEENTH, 44.8125, SAWN), (2.5, 47.25, SAWN)],
    ids=["blank: 1 in", "to length", "least", "more"],
)
def test_level_posts_are_sawn_longer_than_the_schedule_has_them(typed: float | None, length: float, saw: str) -> None:
    of = work(level(60.0), assemblies=(railing(typed),))
    post = of.row("posts", post="P1")

    assert sawn(of) == [("P1, P2", 2, length, length, saw)]
    assert (post.rough_length, post.post_length) == (length, FINAL)
    assert (post.post_downhill, post.post_uphill, post.below) == (35.5, 35.5, 9.25)


@pytest.mark.parametrize(("typed", "length"), [(None, 1165.0), (0.0, 1140.0), (10.0, 1150.0)])
def test_a_blank_is_25_mm_in_a_job_in_millimetres(typed: float | None, length: float) -> None:
    """930 less a cap of 25, and 235 below the surface: 1140."""
    wood = railing(typed, starters.assemblies(MILLIMETRE)[0])
    settings = Settings(job_name="TEST", unit=MILLIMETRE, tape_step=1.0)
    of = work(level(1500.0), assemblies=(wood,), settings=settings)

    assert [row[2] for row in sawn(of)] == [length]
    assert of.row("posts", post="P1").post_length == 1140.0


def test_the_top_of_a_rough_post_is_sawn_square_and_the_schedule_has_its_slope() -> None:
    """At 3 in 4 the upper post gains 3 1/2 x 3/4 = 2 5/8 across; its rough length stands over its higher face."""
    of = work(stair(60.0, 45.0, upper_setback=3.0), assemblies=(railing(1.0),), flights=(flight(7.5, 10.0),))
    post = of.row("posts", post="P2")
    row = of.row("cut_list", part="Post", where="P2")

    assert post.post_uphill - post.post_downhill == 2.625
    assert post.post_length == post.post_uphill + 9.25
    assert (row.length, row.tip_to_tip) == (post.post_length + 1.0, post.post_length + 1.0)
    assert (row.lower_cut, row.upper_cut, row.ends) == (0.0, 0.0, "square")
    assert (post.top, post.top_angle) == ("sloped", pytest.approx(36.87, abs=0.005))


def test_the_foot_of_a_post_on_a_ramp_is_sawn_to_the_slope() -> None:
    """1 in 12: underside 36 1/2 - 1.0035 = 35.4965, on the tape 35 1/2; the foot is 3 1/2 / 12 longer downhill.

    Rough: 44 3/4 + 0.2917 + 1 = 46.0417, its long edge. To length it is a parallelogram of 44 3/4, 45 1/16 tip to tip.
    """
    rough, exact = (work(ramp(60.0, 5.0), assemblies=(railing(typed),)) for typed in (1.0, 0.0))
    (row,) = [each for each in rough.rows["cut_list"] if each.part == "Post" and "P1" in each.where]

    assert rough.row("posts", post="P1").post_length == FINAL
    assert (row.length, row.tip_to_tip, row.saw) == (46.0625, 46.0625, f"foot: turn; {SAWN}")
    assert (row.lower_cut, row.upper_cut, row.ends) == (pytest.approx(4.764, abs=0.0005), 0.0, "one square")
    assert [each for each in sawn(exact) if "P1" in each[0]] == [("P1", 1, FINAL, 45.0625, "turn")]


def test_sleeves_are_sawn_to_length() -> None:
    """Sleeves of 35 1/2; the posts in them end up 1/8 lower, 35 3/8 + 9 1/4 = 44 5/8."""
    of = work(level(60.0, assembly="COMPOSITE"), assemblies=(railing(1.0, COMPOSITE),))

    assert sawn(of, "Sleeve") == [("P1, P2", 2, 35.5, 35.5, "")]
    assert sawn(of) == [("P1, P2", 2, 45.625, 45.625, SAWN)]


def test_a_post_that_stands_is_sawn_off_at_its_final_height() -> None:
    """40 stand where 35 1/2 are needed."""
    standing = Support("P1", POST, EXISTING, standing_height=40.0)
    found = [
        work(level(60.0), assemblies=(railing(typed),), supports=(standing,)).row("posts", post="P1")
        for typed in (0.0, 3.0)
    ]

    assert [(post.needed, post.saw_off, post.rough_length, post.post_length) for post in found] == [
        (35.5, 4.5, None, None)
    ] * 2


def test_rough_posts_share_a_stop_whatever_their_tops_become() -> None:
    """The post at the bend is 35 1/2 high too, at its higher face; sawn to length it has a stop of its own."""
    bend = {"from_support": "P0", "to_support": "P1", "upper_setback": 3.0, "height": "Meets level guard"}
    runs = (level(60.0, direction=0.0), stair(60.0, 45.0, direction=0.0, **bend))
    rough, exact = (work(*runs, assemblies=(railing(a),), flights=(flight(7.5, 10.0),)) for a in (1.0, 0.0))

    assert {rough.row("posts", post=mark).top for mark in ("P1", "P2")} == {"half level", "level"}
    assert ("P1, P2", 2, 45.75, 45.75, SAWN) in sawn(rough)
    assert {("P1", FINAL), ("P2", FINAL)} <= {(where, length) for where, _, length, *_ in sawn(exact)}


def test_the_cutting_plan_calls_rough_posts_rough() -> None:
    worked = (boards(typed, board(144.0, 10.0)) for typed in (1.0, 0.0))
    texts = [[row.pieces for row in shown(of.rows, "cutting_plan")] for of in worked]

    assert texts == [["2 x No. 1 rough post: 3' 9 3/4\""], ["2 x No. 1 post: 3' 8 3/4\""]]


# what it costs


def board(length: float, price: float | None = None, **more: Any) -> Price:
    return replace(Price(item="4X4 POST", sold_as=BOARD, length=length, price=price), **more)


def boards(allowance: float | None, *prices: Price) -> Worked:
    """Two posts, cut from these boards."""
    return work(level(60.0), assemblies=(railing(allowance),), prices=prices)


def told(of: Worked) -> list[Any]:
    return [each for each in of.rows["warnings"] if "longer than they end up" in each.what]


@pytest.mark.parametrize(("allowance", "tells"), [(0.0, False), (0.4375, False), (0.5, True), (None, True)])
def test_an_allowance_that_costs_a_board_is_told(allowance: float | None, tells: bool) -> None:  # noqa: FBT001
    """Of 91 in, 90 3/8 are left by two trims of 1/4 and a kerf of 1/8: two posts of 45 3/16, 7/16 over 44 3/4."""
    of = boards(allowance, board(91.0, 10.0))

    assert bool(told(of)) == tells
    assert sum(row.bought for row in of.rows["offers"]) == (2 if tells else 1)


def test_both_numbers_are_told_with_where_to_change_it() -> None:
    (found,) = told(boards(None, board(91.0, 10.0)))

    assert (found.severity, found.where) == (NOTE, "Assemblies")
    assert found.what == (
        'posts sawn 1" longer than they end up take 2 boards for 20.00 of 4X4 POST; sawn to length, 1 board for 10.00 '
        "would do"
    )
    assert found.remedy == "type a smaller Rough allowance if the posts can be set so closely; 0: sawn to length"


def test_money_is_told_where_the_boards_are_as_many() -> None:
    """Rough, both posts come from 8 ft at 12; to length a board of 91 in at 10 holds them."""
    (found,) = told(boards(1.0, board(91.0, 10.0), board(96.0, 12.0)))

    assert "take 1 board for 12.00 of 4X4 POST; sawn to length, 1 board for 10.00 would do" in found.what


def test_without_prices_the_length_of_the_boards_is_told() -> None:
    (found,) = told(boards(1.0, board(91.0)))

    assert "2 boards of 15' 2\" in all of 4X4 POST; sawn to length, 1 board of 7' 7\" in all would do" in found.what


def test_boards_of_the_yard_are_nobody_s_loss() -> None:
    assert told(boards(1.0, board(91.0, 0.0, sold_as=YARD_BOARD, on_hand=3))) == []


def test_posts_of_two_railings_are_told_with_both_allowances() -> None:
    """Five posts of 44 3/4 on three boards of 91; two of them 1 in longer and two 2 in: nothing shares a board."""
    other = replace(railing(2.0), assembly="OTHER")
    runs = (level(60.0), level(60.0, run="B", from_support="P8", to_support="P9", assembly="OTHER"))
    (found,) = told(work(*runs, assemblies=(railing(1.0), other), prices=(board(91.0, 10.0),)))

    assert 'posts sawn 1" and 2" longer than they end up take 4 boards for 40.00' in found.what
    assert "2 boards for 20.00 would do" in found.what


def test_nothing_is_told_of_a_plan_that_nobody_proved() -> None:
    """The bound is what counts: a dearer plan that might still become as cheap says nothing of the allowance."""
    from railbook.boards.rough import costs_more
    from railbook.cutting.result import Plan

    assert costs_more(None, Plan(cost=20.0, bound=10.0), Plan(cost=10.0, bound=10.0)) is None  # type: ignore[arg-type]


def test_a_post_that_only_its_allowance_makes_too_long_is_told() -> None:
    """Between its trims a board of 45 1/2 has 45; none has room for a post sawn to length of 44 3/4 from 45."""
    remedies = [
        next(each for each in boards(1.0, board(length, 10.0)).rows["warnings"] if "longer than any board" in each.what)
        for length in (45.5, 45.0)
    ]

    assert {each.severity for each in remedies} == {LOOK}
    assert ["sawn to length it fits" in each.remedy for each in remedies] == [True, False]


# edits, and forms without the column


def edited(of: Worked, allowance: float | None) -> Rows:
    """The rows with another allowance and the choices of the first run."""
    typed = tabs(level(60.0), assemblies=(railing(allowance),), prices=of.job.prices)
    job, _ = build(typed)
    assert job is not None
    return estimate.lay_out(job, of.choices, of.choices.told)


def test_another_allowance_moves_the_saw_and_asks_for_another_plan() -> None:
    rows = edited(boards(1.0, board(144.0, 10.0)), 1.5)

    assert [(each.length, each.status) for each in rows["cut_list"] if each.part == "Post"] == [(46.25, "")]
    assert {each.post_length for each in rows["posts"]} == {FINAL}
    assert {each.status for each in rows["planned"]} == {RUN_AGAIN}


@pytest.mark.parametrize(("before", "after"), [(1.0, 0.0), (None, 0.0), (0.0, None), (0.0, 1.0)])
def test_from_rough_to_length_and_back_asks_for_another_run(before: float | None, after: float | None) -> None:
    rows = edited(work(level(60.0), assemblies=(railing(before),)), after)

    assert {each.status for each in rows["posts"]} == {RUN_AGAIN}
    assert {each.status for each in rows["cut_list"] if each.part == "Post"} == {RUN_AGAIN}
    assert {each.post_length for each in rows["posts"]} == {FINAL}


def test_the_workbook_says_the_same_after_an_edit(libreoffice: LibreOffice, tmp_path: Path) -> None:
    runs = (level(60.0), ramp(60.0, 5.0, from_support="P3", to_support="P4"))
    of = work(*runs, assemblies=(railing(1.0),))
    edits: Sequence[float | None] = (None, 0.0, 1.5)
    books, wanted = [], []
    for number, typed in enumerate(edits):
        book = tmp_path / f"edit {number}.xlsx"
        estimate.write(Estimate(of.job, of.choices, {**of.rows, "assemblies": (railing(typed),)}, ()), book)
        books.append(book)
        job, _ = build(tabs(*runs, assemblies=(railing(typed),)))
        assert job is not None
        wanted.append(estimate.lay_out(job, of.choices))
    made = [Shown({**of.rows, "assemblies": ()}, formula_cells(book)) for book in libreoffice.recalculated(books)]

    assert [rows["posts"][0].status for rows in wanted] == ["", RUN_AGAIN, ""]
    for book_now, rows in zip(made, wanted, strict=True):
        for tab in (posts.TAB, cut_list.TAB):
            for at, row in enumerate(rows[tab.name]):
                live = [each for each in tab.columns if each.excel and each.formula(row)]
                found = {each.name: book_now.value(tab, each.name, at) or "" for each in live}
                assert found == pytest.approx({name: tab.column(name).value(row) or "" for name in found}), row


LATER = (  # columns that came after forms were given away, in the order of the tab
    '"Rough allowance", "Top rail width", "Bottom rail width", "Baluster thickness", "Greatest bracket skew", '
    '"Fascia spacer"'
)


def test_a_form_without_the_column_is_computed_at_the_usual_allowance_and_says_so(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(PLACE)
    sheet = book["Assemblies"]
    (header,) = [cell for row in sheet.iter_rows() for cell in row if cell.value == "Rough allowance"]
    sheet.delete_cols(header.column, sheet.max_column - header.column + 1)
    old = tmp_path / "old.xlsx"
    book.save(old)
    job, problems = estimate.read(old)
    assert job is not None

    assert [each.rough_allowance for each in job.assemblies] == [None] * 3
    assert [(each.what, each.severity) for each in problems if each.where == "Assemblies"] == [
        (f"has no header {LATER}", NOTE)
    ]
    choices, _ = estimate.choose(job, seconds=0.1)
    assert {each.rough_length - each.post_length for each in estimate.lay_out(job, choices)["posts"] if each.cut} == {1}
