"""Kinds of value that a column holds: the unit in its header and how its cells are shown.

Lengths come in three kinds: MEASURED is typed by a person, TAPE is rounded to the tape step and
meant for the saw, LENGTH is exact and meant for whoever checks the sums.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

INCH = "in"
MILLIMETRE = "mm"
JOB_UNITS = (INCH, MILLIMETRE)
FRACTION = "# ??/??"  # right for what a tape has; any other length would show as sevenths or eighty-fourths
FINEST = 64  # parts of an inch; no tape has finer ones
TAPE_FORMATS: Mapping[int, str] = MappingProxyType(  # by denominator, each as wide as FRACTION
    {2: "# ??/2_0", 4: "# ??/4_0", 8: "# ??/8_0", 16: "# ??/16", 32: "# ??/32", 64: "# ??/64"}
)


@dataclass(frozen=True)
class Kind:
    """One kind of value.

    Attributes:
        name: the kind in one word.
        units: the unit shown in a header, by job unit.
        formats: spreadsheet number format, by job unit.
        width: usual width of its column, in characters.
        numeric: whether its cells are numbers.
    """

    name: str
    units: Mapping[str, str]
    formats: Mapping[str, str]
    width: int = 10
    numeric: bool = True

    def shows_fractions(self, unit: str) -> bool:
        """Whether its cells show fractions of an inch in a job of that unit.

        >>> TAPE.shows_fractions("in"), TAPE.shows_fractions("mm"), LENGTH.shows_fractions("in")
        (True, False, False)
        """
        return self.formats[unit] == FRACTION


def _one(name: str, unit: str, number_format: str, width: int = 10, *, numeric: bool = True) -> Kind:
    """A kind that looks alike in inch and in millimetre jobs."""
    return Kind(name, dict.fromkeys(JOB_UNITS, unit), dict.fromkeys(JOB_UNITS, number_format), width, numeric)


_LENGTH_UNITS = {INCH: INCH, MILLIMETRE: MILLIMETRE}
_FRACTION = {INCH: FRACTION, MILLIMETRE: "0.0"}

MEASURED = Kind("measured", _LENGTH_UNITS, _FRACTION, 10)
ALLOWANCE = Kind("allowance", _LENGTH_UNITS, _FRACTION, 10)  # a measured length that may be 0
SIGNED = Kind("signed", _LENGTH_UNITS, _FRACTION, 10)  # a measured length that may be negative
TAPE = Kind("tape", _LENGTH_UNITS, {INCH: FRACTION, MILLIMETRE: "General"}, 10)
LENGTH = Kind("length", _LENGTH_UNITS, {INCH: "0.000", MILLIMETRE: "0.0"}, 10)
ANGLE = _one("angle", "deg", "0.00")
CUT = _one("cut", "deg", "0.0;0.0;-", 8)  # saw setting from square; the sign only tells two leans apart
BEARING = _one("bearing", "deg", "0.#")  # plan direction, 0 to 360
FACTOR = _one("factor", "", "0.00000")
COUNT = _one("count", "", "0", 8)
MONEY = _one("money", "", "#,##0.00", 11)
PAYMENT = _one("payment", "", "#,##0.00", 11)  # money that may be negative: a refund
NUMBER = _one("number", "", "0.00", 9)
FIGURE = _one("figure", "", "0.000")  # a length, an angle or a count: its unit stands beside it
LIMIT = Kind("limit", dict.fromkeys(JOB_UNITS, ""), _FRACTION, 10)  # the same, typed
PERCENT = _one("percent", "", "0.0##%", 9)  # a share of a whole
MARKUP = _one("mark-up", "", "0.0##%", 9)  # a share that may be more than the whole
DATE = _one("date", "", "yyyy-mm-dd", 12)
TEXT = _one("text", "", "@", 18, numeric=False)
MARK = _one("mark", "", "@", 9, numeric=False)
CHOICE = _one("choice", "", "@", 13, numeric=False)
YES_NO = _one("yes/no", "", "@", 9, numeric=False)
VERDICT = _one("verdict", "", "@", 13, numeric=False)  # pass, fail, run again ...: drawn so that paper shows it
TICK = _one("tick", "", "@", 6, numeric=False)  # an empty box for a pencil
BAR = _one("bar", "", "@", 37, numeric=False)  # signs of one width that draw something to scale
BOX = "\N{BALLOT BOX}"  # what a cell to tick holds
UNIT = _one("unit", "", "@", 13, numeric=False)  # the choice that sets the job's length unit
