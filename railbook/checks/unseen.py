"""What stands beside every verdict: what was not measured, and what nobody looked at."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from railbook.checks.check import NOT_MEASURED, Check
from railbook.checks.marks import few
from railbook.geometry.survey import Site
from railbook.job.build import Job
from railbook.job.runs import LEVEL, STAIR
from railbook.job.supports import EXISTING, POST


class Seen(NamedTuple):
    """What was not measured, and what nobody looked at, when a job was computed."""

    unmeasured: str
    unseen: str


def not_measured(checks: Sequence[Check]) -> str:
    """Every demand that lacks a measurement, with the parts that lack it; empty when none does."""
    lacking: dict[str, list[str]] = {}
    for check in checks:
        if check.verdict == NOT_MEASURED:
            lacking.setdefault(check.demand, []).append(check.where)
    return "; ".join(f"{demand} ({few(parts)})" for demand, parts in lacking.items())


def not_looked_at(job: Job, site: Site) -> str:
    """What no check of this version knows of, as far as this job has it."""
    return "; ".join(_unseen(job, site))


def _unseen(job: Job, site: Site) -> Iterator[str]:
    """One thing after the other, what carries people first."""
    kept = [post.post for post in site.posts if post.kind == POST and post.state == EXISTING]
    built = [post.post for post in site.posts if post.kind != POST]
    kinds = {line.kind for line in site.lines}
    ends = ((typed.lean_from, typed.lean_to) for typed in (line.measures.typed for line in site.lines))
    yield "strength of posts, rails and joints"
    yield "frame, footings and ground under the posts"
    if kept:
        yield f"rot and hold of the posts that stand ({few(kept)})"
    if built:
        yield f"what the walls and columns are made of ({few(built)})"
    if any(None in each for each in ends):
        yield "leans of supports that have none recorded"
    if LEVEL in kinds:
        yield "floors that fall or sag"
    if STAIR in kinds:
        yield "openings beside the lower posts of flights"
    if any(line.kind == STAIR and line.measures.upper_setback is None for line in site.lines):
        yield "openings behind top nosings without an upper setback"
    if job.fastenings:
        yield "screws other than through blocks and from cap to rail; what their metal stands"
    yield "windows, pools, benches, gates and whatever else is beside the guard"
