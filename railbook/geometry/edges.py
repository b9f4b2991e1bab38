"""Posts on the fascia: how far a guard stands outside the deck's edge, and what then opens under its bottom rail.

The plan is drawn with the deck's edge as x axis and the deck below it. A post on the fascia has its near side at the
spacer, so that the middle of the guard lies e = spacer + post/2 outside. A rail of width w ends toward the deck at
e - w/2, and at height k over the edge; what passes under it passes between the edge and that arris, which are
hypot(k, e - w/2) apart. Inside the rim and on the surface the rail lies over the deck, and k alone is the opening. On
a ramp edge and rail are parallel, k cos(slope) apart square to both.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import most, or_zero
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import through, written
from railbook.basics.kinds import LENGTH, MILLIMETRE
from railbook.geometry.guards import Guard
from railbook.geometry.lifts import FROM
from railbook.geometry.measures import JOINS, Measures
from railbook.job.assemblies import ON_FASCIA, USUAL_RAIL_WIDTH
from railbook.job.runs import STAIR
from railbook.job.settings import or_usual
from railbook.job.supports import POST, Support


def under_rail_opening(*, clearance: float, outside: float, rail: float) -> float:
    """Largest sphere between the deck's edge and the bottom rail of a guard outside it [job unit].

    Args:
        clearance: under the rail, square to the deck.
        outside: edge to the middle of the guard.
        rail: its width.

    By hand, 3-4-5: a rail 3 wide whose middle stands 5 1/2 outside, 3 over the deck.

    >>> [under_rail_opening(clearance=3.0, outside=out, rail=3.0) for out in (5.5, 1.0)]
    [5.0, 3.0]
    """
    return math.hypot(max(0.0, clearance), max(0.0, outside - rail / 2))


def mount_of(measures: Measures, support: Support | None) -> str:
    """How a support of a run is held; a wall or a column does not say, and the run goes on as its railing has it."""
    own = None if support is None else support.mount
    return own or measures.assembly.mount or ""


@dataclass(frozen=True)
class Edge:
    """How one run stands to the deck's edge; lengths in the job's unit, level.

    Attributes:
        guard: its working guard.
    """

    guard: Guard

    @property
    def _measures(self) -> Measures:
        return self.guard.measures

    @cached_property
    def off_edge(self) -> bool:
        """Whether it stands outside the deck's edge at either end, or between its ends; a flight has no such edge."""
        measures = self._measures
        mounts = (mount_of(measures, each) for each in (None, measures.from_typed, measures.to_typed))
        return self.guard.kind != STAIR and ON_FASCIA in mounts

    @cached_property
    def from_out(self) -> float | None:
        """Fascia to the middle of the guard at From; None where its post is not on the fascia."""
        return self._out(self._measures.from_typed)

    @cached_property
    def to_out(self) -> float | None:
        """The same at To."""
        return self._out(self._measures.to_typed)

    @property
    def between_out(self) -> float | None:
        """The same at posts between sections, which are held as the railing has it."""
        return self._out(None)

    def out(self, end: str) -> float | None:
        """The same at either end."""
        return self.from_out if end == FROM else self.to_out

    def near(self, end: str) -> float | None:
        """Near face of the post at either end to the corner of the deck that it guards with another."""
        return self.from_near if end == FROM else self.to_near

    def _out(self, support: Support | None) -> float | None:
        if not self.off_edge or mount_of(self._measures, support) != ON_FASCIA:
            return None
        return self.post_width(support) / 2 + self.spacer(support)

    def post_width(self, support: Support | None) -> float:
        """Width of the post that stands against the fascia: of its own, or of the railing's post inside its sleeve."""
        has_own = support is not None and support.kind == POST and support.face_width is not None
        width = support.face_width if support is not None and has_own else self._measures.assembly.post_width
        return width or 0.0

    def spacer(self, support: Support | None) -> float:
        """Between fascia and post: its own, or as its railing has it."""
        own = None if support is None else support.spacer
        return (self._measures.assembly.spacer if own is None else own) or 0.0

    @property
    def from_near(self) -> float | None:
        """Near face of the From post to the corner of the deck that it guards with another."""
        return self._near(self._measures.from_typed)

    @property
    def to_near(self) -> float | None:
        """The same at To."""
        return self._near(self._measures.to_typed)

    def _near(self, support: Support | None) -> float | None:
        return support.from_corner if self.off_edge and support is not None else None

    @property
    def said(self) -> str:
        """That it stands off the edge, and which posts guard a corner with its own, in words."""
        if not self.off_edge:
            return ""
        ends = self._measures.from_typed, self._measures.to_typed
        corners = ("" if each is None else each.corner_post or "" for each in ends)
        return "|".join(("", ON_FASCIA, *corners))

    @cached_property
    def outside(self) -> float:
        """Fascia to the middle of the guard where it stands farthest outside."""
        return most(self.from_out, self.to_out) or 0.0

    @cached_property
    def rail_width(self) -> float:
        """Across the bottom rail."""
        typed = self._measures.assembly.bottom_rail_width
        return USUAL_RAIL_WIDTH[self.guard.settings.unit == MILLIMETRE] if typed is None else typed

    @cached_property
    def under_rail(self) -> float | None:
        """Opening under the bottom rail, square to it; on stairs the triangle governs instead."""
        if self.guard.kind == STAIR:
            return None
        clearance = self.guard.clearance / self.guard.secant
        if not self.off_edge:
            return clearance
        return under_rail_opening(clearance=clearance, outside=self.outside, rail=self.rail_width)

    @property
    def under_rail_excel(self) -> str:
        """Formula part of the same, of a run that is no stair."""
        return _OUTSIDE if self.off_edge else "{clearance}/{secant}"


_OUT = (
    '=IF({END_mount}="On fascia",{END_post}/2+'
    'IF({END_row}=0,{usual},IF({END_support.spacer}="",{usual},{END_support.spacer})),"")'
)
_NEAR = '=IF({END_row}=0,"",IF({END_support.from_corner}="","",{END_support.from_corner}))'
_MOUNT = 'IF({END_row}=0,{assembly.mount},IF({END_support.mount}="",{assembly.mount},{END_support.mount}))'
_POST = (
    'IF({END_row}=0,{assembly.post_width},IF(OR({END_support.kind}<>"Post",{END_support.face_width}=""),'
    "{assembly.post_width},{END_support.face_width}))"
)
_JOINS = through("guard.measures", JOINS)
_TERMS = {
    **{f"{end}_mount": _MOUNT.replace("END", end) for end in ("from", "to")},
    **{f"{end}_post": _POST.replace("END", end) for end in ("from", "to")},
    "usual": or_zero("{assembly.spacer}"),
    "lower_rail": or_usual("assembly.bottom_rail_width", USUAL_RAIL_WIDTH),
}
_OUTSIDE = written("SQRT(({clearance}/{secant})^2+MAX(0,MAX({from_out},{to_out})-{lower_rail}/2)^2)", _JOINS, _TERMS)
SAID_EXCEL = written(  # formula part: the twin of `Edge.said`
    'IF(AND({kind}<>"Stair",OR({assembly.mount}="On fascia",{from_mount}="On fascia",{to_mount}="On fascia")),'
    '"|On fascia|"&IF({from_row}=0,"",{from_support.corner_post}&"")&"|"'
    '&IF({to_row}=0,"",{to_support.corner_post}&""),"")',
    _JOINS,
    _TERMS,
)

PART = Part(
    "lines",
    Edge,
    (
        Column("from_out", "Outside the edge at From", LENGTH, _OUT.replace("END", "from"), when="off_edge"),
        Column("to_out", "Outside the edge at To", LENGTH, _OUT.replace("END", "to"), when="off_edge"),
        Column("from_near", "From post to the corner", LENGTH, _NEAR.replace("END", "from"), when="off_edge"),
        Column("to_near", "To post to the corner", LENGTH, _NEAR.replace("END", "to"), when="off_edge"),
        Column("under_rail", "Under the rail", LENGTH, '=IF({kind}="Stair","",[under_rail_excel])'),
    ),
    joins=_JOINS,
    terms=_TERMS,
)
