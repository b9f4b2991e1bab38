"""The editions that a job may be held against, and what each of them says of a kind.

To add one: its file beside this one, and a line in `_FILES`.
"""

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from railbook.rules.reading import rules_in
from railbook.rules.rule import ANY, KINDS, LENGTHS, NO_RULE, ONE_FAMILY, PRACTICE_KINDS, Rule

_FILES = {  # rule set -> how it is cited, and its file
    "US residential 2018": ("IRC 2018", "us_residential_2018.csv"),
    "US residential 2021": ("IRC 2021", "us_residential_2021.csv"),
}
RULE_SETS = tuple(_FILES)


class Edition(NamedTuple):
    """A rule set that was read.

    Attributes:
        name: how it is cited, such as "IRC 2018".
    """

    name: str
    rules: tuple[Rule, ...]

    def rule(self, kind: str, unit: str, place: str = ANY, applies: str = "") -> Rule:
        """What it says of a kind, in that length unit.

        Raises:
            KeyError: it does not say.

        >>> edition("US residential 2018").rule("guard_height", "mm", "stair").asks()
        ('at least', 864.0)
        """
        wanted = (kind, place, ONE_FAMILY, applies)
        for each in self.rules:
            if (each.kind, each.place, each.use, each.applies) == wanted and (
                each.unit == unit or each.unit not in LENGTHS
            ):
                return each
        raise KeyError(f"{self.name} has no rule {kind}, {place}, {applies or 'always'} in {unit}")

    def told(self, kind: str, unit: str, place: str = ANY, applies: str = "") -> str:
        """Where it says so, for a sentence.

        >>> edition("US residential 2018").told("ramp_handrail", "in", "ramp")
        'IRC 2018 R311.8.3, from memory'
        """
        rule = self.rule(kind, unit, place, applies)
        if rule.sense == NO_RULE:
            return f"{self.name} has no rule for it"
        return f"{self.name} {rule.clause}{', from memory' if rule.is_remembered else ''}"


def load(name: str) -> tuple[Rule, ...]:
    """Every rule of an edition, by the name of its file without the ending.

    Raises:
        ValueError: the file is wrong, or says nothing of a kind.

    >>> len({rule.kind for rule in load("us_residential_2018")}) == len(KINDS)
    True
    """
    return complete(name, rules_in(f"{name}.csv"), KINDS)


def complete(name: str, rules: tuple[Rule, ...], kinds: Sequence[str]) -> tuple[Rule, ...]:
    """The same rules, when they answer every kind; an edition that says nothing of one must say so.

    Raises:
        ValueError: a kind has no row.
    """
    silent = [kind for kind in kinds if kind not in {rule.kind for rule in rules}]
    if silent:
        raise ValueError(f"{name} says nothing of {', '.join(silent)}: a kind without a rule has a row of sense none")
    return rules


@cache
def edition(rule_set: str) -> Edition:
    """A rule set by the name that is typed on tab Job.

    Raises:
        KeyError: for an unknown one.
    """
    name, file = _FILES[rule_set]
    return Edition(name, load(file.removesuffix(".csv")))


@cache
def practice() -> Edition:
    """Tolerances of measuring, which no code sets: the same beside every edition."""
    return Edition("railbook", complete("practice", rules_in("practice.csv"), PRACTICE_KINDS))
