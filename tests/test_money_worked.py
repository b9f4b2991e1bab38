"""What a job costs, summed with a pencil: tax, mark-ups, hours, other costs, bills.

Everything is read off the tabs that people read. The railing is that of tests/pencil.py.
"""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from railbook.job.paid import Paid
from railbook.job.prices import BOARD, Price
from railbook.job.runs import HANDRAIL, Run
from tests.pencil import BARE, NO_SAW, POST, RAIL, RATES, SINGLE, Read, made_of
from tests.small_jobs import flight, level, ramp, stair

# One section: two posts 20.00, not taxed; two rails of one board 8.00, its Taxable blank; 11 balusters at 2.00, taxed,
# of which 4 are in the yard: 14.00 to buy and 8.00 from the yard.
MIXED = (replace(POST, taxable="No"), RAIL, replace(SINGLE, taxable="Yes", on_hand=4))


@pytest.fixture(scope="module")
def mixed() -> Read:
    return made_of([level(60.0)], MIXED)


def test_tax_is_by_item_and_on_what_is_bought(mixed: Read) -> None:
    """10 % of 8.00, of 14.00 and of nothing."""
    headings = ("Bought", "From yard", "Charged", "Taxed", "Tax")

    assert mixed.bought("POST", *headings) == (20.0, 0.0, 20.0, "No", 0.0)
    assert mixed.bought("RAIL", *headings) == (8.0, 0.0, 8.0, "Yes", pytest.approx(0.80))
    assert mixed.bought("BALUSTER", *headings) == (14.0, 8.0, 22.0, "Yes", pytest.approx(1.40))
    assert mixed.row("Cost")["Tax"] == pytest.approx(2.20)


def test_the_whole_cost_of_a_section(mixed: Read) -> None:
    """Bought 20 + 8 + 14 = 42, yard 8, charged 50; tax 2.20; 25 % on 50 = 12.50. Two posts of 1 h and 5 ft of 0.4 h are
    4 h, 120.00, and 15 % on it 18.00. Permit, delivery, tear-out and dump 50 + 25 + 200 + 40 = 315."""
    page = mixed.row("Cost")

    assert (page["Materials to buy"], page["Materials on hand"], page["Materials"]) == (42.0, 8.0, 50.0)
    assert page["Mark-up, materials"] == pytest.approx(12.50)
    assert (page["New posts"], page["Level guard"], page["Hours of labour"]) == pytest.approx((2.0, 5.0, 4.0))
    assert (page["Labour"], page["Mark-up, labour"]) == pytest.approx((120.0, 18.0))
    assert page["Other costs"] == 315.0
    assert page["Total"] == pytest.approx(50.0 + 2.20 + 12.50 + 120.0 + 18.0 + 315.0)  # 517.70
    assert page["The total is"] == "complete"
    assert page["Level guard, per foot"] == pytest.approx(202.70 / 5)  # without the other costs
    assert mixed.row("Summary")["Price of the job"] == pytest.approx(517.70)


def test_the_only_run_bears_it_all_but_the_other_costs(mixed: Read) -> None:
    """Materials 28 of boards and 22 counted; 50 + 2.20 + 120 + 12.50 + 18 = 202.70, on 5 ft 40.54 a foot."""
    run = mixed.row("Cost by run")

    assert [run[each] for each in ("Boards", "Counted items", "Fasteners and trim")] == pytest.approx([28, 22, 0])
    assert [run[each] for each in ("Materials", "Tax", "Labour", "Mark-ups")] == pytest.approx([50, 2.2, 120, 30.5])
    assert (run["Total"], run["Total, per foot"]) == pytest.approx((202.70, 40.54))


@pytest.mark.parametrize(("cost", "money"), [("permit", 50.0), ("delivery", 25.0), ("tear_out", 200.0), ("dump", 40.0)])
def test_each_other_cost_is_in_the_total(cost: str, money: float) -> None:
    """Without it the total is so much less, and says so."""
    made = made_of([level(60.0)], MIXED, settings=replace(RATES, **{f"cost_{cost}": None}))  # type: ignore[arg-type]
    page = made.row("Cost")

    assert (page["Other costs"], page["Total"]) == pytest.approx((315.0 - money, 517.70 - money))
    assert page["The total is"] == f"incomplete, without: {cost.replace('_', '-')}"


def test_mark_ups_are_on_materials_before_tax_and_on_labour() -> None:
    """Of 50.00 and of 120.00, each at its own share, tax or no tax."""
    made = made_of([level(60.0)], MIXED, settings=replace(RATES, markup_materials=1.0, markup_labour=0.05, tax=0.5))

    assert made.row("Cost")["Mark-up, materials"] == pytest.approx(50.0)
    assert made.row("Cost")["Mark-up, labour"] == pytest.approx(6.0)
    assert made.by_run("Mark-ups") == pytest.approx({"A": 56.0})


# hours

STEPS = (flight(7.5, 10.0),)
KINDS = (
    level(60.0),
    stair(60.0, 45.0, run="S", from_support="P3", to_support="P4", upper_setback=3.0),
    ramp(60.0, 11.0, run="R", from_support="P5", to_support="P6"),
    Run(run="H", kind=HANDRAIL, assembly=BARE.assembly, clear_bottom=96.0),
)


@pytest.fixture(scope="module")
def kinds() -> Read:
    """One run of each kind: level of 5 ft; stair 3-4-5, 75 in along; ramp 60-11-61; a level handrail of 8 ft."""
    prices = (replace(POST, length=72.0), RAIL, SINGLE, Price(item="HANDRAIL", sold_as=BOARD, length=96.0, price=16.0))
    return made_of(KINDS, prices, flights=STEPS)


def test_hours_are_by_posts_and_by_feet_along_the_slope(kinds: Read) -> None:
    """Level 2 x 1.0 + 5 x 0.4 = 4; stair 2 + 6.25 x 0.8 = 7; ramp, as stairs, 2 + 61/12 x 0.8 = 6.0667; handrail, which
    has no posts, 8 x 0.25 = 2. In all 19.0667, at 30.00 an hour 572.00."""
    hours = {"A": 4.0, "S": 7.0, "R": 2.0 + 61 / 12 * 0.8, "H": 2.0}
    page = kinds.row("Cost")

    assert kinds.by_run("Length") == pytest.approx({"A": 5.0, "S": 6.25, "R": 61 / 12, "H": 8.0})
    assert kinds.by_run("New posts") == {"A": 2.0, "S": 2.0, "R": 2.0, "H": 0.0}
    assert kinds.by_run("Hours") == pytest.approx(hours)
    assert kinds.by_run("Labour") == pytest.approx({run: 30.0 * each for run, each in hours.items()})
    assert (page["Hours of labour"], page["Labour"]) == pytest.approx((19.0 + 1 / 15, 572.0))


def test_lengths_are_told_by_kind(kinds: Read) -> None:
    page, whole = kinds.row("Cost"), kinds.row("Summary")

    lengths = [page[each] for each in ("Level guard", "Stair guard", "Ramp guard", "Handrail")]
    assert lengths == pytest.approx([5.0, 6.25, 61 / 12, 8.0])
    along = [whole[each] for each in ("Level guard", "Stair guard", "Ramp guard", "Handrail")]
    assert along == pytest.approx([60.0, 75.0, 61.0, 96.0])


def test_a_foot_of_handrail(kinds: Read) -> None:
    """A board of 16.00, 10 % tax and 25 % mark-up on it, 21.60; 2 h at 30.00 and 15 %, 69.00: 90.60 for 8 ft."""
    assert kinds.row("Cost")["Handrail, per foot"] == pytest.approx(90.60 / 8)


@pytest.mark.parametrize(
    ("blank", "hours"),
    [
        ("hours_per_level", (2.0, 7.0, 2.0 + 61 / 15, 2.0)),
        ("hours_per_stair", (4.0, 2.0, 2.0, 2.0)),
        ("hours_handrail", (4.0, 7.0, 2.0 + 61 / 15, 0.0)),
        ("hours_per_post", (2.0, 5.0, 61 / 15, 2.0)),
    ],
)
def test_hours_that_are_not_given_are_missed_where_they_belong(blank: str, hours: tuple[float, ...]) -> None:
    """Of level, stair, ramp and handrail; 61/12 ft x 0.8 are 61/15 h."""
    made = made_of(KINDS, (), settings=replace(RATES, **{blank: None}), flights=STEPS)  # type: ignore[arg-type]

    assert made.by_run("Hours") == pytest.approx(dict(zip("ASRH", hours, strict=True)))


def test_a_ramp_alone_lacks_the_hours_of_stair_guard() -> None:
    made = made_of(KINDS[2:3], settings=replace(RATES, hours_per_stair=None, hours_per_level=None, hours_handrail=None))

    assert made.row("Cost")["The total is"] == "incomplete, without: what holds some posts, hours for stair guard"


def test_the_level_end_of_a_handrail_takes_its_hours() -> None:
    """Six treads of 10 on risers of 7 1/2, 75 in along, and 12 level past the top: 7.25 ft x 0.25."""
    past = replace(BARE, handrail_past_top=12.0)
    rail = Run(run="H", kind=HANDRAIL, assembly=BARE.assembly, flight="F1")
    made = made_of([rail], (), assemblies=(past,), flights=STEPS)

    assert made.by_run("Length") == pytest.approx({"H": 7.25})
    assert made.by_run("Hours") == pytest.approx({"H": 1.8125})


def test_a_metre_job_pays_by_the_metre() -> None:
    """1500 mm are 1.5 m: two posts of 1.0 and 1.5 x 1.2 are 3.8 h, 114.00."""
    metric = replace(
        BARE, post_width=90.0, below_surface=235.0, top_rail_depth=90.0, bottom_rail_depth=90.0, baluster_width=38.0,
        greatest_spacing=1800.0, level_height=930.0, level_clearance=75.0,
    )  # fmt: skip
    settings = replace(RATES, unit="mm", tape_step=1.0, hours_per_level=1.2)
    page = made_of([level(1500.0)], (), settings=settings, assemblies=(metric,)).row("Cost")

    assert (page["Level guard"], page["Hours of labour"], page["Labour"]) == pytest.approx((1.5, 3.8, 114.0))


# bills


def billed(*paid: Paid, prices: Sequence[Price] = MIXED) -> Read:
    return made_of([level(60.0)], prices, paid=paid)


def test_several_bills_and_a_refund_are_added_up() -> None:
    """Rails 8.00 and tax 0.80 are 8.80; 5.00 + 6.50 - 2.00 = 9.50 was paid: 0.70 more."""
    bills = (Paid(item="RAIL", length=120.0, paid=each) for each in (5.00, 6.50, -2.00))
    made = billed(*bills)

    assert made.bought("RAIL", "Paid", "Difference") == pytest.approx((9.50, 0.70))
    assert [made.row("Cost")[each] for each in ("Paid so far", "Paid beyond")] == pytest.approx([9.50, 0.70])


def test_all_that_was_paid_may_be_paid_back() -> None:
    """8.80 - 8.80 is nothing, 8.80 less than computed."""
    made = billed(Paid(item="RAIL", length=120.0, paid=8.80), Paid(item="RAIL", length=120.0, paid=-8.80))

    assert made.bought("RAIL", "Paid", "Difference") == pytest.approx((0.0, -8.80))


def test_what_came_from_the_yard_is_on_no_bill() -> None:
    """Seven of the eleven balusters are bought: 14.00 and 1.40 tax. A bill of 16.00 is 0.60 more."""
    made = billed(Paid(item="BALUSTER", paid=16.00))

    assert made.bought("BALUSTER", "Paid", "Difference") == pytest.approx((16.00, 0.60))


def test_a_bill_is_for_boards_of_one_length() -> None:
    """The 120 in board holds the rails. A bill for a longer one is for nothing on the list, but it was paid."""
    made = billed(Paid(item="RAIL", length=120.0, paid=9.00), Paid(item="RAIL", length=144.0, paid=3.00))

    assert made.bought("RAIL", "Paid", "Difference") == pytest.approx((9.00, 0.20))
    assert [made.row("Cost")[each] for each in ("Paid so far", "Paid beyond")] == pytest.approx([12.00, 0.20])
    assert len(made.warned("paid for RAIL of 12' 0\"")) == 1


def test_without_bills_nothing_is_compared(mixed: Read) -> None:
    assert mixed.bought("RAIL", "Paid", "Difference") == (None, None)
    assert (mixed.row("Cost")["Paid so far"], mixed.row("Cost")["Paid beyond"]) == (None, None)


# the buying list


def listed(made: Read) -> list[tuple[str, int, int]]:
    """Item, Buy and From the yard, in order."""
    return [(row["Item"], row["Buy"], row["From the yard"]) for row in made.all("Buying list")]


def test_the_buying_list_sends_for_what_is_used(mixed: Read) -> None:
    """Of 4 balusters in the yard all, of 40 the eleven that go in. Who sells what is not known here."""
    assert listed(mixed) == [("POST", 2, 0), ("RAIL", 1, 0), ("BALUSTER", 7, 4)]
    prices = (POST, replace(RAIL, on_hand=3), replace(SINGLE, on_hand=40))
    assert listed(made_of([level(60.0)], prices)) == [("POST", 2, 0), ("RAIL", 0, 1), ("BALUSTER", 0, 11)]


def test_the_buying_list_is_by_supplier_and_ends_with_those_that_nobody_sells() -> None:
    prices = (POST, replace(RAIL, supplier="yard"), replace(SINGLE, supplier="Ironworks"))

    assert [row["Item"] for row in made_of([level(60.0)], prices).all("Buying list")] == ["BALUSTER", "RAIL", "POST"]


def test_without_rates_there_is_a_price_of_materials_alone() -> None:
    """50.00 of materials, and nothing that nobody gave."""
    page = made_of([level(60.0)], MIXED, settings=NO_SAW).row("Cost")

    blank = ("Tax", "Mark-up, materials", "Hours of labour", "Labour", "Mark-up, labour", "Other costs")
    assert [page[each] for each in blank] == [None] * len(blank)
    assert (page["Materials"], page["Total"]) == (50.0, 50.0)
