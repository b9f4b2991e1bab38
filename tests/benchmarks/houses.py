"""Whole jobs of any number of sections: rows of houses, each with a corner, and stairs with a guard on both sides.

A house has 6 or 8 sections: a guard from its wall to a corner post, one from there to the stairs, and the two guards of
the flight, of which one meets the level guard. That is a flight for 7 sections and 4 runs for each flight; a job that
was really built had 17 flights and 68 runs for 119 sections. Every third house has a handrail of its own at the wall.
What is left over of the sections is a porch without stairs. Sizes are those of the starting assemblies; prices, rates
and the mix of houses are invented.

    python -m tests.benchmarks.houses 119 alike|different site.xlsx
"""

import datetime as dt
import math
import random
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple

from railbook.basics.double_entry import Tab
from railbook.basics.kinds import ALLOWANCE, INCH, MEASURED
from railbook.basics.units import tape_text
from railbook.job import flights, runs, starter_fastenings, starters, supports
from railbook.job.assemblies import ON_CONCRETE, ON_STRINGER
from railbook.job.flights import Flight
from railbook.job.paid import Paid
from railbook.job.prices import BOARD, YARD_BOARD, Price
from railbook.job.runs import BARE, FINISHED, HANDRAIL, LEVEL, MEETS, OPEN, OWN, STAIR, Run
from railbook.job.supports import NEW, POST, WALL, Support
from tests.filled_form import Filled

SIXTEENTH = 1 / 16
TRIES = 1_000  # to find a length that is not taken; there are enough for 10,000 sections
MODELS = 6  # houses of a tract that are built again and again: 24 guards with measurements of their own
Rows = dict[str, tuple[Any, ...]]


class Railing(NamedTuple):
    """How one of the starting assemblies divides; lengths in inches.

    Attributes:
        assembly: its mark.
        measured_to: what its lengths are taped to.
        face: width of a post between sections.
        clears: least and greatest clear of a section, by the sections of a level run.
        treads: fewest and most treads of a flight, by the sections of its guards.
    """

    assembly: str
    measured_to: str
    face: float
    clears: Mapping[int, tuple[int, int]]
    treads: Mapping[int, tuple[int, int]]


_SHORT: Any = {1: (30, 67), 2: (40, 66), 3: (50, 66)}, {1: (3, 5), 2: (7, 9)}  # posts at most 6 ft apart
_LONG: Any = {1: (30, 90), 2: (50, 90), 3: (62, 90)}, {1: (3, 6), 2: (8, 10)}  # at most 8 ft
RAILINGS = (
    Railing("WOOD", FINISHED, 3.5, *_SHORT),
    Railing("COMPOSITE", FINISHED, 4.5, *_LONG),
    Railing("METAL", FINISHED, 3.5, *_SHORT),
    Railing("WOOD", FINISHED, 3.5, *_SHORT),
    Railing("COMPOSITE", BARE, 4.5, *_LONG),
    Railing("WOOD", FINISHED, 3.5, *_SHORT),
)
LEVELS = ((1, 3), (2, 2), (3, 1))  # sections of the two level guards of a house

NAMES: dict[str, Any] = {
    "job_name": "Sites 1 to 99, Quarry Road", "address": "Quarry Road", "measured_by": "R. Moss",
    "date": dt.date(2026, 5, 4), "tax": 0.07, "labour_rate": 55.0, "hours_per_post": 1.25, "hours_per_level": 0.4,
    "hours_per_stair": 0.6, "hours_handrail": 0.3, "markup_materials": 0.15, "markup_labour": 0.1,
    "cost_permit": 85.0, "cost_delivery": 60.0, "cost_tear_out": 240.0, "cost_dump": 45.0,
}  # fmt: skip
A_FOOT = {
    "4X4 POST": 1.8, "5/4X6 CAP": 1.45, "2X4": 0.82, "2X2": 0.46, "CAP BOARD": 3.1, "TOP RAIL": 4.2, "BOTTOM RAIL": 3.9,
    "HANDRAIL": 3.4,
}  # fmt: skip
ON_HAND = {("2X4", 144.0): 4, ("#8 X 3 SCREW", None): 60}
LEFT_OVER = Price(item="5/4X6 CAP", sold_as=YARD_BOARD, length=76.5, price=5.0, on_hand=2)
PAID = (Paid(item="4X4 POST", length=96.0, paid=29.75, notes="Bill 1"), Paid(item="#8 X 2 SCREW", paid=31.2))


class House(NamedTuple):
    """What was taped of one house.

    Attributes:
        levels: sections and clear of its two level guards.
        flight: its flight, still without a mark.
        sections: of each guard of the flight.
        setbacks: lower and upper setback of the two.
        gap: between the last post and the house.
    """

    railing: Railing
    levels: tuple[tuple[int, float], ...]
    flight: Flight
    sections: int
    setbacks: tuple[tuple[float, float], ...]
    gap: float

    @property
    def all_sections(self) -> int:
        """Sections of its four guards."""
        return sum(sections for sections, _ in self.levels) + 2 * self.sections


@dataclass
class Tape:
    """Draws lengths on sixteenths, and none twice where a thing has a length of its own."""

    draw: random.Random
    taken: set[tuple[object, ...]] = field(default_factory=set)

    def length(self, low: float, high: float) -> float:
        """A length between two bounds [in]."""
        return self.draw.randint(round(low / SIXTEENTH), round(high / SIXTEENTH)) * SIXTEENTH

    def clear(self, railing: Railing, sections: int) -> float:
        """Clear of a level run of equal sections, which no other run of that railing has."""
        (least, most), posts = railing.clears[sections], (sections - 1) * railing.face
        for _ in range(TRIES):
            clear = self.length(sections * least + posts, sections * most + posts)
            if self._is_new(railing.assembly, clear):
                return clear
        raise ValueError(f"no clear of {sections} sections of {railing.assembly} is left that no run has")

    def flight(self, railing: Railing, sections: int) -> Flight:
        """A flight with riser and treads of its own."""
        for _ in range(TRIES):
            risers = self.draw.randint(*railing.treads[sections]) + 1
            rise, tread = self.length(7 * risers, 7.375 * risers), self.length(10.125, 10.625)
            if self._is_new(risers, rise, tread):
                return _flight(risers, rise, tread, self.length(0.5, 1.125))
        raise ValueError(f"no flight beside {sections} sections of {railing.assembly} is left that no house has")

    def house(self, number: int) -> House:
        """The house of that number, counted from 0."""
        railing, sections = RAILINGS[number % len(RAILINGS)], 1 + number % 2
        levels = tuple((each, self.clear(railing, each)) for each in LEVELS[number // 2 % len(LEVELS)])
        setbacks = tuple((self.length(1.5, 4), self.length(1.5, 3)) for _ in range(2))
        return House(railing, levels, self.flight(railing, sections), sections, setbacks, self.length(2, 3.5))

    def _is_new(self, *length: object) -> bool:
        if length in self.taken:
            return False
        self.taken.add(length)
        return True


def rows(sections: int, *, alike: bool, seed: int = 1) -> Rows:
    """Typed rows of every input tab of a job with exactly that many sections.

    Args:
        sections: how many, at least 1.
        alike: the same few houses again and again, as in a tract; else every length is its own.
        seed: of the lengths.

    Raises:
        ValueError: there are not enough different lengths for so many sections.
    """
    tape = Tape(random.Random(f"{sections} {alike} {seed}"))
    site = Site()
    models = [tape.house(number) for number in range(MODELS)] if alike else []
    left, number = sections, 0
    while True:
        house = models[number % MODELS] if alike else tape.house(number)
        if house.all_sections > left:
            break
        number += 1
        left -= house.all_sections
        site.add(house, number)
    site.add_porch(tape, left, number + 1)
    return {
        "job": (replace(starters.settings(INCH), **NAMES),),
        "runs": tuple(site.runs),
        "flights": tuple(site.flights),
        "supports": tuple(site.supports),
        "assemblies": starters.assemblies(INCH),
        "fastenings": starter_fastenings.fastenings(INCH),
        "prices": (*map(_priced, starters.prices(INCH)), LEFT_OVER),
        "paid": PAID,
    }


def draw(path: Path, typed: Rows) -> None:
    """Write those rows as a measurement workbook; lengths of runs, flights and supports as text, as on site."""
    taped = {tab.name: _taped(tab, typed[tab.name]) for tab in (runs.TAB, flights.TAB, supports.TAB)}
    rest = {name: typed[name] for name in ("assemblies", "fastenings", "prices", "paid")}
    Filled(path, INCH, NAMES, {**taped, **rest}).draw(path)


def _taped(tab: Tab, typed: Sequence[Any]) -> tuple[Any, ...]:
    """Rows with their lengths as one reads them off a tape."""
    lengths = [column.name for column in tab.columns if column.kind in (MEASURED, ALLOWANCE)]
    return tuple(
        replace(row, **{name: tape_text(getattr(row, name), SIXTEENTH, INCH) or None for name in lengths})
        for row in typed
    )


@dataclass
class Site:
    """Rows of all houses so far."""

    runs: list[Run] = field(default_factory=list)
    flights: list[Flight] = field(default_factory=list)
    supports: list[Support] = field(default_factory=list)

    def add(self, house: House, number: int) -> None:
        """One house: the wall, the corner, the head of the stairs, two posts on the pad and one at the house."""
        marks = [f"H{number} {each}" for each in ("W", "P1", "P2", "P3", "P4", "P5")]
        wall, corner, head, last, left, right = marks
        rise = house.flight.total_rise or 0.0
        flight = replace(house.flight, flight=f"F{number}", handrails=int(number % 3 > 0))
        self.flights.append(flight)
        self.runs += _levels(house, number, (wall, corner, head), rise)
        self.runs += _stairs(house, flight, number, ((left, head), (right, last)))
        if not flight.handrails:
            self.runs.append(
                Run(run=f"H{number} H", location=f"House {number}, wall", kind=HANDRAIL, flight=flight.flight,
                    assembly=house.railing.assembly)
            )  # fmt: skip
        self.supports += (
            Support(support=wall, kind=WALL, notes="House wall"),
            Support(support=last, kind=POST, state=NEW, gap_beyond=house.gap),
            *(Support(support=each, kind=POST, state=NEW, mount=ON_CONCRETE) for each in (left, right)),
            *_on_treads(house, number),
        )

    def add_porch(self, tape: Tape, sections: int, number: int) -> None:
        """Level guards from post to post with those sections, up to three in each."""
        for place, start in enumerate(range(0, sections, 3), start=1):
            railing, its = RAILINGS[0], min(3, sections - start)
            ends = f"H{number} P{place}", f"H{number} P{place + 1}"
            self.runs.append(
                _level(railing, tape.clear(railing, its), (number, f"A{place}"), ends, 53.0, place % 4 * 90.0)
            )


def _levels(house: House, number: int, posts: Sequence[str], rise: float) -> Iterator[Run]:
    """The guard at the side, from the wall to the corner, and the one in front, from there to the stairs."""
    (_, side), (_, front) = house.levels
    for word, clear, ends, direction in (("B", side, posts[:2], 180.0), ("A", front, posts[1:], 270.0)):
        yield _level(house.railing, clear, (number, word), ends, rise + 2.0, direction)


def _level(
    railing: Railing, clear: float, mark: tuple[int, str], ends: Sequence[str], drop: float, direction: float
) -> Run:
    """One level guard, taped above and below."""
    number, word = mark
    return Run(
        run=f"H{number} {word}", location=f"House {number}, level guard {word}", kind=LEVEL, from_support=ends[0],
        to_support=ends[1], direction=direction, assembly=railing.assembly, measured_to=railing.measured_to,
        clear_top=clear, clear_bottom=clear, stair_side=OPEN, drop=drop,
    )  # fmt: skip


def _stairs(house: House, flight: Flight, number: int, ends: Sequence[tuple[str, str]]) -> Iterator[Run]:
    """The guards at both sides of a flight: one taped level and plumb, the other along the slope."""
    treads, tread, rise = (flight.risers or 0) - 1, flight.tread or 0.0, flight.total_rise or 0.0
    slope = rise / (treads + 1) / tread
    for word, (low, high), (lower, upper) in zip("12", house.setbacks, ends, strict=True):
        clear = low + treads * tread + high
        taped: dict[str, Any] = {"rise": _on_tape(clear * slope)}
        if word == "1":
            taped |= {"clear_bottom": clear}
        else:
            angle = round(math.degrees(math.atan(slope)), 1)
            taped |= {"slope_length": _on_tape(clear * math.hypot(1, slope)), "angle": angle}
        yield Run(
            run=f"H{number} S{word}", location=f"House {number}, stairs", kind=STAIR, flight=flight.flight,
            from_support=lower, to_support=upper, direction=0.0, assembly=house.railing.assembly,
            measured_to=house.railing.measured_to, lower_setback=low, upper_setback=high, stair_side=OPEN,
            drop=rise + 2.0, height=MEETS if word == "1" else OWN, **taped,
        )  # fmt: skip


def _flight(risers: int, rise: float, tread: float, nosing: float) -> Flight:
    """A flight whose risers and treads differ by a sixteenth either way, still without a mark."""
    riser = _on_tape(rise / risers)
    return Flight(
        risers=risers, total_rise=rise, tread=tread, nosing_overhang=nosing, least_riser=riser - SIXTEENTH,
        greatest_riser=riser + SIXTEENTH, least_tread=tread - SIXTEENTH, greatest_tread=tread + SIXTEENTH,
        open_risers="No",
    )  # fmt: skip


def _on_treads(house: House, number: int) -> Iterator[Support]:
    """Posts between the sections of a flight, bolted to its stringer."""
    if house.sections > 1:
        for word in "12":
            mark = f"H{number} S{word}/1"
            yield Support(support=mark, kind=POST, state=NEW, mount=ON_STRINGER, below_surface=10.5)


def _on_tape(length: float) -> float:
    return math.floor(length / SIXTEENTH + 0.5) * SIXTEENTH


def _priced(row: Price) -> Price:
    """A starting row with a price: of boards by the foot, and more by the foot the longer they are."""
    feet, item = (row.length or 0.0) / 12, row.item or ""
    price = round(A_FOOT[item] * feet * (0.9 + feet / 100), 2) if row.sold_as == BOARD else 4.0 + len(item) % 7
    day = dt.date(2026, 4, 20)
    return replace(row, price=price, price_date=day, taxable="Yes", on_hand=ON_HAND.get((item, row.length)))


if __name__ == "__main__":
    _number, _kind, _place = sys.argv[1:]
    draw(Path(_place), rows(int(_number), alike=_kind == "alike"))
