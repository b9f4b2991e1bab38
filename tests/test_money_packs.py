"""Packs, kits and spares, with some of it in the yard: what is bought, which way, and what it costs, by hand.

Everything is read off the tabs that people read. The railing is that of tests/pencil.py: 11 balusters a section.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from railbook.job.fastenings import BALUSTER_END, BRACKET, HOLD_DOWN, RAIL_TO_POST, SCREW, Fastening
from railbook.job.prices import EACH, KIT, PACK, Price
from tests.pencil import BARE, FOURS, NO_FASTENERS, POST, RAIL, RATES, SINGLE, Read, made_of
from tests.small_jobs import level

CHOSEN = ("Sold as", "Needed", "On hand", "To buy", "Charged")
TENTH = replace(RATES, fastener_spares=0.10)


def balusters(single: float, *, singles: int | None = None, packed: int | None = None) -> tuple[Any, ...]:
    """How 11 balusters are bought, at that price or in packs of four for 7.00, with so many of either in the yard."""
    prices = (POST, RAIL, replace(SINGLE, price=single, on_hand=singles), replace(FOURS, on_hand=packed))
    return made_of([level(60.0)], prices).bought("BALUSTER", *CHOSEN)


def test_without_stock_eleven_are_cheaper_singly() -> None:
    """11 x 1.80 = 19.80; three packs are 21.00."""
    assert balusters(1.80) == (EACH, 11, 0, 11, pytest.approx(19.80))


def test_three_of_the_pack_in_the_yard_make_packs_the_cheaper_way() -> None:
    """3 x 7.00 / 4 = 5.25 and two packs for the other 8, 14.00: 19.25 against 19.80."""
    assert balusters(1.80, packed=3) == (PACK, 11, 3, 2, pytest.approx(19.25))


def test_two_of_the_pack_in_the_yard_spare_no_pack() -> None:
    """Without stock three packs, 21.00, beat 11 x 1.95 = 21.45. With two on hand nine are still three packs:
    2 x 1.75 + 21.00 = 24.50, so singles are bought."""
    assert balusters(1.95) == (PACK, 11, 0, 3, pytest.approx(21.00))
    assert balusters(1.95, packed=2) == (EACH, 11, 0, 11, pytest.approx(21.45))


@pytest.mark.parametrize(
    ("single", "bought"),
    [(1.76, (PACK, 11, 11, 0, 19.25)), (1.74, (EACH, 11, 0, 11, 19.14))],  # 11 x 1.75 = 19.25; 11 x 1.74 = 19.14
)
def test_more_in_the_yard_than_needed_charges_what_is_used(single: float, bought: tuple[Any, ...]) -> None:
    assert balusters(single, packed=40) == (*bought[:-1], pytest.approx(bought[-1]))


def test_singles_in_the_yard_cost_what_they_cost_new() -> None:
    """5 taken and 6 bought are 11 x 1.90 = 20.90, less than 21.00 for packs; at 2.00 they are 22.00, and stay there."""
    assert balusters(1.90, singles=5) == (EACH, 11, 5, 6, pytest.approx(20.90))
    assert balusters(2.00, singles=5) == (PACK, 11, 0, 3, pytest.approx(21.00))


def test_stock_that_is_left_is_told() -> None:
    made = made_of([level(60.0)], (POST, RAIL, replace(SINGLE, on_hand=5), FOURS))

    (told,) = made.warned("on hand")
    assert told["What was found"].startswith("5 of BALUSTER are on hand in a row that is not bought by")


# spares: one screw in each of the 22 baluster ends, and a tenth more, 24.2, so 25


def screwed(*prices: Price, per_joint: int = 1, what: str = SCREW) -> Read:
    ends = Fastening(BARE.assembly, BALUSTER_END, what, "SCREW", per_joint)
    return made_of([level(60.0)], (POST, RAIL, SINGLE, *prices), settings=TENTH, fastenings=(ends, *NO_FASTENERS))


def test_spares_are_bought() -> None:
    made = screwed(Price(item="SCREW", sold_as=EACH, price=0.10))

    assert made.bought("SCREW", "Needed", "Spares", "To buy", "Charged") == (22, 3, 25, pytest.approx(2.50))
    assert [made.row("Bring along", Item="SCREW")[each] for each in ("Needed", "Bring")] == [22, 25]
    assert made.row("Fastener schedule", Item="SCREW")["Total"] == 22


def test_spares_decide_which_way_is_cheaper() -> None:
    """22 are one pack of 22 for 2.10, less than 2.20; 25 are two packs, 4.20, against 2.50 singly."""
    pack = Price(item="SCREW", sold_as=PACK, pack_of=22, price=2.10)
    made = screwed(Price(item="SCREW", sold_as=EACH, price=0.10), pack)

    assert made.bought("SCREW", "Sold as", "To buy", "Charged") == (EACH, 25, pytest.approx(2.50))
    without = replace(TENTH, fastener_spares=0.0)
    ends = Fastening(BARE.assembly, BALUSTER_END, SCREW, "SCREW", 1)
    bare = made_of([level(60.0)], (POST, RAIL, SINGLE, pack), settings=without, fastenings=(ends,))
    assert bare.bought("SCREW", "Sold as", "To buy", "Charged") == (PACK, 1, pytest.approx(2.10))


@pytest.mark.parametrize(("on_hand", "taken", "to_buy"), [(10, 10, 15), (24, 24, 1), (25, 25, 0), (90, 25, 0)])
def test_spares_are_taken_from_the_yard_too(on_hand: int, taken: int, to_buy: int) -> None:
    """Of 25 the yard gives what it has; 25 x 0.10 is charged either way, and the rest is bought."""
    made = screwed(Price(item="SCREW", sold_as=EACH, price=0.10, on_hand=on_hand))

    assert made.bought("SCREW", "On hand", "To buy") == (taken, to_buy)
    assert made.bought("SCREW", "Bought", "From yard", "Charged") == pytest.approx((0.1 * to_buy, 0.1 * taken, 2.50))
    assert made.row("Buying list", Item="SCREW")["From the yard"] == taken


def test_packs_of_spares_are_counted_from_what_the_yard_leaves() -> None:
    """25 less 4 of the yard are 21: two packs of 20 at 3.00; 4 x 3.00 / 20 = 0.60 beside."""
    made = screwed(Price(item="SCREW", sold_as=PACK, pack_of=20, price=3.00, on_hand=4))

    assert made.bought("SCREW", "On hand", "To buy") == (4, 2)
    assert made.bought("SCREW", "Bought", "From yard", "Charged") == pytest.approx((6.00, 0.60, 6.60))


def test_hold_downs_get_no_spares() -> None:
    made = screwed(Price(item="SCREW", sold_as=EACH, price=14.00), what=HOLD_DOWN)

    assert made.bought("SCREW", "Needed", "Spares", "To buy") == (22, 0, 22)


# kits hold what one section needs


def in_kits(clears: Sequence[float], item: str = "BALUSTER") -> Read:
    """Runs of these clears, each between posts of its own, with that item sold in kits of 30.00."""
    ends = [("A", "P1", "P2"), ("B", "P3", "P4")]
    runs = [
        level(clear, run=run, from_support=low, to_support=high)
        for clear, (run, low, high) in zip(clears, ends, strict=False)
    ]
    others = [each for each in (POST, RAIL, SINGLE) if each.item != item]
    bracket = Fastening(BARE.assembly, RAIL_TO_POST, BRACKET, "BRACKET", 1)
    prices = (*others, Price(item=item, sold_as=KIT, price=30.0))
    return made_of(runs, prices, settings=TENTH, fastenings=(bracket, *NO_FASTENERS))


def test_sections_of_two_lengths_take_a_kit_each() -> None:
    made = in_kits((60.0, 66.0))

    assert made.bought("BALUSTER", "Needed", "To buy", "Charged") == (2, 2, 60.0)
    assert made.by_run("Counted items") == {"A": 30.0, "B": 30.0}


def test_a_run_of_two_sections_takes_two_kits_and_its_neighbour_one() -> None:
    """123 1/2 = 60 + a post of 3 1/2 + 60, so that all three sections are alike: 90.00, of which A has 30.00."""
    made = in_kits((60.0, 123.5))

    assert made.bought("BALUSTER", "Needed", "To buy", "Charged") == (3, 3, 90.0)
    assert made.by_run("Counted items") == pytest.approx({"A": 30.0, "B": 60.0})


def test_kits_of_fasteners_are_bought_by_the_section_and_without_spares() -> None:
    """Four rail ends a section; three sections take three kits. Of brackets 12 go in, and 13.2, so 14, come along."""
    made = in_kits((60.0, 123.5), "BRACKET")

    assert made.bought("BRACKET", "Needed", "Spares", "To buy", "Charged") == (3, 0, 3, 90.0)
    assert [made.row("Bring along", Item="BRACKET")[each] for each in ("Needed", "Bring")] == [12, 14]
    assert made.by_run("Fasteners and trim") == pytest.approx({"A": 30.0, "B": 60.0})


def test_a_kit_in_the_yard_is_used_first() -> None:
    prices = (POST, RAIL, Price(item="BALUSTER", sold_as=KIT, price=30.0, on_hand=1))
    made = made_of([level(123.5)], prices)

    assert made.bought("BALUSTER", "Needed", "On hand", "To buy") == (2, 1, 1)
    assert made.bought("BALUSTER", "Bought", "From yard", "Tax") == pytest.approx((30.0, 30.0, 3.0))


def test_skirt_and_cap_in_one_kit_are_bought_once() -> None:
    """130 in are two sections: two kits of trim at 10.00 serve the skirts and the caps of all three posts."""
    trimmed = replace(BARE, skirt_item="TRIM", post_cap_item="TRIM")
    trim = Price(item="TRIM", sold_as=KIT, price=10.0)
    made = made_of((level(130.0),), (POST, RAIL, SINGLE, trim), assemblies=(trimmed,))

    assert made.bought("TRIM", "Needed", "To buy", "Charged") == (2, 2, 20.0)
