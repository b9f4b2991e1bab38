"""Which joint the cap of every run makes at its two supports, from the runs that meet there."""

from collections.abc import Iterator, Mapping, Sequence

from railbook.geometry.arrivals import Arrival
from railbook.geometry.cap_ends import CAPPED, form_of, is_even
from railbook.geometry.deck_corners import declared, is_round
from railbook.geometry.joining import Joined, joined
from railbook.geometry.joints import AT_WALL, CUT_OFF, DIES, IN_AIR, MITRE, OPEN_END, PROUD, Play, play_of, turned
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.geometry.margins import way_of
from railbook.geometry.survey import Meeting, Meetings
from railbook.job.build import Job
from railbook.job.supports import POST, STAND_PROUD, Support


def choose_meetings(job: Job, lines: Sequence[Line]) -> Meetings:
    """How the cap of each of the runs ends."""
    ends: dict[tuple[str, str], Meeting] = {}
    for mark, arrivals in met(lines).items():
        chosen = _at_support(arrivals, job.support_of.get(mark), play_of(job.settings.unit))
        ends |= {(each.run, each.end): meeting for each, meeting in zip(arrivals, chosen, strict=True)}
    ends |= _round_corners(lines, ends, play_of(job.settings.unit))
    return {line.run: (ends[line.run, FROM], ends[line.run, TO]) for line in lines}


def _round_corners(
    lines: Sequence[Line], ends: Mapping[tuple[str, str], Meeting], play: Play
) -> Mapping[tuple[str, str], Meeting]:
    """Caps of one height whose last posts guard an outside corner of the deck: mitred in the air over that corner."""
    found: dict[tuple[str, str], Meeting] = {}
    for pair in (each.arrivals for each in declared(lines) if each.arrivals):
        way, both = turned(pair[0].arm, pair[1].arm), (pair, pair[::-1])
        known = all(is_round(own, met, way if own is pair[0] else -way) for own, met in both)
        open_ends = all(ends[each.run, each.end].kind == OPEN_END and form_of(each.assembly) == CAPPED for each in pair)
        heights = [each.middle for each in pair if each.middle is not None]
        level = len(heights) == len(pair) and max(heights) - min(heights) <= play.apart
        if known and open_ends and is_even(*pair) and level:
            for own, met in both:
                found[own.run, own.end] = Meeting(IN_AIR, MITRE, CAPPED, met.run, met.end, way=way_of(way))
    return found


def met(lines: Sequence[Line]) -> Mapping[str, Sequence[Arrival]]:
    """Support -> the runs that end there, in the order of the runs."""
    found: dict[str, list[Arrival]] = {}
    for line in lines:
        for end in (FROM, TO):
            arrival = Arrival(line, end)
            found.setdefault(arrival.support, []).append(arrival)
    return found


def stands_proud(arrivals: Sequence[Arrival], support: Support | None) -> bool:
    """Whether the post stands above every rail and cap that ends at it."""
    asked = support is not None and support.heights == STAND_PROUD
    return asked or any(each.assembly.post_proud is not None for each in arrivals)


def _at_support(arrivals: Sequence[Arrival], support: Support | None, play: Play) -> Iterator[Meeting]:
    """How the caps of the runs that meet at one support end."""
    if support is not None and (support.kind or POST) != POST:
        kinds = tuple(Joined(AT_WALL) for _ in arrivals)
    elif stands_proud(arrivals, support):
        kinds = tuple(Joined(PROUD) for _ in arrivals)
    else:
        kinds = joined([each.arm for each in arrivals], play)
    for own, chosen in zip(arrivals, kinds, strict=True):
        yield _meeting(own, chosen, arrivals, kinds)


def _meeting(own: Arrival, chosen: Joined, arrivals: Sequence[Arrival], kinds: Sequence[Joined]) -> Meeting:
    """What was chosen of one end."""
    form = form_of(own.assembly)
    if chosen.met is None:
        return Meeting(chosen.kind, chosen.kind, form)
    other, ends = arrivals[chosen.met], kinds[chosen.met]
    over = chosen.kind in (OPEN_END, CUT_OFF)
    return Meeting(
        kind=chosen.kind,
        joint=ends.kind if over else chosen.kind,
        form=form,
        other=other.run,
        other_end=other.end,
        short=CUT_OFF in (chosen.kind, ends.kind) or (chosen.kind == DIES and ends.kind != OPEN_END),
        way=way_of(turned(own.arm, other.arm)),
        even=is_even(own, other),
    )
