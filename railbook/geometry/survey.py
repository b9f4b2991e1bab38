"""The survey: rows of every geometry tab, from the job and from what was chosen for it.

Choosing and laying out are apart, so that a changed job can be laid out again with the old choices:
that is what the live workbook does when a measurement is edited.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

from railbook.basics.double_entry import Tab, first_rows
from railbook.geometry import (
    cap_ends,
    caps,
    chosen,
    deck_corners,
    flights,
    handrail_slopes,
    handrails,
    lines,
    posts,
    turned_posts,
)
from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CapEnd
from railbook.geometry.caps import Cap
from railbook.geometry.chosen import Chosen
from railbook.geometry.deck_corners import DeckCorner, Pair, deck_corners_of
from railbook.geometry.division import Division
from railbook.geometry.flights import FlightWorking
from railbook.geometry.guards import Guard, Meets
from railbook.geometry.handrail_slopes import HandrailSlope
from railbook.geometry.handrails import Handrail, handrail_slopes_of, handrails_of
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.measured import measures_of
from railbook.geometry.measures import Measures
from railbook.geometry.post_tops import PostTop
from railbook.geometry.posts import Post
from railbook.geometry.sections import Section
from railbook.geometry.turned_posts import Askew, TurnedPost, Turning, turned_posts_of
from railbook.job.build import Job


class Place(NamedTuple):
    """Where a post stands: chosen once, from which runs meet there.

    Attributes:
        post: its mark.
        runs: the runs that it carries, in words.
        run: the run that sets its height.
        stands: at which place of that run.
        kind: kind and state that were counted.
        like: mark of the first post cut exactly like it.
        cover: the run whose cap lies over it, at its end `cover_end`; empty between sections.
        bend: where two caps bend over it, the other run, at its end `bend_end`; `cover` is then the downhill one.
        proud: the run whose railing says how far it stands proud; empty: the run that sets its height.
        side: a run that comes to it square to that run, whose recorded lean is sideways there; its end `side_end`.
        number: place among the posts between sections, from 1; 0 for an end support.
        framed: 1 where the rim of a frame may be beside it.
        rough: 1 where it is sawn longer than it ends up.
        turned: how it is set where a run meets it askew, in words.
    """

    post: str
    runs: str
    run: str
    stands: str
    kind: str
    like: str
    cover: str = ""
    cover_end: str = ""
    bend: str = ""
    bend_end: str = ""
    proud: str = ""
    side: str = ""
    side_end: str = ""
    number: int = 0
    framed: int = 1
    rough: int = 0
    turned: str = ""


class Meeting(NamedTuple):
    """How a cap ends at one support: chosen from the runs that meet there.

    Attributes:
        kind: how it ends, a word of `joints.py`.
        joint: the joint that it is a part of; see `CapEnd`, as for the others.
        other: mark of the run that it is held against; empty when there is none.
        other_end: of that run.
    """

    kind: str
    joint: str
    form: str
    other: str = ""
    other_end: str = ""
    short: bool = False
    way: str = ""
    even: bool = True


class Raised(NamedTuple):
    """That a run has not its own height, and where it gets it; see `Meets`."""

    how: str
    end: str
    other: str = ""
    other_end: str = ""


Meetings = Mapping[str, tuple[Meeting, Meeting]]  # run -> its cap's ends at From and at To
Leaning = Collection[tuple[str, str]]  # run and its end
Heights = Mapping[str, Raised]  # run -> how it gets its height, where not its own


class SiteChoices(NamedTuple):
    """What was chosen from the geometry; an empty one is the start.

    Attributes:
        unit: length unit at the time.
        rule_set: rule set at the time.
        flights: marks of the flights, in the order of their working tab.
        divisions: run -> its sections.
        chosen_for: run -> what its division rests on.
        likes: section -> mark of the first section cut exactly like it.
        places: every post.
        turnings: how posts are turned that a run may meet askew.
        askew: run -> to which sides it is askew at its ends.
        heights: run -> how it gets its height, where not its own.
        meetings: run -> how its cap ends.
        handrails: run of handrail alone -> the pieces that it is made of.
        leaning: runs and their ends at which a support leans.
        deck_corners: outside corners that two posts guard.
    """

    unit: str
    rule_set: str
    flights: tuple[str, ...]
    divisions: Mapping[str, Division]
    chosen_for: Mapping[str, str]
    likes: Mapping[str, str]
    places: tuple[Place, ...]
    turnings: tuple[Turning, ...]
    askew: Mapping[str, Askew]
    heights: Heights
    meetings: Meetings
    handrails: Mapping[str, str]
    leaning: Leaning = frozenset()
    deck_corners: tuple[Pair, ...] = ()


@dataclass(frozen=True)
class Site:
    """Rows of the geometry tabs."""

    chosen: Chosen
    turned_posts: tuple[TurnedPost, ...]
    flights: tuple[FlightWorking, ...]
    guards: tuple[Guard, ...]
    lines: tuple[Line, ...]
    sections: tuple[Section, ...]
    posts: tuple[Post, ...]
    cap_ends: tuple[CapEnd, ...]
    caps: tuple[Cap, ...]
    deck_corners: tuple[DeckCorner, ...]
    handrail_slopes: tuple[HandrailSlope, ...]
    handrails: tuple[Handrail, ...]

    @cached_property
    def section_rows(self) -> Mapping[str, int]:
        """Mark of a section -> its row."""
        return first_rows([section.section for section in self.sections])


TABS: Mapping[str, Tab] = {  # by the field of `Site` that holds their rows
    "chosen": chosen.TAB,
    "turned_posts": turned_posts.TAB,
    "flights": flights.TAB,
    "lines": lines.TAB,
    "cap_ends": cap_ends.TAB,
    "posts": posts.TAB,
    "caps": caps.TAB,
    "deck_corners": deck_corners.TAB,
    "handrail_slopes": handrail_slopes.TAB,
    "handrails": handrails.TAB,
}


def flights_of(job: Job, marks: Sequence[str]) -> tuple[FlightWorking, ...]:
    """One row for each of those flights that the job has, wherever it stands on tab Flights now."""
    limits, rows = job.in_force, first_rows([flight.flight for flight in job.flights])
    known = [mark for mark in marks if mark in rows]
    return tuple(FlightWorking(mark, rows[mark], job.flights[rows[mark] - 1], limits) for mark in known)


def guards_of(job: Job, measured: Sequence[Measures], heights: Heights, leaning: Leaning) -> tuple[Guard, ...]:
    """One guard for each of the measured runs; one that meets another has its height."""
    alone = [
        Guard(each.run, row, each, job.settings, leaning=tuple(end for end in (FROM, TO) if (each.run, end) in leaning))
        for row, each in enumerate(measured, start=1)
    ]
    by_run = {guard.run: guard for guard in alone}
    return tuple(
        replace(guard, meets=_meets(heights[guard.run], by_run)) if guard.run in heights else guard for guard in alone
    )


def _meets(chosen: Raised, guards: Mapping[str, Guard]) -> Meets:
    """What was chosen of a guard's height, with the guard that gives it."""
    return Meets(chosen.how, chosen.end, guards.get(chosen.other), chosen.other_end)


def cap_ends_of(lines: Sequence[Line], meetings: Meetings, unit: str) -> tuple[CapEnd, ...]:
    """Both ends of every cap, in the order of the runs, From before To."""
    arrivals = {(line.run, end): Arrival(line, end) for line in lines for end in (FROM, TO)}
    rows = {place: row for row, place in enumerate(arrivals, start=1)}

    def end_of(place: tuple[str, str], chosen: Meeting) -> CapEnd:
        other = (chosen.other, chosen.other_end)
        more = chosen.short, chosen.form, chosen.way, chosen.even
        return CapEnd(arrivals[place], chosen.kind, chosen.joint, arrivals.get(other), rows.get(other), *more, unit)

    return tuple(
        end_of((line.run, end), chosen)
        for line in lines
        for end, chosen in zip((FROM, TO), meetings[line.run], strict=True)
    )


def lines_of(job: Job, guards: Sequence[Guard], choices: SiteChoices) -> tuple[Line, ...]:
    """One line for each guard, divided as chosen."""
    chosen = Chosen(job.settings, choices.unit, choices.rule_set)
    return tuple(
        Line(
            run=guard.run,
            line_row=guard.line_row,
            guard=guard,
            division=choices.divisions[guard.run],
            chosen_for=choices.chosen_for[guard.run],
            chosen=chosen,
        )
        for guard in guards
    )


def sections_of(lines: Sequence[Line], likes: Mapping[str, str]) -> tuple[Section, ...]:
    """The sections of every line, each tied to the first one cut like it."""
    unlike = (section for line in lines for section in _sections_of_line(line))
    alone = [replace(section, like_row=row) for row, section in enumerate(unlike, start=1)]
    rows = {section.section: row for row, section in enumerate(alone, start=1)}
    tied = []
    for section in alone:
        like_row = rows.get(likes.get(section.section, section.section), rows[section.section])
        first = None if like_row == rows[section.section] else alone[like_row - 1]
        tied.append(replace(section, like_row=like_row, first=first))
    return tuple(tied)


def _sections_of_line(line: Line) -> tuple[Section, ...]:
    """The sections of one line, from its From end."""
    treads: tuple[int | None, ...] = line.division.treads or (None,) * (line.sections - 1)
    bounds = (None, *treads, None)
    return tuple(
        Section(
            section=f"{line.run}.{number}",
            run=line.run,
            number=number,
            line=line,
            line_row=line.line_row,
            lower_tread=bounds[number - 1],
            upper_tread=bounds[number],
            like_row=0,
        )
        for number in range(1, line.sections + 1)
    )


def posts_of(job: Job, lines: Sequence[Line], caps: Sequence[Cap], places: Sequence[Place]) -> tuple[Post, ...]:
    """One row for each place where a post stands."""
    over = {(cap.run, end.arrival.end): (cap, end) for cap in caps for end in (cap.from_end, cap.to_end)}
    by_run = {line.run: line for line in lines}
    support_rows = first_rows([support.support for support in job.supports])
    rows = {place.post: row for row, place in enumerate(places, start=1)}
    alone: list[Post] = []
    for place in places:
        line, support_row = by_run[place.run], support_rows.get(place.post, 0)
        worked = PostTop(
            post=place.post,
            stands=place.stands,
            line=line,
            line_row=line.line_row,
            typed=job.supports[support_row - 1] if support_row else None,
            support_row=support_row,
            proud_line=by_run[place.proud or place.run],
            proud_row=by_run[place.proud or place.run].line_row,
            side=by_run.get(place.side),
            side_end=place.side_end,
            number=place.number or None,
            tread=line.division.treads[place.number - 1] if place.number and line.division.treads else None,
            **_over(over, place),
        )
        counted = rows[place.like], place.framed, place.rough, place.turned
        alone.append(Post(place.post, place.runs, worked, place.kind, job.settings, *counted))
    return tuple(
        post if place.like == place.post else replace(post, first=alone[rows[place.like] - 1])
        for post, place in zip(alone, places, strict=True)
    )


def _over(ends: Mapping[tuple[str, str], tuple[Cap, CapEnd]], place: Place) -> dict[str, Any]:
    """The caps over a post, with the rows of their ends."""
    cover, bend = ends.get((place.cover, place.cover_end)), ends.get((place.bend, place.bend_end))
    found: dict[str, Any] = {}
    for name, each in (("cover", cover), ("bend", bend)):
        if each is not None:
            cap, end = each
            row = cap.from_row if end.arrival.is_from else cap.to_row
            found |= {name: end, f"{name}_cap": cap, f"{name}_row": row}
    return found


def caps_of(lines: Sequence[Line], ends: Sequence[CapEnd]) -> tuple[Cap, ...]:
    """The cap board of every line."""
    return tuple(
        Cap(line.run, line, line.line_row, ends[2 * number], ends[2 * number + 1]) for number, line in enumerate(lines)
    )


def lay_out_site(job: Job, choices: SiteChoices) -> Site:
    """Every geometry row of the job with these choices; runs that were not chosen for stay out."""
    flights = flights_of(job, choices.flights)
    posts_turned = turned_posts_of(job, choices.turnings)
    guards = guards_of(job, measures_of(job, flights, posts_turned, choices.askew), choices.heights, choices.leaning)
    lines = lines_of(job, guards, choices)
    ends = cap_ends_of(lines, choices.meetings, choices.unit)
    caps = caps_of(lines, ends)
    chosen = Chosen(job.settings, choices.unit, choices.rule_set)
    slopes = handrail_slopes_of(job, flights, choices.handrails)
    return Site(
        chosen=chosen,
        turned_posts=posts_turned,
        flights=flights,
        guards=guards,
        lines=lines,
        sections=sections_of(lines, choices.likes),
        posts=posts_of(job, lines, caps, choices.places),
        cap_ends=ends,
        caps=caps,
        deck_corners=deck_corners_of(lines, choices.deck_corners),
        handrail_slopes=slopes,
        handrails=handrails_of(job, slopes, choices.handrails, chosen),
    )
