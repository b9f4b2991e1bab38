"""Two clears of a run that differ: who has the difference, the balusters between them, and what is asked or refused.

Worked by hand. Wood on the level: 36-1/2 less 3 in clearance, 1 in cap and both 3-1/2 in rails leaves an opening of
25-1/2 in, 29 in from the middle of one rail to that of the other. Balusters are 1-1/2 in wide. The sphere is amended to
4.05 in where rounding marks to the tape would ask for one more. `test_geometry_leans` draws the same to scale.
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN, STATUS
from railbook.basics.kinds import MILLIMETRE
from railbook.basics.problem import LEFT_OUT, LOOK
from railbook.estimate import Estimate
from railbook.geometry import lines
from railbook.job import starters
from railbook.job.build import build
from railbook.job.runs import Run
from railbook.job.settings import Settings
from railbook.job.supports import COLUMN, EXISTING, NEW, POST, WALL, Support
from railbook.tabs import Rows
from railbook.takeoff import balusters, section_counts
from railbook.takeoff.balusters import BalusterLayout
from tests.recalculation import WRONG, LibreOffice, Outcome, Shown, formula_cells
from tests.small_jobs import WOOD, Worked, level, ramp, tabs, work

FLUSH = replace(WOOD, bracket_fit=0.0, greatest_spacing=1000.0, greatest_rake=None)
WIDER = {"level_sphere": 4.05}
OLD_FROM, OLD_TO = Support("P1", POST, EXISTING, face_width=3.5), Support("P2", POST, EXISTING, face_width=3.5)
WALL_FROM, WALL_TO = Support("P1", WALL), Support("P2", WALL)


def worked(*runs: Run, there: tuple[Support, ...] = (), **more: Any) -> Worked:
    return work(*runs, supports=there, **({"assemblies": (FLUSH,), "amendments": WIDER} | more))


def layout(of: Worked, rail: str, section: str = "A.1") -> BalusterLayout:
    """The row of one rail of a section."""
    (row,) = [each for each in of.rows["baluster_layout"] if each.rail == rail and section in each.used_in.split(", ")]
    assert isinstance(row, BalusterLayout)
    return row


def looks(of: Worked, about: str) -> list[tuple[str, str]]:
    """What was found and the remedy, of everything to look at whose text says so."""
    told = [each for each in of.rows["warnings"] if each.severity in (LOOK, LEFT_OUT)]
    return [(each.what, each.remedy) for each in told if about in f"{each.what} {each.remedy}"]


# who has the difference: 64 in below, 64-3/8 above; a lean of 0.4 gains 29 tan 0.4 = 0.20246, one of -0.1 -0.05061

SHARES: Mapping[str, tuple[tuple[Support, ...], dict[str, float], tuple[float, float]]] = {
    "both new": ((), {}, (0.0, 0.0)),
    "said to be new": ((Support("P1", POST, NEW), Support("P2", POST, NEW)), {}, (0.0, 0.0)),
    "new and existing": ((OLD_TO,), {}, (0.0, 0.375)),
    "new and wall": ((WALL_TO,), {}, (0.0, 0.375)),
    "new and column": ((Support("P2", COLUMN),), {}, (0.0, 0.375)),
    "existing and new": ((OLD_FROM,), {}, (0.375, 0.0)),
    "wall and new": ((WALL_FROM,), {}, (0.375, 0.0)),
    "wall and new, its lean recorded": ((WALL_FROM,), {"lean_from": 0.4}, (0.375, 0.0)),
    "both old": ((OLD_FROM, WALL_TO), {}, (0.1875, 0.1875)),
    "both old, From recorded": ((OLD_FROM, WALL_TO), {"lean_from": 0.4}, (0.20246, 0.17254)),
    "both old, To recorded": ((OLD_FROM, WALL_TO), {"lean_to": 0.4}, (0.17254, 0.20246)),
    "both old, From plumb": ((OLD_FROM, WALL_TO), {"lean_from": 0.0}, (0.0, 0.375)),
    # (0.375 - 0.20246 + 0.05061) / 2 = 0.11158 left for each
    "both old, both recorded": ((OLD_FROM, WALL_TO), {"lean_from": 0.4, "lean_to": -0.1}, (0.31404, 0.06096)),
    "a lean says that a post stands": ((WALL_TO,), {"lean_from": 0.4}, (0.20246, 0.17254)),
    "both leans say so": ((), {"lean_from": 0.4, "lean_to": -0.1}, (0.31404, 0.06096)),
}


@pytest.mark.parametrize("case", SHARES)
def test_the_difference_is_at_the_support_that_stands(case: str) -> None:
    there, leans, ends = SHARES[case]
    of = worked(level(64.0, clear_top=64.375, **leans), there=there)
    lean = of.only("lines").lean

    assert (lean.from_more, lean.to_more) == pytest.approx(ends, abs=5e-6)
    assert of.section("A.1").clear_top == pytest.approx(64.0 + sum(ends))


@pytest.mark.parametrize(("end", "ends"), [("from", (0.480273, -0.105273)), ("to", (-0.118014, 0.493014))])
def test_on_a_rake_the_lower_face_gains_less_than_the_upper_one(end: str, ends: tuple[float, float]) -> None:
    """3-4-5: the rails' middles are 36-1/2 - 3 - 1-1/4 - 2 x 4-3/8 + 4-3/8 = 27-7/8 apart, plumb. A lean of 1 degree
    away gains 27.875 x 0.0174551 = 0.486560 on the level, here over 1 + 0.75 tan 1 = 1.0130913 below and over 0.9869087
    above."""
    of = worked(ramp(64.0, 48.0, clear_top=64.375, **{f"lean_{end}": 1.0}), there=(OLD_FROM, OLD_TO))
    lean = of.only("lines").lean

    assert lean.lines_apart == pytest.approx(27.875)
    assert (lean.from_more, lean.to_more) == pytest.approx(ends, abs=2e-6)


def test_rails_are_cut_plumb_where_no_lean_was_recorded() -> None:
    section = worked(level(64.0, clear_top=64.375), there=(WALL_TO,)).section("A.1")

    assert (section.lower_cut, section.upper_cut) == (0.0, 0.0)
    assert (section.bottom_edge, section.top_edge) == (64.0, 64.375)


# balusters


@pytest.mark.parametrize("end", ["to", "from"])
def test_balusters_beside_the_one_support_that_stands(end: str) -> None:
    """The widest clear is 64.375: eleven, (64.375 - 16.5) / 12 = 3.990, and 3/8 less below beside the old post."""
    there = (OLD_TO,) if end == "to" else (OLD_FROM,)
    of = worked(level(64.0, clear_top=64.375), there=there)
    top, bottom = layout(of, "Top"), layout(of, "Bottom")
    ends = (3.990, 3.615) if end == "to" else (3.615, 3.990)

    assert (top.count, bottom.count) == (11, 11)
    assert (top.gap, top.end_gap, top.upper_end_gap) == pytest.approx((3.990, 3.990, 3.990), abs=5e-4)
    assert (bottom.end_gap, bottom.upper_end_gap) == pytest.approx(ends, abs=5e-4)


def test_balusters_between_parallel_leaning_supports() -> None:
    """Leans of 0.8 and -0.8 over an opening of 28 in: 28 tan 0.8 = 0.391 out at From and in at To. The widest clear is
    64.391, though both clears are 64: gaps of 3.991, 3.600 below at From and above at To."""
    assembly = replace(FLUSH, level_height=39.0)
    of = worked(level(64.0, clear_top=64.0, lean_from=0.8, lean_to=-0.8), assemblies=(assembly,))
    top, bottom = layout(of, "Top"), layout(of, "Bottom")

    assert of.only("lines").guard.opening == 28.0
    assert (top.clear, bottom.clear) == pytest.approx((64.0, 64.0))
    assert (top.widest_clear, top.count, top.gap) == pytest.approx((64.391, 11, 3.991), abs=5e-4)
    assert (bottom.end_gap, bottom.upper_end_gap) == pytest.approx((3.600, 3.991), abs=5e-4)
    assert (top.end_gap, top.upper_end_gap) == pytest.approx((3.991, 3.600), abs=5e-4)


def test_opposite_ends_ask_for_a_baluster_that_neither_clear_asks_for() -> None:
    """64.2 in takes eleven, (64.2 - 4.05) / 5.55 = 10.8. With 28 tan 2 = 0.978 more it takes twelve: (65.178 - 4.05)
    / 5.55 = 11.01."""
    assembly = replace(FLUSH, level_height=39.0)
    leaning = worked(level(64.2, clear_top=64.2, lean_from=2.0, lean_to=-2.0), assemblies=(assembly,))
    plumb = worked(level(64.2), assemblies=(assembly,))

    assert layout(plumb, "Both").count == 11
    assert (layout(leaning, "Top").count, layout(leaning, "Top").added) == (12, 0)


def test_marks_count_from_the_end_of_their_own_rail() -> None:
    """From the wall at From, 1/8 in for the bracket: 3.98958 + 3/4 - 1/8 = 4.61458 above, 3/8 in less below."""
    of = worked(
        level(64.0, clear_top=64.375), there=(WALL_FROM,), assemblies=(replace(FLUSH, bracket_fit=0.125),)
    )  # fmt: skip
    top, bottom = layout(of, "Top"), layout(of, "Bottom")

    assert (top.marks[0], bottom.marks[0]) == (4.625, 4.25)
    for above, below in zip(top.marks[:11], bottom.marks[:11], strict=True):
        assert above is not None
        assert below is not None
        assert above - below == pytest.approx(0.375, abs=1 / 16)


def test_fixed_pitch_leaves_both_widest_end_gaps_alike() -> None:
    """Drilled at 5 in: (64.375 - 1.5 - 2 x 4.05) / 5 = 10.96, so 12; (64.375 - 1.5 - 55) / 2 = 3.9375 at either end,
    3/8 in less below beside the wall."""
    of = worked(level(64.0, clear_top=64.375), there=(WALL_TO,), assemblies=(replace(FLUSH, baluster_pitch=5.0),))
    top, bottom = layout(of, "Top"), layout(of, "Bottom")

    assert (top.count, top.end_gap, top.upper_end_gap) == (12, 3.9375, 3.9375)
    assert (bottom.end_gap, bottom.upper_end_gap) == (3.9375, 3.5625)


def test_inner_posts_divide_the_clear_at_the_bottom_and_end_sections_are_taken_alone() -> None:
    """200 below and 201 above, from a new post to a wall: (200 - 7) / 3 = 64.333 each, posts at 64.333 and 132.167. The
    first two take eleven, (64.333 - 16.5) / 12 = 3.986; the last has 65.333 at the top, so twelve of 3.641."""
    of = worked(level(200.0, clear_top=201.0, sections=3), there=(WALL_TO,))
    last = layout(of, "Top", "A.3")

    assert [each.clear for each in of.sections] == pytest.approx([193.0 / 3] * 3)
    assert [each.clear_top for each in of.sections] == pytest.approx([193.0 / 3, 193.0 / 3, 196.0 / 3])
    assert [of.row("posts", post=post).position for post in ("A/1", "A/2")] == [64.3125, 132.1875]
    assert layout(of, "Both", "A.1").used_in == "A.1, A.2"
    assert (layout(of, "Both").count, layout(of, "Both").gap) == pytest.approx((11, 3.986), abs=5e-4)
    assert (last.count, last.gap, last.upper_end_gap) == pytest.approx((12, 3.641, 3.641), abs=5e-4)
    assert layout(of, "Bottom", "A.3").upper_end_gap == pytest.approx(2.641, abs=5e-4)


def test_each_end_of_a_divided_run_has_its_own() -> None:
    """Walls at both ends, 200 below and 199-1/2 above: 1/4 in less at the top of the first and of the last section."""
    of = worked(level(200.0, clear_top=199.5, sections=3), there=(WALL_FROM, WALL_TO))

    assert [(each.lower_more, each.upper_more) for each in of.sections] == [(-0.25, 0.0), (0.0, 0.0), (0.0, -0.25)]
    assert [each.like_row for each in of.sections] == [1, 2, 3]


@pytest.mark.parametrize(
    "there", [(), (WALL_FROM,), (OLD_TO,), (WALL_FROM, OLD_TO)], ids=["new", "wall", "post", "both"]
)
def test_equal_clears_are_one_clear_whatever_stands(there: tuple[Support, ...]) -> None:
    one, both = (worked(level(64.0, clear_top=top), there=there).only("baluster_layout") for top in (None, 64.0))

    assert (one.rail, one.count, one.marks) == (both.rail, both.count, both.marks)
    assert one.widest_clear == both.widest_clear == 64.0


# what is asked


def at_top(differ: float, *there: Support, **changes: Any) -> list[tuple[str, str]]:
    """What is said of two clears of a run of one section."""
    return looks(worked(level(64.0, clear_top=64.0 + differ, **changes), there=there), "at the bottom")


@pytest.mark.parametrize(("differ", "is_told"), [(0.125, False), (-0.125, False), (0.1875, True), (-0.1875, True)])
def test_two_new_posts_are_to_be_taped_again_from_an_eighth_on(differ: float, *, is_told: bool) -> None:
    """Common practice, no source. The bottom is used whatever the top says."""
    told = at_top(differ)

    assert len(told) == is_told
    assert all("tape both again" in remedy for _, remedy in told)


@pytest.mark.parametrize(("differ", "is_told"), [(3.0, False), (4.0, True)])
def test_two_new_posts_of_a_millimetre_job(differ: float, *, is_told: bool) -> None:
    settings = Settings(job_name="TEST", unit=MILLIMETRE, tape_step=1.0)
    railing = starters.assemblies(MILLIMETRE)[0]
    run = level(1600.0, clear_top=1600.0 + differ, assembly=railing.assembly, drop=1200.0)
    of = work(run, assemblies=(railing,), settings=settings)

    assert len(looks(of, "tape both again")) == is_told


@pytest.mark.parametrize(("differ", "is_told"), [(0.5, False), (0.5625, True)])
@pytest.mark.parametrize("there", [WALL_FROM, OLD_TO], ids=["wall", "post"])
def test_one_support_that_stands_is_told_from_half_an_inch_on(there: Support, differ: float, *, is_told: bool) -> None:
    told = at_top(differ, there)

    assert len(told) == is_told
    assert all(f"support {there.support} has the whole difference" in remedy for _, remedy in told)


@pytest.mark.parametrize(("differ", "is_told"), [(0.0625, False), (0.125, True), (-0.75, True)])
def test_two_supports_that_stand_are_asked_which_one_leans(differ: float, *, is_told: bool) -> None:
    assert ["which one leans?" in remedy for _, remedy in at_top(differ, WALL_FROM, OLD_TO)] == [True] * is_told
    assert at_top(differ, WALL_FROM, OLD_TO, lean_to=0.2) == []


def test_only_the_bottom_counts_between_new_posts_however_small_the_top_is() -> None:
    section = worked(level(64.0, clear_top=6.4)).section("A.1")

    assert (section.top_edge, section.bottom_edge) == (64.0, 64.0)


LEANS = [(0.9, ""), (1.0, "is it loose, or rotted"), (-4.0, "is it loose, or rotted"), (4.1, "straighten or replace")]


@pytest.mark.parametrize(("lean", "remedy"), LEANS)
def test_a_post_that_leans_is_looked_at(lean: float, remedy: str) -> None:
    """From 1 degree it may be loose or rotted, over 4 degrees it does not stay: common practice, no source."""
    said = looks(worked(level(64.0, clear_top=None, lean_to=lean), there=(OLD_TO,)), "support P2 leans")

    assert [remedy in each for _, each in said] == [True] * bool(remedy)


def test_no_wall_rots_and_a_new_post_is_set_plumb() -> None:
    wall, steep = (worked(level(64.0, clear_top=None, lean_to=lean), there=(WALL_TO,)) for lean in (2.0, 5.0))
    new = worked(level(64.0, clear_top=None, lean_to=5.0))

    assert looks(wall, "leans") == []
    assert [remedy for _, remedy in looks(steep, "support P2 leans")] == ["pack it out plumb, then tape the run again"]
    assert looks(new, "support P2 leans") == []
    assert [remedy[:12] for _, remedy in looks(new, "post P2 is new")] == ["set it plumb"]


# what is refused: 60 in below, n = 11; the end gap below is (60 + D - 16.5) / 12 - D, and 1/8 in is the bracket's where
# D = 3.5 x 12 / 11 = 3.818182

BRACKET = replace(FLUSH, bracket_fit=0.125)


@pytest.mark.parametrize(("differ", "is_refused"), [(3.817, False), (3.5 * 12 / 11, True), (4.5, True)])
@pytest.mark.parametrize("there", [WALL_FROM, OLD_TO], ids=["From", "To"])
def test_a_run_without_room_beside_its_last_baluster_is_refused(
    there: Support, differ: float, *, is_refused: bool
) -> None:
    other = level(40.0, run="B", from_support="Q1", to_support="Q2")
    of = worked(level(60.0, clear_top=60.0 + differ), other, there=(there,), assemblies=(BRACKET,))
    refused = [each for each in of.problems if "the baluster beside it" in each.what]

    assert [each.run for each in of.sections] == (["B"] if is_refused else ["A", "B"])
    assert [f"between support {there.support} and" in each.what for each in refused] == [True] * is_refused
    assert all(each.severity == LEFT_OUT for each in refused)
    assert of.only("summary").runs_left_out == is_refused


def test_every_run_that_is_cut_like_a_refused_one_is_refused() -> None:
    other = level(60.0, run="B", from_support="Q1", to_support="Q2", clear_top=64.5)
    of = worked(
        level(60.0, clear_top=64.5), other, level(40.0, run="C", from_support="Q3", to_support="Q4"),
        there=(WALL_TO, Support("Q2", WALL)), assemblies=(BRACKET,),
    )  # fmt: skip

    assert [each.run for each in of.sections] == ["C"]
    assert [each.what[:5] for each in of.problems if each.severity == LEFT_OUT] == ["run A", "run B"]


def test_a_leaning_support_without_room_names_its_lean() -> None:
    (problem,) = [
        each for each in worked(level(60.0, clear_top=None, lean_to=9.0), there=(OLD_TO,)).problems
        if each.severity == LEFT_OUT
    ]  # fmt: skip

    assert "straighten or replace" in problem.remedy


# edits of the result


WAS = level(64.0, clear_top=64.375)
EDITS: Mapping[str, tuple[Run, tuple[Support, ...]]] = {
    "another top": (level(64.0, clear_top=64.25), (OLD_TO,)),
    "more than a baluster": (level(64.0, clear_top=65.5), (OLD_TO,)),
    "no room": (level(64.0, clear_top=68.5), (OLD_TO,)),
    "the other stands": (WAS, (OLD_FROM,)),
    "both stand": (WAS, (OLD_FROM, OLD_TO)),
    "a column": (WAS, (Support("P2", COLUMN, face_width=3.5),)),
    "a new post": (WAS, (replace(OLD_TO, state=NEW),)),
    "a lean": (level(64.0, clear_top=64.375, lean_from=0.4), (OLD_TO,)),
    "leans that part": (level(64.0, clear_top=64.375, lean_from=-0.4, lean_to=1.0), (OLD_TO,)),
    "one clear": (level(64.0, clear_top=None), (OLD_TO,)),
}


def edited(of: Worked, run: Run, there: tuple[Support, ...]) -> Rows:
    """The rows of the edited job with the choices of old."""
    job, _ = build(tabs(run, supports=there, assemblies=(FLUSH,), amendments=WIDER))
    assert job is not None
    return estimate.lay_out(job, of.choices)


def asking(rows: Rows) -> list[bool]:
    """Which rows of the layout ask for another run."""
    return [each.status == RUN_AGAIN for each in rows["baluster_layout"]]


@pytest.mark.parametrize(
    ("edit", "asks"),
    [("another top", [False, False]), ("both stand", [False, False]), ("a new post", [False, False]),
     ("no room", [False, True])],
)  # fmt: skip
def test_an_edit_moves_the_layout_or_asks_for_another_run(edit: str, asks: list[bool]) -> None:
    """At the bottom rail there is no room left; the top rail still has."""
    of = worked(WAS, there=(OLD_TO,))

    assert asking(of.rows) == [False, False]
    assert asking(edited(of, *EDITS[edit])) == asks


def test_the_workbook_says_the_same_of_unequal_clears_after_an_edit(libreoffice: LibreOffice, tmp_path: Path) -> None:
    of = worked(WAS, there=(OLD_TO,))
    books = []
    for what, (run, there) in EDITS.items():
        book = tmp_path / f"{what}.xlsx"
        rows = {**of.rows, "runs": (run,), "supports": there}
        estimate.write(Estimate(of.job, of.choices, rows, ()), book)
        books.append(book)
    for (what, edit), book in zip(EDITS.items(), libreoffice.recalculated(books), strict=True):
        new, shown = edited(of, *edit), Shown({**of.rows, "runs": (), "supports": ()}, formula_cells(book))
        for tab in (lines.TAB, section_counts.TAB, balusters.TAB):
            for at, row in enumerate(new[tab.name]):
                for column in (each for each in tab.columns if each.excel and not each.repeats):
                    stale = shown.is_stale(tab.name, at, column.name)
                    where = f"{what}: {tab.name}.{column.name}, row {at + 1}"
                    outcome = Outcome(where, column.value(row), shown.value(tab, column.name, at), stale)
                    assert outcome.verdict != WRONG, str(outcome)
                assert (shown.value(tab, STATUS, at) or "") == tab.column(STATUS).value(row), what
