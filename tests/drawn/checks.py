"""All checks of the witness in one list, and what a site comes to without boards and money."""

from collections.abc import Callable, Iterator

from railbook.basics.double_entry import rows_by_tab
from railbook.basics.problem import LEFT_OUT
from railbook.checks import checklist
from railbook.checks.warnings import warnings_of
from railbook.geometry import survey
from railbook.geometry.choices import choose_site
from railbook.job.build import build
from railbook.tabs import input_rows
from railbook.takeoff import layout
from railbook.takeoff.choices import choose_shop, lay_out_shop
from tests.drawn.ends import cap_ends
from tests.drawn.finding import Finding
from tests.drawn.fits import balusters, block_fits, guard_heights, rail_ends
from tests.drawn.lists import lengths, quantities, standing, tips
from tests.drawn.reading import Reading, is_refusal, read
from tests.drawn.silence import missing_caps, untold_ends
from tests.drawn.sites import Site
from tests.drawn.skews import refused_runs, turnings, untold_skews
from tests.drawn.tops import post_tops
from tests.drawn.witness import Drawn, draw, overlaps

Check = Callable[[Drawn], Iterator[Finding]]

CHECKS: tuple[Check, ...] = (
    overlaps, rail_ends, balusters, block_fits, guard_heights, post_tops, cap_ends, quantities, lengths, standing, tips,
    missing_caps, untold_ends, turnings, refused_runs, untold_skews,
)  # fmt: skip


def findings(reading: Reading) -> list[Finding]:
    """Everything that is wrong with a result as it would stand; what cannot be drawn is wrong too."""
    drawn = draw(reading)
    missing = [Finding("not placed", (mark,), 0.0, why) for mark, why in drawn.unplaced.items()]
    return [*missing, *(found for check in CHECKS for found in check(drawn))]


def reading_of(site: Site) -> Reading:
    """What the product makes of a site: only the rooms up to the cut list, because the search for boards takes longest.

    Raises:
        ValueError: the product leaves a run of it out, not because its rail would meet the corner of a post.
    """
    job, problems = build(site.tabs())
    if job is None:
        raise ValueError(problems)
    choices, undivided = choose_site(job)
    problems = (*problems, *undivided)
    if left_out := [each for each in problems if each.severity == LEFT_OUT and not is_refusal(each.what)]:
        raise ValueError(left_out)
    laid_out = survey.lay_out_site(job, choices)
    shop = lay_out_shop(job, laid_out, choose_shop(job, laid_out))
    checks = checklist.checks_of(job, laid_out, shop, checklist.stairways_of(job, laid_out))
    told = {"warnings": warnings_of(job, laid_out, shop, checks, problems)}
    return read({**input_rows(job), **rows_by_tab(laid_out, survey.TABS), **rows_by_tab(shop, layout.TABS), **told})
