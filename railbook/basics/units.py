"""Lengths as people write them, read into the job's unit and written back as a tape shows them.

What cannot be read with certainty is refused with a sentence; nothing is guessed. A tape has halves
to sixty-fourths, so a fraction with any other denominator is taken for a slip.
"""

import math
import re
import unicodedata
from fractions import Fraction
from typing import NamedTuple

from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.rounding import half_up, tape_steps_excel

INCHES_PER_FOOT = 12
DENOMINATORS = (2, 4, 8, 16, 32, 64)
MILLIMETRES_IN = {INCH: Fraction("25.4"), MILLIMETRE: Fraction(1), "cm": Fraction(10), "m": Fraction(1000)}
LONGEST = {INCH: 12_000.0, MILLIMETRE: 304_800.0}  # 1000 ft; a date stored as a number is beyond it
EXAMPLE = {INCH: "90 3/8 or 7' 6 3/8\"", MILLIMETRE: '2296 or 2.296 m, inches with their mark: 90 3/8"'}


class Refusal(NamedTuple):
    """Why something typed was not taken, and what to type."""

    why: str
    remedy: str


_DASHES = "\u2010\u2011\u2012\u2013\u2014\u2212\ufe63"  # hyphens, dashes and the minus sign
_FOOT_MARKS = "\u2019\u2018\u201b\u2032\u02b9\u02bc`\u00b4"  # curly quotes, primes, accents
_INCH_MARKS = "\u201d\u201c\u201e\u201f\u2033\u02ba"
_SLASHES = "\u2044\u2215"  # of a fraction, of a division
_SAME_SIGN = str.maketrans(
    dict.fromkeys(_DASHES, "-")
    | dict.fromkeys(_FOOT_MARKS, "'")
    | dict.fromkeys(_INCH_MARKS, '"')
    | dict.fromkeys(_SLASHES, "/")
)
_INVISIBLE = ("Cc", "Cf", "Cs")

_NUMBER = r"(?:\d{1,7}(?:\.\d{0,9})?|\.\d{1,9})"
_FEET = rf"(?P<feet>{_NUMBER}) ?(?:'|feet|foot|ft\.?)(?: ?-? ?(?=[\d.])|$)"
_FRACTION = r"(?:(?P<whole>\d{1,7})(?: |- ?))?(?P<over>\d{1,4})/(?P<under>\d{1,4})"
_INCHES = rf"(?:{_FRACTION}|(?P<inches>{_NUMBER})) ?(?P<mark>\"|inches|inch|in\.?)?"
_IMPERIAL = re.compile(rf"(?=[\d.])(?:{_FEET})?(?:{_INCHES})?", re.ASCII)
_METRIC = re.compile(
    rf"(?P<size>{_NUMBER}) ?(?:"
    r"(?P<mm>mm|millimet(?:er|re)s?)|(?P<cm>cm|centimet(?:er|re)s?)|(?P<m>m|met(?:er|re)s?))",
    re.ASCII,
)
_SIGN = re.compile(r"^[+-] ?")
_DATE = re.compile(r"\d{4}-(?P<month>\d\d?)-(?P<day>\d\d?)\b.*", re.ASCII)

_FAULTS: tuple[tuple[re.Pattern[str], str, str], ...] = tuple(
    (re.compile(pattern), why, remedy)
    for pattern, why, remedy in (
        (r"#", "is an error of the spreadsheet", "mend the formula, or type the length"),
        (r".*\d,", "has a comma: decimals or thousands?", "type a point for decimals, and no thousands sign"),
        (r"[\d.]+e[+-]?\d+$", "is written with a power of ten", "type the number in full"),
        (r".*\".*'", "has its foot and inch marks the wrong way round", "type feet first: 6' 7\""),
        (
            r".*\d/\d+ ?(?:'|f)",
            "is a fraction of a foot, most likely a wrong mark",
            'type the inch mark after inches: 90 3/8"',
        ),
        (
            r"\d+ ?- ?\d+$",
            "may be feet and inches, or a subtraction",
            "type the marks: 7' 6\", or the inches alone",
        ),
        (r"\d+ \d+$", "is two numbers without marks", "type the marks: 7' 6\", or a fraction: 7 5/8"),
    )
)


def plain(text: str) -> str:
    r"""Text as a plain keyboard would have typed it, blanks collapsed.

    >>> plain("7\u2032 6\u215c\u2033"), plain("\uff19\uff10\u00a03\u20448")
    ('7\' 6 3/8"', '90 3/8')
    """
    typed = "".join(_typed(sign) for sign in text).translate(_SAME_SIGN)
    return " ".join(typed.replace("''", '"').split())


def _typed(sign: str) -> str:
    """One character as plain ones; a vulgar fraction keeps apart from the digit before it."""
    if sign.isspace():
        return " "
    if unicodedata.category(sign) in _INVISIBLE:
        return ""
    look = unicodedata.decomposition(sign)
    if look.startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", sign)
    return unicodedata.normalize("NFKC", sign) if look.startswith("<wide>") else sign


def parse_length(text: str, unit: str, *, signed: bool = False) -> float | Refusal:
    r"""A length as typed, in the job's unit.

    Args:
        text: feet, inches and fractions, or millimetres, centimetres or metres.
        unit: the job's unit, "in" or "mm"; a bare number is in it.
        signed: zero and a leading minus are meant, as in a setback.

    >>> parse_length("7' 6-3/8\"", "in"), parse_length("2.296 m", "mm")
    (90.375, 2296.0)
    >>> parse_length("-3 1/2", "in", signed=True)
    -3.5
    >>> parse_length("7-6", "in").why
    'may be feet and inches, or a subtraction'
    """
    spoken = plain(text).casefold()
    size = _size(_SIGN.sub("", spoken), unit)
    if isinstance(size, Refusal):
        return size
    return checked_length(float(-size if spoken.startswith("-") else size), unit, signed=signed)


def checked_length(length: float, unit: str, *, signed: bool = False, zero: bool = False) -> float | Refusal:
    """The length itself, if a railing can have it.

    Args:
        length: what was read [job unit].
        unit: the job's unit.
        signed: any sign and zero are meant.
        zero: zero is meant.

    >>> checked_length(90.375, "in"), checked_length(0.0, "in", zero=True)
    (90.375, 0.0)
    >>> checked_length(45724.0, "in").why
    'is more than 1000 feet'
    """
    if not abs(length) <= LONGEST[unit]:  # not a number fails every comparison
        return Refusal("is more than 1000 feet", f"type a length such as {EXAMPLE[unit]}")
    if signed or length > 0 or (zero and length == 0):
        return length
    return Refusal("is negative" if length < 0 else "is no length", "measure again, and type more than 0")


def tape_fraction(over: int, under: int) -> str:
    """The fraction as text when a tape has it, else nothing.

    >>> tape_fraction(3, 8), tape_fraction(8, 3), tape_fraction(3, 7)
    ('3/8', '', '')
    """
    return f"{over}/{under}" if under in DENOMINATORS and 0 < over < under else ""


def _size(text: str, unit: str) -> Fraction | Refusal:
    """Length of a text without its sign [job unit]."""
    if metric := _METRIC.fullmatch(text):
        return Fraction(metric["size"]) * MILLIMETRES_IN[str(metric.lastgroup)] / MILLIMETRES_IN[unit]
    if parts := _IMPERIAL.fullmatch(text):
        bare = parts["inches"] is not None and not parts["feet"] and not parts["mark"]
        return (
            _imperial_fault(parts, unit)
            or _inches(parts) * MILLIMETRES_IN[unit if bare else INCH] / MILLIMETRES_IN[unit]
        )
    return _refusal(text, unit)


def _inches(parts: re.Match[str]) -> Fraction:
    """Sum of the parts, the feet as inches."""
    fraction = Fraction(int(parts["over"]), int(parts["under"])) if parts["over"] else Fraction(0)
    return (
        Fraction(parts["feet"] or 0) * INCHES_PER_FOOT
        + Fraction(parts["whole"] or 0)
        + fraction
        + Fraction(parts["inches"] or 0)
    )


def _imperial_fault(parts: re.Match[str], unit: str) -> Refusal | None:
    """What is wrong with feet, inches and fraction, although each can be read."""
    if parts["over"]:
        if fault := _fraction_fault(int(parts["over"]), int(parts["under"])):
            return fault
        if unit == MILLIMETRE and not parts["feet"] and not parts["mark"]:
            return Refusal("is a fraction, in a millimetre job", 'type the inch mark, 90 3/8", or millimetres')
    if not parts["feet"] or not (parts["over"] or parts["inches"]):
        return None
    if "." in parts["feet"]:
        return Refusal("has decimals of a foot and inches as well", "type whole feet, then the inches")
    if Fraction(parts["whole"] or parts["inches"] or 0) >= INCHES_PER_FOOT:
        return Refusal("has more than 11 inches after the feet", "type the inches alone, or carry the foot")
    return None


def _fraction_fault(over: int, under: int) -> Refusal | None:
    """What is wrong with a fraction of an inch."""
    if under == 0:
        return Refusal("divides by zero", "type the fraction again, such as 3/8")
    if over >= under:
        return Refusal(f"has a fraction, {over}/{under}, of one or more", "type the whole inches first: 1 1/8")
    if under not in DENOMINATORS:
        return Refusal(f"has a fraction, {over}/{under}, that no tape has", "type halves to sixty-fourths")
    return None


def _refusal(text: str, unit: str) -> Refusal:
    """Why a text is no length at all: the first fault that fits."""
    if date := _DATE.fullmatch(text):
        month, day = int(date["month"]), int(date["day"])
        meant = tape_fraction(month, day) or tape_fraction(day, month)
        likely = f", most probably {meant} turned into one" if meant else ""
        return Refusal(f"is a date{likely}", f"type a zero in front: 0 {meant or '3/8'}")
    for pattern, why, remedy in _FAULTS:
        if pattern.match(text):
            return Refusal(why, remedy)
    return Refusal("is not a length", f"type it such as {EXAMPLE[unit]}")


def feet_and_inches(length: float, step: float) -> str:
    r"""Feet, inches and reduced fraction, rounded half up to the tape step.

    Args:
        length: [in].
        step: finest mark used on the tape, such as 1/16 [in].

    Source: by hand, 7 x 12 + 6 = 90.

    >>> feet_and_inches(90.375, 1 / 16), feet_and_inches(84.0, 1 / 16), feet_and_inches(0.375, 1 / 16)
    ('7\' 6 3/8"', '7\' 0"', '3/8"')
    """
    per_inch = int(half_up(1 / step))
    steps = int(half_up(abs(length) / step))
    inches, over = divmod(steps, per_inch)
    feet, whole = divmod(inches, INCHES_PER_FOOT)
    common = math.gcd(over, per_inch)
    parts = (
        f"{feet}'" if feet else "",
        str(whole) if feet or whole or not over else "",
        f"{over // common}/{per_inch // common}" if over else "",
    )
    return ("-" if length < 0 and steps else "") + " ".join(part for part in parts if part) + '"'


def millimetres(length: float, step: float) -> str:
    """Millimetres, rounded half up to the tape step, with no more decimals than the step needs.

    Args:
        length: [mm].
        step: finest mark used on the tape, such as 1 or 0.5 [mm].

    >>> millimetres(2295.5, 1.0), millimetres(2295.3, 0.5)
    ('2296 mm', '2295.5 mm')
    """
    return f"{half_up(length / step) * step:.3f}".rstrip("0").rstrip(".") + " mm"


def tape_text(length: float | None, step: float, unit: str) -> str:
    r"""A length as it is read off the tape; a blank stays blank.

    >>> tape_text(90.375, 1 / 16, "in"), tape_text(2296.0, 1.0, "mm"), tape_text(None, 1.0, "mm")
    ('7\' 6 3/8"', '2296 mm', '')
    """
    if length is None:
        return ""
    return millimetres(length, step) if unit == MILLIMETRE else feet_and_inches(length, step)


def tape_text_excel(word: str) -> str:
    """The same as a formula in words, of `{word}`, `{tape_step}` and `{unit}`.

    Number formats cannot do it: they leave 8/16 unreduced and know no feet.

    >>> tape_text_excel("clear")[:48]
    '=IF({clear}="","",IF({unit}="mm",ROUND(ROUND(ROU'
    """
    signed_steps = tape_steps_excel(f"{{{word}}}")
    steps = f"ABS({signed_steps})"
    per_inch = "ROUND(1/{tape_step},0)"
    per_foot = f"({INCHES_PER_FOOT}*{per_inch})"
    over = f"MOD({steps},{per_inch})"
    whole = f"MOD(INT({steps}/{per_inch}),{INCHES_PER_FOOT})"
    common = f"GCD({over},{per_inch})"
    metric = f'ROUND({signed_steps}*{{tape_step}},3)&" mm"'
    minus = f'IF({signed_steps}<0,"-","")'
    feet = f'IF({steps}<{per_foot},"",INT({steps}/{per_foot})&"\' ")'
    fraction = f'IF({steps}>={per_inch}," ","")&({over}/{common})&"/"&({per_inch}/{common})'
    inches = f'IF({steps}<{per_inch},IF({over}=0,"0",""),{whole})&IF({over}=0,"",{fraction})'
    return f'=IF({{{word}}}="","",IF({{unit}}="mm",{metric},{minus}&{feet}&{inches}&""""))'
