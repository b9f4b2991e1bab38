"""Lengths as people write them: read for certain or refused, and written as a tape shows them."""

import csv
import itertools
from collections.abc import Callable
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import formulas
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from railbook.basics.double_entry import in_cells
from railbook.basics.units import (
    Refusal,
    checked_length,
    feet_and_inches,
    millimetres,
    parse_length,
    plain,
    tape_text,
    tape_text_excel,
)

MM_PER_INCH = 25.4  # exact by the international yard agreement of 1959
with (Path(__file__).parent / "data" / "lengths.csv").open(encoding="utf-8", newline="") as table:
    SPELLINGS = list(csv.DictReader(table))
VULGAR = {
    "1/2": "\u00bd",
    "1/4": "\u00bc",
    "3/4": "\u00be",
    "1/8": "\u215b",
    "3/8": "\u215c",
    "5/8": "\u215d",
    "7/8": "\u215e",
}


@pytest.mark.parametrize("row", SPELLINGS, ids=lambda row: f"{row['text']} [{row['job_unit']}]")
def test_every_known_spelling_is_read_or_refused(row: dict[str, str]) -> None:
    """The table was written by hand, before the parser; its notes give the reasons."""
    length = parse_length(row["text"], row["job_unit"])
    if row["expect_inches"] == "refused":
        assert isinstance(length, Refusal)
        assert length.why
        assert length.remedy
    else:
        per_inch = MM_PER_INCH if row["job_unit"] == "mm" else 1.0
        assert length == pytest.approx(float(row["expect_inches"]) * per_inch, rel=1e-11)


@pytest.mark.parametrize(
    ("text", "unit", "why"),
    [
        ("", "in", "is not a length"),
        ("-", "in", "is not a length"),
        ('"', "in", "is not a length"),
        ("7' -", "in", "is not a length"),
        ("90 - 3/8", "in", "is not a length"),  # 90 3/8 or 89 5/8?
        ("90\u00b3\u2044\u2088", "in", "is not a length"),  # raised and lowered digits glued to the 90
        ("\u0669\u0660", "in", "is not a length"),  # digits of another script
        ("7-6", "in", "may be feet and inches, or a subtraction"),
        ("7 6", "in", "is two numbers without marks"),
        ("90,375", "in", "has a comma: decimals or thousands?"),
        ("2026-03-08", "in", "is a date, most probably 3/8 turned into one"),
        ("2026-08-03 00:00:00", "in", "is a date, most probably 3/8 turned into one"),
        ("2026-12-31", "in", "is a date"),
        ("#REF!", "in", "is an error of the spreadsheet"),
        ("1e3", "in", "is written with a power of ten"),
        ("7\" 6'", "in", "has its foot and inch marks the wrong way round"),
        ("90 3/8'", "in", "is a fraction of a foot, most likely a wrong mark"),
        ("90 3/8 ft", "in", "is a fraction of a foot, most likely a wrong mark"),
        ("7' 13\"", "in", "has more than 11 inches after the feet"),
        ("7.5' 6\"", "in", "has decimals of a foot and inches as well"),
        ("90 3/0", "in", "divides by zero"),
        ("90 \u2153", "in", "has a fraction, 1/3, that no tape has"),
        ("5/4", "in", "has a fraction, 5/4, of one or more"),
        ("90 3/8", "mm", "is a fraction, in a millimetre job"),
        ("12 1/2 mm", "mm", "is not a length"),
        ("-90", "in", "is negative"),
        ("0", "in", "is no length"),
        ('0"', "in", "is no length"),
        ("45724", "in", "is more than 1000 feet"),  # 8 March 2025 as a serial number
        ("1e999", "in", "is written with a power of ten"),
        ("9" * 400, "in", "is not a length"),
    ],
)
def test_a_refusal_says_why(text: str, unit: str, why: str) -> None:
    length = parse_length(text, unit)

    assert isinstance(length, Refusal)
    assert length.why == why


@pytest.mark.parametrize(
    ("text", "unit", "length"),
    [
        ("90\u2011\u215c", "in", 90.375),  # a hyphen that does not break
        ("7 ft. 6 in.", "in", 90.0),
        ("7''", "in", 7.0),  # two single quotes
        ("7\u2032\u20096\u2032\u2032", "in", 90.0),  # thin space, two primes
        (".5", "in", 0.5),
        ("90.", "in", 90.0),
        ("+90", "in", 90.0),
        ("7' 6", "mm", 2286.0),  # 90 x 25.4
        ("0.5 Metres", "mm", 500.0),
        ("90\u200b", "in", 90.0),  # a blank of no width
    ],
)
def test_other_spellings(text: str, unit: str, length: float) -> None:
    assert parse_length(text, unit) == length


@pytest.mark.parametrize(
    ("text", "length"),
    [("-3 1/2", -3.5), ("\u22123 1/2", -3.5), ("- \u00bd", -0.5), ("0", 0.0), ("+2", 2.0), ("2 in", 2.0)],
)
def test_a_setback_may_be_negative_or_nothing(text: str, length: float) -> None:
    assert parse_length(text, "in", signed=True) == length


def test_a_signed_length_is_bounded_as_well() -> None:
    assert parse_length("-12001", "in", signed=True) == checked_length(-12001.0, "in", signed=True)
    assert isinstance(checked_length(-12001.0, "in", signed=True), Refusal)


@pytest.mark.parametrize("length", [float("nan"), float("inf"), -1.0])
def test_what_is_no_length_is_refused(length: float) -> None:
    assert isinstance(checked_length(length, "in", zero=True), Refusal)


def _manners(sixty_fourths: int) -> list[str]:
    """One tape length in the ways that crews write it."""
    size = Fraction(sixty_fourths, 64)
    inches, part = divmod(size, 1)
    feet, rest = divmod(inches, 12)
    fraction = f"{part.numerator}/{part.denominator}" if part else ""
    tail = " ".join(word for word in (str(inches) if inches or not part else "", fraction) if word)
    after = f"{rest} {fraction}" if fraction else str(rest)
    manners = [
        str(float(size)),
        tail,
        tail.replace(" ", "-"),
        f'{tail}"',
        f"{tail} inches",
        f"{feet}' {after}\"",
        f"{feet}'-{after.replace(' ', '-')}",
        f"{feet} ft {after} in",
        f"{feet}\u2019 {after.replace('/', chr(0x2044))}\u201d",
        f"\u00a0{tail.translate({48 + digit: 0xFF10 + digit for digit in range(10)})} ",
        f"{float(size * Fraction('25.4'))} mm",
    ]
    return manners + ([f"{inches}{VULGAR[fraction]}"] if fraction in VULGAR else [])


@given(st.integers(1, 12_000 * 64))
def test_every_tape_length_survives_every_manner_of_writing(sixty_fourths: int) -> None:
    lengths = {text: parse_length(text, "in") for text in _manners(sixty_fourths)}

    assert lengths == {text: pytest.approx(sixty_fourths / 64, rel=1e-12) for text in lengths}


@given(st.text(), st.sampled_from(("in", "mm")), st.booleans())
def test_no_text_raises(text: str, unit: str, signed: bool) -> None:  # noqa: FBT001 - hypothesis fills it in
    assert isinstance(parse_length(text, unit, signed=signed), (float, Refusal))


@given(st.text("0123456789 /.'\"-,fintmcex½⅜⁄", max_size=12), st.sampled_from(("in", "mm")))  # noqa: RUF001
def test_no_near_length_raises_or_comes_out_unusable(text: str, unit: str) -> None:
    length = parse_length(text, unit)

    assert isinstance(length, Refusal) or 0 < length < float("inf")


@given(st.integers(-99_999, 99_999))
def test_what_the_tape_shows_is_read_back(sixteenths: int) -> None:
    text = feet_and_inches(sixteenths / 16, 1 / 16)

    assert parse_length(text, "in", signed=True) == sixteenths / 16


def test_plain_text_is_left_alone() -> None:
    assert plain("7' 6 3/8\"") == "7' 6 3/8\""


@pytest.mark.parametrize(
    ("length", "step", "text"),
    [
        (90.375, 1 / 16, "7' 6 3/8\""),
        (90.0, 1 / 16, "7' 6\""),
        (84.0, 1 / 16, "7' 0\""),
        (84.375, 1 / 16, "7' 0 3/8\""),
        (11.5, 1 / 16, '11 1/2"'),
        (0.375, 1 / 16, '3/8"'),
        (0.0, 1 / 16, '0"'),
        (0.02, 1 / 16, '0"'),
        (-0.02, 1 / 16, '0"'),
        (-3.5, 1 / 16, '-3 1/2"'),
        (11.97, 1 / 16, "1' 0\""),  # 191.52 sixteenths
        (3 + 31 / 32, 1 / 16, '4"'),  # a tie goes up
        (3 + 31 / 32, 1 / 32, '3 31/32"'),
        (3.8846, 1 / 16, '3 7/8"'),
        (3.8846, 1 / 64, '3 57/64"'),
        (3.3, 1.0, '3"'),
    ],
)
def test_inches_are_shown_as_on_a_tape(length: float, step: float, text: str) -> None:
    """Worked by hand: steps counted, halves up, fraction reduced."""
    assert feet_and_inches(length, step) == text


@pytest.mark.parametrize(
    ("length", "step", "text"),
    [
        (2296.0, 1.0, "2296 mm"),
        (2295.5, 1.0, "2296 mm"),
        (2295.3, 0.5, "2295.5 mm"),
        (-88.9, 1.0, "-89 mm"),
        (0.2, 1.0, "0 mm"),
        (2300.0, 1.0, "2300 mm"),
    ],
)
def test_millimetres_carry_no_idle_decimals(length: float, step: float, text: str) -> None:
    assert millimetres(length, step) == text


@cache
def _compiled() -> Callable[..., Any]:
    names = {"length": "cut", "tape_step": "step", "unit": "job_unit"}
    compiled: Callable[..., Any] = (
        formulas.Parser().ast(in_cells(tape_text_excel("length"), names.__getitem__))[1].compile()
    )
    return compiled


def _by_formula(length: float | None, step: float, unit: str) -> str:
    value = _compiled()(CUT="" if length is None else length, STEP=step, JOB_UNIT=unit)
    return str(np.asarray(value, object).ravel()[0])


STEPS = ((1 / 16, "in"), (1 / 32, "in"), (1.0, "mm"), (0.5, "mm"))
SPOTS = (None, 0.0, -0.01, 0.375, -3.5, 11.96875, 11.97, 12.0, 84.0, 84.375, 90.375, 95.99, 3.96875)


@pytest.mark.parametrize(("length", "job"), list(itertools.product(SPOTS, STEPS)))
def test_the_formula_shows_what_the_engine_shows(length: float | None, job: tuple[float, str]) -> None:
    assert _by_formula(length, *job) == tape_text(length, *job)


@settings(deadline=None)  # the first compilation takes its time
@given(st.floats(-400, 6000) | st.integers(-6400, 96_000).map(lambda n: n / 32), st.sampled_from(STEPS))
def test_the_formula_agrees_for_any_length(length: float, job: tuple[float, str]) -> None:
    assert _by_formula(length, *job) == tape_text(length, *job)
