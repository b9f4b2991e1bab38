"""Balusters, blocks and sizes against published and hand-worked figures, through the whole engine.

Sources stand beside each figure: a document, "from memory", or how it was derived. Counts follow the
IRC wording "shall not allow passage of a sphere": a gap that equals the sphere lets it pass.
"""

import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from railbook.basics.rounding import ceiling, round_to
from railbook.basics.units import feet_and_inches
from railbook.geometry import spacing
from railbook.job.settings import Settings
from railbook.job.starters import assemblies
from tests.small_jobs import COMPOSITE, METAL, SIXTEENTH, WOOD, Worked, flight, level, ramp, stair, work

FINE = Settings(job_name="TEST", tape_step=1 / 64)
ENDLESS = replace(WOOD, greatest_spacing=1000.0, block_spacing=None)


def section(clear: float, **more: Any) -> Worked:
    """One level section of that clear, balusters 1-1/2 in wide, however long."""
    return work(level(clear), **({"assemblies": (ENDLESS,)} | more))


# clear, balusters, gap [in]; the sphere is 4 in (IRC 2018 R312.1.3), balusters are 1-1/2 in
LEVEL_FACTS = (
    (72.0, 13, 3.75),  # a how-to article's 72 in example; (72 - 13 x 1.5) / 14
    (52.0, 9, 3.85),  # the same article; its recipe takes one more than needed: (52 - 9 x 1.5) / 10
    (92.5, 17, 67 / 18),  # derived: 8 ft on centre less a 3-1/2 in post
    (96.0, 17, 3 + 11 / 12),  # derived: (96 - 17 x 1.5) / 18
    (120.0, 22, 87 / 23),  # derived: (120 - 22 x 1.5) / 23
    (4.0, 1, 1.25),  # derived: without a baluster the gap is exactly 4.000
    (9.5, 2, 13 / 6),  # derived: with one baluster the gap is exactly 4.000
    (15.0, 3, 2.625),  # derived: with two balusters the gap is exactly 4.000
)


@pytest.mark.parametrize(("clear", "balusters", "gap"), LEVEL_FACTS)
def test_level_sections_have_the_published_count_and_gap(clear: float, balusters: int, gap: float) -> None:
    layout = section(clear).only("baluster_layout")

    assert (layout.count, layout.gap) == (balusters, pytest.approx(gap, abs=1e-9))


@pytest.mark.parametrize("extra", range(40))
def test_gap_of_exactly_the_sphere_never_passes(extra: int) -> None:
    """Clears of 4 + 5.5 k in come to exactly 4.000 in with k balusters (derived), so they take k + 1."""
    assert section(4.0 + 5.5 * extra).only("baluster_layout").count == extra + 1


@pytest.mark.parametrize("extra", range(40))
def test_sixty_fourth_less_than_the_tie_takes_one_baluster_fewer(extra: int) -> None:
    """Every gap is then a hair under 4 in; at a fine tape step the marks keep it there, or one is added."""
    layout = section(4.0 + 5.5 * extra - (extra + 1) / 64, settings=FINE).only("baluster_layout")

    assert (layout.count, layout.gap) == (extra, pytest.approx(4 - 1 / 64))


def test_first_centre_and_pitch_of_the_72_inch_section() -> None:
    """First centre 4-1/2, centres 5-1/4 apart: 3.75 + 0.75 and 3.75 + 1.5 (derived from the same example)."""
    layout = section(72.0).only("baluster_layout")

    assert layout.marks[:13] == tuple(4.5 + 5.25 * each for each in range(13))
    assert layout.after_last == 4.5


def test_last_mark_does_not_run_away_over_8_feet() -> None:
    """The gap of 3-11/12 is 3-15/16 on the tape; adding that up overruns the 96 in by 3/8 (derived:
    17 x 1.5 + 18 x 3.9375 = 96.375). Running centres end where they must."""
    layout = section(96.0).only("baluster_layout")
    added_up = 17 * 1.5 + 18 * (ceiling(layout.gap * 16) / 16)
    centres = [(each + 1) * layout.gap + (each + 0.5) * 1.5 for each in range(17)]

    assert added_up == 96.375
    assert all(abs(mark - centre) <= 1 / 32 + 1e-9 for mark, centre in zip(layout.marks[:17], centres, strict=True))
    assert layout.marks[16] + layout.after_last == 96.0
    assert layout.worst_gap < 4.0


@pytest.mark.parametrize("clear", [52.0, 72.0, 92.5, 96.0, 120.0])
def test_one_baluster_fewer_reaches_the_limit(clear: float) -> None:
    """The invariant that goes with the counts above: (n - 1) balusters leave 4 in or more (derived)."""
    fewer = section(clear).only("baluster_layout").count - 1

    assert (clear - fewer * 1.5) / (fewer + 1) >= 4.0


# counted by trial; published recipes divide and round, 52 / 5.5 = 9.45 up to 10 (derived)
@pytest.mark.parametrize(("clear", "balusters"), [(52.0, 9), (9.5, 2), (92.5, 17)])
def test_count_is_the_strict_minimum_not_a_rounded_quotient(clear: float, balusters: int) -> None:
    fewest = next(n for n in range(200) if Fraction(clear) - n * Fraction(3, 2) < 4 * (n + 1))

    assert section(clear).only("baluster_layout").count == fewest == balusters


def test_build_margin_takes_the_gap_down_to_the_margin_and_no_further() -> None:
    """With 1/16 in of margin a gap of exactly 3-15/16 is allowed: 3.9375 x 2 + 1.5 = 9.375 (derived)."""
    margin = Settings(job_name="TEST", tape_step=SIXTEENTH, build_margin=SIXTEENTH)

    assert section(9.375, settings=margin).only("baluster_layout").count == 1
    assert section(9.375 + 1 / 32, settings=margin).only("baluster_layout").count == 2


def raked(**changes: Any) -> Worked:
    """Stairs of 7-1/2 on 10 in, 60 in level clear."""
    return work(stair(60.0, 45.0, **changes), assemblies=(ENDLESS,), flights=(flight(7.5, 10.0),))


def test_sphere_meets_the_level_gap_on_stairs() -> None:
    """7-1/2 on 10 in stairs, 60 in level clear, sphere 4-3/8 in (IRC 2018 R312.1.3 exception): 10
    balusters, gap 45/11 on the level, centres 5.5909 on the level and 6.9886 along the rail (derived)."""
    layout = raked().only("baluster_layout")

    assert layout.count == 10
    assert layout.gap == pytest.approx(45 / 11)
    assert layout.gap + layout.width == pytest.approx(5.5909, abs=5e-5)
    assert layout.pitch == pytest.approx(6.9886, abs=5e-5)
    assert raked().only("sections").of.bottom_edge == 75.0


@pytest.mark.parametrize(
    ("riser", "tread", "added"),
    [(7.5, 10.0, 1.125), (7.75, 10.0, 1.1625)],  # 1.5 x riser / tread (derived)
)
def test_baluster_cut_to_the_rake_is_longer_tip_to_tip(riser: float, tread: float, added: float) -> None:
    guard = work(
        stair(6 * tread, 6 * riser), assemblies=(ENDLESS,), flights=(flight(riser, tread),)
    ).only("lines").guard  # fmt: skip

    assert guard.baluster_tip - guard.baluster_length == pytest.approx(added)


def test_opening_between_two_deep_rails_on_stairs() -> None:
    """36 in over the nosings, underside 1-1/4 in over them, two rails 3-1/2 in deep at 7-3/4 on 10 in:
    36 - 1.25 - 2 x 4.4281 = 25.894 in plumb (derived)."""
    bare = replace(ENDLESS, cap_item=None, cap_thickness=None, stair_clearance=1.25)
    guard = work(stair(60.0, 46.5), assemblies=(bare,), flights=(flight(7.75, 10.0),)).only("lines").guard

    assert guard.opening == pytest.approx(25.894, abs=5e-4)
    assert guard.baluster_length == guard.opening


# clear, greatest distance between supports of the bottom rail, blocks (derived: ceil(clear / most) - 1)
@pytest.mark.parametrize(
    ("clear", "most", "blocks"),
    [(68.5, 48.0, 1), (92.5, 48.0, 1), (140.5, 48.0, 2), (68.5, 36.0, 1), (92.5, 36.0, 2), (140.5, 36.0, 3)],
)
def test_blocks_leave_no_longer_stretch_of_rail(clear: float, most: float, blocks: int) -> None:
    worked = section(clear, assemblies=(replace(ENDLESS, block_spacing=most),))
    share = clear / (blocks + 1)  # 34.25, 46.25 and 46.833 in the first three

    assert worked.only("sections").of.blocks == blocks
    assert [row.wanted for row in worked.rows["blocks"]] == pytest.approx(
        [share * each for each in range(1, blocks + 1)]
    )
    assert share <= most


@pytest.mark.parametrize(("spacing_ft", "blocks"), [(6, 2), (8, 3)])
def test_blocks_of_the_usual_sections(spacing_ft: int, blocks: int) -> None:
    """24 in between blocks: 2 in a 6 ft and 3 in an 8 ft section (common practice, no source)."""
    clear = 12.0 * spacing_ft - 3.5
    assert section(clear, assemblies=(replace(ENDLESS, block_spacing=24.0),)).only("sections").of.blocks == blocks


def test_tape_rounding_traps() -> None:
    """3.8846 is 3-7/8 at sixteenths; 3-31/32 is a tie that must not be called 3-15/16 (derived)."""
    assert round_to(1 / 16, 3.8846) == 3.875
    assert round_to(1 / 64, 3.8846) == 3 + 57 / 64
    assert round_to(1 / 16, 3.96875) == 4.0
    assert feet_and_inches(3.96875, 1 / 16) == '4"'


def test_gap_a_sixteenth_cannot_show_is_still_checked_exactly() -> None:
    """A gap of 3-31/32 is legal, but marked to sixteenths it can open to 4 in: the layout as marked is
    checked, and a baluster is added (derived: one baluster in 9.4375 in, mark at 4.71875 -> 4-3/4)."""
    clear = 2 * 3.96875 + 1.5
    layout = section(clear).only("baluster_layout")
    assert spacing.count(clear=clear, width=1.5, limit=4.0, margin=0.0) == 1

    assert (layout.added, layout.count) == (1, 2)
    assert layout.worst_gap < 4.0


def test_starting_assemblies_have_dressed_sizes() -> None:
    """PS 20 dressed sizes: 4x4 is 3-1/2, 2x4 is 1-1/2 x 3-1/2, 2x2 is 1-1/2, 5/4x6 is 1 x 5-1/2 in."""
    assert (WOOD.post_width, METAL.post_width, COMPOSITE.post_width) == (3.5, 3.5, 3.5)
    assert (WOOD.top_rail_depth, WOOD.bottom_rail_depth, WOOD.block_width) == (3.5, 3.5, 1.5)
    assert (METAL.top_rail_depth, METAL.bottom_rail_depth, METAL.block_width) == (1.5, 1.5, 1.5)
    assert WOOD.baluster_width == 1.5
    assert (WOOD.cap_thickness, WOOD.cap_width) == (1.0, 5.5) == (METAL.cap_thickness, METAL.cap_width)


def test_millimetre_starters_are_round_figures() -> None:
    """Millimetre sizes are sizes of their own, never 25.4 times an inch figure."""
    lengths = [
        value
        for each in assemblies("mm")
        for name, value in vars(each).items()
        if isinstance(value, float) and name != "greatest_rake"
    ]

    assert lengths
    assert all(value == int(value) for value in lengths)


def test_ramp_balusters_keep_to_the_level_sphere() -> None:
    """A ramp is no open side of stairs: its sphere is 4 in (IRC 2018 R312.1.3), as on the level."""
    layout = work(ramp(60.0, 5.0), assemblies=(ENDLESS,)).only("baluster_layout")

    assert layout.line.guard.sphere == 4.0
    assert layout.count == 11  # derived: (60 - 11 x 1.5) / 12 = 3.625, with ten 45 / 11 = 4.09


@given(first=st.integers(0, 4_000), pitch=st.integers(1_000, 9_000), balusters=st.integers(2, 40))
def test_the_widest_step_between_rounded_marks_is_their_mean_rounded_up(first: int, pitch: int, balusters: int) -> None:
    """Derived: neighbours lie one of two whole numbers of tape steps apart. Thousandths of an inch on sixteenths."""
    steps = Fraction(16, 1000)
    ends = [math.floor((first + each * pitch) * steps + Fraction(1, 2)) for each in (0, balusters - 1)]
    widest = spacing.widest_step(first=first / 1000, pitch=pitch / 1000, balusters=balusters, step=SIXTEENTH)

    assert widest * 16 == math.ceil(Fraction(ends[1] - ends[0], balusters - 1))
