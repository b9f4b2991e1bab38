"""Files of rules: a wrong cell is named by line and column, an edition answers every kind, each job cites its own."""

import inspect
import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from railbook.basics.kinds import JOB_UNITS
from railbook.checks import demands, holding, raked
from railbook.checks.check import Demand
from railbook.job.flights import Flight
from railbook.job.limits import ALIASES, published
from railbook.rules.editions import RULE_SETS, complete, edition, load, practice
from railbook.rules.reading import rules_in
from railbook.rules.rule import (
    AT_LEAST,
    AT_MOST,
    HEADER,
    KINDS,
    LENGTHS,
    MEMORY,
    MORE_THAN,
    NO_RULE,
    PRACTICE_KINDS,
    PRINT,
    UNDER,
)
from tests.small_jobs import PLAIN, flight, level, ramp, stair, work

HEAD = ",".join(HEADER)
HEIGHT = "guard_height,level,one-family,,,,,at least,36,,in,R312.1.2,print,print,"
HAND_HEIGHT = "handrail_height,stair,one-family,,,,,between,34,38,in,R311.7.8.1,print,memory,nosing line"
# words that stand in workbooks which were typed long ago: amendments and formulas know a limit by them
OLD_WORDS = [
    "guard_drop", "level_guard_height", "stair_guard_height", "handrail_least", "handrail_greatest", "level_sphere",
    "stair_sphere", "triangle_sphere", "riser_greatest", "riser_variation", "tread_least", "tread_variation",
    "overhang_greatest", "short_slope", "length_tolerance", "tread_tolerance", "handrail_risers", "ramp_slope",
    "angle_tolerance",
]  # fmt: skip


def written(*rows: str, head: str = HEAD, base: str = "") -> Callable[[str], str]:
    """A file of those rows, and a base of one guard height."""
    lines = (f"base: {base}", head, *rows) if base else (head, *rows)
    return lambda name: "\n".join([HEAD, HEIGHT, HAND_HEIGHT] if name == "base.csv" else lines) + "\n"


def changed(column: str, text: str, row: str = HEIGHT) -> str:
    """The row with another text in one cell."""
    cells = row.split(",")
    cells[HEADER.index(column)] = text
    return ",".join(cells)


def test_a_row_says_what_is_asked() -> None:
    height, band = rules_in("local.csv", written(HEIGHT, HAND_HEIGHT))

    assert height.asks() == (AT_LEAST, 36.0)
    assert (band.asks("least"), band.asks("most")) == ((AT_LEAST, 34.0), (AT_MOST, 38.0))
    assert (height.sure_of_value, height.is_remembered, height.cited) == (PRINT, False, "R312.1.2")
    assert (band.sure_of_number, band.is_remembered, band.cited) == (MEMORY, True, "R311.7.8.1 (from memory)")
    assert band.note == "nosing line"


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("kind", "guard_hight"), ("place", "attic"), ("use", "anybody"), ("quantity", "drop"), ("from", "30"),
        ("from", "x"), ("to", "12"), ("applies", "on Sundays"), ("sense", ">="), ("least", ""), ("least", "3 ft"),
        ("most", "40"), ("unit", "ft"), ("unit", ""), ("clause", ""), ("sure of value", "A"), ("sure of number", ""),
    ],
)  # fmt: skip
def test_a_wrong_cell_is_named_by_line_and_column(column: str, text: str) -> None:
    named = {"from": "from|quantity", "to": "quantity"}.get(column, column)

    with pytest.raises(ValueError, match=rf"^local\.csv, line 3, column ({named}): "):
        rules_in("local.csv", written(HAND_HEIGHT, changed(column, text)))


def test_the_line_counts_from_the_top_of_the_file_also_below_a_base() -> None:
    with pytest.raises(ValueError, match=r"^local\.csv, line 3, column place: 'attic' is none of any, level, "):
        rules_in("local.csv", written(changed("place", "attic"), base="base.csv"))


@pytest.mark.parametrize(
    ("rows", "head", "told"),
    [
        ((HEIGHT,), HEAD.replace("clause", "paragraph"), "line 1: column clause: not 'paragraph'"),
        ((HEIGHT,), HEAD + ",more", "line 1: 16 columns, not 15"),
        ((HEIGHT + ",more",), HEAD, "line 2: 16 cells, not 15"),
        ((HEIGHT, changed("least", "42")), HEAD, "line 3, column kind: the same rule stands above already"),
    ],
)
def test_a_file_of_another_form_is_refused(rows: tuple[str, ...], head: str, told: str) -> None:
    with pytest.raises(ValueError, match=re.escape(f"local.csv, {told}")):
        rules_in("local.csv", written(*rows, head=head))


def test_a_row_replaces_that_of_the_base_in_every_unit() -> None:
    """A set that asks for 1,000 mm says nothing of inches: the base's 36 in must not be left beside it."""
    metric = changed("unit", "mm", changed("least", "1000"))
    rules = rules_in("local.csv", written(metric, base="base.csv"))

    assert [(each.kind, each.least, each.unit) for each in rules] == [
        ("handrail_height", 34.0, "in"), ("guard_height", 1000.0, "mm")
    ]  # fmt: skip


def test_a_base_has_no_base() -> None:
    with pytest.raises(ValueError, match=r"line 1: middle\.csv has a base of its own"):
        rules_in("local.csv", lambda name: f"base: {'middle' if name == 'local.csv' else 'base'}.csv\n{HEAD}\n")


def test_an_explicit_none_has_no_figure_and_no_clause() -> None:
    none = "guard_post_framing,any,one-family,,,,,none,,,,,print,print,"
    (rule,) = rules_in("local.csv", written(none))

    assert rule.sense == NO_RULE
    with pytest.raises(ValueError, match="has no figure"):
        rule.asks()
    with pytest.raises(ValueError, match="column clause"):
        rules_in("local.csv", written(changed("clause", "R507.10", none)))


@pytest.mark.parametrize("rule_set", RULE_SETS)
def test_an_edition_answers_every_kind_in_both_units(rule_set: str) -> None:
    rules = edition(rule_set).rules
    lengths = {replace(each, least=None, most=None, unit="", note="") for each in rules if each.unit in LENGTHS}

    assert {each.kind for each in rules} == set(KINDS)
    for rule in lengths:
        assert {each.unit for each in rules if each.key[:-1] == rule.key[:-1]} == set(LENGTHS), rule.kind


def test_an_edition_that_is_silent_of_a_kind_is_refused() -> None:
    rules = tuple(each for each in load("us_residential_2018") if each.kind != "hand_room")

    with pytest.raises(ValueError, match="short says nothing of hand_room"):
        complete("short", rules, KINDS)


def test_every_kind_is_asked_for_by_a_limit_a_demand_or_a_warning() -> None:
    """A rule that nothing looks up would seem to be checked."""
    asked_for = {alias.kind for alias in ALIASES}
    asked_for |= {each.kind for each in vars(demands).values() if isinstance(each, Demand) and each.kind}
    by_warnings = {"open_riser", "ramp_handrail", "hand_room", "guard_post_framing"}
    source = "".join(map(inspect.getsource, (raked, holding)))

    assert asked_for | by_warnings == {*KINDS, *PRACTICE_KINDS}
    assert all(f'"{kind}"' in source for kind in by_warnings)


@pytest.mark.parametrize("rule_set", RULE_SETS)
@pytest.mark.parametrize("unit", JOB_UNITS)
def test_limits_keep_the_words_that_workbooks_know(rule_set: str, unit: str) -> None:
    assert [row.limit for row in published(rule_set, unit)] == OLD_WORDS


def test_tolerances_of_measuring_are_of_no_code() -> None:
    assert {each.kind for each in practice().rules} == set(PRACTICE_KINDS)
    assert {row.edition for row in published(RULE_SETS[0], "in") if row.clause == "common practice, no source"} == {
        "railbook"
    }


def test_the_later_edition_differs_in_what_it_asks_of_posts_alone() -> None:
    """IRC 2021 R507.10 carries guard posts into the framing; 2018 has no such rule."""
    older, later = (set(load(f"us_residential_{year}")) for year in (2018, 2021))

    assert {(each.kind, each.sense, each.clause) for each in older - later} == {("guard_post_framing", NO_RULE, "")}
    assert {(each.kind, each.clause) for each in later - older} == {("guard_post_framing", "R507.10")}


def _texts(rule_set: str) -> tuple[str, set[str]]:
    """All that warnings of a job with stairs, a ramp and bare bolts say, and the editions that its checks cite."""
    open_risers: Flight = replace(flight(7.5, 10.0), open_risers="Yes")
    worked = work(
        level(60.0), stair(65.0, 48.75, upper_setback=2.0, from_support="P3", to_support="P4"),
        ramp(80.0, 10.0, from_support="P5", to_support="P6"), flights=(open_risers,),
        settings=replace(PLAIN, rule_set=rule_set),
    )  # fmt: skip
    told = " ".join(f"{row.what} {row.remedy} {row.clause}" for row in worked.rows["warnings"])
    return told, {row.edition for row in worked.rows["code_checks"] if re.match("R3", row.clause)}


@pytest.mark.parametrize(
    ("rule_set", "name", "other"), [(RULE_SETS[0], "IRC 2018", "2021"), (RULE_SETS[1], "IRC 2021", "2018")]
)
def test_a_job_cites_its_own_edition(rule_set: str, name: str, other: str) -> None:
    told, editions = _texts(rule_set)

    assert editions == {name}
    assert f"{name} R311.7.5.1" in told
    assert f"{name} R311.8.3" in told
    assert ("IRC 2018 has no rule for it" if name == "IRC 2018" else "IRC 2021 R507.10") in told
    assert other not in told


def test_senses_of_demands_are_those_of_their_rules() -> None:
    """Openings are strict, the rest is not: IRC R312.1.3 forbids that the sphere passes."""
    worked = work(level(60.0), stair(65.0, 48.75, from_support="P3", to_support="P4"), flights=(flight(7.5, 10.0),))
    senses = {row.asked: row.sense for row in worked.rows["code_checks"] if row.rule is not None}

    assert senses[demands.GUARD_NEEDED] == MORE_THAN
    assert {senses[each] for each in (demands.OPENING, demands.UNDER_RAIL, demands.TRIANGLE)} == {UNDER}
    assert {senses[each] for each in (demands.GUARD_HEIGHT, demands.TREAD)} == {AT_LEAST}
    assert {senses[each] for each in (demands.RISER, demands.OVERHANG)} == {AT_MOST}
