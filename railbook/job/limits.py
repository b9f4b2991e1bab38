"""Limits of a rule set as data: value, unit, clause, edition, and a column for a local amendment.

Lengths are published in inches and, in brackets, in millimetres; both are kept as printed, never
converted. Sources: International Residential Code, 2018 and 2021 editions, sections R311.7 and
R312.1; a value marked "from memory" was not at hand in print. Tolerances of measuring are common
practice, no source.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from railbook.basics.double_entry import Column, Tab, asked
from railbook.basics.kinds import INCH, LIMIT, MARK, TEXT
from railbook.basics.problem import LOOK, Origin, Problem
from railbook.job.settings import US_RESIDENTIAL_2018, US_RESIDENTIAL_2021

AMENDMENT = "local amendment of "


@dataclass(frozen=True)
class Limit:
    """One limit of the rule set in force.

    Attributes:
        limit: its word: formulas use it as a name.
        demand: what it limits.
        published: as the code prints it [job unit, degrees or a count].
        amendment: what the local authority has instead; None: nothing.
    """

    limit: str = ""
    demand: str | None = None
    published: float | None = None
    amendment: float | None = None
    unit: str | None = None
    clause: str | None = None
    edition: str | None = None
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

PRACTICE = "common practice, no source"
_LENGTHS: tuple[tuple[str, str, float, float, str], ...] = (
    ("guard_drop", "a guard is required where the drop is more than", 30.0, 762.0, "R312.1.1"),
    ("level_guard_height", "guard height on the level, at least", 36.0, 914.0, "R312.1.2"),
    (
        "stair_guard_height",
        "guard height on the open side of stairs, at least",
        34.0,
        864.0,
        "R312.1.2 exc. 1",
    ),
    ("handrail_least", "handrail height above the nosing line, at least", 34.0, 864.0, "R311.7.8.1"),
    ("handrail_greatest", "handrail height above the nosing line, at most", 38.0, 965.0, "R311.7.8.1"),
    ("level_sphere", "a sphere that no opening of a guard may let through", 4.0, 102.0, "R312.1.3"),
    ("stair_sphere", "the same on the open side of stairs", 4.375, 111.0, "R312.1.3 exc. 2"),
    (
        "triangle_sphere",
        "the same in the triangle of riser, tread and bottom rail",
        6.0,
        152.0,
        "R312.1.3 exc. 1",
    ),
    ("riser_greatest", "riser, at most", 7.75, 196.0, "R311.7.5.1"),
    (
        "riser_variation",
        "largest less smallest riser of a flight, at most",
        0.375,
        9.5,
        "R311.7.5.1 (from memory)",
    ),
    ("tread_least", "tread, at least", 10.0, 254.0, "R311.7.5.2"),
    (
        "tread_variation",
        "largest less smallest tread of a flight, at most",
        0.375,
        9.5,
        "R311.7.5.2 (from memory)",
    ),
    ("overhang_greatest", "nosing overhang, at most", 1.25, 32.0, "R311.7.5.3 (from memory)"),
    ("short_slope", "a taped angle is trusted first on slopes shorter than", 36.0, 900.0, PRACTICE),
    ("length_tolerance", "two ways of measuring one length may differ by", 0.25, 6.0, PRACTICE),
    ("tread_tolerance", "and by as much again for each tread", 0.0625, 1.5, PRACTICE),
)
_NUMBERS: tuple[tuple[str, str, float, str, str], ...] = (
    ("handrail_risers", "a handrail is required from this many risers on", 4.0, "risers", "R311.7.8"),
    ("ramp_slope", "slope of a ramp, at most (1 in 12 is 4.764)", 4.764, "deg", "R311.8.1 (from memory)"),
    ("angle_tolerance", "two ways of measuring one slope may differ by", 0.5, "deg", PRACTICE),
)
_EDITIONS = {US_RESIDENTIAL_2018: "IRC 2018", US_RESIDENTIAL_2021: "IRC 2021"}


def published(rule_set: str, unit: str) -> tuple[Limit, ...]:
    """Every limit of a rule set, in the job's unit.

    Raises:
        KeyError: for an unknown rule set.

    >>> [row.published for row in published("US residential 2021", "in")][:3]
    [30.0, 36.0, 34.0]
    """
    edition = _EDITIONS[rule_set]
    lengths = [
        Limit(word, demand, inch if unit == INCH else millimetre, None, unit, clause, edition)
        for word, demand, inch, millimetre, clause in _LENGTHS
    ]
    numbers = [
        Limit(word, demand, value, None, each, clause, edition) for word, demand, value, each, clause in _NUMBERS
    ]
    return tuple(replace(row, edition="railbook") if row.clause == PRACTICE else row for row in (*lengths, *numbers))


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
