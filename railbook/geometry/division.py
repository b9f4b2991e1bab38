"""Division of a long run into sections: how many are needed, and where the posts between them stand.

Level and ramp runs are divided into equal clears. On stairs a post between sections stands at one
distance behind a nosing, so that sections are whole treads. The number of sections and the treads
are chosen; everything that follows from them is computed afresh.
"""

from typing import NamedTuple

from railbook.basics.rounding import ceiling, floor


class Room(NamedTuple):
    """What limits the sections of one run; lengths in the job's unit, level.

    Attributes:
        span: clear at the bottom, which the posts between sections divide.
        from_extra: what a leaning From support adds to it higher up; `to_extra` alike.
        post_face: face of a post between sections.
        from_half: half width of the From support; 0 at a wall. `to_half` alike.
        spacing: greatest distance between post centres.
        rail_clear: greatest clear that the greatest rail length allows.
    """

    span: float
    from_extra: float
    to_extra: float
    post_face: float
    from_half: float
    to_half: float
    spacing: float
    rail_clear: float

    @property
    def from_most(self) -> float:
        """Greatest clear of a section between From and a line post."""
        return min(self.spacing - self.from_half - self.post_face / 2, self.rail_clear) - self.from_extra

    @property
    def to_most(self) -> float:
        """Greatest clear of a section between a line post and To."""
        return min(self.spacing - self.to_half - self.post_face / 2, self.rail_clear) - self.to_extra

    @property
    def middle_most(self) -> float:
        """Greatest clear of a section between two line posts."""
        return min(self.spacing - self.post_face, self.rail_clear)

    @property
    def fits_whole(self) -> bool:
        """Whether the run needs no line post."""
        whole = min(self.spacing - self.from_half - self.to_half, self.rail_clear)
        return round(self.span + self.from_extra + self.to_extra - whole, 6) <= 0


def equal_sections(room: Room) -> int:
    """Fewest equal sections of a level or ramp run; exact at ties.

    Between two posts this is (span + face) / spacing, rounded up: 192 in between 4 in posts at
    72 in centres gives 196 / 72 = 2.7, so 3.

    Raises:
        ValueError: the posts are wider than the spacing allows.

    >>> equal_sections(Room(192.0, 0.0, 0.0, 4.0, 2.0, 2.0, 72.0, 1000.0))
    3
    >>> equal_sections(Room(68.0, 0.0, 0.0, 4.0, 2.0, 2.0, 72.0, 1000.0))
    1
    """
    if room.fits_whole:
        return 1
    ends = min(room.from_most, room.to_most)
    if min(ends, room.middle_most) <= 0:
        raise ValueError("no section fits between the posts")
    pair = ceiling((room.span + room.post_face) / (ends + room.post_face))
    if pair <= 2:
        return 2
    all_alike = min(ends, room.middle_most)
    return max(3, ceiling((room.span + room.post_face) / (all_alike + room.post_face)))


class Treads(NamedTuple):
    """Where line posts may stand on a flight; lengths in the job's unit.

    Attributes:
        lower_setback: lower support's face to the first nosing.
        tread: nosing to nosing.
        behind: nosing to the downhill face of a line post.
        treads: how many treads the flight has.
    """

    lower_setback: float
    tread: float
    behind: float
    treads: int

    def first_most(self, room: Room) -> int:
        """Highest tread (from 0) on which the first line post may stand."""
        return floor((room.from_most - self.lower_setback - self.behind) / self.tread)

    def last_least(self, room: Room) -> int:
        """Lowest tread on which the last line post may stand."""
        behind_it = room.span - self.lower_setback - self.behind - room.post_face
        return ceiling((behind_it - room.to_most) / self.tread)

    def between(self, room: Room) -> int:
        """Most treads between two line posts."""
        return floor((room.middle_most + room.post_face) / self.tread)


def tread_sections(room: Room, treads: Treads) -> int:
    """Fewest sections of whole treads on a flight.

    Raises:
        ValueError: a section would be shorter than a tread.

    A 12-tread flight of 10 in treads between 4 in posts 3 in clear of the end nosings, line posts 3 in
    behind a nosing, 72 in centres: the first post may stand up to (72 - 4 - 3 - 3) / 10 = tread 6, the
    last no lower than (126 - 3 - 3 - 4 - 68) / 10 = tread 5, so one post does.

    >>> tread_sections(Room(126.0, 0.0, 0.0, 4.0, 2.0, 2.0, 72.0, 1000.0), Treads(3.0, 10.0, 3.0, 12))
    2
    """
    if room.fits_whole:
        return 1
    if treads.first_most(room) < 0 or treads.between(room) < 1:
        raise ValueError("no section of whole treads fits between the posts")
    steps = treads.last_least(room) - treads.first_most(room)
    return 2 + max(0, ceiling(steps / treads.between(room)))


def choose_treads(sections: int, room: Room, treads: Treads) -> tuple[int, ...]:
    """Treads (from 0) on which the line posts stand: the most even choice that the limits allow.

    Returns:
        one tread for each post between sections, ascending.

    >>> choose_treads(2, Room(126.0, 0.0, 0.0, 4.0, 2.0, 2.0, 72.0, 1000.0), Treads(3.0, 10.0, 3.0, 12))
    (6,)
    """
    posts = sections - 1
    step = treads.between(room)
    chosen: list[int] = []
    for number in range(1, sections):
        even = number * (room.span + room.post_face) / sections - room.post_face
        wanted = floor((even - treads.lower_setback - treads.behind) / treads.tread + 0.5)
        lowest = treads.last_least(room) - (posts - number) * step
        highest = treads.first_most(room) if not chosen else chosen[-1] + step
        low = max(lowest, chosen[-1] + 1 if chosen else 0)
        chosen.append(min(max(wanted, low), highest, treads.treads - 1))
    return tuple(chosen)


class Division(NamedTuple):
    """What was chosen for one run.

    Attributes:
        sections: how many.
        treads: tread of each line post on stairs; empty elsewhere.
    """

    sections: int
    treads: tuple[int, ...] = ()
