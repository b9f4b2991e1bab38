"""What a carpenter has in hand: the printed tabs of a result, and what was typed for it.

Rows are plain records, so that a test may change one figure of a copy. Nothing is computed here.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from railbook.basics.kinds import INCH
from railbook.job.assemblies import Assembly
from railbook.job.flights import Flight
from railbook.job.runs import HANDRAIL, LEVEL, RAMP, STAIR, Run
from railbook.job.settings import Settings
from railbook.job.supports import Support

TOP, BOTTOM, BOTH = "Top", "Bottom", "Both"  # rails on the baluster layout
TOP_RAIL, BOTTOM_RAIL, BOTH_RAILS = "Top rail", "Bottom rail", "Both rails"
BALUSTER, CAP, BLOCK, POST, SLEEVE = "Baluster", "Cap board", "Block", "Post", "Sleeve"

# IRC 2021 R312.1.3 with its exception 2, as printed there in inches and millimetres
SPHERES = {INCH: {LEVEL: 4.0, RAMP: 4.0, STAIR: 4.375}, "mm": {LEVEL: 102.0, RAMP: 102.0, STAIR: 111.0}}
HAIRS = {INCH: 1 / 64, "mm": 0.4}  # what is called no gap and no lap


class Sawn(NamedTuple):
    """A row of the cut list; lengths in the job's unit, cuts and tilts in degrees from square."""

    part: str
    where: tuple[str, ...]
    quantity: int
    length: float
    tip_to_tip: float
    lower_cut: float
    upper_cut: float
    saw: str
    other_edge: float | None = None
    long_edge: str = ""
    lower_tilt: float = 0.0
    upper_tilt: float = 0.0


class Marked(NamedTuple):
    """A row of the baluster layout."""

    sections: tuple[str, ...]
    rail: str
    rail_length: float
    gap: float
    marks: tuple[float, ...]
    after_last: float


class Trimmed(NamedTuple):
    """A row of the post schedule."""

    post: str
    runs: tuple[str, ...]
    kind: str
    state: str
    stands: str
    position: float | None
    top: str
    slopes: str
    post_downhill: float | None
    post_uphill: float | None
    sleeve_downhill: float | None
    sleeve_uphill: float | None
    top_angle: float | None
    foot_angle: float | None
    joint_at: float | None
    joint_height: float | None
    needed: float | None
    saw_off: float | None
    turned: str


class Reached(NamedTuple):
    """A row of the working caps: how far the cap of a run reaches past the near faces of its two supports, level, at
    the middle of its underside; negative when it ends before them."""

    from_reach: float
    to_reach: float


class Blocked(NamedTuple):
    """A row of the support blocks."""

    sections: tuple[str, ...]
    number: int
    along: float
    tread_number: int | None
    long_side: float | None
    short_side: float | None
    top_angle: float


class Told(NamedTuple):
    """A row of the warnings."""

    where: str
    what: str


class Reading(NamedTuple):
    """The printed tabs, and the typed ones.

    Attributes:
        runs: that are laid out.
        refused: that are not, as Warnings tells: a rail of theirs would meet the corner of a post.
    """

    sawn: tuple[Sawn, ...]
    marked: tuple[Marked, ...]
    trimmed: tuple[Trimmed, ...]
    reached: Mapping[str, Reached]
    blocked: tuple[Blocked, ...]
    told: tuple[Told, ...]
    settings: Settings
    runs: tuple[Run, ...]
    refused: tuple[Run, ...]
    flights: Mapping[str, Flight]
    supports: Mapping[str, Support]
    assemblies: Mapping[str, Assembly]

    @property
    def hair(self) -> float:
        """What is called no gap and no lap [job unit]."""
        return HAIRS[self.settings.unit]

    @property
    def step(self) -> float:
        """The finest mark of the tape [job unit]."""
        return self.settings.tape_step

    def piece(self, part: str, where: str) -> Sawn | None:
        """The piece of that part that goes there; None where the cut list has none."""
        parts = (part, BOTH_RAILS) if part in (TOP_RAIL, BOTTOM_RAIL) else (part,)
        return next((row for row in self.sawn if row.part in parts and where in row.where), None)

    def layout(self, rail: str, section: str) -> Marked | None:
        """The marks of that rail."""
        return next((row for row in self.marked if row.rail in (rail, BOTH) and section in row.sections), None)

    def post(self, mark: str) -> Trimmed | None:
        """That post of the schedule."""
        return next((row for row in self.trimmed if row.post == mark), None)

    def sphere(self, run: Run) -> float:
        """What no opening between its balusters may let through."""
        return SPHERES[self.settings.unit][run.kind or LEVEL]


def read(rows: Mapping[str, Sequence[Any]]) -> Reading:
    """Take down a result: its rows by name of their tab, as `Estimate.rows` holds them."""
    told = tuple(Told(row.where, row.what) for row in rows["warnings"])
    guards = [row for row in rows["runs"] if row.kind != HANDRAIL]
    refused = {row.what.split()[1] for row in told if is_refusal(row.what)}
    return Reading(
        sawn=tuple(_sawn(row) for row in rows["cut_list"] if row.length is not None),
        marked=tuple(_marked(row) for row in rows["baluster_layout"]),
        trimmed=tuple(
            Trimmed(row.post, _marks(row.runs), *(getattr(row, name) for name in Trimmed._fields[2:]))
            for row in rows["posts"]
        ),
        reached={row.run: Reached(row.from_reach, row.to_reach) for row in rows["caps"]},
        blocked=tuple(
            Blocked(_marks(row.used_in), *(getattr(row, name) for name in Blocked._fields[1:]))
            for row in rows["blocks"]
        ),
        told=told,
        settings=rows["job"][0],
        runs=tuple(row for row in guards if row.run not in refused),
        refused=tuple(row for row in guards if row.run in refused),
        flights={row.flight: row for row in rows["flights"]},
        supports={row.support: row for row in rows["supports"]},
        assemblies={row.assembly: row for row in rows["assemblies"]},
    )


def is_refusal(what: str) -> bool:
    """Whether a run is told not to be laid out, because a rail would meet the corner of a post."""
    return what.startswith("run ") and "meets the corner of post" in what


def _marks(text: str) -> tuple[str, ...]:
    return tuple(text.split(", "))


def _sawn(row: Any) -> Sawn:
    sawn = Sawn(row.part, _marks(row.where), *(getattr(row, name) for name in Sawn._fields[2:]))
    return sawn._replace(lower_tilt=row.lower_tilt or 0.0, upper_tilt=row.upper_tilt or 0.0)


def _marked(row: Any) -> Marked:
    marks = tuple(mark for mark in row.marks if mark is not None)
    return Marked(_marks(row.used_in), row.rail, row.rail_length, row.gap, marks, row.after_last)
