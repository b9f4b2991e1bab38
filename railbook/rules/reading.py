"""Reads a file of rules: each wrong cell is an error that names its line and column."""

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from importlib.resources import files
from typing import Any

from railbook.rules.rule import (
    APPLIES,
    COLUMNS,
    HEADER,
    KINDS,
    NEEDS,
    NO_RULE,
    PLACES,
    PRACTICE_KINDS,
    QUANTITIES,
    SURENESS,
    UNITS,
    USES,
    Rule,
)

BASE = "base:"
CLOSED: Mapping[str, Sequence[str]] = {
    "kind": (*KINDS, *PRACTICE_KINDS), "place": PLACES, "use": USES, "quantity": QUANTITIES, "applies": APPLIES,
    "sense": tuple(NEEDS), "unit": UNITS, "sure of value": SURENESS, "sure of number": SURENESS,
}  # fmt: skip
NUMBERS = ("from", "to", "least", "most")


def packaged(name: str) -> str:
    """Text of a file of this room."""
    return files("railbook.rules").joinpath(name).read_text(encoding="utf-8")


def rules_in(name: str, text_of: Callable[[str], str] = packaged) -> tuple[Rule, ...]:
    """The rules of a file, those of its base replaced by rows of the same key.

    Args:
        name: of the file; its first line may be `base: FILE`, one level deep.
        text_of: gives the text of a file.

    Raises:
        ValueError: a cell is wrong; the message names file, line and column.
    """
    base, own = _file(name, text_of(name))
    if not base:
        return own
    further, below = _file(base, text_of(base))
    if further:
        raise ValueError(f"{name}, line 1: {base} has a base of its own")
    replaced = {_subject(rule) for rule in own}  # in both units, so that none of the base is left beside it
    return (*(rule for rule in below if _subject(rule) not in replaced), *own)


def _subject(rule: Rule) -> tuple[object, ...]:
    """What a rule is about, whatever its unit."""
    return rule.key[:-1]


def _file(name: str, text: str) -> tuple[str, tuple[Rule, ...]]:
    """Name of the base, empty when there is none, and the rows of one file."""
    lines = text.splitlines()
    base = lines[0].removeprefix(BASE).strip() if lines and lines[0].startswith(BASE) else ""
    above = 1 if base else 0
    return base, tuple(_rows(name, lines[above:], above))


def _rows(name: str, lines: Sequence[str], above: int) -> Iterator[Rule]:
    reader = csv.reader(lines, strict=True)
    header = tuple(next(reader, ()))
    if header != HEADER:
        wrong = next((each for each in zip(HEADER, header, strict=False) if each[0] != each[1]), None)
        told = f"column {wrong[0]}: not {wrong[1]!r}" if wrong else f"{len(header)} columns, not {len(HEADER)}"
        raise ValueError(f"{name}, line {above + 1}: {told}")
    seen: set[tuple[object, ...]] = set()
    for cells in reader:
        at = f"{name}, line {above + reader.line_num}"
        rule = _rule(at, cells)
        if rule.key in seen:
            raise ValueError(f"{at}, column kind: the same rule stands above already")
        seen.add(rule.key)
        yield rule


def _rule(at: str, cells: Sequence[str]) -> Rule:
    """One row."""
    if len(cells) != len(HEADER):
        raise ValueError(f"{at}: {len(cells)} cells, not {len(HEADER)}")
    row = dict(zip(HEADER, cells, strict=True))
    for column, allowed in CLOSED.items():
        if row[column] not in allowed:
            raise ValueError(
                f"{at}, column {column}: {row[column]!r} is none of {', '.join(each or 'blank' for each in allowed)}"
            )
    made: dict[str, Any] = {COLUMNS.get(column, column): text for column, text in row.items()}
    made |= {COLUMNS.get(column, column): _number(f"{at}, column {column}", row[column]) for column in NUMBERS}
    _fits(at, rule := Rule(**made))
    return rule


def _number(where: str, text: str) -> float | None:
    """The number in a cell; None for a blank."""
    try:
        return float(text) if text else None
    except ValueError:
        raise ValueError(f"{where}: {text!r} is no number") from None


def _fits(at: str, rule: Rule) -> None:
    """Whether a row has the figures that its sense needs, a unit beside them, and a clause."""
    needs = NEEDS[rule.sense]
    for end, figure in (("least", rule.least), ("most", rule.most)):
        if (figure is not None) != (end in needs):
            lacks = "is missing" if end in needs else "must be blank"
            raise ValueError(f"{at}, column {end}: it {lacks} where the sense is {rule.sense!r}")
    if bool(rule.unit) != bool(needs):
        raise ValueError(f"{at}, column unit: a figure has one, and nothing else has")
    if bool(rule.clause) == (rule.sense == NO_RULE):
        raise ValueError(f"{at}, column clause: a rule has one, and an explicit none has not")
    if not rule.quantity and (rule.band_from, rule.band_to) != (None, None):
        raise ValueError(f"{at}, column quantity: a band has one")
