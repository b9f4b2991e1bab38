"""Runs: one row per straight line of guard between two end supports, or of handrail alone, as taped on site."""

from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import ANGLE, BEARING, CHOICE, COUNT, MARK, MEASURED, SIGNED, TEXT
from railbook.basics.problem import Origin

LEVEL, STAIR, RAMP, HANDRAIL = "Level", "Stair", "Ramp", "Handrail"
FINISHED, BARE = "Finished face", "Bare post"
OPEN, CLOSED = "Open", "Closed"
OWN, MEETS = "Own", "Meets level guard"


@dataclass(frozen=True)
class Run:
    """One line of guard as typed; a blank is None and means "not measured".

    Attributes:
        from_support: mark of the left support seen from the walking side; on a rake the lower one.
        direction: plan bearing from From to To [degrees].
        measured_to: whether lengths were taped to the finished faces or to bare posts.
        clear_top: level distance between the support faces, taped high [job unit].
        clear_bottom: the same, taped low.
        rise: height that a straightedge on the nosings gains over the clear.
        slope_length: length of that straightedge, face to face.
        angle: its slope [degrees].
        lower_setback: lower support's uphill face to the next nosing; negative when beyond it.
        upper_setback: last nosing to the upper support's downhill face.
        lean_from: how far the From support leans, + when its top leans away from this run [degrees];
            `lean_to` that of the To support.
        drop: walking surface to the lowest ground near the edge.
        sections: number of sections wanted; blank leaves it to the assembly's limits.
    """

    run: str = ""
    location: str | None = None
    kind: str | None = None
    flight: str | None = None
    from_support: str | None = None
    to_support: str | None = None
    direction: float | None = None
    assembly: str | None = None
    measured_to: str | None = None
    clear_top: float | None = None
    clear_bottom: float | None = None
    rise: float | None = None
    slope_length: float | None = None
    angle: float | None = None
    lower_setback: float | None = None
    upper_setback: float | None = None
    stair_side: str | None = None
    lean_from: float | None = None
    lean_to: float | None = None
    drop: float | None = None
    sections: int | None = None
    height: str | None = None
    notes: str | None = None
    origin: Origin = Origin()


TAB = Tab(
    "runs",
    "Runs",
    Run,
    (
        asked("run", "Run", MARK, "Your mark for this line of guard: A, B, S1", needed=True, width=7),
        asked("location", "Location", TEXT, "Where it is: porch front, left of the stairs", width=18),
        asked(
            "kind",
            "Kind",
            CHOICE,
            "Level, Stair or Ramp; Handrail: a graspable rail alone, at a wall",
            choices=(LEVEL, STAIR, RAMP, HANDRAIL),
            needed=True,
            width=8,
        ),
        asked(
            "flight",
            "Flight",
            MARK,
            "Stairs: mark of the flight on tab Flights",
            listed_in="flights_flight",
            width=7,
        ),
        asked(
            "from_support",
            "From",
            MARK,
            "Mark of the left support seen from the walking side; on stairs the lower one (needed for guards)",
            width=7,
        ),
        asked(
            "to_support",
            "To",
            MARK,
            "Mark of the other support; one mark on two runs is one post (needed for guards)",
            width=7,
        ),
        asked(
            "direction",
            "Direction",
            BEARING,
            "Plan bearing From to To, 0 to 360, clockwise; corners follow from it (blank: not checked)",
        ),
        asked(
            "assembly",
            "Assembly",
            MARK,
            "Which railing: a mark of tab Assemblies",
            listed_in="assemblies_assembly",
            needed=True,
            width=13,
        ),
        asked(
            "measured_to",
            "Measured to",
            CHOICE,
            "Finished faces, or bare posts that get sleeves later (needed for guards)",
            choices=(FINISHED, BARE),
        ),
        asked("clear_top", "Clear at top", MEASURED, "Level, face to face, taped near the top rail"),
        asked("clear_bottom", "Clear at bottom", MEASURED, "Level, face to face, taped near the bottom rail"),
        asked(
            "rise",
            "Rise",
            MEASURED,
            "Stairs, ramps: what a straightedge on the nosings gains between the two faces",
        ),
        asked("slope_length", "Slope length", MEASURED, "Along that straightedge, face to face"),
        asked("angle", "Angle", ANGLE, "Of that straightedge, degrees from level"),
        asked(
            "lower_setback",
            "Lower setback",
            SIGNED,
            "Lower post's uphill face to the next nosing: + post in front of it, - post beyond it",
        ),
        asked(
            "upper_setback",
            "Upper setback",
            SIGNED,
            "Last nosing to the upper post's downhill face: + post back on the deck",
        ),
        asked(
            "stair_side",
            "Stair side",
            CHOICE,
            "Stairs: open to a drop, or closed by a wall",
            choices=(OPEN, CLOSED),
            width=9,
        ),
        asked(
            "lean_from",
            "Lean at From",
            ANGLE,
            "Degrees along this run; + when the top leans away from it; blank: not measured",
        ),
        asked(
            "lean_to", "Lean at To", ANGLE, "The same at To; with a lean, tape Clear at bottom, and at top as a check"
        ),
        asked(
            "drop",
            "Drop",
            MEASURED,
            "Walking surface (stairs: highest tread beside it) to the lowest ground within 36 in (914 mm) of the edge",
        ),
        asked("sections", "Sections", COUNT, "Only to force a number of sections; leave blank otherwise"),
        asked(
            "height",
            "Height",
            CHOICE,
            "Stairs, ramps: own height of the assembly (blank), or meeting the level guard at the top",
            choices=(OWN, MEETS),
            width=16,
        ),
        asked("notes", "Notes", TEXT, "Anything the crew should know", width=24),
    ),
    purpose="One row for each straight line of guard between two end supports, or of handrail alone. "
    "Blank means not measured.",
    key="run",
)
