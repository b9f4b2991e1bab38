"""Limits of a rule set by the words that workbooks use: value, unit, clause, edition, and a column for an amendment.

What is published stands in `railbook.rules`; a value marked "from memory" was not at hand in print.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from railbook.basics.double_entry import Column, Tab, asked
from railbook.basics.kinds import LIMIT, MARK, TEXT
from railbook.basics.problem import LOOK, Origin, Problem
from railbook.rules.editions import Edition, edition, practice
from railbook.rules.rule import ANY, EGRESS_RAMP, LEVEL, RAMP, SOLID_RISERS, STAIR

AMENDMENT = "local amendment of "


@dataclass(frozen=True)
class Limit:
    """One limit of the rule set in force.

    Attributes:
        limit: its word: formulas use it as a name.
        demand: what it limits.
        published: as the code prints it [job unit, degrees or a count].
        amendment: what the local authority has instead; None: nothing.
        sense: how a finding must stand to it, as the rule says.
    """

    limit: str = ""
    demand: str | None = None
    published: float | None = None
    amendment: float | None = None
    unit: str | None = None
    clause: str | None = None
    edition: str | None = None
    sense: str = ""
    origin: Origin = Origin()

    @property
    def in_force(self) -> float:
        """The amendment where there is one, else the published value.

        >>> Limit("tread_least", published=10.0, amendment=9.0).in_force
        9.0
        """
        value = self.published if self.amendment is None else self.amendment
        if value is None:
            raise ValueError(f"limit {self.limit} has no value")
        return value

    @property
    def cited(self) -> str:
        """Where the value in force stands: an amendment is not what the code says.

        >>> Limit("tread_least", published=10.0, amendment=9.0, clause="R311.7.5.2").cited
        'local amendment of R311.7.5.2'
        """
        return (self.clause or "") if self.amendment is None else f"{AMENDMENT}{self.clause or ''}"


TAB = Tab(
    "rules",
    "Rules",
    Limit,
    (
        Column("limit", "Limit", MARK, width=22),
        Column("demand", "What it limits", TEXT, width=44),
        Column("published", "Published", LIMIT, unit_in="unit"),
        asked(
            "amendment",
            "Local amendment",
            LIMIT,
            "Only where the local authority asks for something else",
            unit_in="unit",
        ),
        Column("in_force", "In force", LIMIT, '=IF({amendment}="",{published},{amendment})', unit_in="unit"),
        Column("unit", "Unit", TEXT, width=7),
        Column("clause", "Clause", TEXT, width=26),
        Column("edition", "Edition", TEXT, width=24),
        Column("cited", "Cited as", TEXT, f'=IF({{amendment}}="",{{clause}}&"","{AMENDMENT}"&{{clause}})', width=34),
    ),
    purpose="Limits of the rule set chosen on tab Job. Local code and the inspector decide: enter amendments.",
    row_word="limit",
    row_cell="in_force",
    key="limit",
    optional=True,
)


class Alias(NamedTuple):
    """The word of a limit, which workbooks and formulas use, and the rule whose figure it stands for.

    Attributes:
        end: which of two figures, "least" or "most"; empty where the rule has one.
        practice: a tolerance of measuring, which no code sets.
    """

    limit: str
    demand: str
    kind: str
    place: str = ANY
    applies: str = ""
    end: str = ""
    practice: bool = False

    def published(self, edition: Edition, unit: str) -> Limit:
        """The limit as that edition has it."""
        source = practice() if self.practice else edition
        rule = source.rule(self.kind, unit, self.place, self.applies)
        sense, figure = rule.asks(self.end)
        return Limit(self.limit, self.demand, figure, None, rule.unit, rule.cited, source.name, sense)


ALIASES = (
    Alias("guard_drop", "a guard is required where the drop is more than", "guard_needed_drop"),
    Alias("level_guard_height", "guard height on the level, at least", "guard_height", LEVEL),
    Alias("stair_guard_height", "guard height on the open side of stairs, at least", "guard_height", STAIR),
    Alias("handrail_least", "handrail height above the nosing line, at least", "handrail_height", STAIR, end="least"),
    Alias("handrail_greatest", "handrail height above the nosing line, at most", "handrail_height", STAIR, end="most"),
    Alias("level_sphere", "a sphere that no opening of a guard may let through", "sphere_zone", LEVEL),
    Alias("stair_sphere", "the same on the open side of stairs", "sphere_zone", STAIR),
    Alias("triangle_sphere", "the same in the triangle of riser, tread and bottom rail", "triangle", STAIR,
          SOLID_RISERS),
    Alias("riser_greatest", "riser, at most", "riser_greatest", STAIR),
    Alias("riser_variation", "largest less smallest riser of a flight, at most", "riser_variation", STAIR),
    Alias("tread_least", "tread, at least", "tread_least", STAIR),
    Alias("tread_variation", "largest less smallest tread of a flight, at most", "tread_variation", STAIR),
    Alias("overhang_greatest", "nosing overhang, at most", "nosing_greatest", STAIR),
    Alias("short_slope", "a taped angle is trusted first on slopes shorter than", "short_slope", practice=True),
    Alias("length_tolerance", "two ways of measuring one length may differ by", "length_tolerance", practice=True),
    Alias("tread_tolerance", "and by as much again for each tread", "tread_tolerance", practice=True),
    Alias("handrail_risers", "a handrail is required from this many risers on", "handrail_needed", STAIR),
    Alias("ramp_slope", "slope of a ramp, at most (1 in 12 is 4.764)", "ramp_slope", RAMP, EGRESS_RAMP),
    Alias("angle_tolerance", "two ways of measuring one slope may differ by", "angle_tolerance", practice=True),
)  # fmt: skip


def published(rule_set: str, unit: str) -> tuple[Limit, ...]:
    """Every limit of a rule set, in the job's unit.

    Raises:
        KeyError: for an unknown rule set, or one that lacks a limit.

    >>> [row.published for row in published("US residential 2021", "in")][:3]
    [30.0, 36.0, 34.0]
    """
    return tuple(alias.published(edition(rule_set), unit) for alias in ALIASES)


def unknown_amendments(rule_set: str, unit: str, typed: tuple[Limit, ...]) -> Iterator[Problem]:
    """Amendments on tab Rules that are not used: their limit is unknown, is blank, or has a row already."""
    known = {row.limit for row in published(rule_set, unit)}
    for row in typed:
        why, remedy = _unused(row, rule_set, known)
        if why and row.amendment is not None:
            what = f"{why}: the amendment of {row.amendment:g} in this row is not used"
            yield Problem(row.origin.cell("limit"), what, remedy, LOOK)


def _unused(row: Limit, rule_set: str, known: Collection[str]) -> tuple[str, str]:
    """Why a row amends nothing, and the remedy; nothing where it does, or where its word could not be read."""
    taken = row.origin.texts.get("limit", "").lower()
    if row.limit:
        unknown = f"{row.limit} is no limit of {rule_set}", "use the word of the limit as the form has it"
        return ("", "") if row.limit.lower() in known else unknown
    if taken in known:
        return f"{taken} has a row above already", "keep one row for it, with the amendment that is meant"
    return ("", "") if taken else ("a row without the word of a limit", "type the word as the form has it")


def amended(rule_set: str, unit: str, typed: tuple[Limit, ...]) -> tuple[Limit, ...]:
    """The published limits with the amendments that the user typed on tab Rules; a limit's first row counts."""
    amendments: Mapping[str, Limit] = {row.limit.lower(): row for row in reversed(typed) if row.limit}
    return tuple(
        replace(row, amendment=amendments[row.limit].amendment, origin=amendments[row.limit].origin)
        if row.limit in amendments
        else row
        for row in published(rule_set, unit)
    )
