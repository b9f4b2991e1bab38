"""Every screw and bolt of the starting assemblies against the least and the greatest length that its joint takes.

The window is worked out here from layers, as a carpenter would with a pencil: a screw reaches six of its diameters into
what holds it (NDS 12.1.5.6, from memory) and stops 1/4 in (6 mm) short of a face that a hand meets (common practice, no
source); a bolt passes layers, two washers, a nut and two threads and stands out no more than 1 in (25 mm). Sizes of
lumber: PS 20. Outsides: #8 0.164 in; core of #8: 0.131 (NDS appendix L, from memory).
"""

import math
from dataclasses import replace
from typing import Any, NamedTuple

import pytest

from railbook.basics.problem import LOOK, NOTE, Origin, Problem
from railbook.basics.units import Refusal
from railbook.checks.screws import block_cure, screw_problems
from railbook.geometry.survey import lay_out_site
from railbook.job import starter_fastenings, starters
from railbook.job.fastenings import (
    BALUSTER_END,
    BLOCK,
    BOLT,
    CAP_TO_POST,
    CAP_TO_RAIL,
    CONNECTOR,
    HANDRAIL_BRACKET,
    RAIL_END,
    RAIL_TO_POST,
    RAIL_TO_WALL,
    SCREW,
    Fastening,
    diameter,
)
from railbook.job.runs import Run
from railbook.takeoff.choices import lay_out_shop
from railbook.takeoff.screws import Reach
from tests.small_jobs import PLAIN, flight, level, stair, work

STEEP = math.tan(math.radians(37.0))
UNITS = ("in", "mm")


class Stack(NamedTuple):
    """Layers that a screw passes, what holds it, whether a hand meets the far face, and the slant of the screw."""

    layers: float
    holder: float
    hand: bool = True
    start: float = 0.0  # of a slanted screw: from the end of the piece
    slant: float = 0.0


SLANT = 30.0
INCHES: dict[tuple[str, str, str], Stack] = {  # assembly, joint, what
    ("WOOD", BALUSTER_END, SCREW): Stack(0.0, 3.5, start=0.75, slant=SLANT),  # half of 1 1/2, into a rail on edge
    ("WOOD", RAIL_TO_POST, SCREW): Stack(0.0, 3.5, start=1.0, slant=SLANT),
    ("WOOD", CAP_TO_RAIL, SCREW): Stack(1.0, 3.5),
    ("WOOD", CAP_TO_POST, SCREW): Stack(1.0, 36.0),
    ("COMPOSITE", BALUSTER_END, SCREW): Stack(0.125, 1.5),  # a connector
    ("COMPOSITE", RAIL_END, SCREW): Stack(0.06, 1.5),  # a bracket
    ("COMPOSITE", RAIL_TO_POST, SCREW): Stack(0.06 + 0.12 + 0.38, 3.5),  # bracket, sleeve, gap
    ("COMPOSITE", CAP_TO_RAIL, SCREW): Stack(1.0, 1.5),
    ("COMPOSITE", CAP_TO_POST, SCREW): Stack(1.0 + 0.125, 36.0),
    ("METAL", RAIL_END, SCREW): Stack(0.06, 1.5),
    ("METAL", RAIL_TO_POST, SCREW): Stack(0.06, 3.5),
    ("METAL", CAP_TO_RAIL, SCREW): Stack(1.0, 1.5),
    ("METAL", CAP_TO_POST, SCREW): Stack(1.0, 36.0),
}
MILLIMETRES: dict[tuple[str, str, str], Stack] = {
    ("WOOD", BALUSTER_END, SCREW): Stack(0.0, 90.0, start=20.0, slant=SLANT),
    ("WOOD", RAIL_TO_POST, SCREW): Stack(0.0, 90.0, start=25.0, slant=SLANT),
    ("WOOD", CAP_TO_RAIL, SCREW): Stack(25.0, 90.0),
    ("WOOD", CAP_TO_POST, SCREW): Stack(25.0, 900.0),
    ("COMPOSITE", BALUSTER_END, SCREW): Stack(3.0, 40.0),
    ("COMPOSITE", RAIL_END, SCREW): Stack(1.5, 40.0),
    ("COMPOSITE", RAIL_TO_POST, SCREW): Stack(1.5 + 12.5, 90.0),
    ("COMPOSITE", CAP_TO_RAIL, SCREW): Stack(25.0, 40.0),
    ("COMPOSITE", CAP_TO_POST, SCREW): Stack(25.0 + 3.0, 900.0),
    ("METAL", RAIL_END, SCREW): Stack(1.5, 40.0),
    ("METAL", RAIL_TO_POST, SCREW): Stack(1.5, 90.0),
    ("METAL", CAP_TO_RAIL, SCREW): Stack(25.0, 40.0),
    ("METAL", CAP_TO_POST, SCREW): Stack(25.0, 900.0),
}
ALIKE = {  # joints of every assembly, by unit: handrail bracket at the wall, and at a rail of 1 1/2 in
    "in": {HANDRAIL_BRACKET: (Stack(0.1 + 0.5, 3.5, hand=False), Stack(0.1, 1.5))},
    "mm": {HANDRAIL_BRACKET: (Stack(2.5 + 12.5, 90.0, hand=False), Stack(2.5, 40.0))},
}
STACKS = {"in": INCHES, "mm": MILLIMETRES}
INSIDE = {"in": 0.25, "mm": 6.0}


OUTSIDES = {"#8": 0.164, "1/4": 0.25, "1/2": 0.5, "4": 4.0, "4.5": 4.5, "6": 6.0, "M6": 6.0, "M12": 12.0}


def thick(row: Fastening, unit: str) -> float:
    """Outside of its thread, and that the program reads it so."""
    assert diameter(row.gauge or "", unit) == pytest.approx(OUTSIDES[row.gauge or ""])
    return OUTSIDES[row.gauge or ""]


def into(row: Fastening, stack: Stack) -> float:
    """How far a screw reaches into what holds it, along itself."""
    before = stack.start / math.cos(math.radians(stack.slant)) + stack.layers
    return (row.length or 0.0) + (row.counterbore_depth or 0.0) - before


def fits(row: Fastening, stack: Stack, unit: str) -> bool:
    """Long enough to hold, short enough to stay inside."""
    reach = into(row, stack)
    left = stack.holder - reach * math.cos(math.radians(stack.slant))
    return reach >= 6 * thick(row, unit) - 1e-9 and left >= (INSIDE[unit] if stack.hand else 0.0) - 1e-9


def rows(unit: str, joint: str, what: str = SCREW, assembly: str = "") -> list[Fastening]:
    """Starting rows of a joint."""
    every = starter_fastenings.fastenings(unit)
    return [row for row in every if (row.joint, row.what) == (joint, what) and row.assembly in (assembly, row.assembly)
            and (not assembly or row.assembly == assembly)]  # fmt: skip


@pytest.mark.parametrize("unit", UNITS)
def test_every_screw_of_known_layers_is_in_its_window(unit: str) -> None:
    """Square to a raked rail the layers are as thick as on the level, so that these fit at any slope."""
    for (assembly, joint, what), stack in STACKS[unit].items():
        (row,) = rows(unit, joint, what, assembly)
        assert fits(row, stack, unit), (assembly, joint, row.item, into(row, stack))
    for joint, stacks in ALIKE[unit].items():
        for assembly in ("WOOD", "COMPOSITE", "METAL"):
            for row, stack in zip(rows(unit, joint, SCREW, assembly), stacks, strict=True):
                assert fits(row, stack, unit), (assembly, joint, row.item, into(row, stack))


def test_no_screw_of_a_rail_is_left_out_of_the_table() -> None:
    for unit in UNITS:
        known = {joint for _, joint, _ in STACKS[unit]} | set(ALIKE[unit]) | {BLOCK}
        driven = {row.joint for row in starter_fastenings.fastenings(unit) if row.what == SCREW}
        assert {joint for joint in driven if joint and not joint.startswith("Post ")} == known


BOLTED = {  # layers, washers, nut and two threads of 1/2-13 and M12
    "in": {"Post inside rim": 0.1 + 1.5 + 3.5 + 0.12 + 0.1 + 0.4375 + 2 / 13,
           "Post on fascia": 3.5 + 0.75 + 1.5 + 0.12 + 0.2 + 0.4375 + 2 / 13,
           "Post on stringer": 3.5 + 1.5 + 0.2 + 0.4375 + 2 / 13},
    "mm": {"Post inside rim": 45.0 + 90.0 + 3.0 + 5.0 + 10.8 + 3.5, "Post on fascia": 90.0 + 20.0 + 45.0 + 8.0 + 14.3,
           "Post on stringer": 90.0 + 45.0 + 5.0 + 14.3},
}  # fmt: skip


@pytest.mark.parametrize("unit", UNITS)
def test_bolts_pass_all_layers_and_stand_out_no_further_than_an_inch(unit: str) -> None:
    for joint, needs in BOLTED[unit].items():
        for row in rows(unit, joint, BOLT):
            assert needs <= (row.length or 0.0) <= needs + {"in": 1.0, "mm": 25.0}[unit], (joint, row.item)
            loose = (row.pilot_bit or 0.0) - thick(row, unit)
            assert {"in": 1 / 32, "mm": 1.0}[unit] <= loose <= {"in": 1 / 16, "mm": 1.0}[unit]


@pytest.mark.parametrize("unit", UNITS)
def test_anchors_in_concrete_keep_a_bit_of_their_own_size(unit: str) -> None:
    anchors = rows(unit, "Post on concrete", "Anchor")

    assert len(anchors) == 3
    assert all(row.pilot_bit == thick(row, unit) for row in anchors)


def test_pilots_in_wood_are_narrower_than_the_core_and_composite_has_the_makers() -> None:
    """7/8 of 0.131 is 0.115: 7/64 and 3/32 are narrower, 9/64 is wider."""
    for row in starter_fastenings.fastenings("in"):
        if row.what == SCREW and row.gauge == "#8" and row.pilot_bit and row.joint != BLOCK:
            through_sleeve = row.assembly == "COMPOSITE" and row.joint == RAIL_TO_POST
            in_composite = row.assembly == "COMPOSITE" and row.joint in (BALUSTER_END, RAIL_END, CAP_TO_RAIL)
            assert through_sleeve or (row.pilot_bit == 9 / 64) == in_composite
            assert through_sleeve or in_composite or row.pilot_bit <= 0.875 * 0.131


def test_names_say_the_length_that_is_typed() -> None:
    """`#8 X 2 1/2 SCREW` is 2.5 long, `M12 X 180 BOLT` 180."""
    for unit in UNITS:
        for row in starter_fastenings.fastenings(unit):
            if row.length is not None:
                said = (row.item or "").split(" X ")[1].rsplit(" ", 1)[0]
                assert sum(eval_fraction(part) for part in said.split()) == row.length


def eval_fraction(text: str) -> float:
    """A whole number or a fraction."""
    over, _, under = text.partition("/")
    return float(over) / float(under or 1)


def test_a_return_leaves_room_for_a_hand() -> None:
    """Rail 1 1/2 in and 1 1/2 in to the wall (IRC 2021 R311.7.8.3, from memory); 38 and 38 mm."""
    assert all((each.handrail_return or 0.0) - 1.5 >= 1.5 for each in starters.assemblies("in"))
    assert all((each.handrail_return or 0.0) - 38.0 >= 38.0 for each in starters.assemblies("mm"))


def test_layers_of_every_starting_joint_are_listed() -> None:
    """Walls and connectors alone have none: what they pass is not known before the site is."""
    without = {row.joint for row in starter_fastenings.fastenings("in") if row.what in ("Anchor", CONNECTOR)}
    assert without == {BALUSTER_END, RAIL_TO_WALL, "Post on concrete"}


# what the program says


def told(*runs: Run, unit: str = "in", **more: Any) -> list[Problem]:
    """What is told of the screws of a job with the starting fastenings."""
    assemblies = starters.assemblies(unit)
    given = {"assemblies": assemblies, "fastenings": starter_fastenings.fastenings(unit), **more}
    worked = work(*runs, **given)
    site = lay_out_site(worked.job, worked.choices.site)
    return list(screw_problems(worked.job, site, lay_out_shop(worked.job, site, worked.choices.shop)))


@pytest.mark.parametrize("assembly", ["WOOD", "COMPOSITE", "METAL"])
def test_on_the_level_no_starting_screw_is_warned_of(assembly: str) -> None:
    assert told(level(60.0, assembly=assembly)) == []


STEPS = flight(10 * STEEP, 10.0, risers=7)
FLIGHT = stair(66.0, 66.0 * STEEP, upper_setback=3.0)


@pytest.mark.parametrize("assembly", ["WOOD", "COMPOSITE", "METAL"])
def test_at_37_degrees_every_block_is_warned_of_whose_screw_does_not_fit(assembly: str) -> None:
    """Which do not is worked out here from the two sides of each block on the Support blocks tab."""
    typed = stair(66.0, 66.0 * STEEP, upper_setback=3.0, assembly=assembly)
    given = {"assemblies": starters.assemblies("in"), "fastenings": starter_fastenings.fastenings("in")}
    blocks = work(typed, flights=(STEPS,), **given).rows["blocks"]
    (screw,) = rows("in", BLOCK, SCREW, assembly)
    depth = {"WOOD": 3.5}.get(assembly, 1.5)
    missed = set()
    for block in blocks:
        reach = (screw.length or 0.0) + 1.0 - (block.long_side + block.short_side) / 2
        if reach < 6 * 0.164 or depth - reach * math.cos(math.radians(37.0)) < 0.25:
            missed.add(f"block {block.number} of {block.used_in}")

    problems = told(typed, flights=(STEPS,))
    assert {problem.where for problem in problems} == missed != set()
    assert {problem.severity for problem in problems} <= {LOOK, NOTE}
    serves = {f"block {block.number} of {block.used_in}": not block.screw_says for block in blocks}
    assert all((problem.severity == NOTE) == serves[problem.where] for problem in problems)


@pytest.mark.parametrize("assembly", ["WOOD", "COMPOSITE", "METAL"])
def test_the_crew_reads_how_deep_to_bore_beside_each_block(assembly: str) -> None:
    """Six diameters of #8 in the rail, to the next sixteenth; what is left of it then is square to the rail."""
    typed = stair(66.0, 66.0 * STEEP, upper_setback=3.0, assembly=assembly)
    given = {"assemblies": starters.assemblies("in"), "fastenings": starter_fastenings.fastenings("in")}
    blocks = work(typed, flights=(STEPS,), **given).rows["blocks"]

    assert len(blocks) == 3
    for block in blocks:
        wanted = max(0.0, block.middle_height + 6 * 0.164 - 3.0)
        assert block.bore - 1 / 16 < wanted <= block.bore
        reach = 3.0 + block.bore - block.middle_height
        left = {"WOOD": 3.5}.get(assembly, 1.5) - reach * math.cos(math.radians(37.0))
        assert block.screw_left * math.cos(math.radians(37.0)) == pytest.approx(left)
        assert (block.screw_says == "") == (left >= 0.25)


def test_a_block_without_a_known_screw_says_so() -> None:
    bare = tuple(replace(row, gauge=None) for row in starter_fastenings.fastenings("in"))
    (first, _) = work(level(60.0), fastenings=bare).rows["blocks"]

    assert (first.bore, first.screw_says) == (None, "not known")


def test_the_hole_that_a_warning_names_lets_the_screw_fit() -> None:
    """Typed as the depth for all blocks, it mends its own block."""
    starting = starter_fastenings.fastenings("in")
    for problem in told(FLIGHT, flights=(STEPS,)):
        inches = problem.remedy.removeprefix("bore the wider hole ").partition('" deep there')[0]
        deep = sum(eval_fraction(part) for part in inches.split())
        mended = tuple(replace(row, counterbore_depth=deep) if row.joint == BLOCK else row for row in starting)
        assert problem.where not in {each.where for each in told(FLIGHT, flights=(STEPS,), fastenings=mended)}


BORES = {  # #8 x 3 1/2 under a rail of 1 1/2 at 3 in 4: nosing to block, least and greatest depth
    3.0: (0.234, 0.8125), 4.0: (0.984, 1.5625), 6.0: (2.484, 3.0625), 9.0: (4.734, 5.3125),
}  # fmt: skip


@pytest.mark.parametrize("back", BORES)
def test_how_deep_a_head_may_sit_under_a_rake(back: float) -> None:
    """Height 1/2 + 3/4 of the distance; 6 x 0.164 into the rail, 1 1/4/0.8 at most."""
    reach = Reach(3.5, 0.164, layers=0.5 + 0.75 * back, holder=1.5 * 1.25, sunk=1.0, inside=0.25 * 1.25)

    assert (reach.least_sunk, reach.most_sunk) == pytest.approx(BORES[back])
    assert reach.fits == (BORES[back][0] <= 1.0 <= BORES[back][1])


def test_a_low_block_takes_a_shorter_screw() -> None:
    """1 1/4 high, 1 in behind its nosing: no depth serves the long screw; 2.234 to 2.8125 in fits without one."""
    reach = Reach(3.5, 0.164, layers=1.25, holder=1.5 * 1.25, sunk=0.0, inside=0.25 * 1.25)

    assert reach.most_sunk == pytest.approx(-0.6875)
    assert (reach.shortest, reach.longest) == pytest.approx((2.234, 2.8125))
    assert block_cure(reach, PLAIN).startswith('take a screw of 2 1/4" to 2 13/16", without')


def test_the_old_cap_screw_is_told_to_come_out_under_the_hand() -> None:
    """#8 x 3 through a cap of 1 into a flat rail of 1 1/2: 1/2 in out; 1.984 to 2.25 fit."""
    old = tuple(
        replace(row, item="#8 X 3 SCREW", length=3.0) if row.joint == CAP_TO_RAIL else row
        for row in starter_fastenings.fastenings("in")
    )
    (problem,) = told(level(60.0, assembly="METAL"), fastenings=old)

    assert 'comes 1/2" out of the rail' in problem.what
    assert 'a screw of 2" to 2 1/4"' in problem.remedy


def test_a_length_that_nobody_typed_is_asked_for_not_taken_for_fitting() -> None:
    bare = tuple(replace(row, length=None) for row in starter_fastenings.fastenings("in"))
    problems = told(level(60.0), fastenings=bare)

    assert [problem.what.split("whether ")[1] for problem in problems] == [
        "#8 X 3 SCREW for Block reaches and stays inside", "#8 X 2 1/2 SCREW for Cap to rail reaches and stays inside",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("gauge", "unit", "outside"),
    [("#6", "in", 0.138), ("#8", "in", 0.164), ("# 10", "in", 0.190), ("#8", "mm", 4.1656), ("1/4", "in", 0.25),
     ("m6", "mm", 6.0), ("M12", "in", 12 / 25.4), ("4.5 mm", "in", 4.5 / 25.4), ("4,5", "mm", None),
     ("8", "in", None), ("eight", "in", None), ("#800", "in", None)],
)  # fmt: skip
def test_gauges_as_people_say_them(gauge: str, unit: str, outside: float | None) -> None:
    """ASME B18.6.1 (from memory): #6 0.138, #8 0.164, #10 0.190 in."""
    found = diameter(gauge, unit)

    assert isinstance(found, Refusal) if outside is None else found == pytest.approx(outside)


def test_a_gauge_that_says_nothing_is_told_with_its_cell() -> None:
    row = replace(
        rows("in", BLOCK, SCREW, "WOOD")[0], gauge="thick", origin=Origin("Fastenings", {"gauge": "Fastenings!P9"})
    )
    (problem,) = [each for each in work(level(60.0), fastenings=(row,)).problems if "gauge" in each.what]

    assert problem.where == "Fastenings!P9"
    assert "such as #8" in problem.remedy


def test_a_block_that_is_bored_away_under_the_head_needs_a_longer_screw() -> None:
    """A #8 x 1 1/2 holds with its head 7 11/16 + 0.984 - 1.5 deep: 1/2 in is left over it, 3/4 is the least."""
    short = tuple(
        replace(row, length=1.5) if row.joint == BLOCK else row for row in starter_fastenings.fastenings("in")
    )
    blocks = work(FLIGHT, flights=(STEPS,), fastenings=short).rows["blocks"]

    assert {block.screw_says for block in blocks} == {"needs a longer one"}
    assert all(block.middle_height - block.bore < 0.75 for block in blocks)


def test_a_second_screw_row_counts_where_the_first_says_nothing() -> None:
    first = replace(rows("in", BLOCK, SCREW, "WOOD")[0], gauge=None)
    second = replace(first, gauge="#8")
    (block, _) = work(level(60.0), fastenings=(first, second)).rows["blocks"]

    assert (block.bore, block.chosen.row) == (1.0, 2)
