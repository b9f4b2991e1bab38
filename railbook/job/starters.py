"""What a blank form starts with: three generic assemblies, a few prices and example rows.

Sizes are common practice, no source, but for sawn lumber: PS 20 dressed sizes (2x4 is 1-1/2 x 3-1/2,
4x4 is 3-1/2 x 3-1/2, 5/4x6 is 1 x 5-1/2). The millimetre figures are sizes of their own, not converted ones.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from typing import Any

from railbook.basics.double_entry import EXAMPLE
from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.problem import LOOK, Problem
from railbook.job import starter_fastenings
from railbook.job.assemblies import INSIDE_RIM, NO, ON_SURFACE, RAKE, SQUARE, Assembly
from railbook.job.flights import Flight
from railbook.job.prices import BOARD, EACH, Price
from railbook.job.runs import FINISHED, LEVEL, OPEN, OWN, Run
from railbook.job.settings import Settings
from railbook.job.supports import NEW, WALL, Support

CHECK = "check against your supplier"

_HANDRAIL: dict[str, Any] = {
    "handrail_item": "HANDRAIL", "handrail_height": 36.0, "handrail_return": 3.0, "handrail_past_top": 0.0,
    "handrail_past_bottom": 0.0, "handrail_bracket_spacing": 32.0,
}  # fmt: skip

_WOOD = Assembly(
    assembly="WOOD", description=f"Rails on edge, square balusters, flat cap board: {CHECK}",
    post_item="4X4 POST", post_width=3.5, mount=INSIDE_RIM, below_surface=9.25, line_post_setback=3.0,
    cap_item="5/4X6 CAP", cap_width=5.5, cap_thickness=1.0, cap_overhang=1.0, cap_graspable=NO,
    top_rail_item="2X4", top_rail_depth=3.5, bottom_rail_item="2X4", bottom_rail_depth=3.5,
    bracket_fit=0.0, baluster_item="2X2", baluster_width=1.5, baluster_ends=RAKE,
    block_item="2X4", block_width=1.5, block_spacing=24.0,
    greatest_spacing=72.0, greatest_rake=45.0,
    level_height=36.5, stair_height=36.0, level_clearance=3.0, stair_clearance=0.5, rough_allowance=1.0,
    top_rail_width=1.5, bottom_rail_width=1.5, bracket_skew=5.0,
    **_HANDRAIL,
)  # fmt: skip
_COMPOSITE = Assembly(
    assembly="COMPOSITE", description=f"Composite rails, connectors, sleeves, cap board: {CHECK}",
    post_item="4X4 POST", post_width=3.5, sleeve_item="POST SLEEVE", sleeve_width=4.5, post_below_sleeve=0.125,
    skirt_item="POST SKIRT", mount=INSIDE_RIM, below_surface=9.25, line_post_setback=2.5,
    cap_item="CAP BOARD", cap_width=5.5, cap_thickness=1.0, cap_overhang=1.0, cap_graspable=NO,
    top_rail_item="TOP RAIL", top_rail_depth=1.5, bottom_rail_item="BOTTOM RAIL", bottom_rail_depth=1.5,
    bracket_fit=0.125, relief_cut=1.0, baluster_item="BALUSTER", baluster_width=1.25, baluster_ends=SQUARE,
    seat_top=0.25, seat_bottom=0.25,
    block_item="BLOCK", block_width=1.5, block_spacing=24.0,
    greatest_spacing=96.0, greatest_rail=94.0, greatest_rake=40.0,
    level_height=36.5, stair_height=36.0, level_clearance=3.0, stair_clearance=0.5, rough_allowance=1.0,
    top_rail_width=2.0, bottom_rail_width=2.0, bracket_skew=5.0,
    **_HANDRAIL,
)  # fmt: skip
_METAL = Assembly(
    assembly="METAL", description=f"Wood rails, slim metal balusters let in, flat cap board: {CHECK}",
    post_item="4X4 POST", post_width=3.5, mount=ON_SURFACE, below_surface=0.0, line_post_setback=3.0,
    cap_item="5/4X6 CAP", cap_width=5.5, cap_thickness=1.0, cap_overhang=1.0, cap_graspable=NO,
    top_rail_item="2X4", top_rail_depth=1.5, bottom_rail_item="2X4", bottom_rail_depth=1.5,
    bracket_fit=0.0625, baluster_item="METAL BALUSTER", baluster_width=0.75, baluster_ends=SQUARE,
    let_in_top=0.5, let_in_bottom=0.5,
    block_item="2X4", block_width=1.5, block_spacing=24.0,
    greatest_spacing=72.0, greatest_rake=45.0,
    level_height=36.5, stair_height=36.0, level_clearance=3.0, stair_clearance=0.5, rough_allowance=1.0,
    top_rail_width=3.5, bottom_rail_width=3.5, bracket_skew=5.0,
    **_HANDRAIL,
)  # fmt: skip

_MILLIMETRE_COMMON = {
    "post_width": 90.0, "below_surface": 235.0, "cap_width": 140.0, "cap_thickness": 25.0, "cap_overhang": 25.0,
    "block_width": 40.0, "block_spacing": 600.0, "greatest_spacing": 1800.0,
    "handrail_height": 915.0, "handrail_return": 80.0, "handrail_bracket_spacing": 800.0,
    "level_height": 930.0, "stair_height": 915.0, "level_clearance": 75.0, "stair_clearance": 12.0,
    "rough_allowance": 25.0,
}  # fmt: skip
_MILLIMETRE_SIZES: dict[str, dict[str, float]] = {
    "WOOD": {
        "top_rail_depth": 90.0, "bottom_rail_depth": 90.0, "bracket_fit": 0.0, "baluster_width": 40.0,
        "line_post_setback": 75.0, "top_rail_width": 40.0, "bottom_rail_width": 40.0,
    },
    "COMPOSITE": {
        "sleeve_width": 115.0, "post_below_sleeve": 3.0, "top_rail_depth": 40.0, "bottom_rail_depth": 40.0,
        "bracket_fit": 3.0, "relief_cut": 25.0, "baluster_width": 32.0, "seat_top": 6.0, "seat_bottom": 6.0,
        "greatest_spacing": 2400.0, "greatest_rail": 2350.0, "line_post_setback": 60.0,
        "top_rail_width": 50.0, "bottom_rail_width": 50.0,
    },
    "METAL": {
        "below_surface": 0.0, "top_rail_depth": 40.0, "bottom_rail_depth": 40.0, "bracket_fit": 2.0,
        "baluster_width": 20.0, "let_in_top": 12.0, "let_in_bottom": 12.0, "line_post_setback": 75.0,
        "top_rail_width": 90.0, "bottom_rail_width": 90.0,
    },
}  # fmt: skip


def assemblies(unit: str) -> tuple[Assembly, ...]:
    """The three starting assemblies in the job's unit.

    >>> [each.assembly for each in assemblies("in")]
    ['WOOD', 'COMPOSITE', 'METAL']
    """
    inch = (_WOOD, _COMPOSITE, _METAL)
    if unit == INCH:
        return inch
    return tuple(
        replace(each, **{**_MILLIMETRE_COMMON, **_MILLIMETRE_SIZES[each.assembly]})  # type: ignore[arg-type]
        for each in inch
    )


_BOARDS = ("4X4 POST", "5/4X6 CAP", "2X4", "2X2", "CAP BOARD", "TOP RAIL", "BOTTOM RAIL", "HANDRAIL")
_PIECES = ("POST SLEEVE", "BALUSTER", "METAL BALUSTER", "BLOCK", "POST SKIRT")
_BOARD_LENGTHS = {INCH: (96.0, 120.0, 144.0, 192.0), MILLIMETRE: (2400.0, 3000.0, 3600.0, 4800.0)}


def prices(unit: str) -> tuple[Price, ...]:
    """Items that the starting assemblies name, in the board lengths usually stocked, without prices."""
    boards = [Price(item=item, sold_as=BOARD, length=length) for item in _BOARDS for length in _BOARD_LENGTHS[unit]]
    pieces = (Price(item=item, sold_as=EACH) for item in _PIECES)
    return (*boards, *pieces, *starter_fastenings.prices(unit))


def settings(unit: str) -> Settings:
    """Settings that a blank form starts with; the job's name is left for the user."""
    if unit == INCH:
        return Settings(
            unit=INCH, tape_step=0.0625, fit_allowance=0.0625, build_margin=0.0625,
            saw_kerf=0.125, end_trim=0.25, shortest_offcut=24.0,
        )  # fmt: skip
    return Settings(
        unit=MILLIMETRE, tape_step=1.0, fit_allowance=1.5, build_margin=1.5,
        saw_kerf=3.0, end_trim=6.0, shortest_offcut=600.0,
    )  # fmt: skip


def example_run(unit: str) -> Run:
    """A row that shows how a run is typed; reading skips it because of its mark."""
    clear = {INCH: 90.375, MILLIMETRE: 2296.0}[unit]
    drop = {INCH: 42.0, MILLIMETRE: 1070.0}[unit]
    return Run(
        run=EXAMPLE, location="Porch front", kind=LEVEL, from_support="P1", to_support="P2", direction=90.0,
        assembly="WOOD", measured_to=FINISHED, clear_top=clear, clear_bottom=clear, stair_side=OPEN,
        drop=drop, height=OWN, notes="An example: type over it or leave it, it is not computed",
    )  # fmt: skip


def example_flight(unit: str) -> Flight:
    """A row that shows how a flight is typed."""
    riser, tread, overhang = {INCH: (7.5, 10.5, 1.0), MILLIMETRE: (190.0, 265.0, 25.0)}[unit]
    return Flight(
        flight=EXAMPLE, risers=4, total_rise=4 * riser, riser=riser, tread=tread, nosing_overhang=overhang,
        open_risers=NO, notes="An example: it is not computed",
    )  # fmt: skip


def typed_over(examples: Mapping[str, Any], unit: str) -> Iterator[Problem]:
    """Rows that still bear the mark of the form's example, although somebody typed over them.

    Args:
        examples: name of a tab -> its row of that mark.
        unit: the job's length unit.
    """
    own = {"runs": example_run(unit), "flights": example_flight(unit), "supports": example_support(unit)}
    for tab, row in examples.items():
        for field in fields(row):
            typed = getattr(row, field.name)
            if field.name != "origin" and typed not in (None, getattr(own.get(tab), field.name, None)):
                where = row.origin.cell(field.name)
                what = f"this row still bears the mark {EXAMPLE}, so it is not computed"
                yield Problem(where, what, "give it a mark of its own, if it is yours", LOOK)
                break


def example_support(unit: str) -> Support:
    """A row that shows how a support is typed."""
    del unit  # a wall has no measurement
    return Support(support=EXAMPLE, kind=WALL, state=NEW, notes="An example: it is not computed")
