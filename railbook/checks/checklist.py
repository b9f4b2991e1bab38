"""The checklist: every demand in order, held against the whole job."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping

from railbook.checks import demands, edges, measuring
from railbook.checks.check import Check, Demand
from railbook.checks.demands import Subject, Works
from railbook.checks.stairways import Stairway
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.limits import Limit
from railbook.job.runs import STAIR
from railbook.rules.editions import edition
from railbook.rules.rule import STAIR as STAIRS
from railbook.takeoff.layout import Shop

CHECKS: tuple[Callable[[Works], Iterator[Subject]], ...] = (
    demands.guards,
    demands.openings,
    demands.under_rails,
    demands.triangles,
    demands.flights,
    demands.handrails,
    demands.rails,
    demands.sections,
    demands.line_posts,
    demands.rakes,
    demands.supports,
    edges.corners,
    measuring.agreements,
    measuring.leans,
)
# a column of a working tab that stands for one of two limits, by kind of run: whose clause it bears
_CLAUSE_OF = {
    ("height_limit", True): "stair_guard_height",
    ("height_limit", False): "level_guard_height",
    ("sphere", True): "stair_sphere",
    ("sphere", False): "level_sphere",
}


def stairways_of(job: Job, site: Site) -> tuple[Stairway, ...]:
    """One row for each flight."""
    risers = job.in_force["handrail_risers"]
    caps = Counter(guard.flight_row for guard in site.guards if guard.graspable)
    rails = Counter(slope.flight_row for slope in site.handrail_slopes)
    return tuple(
        Stairway(each.flight, row, each, caps[row], rails[row], risers) for row, each in enumerate(site.flights, 1)
    )


def checks_of(job: Job, site: Site, shop: Shop, stairways: tuple[Stairway, ...]) -> tuple[Check, ...]:
    """Every check of the job, numbered."""
    works = Works(site, shop, stairways)
    rules = {row.limit: (number, row) for number, row in enumerate(job.limits, start=1)}
    in_force = job.in_force
    subjects = (subject for check in CHECKS for subject in check(works))
    checks = []
    for number, subject in enumerate(subjects, start=1):
        line = None if subject.line_row is None else site.lines[subject.line_row - 1]
        rule_row, rule = _rule(subject, rules, is_stair=line is not None and line.kind == STAIR)
        own_clause, own_edition = _own(subject.demand, job)
        checks.append(
            Check(
                check=number,
                where=subject.where,
                asked=subject.demand,
                tab=subject.tab,
                source_row=subject.source_row,
                thing=subject.thing,
                line=line,
                line_row=subject.line_row,
                limits=in_force,
                rule=rule,
                rule_row=rule_row,
                own_clause=own_clause,
                edition=own_edition if rule is None else rule.edition or "",
                unit=subject.demand.unit or job.settings.unit,
                remedy=subject.remedy,
                tape_step=job.settings.tape_step,
            )
        )
    return tuple(checks)


def _rule(
    subject: Subject, rules: Mapping[str, tuple[int, Limit]], *, is_stair: bool
) -> tuple[int | None, Limit | None]:
    """Row and limit that a demand is held against; None where it has a clause of its own."""
    if subject.demand.clause or subject.demand.kind:
        return None, None
    if subject.demand.limit == demands.TRIANGLE.limit:
        return rules[subject.thing.triangle.limit_word]
    return rules[_CLAUSE_OF.get((subject.demand.limit, is_stair), subject.demand.limit)]


def _own(demand: Demand, job: Job) -> tuple[str, str]:
    """Clause and edition of a demand without a limit on tab Rules."""
    if not demand.kind:
        return demand.clause, ""
    rules = edition(job.settings.rule_set)
    return rules.rule(demand.kind, job.settings.unit, STAIRS).cited, rules.name
