"""How posts are held: what a guard post needs, and what nobody has said of it yet.

Pull on the upper of two bolts: a push P outward on top of the guard, h above that bolt, turns the post about the lower
bolt, b below the upper one, so that the upper bolt and its hold-down take P (h + b)/b. Published tests and load
models agree that bolts, lags or wood screws alone do not carry it (IRC 2021 R507.10 asks that the framing does).
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from railbook.basics.blank import most, when_known
from railbook.basics.kinds import INCH, MILLIMETRE
from railbook.basics.problem import LOOK, NOTE, Problem
from railbook.basics.units import tape_text
from railbook.checks.marks import few
from railbook.geometry.post_stands import NOT_TOLD
from railbook.geometry.post_tops import AT_LOWER_END, ON_TREAD
from railbook.geometry.posts import Post
from railbook.geometry.survey import Site
from railbook.job import fastenings
from railbook.job.assemblies import MOUNTS, ON_CONCRETE, ON_STRINGER, ON_SURFACE, RIM_MOUNTS
from railbook.job.build import Job
from railbook.job.fastenings import ANCHOR, BLOCKING, BOLT, HOLD_DOWN, Fastening, post_joint
from railbook.job.settings import Settings
from railbook.rules.editions import edition


class Frame(NamedTuple):
    """What is taken for the frame beside a post, where nobody asks for it; lengths in the job's unit.

    Attributes:
        push: on top of the guard, as a load of the code; `load` is its unit.
        decking: over the rim.
        edge: of each bolt from its edge of the rim.
        in_stringer: between the bolts of a post beside a stringer, whose cuts leave less.
        rims: name -> depth.
    """

    push: float
    load: str
    decking: float
    edge: float
    in_stringer: float
    rims: tuple[tuple[str, float], ...]


# 200 lb at any point of the top: IRC R301.5; dressed depths: PS 20. Metric: 200 lb is 0.89 kN; sizes of its own.
FRAMES = {
    INCH: Frame(200.0, "lb", 1.0, 2.0, 5.0, (("2x8", 7.25), ("2x10", 9.25), ("2x12", 11.25))),
    MILLIMETRE: Frame(0.89, "kN", 25.0, 50.0, 125.0, (("45x195", 195.0), ("45x220", 220.0), ("45x245", 245.0))),
}


BESIDE_FRAMES = (*RIM_MOUNTS, ON_STRINGER)
FEET = {AT_LOWER_END: "at the foot of a flight", ON_TREAD: "on a tread"}


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
        of_it = [post for post in new if post.assembly.assembly == assembly]
        for mount in dict.fromkeys(post.mount for post in of_it if post.mount in MOUNTS):
            posts = [post for post in of_it if post.mount == mount]
            joint = post_joint(mount)
            rows = [row for row in job.fastenings if (row.assembly, row.joint) == (assembly, joint)]
            yield from _mount_problems(mount, posts, [row for row in rows if row.is_whole and row.per_joint])
            yield from _below_problems(mount, posts)


def _feet(posts: Sequence[Post]) -> Iterator[Problem]:
    """Posts at the foot of a flight or on a tread: how they are held is for the user to say."""
    for post in posts:
        where = FEET.get(post.stands, "at the foot of a ramp" if post.mount == NOT_TOLD else "")
        if not where:
            continue
        below = _tape(post.below, post)
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


def _mount_problems(mount: str, posts: Sequence[Post], rows: Sequence[Fastening]) -> Iterator[Problem]:
    """What the fastenings of one mount lack, and the pull that they must carry."""
    whats = {row.what for row in rows}
    where = next((row.origin.cell("what") for row in rows), fastenings.TAB.title)
    who = f"assembly {posts[0].assembly.assembly}: posts {_beside(mount)} ({few(post.post for post in posts)})"
    if mount == ON_SURFACE and BOLT not in whats:
        yield Problem(where, f"{who} are held without bolts through the frame", _ON_SURFACE, LOOK)
    if mount == ON_CONCRETE and not whats & {ANCHOR, BOLT}:
        yield Problem(where, f"{who} are held without anchors", _ON_CONCRETE, LOOK)
    if mount in BESIDE_FRAMES:
        lacking = [name for what, name in _PARTS[mount].items() if what not in whats]
        if lacking:
            what = f"{who} are held without {' and '.join(lacking)}"
            yield Problem(where, what, _why(posts[0].settings), LOOK)
        yield Problem(where, f"{who}: {_pull_told(mount, posts)}", _taken(mount, posts[0]), LOOK)


def _below_problems(mount: str, posts: Sequence[Post]) -> Iterator[Problem]:
    """Posts that end where nothing can hold them, or that go on below a surface that they stand on."""
    beside = mount in BESIDE_FRAMES
    wrong = [
        post for post in posts if ((post.below or 0.0) <= 0 and beside) or ((post.below or 0.0) > 0 and not beside)
    ]
    if wrong:
        below = _tape(wrong[0].below, wrong[0])
        what = f"{few(post.post for post in wrong)} with mount {mount}: cut with {below} below the surface"
        remedy = "type Below surface on tab Supports, or on tab Assemblies: " + (
            "the bolts need that much of the post" if beside else "0 where the post stands on it"
        )
        yield Problem(f"support {wrong[0].post}", what, remedy, LOOK)


def _why(settings: Settings) -> str:
    """Why bolts alone will not do, and what to do."""
    asked = edition(settings.rule_set).told("guard_post_framing", settings.unit)
    return (
        f"bolts, lags or screws alone failed in published tests; guard posts are carried into the framing ({asked}): "
        "add a row to tab Fastenings for each"
    )


def _beside(mount: str) -> str:
    return post_joint(mount).removeprefix("Post ")


_ON_SURFACE = (
    "missing: bolts through the frame with plates below; four wood screws of 1/4 in (6 mm) do not carry a guard post. "
    "A base that is reported for guard posts of this height, on the fasteners of its report, may: keep that report"
)
_ON_CONCRETE = "missing: anchors that the report of the base names, as deep and as far from the edge as it says"
_TO_JOISTS = {BOLT: "bolts", HOLD_DOWN: "a hold-down at the upper bolt", BLOCKING: "blocking between the joists"}
_TO_STRINGER = {**_TO_JOISTS, BLOCKING: "blocking to the next stringer, as no joist stands behind"}
_PARTS = {**dict.fromkeys(RIM_MOUNTS, _TO_JOISTS), ON_STRINGER: _TO_STRINGER}


def _top(post: Post) -> float | None:
    """Top of the guard at a post, above the surface that it stands on; the higher face."""
    cap = (post.assembly.cap_thickness or 0.0) * post.line.secant
    return when_known(lambda under: under + cap, most(post.worked.downhill, post.worked.uphill))


def _pull_told(mount: str, posts: Sequence[Post]) -> str:
    """The pull at the highest of the posts, for the usual rims, or for one distance of the bolts in a stringer."""
    settings = posts[0].settings
    frame, high = FRAMES[settings.unit], most(*(_top(post) for post in posts))
    if high is None:
        return "the pull on the upper bolt is not known, as the height of the guard is not"
    lever = high + frame.edge + (0.0 if mount == ON_STRINGER else frame.decking)
    digits = 0 if settings.unit == INCH else 1
    between = [(f"bolts {_tape(frame.in_stringer, posts[0])} apart", frame.in_stringer)]
    if mount != ON_STRINGER:
        between = [(name, depth - 2 * frame.edge) for name, depth in frame.rims]
    pulls = ", ".join(
        f"{pull(frame.push, lever=lever, apart=apart):,.{digits}f} {frame.load} ({name})" for name, apart in between
    )
    return (
        f"under {frame.push:g} {frame.load} outward at {_tape(high, posts[0])} the upper bolt and its hold-down pull "
        f"with {pulls}"
    )


def _taken(mount: str, post: Post) -> str:
    """What the pull rests on, and what to do with it."""
    frame = FRAMES[post.settings.unit]
    edge, decking = _tape(frame.edge, post), _tape(frame.decking, post)
    must = "the report of the hold-down must allow that pull"
    decides = "a licensed professional decides"
    if mount == ON_STRINGER:
        return (
            f"taken: the upper bolt {edge} under the surface; both bolts go through the uncut part of the stringer, "
            f"{edge} from its edges: measure what is left between them; {must}; {decides}"
        )
    below = post.below or 0.0
    rims = " and ".join(name for name, depth in frame.rims if below >= frame.decking + depth) or "none of them"
    return (
        f"taken: bolts {edge} from both edges of the rim, {decking} of decking; {must}, on joists or blocking; with "
        f"{_tape(below, post)} below the surface the post is long enough beside {rims}; {decides}"
    )


def _tape(length: float | None, post: Post) -> str:
    return tape_text(length, post.settings.tape_step, post.settings.unit)
