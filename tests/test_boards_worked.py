"""Boards of the yard and of the shop, offcuts, slanted kerfs, exact fits and splices, with a pencil.

Everything is read off the tabs that people read. The railing is that of tests/pencil.py; its two rails of 60 in are
what is cut, its posts and balusters are bought.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest

from railbook.job.prices import BOARD, YARD_BOARD, Price
from railbook.job.runs import HANDRAIL, Run
from railbook.job.settings import Settings
from tests.pencil import BARE, NO_SAW, RATES, Read, made_of
from tests.small_jobs import flight, level, stair


def board(length: float, price: float | None = 1.0, on_hand: int | None = None, item: str = "RAIL") -> Price:
    return Price(item=item, sold_as=BOARD, length=length, price=price, on_hand=on_hand)


def yard(length: float, on_hand: int, price: float | None = 0.0, item: str = "RAIL") -> Price:
    """Boards in the yard that nobody sells."""
    return replace(board(length, price, on_hand, item), sold_as=YARD_BOARD)


def rails(*prices: Price, settings: Settings = RATES, runs: Sequence[Run] = (level(60.0),)) -> Read:
    return made_of(runs, prices, settings=settings)


def planned(made: Read, item: str = "RAIL") -> list[tuple[str, str, int]]:
    """Where its boards come from, how long they are, and how many there are of each."""
    boards: Counter[tuple[str, str]] = Counter()
    for row in made.all("Cutting plan", Board=item):
        boards[row["From"], row["Length"]] += row["How many"]
    return sorted((*board, number) for board, number in boards.items())


# the yard


def test_a_yard_board_is_charged_and_not_bought() -> None:
    """One board of 120 holds both rails; there are three, charged at 5.00. Nothing is bought, so nothing taxed."""
    made = rails(yard(120.0, 3, 5.0))

    assert planned(made) == [("on hand", "10' 0\"", 1)]
    assert made.bought("RAIL", "Sold as", "Needed", "On hand", "To buy") == (YARD_BOARD, 1, 1, 0)
    assert made.bought("RAIL", "Bought", "From yard", "Charged", "Tax") == (0.0, 5.0, 5.0, 0.0)
    assert [made.row("Buying list", Item="RAIL")[each] for each in ("Buy", "From the yard")] == [0, 1]
    assert (made.row("Summary")["Boards to buy"], made.row("Summary")["Boards, cost"]) == (0, 0.0)


def test_the_shop_sends_what_the_yard_lacks() -> None:
    """Two sections, four rails; the yard has two boards of 60. The other two rails are a board of 120 at 8.00."""
    made = rails(yard(60.0, 2, 3.0), board(120.0, 8.0), runs=(level(123.5),))
    rows = {row["Sold as"]: row for row in made.all("Materials", Item="RAIL")}

    assert planned(made) == [("buy", "10' 0\"", 1), ("on hand", "5' 0\"", 2)]
    assert [rows[YARD_BOARD][each] for each in ("Needed", "On hand", "To buy", "Charged")] == [2, 2, 0, 6.0]
    assert [rows[BOARD][each] for each in ("Needed", "On hand", "To buy", "Charged")] == [1, 0, 1, 8.0]
    assert made.by_run("Boards") == {"A": 14.0}
    assert (made.row("Summary")["Boards to buy"], made.row("Summary")["Boards, cost"]) == (1, 8.0)


def test_a_dear_board_on_hand_is_used_before_a_cheap_one_is_bought() -> None:
    """What is in the yard is paid for: 40.00 is charged, though 8.00 would buy one."""
    made = rails(board(192.0, 40.0, on_hand=1), board(120.0, 8.0))

    assert planned(made) == [("on hand", "16' 0\"", 1)]
    assert made.bought("RAIL", "Bought", "From yard") == (0.0, 40.0)


def test_a_board_on_hand_and_bought_ones_of_its_length_are_one_row_to_buy() -> None:
    """Two boards of 120 for two sections, one of them there: 8.00 from the yard and 8.00 to buy, with 0.80 tax."""
    made = rails(board(120.0, 8.0, on_hand=1), runs=(level(123.5),))

    assert planned(made) == [("buy", "10' 0\"", 1), ("on hand", "10' 0\"", 1)]
    assert made.bought("RAIL", "Needed", "On hand", "To buy") == (2, 1, 1)
    assert made.bought("RAIL", "Bought", "From yard", "Tax") == pytest.approx((8.0, 8.0, 0.80))
    assert (made.row("Summary")["Boards to buy"], made.row("Summary")["Boards, cost"]) == (1, 8.0)


def test_the_last_board_on_hand_may_be_used() -> None:
    made = rails(yard(60.0, 2))

    assert planned(made) == [("on hand", "5' 0\"", 2)]
    assert {row["Status"] for row in made.all("Cutting plan")} == {""}
    assert made.row("Summary")["Pieces without a board"] == 0


def test_a_long_board_of_the_yard_holds_what_no_board_on_sale_does() -> None:
    """48 in on sale, 120 in the yard; rails are 60."""
    made = rails(board(48.0, 2.0), yard(120.0, 1))

    assert planned(made) == [("on hand", "10' 0\"", 1)]
    assert made.row("Summary")["Pieces without a board"] == 0


def test_the_price_of_a_yard_board_is_no_price_on_sale() -> None:
    """One rail from the yard board of 60; the other from a board that is on sale, for which nobody knows a price."""
    made = rails(yard(60.0, 1, 5.0), board(72.0, None))
    rows = {row["Sold as"]: row for row in made.all("Materials", Item="RAIL")}

    assert planned(made) == [("buy", "6' 0\"", 1), ("on hand", "5' 0\"", 1)]
    assert (rows[BOARD]["Charged"], rows[BOARD]["Incomplete"], rows[YARD_BOARD]["Charged"]) == (None, "no price", 5.0)
    assert made.row("Summary")["Boards, cost"] == "prices missing"


def test_a_rail_without_a_board_is_counted_and_told() -> None:
    made = rails(yard(60.0, 1))

    assert planned(made) == [("on hand", "5' 0\"", 1)]
    assert made.row("Summary")["Pieces without a board"] == 1
    assert made.row("Cost")["Without a board"] > 0
    assert made.row("Cost")["The total is"].startswith("incomplete, without: prices, boards")
    assert len(made.warned("have no board left")) == 1


@pytest.mark.parametrize(("boards", "left_out", "rows"), [(4, 0, 0), (3, 1, 1), (1, 3, 1)])
def test_every_piece_without_a_board_is_counted(boards: int, left_out: int, rows: int) -> None:
    """Two sections alike: their four rails are the same piece, one row of the cut list; a board for each."""
    made = rails(yard(60.0, boards, 1.0), runs=(level(123.5),))

    assert made.row("Summary")["Pieces without a board"] == left_out
    assert made.row("Cost")["Without a board"] == rows
    assert made.row("Cost")["Materials"] == boards


# offcuts: two rails of 60 and what is left of the board


@pytest.mark.parametrize(
    ("length", "shortest", "offcut", "keep"),
    [
        (144.0, 24.0, 24.0, "keep"),  # 144 - 120, as long as the shortest that is kept
        (144.0, 24.0625, 24.0, ""),
        (143.9375, 24.0, 23.9375, ""),
        (120.0, 0.0, 0.0, ""),  # nothing is left
    ],
)
def test_an_offcut_is_kept_from_the_shortest_on(length: float, shortest: float, offcut: float, keep: str) -> None:
    made = rails(board(length), settings=replace(NO_SAW, shortest_offcut=shortest))

    assert [made.row("Cutting plan")[each] for each in ("Used", "Offcut", "Keep")] == [120.0, offcut, keep]


def test_an_offcut_is_told_no_longer_than_it_is() -> None:
    """Kerfs of 0.1: 144 - 60 - 0.1 - 60 - 0.1 = 23.8, which is 380.8 sixteenths: 23 3/4."""
    made = rails(board(144.0), settings=replace(NO_SAW, saw_kerf=0.1))

    assert made.row("Cutting plan")["Used"] == pytest.approx(120.1)
    assert made.row("Cutting plan")["Offcut"] == 23.75


def test_both_ends_are_trimmed() -> None:
    """144 - 2 x 3/8 - 60 - 1/8 - 60 - 1/8 = 23."""
    made = rails(board(144.0), settings=replace(NO_SAW, saw_kerf=0.125, end_trim=0.375))

    assert made.row("Cutting plan")["Offcut"] == 23.0


# exact fits


@pytest.mark.parametrize(("length", "left_out"), [(60.0, 0), (59.9375, 2)])
def test_a_board_holds_a_piece_of_its_own_length(length: float, left_out: int) -> None:
    made = rails(board(length))

    assert sum(row["How many"] for row in made.all("Cutting plan")) == 2 - left_out
    assert made.row("Summary")["Pieces without a board"] == left_out


@pytest.mark.parametrize(("length", "boards"), [(120.625, 1), (120.5625, 2)])
def test_two_pieces_one_kerf_and_two_trims_fill_a_board(length: float, boards: int) -> None:
    """60 + 1/8 + 60 and twice 1/4."""
    made = rails(board(length), settings=replace(NO_SAW, saw_kerf=0.125, end_trim=0.25))

    assert sum(row["How many"] for row in made.all("Cutting plan")) == boards


def test_a_kerf_beside_a_slant_is_as_wide_as_the_slant_makes_it() -> None:
    """A rail of a 3-4-5 stair, 40 x 1.25 = 50, beside a level one of 60. The cut between stands at 3/4, so a blade of
    0.4 takes 0.4 x 1.25 = 0.5; half a wedge at each end of the stair rail is 3.5 / 2 x 0.75 = 1.3125. In all
    60 + 50 + 0.5 + 2.625 = 113.125, whichever lies first; two level rails would take 120.4 of the 114."""
    up = stair(40.0, 30.0, from_support="P3", to_support="P4", upper_setback=3.0)
    settings = replace(RATES, saw_kerf=0.4)
    made = made_of((level(60.0), up), (board(114.0),), settings=settings, flights=(flight(7.5, 10.0),))

    rows = made.all("Cutting plan")
    assert sum(row["How many"] for row in rows) == 2
    assert [row["Used"] for row in rows] == pytest.approx([113.125] * len(rows))


def test_the_longest_first_may_cost_more_than_the_plan() -> None:
    """Rails of 45, 35 and 20, two of each. Boards of 100 take one of each: two boards at 10.00. The longest first, each
    on the first board that holds it: 45 + 45; 35 + 35 + 20; 20: three."""
    ends = zip("ABC", (45.0, 35.0, 20.0), ("P1", "P3", "P5"), ("P2", "P4", "P6"), strict=True)
    runs = [level(clear, run=run, from_support=low, to_support=high) for run, clear, low, high in ends]
    page = made_of(runs, (board(100.0, 10.0),)).row("Summary")

    assert (page["Boards to buy"], page["Boards, cost"], page["Cut without a plan they would cost"]) == (2, 20.0, 30.0)
    assert (page["Plan"], page["Above the best plan, at most"]) == ("proven best", 0.0)


# splices

CAPPED = replace(BARE, cap_item="CAP", cap_width=5.5, cap_thickness=1.0, cap_overhang=1.0)


def lines(made: Read, item: str) -> list[str]:
    """What is cut from that item, sorted, without the numbers of the cut list."""
    said = [line for row in made.all("Cutting plan", Board=item) for line in row["Cut from the left end"].splitlines()]
    return sorted(line.partition(" ")[2].partition(" ")[2] for line in said)


@pytest.mark.parametrize(("length", "left_out"), [(66.25, 0), (66.1875, 1)])
def test_a_cap_is_spliced_where_both_parts_just_fit(length: float, left_out: int) -> None:
    """Two sections of 60, posts of 3 1/2, an inch over each end: 123 1/2 + 7 + 2 = 132 1/2, its middle over the middle
    of the post between. A sixteenth less, and no board holds either part."""
    made = made_of([level(123.5, sections=2)], (board(length, item="CAP"),), assemblies=(CAPPED,))

    parts = ["cap board, part 1 of 2: 5' 6 1/4\"", "cap board, part 2 of 2: 5' 6 1/4\""]
    assert lines(made, "CAP") == ([] if left_out else parts)
    assert made.row("Summary")["Pieces without a board"] == left_out


def handrail(*prices: Price) -> Read:
    """A handrail of 96 in along a wall."""
    return made_of([Run(run="H", kind=HANDRAIL, assembly=BARE.assembly, clear_bottom=96.0)], prices)


@pytest.mark.parametrize("length", [48.0, 60.0])
def test_a_handrail_is_spliced_in_equal_parts(length: float) -> None:
    """Of boards of 60 it could also be 60 and 36, which costs no less."""
    made = handrail(board(length, item="HANDRAIL"))

    assert lines(made, "HANDRAIL") == ["handrail, part 1 of 2: 4' 0\"", "handrail, part 2 of 2: 4' 0\""]


def test_a_handrail_is_spliced_where_it_is_cheapest() -> None:
    """Boards of 72 at 9.00 and of 24 at 1.00: 72 + 24 for 10.00, equal parts of 48 for 18.00."""
    made = handrail(board(72.0, 9.0, item="HANDRAIL"), board(24.0, 1.0, item="HANDRAIL"))

    assert lines(made, "HANDRAIL") == ["handrail, part 1 of 2: 6' 0\"", "handrail, part 2 of 2: 2' 0\""]
    assert made.row("Summary")["Boards, cost"] == 10.0
