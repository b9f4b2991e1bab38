"""The fastener schedule: its totals are those of a count of the pieces, and of a small porch worked by hand."""

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.kinds import JOB_UNITS
from railbook.basics.problem import LOOK, Origin
from railbook.estimate import Estimate
from railbook.fastening.run_fasteners import RunFastener
from railbook.geometry.joints import FLUSH
from railbook.job import fastenings, starter_fastenings
from railbook.job.assemblies import INSIDE_RIM, ON_FASCIA
from railbook.job.build import build
from railbook.job.fastenings import (
    CAP_TO_RAIL,
    HANDRAIL_BRACKET,
    JOINTS,
    RAIL_TO_POST,
    RAIL_TO_WALL,
    Fastening,
    post_joint,
)
from railbook.job.runs import LEVEL, STAIR, Run
from railbook.job.supports import COLUMN, EXISTING, NEW, POST, WALL, Support
from tests.drawn_fastenings import drawn_fastening
from tests.small_jobs import COMPOSITE, METAL, WOOD, level, tabs
from tests.strategies import computed, random_rows
from tests.taper import Taper

SEEDS = range(300, 330)
STARTERS = tuple(replace(row, origin=Origin(fastenings.TAB.title)) for row in starter_fastenings.fastenings("in"))


def worked(*runs: Run, given: Sequence[Fastening] = STARTERS, **more: Any) -> Estimate:
    """Those runs with those rows of tab Fastenings."""
    return computed({**tabs(*runs, **more), "fastenings": tuple(given)})  # type: ignore[dict-item]


def porch(**more: Any) -> Estimate:
    """Two level runs of WOOD round a corner post P1: A of two sections, B of one section from the house wall W1.

    By hand, posts 3 1/2 in, no fit, gaps under 4 in, blocks at most 24 in apart, posts at most 72 in:
    A is 130 in clear: (130 + 3.5) / 72 = 1.9, so 2 sections of (130 - 3.5) / 2 = 63 1/4 in.
    Balusters of 1 1/2 in: (63.25 - 4) / 5.5 = 10.8, so 11 a section; B, 60 in: 56 / 5.5 = 10.2, so 11.
    Blocks: 63.25 / 24 = 2.6, so 2 a section; 60 / 24 = 2.5, so 2. Posts inside the rim: P1, P2, A/1.
    """
    return worked(
        level(130.0, direction=270.0),
        level(60.0, run="B", from_support="W1", to_support="P1", direction=180.0),
        supports=[Support(support="W1", kind=WALL)],
        **more,
    )


def totals(job: Estimate) -> dict[tuple[str, str], tuple[int, int]]:
    """(joint, item) -> joints and total of the schedule."""
    return {(row.of.joint, row.typed.item): (row.of.joints, row.total) for row in job.rows["fasteners"]}


def test_a_small_porch_has_the_fasteners_counted_by_hand() -> None:
    rim = "Post inside rim"

    assert totals(porch()) == {
        (rim, "1/2 X 6 BOLT"): (3, 6),
        (rim, "HOLD-DOWN"): (3, 3),
        (rim, "2X8 BLOCKING"): (3, 6),
        (rim, "1/4 X 3 1/2 SCREW"): (3, 24),
        ("Baluster end", "#8 X 2 SCREW"): (66, 132),  # 33 balusters, both ends, two screws
        ("Rail to post", "#8 X 3 SCREW"): (10, 20),  # 3 sections have 12 rail ends, 2 of them at the wall
        ("Rail to wall", "1/4 X 3 ANCHOR"): (2, 4),
        ("Block", "#8 X 3 SCREW"): (6, 6),
        ("Cap to post", "#8 X 3 SCREW"): (4, 8),  # A's board on P1, A/1, P2; B's on P1, and none at the wall
        ("Cap to rail", "#8 X 2 1/2 SCREW"): (8, 8),  # as many as blocks, and two where B's board ends at the wall
    }


def test_a_run_takes_its_own_joints_and_a_shared_post_counts_once() -> None:
    rows: Sequence[RunFastener] = porch().rows["run_fasteners"]
    of_run = {(row.run, row.of.joint, row.item): (row.joints, row.total) for row in rows}

    assert of_run["A", "Post inside rim", "1/2 X 6 BOLT"] == (3, 6)
    assert ("B", "Post inside rim", "1/2 X 6 BOLT") not in of_run
    assert of_run["A", "Rail to post", "#8 X 3 SCREW"] == (8, 16)
    assert of_run["B", "Rail to post", "#8 X 3 SCREW"] == (2, 4)
    assert of_run["B", "Rail to wall", "1/4 X 3 ANCHOR"] == (2, 4)
    assert of_run["B", "Cap to rail", "#8 X 2 1/2 SCREW"] == (4, 4)
    assert ("A", "Rail to wall", "1/4 X 3 ANCHOR") not in of_run


def test_the_holes_are_those_of_the_row() -> None:
    (block,) = [row.typed for row in porch().rows["fasteners"] if row.of.joint == "Block"]

    assert (block.pilot_bit, block.pilot_depth, block.hole) == (3 / 16, None, "Through")
    assert (block.counterbore_bit, block.counterbore_depth, block.driver) == (1 / 2, 1.0, "square #2")


# any job


def _random_job(seed: int) -> Estimate:
    """A random job with one row for each joint of each assembly, so that every joint can be read off the schedule."""
    draw = random.Random(seed)
    rows = random_rows(draw, 4)
    taper = Taper(draw, rows["job"][0].unit)
    drawn = [
        replace(drawn_fastening(taper, assembly.assembly, joint.word), per_joint=3)
        for assembly in rows["assemblies"]
        for joint in JOINTS
    ]
    return computed({**rows, "fastenings": tuple(drawn)})


@pytest.fixture(scope="module")
def jobs() -> list[Estimate]:
    return [_random_job(seed) for seed in SEEDS]


def _joints(job: Estimate) -> Counter[tuple[str, str]]:
    """(assembly, joint) -> joints of the schedule."""
    return Counter({(row.of.chosen_assembly, row.of.joint): row.of.joints for row in job.rows["fasteners"]})


def _pieces(job: Estimate) -> Counter[tuple[str, str]]:
    """(assembly, joint) -> joints, from the pieces of the cut list."""
    rail = ("Rail end", 2)
    parts = {"Top rail": rail, "Bottom rail": rail, "Both rails": rail, "Baluster": ("Baluster end", 2),
             "Block": ("Block", 1)}  # fmt: skip
    found: Counter[tuple[str, str]] = Counter()
    for piece in job.rows["cut_list"]:
        if piece.part in parts:
            joint, each = parts[piece.part]
            found[piece.assembly.assembly, joint] += each * piece.quantity
    return found


def _posts(job: Estimate) -> Counter[tuple[str, str]]:
    """(assembly, joint) -> new posts, from tab Supports and the Post schedule."""
    assert job.job is not None
    found: Counter[tuple[str, str]] = Counter()
    for post in job.rows["posts"]:
        typed = job.job.support_of.get(post.post) or Support(kind=POST, state=NEW)
        if (typed.kind or POST) == POST and typed.state != EXISTING:
            mount = typed.mount or post.assembly.mount
            if typed.mount or mount not in (INSIDE_RIM, ON_FASCIA) or _has_a_rim(job, post.post):
                found[post.assembly.assembly, post_joint(mount)] += 1
    return found


def _has_a_rim(job: Estimate, mark: str) -> bool:
    """Whether a frame may be beside that post: not between sections of a stair, nor where rakes start only."""
    assert job.job is not None
    of_run, _, between = mark.partition("/")
    if between:
        return all(run.kind != STAIR for run in job.job.sound_runs if run.run == of_run)
    ends = [(run.kind, run.to_support == mark) for run in job.job.sound_runs
            if mark in (run.from_support, run.to_support)]  # fmt: skip
    return any(kind == LEVEL or is_upper for kind, is_upper in ends)


def _rails_at(job: Estimate, kinds: Sequence[str]) -> Counter[str]:
    """Assembly -> rail ends at supports of those kinds, from tabs Runs and Supports; line posts are posts."""
    assert job.job is not None
    found: Counter[str] = Counter()
    for line in job.rows["lines"]:
        run = line.measures.typed
        supports = [job.job.support_of.get(mark) for mark in (run.from_support, run.to_support)]
        met = [POST if support is None else support.kind or POST for support in supports]
        met += 2 * (line.sections - 1) * [POST]
        found[run.assembly] += 2 * sum(kind in kinds for kind in met)
    return found


def _capped(job: Estimate) -> Iterator[tuple[str, int]]:
    """Assembly and posts under the cap board of each run: those at its ends past whose face it reaches."""
    for cap in job.rows["caps"]:
        assembly = cap.line.measures.assembly
        if assembly.cap_thickness and assembly.post_proud is None:
            ends = ((cap.from_reach, cap.from_end.kind), (cap.to_reach, cap.to_end.kind))
            lies = sum(reach > 0 and kind != FLUSH for reach, kind in ends)
            yield assembly.assembly, lies + cap.line.sections - 1


def _along(edge: float, spacing: float) -> int:
    """Fewest places that leave no two further apart than the spacing, tried one after the other."""
    places = 0
    while edge / (places + 1) > spacing + 1e-9:
        places += 1
    return places


def test_rails_balusters_and_blocks_are_counted_like_the_cut_list(jobs: list[Estimate]) -> None:
    for job in jobs:
        found = _joints(job)
        assert {key: count for key, count in _pieces(job).items() if count} == {
            key: count for key, count in found.items() if key[1] in ("Rail end", "Baluster end", "Block")
        }


def test_posts_are_counted_by_their_mount(jobs: list[Estimate]) -> None:
    for job in jobs:
        assert _posts(job) == {key: count for key, count in _joints(job).items() if key[1].startswith("Post ")}
    assert len({joint for job in jobs for _, joint in _posts(job)}) == 5


def test_rail_ends_go_to_posts_and_columns_or_to_walls(jobs: list[Estimate]) -> None:
    met: set[str] = set()
    for job in jobs:
        found = _joints(job)
        for joint, kinds in ((RAIL_TO_WALL, (WALL,)), (RAIL_TO_POST, (POST, COLUMN))):
            ends = {assembly: count for assembly, count in _rails_at(job, kinds).items() if count}
            assert {assembly: count for (assembly, word), count in found.items() if word == joint} == ends
            met |= {joint} if ends else set()
    assert met == {RAIL_TO_POST, RAIL_TO_WALL}


def test_cap_boards_are_counted_on_posts_and_along_rails(jobs: list[Estimate]) -> None:
    for job in jobs:
        assert job.job is not None
        found = _joints(job)
        posts: Counter[str] = Counter()
        for assembly, count in _capped(job):
            posts[assembly] += count
        spacings = {row.assembly: row.spacing or 0.0 for row in job.job.fastenings if row.joint == CAP_TO_RAIL}
        places: Counter[str] = Counter()
        for section in (each.of for each in job.rows["sections"]):
            if section.assembly.cap_thickness:
                places[section.assembly.assembly] += _along(section.top_edge, spacings[section.assembly.assembly])
        for cap in job.rows["caps"]:  # two more at an end that no screw into a post holds
            assembly = cap.line.measures.assembly
            off = ("Wall", "Dies", "Step", "Proud", "Flush", "Edge")
            against = sum(end.kind in off for end in (cap.from_end, cap.to_end))
            places[assembly.assembly] += 2 * against if assembly.cap_thickness and assembly.post_proud is None else 0
        for joint, expected in (("Cap to post", posts), (CAP_TO_RAIL, places)):
            assert {assembly: count for (assembly, word), count in found.items() if word == joint} == {
                assembly: count for assembly, count in expected.items() if count
            }


def test_handrail_brackets_are_those_of_the_runs_of_handrail(jobs: list[Estimate]) -> None:
    """A bracket at both ends and between them as many as the spacing asks for."""
    met = 0
    for job in jobs:
        brackets: Counter[str] = Counter()
        for rail in job.rows["handrails"]:
            spacing = rail.assembly.handrail_bracket_spacing
            if rail.total is not None and spacing is not None:
                brackets[rail.assembly.assembly] += 2 + max(0, _along(rail.total, spacing))
        found = {assembly: count for (assembly, word), count in _joints(job).items() if word == HANDRAIL_BRACKET}
        assert found == dict(brackets)
        met += sum(found.values())
    assert met > 20


def test_totals_are_joints_times_pieces_and_runs_add_up_to_them(jobs: list[Estimate]) -> None:
    for job in jobs:
        of_runs: Counter[int] = Counter()
        for row in job.rows["run_fasteners"]:
            of_runs[row.fastening_row] += row.total
        totals = {row.fastening_row: row.total for row in job.rows["fasteners"]}
        assert totals == of_runs
        assert all(row.total == 3 * row.of.joints > 0 for row in job.rows["fasteners"])


def test_a_fresh_schedule_asks_for_nothing(jobs: list[Estimate]) -> None:
    """Unless the geometry below it does."""
    for job in jobs:
        sound = not any(row.status for tab in ("lines", "posts") for row in job.rows[tab])
        if sound and not any(row.count_status for row in job.rows["sections"]):
            assert not any(row.status for tab in ("fasteners", "bring_along") for row in job.rows[tab])


# edits


def _edited(job: Estimate, number: int, **cells: Any) -> Any:
    """The tabs after an edit of one row of tab Fastenings, with the choices of old."""
    assert job.job is not None
    assert job.choices is not None
    rows = list(job.job.fastenings)
    rows[number] = replace(rows[number], **cells)
    return estimate.lay_out(replace(job.job, fastenings=tuple(rows)), job.choices)


@pytest.mark.parametrize(
    "cells",
    [{"joint": "Block"}, {"assembly": "METAL"}, {"item": "OTHER"}, {"pilot_bit": 0.25}, {"driver": "star 10"}],
)
def test_a_row_that_becomes_another_asks_for_another_run(cells: dict[str, Any]) -> None:
    job = porch()
    number = next(row.fastening_row for row in job.rows["fasteners"] if row.of.joint == "Baluster end") - 1
    rows = _edited(job, number, **cells)["fasteners"]

    assert {row.status for row in rows if row.fastening_row == number + 1} == {RUN_AGAIN}


def test_another_number_in_each_joint_is_followed() -> None:
    job = porch()
    number = next(row.fastening_row for row in job.rows["fasteners"] if row.of.joint == "Baluster end") - 1
    (row,) = [row for row in _edited(job, number, per_joint=1)["fasteners"] if row.of.joint == "Baluster end"]

    assert (row.of.joints, row.total, row.status) == (66, 66, "")


def test_a_row_added_later_asks_for_another_run() -> None:
    job = porch()
    assert job.job is not None
    assert job.choices is not None
    rows = estimate.lay_out(replace(job.job, fastenings=(*STARTERS, STARTERS[0])), job.choices)["fasteners"]

    assert {row.status for row in rows} == {RUN_AGAIN}


# what is left out


def _found(job: Estimate) -> list[str]:
    """What somebody must look at on tab Fastenings."""
    return [each.what for each in job.problems if each.severity == LOOK and each.where.startswith("Fastenings")]


def test_without_the_tab_nothing_is_said_and_nothing_is_listed() -> None:
    job = porch(given=())

    assert not _found(job)
    assert not job.rows["fasteners"]
    assert not job.rows["bring_along"]


def test_starting_rows_leave_nothing_out() -> None:
    for assembly in (WOOD, COMPOSITE, METAL):
        assert not _found(worked(level(130.0, assembly=assembly.assembly)))


def test_a_joint_without_a_row_is_pointed_out() -> None:
    job = porch(given=[row for row in STARTERS if row.joint not in ("Block", "Rail to wall")])

    assert _found(job) == [
        "assembly WOOD: no fastener is given for Rail to wall (2 in this job)",
        "assembly WOOD: no fastener is given for Block (6 in this job)",
    ]


def test_an_assembly_without_rows_is_pointed_out_once() -> None:
    assert _found(porch(given=[row for row in STARTERS if row.assembly != "WOOD"])) == [
        "no fastener is given for assembly WOOD"
    ]


def test_a_cap_row_without_a_spacing_is_pointed_out_and_counts_nothing() -> None:
    bare = [replace(row, spacing=None) if row.joint == CAP_TO_RAIL and row.assembly == "WOOD" else row
            for row in STARTERS]  # fmt: skip
    job = porch(given=bare)

    assert _found(job) == ["Cap to rail has no spacing, so no places are counted"]
    assert (CAP_TO_RAIL, "#8 X 2 1/2 SCREW") not in totals(job)


def test_a_row_that_could_not_be_read_is_left_out() -> None:
    broken = [replace(row, item=None, origin=Origin("Fastenings", faulty=frozenset({"item"}))) if row.joint == "Block"
              else row for row in STARTERS]  # fmt: skip
    job = porch(given=broken)

    assert not [key for key in totals(job) if key[0] == "Block"]
    assert not any(row.status for row in job.rows["joint_counts"])


@pytest.mark.parametrize("unit", JOB_UNITS)
def test_starting_rows_name_items_on_sale_and_stand_for_every_assembly(unit: str) -> None:
    rows = starter_fastenings.fastenings(unit)

    assert {row.item for row in rows} == {price.item for price in starter_fastenings.prices(unit)}
    assert all(row.is_whole and "check with the maker" in (row.notes or "") for row in rows)
    assert build({**tabs(level(130.0)), "fastenings": rows})[0] is not None
