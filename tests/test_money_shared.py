"""Whose cost is whose: posts, sleeves, boards, packs and tax that several runs share, split with a pencil.

Everything is read off tab Cost by run. The railing is that of tests/pencil.py.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from railbook import estimate
from railbook.job.assemblies import INSIDE_RIM, Assembly
from railbook.job.build import build
from railbook.job.fastenings import BALUSTER_END, BOLT, SCREW, Fastening, post_joint
from railbook.job.prices import BOARD, EACH, PACK, YARD_BOARD, Price
from railbook.job.runs import Run
from railbook.job.supports import EXISTING, Support
from railbook.job.supports import POST as STANDS
from tests.pencil import BARE, HOUSE, NO_FASTENERS, POST, RAIL, RATES, SINGLE, Read, made_of
from tests.small_jobs import level, tabs

A = level(60.0)
B = level(60.0, run="B", from_support="P2", to_support="W")  # shares P2 with A, ends at the house
APART = level(60.0, run="C", from_support="P5", to_support="P6")
FREE = tuple(replace(each, price=0.0) for each in (RAIL, SINGLE))


def cost(heading: str, runs: Sequence[Run], *prices: Price, **more: Any) -> dict[str, float]:
    """What each run has under a heading, in a job where everything else is free."""
    named = {price.item for price in prices}
    free = [each for each in (replace(POST, price=0.0), *FREE) if each.item not in named]
    return made_of(runs, (*prices, *free), supports=(HOUSE, *more.pop("supports", ())), **more).by_run(heading)


# posts


def test_a_corner_post_is_half_of_each_run() -> None:
    """Two posts of 10.00: A has P1 and half of P2, B the other half and the house."""
    assert cost("Boards", (A, B), POST) == pytest.approx({"A": 15.0, "B": 5.0})
    assert cost("New posts", (A, B), POST) == {"A": 1.5, "B": 0.5}
    assert cost("Hours", (A, B), settings=replace(RATES, hours_per_level=0.0)) == {"A": 1.5, "B": 0.5}


def test_runs_with_posts_of_their_own_bear_them_whole() -> None:
    """Five posts, 50.00: P1 and half of P2 for A, P3 and the other half for B, both of its own for C."""
    on = replace(B, to_support="P3")

    assert cost("Boards", (A, on, APART), POST) == pytest.approx({"A": 15.0, "B": 15.0, "C": 20.0})


def test_a_post_of_three_runs_is_a_third_of_each() -> None:
    """P1 and a third of P2 for A, the other thirds for two runs to the house."""
    third = replace(B, run="C")

    assert cost("Boards", (A, B, third), POST) == pytest.approx({"A": 40 / 3, "B": 10 / 3, "C": 10 / 3})


def test_a_post_between_two_sections_is_that_runs() -> None:
    """123 1/2 are two sections: P1, the post between and half of P2."""
    assert cost("Boards", (level(123.5), B), POST) == pytest.approx({"A": 25.0, "B": 5.0})


def test_a_standing_post_costs_nobody_anything() -> None:
    standing = Support(support="P2", kind=STANDS, state=EXISTING)

    assert cost("Boards", (A, B), POST, supports=(standing,)) == pytest.approx({"A": 10.0, "B": 0.0})
    assert cost("New posts", (A, B), POST, supports=(standing,)) == {"A": 1.0, "B": 0.0}


# sleeves, skirts and what holds posts

SLEEVE = Price(item="SLEEVE", sold_as=EACH, price=12.0)
SLEEVED = replace(BARE, sleeve_item="SLEEVE", sleeve_width=4.5)


def sleeved(heading: str, *prices: Price, assembly: Assembly = SLEEVED, **more: Any) -> dict[str, float]:
    """A and B with sleeves; the post that they share stands already, and gets one."""
    standing = Support(support="P2", kind=STANDS, state=EXISTING, standing_height=60.0)
    return cost(heading, (A, B), *prices, assemblies=(assembly,), supports=(standing,), **more)


def test_a_sleeve_over_a_shared_post_is_half_of_each_run_though_the_post_stands() -> None:
    """Two sleeves of 12.00: P1 and half of P2 for A. One new post of 10.00, P1."""
    assert sleeved("Counted items", SLEEVE) == pytest.approx({"A": 18.0, "B": 6.0})
    assert sleeved("Boards", POST) == pytest.approx({"A": 10.0, "B": 0.0})


def test_trim_and_bolts_of_a_shared_post_are_the_run_that_sets_its_height() -> None:
    """Equal heights: the first run has both posts, so two skirts of 3.00 and two of two bolts at 1.50."""
    skirted = replace(BARE, skirt_item="SKIRT")
    bolts = Fastening(BARE.assembly, post_joint(INSIDE_RIM), BOLT, "BOLT", 2)
    prices = (Price(item="SKIRT", sold_as=EACH, price=3.0), Price(item="BOLT", sold_as=EACH, price=1.5))
    settings = replace(RATES, fastener_spares=0.0)
    shares = cost("Fasteners and trim", (A, B), *prices, assemblies=(skirted,), fastenings=(bolts,), settings=settings)

    assert shares == pytest.approx({"A": 6.0 + 6.0, "B": 0.0})


# packs


def test_a_pack_is_shared_by_the_number_that_goes_in() -> None:
    """60 in take 11, 66 in (66 - 4) / 5.5 = 11.3, so 12. 23 are two packs of 12, 12.00: 11/23 and 12/23 of it."""
    packs = Price(item="BALUSTER", sold_as=PACK, pack_of=12, price=6.0)

    shares = cost("Counted items", (A, replace(APART, clear_bottom=66.0, clear_top=66.0)), packs)
    assert shares == pytest.approx({"A": 12.0 * 11 / 23, "C": 12.0 * 12 / 23})


def test_equal_sections_share_by_their_number() -> None:
    """Three sections of 60, one of A and two of C: 33 balusters are three packs of 12, 18.00."""
    packs = Price(item="BALUSTER", sold_as=PACK, pack_of=12, price=6.0)
    long = replace(APART, clear_bottom=123.5, clear_top=123.5)

    assert cost("Counted items", (A, long), packs) == pytest.approx({"A": 6.0, "C": 12.0})


def test_what_is_on_hand_is_shared_like_what_is_bought() -> None:
    """Balusters at 2.00, 5 of the 22 in the yard: 44.00 in all, half each."""
    some = replace(SINGLE, on_hand=5)

    assert cost("Counted items", (A, APART), some) == pytest.approx({"A": 22.0, "C": 22.0})


def test_spares_are_shared_like_what_goes_in() -> None:
    """22 and 24 baluster ends, one screw each: 46, a tenth more is 50.6, so 51 at 0.20 are 10.20."""
    screw = Fastening(BARE.assembly, BALUSTER_END, SCREW, "SCREW", 1)
    longer = replace(APART, clear_bottom=66.0, clear_top=66.0)
    settings = replace(RATES, fastener_spares=0.10)
    price = Price(item="SCREW", sold_as=EACH, price=0.20)

    shares = cost("Fasteners and trim", (A, longer), price, fastenings=(screw, *NO_FASTENERS), settings=settings)
    assert shares == pytest.approx({"A": 10.20 * 22 / 46, "C": 10.20 * 24 / 46})


# boards

LONGER = replace(APART, clear_bottom=66.0, clear_top=66.0)


def test_a_board_is_shared_by_what_its_pieces_take_up_kerfs_among_it() -> None:
    """A saw of 2 in: 60 + 2 + 66 are a board of 128, twice, 42.00. The kerf is the right piece's: it is cut off it."""
    board = Price(item="RAIL", sold_as=BOARD, length=128.0, price=21.0)
    made = made_of((A, LONGER), (board, *FREE[1:], replace(POST, price=0.0)), settings=replace(RATES, saw_kerf=2.0))
    rows = made.all("Cutting plan", Board="RAIL")
    ways = [row["Cut from the left end"] for row in rows for _ in range(row["How many"])]
    a_right = [text.splitlines()[1].endswith("5' 0\"") for text in ways]

    assert [sorted(line.split(": ")[1] for line in text.splitlines()) for text in ways] == [["5' 0\"", "5' 6\""]] * 2
    taken = sum(62.0 if right else 60.0 for right in a_right)
    assert made.by_run("Boards") == pytest.approx({"A": 21.0 * taken / 128, "C": 21.0 * (256 - taken) / 128})


def test_an_offcut_is_borne_by_the_pieces_of_its_board() -> None:
    """Boards of 121 hold both rails of A, and one of C each with 55 left over: one board of 10.00 and two."""
    board = Price(item="RAIL", sold_as=BOARD, length=121.0, price=10.0)

    assert cost("Boards", (A, LONGER), board) == pytest.approx({"A": 10.0, "C": 20.0})


def test_boards_on_hand_are_charged_to_the_run_that_uses_them() -> None:
    """Yard boards of 60 hold A's rails alone, at 4.00; C's take a board of 132 at 9.00."""
    yard = Price(item="RAIL", sold_as=YARD_BOARD, length=60.0, price=4.0, on_hand=2)
    board = Price(item="RAIL", sold_as=BOARD, length=132.0, price=9.0)

    assert cost("Boards", (A, LONGER), yard, board) == pytest.approx({"A": 8.0, "C": 9.0})


# tax


def test_tax_is_shared_by_materials() -> None:
    """Only balusters are taxed: 44.00, tax 4.40. Materials: A 15.00 of posts, B 5.00, balusters 22.00 each, 64.00."""
    prices = (replace(POST, taxable="No"), FREE[0], SINGLE)
    made: Read = made_of((A, B), prices, supports=(HOUSE,))

    assert made.by_run("Materials") == pytest.approx({"A": 37.0, "B": 27.0})
    assert made.by_run("Tax") == pytest.approx({"A": 4.40 * 37 / 64, "B": 4.40 * 27 / 64})
    assert made.row("Cost")["Tax"] == pytest.approx(4.40)


def test_the_runs_of_a_job_add_up_to_it() -> None:
    """Posts 20, rails 2 x 8, balusters 44: 80.00 charged, tax 8, mark-up 20; 2 posts and 10 ft are 6 h, 180.00, and
    27.00 on it: 315.00."""
    made = made_of((A, B), supports=(HOUSE,))

    assert made.row("Cost")["Total"] - made.row("Cost")["Other costs"] == pytest.approx(315.0)
    assert sum(made.by_run("Total").values()) == pytest.approx(315.0)


def test_runs_of_one_saw_stop_share_by_their_pieces_after_an_edit_too() -> None:
    """Balusters singly at 2.00. A of 60: 56 / 5.5 = 10.2, so 11; B of 66: 62 / 5.5 = 11.3, so 12. With balusters of
    1 in: 56 / 5 = 11.2, so 12, and 62 / 5 = 12.4, so 13: the same rows then cost 24.00 and 26.00."""
    runs = (level(60.0), level(66.0, run="B", from_support="P3", to_support="P4"))
    rail = replace(RAIL, length=240.0)
    typed = tabs(*runs, prices=(POST, rail, SINGLE), settings=RATES, assemblies=(BARE,))
    job, _ = build(typed)
    assert job is not None
    choices, _ = estimate.choose(job, seconds=0.1)
    thinner, _ = build({**typed, "assemblies": (replace(BARE, baluster_width=1.0),)})
    assert thinner is not None

    assert Read(estimate.lay_out(job, choices)).by_run("Counted items") == {"A": 22.0, "B": 24.0}
    assert Read(estimate.lay_out(thinner, choices)).by_run("Counted items") == {"A": 24.0, "B": 26.0}
