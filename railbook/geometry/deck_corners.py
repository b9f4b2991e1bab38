"""Outside corners of the deck that two posts on the fascia guard: which there are, and what they come to.

The sums and their drawing are in `corner_sums.py`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from railbook.basics.blank import if_known, when_known
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests
from railbook.basics.kinds import ANGLE, COUNT, LENGTH, MARK, VERDICT
from railbook.geometry import lines
from railbook.geometry.arrivals import Arrival
from railbook.geometry.corner_sums import Place, is_outside, opening_round, past_corner
from railbook.geometry.joints import SHARPEST, STRAIGHT, turned
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.job import runs, supports
from railbook.job.runs import LEVEL
from railbook.job.supports import POST, Support


def past_face(own: Arrival, met: Arrival, turn: float) -> float:
    """How far past the near face of its last post a guard goes until it meets the other [job unit]; 0: no corner."""
    near, ahead, beyond = own.line.edge.near(own.end), own.line.edge.out(own.end), met.line.edge.out(met.end)
    if not is_outside(abs(turn)):
        return 0.0
    return (near or 0.0) + past_corner(ahead or 0.0, beyond or 0.0, abs(turn))


def is_round(own: Arrival, met: Arrival, turn: float) -> bool:
    """Whether a guard meets another past its last post, round an outside corner, and all that tells where is known."""
    known = own.line.edge.near(own.end), own.line.edge.out(own.end), met.line.edge.out(met.end)
    return None not in known and is_outside(-turn if own.is_from else turn)


@dataclass(frozen=True)
class DeckCorner:
    """One outside corner with the two posts that guard it; lengths in the job's unit.

    Attributes:
        post: mark of the one where the first run ends; `other` of the one where the second begins.
        line: the first run, at `line_row` of Working runs.
        next_line: the second, at `next_row`.
    """

    post: str
    other: str
    line: Line = field(repr=False)
    line_row: int
    next_line: Line = field(repr=False)
    next_row: int

    @property
    def one_typed(self) -> Support | None:
        """The first post as typed."""
        return self.line.measures.to_typed

    @property
    def other_typed(self) -> Support | None:
        """The second post as typed."""
        return self.next_line.measures.from_typed

    @cached_property
    def turn(self) -> float:
        """Turn from the first run into the second [degrees]; 0 where a direction is blank."""
        return turned(Arrival(self.line, TO).arm, Arrival(self.next_line, FROM).arm)

    @property
    def near(self) -> float | None:
        """Near face of the first post to the corner, along its edge."""
        return None if self.one_typed is None else self.one_typed.from_corner

    @property
    def other_near(self) -> float | None:
        """The same of the second."""
        return None if self.other_typed is None else self.other_typed.from_corner

    @cached_property
    def inner(self) -> float | None:
        """Edge to the face of the first post toward the deck."""
        return when_known(lambda out: out - self.line.measures.to_face / 2, self.line.edge.to_out)

    @cached_property
    def other_inner(self) -> float | None:
        """The same of the second."""
        return when_known(lambda out: out - self.next_line.measures.from_face / 2, self.next_line.edge.from_out)

    @cached_property
    def opening(self) -> float | None:
        """What passes between the two posts."""
        if not is_outside(self.turn):
            return None
        places = self.near, self.inner, self.other_near, self.other_inner
        return when_known(
            lambda near, inner, far, beyond: opening_round(Place(near, inner), Place(far, beyond), self.turn), *places
        )

    @cached_property
    def past(self) -> float | None:
        """How far past the near face of the first post the middle of its guard meets that of the other."""
        return self._past(self.near, self.line.edge.to_out, self.next_line.edge.from_out)

    @cached_property
    def other_past(self) -> float | None:
        """The same at the second post."""
        return self._past(self.other_near, self.next_line.edge.from_out, self.line.edge.to_out)

    def _past(self, near: float | None, own: float | None, other: float | None) -> float | None:
        if not is_outside(self.turn):
            return None
        return when_known(lambda a, out, far: a + past_corner(out, far, self.turn), near, own, other)

    @property
    def turned_in(self) -> bool:
        """Whether it is no outside corner any more."""
        return not is_outside(self.turn)

    @cached_property
    def status(self) -> str:
        """Asks for another run when one of its runs does, or where it is no such corner any more."""
        return TAB.status_of(self)


class Pair(NamedTuple):
    """Two posts that guard an outside corner, with the run that ends at the first and the one that begins beyond."""

    post: str
    other: str
    run: str
    next_run: str


LEFT_TO_RIGHT = "From is the left end of a level run seen from the deck"


class Declared(NamedTuple):
    """Two posts of which one names the other, with the runs that end there.

    Attributes:
        post: mark of the post that names the other.
        other: the mark that it names.
        arrivals: the first run where it ends, and the second where it begins; empty where there is no such corner.
        fault: why there is none, and what to do.
    """

    post: str
    other: str
    arrivals: tuple[Arrival, ...] = ()
    fault: tuple[str, str] = ("", "")


def declared(lines: Sequence[Line]) -> Iterator[Declared]:
    """Every pair of posts that is to guard a corner, once."""
    at: dict[str, list[Arrival]] = {}
    for arrival in (Arrival(line, end) for line in lines for end in (FROM, TO)):
        at.setdefault(arrival.support, []).append(arrival)
    pair_of: dict[str, str] = {}
    for mark, arrivals in at.items():
        typed = arrivals[0].typed
        other = None if typed is None else typed.corner_post
        if not other or pair_of.get(mark) == other:
            continue
        if mark in pair_of or other in pair_of:
            what = f"{mark} and {other} are to guard a corner of the deck, and one of them guards another one already"
            yield Declared(mark, other, fault=(what, "name the two posts of each corner to each other only"))
            continue
        pair_of |= {mark: other, other: mark}
        yield _declared(mark, other, at)


def _declared(mark: str, other: str, at: Mapping[str, Sequence[Arrival]]) -> Declared:
    """One pair, with its fault where it has one."""
    ends = [*at[mark], *at.get(other, ())]
    if mark == other or len(at.get(other, ())) != 1 or len(at[mark]) != 1 or not all(map(_is_level_end, ends)):
        what = f"{mark} and {other} are to guard a corner of the deck: each must be a post at the end of one level run"
        return Declared(mark, other, fault=(what, "correct Corner post on tab Supports, or From and To on tab Runs"))
    first, second = sorted(ends, key=lambda each: each.is_from)
    if first.is_from or not second.is_from:
        what = f"runs {first.run} and {second.run} both {'begin' if first.is_from else 'end'} at the corner"
        return Declared(mark, other, fault=(what, f"{LEFT_TO_RIGHT}: turn one of the two about, direction too"))
    if any(out is None for out in (first.line.edge.to_out, second.line.edge.from_out)):
        what = f"{mark} and {other} are to guard a corner of the deck, and do not both stand on the fascia"
        return Declared(mark, other, fault=(what, "choose Mount: On fascia for both, or clear Corner post"))
    turn = turned(first.arm, second.arm)
    if not is_outside(turn):
        way = "left, as round an inside corner" if turn < -STRAIGHT else "not to the right"
        what = f"from run {first.run} to run {second.run} the guard turns {way}: no corner for {mark} and {other}"
        return Declared(mark, other, fault=(what, f"correct the two directions, or clear Corner post; {LEFT_TO_RIGHT}"))
    return Declared(mark, other, (first, second))


def _is_level_end(arrival: Arrival) -> bool:
    """Whether a level run ends there at a post."""
    return arrival.line.kind == LEVEL and (arrival.typed is None or arrival.typed.kind == POST)


def choose_deck_corners(lines: Sequence[Line]) -> tuple[Pair, ...]:
    """Every outside corner that two posts guard."""
    ends = (each.arrivals for each in declared(lines) if each.arrivals)
    return tuple(Pair(first.support, second.support, first.run, second.run) for first, second in ends)


def deck_corners_of(lines: Sequence[Line], pairs: Sequence[Pair]) -> tuple[DeckCorner, ...]:
    """One row for each of those pairs."""
    by_run = {line.run: line for line in lines}
    found = ((pair, by_run[pair.run], by_run[pair.next_run]) for pair in pairs)
    return tuple(
        DeckCorner(pair.post, pair.other, line, line.line_row, onward, onward.line_row) for pair, line, onward in found
    )


_TURN = (
    "=IF(COUNT({typed.direction},{next_typed.direction})<2,0,MOD({next_typed.direction}-{typed.direction}+540,360)-180)"
)
_ALONG = "{near}+{other_near}*COS({angle})+{other_inner}*SIN({angle})"
_ACROSS = "{inner}+{other_near}*SIN({angle})-{other_inner}*COS({angle})"


def _past_excel(near: str, own: str, other: str) -> str:
    """Formula: how far past a post's near face the middles meet."""
    return (
        f'=IF(OR({{turned_in}},COUNT({near},{own},{other})<3),"",{near}+({other}-{own}*COS({{angle}}))/SIN({{angle}}))'
    )


TAB = Tab(
    "deck_corners",
    "Working deck corners",
    DeckCorner,
    (
        Column("post", "Post", MARK),
        Column("other", "Round the corner", MARK),
        Column("line_row", "Run row", COUNT),
        Column("next_row", "Next run row", COUNT),
        Column("turn", "Turn", ANGLE, _TURN),
        Column("near", "Near face to the corner", LENGTH, of="one_typed.from_corner"),
        Column("other_near", "The other's", LENGTH, of="other_typed.from_corner"),
        Column("inner", "Edge to inner face", LENGTH, "=" + if_known("{line.to_out}-{line.to_face}/2", "line.to_out")),
        Column(
            "other_inner", "The other's", LENGTH, "=" + if_known("{next.from_out}-{next.from_face}/2", "next.from_out"),
        ),
        Column(
            "opening", "Opening between them", LENGTH,
            '=IF(OR({turned_in},COUNT({near},{other_near},{inner},{other_inner})<4),"",'
            f"SQRT(({_ALONG})^2+({_ACROSS})^2))",
        ),
        Column("past", "Guards meet past its face", LENGTH, _past_excel("{near}", "{line.to_out}", "{next.from_out}")),
        Column("other_past", "The other's", LENGTH, _past_excel("{other_near}", "{next.from_out}", "{line.to_out}")),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Outside corners of the deck that two posts on the fascia guard: what passes between the posts, and where "
    "the guards would meet.",
    key="post",
    joins={
        "line": Join(lines.TAB, "line_row", "line"),
        "next": Join(lines.TAB, "next_row", "next_line"),
        "typed": Join(runs.TAB, "line.run_row", "line.measures.typed"),
        "next_typed": Join(runs.TAB, "next.run_row", "next_line.measures.typed"),
        "one_typed": Join(supports.TAB, "line.to_row", "line.measures.to_typed", maybe=True),
        "other_typed": Join(supports.TAB, "next.from_row", "next_line.measures.from_typed", maybe=True),
    },
    terms={
        "angle": "RADIANS({turn})",
        "turned_in": f"OR({{turn}}<={STRAIGHT:g},{{turn}}>{SHARPEST:g})",
    },
    rests=Rests(
        on=("line", "next"),
        unless={"turned_in": "{turned_in}"},
    ),
)  # fmt: skip
