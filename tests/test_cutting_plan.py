"""The Cutting plan tab: boards for every piece of the cut list, by hand sums and on random jobs."""

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.problem import LOOK, NOTE, Origin
from railbook.boards.choices import choose_cutting
from railbook.cutting.geometry import Placed, needed_length
from railbook.cutting.pieces import Saw
from railbook.estimate import Estimate
from railbook.geometry.survey import lay_out_site
from railbook.job.build import build
from railbook.job.prices import BOARD, YARD_BOARD, Price
from railbook.job.settings import Settings
from railbook.job.supports import WALL, Support
from railbook.takeoff.choices import lay_out_shop
from tests.recalculation import LibreOffice, differences, formula_cells
from tests.shown import shown
from tests.small_jobs import PLAIN, WOOD, Worked, flight, level, stair, tabs, work
from tests.strategies import built, random_rows
from tests.taper import ITEMS

BARE = replace(WOOD, block_item=None, block_spacing=None)  # no support blocks: rails alone are cut from 2X4
TWO_SECTIONS = 123.5  # clear of two sections of 60 with a 3 1/2 post between them
SEEDS = range(40, 46)
SECONDS = 1.0  # for the plan of one random job: the tests ask for a sound plan, not for the best


def board(item: str, length: float, price: float | None = None, on_hand: int | None = None) -> Price:
    """A row of tab Prices, as if typed in row 7."""
    cells = {name: f"Prices!{column}7" for name, column in (("length", "D"), ("price", "F"), ("on_hand", "J"))}
    return Price(item=item, sold_as=BOARD, length=length, price=price, on_hand=on_hand, origin=Origin("Prices", cells))


def rails(*prices: Price, settings: Settings = PLAIN, clear: float = TWO_SECTIONS) -> Worked:
    """Four rails of 60 in for two sections."""
    return work(level(clear, sections=2), assemblies=[BARE], prices=prices, settings=settings)


# by hand


def test_two_rails_of_60_do_not_fit_a_board_of_120_for_kerf_and_trims() -> None:
    """60 + 1/8 + 60 = 120 1/8 and two trims of 1/4: a 10 ft board holds one, so four are bought."""
    rows = shown(rails(board("2X4", 120.0, 8.0)).rows, "cutting_plan")

    assert sum(row.boards for row in rows) == 4
    assert {(row.source, row.length_text) for row in rows} == {("buy", "10' 0\"")}
    assert {(row.used, row.offcut, row.keep) for row in rows} == {(60.0, 59.375, "keep")}  # 120 - 1/2 - 60 - 1/8


def test_the_dearer_longer_board_is_the_cheaper_plan() -> None:
    """Two 12 ft boards at 10 hold two rails each: 144 - 1/2 - 120 1/8 - 1/8 = 23 1/4 is left; four 10 ft cost 32."""
    worked = rails(board("2X4", 120.0, 8.0), board("2X4", 144.0, 10.0))
    rows, page = shown(worked.rows, "cutting_plan"), worked.only("summary")

    assert {(row.price_row, row.used, row.offcut, row.keep) for row in rows} == {(2, 120.125, 23.25, "")}
    assert (page.boards_to_buy, page.boards_cost, page.plan_proof, page.plan_gap) == (2, 20.0, "proven best", 0.0)


def test_kerf_trim_and_shortest_offcut_are_those_of_tab_job() -> None:
    """Without kerf and trim two rails of 60 are exactly a 10 ft board."""
    settings = replace(PLAIN, saw_kerf=0.0, end_trim=0.0, shortest_offcut=0.0)
    rows = shown(rails(board("2X4", 120.0, 8.0), settings=settings).rows, "cutting_plan")

    assert sum(row.boards for row in rows) == 2
    assert {(row.used, row.offcut, row.keep) for row in rows} == {(120.0, 0.0, "")}


def test_stair_rails_share_a_cut_and_pay_one_wedge() -> None:
    """At 3/4 a clear of 60 gives edges of 75; two of them: 150 + 5/32 + 3 1/2 x 3/4. A kerf of 5/32 ends the offcut."""
    worked = work(stair(60.0, 45.0), assemblies=[BARE], flights=[flight(7.5, 10.0)], prices=[board("2X4", 192.0, 16.0)])
    (row,) = shown(worked.rows, "cutting_plan")

    assert row.used == pytest.approx(150 + 5 / 32 + 2.625)
    assert row.offcut == pytest.approx(192 - 0.5 - 152.78125 - 5 / 32)
    assert row.pieces.splitlines() == ["2 x No. 3 both rails: 6' 3\", /36.9 to /36.9"]


def test_blocks_that_lean_across_another_depth_are_charged_tip_to_tip() -> None:
    """Rails are cut across 3 1/2, blocks across 1 1/2: one board has one depth of cut. Their slanted kerf is wider."""
    worked = work(stair(60.0, 45.0), flights=[flight(7.5, 10.0)], prices=[board("2X4", 192.0, 16.0)])
    blocks = [row for row in shown(worked.rows, "planned") if row.name == "Block"]

    assert {row.wedge for row in blocks} == {0}
    assert [row.mid - row.thing.cut.tip_to_tip for row in blocks] == pytest.approx([0.125 * (1.25 - 1)] * len(blocks))


def test_boards_on_hand_are_used_first_and_cost_nothing_more() -> None:
    worked = rails(board("2X4", 144.0, 10.0, on_hand=1))
    rows = shown(worked.rows, "cutting_plan")

    assert sorted((row.source, row.boards) for row in rows) == [("buy", 1), ("on hand", 1)]
    assert worked.only("summary").boards_cost == 10.0


def yard(length: float, on_hand: int, price: float | None = 0.0) -> Price:
    """Boards that are in the yard and not on sale."""
    return replace(board("2X4", length, price, on_hand), sold_as=YARD_BOARD)


def test_boards_of_the_yard_that_are_not_on_sale_are_never_bought() -> None:
    """Three rails on three yard boards of 5 ft 6, the fourth on a bought one of 10 ft."""
    worked = rails(yard(66.0, 3), board("2X4", 120.0, 8.0))
    boards: Counter[tuple[str, float]] = Counter()
    for row in shown(worked.rows, "cutting_plan"):
        boards[row.source, row.length] += row.boards

    assert boards == {("buy", 120.0): 1, ("on hand", 66.0): 3}
    assert worked.only("summary").boards_cost == 8.0


def test_a_yard_that_is_not_enough_is_said_and_the_total_is_incomplete() -> None:
    """Two yard boards, one rail on each: two of the four rails are left without a board."""
    worked = rails(yard(66.0, 2))
    said = [each.what for each in worked.choices.told if each.severity == LOOK]
    left = [row for row in shown(worked.rows, "planned") if row.left_out]

    assert sum(row.boards for row in shown(worked.rows, "cutting_plan")) == 2
    assert sum(row.left_out for row in left) == 2
    assert {row.status for row in shown(worked.rows, "planned")} == {""}
    assert [what for what in said if "have no board left" in what], said
    assert worked.only("cost").total_says.startswith("incomplete, without: prices")


def test_a_length_without_a_price_is_not_bought_when_another_has_one() -> None:
    """Four boards of 10 ft at 8 would do no better than two of 12 ft at 10; 16 ft has no price and is left."""
    worked = rails(board("2X4", 120.0, 8.0), board("2X4", 144.0, 10.0), board("2X4", 192.0))

    assert {row.length for row in shown(worked.rows, "cutting_plan")} == {144.0}
    assert worked.only("summary").boards_cost == 20.0
    assert [each for each in worked.choices.told if each.severity == NOTE and "2X4 of 16' 0\"" in each.what]


# splices


def test_a_long_cap_is_spliced_over_the_middle_of_its_line_post() -> None:
    """The cap reaches 3 1/2 + 1 past each face: 132 1/2. The middle of the post is at 4 1/2 + 60 + 1 3/4 = 66 1/4."""
    worked = rails(board("5/4X6 CAP", 96.0, 20.0))
    parts = shown(worked.rows, "planned")
    (told,) = [each for each in worked.rows["warnings"] if "longer than any board" in each.what]

    assert [(row.part, row.parts, row.length, row.status) for row in parts] == [(1, 2, 66.25, ""), (2, 2, 66.25, "")]
    assert sum(row.boards for row in shown(worked.rows, "cutting_plan")) == 2
    assert (told.severity, "A.2" in told.remedy) == (NOTE, True)


def test_a_cap_without_a_line_post_within_reach_is_a_problem() -> None:
    worked = rails(board("5/4X6 CAP", 60.0, 20.0))
    (told,) = [each for each in worked.rows["warnings"] if "longer than any board" in each.what]

    assert told.severity == LOOK
    assert not shown(worked.rows, "cutting_plan")
    assert [(row.needed, row.planned, row.left_out, row.status) for row in shown(worked.rows, "planned")] == [
        (1, 0, 1, "")
    ]
    assert worked.only("cost").uncut_parts > 0


def test_a_splice_asks_for_another_run_when_its_post_moves() -> None:
    worked = rails(board("5/4X6 CAP", 96.0, 20.0))
    moved = edited(worked, lambda rows: rows | {"runs": [level(TWO_SECTIONS + 2, sections=2)]}, assemblies=[BARE])

    assert {row.status for row in shown(moved, "planned")} == {RUN_AGAIN}


# edits


def edited(worked: Worked, edit: Any, **typed: Any) -> Mapping[str, Sequence[Any]]:
    """The job after an edit, laid out with the choices of the first run."""
    rows = edit(tabs(level(TWO_SECTIONS, sections=2), prices=worked.job.prices, **typed))
    job, _ = build(rows)
    assert job is not None
    return estimate.lay_out(job, worked.choices, worked.choices.told)


def test_a_longer_clear_makes_pieces_boards_and_totals_ask_for_another_run() -> None:
    worked = rails(board("2X4", 144.0, 10.0))
    rows = edited(worked, lambda rows: rows | {"runs": [level(TWO_SECTIONS + 1, sections=2)]}, assemblies=[BARE])

    assert {row.status for row in shown(rows, "planned")} == {RUN_AGAIN}
    assert {row.status for row in shown(rows, "cutting_plan")} == {RUN_AGAIN}
    assert {rows["summary"][0].boards_cost, rows["summary"][0].plan_proof} == {RUN_AGAIN}


@pytest.mark.parametrize(
    ("saw", "status"),
    [
        (replace(PLAIN, saw_kerf=23.5), ""),
        (replace(PLAIN, saw_kerf=23.5625), RUN_AGAIN),
        (replace(PLAIN, end_trim=11.9375), ""),
        (replace(PLAIN, end_trim=12.0), RUN_AGAIN),
    ],
)
def test_another_saw_asks_for_another_run_once_the_pieces_no_longer_fit(saw: Settings, status: str) -> None:
    """Two rails of 60 leave 144 - 120 - 1/2 = 23 1/2 for the one kerf between them, or 24 - 1/8 for two trims."""
    worked = rails(board("2X4", 144.0, 10.0))
    rows = edited(worked, lambda rows: rows | {"job": [saw]}, assemblies=[BARE])

    assert {row.status for row in shown(rows, "cutting_plan")} == {status}


def test_another_price_leaves_the_boards_and_asks_whether_they_are_still_the_best() -> None:
    worked = rails(board("2X4", 144.0, 10.0))
    rows = edited(worked, lambda rows: rows | {"prices": [board("2X4", 144.0, 11.0)]}, assemblies=[BARE])
    page = rows["summary"][0]

    assert {row.status for row in shown(rows, "cutting_plan")} == {""}
    assert (page.boards_cost, page.boards_by_hand, page.plan_proof) == (22.0, RUN_AGAIN, RUN_AGAIN)


def test_another_board_in_its_row_asks_for_another_run() -> None:
    worked = rails(board("2X4", 144.0, 10.0))
    rows = edited(worked, lambda rows: rows | {"prices": [board("2X4", 192.0, 10.0)]}, assemblies=[BARE])

    assert {row.status for row in shown(rows, "cutting_plan")} == {RUN_AGAIN}


# what is said


@pytest.mark.parametrize(
    ("price", "settings", "where", "words"),
    [
        (board("2X4", 144.0, -1.0), PLAIN, "Prices!F7", "price -1 of a board of 2X4: negative"),
        (board("2X4", 144.0, 1.0, on_hand=-2), PLAIN, "Prices!J7", "on hand -2 of a board of 2X4: negative"),
        (board("2X4", 144.0, 1.0), replace(PLAIN, saw_kerf=61.0), "Job", "saw kerf is wider than 1 of 1 lines of 2X4"),
        (board("2X4", 144.0, 1.0), replace(PLAIN, saw_kerf=-1.0), "Job", "saw kerf: negative"),
        (board("2X4", 144.0, 1.0), replace(PLAIN, saw_kerf=3.0), "Job", 'kerf of 3" is wider than usual blades'),
        (board("2X4", 144.0, 1.0), replace(PLAIN, end_trim=72.0), "Prices!D7", "between its end trims"),
        (board("2X4", 144.0, 1.0), replace(PLAIN, end_trim=45.0), "cut list no. 2", "longer than any board"),
        (board("2X4", 0.0, 1.0), PLAIN, "Prices!D7", "a board of 2X4 has no length"),
        (board("1X1", 144.0, 1.0), PLAIN, "Prices", "tab Prices lists no board of 2X4, which the cut list needs"),
        (yard(144.0, 0), PLAIN, "Prices", "tab Prices lists no board of 2X4, which the cut list needs"),
    ],
)
def test_what_cannot_be_planned_is_a_sentence_with_its_cell(
    price: Price, settings: Settings, where: str, words: str
) -> None:
    said = rails(price, settings=settings).choices.told

    assert [each for each in said if each.where == where and words in each.what], said


def test_missing_prices_are_never_a_silent_zero() -> None:
    worked = rails(board("2X4", 144.0))

    assert worked.only("summary").boards_cost == "prices missing"
    assert {row.cost for row in shown(worked.rows, "offers")} == {None}


def test_a_piece_without_a_board_makes_the_total_of_the_boards_incomplete() -> None:
    """The cap fits no board of 5 ft, the rails fit theirs."""
    page = rails(board("5/4X6 CAP", 60.0, 20.0), board("2X4", 144.0, 10.0)).only("summary")

    assert (page.boards_to_buy, page.boards_cost, page.pieces_left_out) == (2, "boards missing", 1)


def test_a_plan_says_which_cuts_are_tilted_and_which_cross_the_narrow_side() -> None:
    """A stair cap that runs to a wall is cut plumb by tilting the blade; blocks lean across their 1 1/2."""
    prices = [board("2X4", 192.0, 16.0), board("5/4X6 CAP", 144.0, 9.0)]
    wall = Support(support="P2", kind=WALL)
    worked = work(stair(60.0, 45.0), flights=[flight(7.5, 10.0)], supports=[wall], prices=prices)
    lines = [line for row in shown(worked.rows, "cutting_plan") for line in row.pieces.splitlines()]

    assert [line for line in lines if " cap board" in line and line.endswith("tilt")]
    assert all(line.endswith(", across width") for line in lines if " block" in line)
    assert not [line for line in lines if " rail" in line and "," in line.partition("to ")[2]]


def test_without_boards_the_totals_are_blank() -> None:
    page = rails().only("summary")

    assert (page.boards_cost, page.boards_by_hand, page.plan_gap) == (None, None, None)


# random jobs


def stocked(seed: int) -> Estimate:
    """A random job whose every item is on sale in three lengths, some of them on hand."""
    draw = random.Random(seed)
    rows = random_rows(draw, 4)
    inch = rows["job"][0].unit == "in"
    lengths = (96.0, 144.0, 192.0) if inch else (2400.0, 3600.0, 4800.0)
    prices = tuple(
        board(item, length, round(length / 100 * draw.uniform(5, 9), 2), draw.choice((None, None, 1, 3)))
        for item in ITEMS
        for length in lengths
    )
    job, problems = built({**rows, "prices": prices})
    choices, told = estimate.choose(job, seconds=SECONDS)
    problems = (*problems, *told)
    return Estimate(job, choices, estimate.lay_out(job, choices, problems), problems)


@pytest.fixture(scope="module")
def jobs() -> list[Estimate]:
    return [stocked(seed) for seed in SEEDS]


def test_every_piece_of_a_random_job_is_cut_exactly_once(jobs: list[Estimate]) -> None:
    planned = [row for job in jobs for row in shown(job.rows, "planned")]
    cut: Counter[tuple[int, int]] = Counter()
    for number, job in enumerate(jobs):
        for row in shown(job.rows, "cuts"):
            cut[number, row.planned_row] += row.thing.board.of.boards
    needed = {
        (number, row.number): row.thing.cut.quantity - row.left_out
        for number, job in enumerate(jobs)
        for row in shown(job.rows, "planned")
    }

    assert len(planned) > 100
    assert {key: count for key, count in needed.items() if count} == dict(cut)
    assert {row.status for row in planned} == {""}


def test_every_piece_that_boards_can_hold_is_on_the_plan(jobs: list[Estimate]) -> None:
    for job in jobs:
        rows = {row.piece_row for row in shown(job.rows, "planned") if not row.left_out}
        told = {each.where for each in (job.choices.told if job.choices else ()) if each.severity == LOOK}
        for piece in job.rows["cut_list"]:
            off = piece.item in ITEMS and piece.piece not in rows and piece.length is not None
            assert not off or f"cut list no. {piece.piece}" in told, piece


def test_no_board_of_a_random_job_is_overfull(jobs: list[Estimate]) -> None:
    """The used length is summed from the tab's own cells; the exact sum is that of the solver's geometry."""
    boards = 0
    for job in jobs:
        assert job.job is not None
        settings = job.job.settings
        for row in shown(job.rows, "cutting_plan"):
            saw = Saw(settings.kerf, settings.trim, row.depth)
            lying = [Placed(cut.piece.mid or 0.0, cut.left, cut.right) for cut in row.thing.cuts]
            assert row.used == pytest.approx(needed_length(lying, saw))
            assert row.used <= row.length - 2 * settings.trim + 1e-6
            boards += row.boards
    assert boards > 100


def test_boards_on_hand_are_never_used_beyond_their_number(jobs: list[Estimate]) -> None:
    for job in jobs:
        assert job.job is not None
        taken: Counter[int] = Counter()
        for row in shown(job.rows, "cutting_plan"):
            taken[row.price_row] += row.boards * (1 - row.bought)
        assert all(many <= (job.job.prices[row - 1].on_hand or 0) for row, many in taken.items())


def test_parts_of_a_spliced_piece_are_as_long_together_as_the_piece(jobs: list[Estimate]) -> None:
    parts: dict[tuple[int, int], list[Any]] = {}
    for number, job in enumerate(jobs):
        for row in shown(job.rows, "planned"):
            if row.parts > 1:
                parts.setdefault((number, row.piece_row), []).append(row)

    assert parts
    for rows in parts.values():
        assert sum(row.length or 0.0 for row in rows) == pytest.approx(rows[0].thing.cut.tip_to_tip)
        assert [row.part for row in rows] == [*range(1, rows[0].parts + 1)]


def test_no_plan_costs_more_than_the_longest_pieces_first(jobs: list[Estimate]) -> None:
    for job in jobs:
        page = job.rows["summary"][0]
        assert page.boards_cost <= page.boards_by_hand + 1e-6


def test_the_same_job_gets_the_same_plan() -> None:
    boards = [board(item, length, length / 12) for item in ("2X4", "2X2", "5/4X6 CAP") for length in (96.0, 144.0)]
    one, two = (rails(*boards, clear=TWO_SECTIONS + 11) for _ in range(2))

    assert one.only("summary").plan_proof == "proven best"
    assert one.choices.cutting == two.choices.cutting


def test_choosing_stops_within_its_time_and_still_cuts_everything() -> None:
    job = rails(board("2X4", 144.0, 10.0))
    site = lay_out_site(job.job, job.choices.site)
    shop = lay_out_shop(job.job, site, job.choices.shop)
    chosen, _ = choose_cutting(job.job, shop, seconds=0.0)

    assert sum(each.boards * len(each.lying) for each in chosen.boards) == 4


@pytest.mark.skipif(LibreOffice.is_missing(), reason="LibreOffice is not installed")
def test_libreoffice_computes_every_cell_of_the_plan_alike(jobs: list[Estimate], tmp_path: Path) -> None:
    """A random job with leaning pieces and splices, every formula computed afresh."""
    (job, *_) = [each for each in jobs if _leans(each) and _is_spliced(each)]
    made = tmp_path / "job.xlsx"
    estimate.write(job, made)
    ours = formula_cells(made)
    (tmp_path / "office").mkdir()
    (again,) = LibreOffice(tmp_path / "office").recalculated([made])

    assert not differences(ours, formula_cells(again))
    assert len(ours["Cutting plan"]) + len(ours["Working cuts"]) > 200


def _leans(job: Estimate) -> bool:
    return any(cut.left for cut in shown(job.rows, "cuts"))


def _is_spliced(job: Estimate) -> bool:
    return any(row.parts > 1 for row in shown(job.rows, "planned"))
