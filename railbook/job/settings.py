"""Settings of the job: one page, each setting a name that formulas use."""

import datetime as dt
from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import (
    ALLOWANCE,
    CHOICE,
    DATE,
    JOB_UNITS,
    MARKUP,
    MEASURED,
    MILLIMETRE,
    MONEY,
    NUMBER,
    PERCENT,
    TEXT,
    UNIT,
)
from railbook.basics.problem import Origin
from railbook.rules import editions

RULE_SETS = editions.RULE_SETS
USUAL_RULES = "US residential 2021"
DOLLARS = "USD"
# What a blank stands for, in inches and in millimetres: common practice, no source.
USUAL_KERF = (0.125, 3.0)
USUAL_TRIM = (0.25, 6.0)
USUAL_OFFCUT = (24.0, 600.0)


@dataclass(frozen=True)
class Settings:
    """What holds for the whole job.

    Attributes:
        unit: length unit of every length in the job, "in" or "mm".
        rule_set: which published limits the job is held against.
        tape_step: finest mark used on the tape [job unit].
        fit_allowance: level gap left at each rail end beside what the bracket takes [job unit].
        build_margin: how far gaps between balusters stay below the limit [job unit].
        fastener_spares: share of fasteners brought along beyond what is counted; None: none.
        saw_kerf: width of the blade; None: `kerf`, the usual one [job unit].
        end_trim: cut away at each end of a board; None: `trim`, the usual one [job unit].
        shortest_offcut: shorter ones are not kept; None: `offcut`, the usual one [job unit].
        tax: share of the price of what is taxable.
        labour_rate: money for an hour.
        hours_per_post: labour for a post; `hours_per_level` and `hours_per_stair` for a foot of guard,
            `hours_handrail` for a foot of handrail alone; for a metre in millimetre jobs.
        currency: what money is counted in.
    """

    job_name: str | None = None
    address: str | None = None
    measured_by: str | None = None
    date: dt.date | None = None
    unit: str = "in"
    rule_set: str = USUAL_RULES
    tape_step: float = 0.0625
    fit_allowance: float = 0.0
    build_margin: float = 0.0
    fastener_spares: float | None = 0.05
    saw_kerf: float | None = None
    end_trim: float | None = None
    shortest_offcut: float | None = None
    tax: float | None = None
    markup_materials: float | None = None
    markup_labour: float | None = None
    labour_rate: float | None = None
    hours_per_post: float | None = None
    hours_per_level: float | None = None
    hours_per_stair: float | None = None
    cost_permit: float | None = None
    cost_delivery: float | None = None
    cost_tear_out: float | None = None
    cost_dump: float | None = None
    currency: str | None = DOLLARS
    notes: str | None = None
    hours_handrail: float | None = None
    origin: Origin = Origin()

    @property
    def kerf(self) -> float:
        """Width of the blade; the usual one where none was typed [job unit]."""
        return self._or_usual(self.saw_kerf, USUAL_KERF)

    @property
    def trim(self) -> float:
        """Cut away at each end of a board; the usual one where none was typed [job unit]."""
        return self._or_usual(self.end_trim, USUAL_TRIM)

    @property
    def offcut(self) -> float:
        """Length from which an offcut is kept; the usual one where none was typed [job unit]."""
        return self._or_usual(self.shortest_offcut, USUAL_OFFCUT)

    def _or_usual(self, typed: float | None, usual: tuple[float, float]) -> float:
        return usual[self.unit == MILLIMETRE] if typed is None else typed


def or_usual(word: str, usual: tuple[float, float]) -> str:
    """Formula part: a setting, or the usual figure where it is blank; the twin of `kerf` and the like.

    >>> or_usual("saw_kerf", USUAL_KERF)
    'IF({saw_kerf}="",IF({unit}="mm",3,0.125),{saw_kerf})'
    """
    inch, millimetre = usual
    return f'IF({{{word}}}="",IF({{unit}}="{MILLIMETRE}",{millimetre:g},{inch:g}),{{{word}}})'


TAB = Tab(
    "job",
    "Job",
    Settings,
    (
        asked("job_name", "Job name", TEXT, "Name of the job; it is printed on every page", needed=True, width=34),
        asked("address", "Address", TEXT, "Where the work is"),
        asked("measured_by", "Measured by", TEXT, "Who held the tape"),
        asked("date", "Date measured", DATE, "Year-month-day, such as 2026-04-30"),
        asked(
            "unit",
            "Length unit",
            UNIT,
            "in or mm; every bare number is read in it",
            choices=JOB_UNITS,
            needed=True,
        ),
        asked(
            "rule_set",
            "Rule set",
            CHOICE,
            "Published limits that the job is held against; see Rules",
            choices=RULE_SETS,
            needed=True,
        ),
        asked("tape_step", "Tape step", MEASURED, "Finest mark that you work to: 1/16 in or 1 mm", needed=True),
        asked(
            "fit_allowance",
            "Fit allowance",
            ALLOWANCE,
            "Level gap left at each rail end beside what the bracket takes; 0 is allowed",
            needed=True,
        ),
        asked(
            "build_margin",
            "Build margin on gaps",
            ALLOWANCE,
            "Gaps between balusters stay this far under the limit; 0 is allowed",
            needed=True,
        ),
        asked(
            "fastener_spares",
            "Spares, fasteners",
            PERCENT,
            "Screws, brackets and so on beyond what is counted, such as 5%; 0% for none; never hold-downs and blocking",
        ),
        asked("saw_kerf", "Saw kerf", ALLOWANCE, "Width of the blade; blank: 1/8 in, 3 mm"),
        asked("end_trim", "End trim", ALLOWANCE, "Cut away at each end of a board; blank: 1/4 in, 6 mm"),
        asked("shortest_offcut", "Shortest offcut", ALLOWANCE, "Shorter ones are not kept; blank: 24 in, 600 mm"),
        asked("currency", "Currency", TEXT, "What money is counted in, such as USD"),
        asked("tax", "Sales tax", PERCENT, "On what is taxable on tab Prices, such as 7.5%; 0% for none"),
        asked("markup_materials", "Mark-up, materials", MARKUP, "Such as 15%; 0% for none"),
        asked("markup_labour", "Mark-up, labour", MARKUP, "Such as 15%; 0% for none"),
        asked("labour_rate", "Labour, an hour", MONEY, "What an hour costs; blank: labour is not priced"),
        asked("hours_per_post", "Hours, a post", NUMBER, "To set one post"),
        asked("hours_per_level", "Hours, level guard", NUMBER, "For a foot; in millimetre jobs for a metre"),
        asked("hours_per_stair", "Hours, stair guard", NUMBER, "For a foot; in millimetre jobs for a metre"),
        asked("cost_permit", "Permit", MONEY, "What the permit costs; 0 for none"),
        asked("cost_delivery", "Delivery", MONEY, "What delivery costs; 0 for none"),
        asked("cost_tear_out", "Tear-out", MONEY, "What taking down the old railing costs; 0 for none"),
        asked("cost_dump", "Dump", MONEY, "What dumping it costs; 0 for none"),
        asked("notes", "Notes", TEXT, "Anything the crew should know"),
        asked(
            "hours_handrail", "Hours, handrail", NUMBER, "For a foot of handrail alone; in millimetre jobs for a metre"
        ),
    ),
    purpose="What holds for the whole job. Fill in column B.",
    down=True,
)
