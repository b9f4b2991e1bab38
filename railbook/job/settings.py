"""Settings of the job: one page, each setting a name that formulas use."""

import datetime as dt
from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import ALLOWANCE, CHOICE, DATE, JOB_UNITS, MEASURED, PERCENT, TEXT, UNIT
from railbook.basics.problem import Origin

US_RESIDENTIAL_2018 = "US residential 2018"
US_RESIDENTIAL_2021 = "US residential 2021"
RULE_SETS = (US_RESIDENTIAL_2018, US_RESIDENTIAL_2021)


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
    """

    job_name: str | None = None
    address: str | None = None
    measured_by: str | None = None
    date: dt.date | None = None
    unit: str = "in"
    rule_set: str = US_RESIDENTIAL_2021
    tape_step: float = 0.0625
    fit_allowance: float = 0.0
    build_margin: float = 0.0
    fastener_spares: float | None = 0.05
    notes: str | None = None
    origin: Origin = Origin()


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
            "Screws, bolts, brackets and so on beyond what is counted, such as 5%; blank: none",
        ),
        asked("notes", "Notes", TEXT, "Anything the crew should know"),
    ),
    purpose="What holds for the whole job. Fill in column B.",
    down=True,
)
