"""Random sites: chains of one to four runs round a deck, level, stair and ramp, as a house can have them.

What is drawn is said by `Kinds`: plain sites (`TODAY`), with shared feet of flights, three runs at a post, two railings
in one chain and supports that say what is done where heights differ (`JOINED`), at any turn (`ASKEW`), and by switches
leaning posts, railings whose posts stand proud, and two tapes that differ.
Sizes are inches on the tape of the job; nothing of the product is used but the rows that are typed.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np

from railbook.job.assemblies import NO, ON_FACE, ON_STRINGER, RAKE, SQUARE, Assembly
from railbook.job.flights import Flight
from railbook.job.runs import BARE, FINISHED, LEVEL, MEETS, OPEN, OWN, RAMP, STAIR, Run
from railbook.job.settings import Settings
from railbook.job.supports import EXISTING, KEEP, LOWER, POST, RAISE, STAND_PROUD, WALL, Support
from tests.drawn.askew_sites import ANY, TURNS, drawn_turn, widened, with_bearings
from tests.drawn.solids import Vector, frame

COARSE, FINE = 1 / 16, 1 / 64  # steps of the tape [in]
CLOSEST = 30.0  # between the middle lines of two runs that share no post [in]


@dataclass(frozen=True)
class Kinds:
    """What a site may hold.

    Attributes:
        turns: between two runs, either way [degrees]; 0 is straight on, ANY whatever comes, up to 170.
        steps: of the tape.
        shared_feet: whether a flight or a ramp may leave upward from a post that another run shares.
        branches: whether a third run may leave a post between two.
        assemblies: how many railings, of different heights, a chain may mix; all have posts of one width.
        heights: whether supports may say what is done where guards of two heights end at them.
        leaning: whether an existing post of a chain leans, whichever way.
        proud: whether posts may stand proud.
        unlike: whether the two tapes of a level run may differ without a lean that anybody recorded: then nobody knows
            where its posts' tops are, and caps have no place to be held against.
        askew: whether bearings of posts and walls may be typed, third runs leave at any turn, and rails and balusters
            are of any width.
    """

    turns: tuple[float, ...] = (0.0, 90.0)
    steps: tuple[float, ...] = (COARSE, FINE)
    shared_feet: bool = False
    branches: bool = False
    assemblies: int = 1
    heights: bool = False
    leaning: bool = False
    proud: bool = False
    unlike: bool = False
    askew: bool = False


TODAY = Kinds()
JOINED = Kinds(shared_feet=True, branches=True, assemblies=2, heights=True)
ASKEW = replace(JOINED, turns=(*TURNS, *TURNS, 0.0, 90.0, ANY, ANY, ANY), proud=True, askew=True)


class Site(NamedTuple):
    """A site as typed."""

    runs: tuple[Run, ...]
    flights: tuple[Flight, ...]
    supports: tuple[Support, ...]
    assemblies: tuple[Assembly, ...]
    settings: Settings

    def tabs(self) -> dict[str, Sequence[Any]]:
        """Rows of the input tabs."""
        plain: dict[str, Sequence[Any]] = {"prices": (), "fastenings": (), "rules": ()}
        return {"job": [self.settings], **{name: getattr(self, name) for name in self._fields[:4]}, **plain}


@dataclass
class _Site:
    """A site while it is drawn: where the chain is, and what stands."""

    draw: random.Random
    kinds: Kinds
    settings: Settings
    assemblies: tuple[Assembly, ...]
    runs: list[Run] = field(default_factory=list)
    flights: list[Flight] = field(default_factory=list)
    supports: list[Support] = field(default_factory=list)
    lines: list[tuple[Vector, Vector]] = field(default_factory=list)
    bearings: list[float] = field(default_factory=list)
    at: Vector = field(default_factory=lambda: np.zeros(3))
    bearing: float = 0.0

    def length(self, low: float, high: float) -> float:
        """A length on the tape."""
        step = self.settings.tape_step
        return self.draw.randint(math.ceil(low / step), math.floor(high / step)) * step


def site(seed: int, kinds: Kinds = TODAY) -> Site:
    """The site of that seed."""
    draw = random.Random(seed)
    settings = Settings(
        job_name="SITE", tape_step=draw.choice(kinds.steps), fit_allowance=draw.choice((0.0, 1 / 16)),
        build_margin=draw.choice((0.0, 1 / 16)),
    )  # fmt: skip
    made = _Site(draw, kinds, settings, ())
    made.assemblies = tuple(_assemblies(made))
    made.bearing = draw.choice((0.0, 90.0, 217.5, 350.0))
    shapes = _shapes(made)
    for place, shape in enumerate(shapes):
        _turn(made, shapes, place)
        _add(made, shapes, place, shape)
    _ends(made)
    if kinds.heights:
        _choose_heights(made)
    if kinds.branches and len(made.runs) > 1:
        _branch(made)
    if kinds.leaning:
        _lean(made)
    if kinds.askew:
        made.assemblies = tuple(widened(draw, made.length, each) for each in made.assemblies)
        made.supports = list(with_bearings(draw, made.runs, made.supports))
    return Site(tuple(made.runs), tuple(made.flights), tuple(made.supports), made.assemblies, settings)


def _assemblies(made: _Site) -> Iterator[Assembly]:
    """The railings of a site; of several the posts are of one width, and often the caps of one thickness."""
    first = _assembly(made, 1)
    yield first
    posts = first.sleeve_width or first.post_width or 0.0
    for number in range(2, made.kinds.assemblies + 1):
        other = _assembly(made, number)
        yield replace(
            other, post_width=first.post_width, sleeve_width=first.sleeve_width,
            post_below_sleeve=first.post_below_sleeve, below_surface=first.below_surface,
            cap_width=posts + made.length(0.5, 2.5),
            cap_thickness=made.draw.choice((first.cap_thickness, first.cap_thickness, other.cap_thickness)),
            level_height=made.draw.choice((first.level_height, other.level_height, other.level_height)),
        )  # fmt: skip


def _assembly(made: _Site, number: int) -> Assembly:
    """A railing with sizes of its own."""
    draw, length = made.draw, made.length
    post, baluster = length(3.5, 4.0), length(0.75, 1.5)
    sleeve = post + length(0.5, 1.0) if draw.random() < 0.5 else None
    cap = (sleeve or post) + length(0.5, 2.5)
    place = draw.choice((None,) * 7 + (ON_FACE,))
    let_in, seat = draw.choice(((None, None), (length(0.25, 0.5), None), (None, length(0.125, 0.25))))
    if place == ON_FACE:
        let_in = seat = None
    rails, least = length(1.5, 3.5), draw.choice((None, None, None, length(0.5, 0.75)))
    sizes: dict[str, Any] = {
        "post_width": post, "sleeve_width": sleeve, "post_below_sleeve": 0.125 if sleeve else None,
        "line_post_setback": length(1.5, 3.0), "cap_width": cap, "cap_thickness": length(0.75, 1.5),
        "cap_overhang": length(0.0, 1.5), "top_rail_depth": rails, "bottom_rail_depth": draw.choice((rails, 1.5)),
        "bracket_fit": draw.choice((0.0, length(1 / 16, 1 / 4))), "baluster_width": baluster,
        "baluster_ends": draw.choice((SQUARE, RAKE)), "baluster_place": place,
        "overlap_top": length(1.0, 1.5) if place else None, "overlap_bottom": length(1.0, 1.5) if place else None,
        "baluster_least_width": least,
        "let_in_top": let_in, "let_in_bottom": let_in, "seat_top": seat, "seat_bottom": seat,
        "block_width": 1.5, "block_spacing": draw.choice((None, 24.0, 32.0)),
        "greatest_spacing": length(60.0, 96.0), "level_height": length(36.0, 42.0), "stair_height": length(34.0, 38.0),
        "level_clearance": length(2.0, 3.5), "stair_clearance": length(0.0, 1.5),
        "baluster_pitch": draw.choice((None,) * 9 + ((least or baluster) + length(2.5, 3.25),)),
        "baluster_level_length": draw.choice((None,) * 9 + (length(27.0, 32.0),)),
        "baluster_stair_length": draw.choice((None,) * 9 + (length(27.0, 32.0),)),
        "post_proud": length(0.5, 2.0) if made.kinds.proud and draw.random() < 0.5 else None,
    }  # fmt: skip
    return Assembly(
        assembly=f"RAIL {number}", mount=ON_STRINGER, below_surface=draw.choice((0.0, 9.25)), cap_graspable=NO,
        top_rail_item="2X4", bottom_rail_item="2X4", baluster_item="2X2", **sizes,
    )  # fmt: skip


def _shapes(made: _Site) -> list[str]:
    """Kinds of the runs of a chain: "up" and "down" are raked ones as the chain is walked.

    Feet of flights are at the two ends of the chain unless they may be shared.
    """
    draw, runs = made.draw, made.draw.randint(1, 4)
    if made.kinds.shared_feet:
        return [draw.choice((LEVEL, "up", "down")) for _ in range(runs)]
    shapes = [LEVEL] * runs
    if draw.random() < 0.6:
        shapes[0] = "up"
    if runs != 1 and draw.random() < 0.6 and (runs > 2 or shapes[0] == LEVEL):
        shapes[-1] = "down"
    return shapes


def _turn(made: _Site, shapes: list[str], place: int) -> None:
    """Turn into the next run where there is room for it."""
    if place == 0:
        return
    turn = drawn_turn(made.draw, made.draw.choice(made.kinds.turns)) * made.draw.choice((1, -1))
    longest = frame((0.0, 0.0, 0.0), made.bearing + turn).ahead * 260.0
    way = (made.at, made.at + longest)
    if all(_apart(way, line) > CLOSEST for line in made.lines[:-1]) and len(shapes) > 1:
        made.bearing = (made.bearing + turn) % 360.0


def _apart(one: tuple[Vector, Vector], other: tuple[Vector, Vector]) -> float:
    """Least distance between points taken every few inches along two lines."""
    parts = np.linspace(0.0, 1.0, 40)[:, None]
    first, second = (line[0] + (line[1] - line[0]) * parts for line in (one, other))
    return float(np.linalg.norm(first[:, None] - second[None], axis=2).min())


def _add(made: _Site, shapes: list[str], place: int, shape: str) -> None:
    """One run more in the way that the chain goes."""
    marks = (f"P{place + 1}", f"P{place + 2}")
    forward = shape == "up" or (shape == LEVEL and made.draw.random() < 0.7)
    low, high = marks if forward else marks[::-1]
    beside = shapes[place - 1 : place] if not forward else shapes[place + 1 : place + 2]
    common: dict[str, Any] = {
        "run": f"R{place + 1}", "from_support": low, "to_support": high,
        "assembly": made.draw.choice(made.assemblies).assembly,
        "direction": made.bearing if forward else (made.bearing + 180.0) % 360.0,
        "measured_to": made.draw.choice((FINISHED, FINISHED, BARE)),
        "stair_side": OPEN, "drop": 48.0, "height": OWN,
    }  # fmt: skip
    run = _level(made, common) if shape == LEVEL else _raked(made, common, meets=LEVEL in beside)
    made.runs.append(run)
    ahead = frame((0.0, 0.0, 0.0), made.bearing).ahead * ((run.clear_bottom or run.slope_length or 0.0) + 6.0)
    made.lines.append((made.at, made.at + ahead))
    made.bearings.append(made.bearing)
    made.at = made.at + ahead


def _level(made: _Site, common: dict[str, Any]) -> Run:
    """A level run, mostly of one section; sometimes the two tapes differ and nobody saw a lean."""
    clear = made.length(*made.draw.choice(((36.0, 70.0), (36.0, 70.0), (70.0, 200.0))))
    top = clear + (made.draw.choice((0.0, 1 / 8, -1 / 8)) if made.kinds.unlike else 0.0)
    return Run(kind=LEVEL, clear_bottom=clear, clear_top=top, **common)


def _raked(made: _Site, common: dict[str, Any], *, meets: bool) -> Run:
    """A flight or a ramp, as high at its top as the level guard there."""
    rake = {**common, "height": MEETS if meets else OWN}
    if made.draw.random() < 0.3:
        clear, from_floor = made.length(50.0, 150.0), made.length(0.0, 6.0)
        lower = from_floor if made.kinds.shared_feet else made.draw.choice((None, from_floor))
        rise = _nearest(made, clear * made.draw.uniform(1 / 20, 1 / 8))
        return Run(kind=RAMP, clear_bottom=clear, rise=rise, lower_setback=lower, **rake)
    riser, tread, risers = made.length(6.5, 7.75), made.length(10.0, 12.0), made.draw.randint(3, 14)
    flight = Flight(
        flight=f"F{len(made.flights) + 1}", risers=risers, riser=riser, tread=tread, nosing_overhang=1.0,
        open_risers="No", first_riser=made.draw.choice((None, None, made.length(5.0, 7.75))),
    )  # fmt: skip
    made.flights.append(flight)
    low, high = made.length(0.5, 9.0), made.length(0.0, 4.0)
    clear = low + (risers - 1) * tread + high
    rise, slope = _nearest(made, clear * riser / tread), _nearest(made, clear * math.hypot(riser, tread) / tread)
    measures: dict[str, Any] = made.draw.choice(
        ({"clear_bottom": clear, "rise": rise}, {"slope_length": slope, "rise": rise}, {"clear_bottom": clear})
    )
    return Run(kind=STAIR, flight=flight.flight, lower_setback=low, upper_setback=high, **measures, **rake)


def _nearest(made: _Site, exact: float) -> float:
    """What the tape shows of a length."""
    return round(exact / made.settings.tape_step) * made.settings.tape_step


def _ends(made: _Site) -> None:
    """At some ends of the chain a wall; here and there a post that stands already and is as wide as it is."""
    widest, last = min(each.cap_width or 0.0 for each in made.assemblies), len(made.runs) + 1
    for mark in (f"P{number}" for number in range(1, last + 1)):
        end = made.draw.choice((WALL, WALL, EXISTING, None, None, None))
        if end == WALL and mark in ("P1", f"P{last}"):
            made.supports.append(Support(support=mark, kind=WALL))
        elif end == EXISTING:
            width = made.length(3.0, widest)
            made.supports.append(
                Support(support=mark, kind=POST, state=EXISTING, face_width=width, standing_height=60.0)
            )


def _choose_heights(made: _Site) -> None:
    """At some of the shared posts it is said what is done where heights differ."""
    for mark in (f"P{number}" for number in range(2, len(made.runs) + 1)):
        if made.draw.random() < 0.3:
            old = next((each for each in made.supports if each.support == mark), Support(support=mark, kind=POST))
            choice = made.draw.choice((KEEP, RAISE, LOWER, STAND_PROUD, STAND_PROUD))
            proud = made.draw.choice((None, made.length(0.0, 2.0))) if choice == STAND_PROUD else None
            made.supports = [each for each in made.supports if each is not old]
            made.supports.append(replace(old, heights=choice, proud=proud))


def _branch(made: _Site) -> None:
    """A third, level run from a post between two, clear of all; square to one of them unless guards come askew."""
    at = made.draw.randint(1, len(made.runs) - 1)
    arrives, leaves = made.bearings[at - 1 : at + 1]
    foot = made.lines[at][0]
    turns = [0.0, 90.0, -90.0]
    if made.kinds.askew:
        turns = [
            drawn_turn(made.draw, each) * made.draw.choice((1, -1)) for each in made.draw.sample(made.kinds.turns, 5)
        ]
    for turn in made.draw.sample(turns, len(turns)):
        bearing = (arrives + turn) % 360.0
        way = (foot, foot + frame((0.0, 0.0, 0.0), bearing).ahead * 260.0)
        others = [line for place, line in enumerate(made.lines) if place not in (at - 1, at)]
        if abs(bearing - leaves) > 1.0 and all(_apart(way, line) > CLOSEST for line in others):
            common = {
                "run": "R9", "from_support": f"P{at + 1}", "to_support": "P9", "assembly": made.runs[at].assembly,
                "direction": bearing, "measured_to": FINISHED, "stair_side": OPEN, "drop": 48.0, "height": OWN,
            }  # fmt: skip
            made.runs.append(_level(made, common))
            return


def _lean(made: _Site) -> None:
    """A post of the chain stands already and leans, and each of its runs shows how far along itself.

    It gets a sleeve, or is as wide as one. A flight that begins there is of one section and has no blocks: the nosings
    are counted from its foot, and what stands on them is told to be fitted on site.
    """
    mark = made.draw.choice(["P1", *(f"P{number}" for number in range(1, len(made.runs) + 2))])
    old = next((each for each in made.supports if each.support == mark), Support(support=mark))
    if old.kind == WALL:
        return
    width = made.draw.choice((None, made.assemblies[0].sleeve_width or made.assemblies[0].post_width))
    made.supports = [each for each in made.supports if each is not old]
    made.supports.append(replace(old, kind=POST, state=EXISTING, face_width=width, standing_height=60.0))
    far, way = math.tan(math.radians(made.draw.choice((0.5, 1.0, 1.5, 2.0, 3.0)))), made.draw.uniform(0.0, 360.0)
    shift = frame((0.0, 0.0, 0.0), made.draw.choice((way, made.bearings[0]))).ahead * far
    for place, run in enumerate(made.runs):
        if mark in (run.from_support, run.to_support):
            made.runs[place] = _shown(run, mark, shift)
    begins = any(run.kind == STAIR and run.from_support == mark for run in made.runs)
    if begins:
        made.assemblies = tuple(replace(each, greatest_spacing=400.0, block_spacing=None) for each in made.assemblies)


def _shown(run: Run, mark: str, shift: Vector) -> Run:
    """A run with the lean of one of its supports as a level along it shows it."""
    gained = float(frame((0.0, 0.0, 0.0), run.direction or 0.0).ahead @ shift)
    lean = math.degrees(math.atan(gained))
    if mark == run.from_support:
        return replace(run, clear_top=None, lean_from=-lean)
    return replace(run, clear_top=None, lean_to=lean)
