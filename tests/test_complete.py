"""The total is complete only when nothing is missing from it, and names everything that is."""

from dataclasses import replace

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.job.fastenings import (
    BALUSTER_END,
    BLOCK,
    BOLT,
    CAP_TO_RAIL,
    HANDRAIL_BRACKET,
    HOLD_DOWN,
    RAIL_TO_POST,
    SCREW,
    Fastening,
)
from railbook.job.prices import BOARDS, YARD_BOARD
from tests.everything import (
    CAPPED,
    FASTENINGS,
    PRICES,
    PROUD,
    RATES,
    RUNS,
    SETTINGS,
    SIDE,
    SUPPORTS,
    incomplete_runs,
    job,
    lacks,
    whole,
    without,
)
from tests.small_jobs import level


def test_the_job_with_everything_known_is_complete() -> None:
    """Every kind of thing is in it, so that each can be taken away below."""
    made = whole()

    assert (lacks(made), incomplete_runs(made)) == ([], "")
    assert {each.item for each in made.rows["materials"]} == {each.item for each in PRICES}
    assert {each.part for each in made.rows["cut_list"]} == {
        "Post", "Sleeve", "Top rail", "Bottom rail", "Baluster", "Block", "Cap board", "Handrail", "Handrail return",
    }  # fmt: skip


@pytest.mark.parametrize("row", range(len(PRICES)), ids=lambda row: PRICES[row].item)
@pytest.mark.parametrize("how", ["price", "sold_as", "row"])
def test_each_thing_without_a_price_is_a_reason(row: int, how: str) -> None:
    """Its price is blank, nobody said how it is sold, or it is not listed at all; where it is sold in boards alone
    there is no board then."""
    changed = () if how == "row" else (without(PRICES[row], how),)
    made = job(prices=(*PRICES[:row], *changed, *PRICES[row + 1 :]))

    boards = PRICES[row].sold_as in BOARDS and how != "price"
    assert set(lacks(made)) <= ({"prices", "boards"} if boards else {"prices"})
    assert lacks(made)
    assert incomplete_runs(made) in ("A", "S", "H", "AS", "ASH", "SH")


def test_a_post_that_nobody_has_said_how_to_hold_is_a_reason() -> None:
    """The post at the foot of the flight, where its assembly has no rim to be bolted to."""
    made = job(supports=SUPPORTS[:1])

    assert lacks(made) == ["what holds some posts"]
    assert incomplete_runs(made) == "ASH"


@pytest.mark.parametrize("item", ["POST CAP", "SCREW"])
def test_a_pack_without_a_size_is_a_reason(item: str) -> None:
    made = job(prices=[replace(each, pack_of=None) if each.item == item else each for each in PRICES])

    assert lacks(made) == ["prices"]


@pytest.mark.parametrize(
    ("assembly", "column"),
    [
        *(("CAPPED", f"{part}_item") for part in ("post", "top_rail", "bottom_rail", "baluster", "cap", "block")),
        *(("PROUD", f"{part}_item") for part in ("post", "sleeve", "top_rail", "bottom_rail", "baluster")),
    ],
)
def test_each_part_without_an_item_is_a_reason(assembly: str, column: str) -> None:
    assemblies = [without(each, column) if each.assembly == assembly else each for each in (CAPPED, PROUD)]
    made = job(assemblies=assemblies)

    assert lacks(made) == ["prices"]
    assert incomplete_runs(made) == ("A" if assembly == "CAPPED" else "S")


def test_a_piece_that_no_board_holds_is_a_reason() -> None:
    """The stair rail is 81 7/8 in long."""
    made = job(prices=[replace(each, length=72.0) if each.item == "RAIL" else each for each in PRICES])

    assert (lacks(made), incomplete_runs(made)) == (["boards"], "S")


def test_posts_whose_length_nobody_knows_are_a_reason() -> None:
    """Without setbacks their heights are not known, so that they are on no list of what is cut and bought."""
    unset = replace(RUNS[1], lower_setback=None, upper_setback=None)
    made = job(runs=(RUNS[0], unset, RUNS[2]))

    assert [post.post_length for post in made.rows["posts"] if post.line.run == "S"] == [None, None]
    assert lacks(made) == ["lengths of posts"]
    assert "S" in incomplete_runs(made)


OF_RUNS = {"hours_per_post": "AS", "hours_per_level": "A", "hours_per_stair": "S", "hours_handrail": "H"}


@pytest.mark.parametrize(("setting", "reason"), SETTINGS.items())
def test_each_figure_that_is_not_given_is_a_reason(setting: str, reason: str) -> None:
    made = job(settings=without(RATES, setting))

    assert lacks(made) == [reason]
    assert incomplete_runs(made) == ("" if setting.startswith("cost_") else OF_RUNS.get(setting, "ASH"))


def test_every_reason_is_listed_beside_the_others() -> None:
    made = job(settings=without(RATES, *SETTINGS), fastenings=(), prices=PRICES[1:])

    assert lacks(made) == [
        "prices", "fasteners of CAPPED", "fasteners of PROUD", "handrail brackets of PROUD", "tax",
        "mark-up on materials", "mark-up on labour", "labour", "hours for posts", "hours for level guard",
        "hours for stair guard", "hours for handrails", "permit", "delivery", "tear-out", "dump",
    ]  # fmt: skip


def test_what_the_job_does_not_have_needs_no_hours() -> None:
    """A level guard alone needs no hours for stairs and handrails, and hold-downs alone need no spares."""
    bolted = [each for each in FASTENINGS if each.assembly == "CAPPED"]
    unspared = [replace(each, what=HOLD_DOWN, item="HOLD-DOWN") for each in bolted]
    settings = replace(RATES, hours_per_stair=None, hours_handrail=None)

    assert lacks(job(runs=RUNS[:1], fastenings=bolted, settings=settings)) == []
    assert lacks(job(runs=RUNS[:1], fastenings=unspared, settings=replace(settings, fastener_spares=None))) == []
    assert lacks(job(runs=RUNS[2:], settings=replace(settings, hours_per_level=None, hours_per_post=None))) == [
        "hours for handrails"
    ]


def test_hours_of_handrails_are_charged_by_the_foot() -> None:
    """Six treads of 10 1/2 in on risers of 7 3/8: 76.99 in along the slope are 6.416 ft, at 0.3 h and 55.00 an hour."""
    made = whole()
    (rail,) = [each for each in made.rows["run_costs"] if each.run == "H"]
    feet = 6 * (10.5**2 + 7.375**2) ** 0.5 / 12

    assert rail.along == pytest.approx(feet)
    assert (rail.hours, rail.labour) == pytest.approx((0.3 * feet, 0.3 * feet * 55.0))
    page = made.rows["cost"][0]
    assert (page.handrail_length, page.handrail_price) == pytest.approx((feet, rail.total / feet))


# fasteners


@pytest.mark.parametrize("row", range(len(FASTENINGS)), ids=str)
@pytest.mark.parametrize("column", ["item", "per_joint", "what", "joint"])
def test_each_fastening_without_what_it_needs_is_a_reason(row: int, column: str) -> None:
    """Though another row may be there for the same joint."""
    changed = without(FASTENINGS[row], column)
    made = job(fastenings=(*FASTENINGS[:row], changed, *FASTENINGS[row + 1 :]))
    bracket = FASTENINGS[row].joint == HANDRAIL_BRACKET
    named = f"{'handrail brackets' if bracket else 'fasteners'} of {FASTENINGS[row].assembly}"
    both = {f"fasteners of {FASTENINGS[row].assembly}", named} if column == "joint" else {named}

    assert set(lacks(made)) == both
    assert incomplete_runs(made) in {"A", "S", "H", "SH"}


@pytest.mark.parametrize("row", range(len(FASTENINGS) - 1), ids=str)
def test_each_joint_without_a_row_is_a_reason(row: int) -> None:
    """The last row, a hold-down, is beside the bolts of the same joint: nobody knows that it is missing."""
    gone = FASTENINGS[row]
    made = job(fastenings=[each for each in FASTENINGS if (each.assembly, each.joint) != (gone.assembly, gone.joint)])
    bracket = gone.joint == HANDRAIL_BRACKET

    assert lacks(made) == [f"{'handrail brackets' if bracket else 'fasteners'} of {gone.assembly}"]
    assert incomplete_runs(made) == ("A" if gone.assembly == "CAPPED" else "H" if bracket else "S")


def test_rows_at_either_end_of_the_rail_hold_it() -> None:
    """Brackets at all rail ends do without rows for those at posts, and the other way round."""
    ends = [replace(each, joint="Rail end") if each.joint == RAIL_TO_POST else each for each in FASTENINGS]

    assert lacks(job(fastenings=ends)) == []


def test_a_railing_without_any_fastening_is_a_reason() -> None:
    """What the METAL railing of a job was, whose fasteners cost nothing."""
    made = job(fastenings=[each for each in FASTENINGS if each.assembly != "PROUD"])

    assert lacks(made) == ["fasteners of PROUD", "handrail brackets of PROUD"]
    assert incomplete_runs(made) == "SH"


def test_fasteners_along_a_cap_need_a_spacing() -> None:
    made = job(fastenings=[replace(each, spacing=None) for each in FASTENINGS])

    assert lacks(made) == ["fasteners of CAPPED"]


def test_a_fastening_that_names_no_railing_is_a_reason() -> None:
    made = job(fastenings=(*FASTENINGS, replace(FASTENINGS[0], assembly=None)))

    assert lacks(made) == ["fasteners without an assembly"]


def test_fastenings_of_railings_and_joints_that_the_job_lacks_are_none() -> None:
    """A railing on no run, one that was deleted, and a joint that does not occur may lack what they like."""
    unused = replace(CAPPED, assembly="UNUSED")
    rows = [
        Fastening("UNUSED", SIDE, BOLT, None, 2), Fastening("DELETED", SIDE, BOLT, "BOLT", None),
        Fastening("PROUD", BLOCK, SCREW, None, None), Fastening("PROUD", CAP_TO_RAIL, SCREW, None, None),
        Fastening("DELETED", CAP_TO_RAIL, SCREW, "SCREW", None),
    ]  # fmt: skip
    made = job(assemblies=(CAPPED, PROUD, unused), fastenings=(*FASTENINGS, *rows))

    assert lacks(made) == []


def test_none_in_each_joint_is_an_answer() -> None:
    """Some joints need no fastener: 0 is typed for them."""
    none = [replace(each, per_joint=0) if each.joint == BALUSTER_END else each for each in FASTENINGS]

    assert lacks(job(fastenings=none)) == []


def test_many_railings_are_named_as_far_as_a_cell_goes() -> None:
    """Twenty by their mark, whatever comes after them together."""
    runs = [
        level(60.0, run=f"R{at}", assembly=f"A{at}", from_support=f"L{at}", to_support=f"M{at}") for at in range(23)
    ]
    assemblies = [replace(CAPPED, assembly=f"A{at}") for at in range(23)]
    prices = [replace(each, on_hand=50) if each.sold_as == YARD_BOARD else each for each in PRICES]
    made = job(runs=runs, assemblies=assemblies, fastenings=(), prices=prices)

    assert lacks(made) == [*(f"fasteners of A{at}" for at in range(20)), "fasteners of other assemblies"]
    assert 2 * len(made.rows["cost"][0].lacks_excel) < 8000  # a formula has no more characters, and says it twice


def test_a_row_that_is_turned_to_another_joint_asks_for_another_run() -> None:
    """Typed into the result: nothing was bought for it, though now no joint is without a row."""
    bare = [each for each in FASTENINGS if (each.assembly, each.joint) != ("PROUD", BALUSTER_END)]
    spare = Fastening("PROUD", BLOCK, SCREW, "SCREW", 2)
    made = job(fastenings=(*bare, spare))
    assert lacks(made) == ["fasteners of PROUD"]
    assert made.job is not None
    assert made.choices is not None
    turned = replace(made.job, fastenings=(*bare, replace(spare, joint=BALUSTER_END)))

    assert estimate.lay_out(turned, made.choices)["cost"][0].total_says == RUN_AGAIN


@pytest.mark.parametrize("column", ["skirt_item", "post_cap_item"])
def test_trim_that_is_named_in_the_result_asks_for_another_run(column: str) -> None:
    """Nothing was bought for it."""
    made = whole()
    assert made.job is not None
    assert made.choices is not None
    now = replace(made.job, assemblies=(replace(CAPPED, **{column: "SKIRT"}), PROUD))  # type: ignore[arg-type]

    assert estimate.lay_out(now, made.choices)["cost"][0].total_says == RUN_AGAIN


# tax


def test_a_blank_taxable_is_taxed_and_tax_is_a_reason_whatever_is_taxed() -> None:
    """What is taxed is told on tab Prices; what the tax is, nobody but the user can tell."""
    for answer in (None, "Yes", "No"):
        made = job(prices=[replace(each, taxable=answer) for each in PRICES])
        taxed = sum(each.bought_cost or 0.0 for each in made.rows["materials"]) * (0.0 if answer == "No" else 0.07)
        assert made.rows["cost"][0].materials_tax == pytest.approx(taxed)
        blank = job(prices=[replace(each, taxable=answer) for each in PRICES], settings=replace(RATES, tax=None))
        assert lacks(blank) == ["tax"]


# runs


def test_runs_that_are_left_out_are_a_reason() -> None:
    """One has no clear, the next nothing that says how long it is."""
    first, second = (
        level(60.0, run=mark, assembly="CAPPED", clear_bottom=None, clear_top=None, from_support="P6", to_support="P7")
        for mark in "BC"
    )

    assert lacks(job(runs=(*RUNS, first))) == ["1 run left out"]
    assert lacks(job(runs=(*RUNS, first, second))) == ["2 runs left out"]


def test_a_run_without_a_mark_is_left_out_too() -> None:
    unmarked = level(60.0, run=None, assembly="CAPPED", from_support="P6", to_support="P7")

    assert lacks(job(runs=(*RUNS, unmarked))) == ["1 run left out"]


def test_runs_typed_into_the_result_are_a_reason() -> None:
    made = whole()
    assert made.job is not None
    assert made.choices is not None
    new = [level(60.0, run=mark, assembly="CAPPED", from_support="P6", to_support="P7") for mark in "BC"]
    one, two = (
        estimate.lay_out(replace(made.job, runs=(*made.job.runs, *new[:number])), made.choices) for number in (1, 2)
    )

    assert one["cost"][0].total_says == "incomplete, without: 1 run added since"
    assert two["summary"][0].whole_price_says == "incomplete, without: 2 runs added since"
