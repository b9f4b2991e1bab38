"""What checks, warnings, summary and cut list say of small railings, worked by hand.

Everything is read off the tabs that people read. Limits: IRC 2018 and 2021 R312.1.3 (a sphere of 4 in, on stairs of
4 3/8), R312.1.2 (36 and 34 in), R311.7.8.1 (34 to 38 in), R301.5 (200 lb at the top of a guard).
"""

import math
from dataclasses import replace

import pytest

from railbook.job.assemblies import Assembly
from railbook.job.fastenings import BLOCK, SCREW, Fastening
from railbook.job.prices import BOARD, Price
from railbook.job.runs import HANDRAIL, MEETS, Run
from railbook.job.supports import EXISTING, NEW, POST, WALL, Support
from tests.pencil import Read, made_of
from tests.small_jobs import WOOD, flight, level, ramp, stair

LONG = replace(WOOD, greatest_spacing=1000.0, greatest_rake=None, block_spacing=None)
STEPS = (flight(7.5, 10.0),)  # 3-4-5: the secant of the slope is 1 1/4


def made(*runs: Run, assembly: Assembly = LONG, **more: object) -> Read:
    return made_of(runs, (), **{"assemblies": (assembly,), "flights": STEPS, **more})  # type: ignore[arg-type]


def verdicts(read: Read, demand: str) -> list[str]:
    return [row["Verdict"] for row in read.all("Code checks", Demand=demand)]


# bought balusters


@pytest.mark.parametrize(
    ("bought", "what", "remedy"),
    [
        (28.0, 'run S needs balusters of 28 1/16": longer than the 28" that are bought', "buy longer ones"),
        (28.0625, "", ""),
        (32.0, 'run S meets the level guard: its bought balusters of 32" are cut to 28 1/16"', "choose Height: Own"),
    ],
)
def test_bought_balusters_that_do_not_fit_a_guard_that_meets_another(bought: float, what: str, remedy: str) -> None:
    """Level guard: 3 under the rail, cap and rails 8, balusters 32: 43. In line the caps' undersides meet over the
    middle of the top post, 3 + 1 3/4 from the edge: 43 - 1 + 1.25 - 4.75 x 3/4 = 39.6875 for the stair. Its cap and
    rails stand 8 x 1.25 = 10 high over 1/2: 29.1875 are left, less 1 1/2 x 3/4 for square ends: 28 1/16."""
    up = stair(60.0, 45.0, height=MEETS, upper_setback=3.0)
    on = level(60.0, from_support="P2", to_support="P3")
    read = made(up, on, assembly=replace(LONG, baluster_level_length=32.0, baluster_stair_length=bought))

    told = read.warned("balusters of")
    assert [row["What was found"] for row in told] == ([what] if what else [])
    assert all(row["What to do"].startswith(remedy) for row in told)


def test_bought_balusters_that_are_too_short_make_the_guard_too_low() -> None:
    """3 + 8 + 24 = 35 where 36 is asked for: balusters of 25."""
    read = made(level(60.0), assembly=replace(LONG, baluster_level_length=24.0))
    (row,) = read.all("Code checks", Demand="guard: height of the top")

    assert (row["Found"], row["Limit"], row["Verdict"]) == (35.0, 36.0, "fail")
    (told,) = read.warned("guard: height of the top")
    assert told["What to do"] == 'buy balusters of at least 25" instead of 24"'


# close, and whose clause


@pytest.mark.parametrize(
    ("clearance", "verdict"),
    [(3.9375, "pass"), (3.96875, "close"), (3.9921875, "close"), (4.0, "fail")],
)
def test_an_opening_is_close_within_a_sixteenth_of_the_sphere(clearance: float, verdict: str) -> None:
    """4 - 3 15/16 is a whole step of the tape; less is close; 4 lets the sphere through."""
    read = made(level(60.0), assembly=replace(LONG, level_clearance=clearance))

    assert verdicts(read, "opening under the bottom rail") == [verdict]


@pytest.mark.parametrize(("sphere", "verdict"), [(4.0, "pass"), (3.96, "close")])
def test_an_end_gap_of_a_drilled_rail_is_close_alike(sphere: float, verdict: str) -> None:
    """Eleven at 5 in centres in 59 3/8: (59.375 - 1.5 - 50) / 2 is 3 15/16, a whole step under 4, not under 3.96."""
    amended = {"level_sphere": sphere}
    read = made(level(59.375), assembly=replace(LONG, baluster_pitch=5.0), amendments=amended)

    assert verdicts(read, "opening between balusters as marked") == [verdict]


def test_openings_bear_the_clause_and_the_sphere_of_their_place() -> None:
    """R312.1.3 asks for 4 in, its second exception lets stairs have 4 3/8."""
    read = made(level(60.0), stair(60.0, 45.0, from_support="P3", to_support="P4", upper_setback=3.0))
    rows = read.all("Code checks", Demand="opening between balusters as marked")

    said = [(row["Where"].split("(")[1][0], row["Limit"], row["Clause"]) for row in rows]
    assert said == [("A", 4.0, "R312.1.3"), ("S", 4.375, "R312.1.3 exc. 2")]


def test_heights_bear_the_clause_of_their_place() -> None:
    read = made(level(60.0), stair(60.0, 45.0, from_support="P3", to_support="P4", upper_setback=3.0))
    rows = read.all("Code checks", Demand="guard: height of the top")

    assert [(row["Found"], row["Limit"], row["Clause"]) for row in rows] == [
        (36.5, 36.0, "R312.1.2"), (36.0, 34.0, "R312.1.2 exc. 1"),
    ]  # fmt: skip


# what is said of posts


@pytest.mark.parametrize(
    ("gap", "told"), [(3.9375, []), (4.0, ['move the post until the gap is at most 3 15/16", or close the gap'])]
)
def test_a_gap_beyond_an_end_post_is_cured_to_what_passes(gap: float, told: list[str]) -> None:
    read = made(level(60.0), supports=(Support(support="P2", kind=POST, state=NEW, gap_beyond=gap),))

    assert [row["What to do"] for row in read.warned("gap between the end post and the wall")] == told


def test_the_pull_on_the_upper_bolt_of_a_high_guard() -> None:
    """42 high, 1 of decking, bolts 2 from the edges of the rim: h = 45. 200 (45 + b) / b with b = 7 1/4 - 4, 9 1/4 - 4
    and 11 1/4 - 4 is 2969.2, 1914.3 and 1441.4 lb, by moments about the lower bolt."""
    read = made(level(60.0), assembly=replace(LONG, level_height=42.0))

    (told,) = read.warned("outward at")
    assert "2,969 lb (2x8), 1,914 lb (2x10), 1,441 lb (2x12)" in told["What was found"]


@pytest.mark.parametrize(
    ("below", "rims"),
    [(8.1875, "none of them"), (8.25, "2x8"), (10.25, "2x8 and 2x10"), (12.25, "2x8 and 2x10 and 2x12")],
)
def test_a_post_is_long_enough_for_decking_and_rim(below: float, rims: str) -> None:
    """1 of decking and rims of 7 1/4, 9 1/4 and 11 1/4 (PS 20)."""
    (told,) = made(level(60.0), assembly=replace(LONG, below_surface=below)).warned("outward at")

    assert f"the post is long enough beside {rims};" in told["What to do"]


# clears and caps


@pytest.mark.parametrize("sections", [1, 2])
@pytest.mark.parametrize(
    ("walls", "apart", "told"),
    [
        ("", 0.125, 0),
        ("", 0.1875, 1),
        ("1", 0.5, 0),
        ("2", 0.5, 0),
        ("1", 0.5625, 1),
        ("12", 0.0625, 0),
        ("12", 0.125, 1),
    ],
)
def test_two_clears_of_a_run_may_differ(sections: int, walls: str, apart: float, told: int) -> None:
    """Between new posts by an eighth, at the one wall by half an inch (both common practice, no source), between two
    walls by what a tape cannot tell; however many sections there are."""
    run = level(66.0, clear_top=66.0 + apart, sections=sections)
    there = [Support(f"P{number}", WALL) for number in walls]

    assert len(made(run, supports=there).warned("at the bottom")) == told


@pytest.mark.parametrize(("higher", "told"), [(0.0625, 0), (0.125, 1)])
def test_caps_in_line_may_differ_by_a_step_of_the_tape(higher: float, told: int) -> None:
    """Guards of 36 1/2 and a sixteenth or an eighth more, meeting straight on at P2."""
    high = replace(LONG, assembly="HIGH", level_height=36.5 + higher)
    runs = (
        level(60.0, direction=90.0),
        level(60.0, run="B", from_support="P2", to_support="P3", direction=90.0, assembly="HIGH"),
    )

    assert len(made_of(runs, (), assemblies=(LONG, high)).warned("undersides over its middle")) == told


# ramps


@pytest.mark.parametrize(("rise", "told"), [(5.0, 0), (5.0625, 1)])
def test_a_ramp_steeper_than_one_in_twelve_needs_a_handrail(rise: float, told: int) -> None:
    """60 in on 5 is exactly 1 in 12 (IRC 2021 R311.8.3, from memory)."""
    read = made(ramp(60.0, rise))

    assert len(read.warned("has no handrail at a height for hands")) == told


# blocks and their screws


@pytest.mark.parametrize(("length", "told"), [(2.6875, 2), (2.75, 0), (3.0625, 0), (3.1875, 2)])
def test_a_screw_up_through_a_block_of_a_ramp(length: float, told: int) -> None:
    """A ramp of 60 on 25 (5-12-13): a block is 3 high in its middle, the rail of 1 1/2 stands 1 1/2 x 13/12 = 1 5/8. A
    #8 screw of 0.164 must reach 6 x 0.164 = 0.984 into it (NDS 12.1.5.6, from memory) and stop 1/4 x 13/12 = 0.271
    short (common practice, no source): 3.984 to 4.354, of which its head is sunk by 1 1/4: 2.734 to 3.104, and half a
    step of the tape to either side. The rail, 65 long, has 65 / 24 = 2.7, so 3 - 1 = 2 blocks."""
    low = replace(WOOD, bottom_rail_depth=1.5, top_rail_depth=1.5)
    screw = Fastening(WOOD.assembly, BLOCK, SCREW, "SCREW", 1, counterbore_depth=1.25, length=length, gauge="#8")
    read = made(ramp(60.0, 25.0), assembly=low, fastenings=(screw,))

    assert len([row for row in read.all("Warnings") if row["Where"].startswith("block ")]) == told


# the summary counts


def test_the_summary_counts_what_is_built() -> None:
    """A: two sections of 60; B: one. Rails 2 x 3, balusters (60 - 4) / 5 1/2 = 10.2, so 11 each; posts P1, one between
    and P2, and two of B. 123.5 + 60 in of guard."""
    page = made_of([level(123.5), level(60.0, run="B", from_support="P3", to_support="P4")]).row("Summary")

    counted = ("Runs laid out", "Sections", "New posts", "Rails", "Balusters", "Support blocks")
    assert [page[each] for each in counted] == [2, 3, 5, 6, 33, 0]
    assert page["Level guard"] == 183.5


def test_the_summary_counts_verdicts() -> None:
    """Under the rail 4, which fails; the drop of B is not measured."""
    read = made(level(60.0), level(60.0, run="B", from_support="P3", to_support="P4", drop=None),
                assembly=replace(LONG, level_clearance=4.0), flights=())  # fmt: skip
    page = read.row("Summary")

    assert (page["Checks that fail"], page["Checks not measured"]) == (2, 1)
    assert len(read.all("Code checks")) == page["Checks made"]


def test_a_flight_of_four_risers_needs_one_side_that_a_hand_can_grasp() -> None:
    """IRC R311.7.8. A flat cap is none; a handrail of its own is."""
    up = stair(30.0, 22.5, upper_setback=3.0)
    four, three = flight(7.5, 10.0, risers=4), flight(7.5, 10.0, risers=3)
    rail = Run(run="H", kind=HANDRAIL, assembly=LONG.assembly, flight="F1")
    asked = "handrail: sides with one that a hand can grasp"

    assert verdicts(made(up, flights=(four,)), asked) == ["fail"]
    assert verdicts(made(up, rail, flights=(four,)), asked) == ["pass"]
    assert verdicts(made(up, flights=(three,)), asked) == ["pass"]


# leans


def test_sections_that_lean_are_cut_apart_from_those_that_stand() -> None:
    """Both clears 60; the posts of A lean 1 degree one way, so that its rails are parallelograms: edges of 60, both
    cuts 1 degree from square. B stands plumb. A board of 121 for two rails of a run; A's take 3 1/2 x tan 1 more."""
    ends = [Support(support=mark, kind=POST, state=EXISTING, standing_height=60.0) for mark in ("P1", "P2", "P3", "P4")]
    runs = (level(60.0, lean_from=1.0, lean_to=-1.0), level(60.0, run="B", from_support="P3", to_support="P4"))
    read = made_of(runs, (Price(item="RAIL", sold_as=BOARD, length=121.0, price=9.0),), supports=ends)

    rows = [
        (row["Goes to"], row["Pieces"], row["Length"], row["Ends"]) for row in read.all("Cut list", Part="Both rails")
    ]
    assert rows == [("A.1", 2, 60.0, "parallel"), ("B.1", 2, 60.0, "square")]
    leaning = read.row("Cut list", Part="Both rails", Goes_to="A.1")
    assert abs(leaning["Lower or left cut"]) == pytest.approx(1.0)
    used = sorted(row["Used"] for row in read.all("Cutting plan"))
    assert used == pytest.approx([120.0, 120.0 + 3.5 * math.tan(math.radians(1.0))])


def test_sections_that_lean_alike_are_cut_alike() -> None:
    ends = [Support(support=mark, kind=POST, state=EXISTING, standing_height=60.0) for mark in ("P1", "P2", "P3", "P4")]
    one = level(60.0, lean_from=1.0, lean_to=-1.0)
    read = made_of((one, replace(one, run="B", from_support="P3", to_support="P4")), supports=ends)

    row = read.row("Cut list", Part="Both rails")
    assert (row["Goes to"], row["Pieces"], row["Ends"]) == ("A.1, B.1", 4, "parallel")
