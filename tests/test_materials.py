"""Materials, buying list and cost: a small job worked by hand, and laws that hold for every job."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.problem import LOOK, NOTE
from railbook.estimate import Estimate, compute, write
from railbook.job.fastenings import JOINTS, SCREW, Fastening
from railbook.job.paid import Paid
from railbook.job.prices import BOARD, BOARDS, EACH, KIT, PACK, Price
from railbook.job.settings import Settings
from railbook.money.cost import ALL_PRICED, COMPLETE
from railbook.money.run_costs import INCOMPLETE
from tests.porch import PAID, draw_porch
from tests.recalculation import LibreOffice, differences, formula_cells
from tests.shown import shown
from tests.small_jobs import PLAIN, WOOD, level, tabs
from tests.strategies import computed, random_job
from tests.test_fasteners import porch

# One section of 60 in between two new posts, without cap board and blocks, by hand:
# posts 36 1/2 + 9 1/4 = 45 3/4 in, two rails of 60 in, balusters (60 - 4) / 5.5 = 10.2, so 11.
BARE = replace(
    WOOD, post_item="POST", cap_item=None, cap_thickness=None, cap_width=None, cap_overhang=None, block_spacing=None,
    top_rail_item="RAIL", bottom_rail_item="RAIL", baluster_item="BALUSTER",
)  # fmt: skip
# Boards need no trim and the saw takes nothing: a 96 in board holds both posts, a 120 in board both rails.
POST = Price(item="POST", sold_as=BOARD, length=96.0, price=10.0, taxable="No", supplier="YARD")
RAIL = Price(item="RAIL", sold_as=BOARD, length=120.0, price=8.0, supplier="YARD")
SINGLE = Price(item="BALUSTER", sold_as=EACH, price=2.0, taxable="Yes")
FOURS = Price(item="BALUSTER", sold_as=PACK, pack_of=4, price=7.0, taxable="Yes", supplier="IRONWORKS")
NO_SAW = replace(PLAIN, saw_kerf=0.0, end_trim=0.0)
MONEY = replace(
    NO_SAW, tax=0.10, markup_materials=0.20, markup_labour=0.10, labour_rate=30.0, hours_per_post=1.0,
    hours_per_level=0.4, hours_per_stair=0.0, cost_permit=50.0, cost_delivery=25.0, cost_tear_out=0.0, cost_dump=0.0,
)  # fmt: skip
LISTED = (POST, RAIL, SINGLE, FOURS)
PEGGED = tuple(Fastening(WOOD.assembly, joint.word, SCREW, "NO SCREW", 0, 16.0) for joint in JOINTS)  # nothing to buy


def job(
    *prices: Price, settings: Settings = MONEY, clear: float = 60.0, paid: tuple[Paid, ...] = (), **changes: Any
) -> Estimate:
    """The section of above, with those prices."""
    typed = tabs(level(clear), assemblies=[replace(BARE, **changes)], prices=prices or LISTED, settings=settings)
    return computed({**typed, "paid": paid, "fastenings": PEGGED})  # type: ignore[dict-item]


def material(made: Estimate, item: str) -> Any:
    """The one row of an item."""
    (row,) = [each for each in shown(made.rows, "materials") if each.item == item]
    return row


def cost(made: Estimate) -> Any:
    """The page of the cost."""
    return made.rows["cost"][0]


def told(made: Estimate, word: str) -> list[tuple[str, str]]:
    """Severity and text of the problems that hold a word."""
    return [(each.severity, each.what) for each in (made.choices.told if made.choices else ()) if word in each.what]


def test_the_small_job_buys_what_was_counted_by_hand() -> None:
    """11 balusters: singly 22.00, in three packs of four 21.00."""
    made = job()
    rows = [
        (each.item, each.sold_as, each.length, each.needed, each.to_buy, each.total)
        for each in shown(made.rows, "materials")
    ]

    assert rows == [
        ("POST", BOARD, 96.0, 1, 1, 10.0),
        ("RAIL", BOARD, 120.0, 1, 1, 8.0),
        ("BALUSTER", PACK, None, 11, 3, 21.0),
    ]


def test_the_small_job_costs_what_was_worked_by_hand() -> None:
    """Posts are not taxed: 10 percent of 29.00. Hours: two posts of 1 h, and 5 ft of 0.4 h a foot; 30.00 an hour."""
    page = cost(job())

    assert page.materials_charged == pytest.approx(39.0)
    assert page.materials_tax == pytest.approx(2.9)
    assert page.materials_markup == pytest.approx(7.8)
    assert (page.posts_set, page.level_length, page.labour_hours) == pytest.approx((2.0, 5.0, 4.0))
    assert page.labour_cost == pytest.approx(120.0)
    assert page.labour_markup == pytest.approx(12.0)
    assert page.other_costs == pytest.approx(75.0)
    assert page.job_total == pytest.approx(39.0 + 2.9 + 7.8 + 120.0 + 12.0 + 75.0)
    assert page.level_price == pytest.approx((39.0 + 2.9 + 7.8 + 132.0) / 5)
    assert (page.stair_price, page.materials_say, page.total_says) == (None, ALL_PRICED, COMPLETE)


def test_a_metre_is_the_length_of_a_millimetre_job() -> None:
    """The same railing of 1500 mm: hours 2 x 1.0 + 1.5 m x 0.4."""
    settings = replace(MONEY, unit="mm", tape_step=1.0)
    sizes = {"post_width": 90.0, "level_height": 930.0, "level_clearance": 75.0, "baluster_width": 38.0,
             "top_rail_depth": 90.0, "bottom_rail_depth": 90.0, "greatest_spacing": 1800.0}  # fmt: skip
    typed = tabs(level(1500.0), assemblies=[replace(BARE, **sizes)], settings=settings)  # type: ignore[arg-type]
    page = cost(computed(dict(typed)))  # type: ignore[arg-type]

    assert (page.level_length, page.labour_hours) == pytest.approx((1.5, 2.6))


@pytest.mark.parametrize(
    ("single", "pack", "sold_as"),
    [
        (1.9, 7.0, EACH),  # 20.90 against 21.00
        (1.91, 7.0, PACK),  # 21.01
        (None, 7.0, PACK),
        (2.0, None, EACH),
        (None, None, EACH),  # no price anywhere: the first row
    ],
)
def test_counted_items_are_bought_the_cheapest_way(single: float | None, pack: float | None, sold_as: str) -> None:
    made = job(POST, RAIL, replace(SINGLE, price=single), replace(FOURS, price=pack))

    assert material(made, "BALUSTER").sold_as == sold_as


@pytest.mark.parametrize(
    ("on_hand", "from_yard", "to_buy", "yard"),
    [(None, 0, 11, 0.0), (4, 4, 7, 8.0), (11, 11, 0, 22.0), (40, 11, 0, 22.0)],
)
def test_what_is_on_hand_is_charged_but_not_bought(
    on_hand: int | None, from_yard: int, to_buy: int, yard: float
) -> None:
    row = material(job(POST, RAIL, replace(SINGLE, on_hand=on_hand)), "BALUSTER")

    assert (row.from_yard, row.to_buy) == (from_yard, to_buy)
    assert (row.yard_cost, row.total) == pytest.approx((yard, 22.0))
    assert row.line_tax == pytest.approx(0.1 * 2.0 * to_buy)


def test_pieces_of_a_pack_on_hand_are_charged_by_the_piece() -> None:
    """5 of the 11 on hand at 7.00 / 4 each, 6 to buy: two packs."""
    row = material(job(POST, RAIL, replace(FOURS, on_hand=5)), "BALUSTER")

    assert (row.from_yard, row.to_buy, row.yard_cost) == (5, 2, pytest.approx(5 * 7.0 / 4))


def test_a_board_on_hand_is_charged_but_not_bought() -> None:
    row = material(job(POST, replace(RAIL, on_hand=1), SINGLE), "RAIL")

    assert (row.needed, row.from_yard, row.to_buy) == (1, 1, 0)
    assert (row.bought_cost, row.yard_cost) == pytest.approx((0.0, 8.0))


def test_kits_are_never_split_between_sections() -> None:
    """130 in clear are two sections: a kit for each, whatever it holds; both rails of a section are in one kit."""
    kits = [Price(item=item, sold_as=KIT, price=30.0) for item in ("BALUSTER", "RAIL")]
    made = job(POST, *kits, clear=130.0)

    assert len(made.rows["sections"]) == 2
    assert [(material(made, item).needed, material(made, item).to_buy) for item in ("BALUSTER", "RAIL")] == [(2, 2)] * 2


def test_a_missing_price_makes_every_total_incomplete_and_is_never_a_zero() -> None:
    made = job(POST, replace(RAIL, price=None), SINGLE)
    row, page = material(made, "RAIL"), cost(made)

    assert (row.total, row.bought_cost, row.line_tax, row.missing, row.says) == (None, None, None, 1, "no price")
    assert (page.missing_prices, page.materials_charged) == (1, pytest.approx(32.0))
    assert page.materials_say == "incomplete: 1 without a price or a board"
    assert page.total_says == "incomplete, without: prices"
    assert [each.says for each in made.rows["run_costs"]] == [INCOMPLETE]
    assert told(made, "the totals are incomplete") == [
        (LOOK, "no price for RAIL of 10' 0\": the totals are incomplete")
    ]


def test_an_item_that_is_not_listed_lacks_its_price() -> None:
    made = job(POST, RAIL)
    row = material(made, "BALUSTER")

    assert (row.needed, row.total, row.missing, row.status) == (11, None, 1, "")
    assert cost(made).missing_prices == 1


def test_without_any_price_the_cost_is_blank() -> None:
    made = job(*(replace(each, price=None) for each in LISTED), settings=replace(PLAIN, tax=0.1))
    page = cost(made)

    assert (page.materials_charged, page.materials_tax, page.job_total, page.level_price) == (None,) * 4
    assert told(made, "price") == []  # nobody asks for money


def test_a_part_without_a_board_makes_the_totals_incomplete() -> None:
    """No board of 48 in holds a rail of 60 in."""
    made = job(POST, replace(RAIL, length=48.0), SINGLE)
    page = cost(made)

    assert (page.uncut_parts, page.missing_prices) == (1, 0)
    assert page.total_says == "incomplete, without: boards"
    assert len(told(made, "no board is planned for")) == 1


def test_settings_that_are_not_given_are_named_beside_the_total() -> None:
    page = cost(job(settings=replace(MONEY, tax=None, labour_rate=None, cost_dump=None)))

    assert (page.materials_tax, page.labour_cost, page.labour_markup) == (None, None, None)
    assert page.job_total == pytest.approx(39.0 + 7.8 + 75.0)
    assert page.total_says == "incomplete, without: tax, labour, dump"


@pytest.mark.parametrize(("asked", "is_old"), [(180, False), (181, True)])
def test_a_price_of_more_than_180_days_before_the_job_is_old(asked: int, *, is_old: bool) -> None:
    day = dt.date(2026, 4, 30)
    dated = replace(RAIL, price_date=day - dt.timedelta(days=asked))
    made = job(POST, dated, SINGLE, settings=replace(MONEY, date=day))

    assert bool(told(made, "days older than the job")) is is_old


def test_without_the_jobs_date_nobody_can_tell_which_prices_are_old() -> None:
    dated = replace(RAIL, price_date=dt.date(2020, 4, 30))

    assert [severity for severity, _ in told(job(POST, dated, SINGLE), "which prices are old")] == [NOTE]
    assert not told(job(POST, RAIL, SINGLE), "which prices are old")


def test_stock_in_a_row_that_is_not_bought_by_is_told() -> None:
    made = job(POST, RAIL, replace(SINGLE, on_hand=3), FOURS)

    assert told(made, "on hand in a row") == [(LOOK, "3 of BALUSTER are on hand in a row that is not bought by")]


def test_what_was_paid_stands_beside_what_was_computed() -> None:
    """Rails 8.00 and 10 percent tax are 8.80; two bills of 5.00 are 1.20 more."""
    bills = (Paid(item="RAIL", length=120.0, paid=5.0), Paid(item="RAIL", length=120.0, paid=5.0))
    made = job(paid=(*bills, Paid(item="RAIL", paid=4.0), Paid(item="POST", length=96.0)))
    row = material(made, "RAIL")

    assert (row.paid, row.difference) == (10.0, pytest.approx(1.2))
    assert (material(made, "POST").paid, material(made, "POST").difference) == (None, None)
    assert (cost(made).paid_total, cost(made).paid_difference) == (14.0, pytest.approx(1.2))
    assert told(made, "paid for") == [(LOOK, "paid for RAIL, which is not on tab Materials")]


def test_a_post_that_runs_share_is_split_equally() -> None:
    """Runs A and B meet at post P1; A has P2 and A/1 besides, B begins at a wall."""
    posts = {each.run: each.posts for each in shown(porch().rows, "run_costs")}

    assert posts == {"A": 2.5, "B": 0.5}


def test_boards_are_shared_by_what_the_pieces_take_up() -> None:
    """Two boards of 126 in, each for a rail of 60 in of A and one of 66 in of B; 10.00 of posts for each run."""
    runs = (level(60.0), level(66.0, run="B", from_support="P3", to_support="P4"))
    prices = [POST, SINGLE, Price(item="RAIL", sold_as=BOARD, length=126.0, price=21.0)]
    typed = tabs(*runs, assemblies=[BARE], prices=prices, settings=MONEY)
    made = computed(dict(typed))  # type: ignore[arg-type]
    boards = {each.run: each.boards for each in made.rows["run_costs"]}

    assert material(made, "RAIL").needed == 2
    assert boards == pytest.approx({"A": 10.0 + 42.0 * 60 / 126, "B": 10.0 + 42.0 * 66 / 126})


SEEDS = range(60, 70)


@pytest.fixture(scope="module")
def jobs() -> Mapping[int, Estimate]:
    return {seed: random_job(seed) for seed in SEEDS}


def test_the_runs_add_up_to_the_job(jobs: Mapping[int, Estimate]) -> None:
    """Materials by run are those of the job, and totals by run are its total without other costs."""
    charged = 0
    for made in jobs.values():
        page, runs = cost(made), made.rows["run_costs"]
        charged += page.materials_charged is not None and page.materials_charged > 0
        assert sum(each.materials for each in runs) == pytest.approx(page.materials_charged or 0.0)
        assert sum(each.posts for each in runs) == pytest.approx(sum(post.cut for post in made.rows["posts"]))
        assert sum(each.total for each in runs) == pytest.approx((page.job_total or 0.0) - (page.other_costs or 0.0))
    assert charged > len(SEEDS) / 2


def test_every_piece_is_bought_once_or_said_to_lack_a_board(jobs: Mapping[int, Estimate]) -> None:
    """Pieces are needed by the piece or planned for boards; no row of a fresh result asks for another run."""
    for made in jobs.values():
        asked = [each for each in shown(made.rows, "needs") if each.pieces]
        assert all(each.material_row for each in asked)
        by_piece = sum(each.needed for each in asked)
        assert by_piece == sum(each.needed for each in shown(made.rows, "materials") if each.sold_as not in BOARDS)
        of_list = sum(each.pieces for each in asked if each.thing.chosen.source == "cut_list")
        of_boards = [each for each in made.rows["cut_list"] if each.piece in _cut_from_boards(made)]
        assert of_list + sum(each.quantity for each in of_boards) == sum(row.quantity for row in made.rows["cut_list"])
        for tab in ("needs", "materials", "buying", "run_costs"):
            assert {each.status for each in made.rows[tab]} <= {""}


def _cut_from_boards(made: Estimate) -> set[int]:
    """Rows of the cut list that are planned for boards, or that no board is planned for."""
    counted = {each.item for each in shown(made.rows, "needs") if each.thing.chosen.source == "cut_list"}
    cut = {each.piece_row for each in shown(made.rows, "cuts")}
    return cut | {each.piece for each in made.rows["cut_list"] if (each.item or "") not in counted}


def test_the_buying_list_names_everything_by_supplier_and_no_price() -> None:
    made = job()

    assert [(each.supplier, each.item, each.to_buy) for each in shown(made.rows, "buying")] == [
        ("IRONWORKS", "BALUSTER", 3), ("YARD", "POST", 1), ("YARD", "RAIL", 1),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "edited",
    [
        (replace(POST, item="POST X"), RAIL, SINGLE),
        (replace(POST, length=90.0), RAIL, SINGLE),
        (POST, RAIL, replace(SINGLE, sold_as=KIT)),
    ],
)
def test_another_thing_in_the_row_of_tab_prices_asks_for_another_run(edited: tuple[Price, ...]) -> None:
    made = job(POST, RAIL, SINGLE)
    assert made.job is not None
    assert made.choices is not None
    rows = estimate.lay_out(replace(made.job, prices=edited), made.choices)

    assert RUN_AGAIN in {each.status for each in rows["materials"]}
    assert rows["cost"][0].costs_stale > 0
    assert rows["cost"][0].total_says == RUN_AGAIN


def test_what_was_paid_is_kept_when_the_result_is_computed_again(tmp_path: Path) -> None:
    form = tmp_path / "porch.xlsx"
    draw_porch(form)
    first = compute(form).result
    assert first is not None
    book = openpyxl.load_workbook(first)
    sheet = book["Paid"]
    (row,) = [number for number in range(1, 9) if sheet.cell(number, 1).value == "Item"]
    bill: tuple[str | float, ...] = ("2X4", 96, 41.5)
    below = row + 3 + len(PAID)  # units and hints stand under the headers, then what was paid before
    for column, value in enumerate(bill, start=1):
        sheet.cell(below, column).value = value
    book.save(first)

    again = compute(first)

    before = [(row.item, row.length, row.paid) for row in PAID]
    assert [(row.item, row.length, row.paid) for row in again.rows["paid"]] == [*before, ("2X4", 96.0, 41.5)]
    assert cost(again).paid_total == pytest.approx(29.75 + 31.2 + 41.5)
    assert again.result is not None
    kept = openpyxl.load_workbook(again.result)["Paid"]
    assert [cell.value for cell in kept[below][:3]] == [*bill]


def test_libreoffice_finds_no_difference(libreoffice: LibreOffice, tmp_path: Path) -> None:
    bills = (Paid(item="RAIL", length=120.0, paid=5.0), Paid(item="BALUSTER", paid=25.0, notes="two bills"))
    dated = replace(RAIL, price_date=dt.date(2026, 1, 5), on_hand=1)
    path = tmp_path / "materials.xlsx"
    write(job(POST, dated, SINGLE, FOURS, paid=bills), path)
    ours = formula_cells(path)
    (made,) = libreoffice.recalculated([path])

    assert not differences(ours, formula_cells(made))
    assert len(ours["Materials"]) > 30
    assert len(ours["Cost"]) > 20
