"""A tape measure for random jobs: draws lengths, marks and texts as a house has them."""

import datetime as dt
import math
import random
from dataclasses import dataclass, field
from typing import TypeVar

from railbook.basics.kinds import INCH
from railbook.job.assemblies import NO, YES

T = TypeVar("T")

NASTY_MARKS = (
    "01", "1", "1E3", ">5", "=A1", "NAN", "-2", "ÄÖ", "ЛЕВ", "東", "1/2", "A|B", "P'1", 'Q"7', "R1C1", "<>", "5%",
    "2026-04-30", "INF", "A1", "+7", "@B", "{X}", "A B",
)  # fmt: skip
NASTY_TEXTS = ("=1+1", "+49 30", "@home", 'the "old" porch', "a & <b>", "007", "1E3", "крыльцо", "two\nlines", "-")
YES_OR_NO = (YES, NO)
ITEMS = ("2X4", "4X4", "CAP", "01", "1E3", ">5", "=SUM(A1)", "БРУС", "BALUSTER", "SLEEVE")


@dataclass(frozen=True)
class Taper:
    """Draws values for one job, lengths in its unit."""

    draw: random.Random
    unit: str

    def length(self, low: float, high: float) -> float:
        """A length between two bounds [in], as a tape shows it in the job's unit."""
        steps = 16 if self.unit == INCH else 25.4
        return self.draw.randint(math.ceil(low * steps), math.floor(high * steps)) / (16 if self.unit == INCH else 1)

    def maybe(self, low: float, high: float) -> float | None:
        """The same, or not measured."""
        return self.length(low, high) if self.chance(0.6) else None

    def taped(self, exact: float) -> float:
        """What a tape shows of a length in the job's unit."""
        return round(exact * 16) / 16 if self.unit == INCH else float(round(exact))

    def chance(self, part: float) -> bool:
        return self.draw.random() < part

    def either(self, *choices: T) -> T:
        return self.draw.choice(choices)

    def text(self) -> str | None:
        return self.either(None, "as drawn", *NASTY_TEXTS)

    def day(self) -> dt.date | None:
        return self.either(None, dt.date(2026, 4, 30), dt.date(2024, 2, 29), dt.date(2031, 12, 1))


@dataclass
class Marks:
    """Marks of one namespace, no two alike."""

    taper: Taper
    prefix: str
    given: list[str] = field(default_factory=list)

    def new(self) -> str:
        """A mark that was not given yet."""
        nasty = [mark for mark in NASTY_MARKS if mark not in self.given]
        plain = f"{self.prefix}{len(self.given) + 1}"
        mark = self.taper.either(*nasty) if nasty and self.taper.chance(0.25) else plain
        self.given.append(mark)
        return mark
