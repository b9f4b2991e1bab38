"""Random jobs that draw from every column of every input tab, in ranges that a house can have.

One generator serves both ways: `random_job` feeds it a seed, `jobs` lets hypothesis draw and shrink.
Sizes are told in inches and drawn on sixteenths, or on whole millimetres in a millimetre job.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from hypothesis import strategies as st

from railbook import estimate
from railbook.basics.kinds import INCH, JOB_UNITS
from railbook.basics.problem import Problem
from railbook.estimate import Estimate
from railbook.job.assemblies import BETWEEN, MOUNTS, ON_FACE, RAKE, SQUARE, Assembly
from railbook.job.build import Job, build
from railbook.job.flights import Flight
from railbook.job.limits import Limit, published
from railbook.job.prices import BOARD, EACH, KIT, PACK, YARD_BOARD, Price
from railbook.job.runs import BARE, CLOSED, FINISHED, HANDRAIL, LEVEL, MEETS, OPEN, OWN, RAMP, STAIR, Run
from railbook.job.settings import RULE_SETS, Settings
from railbook.job.supports import COLUMN, EXISTING, KEEP, LOWER, NEW, POST, RAISE, STAND_PROUD, WALL, Support
from tests.drawn_edges import AT_A_CORNER, deck_corner, spaced_railing, spaced_support
from tests.drawn_fastenings import drawn_fastenings
from tests.drawn_money import drawn_payments, drawn_saw_and_rates
from tests.taper import ITEMS, YES_OR_NO, Marks, Taper


def _settings(taper: Taper) -> Settings:
    """Every setting; the tape step is one that a tape of the unit has."""
    inch = taper.unit == INCH
    return Settings(
        job_name=taper.text(),
        address=taper.text(),
        measured_by=taper.text(),
        date=taper.day(),
        unit=taper.unit,
        rule_set=taper.either(*RULE_SETS),
        tape_step=taper.either(1 / 16, 1 / 16, 1 / 8, 1 / 32) if inch else taper.either(1.0, 1.0, 0.5, 2.0),
        fit_allowance=taper.either(0.0, taper.length(1 / 16, 1 / 4)),
        build_margin=taper.either(0.0, taper.length(1 / 16, 1 / 4)),
        fastener_spares=taper.either(None, 0.0, 0.05, 0.1),
        **drawn_saw_and_rates(taper),
        notes=taper.text(),
    )


def _assembly(taper: Taper, mark: str) -> Assembly:
    """A railing with every size of its own."""
    length, maybe, either = taper.length, taper.maybe, taper.either
    post, baluster = length(3, 5.5), length(0.75, 2.25)
    return Assembly(
        assembly=mark, description=taper.text(), post_item=either(None, *ITEMS), post_width=post,
        sleeve_item=either(None, *ITEMS), sleeve_width=post + length(0.5, 1.5) if taper.chance(0.5) else None,
        post_below_sleeve=maybe(0, 0.25), post_proud=either(*(None,) * 6, 0.0, length(0.5, 3)),
        post_cap_item=either(None, *ITEMS), skirt_item=either(None, *ITEMS), mount=either(*MOUNTS),
        below_surface=either(0.0, length(5, 12)),
        line_post_setback=maybe(1.5, 4), cap_item=either(None, *ITEMS), cap_width=maybe(5, 7.25),
        cap_thickness=either(None, *(length(0.75, 1.5) for _ in range(4))),
        cap_overhang=maybe(0, 1.5), cap_graspable=either(*YES_OR_NO),
        top_rail_item=either(*ITEMS), top_rail_depth=length(1.5, 3.5), bottom_rail_item=either(*ITEMS),
        bottom_rail_depth=length(1.5, 3.5), bracket_fit=either(0.0, length(1 / 16, 1 / 2)),
        relief_cut=maybe(0.5, 1.5), baluster_item=either(*ITEMS), baluster_width=baluster,
        baluster_least_width=either(None, taper.taped(baluster * 0.7)), baluster_ends=either(SQUARE, RAKE),
        baluster_place=either(None, BETWEEN, BETWEEN, ON_FACE), overlap_top=maybe(0, 3), overlap_bottom=maybe(0, 3),
        baluster_level_length=either(None, None, length(24, 36)),
        baluster_stair_length=either(None, None, length(24, 36)),
        baluster_pitch=either(None, None, None, baluster + length(2.5, 3.75)), least_end_gap=maybe(0, 1.5),
        let_in_top=maybe(0, 0.5), let_in_bottom=maybe(0, 0.5), seat_top=maybe(0, 0.375),
        seat_bottom=maybe(0, 0.375), block_item=either(None, *ITEMS), block_width=maybe(1.25, 3.5),
        block_spacing=maybe(16, 36), greatest_spacing=length(60, 100), greatest_rail=maybe(60, 96),
        greatest_rake=either(None, 30.0, 37.5, 45.0), level_height=length(36, 42), stair_height=length(34, 38),
        level_clearance=length(2, 4), stair_clearance=length(0, 2),
        **(_handrail_sizes(taper) if taper.chance(0.8) else {}),
    )  # fmt: skip


def _handrail_sizes(taper: Taper) -> dict[str, Any]:
    """Sizes of the handrail of an assembly."""
    return {
        "handrail_item": taper.either(*ITEMS),
        "handrail_height": taper.length(33, 39),
        "handrail_return": taper.maybe(2, 4),
        "handrail_past_top": taper.either(None, 0.0, taper.length(6, 12)),
        "handrail_past_bottom": taper.either(None, 0.0, taper.length(6, 12)),
        "handrail_bracket_spacing": taper.length(24, 48),
    }


@dataclass
class Site:
    """What has been drawn of one job so far."""

    taper: Taper
    assemblies: Sequence[Assembly]
    runs: list[Run] = field(default_factory=list)
    flights: list[Flight] = field(default_factory=list)
    ends: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.run_marks, self.post_marks = Marks(self.taper, "R"), Marks(self.taper, "P")
        self.flight_marks = Marks(self.taper, "F")

    def add(self, kind: str, low: str, high: str, direction: float | None, **measured: Any) -> None:
        """One run between two supports, of any railing at any height unless told."""
        taper = self.taper
        measured = {
            "assembly": taper.either(*self.assemblies).assembly,
            "height": taper.either(None, OWN, MEETS),
            **measured,
        }
        run = Run(
            run=self.run_marks.new(),
            location=taper.text(),
            kind=kind,
            from_support=low,
            to_support=high,
            direction=direction,
            measured_to=taper.either(FINISHED, FINISHED, BARE),
            stair_side=taper.either(None, OPEN, OPEN, CLOSED),
            drop=taper.maybe(6, 120),
            sections=taper.either(None, None, None, None, 1, 2, 3),
            notes=taper.text(),
            **measured,
        )
        self.runs.append(run)


def _leans(taper: Taper) -> dict[str, float | None]:
    """How far the two supports lean; mostly nobody looked."""
    if taper.chance(0.6):
        return {}
    leans = (None, 0.0, 0.5, 1.3, 2.0, -0.4, -1.1)
    return {"lean_from": taper.either(*leans), "lean_to": taper.either(*leans)}


def _level_chain(site: Site) -> None:
    """A few level runs round the corners of a deck; some without a bearing."""
    taper = site.taper
    marks = [site.post_marks.new()]
    bearing = taper.either(0.0, 90.0, 350.0, 17.5)
    for _ in range(taper.draw.randint(1, 3)):
        marks.append(site.post_marks.new())
        clear = taper.length(16, 220)
        leans = taper.either(None, 0.0, taper.length(1 / 16, 3 / 8), -taper.length(1 / 16, 3 / 8))
        top, bottom = (None if leans is None else clear + leans), clear
        if top is not None and taper.chance(0.2):
            bottom = None  # type: ignore[assignment] # only the upper clear was taped
        site.add(
            LEVEL, marks[-2], marks[-1], taper.either(None, bearing, bearing), clear_top=top, clear_bottom=bottom,
            **_leans(taper),
        )  # fmt: skip
        bearing = (bearing + taper.either(0.0, 90.0, -90.0, 45.0, 22.5)) % 360
    site.ends += marks


def _flight(site: Site) -> tuple[Flight, float, float]:
    """A flight, with the riser and tread that it really has."""
    taper = site.taper
    riser, tread, risers = taper.length(6, 8), taper.length(9.5, 12), taper.draw.randint(2, 14)
    given = taper.either("both", "total", "riser", "riser", "none")
    flight = Flight(
        flight=site.flight_marks.new(),
        risers=None if taper.chance(0.1) else risers,
        total_rise=None if given in ("riser", "none") else risers * riser + taper.either(0.0, taper.length(0, 1.5)),
        riser=None if given in ("total", "none") else riser,
        tread=None if taper.chance(0.1) else tread,
        nosing_overhang=taper.either(None, 0.0, taper.length(0.5, 1.5)),
        first_riser=taper.either(None, None, taper.length(4, 7.5)),
        least_riser=taper.either(None, riser - taper.length(0, 0.5)),
        greatest_riser=taper.either(None, riser + taper.length(0, 0.5)),
        least_tread=taper.either(None, tread - taper.length(0, 0.5)),
        greatest_tread=taper.either(None, tread + taper.length(0, 0.5)),
        open_risers=taper.either(None, *YES_OR_NO),
        handrails=taper.either(None, 0, 1, 2),
        notes=taper.text(),
    )
    site.flights.append(flight)
    return flight, riser / tread, (risers - 1) * tread


def _rake_measures(taper: Taper, clear: float, tangent: float, *, by_flight: bool) -> dict[str, float | None]:
    """One of the sets of measurements that tell slope and length of a rake."""
    angle = math.degrees(math.atan(tangent)) + taper.either(0.0, 0.0, 0.7)
    known = {
        "clear_bottom": taper.taped(clear),
        "rise": taper.taped(clear * tangent),
        "slope_length": taper.taped(clear * math.hypot(1, tangent)) + taper.either(0.0, 0.0, taper.length(0.25, 1)),
        "angle": round(angle, 1),
    }
    sets = [("rise", "clear_bottom"), ("slope_length", "rise"), ("slope_length", "clear_bottom"),
            ("angle", "clear_bottom"), ("angle", "slope_length"), ("angle", "rise"), tuple(known)]  # fmt: skip
    if by_flight:
        sets += [("clear_bottom",), ()]
    chosen = taper.either(*sets)
    lean = taper.either(None, 0.0, taper.length(1 / 16, 3 / 8), -taper.length(1 / 16, 3 / 8))
    top = known["clear_bottom"] + lean if lean is not None and "clear_bottom" in chosen else None
    return {"clear_top": top, **{name: known[name] for name in chosen}}


def _upper_support(site: Site) -> str:
    """A support of a deck drawn before, or one of its own."""
    return site.taper.either(*site.ends) if site.ends and site.taper.chance(0.7) else site.post_marks.new()


def _stairs(site: Site) -> None:
    """One flight with a guard on one or on both sides."""
    taper = site.taper
    flight, tangent, treads = _flight(site)
    named = None if taper.chance(0.05) else flight.flight
    direction = taper.either(None, 0.0, 90.0, 180.0)
    for _ in range(taper.draw.randint(1, 2)):
        lower, upper = taper.length(-2, 9), taper.length(-2, 5)
        clear = max(lower + treads + upper, taper.length(8, 9))
        whole = named is not None and None not in (flight.risers, flight.tread, flight.riser)
        measures = _rake_measures(taper, clear, tangent, by_flight=whole)
        needed = len(measures) == 1  # nothing but the flight and the setbacks
        site.add(
            STAIR, site.post_marks.new(), _upper_support(site), direction, flight=named,
            lower_setback=lower if needed or taper.chance(0.7) else None,
            upper_setback=upper if needed or taper.chance(0.6) else None,
            **measures, **_leans(taper),
        )  # fmt: skip


def _shared_post(site: Site) -> None:
    """A post that a flight shares with a level guard at its top or foot, with both, or with another flight."""
    taper = site.taper
    railing = taper.either(*site.assemblies)
    post, bearing = site.post_marks.new(), taper.either(0.0, 90.0)
    flight, tangent, treads = _flight(site)
    arrives = taper.chance(0.6)
    lower, upper = taper.length(0, 9), taper.length(0, 9)
    clear = lower + treads + upper
    ends = (site.post_marks.new(), post) if arrives else (post, site.post_marks.new())
    common: dict[str, Any] = {"assembly": railing.assembly}
    site.add(
        STAIR, *ends, bearing, flight=flight.flight, clear_bottom=clear, rise=taper.taped(clear * tangent),
        lower_setback=lower, upper_setback=upper, **common, height=taper.either(MEETS, MEETS, OWN),
    )  # fmt: skip
    for turned in taper.either((0.0,), (0.0,), (90.0,), (0.0, 90.0)):
        away = (bearing + turned) % 360
        clear = taper.length(20, 80)
        if arrives:
            site.add(LEVEL, post, site.post_marks.new(), away, clear_bottom=clear, **common)
        else:
            site.add(LEVEL, site.post_marks.new(), post, (away + 180.0 * (turned != 0)) % 360, clear_bottom=clear,
                     **common)  # fmt: skip


def _ramp(site: Site) -> None:
    """A ramp, its surface starting at the lower post or beyond it."""
    taper = site.taper
    measures = _rake_measures(taper, taper.length(36, 200), taper.either(1 / 20, 1 / 12, 1 / 8), by_flight=False)
    site.add(
        RAMP, site.post_marks.new(), _upper_support(site), taper.either(None, 0.0, 90.0),
        lower_setback=taper.maybe(-3, 12), upper_setback=taper.maybe(-3, 12), **measures, **_leans(taper),
    )  # fmt: skip


def _handrail(site: Site) -> None:
    """A handrail of its own: beside a flight, on a slope, or on the level; its supports are no matter."""
    taper = site.taper
    railings = [each for each in site.assemblies if each.handrail_item is not None]
    if not railings:
        return
    flights = [each for each in site.flights if None not in (each.risers, each.riser, each.tread)]
    measured: dict[str, Any] = {"clear_bottom": taper.length(12, 120)}
    way = taper.either("flight", "flight", "sloped", "level") if flights else taper.either("sloped", "level")
    if way == "flight":
        flight = taper.either(*flights)
        tangent, treads = flight.riser / flight.tread, (flight.risers - 1) * flight.tread  # type: ignore[operator]
        taped = _rake_measures(taper, treads, tangent, by_flight=True)
        measured = {"flight": flight.flight, **taper.either({}, taped if flight.risers != 1 else {})}
    elif way == "sloped":
        measured = _rake_measures(taper, taper.length(36, 200), taper.either(1 / 12, 1 / 8, 0.7), by_flight=False)
    run = Run(
        run=site.run_marks.new(), location=taper.text(), kind=HANDRAIL, measured_to=taper.either(None, FINISHED),
        assembly=taper.either(*railings).assembly, notes=taper.text(), **measured,
    )  # fmt: skip
    site.runs.append(run)


def _supports(site: Site) -> Iterator[Support]:
    """Walls, columns, posts that stand already, and posts with a width of their own."""
    taper = site.taper
    for mark in (*site.post_marks.given, "NOT USED"):
        if taper.chance(0.35):
            yield Support(
                support=mark,
                kind=taper.either(POST, POST, WALL, COLUMN),
                state=taper.either(None, NEW, EXISTING),
                face_width=taper.maybe(3.5, 9),
                mount=taper.either(None, *MOUNTS),
                below_surface=taper.either(None, 0.0, taper.length(6, 14)),
                standing_height=taper.maybe(30, 44),
                gap_beyond=taper.maybe(0.5, 6),
                notes=taper.text(),
                heights=taper.either(None, None, KEEP, RAISE, LOWER, STAND_PROUD),
                proud=taper.maybe(0, 3),
            )


def _price(taper: Taper) -> Price:
    """One thing on sale, boards sometimes shorter than the pieces."""
    return Price(
        item=taper.either(*ITEMS),
        description=taper.text(),
        sold_as=taper.either(BOARD, BOARD, YARD_BOARD, EACH, PACK, KIT),
        length=taper.maybe(36, 192),
        pack_of=taper.either(None, 10, 100),
        price=taper.either(None, 0.0, 4.25, 1234.5),
        price_date=taper.day(),
        supplier=taper.text(),
        taxable=taper.either(None, *YES_OR_NO),
        on_hand=taper.either(None, 0, 12),
    )


def _amendments(taper: Taper, rule_set: str) -> tuple[Limit, ...]:
    """What a local authority has instead of a few limits."""
    rows = taper.draw.sample(published(rule_set, taper.unit), taper.draw.randint(0, 4))
    factors = taper.either(0.9, 1.1)
    return tuple(Limit(row.limit, amendment=round((row.published or 0.0) * factors, 2)) for row in rows)


def random_rows(draw: random.Random, runs: int) -> dict[str, tuple[Any, ...]]:
    """Typed rows of every input tab, with at least that many runs."""
    taper = Taper(draw, draw.choice(JOB_UNITS))
    marks = Marks(taper, "RAILING")
    site = Site(taper, [_assembly(taper, marks.new()) for _ in range(taper.draw.randint(1, 3))])
    while len(site.runs) < runs:
        taper.either(_level_chain, _level_chain, _stairs, _stairs, _shared_post, _ramp, _handrail)(site)
    settings = _settings(taper)
    fastenings = tuple(drawn_fastenings(taper, site.assemblies))
    prices = tuple(_price(taper) for _ in range(taper.draw.randint(0, 12)))
    supports = tuple(_supports(site))
    rows = {
        "job": (settings,),
        "runs": tuple(site.runs),
        "flights": tuple(site.flights),
        "supports": supports,
        "assemblies": tuple(site.assemblies),
        "fastenings": fastenings,
        "prices": prices,
        "paid": tuple(drawn_payments(taper, prices)),
        "rules": _amendments(taper, settings.rule_set),
    }
    rows |= {
        "assemblies": tuple(_widened(taper, _roughened(taper, each)) for each in site.assemblies),
        "supports": tuple(_turned(taper, each) for each in supports),
    }
    return _on_edges(taper, site, rows)


def _on_edges(taper: Taper, site: Site, rows: dict[str, tuple[Any, ...]]) -> dict[str, tuple[Any, ...]]:
    """The rows with what tells of the deck's edge; drawn after all else."""
    rows = {
        **rows,
        "assemblies": tuple(spaced_railing(taper, each) for each in rows["assemblies"]),
        "supports": tuple(spaced_support(taper, each) for each in rows["supports"]),
    }
    for runs, posts in deck_corner(taper, site.run_marks, site.post_marks, taper.either(*site.assemblies)):
        rows |= {"runs": (*rows["runs"], *runs), "supports": (*rows["supports"], *posts)}
    return rows


def _roughened(taper: Taper, railing: Assembly) -> Assembly:
    """A railing with how much longer its posts are sawn; drawn last, so that all else is drawn as it was before."""
    return replace(railing, rough_allowance=taper.either(None, 0.0, taper.length(1 / 2, 2)))


def _widened(taper: Taper, railing: Assembly) -> Assembly:
    """A railing with how wide its rails are; drawn after what was drawn before."""
    return replace(
        railing,
        top_rail_width=taper.either(None, None, taper.length(1, 2)),
        bottom_rail_width=taper.either(None, None, taper.length(1, 2)),
        baluster_thickness=taper.maybe(0.5, 1.5),
        bracket_skew=taper.either(None, 20.0, 25.0),
    )


def _turned(taper: Taper, support: Support) -> Support:
    """A support with a bearing of its own, mostly within what its runs can meet."""
    return replace(support, bearing=taper.either(*(None,) * 5, 0.0, 90.0, 10.0, 355.0, 17.5))


def built(rows: dict[str, tuple[Any, ...]]) -> tuple[Job, tuple[Problem, ...]]:
    """The job of those rows; a few of its runs may be left out."""
    job, problems = build(rows)
    assert job is not None
    return job, problems


def computed(rows: dict[str, tuple[Any, ...]]) -> Estimate:
    """Those rows, all the way to the rows of every tab."""
    job, problems = built(rows)
    choices, undivided = estimate.choose(job, seconds=0.3)
    problems = (*problems, *undivided)
    return Estimate(job, choices, estimate.lay_out(job, choices, problems), problems)


def random_job(seed: int, sections: int = 8) -> Estimate:
    """The job of that seed, computed, with at least that many sections beside those that guard a corner."""
    runs = max(3, sections // 2)
    while True:
        job = computed(random_rows(random.Random(seed), runs))
        counted = (each.of.line.measures.typed.location != AT_A_CORNER for each in job.rows["sections"])
        if sum(counted) >= sections:
            return job
        runs += max(2, runs // 4)


def typed_rows(runs: int = 2) -> st.SearchStrategy[dict[str, tuple[Any, ...]]]:
    """Typed rows of every input tab, drawn and shrunk by hypothesis."""
    return st.randoms(use_true_random=False).map(lambda draw: random_rows(draw, runs))
