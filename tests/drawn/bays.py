"""Sections of a run between the faces that the post schedule gives, and how far the tape may have rounded them."""

from typing import NamedTuple

from tests.drawn.carriers import outer_width
from tests.drawn.ground import Stretch
from tests.drawn.reading import Reading, Trimmed
from tests.drawn.stacks import Face, Stack, stack_of


class Bay(NamedTuple):
    """One section.

    Attributes:
        section: its mark: run, dot, number.
        low: face at its lower or left end; `high` at the other.
        rounded: figures of the post schedule, rounded to the tape, between which it lies.
        is_last: whether it ends at the To support.
    """

    section: str
    stretch: Stretch
    stack: Stack
    low: Face
    high: Face
    rounded: int
    is_last: bool


def ends_of(bay: Bay) -> tuple[str, str]:
    """Marks of the supports at its lower and its upper end."""
    run, number = bay.stretch.run.run, int(bay.section.rpartition(".")[2])
    low = bay.stretch.low.mark if number == 1 else f"{run}/{number - 1}"
    return low, bay.stretch.high.mark if bay.is_last else f"{run}/{number}"


def line_posts(reading: Reading, stretch: Stretch) -> list[Trimmed]:
    """The posts between the sections of a run, in order."""
    found: list[Trimmed] = []
    while (post := reading.post(f"{stretch.run.run}/{len(found) + 1}")) is not None:
        found.append(post)
    return found


def bays_of(reading: Reading, stretch: Stretch) -> list[Bay]:
    """Every section of a run; none where a baluster or a post of it was not measured."""
    posts, width = line_posts(reading, stretch), outer_width(reading, "", stretch.taped.assembly)
    near = [post.position for post in posts if post.position is not None]
    stacks = [stack_of(reading, stretch, f"{stretch.run.run}.{number + 1}") for number in range(len(posts) + 1)]
    known = [stack for stack in stacks if stack is not None]
    if len(known) < len(stacks) or len(near) < len(posts):
        return []
    plumb = stretch.taped.floor
    lows = [known[0].low, *(Face(x + width, plumb) for x in near)]
    highs = [*(Face(x, plumb) for x in near), known[-1].high]
    last = len(known) - 1
    return [
        Bay(f"{stretch.run.run}.{n + 1}", stretch, known[n], lows[n], highs[n], (n > 0) + (n < last), n == last)
        for n in range(len(known))
    ]
