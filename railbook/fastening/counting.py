"""Where the number of each joint stands: that of one run, and that of all runs of an assembly.

The engine's side is a count of each run by joint: `joints` of the working places, `brackets` of a handrail.
"""

from typing import NamedTuple

from railbook.basics.joins import Join, written
from railbook.fastening import places
from railbook.fastening.places import RAIL_ENDS
from railbook.geometry import handrails, lines
from railbook.job.assemblies import MOUNTS
from railbook.job.fastenings import (
    BALUSTER_END,
    BLOCK,
    CAP_TO_POST,
    CAP_TO_RAIL,
    HANDRAIL_BRACKET,
    HANDRAILS_TAB,
    PLACES_TAB,
    RAIL_END,
    RAIL_TO_POST,
    RAIL_TO_WALL,
    post_joint,
)

_JOINS = {
    "line": Join(lines.TAB, "place_row", "place.line"),
    "place": Join(places.TAB, "place_row", "place"),
    "rail": Join(handrails.TAB, "place_row", "place"),
}
# Formula part: whether anything asks for another run of which joints are counted.
STALE = {
    PLACES_TAB: "{lines_status_count}+{posts_status_count}+{sections_status_count}+{baluster_layout_status_count}>0",
    HANDRAILS_TAB: "{handrails_status_count}>0",
}


class Counts(NamedTuple):
    """Formula parts that count a joint.

    Attributes:
        of_run: of the run at `place_row` of its tab.
        of_assembly: of all runs of the assembly at `assembly_row` of tab Assemblies.
    """

    of_run: str
    of_assembly: str


def _counts(of_run: str, of_assembly: str) -> Counts:
    return Counts(written(of_run, _JOINS, {}), of_assembly)


def _of_posts(mount: str) -> Counts:
    """New posts with that mount."""
    counted = 'COUNTIFS({posts_WHOSE_row},{OWN_row},{posts_mount},"MOUNT")'.replace("MOUNT", mount)
    run, assembly = (counted.replace("WHOSE", whose).replace("OWN", own) for whose, own in _OWNERS)
    return _counts(run, assembly)


_OWNERS = (("line", "place"), ("assembly", "assembly"))
_SECTIONS = "SUMIFS({lines_sections},{lines_assembly_row},{assembly_row})"
_WALLS = "SUMIFS({places_walls},{lines_assembly_row},{assembly_row})"  # both tabs have a row for each run
_AT_WALL = RAIL_ENDS // 2
COUNTS = {
    **{post_joint(mount): _of_posts(mount) for mount in MOUNTS},
    BALUSTER_END: _counts("{place.baluster_end}", "SUMIFS({places_baluster_end},{lines_assembly_row},{assembly_row})"),
    RAIL_END: _counts(f"{RAIL_ENDS}*{{line.sections}}", f"{RAIL_ENDS}*{_SECTIONS}"),
    RAIL_TO_POST: _counts(
        f"{RAIL_ENDS}*{{line.sections}}-{_AT_WALL}*{{place.walls}}", f"{RAIL_ENDS}*{_SECTIONS}-{_AT_WALL}*{_WALLS}"
    ),
    RAIL_TO_WALL: _counts(f"{_AT_WALL}*{{place.walls}}", f"{_AT_WALL}*{_WALLS}"),
    BLOCK: _counts(
        "SUMIFS({sections_blocks},{sections_line_row},{place_row})",
        "SUMIFS({sections_blocks},{sections_assembly_row},{assembly_row})",
    ),
    CAP_TO_POST: _counts("{place.cap_to_post}", "SUMIFS({places_cap_to_post},{lines_assembly_row},{assembly_row})"),
    CAP_TO_RAIL: _counts(
        "SUMPRODUCT(({sections_line_row}={place_row})*({sections_spaced}={fastening_row})*{sections_along})",
        "SUMIFS({sections_along},{sections_spaced},{fastening_row})",
    ),
    HANDRAIL_BRACKET: _counts(
        "SUM({rail.brackets})", "SUMIFS({handrails_brackets},{handrails_assembly_row},{assembly_row})"
    ),
}
