"""How posts are held: what a guard post needs, and what nobody has said of it yet.

Pull on the upper of two bolts: a push P outward on top of the guard, h above that bolt, turns the post about the lower
bolt, b below the upper one, so that the upper bolt and its hold-down take P (h + b)/b. Published tests and load
models agree that bolts, lags or wood screws alone do not carry it (IRC 2021 R507.10 asks that the framing does).
"""

from collections.abc import Iterator
from typing import NamedTuple

from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.basics.units import tape_text
from railbook.checks.marks import few
from railbook.geometry.post_tops import AT_LOWER_END, ON_TREAD
from railbook.geometry.posts import NOT_TOLD, Post
from railbook.geometry.survey import Site
from railbook.job import fastenings
from railbook.job.assemblies import ON_STRINGER, ON_SURFACE, RIM_MOUNTS
from railbook.job.build import Job
from railbook.job.fastenings import BOLT, HOLD_DOWN, Fastening, post_joint


class Frame(NamedTuple):
    """What is taken for the frame beside a post, where nobody asks for it; lengths in the job's unit.

    Attributes:
        push: on top of the guard, as a load of the code; `load` is its unit.
        decking: over the rim.
        edge: of each bolt from its edge of the rim.
        rims: name -> depth.
    """

    push: float
    load: str
    decking: float
    edge: float
    rims: tuple[tuple[str, float], ...]


# 200 lb at any point of the top: IRC R301.5; dressed depths: PS 20. Metric: 200 lb is 0.89 kN; sizes of its own.
FRAMES = {
    INCH: Frame(200.0, "lb", 1.0, 2.0, (("2x8", 7.25), ("2x10", 9.25), ("2x12", 11.25))),
    MILLIMETRE: Frame(0.89, "kN", 25.0, 50.0, (("45x195", 195.0), ("45x220", 220.0), ("45x245", 245.0))),
}


def pull(push: float, *, lever: float, apart: float) -> float:
    """Pull on the upper of two bolts of a post [unit of the push].

    Args:
        push: outward, on top of the guard.
        lever: height of the push above the upper bolt.
        apart: between the two bolts.

    Moments about the lower bolt; by hand, 200 lb at 39.5 in over bolts 3.25 in apart:

    >>> round(pull(200.0, lever=39.5, apart=3.25))
    2631
    """
    return push * (lever + apart) / apart


def holding_problems(job: Job, site: Site) -> Iterator[Problem]:
    """What a look at the posts must settle before any is bought."""
    new = [post for post in site.posts if post.cut]
    yield from _feet(new)
    for assembly in dict.fromkeys(post.assembly.assembly for post in new):
        given = [row for row in job.fastenings if row.assembly == assembly]
        of_it = [post for post in new if post.assembly.assembly == assembly]
        for mount in dict.fromkeys(post.mount for post in of_it):
            posts = [post for post in of_it if post.mount == mount]
            rows = [row for row in given if row.joint == post_joint(mount)] if mount else []
            yield from _mount_problems(assembly, mount, posts, rows)


def _feet(posts: list[Post]) -> Iterator[Problem]:
    """Posts at the foot of a flight or on a tread: how they are held is for the user to say."""
    for post in posts:
        where = {AT_LOWER_END: "at the foot of a flight", ON_TREAD: "on a tread"}.get(post.stands)
        if where is None:
            continue
        below = tape_text(post.below, post.settings.tape_step, post.settings.unit)
        remedy = "say how it is held under Mount and Below surface on tab Supports"
        if post.mount == NOT_TOLD:
            what = (
                f"post {post.post} stands {where}, where there is no rim as its assembly has it: nothing is bought to "
                "hold it"
            )
            if post.typed is None or post.typed.below_surface is None:
                what += f", and its {below} below the surface is a guess"
            yield Problem(f"support {post.post}", what, remedy, LOOK)
        elif post.typed is None or (post.typed.below_surface is None and post.typed.mount is None):
            what = f"post {post.post} stands {where} and gets {below} below the surface, from its assembly"
            yield Problem(f"support {post.post}", what, f"if it is held otherwise, {remedy}", NOTE)


def _mount_problems(assembly: str, mount: str, posts: list[Post], rows: list[Fastening]) -> Iterator[Problem]:
    """What the fastenings of one mount lack, and the pull that they must carry."""
    whats = {row.what for row in rows}
    where = next((row.origin.cell("what") for row in rows), fastenings.TAB.title)
    marks = few(post.post for post in posts)
    if mount == ON_SURFACE and rows and BOLT not in whats:
        what = f"assembly {assembly}: posts on the surface ({marks}) are held by screws or nails into wood alone"
        remedy = (
            "missing: bolts through the frame with plates below, or a base that is reported for guard posts of this "
            "height, on the fasteners of its report; four wood screws of 1/4 in (6 mm) do not carry a guard post"
        )
        yield Problem(where, what, remedy, LOOK)
    if mount in (*RIM_MOUNTS, ON_STRINGER):
        if rows and HOLD_DOWN not in whats:
            yield Problem(where, f"assembly {assembly}: posts {_beside(mount)} ({marks}) are held by bolts, lags or "
                          "screws alone, which failed in published tests", _missing(mount), LOOK)  # fmt: skip
        yield _pull_told(where, assembly, mount, posts)


def _beside(mount: str) -> str:
    return post_joint(mount).removeprefix("Post ")


def _missing(mount: str) -> str:
    """What carries such a post into the frame."""
    if mount == ON_STRINGER:
        return (
            "missing: a hold-down at the upper bolt, and blocking to the next stringer for it to pull on, as no joist "
            "stands behind (IRC 2021 R507.10)"
        )
    return (
        "missing: a hold-down at the upper bolt, and blocking between the joists on both sides of the post "
        "(IRC 2021 R507.10)"
    )


def _pull_told(where: str, assembly: str, mount: str, posts: list[Post]) -> Problem:
    """The pull at the height of the highest of the guards, for the usual rims."""
    settings = posts[0].settings
    frame = FRAMES[settings.unit]
    high = max(post.line.guard.guard_height or 0.0 for post in posts)
    lever = high + frame.decking + frame.edge
    digits = 0 if settings.unit == INCH else 1
    pulls = ", ".join(
        f"{pull(frame.push, lever=lever, apart=depth - 2 * frame.edge):,.{digits}f} {frame.load} ({name})"
        for name, depth in frame.rims
    )
    length, edge, decking = (
        tape_text(each, settings.tape_step, settings.unit) for each in (high, frame.edge, frame.decking)
    )
    what = (
        f"assembly {assembly}: posts {_beside(mount)} ({few(post.post for post in posts)}): under {frame.push:g} "
        f"{frame.load} outward at {length} the upper bolt and its hold-down pull with {pulls}"
    )
    remedy = (
        f"taken: bolts {edge} from both edges of the rim, {decking} of decking; the report of the hold-down must allow "
        f"that pull, on joists or blocking; {_long_enough(posts[0], frame)}; a licensed professional decides"
    )
    return Problem(where, what, remedy, LOOK)


def _long_enough(post: Post, frame: Frame) -> str:
    """Beside which rims the post reaches as far past its lower bolt as that is from the edge of the rim."""
    below = post.below or 0.0
    rims = [name for name, depth in frame.rims if below >= frame.decking + depth]
    length = tape_text(below, post.settings.tape_step, post.settings.unit)
    return f"with {length} below the surface the post is long enough beside {' and '.join(rims) or 'none of them'}"
