"""Law: the treads chosen for line posts are legal for the limits, and about as even as the limits let them be."""

from itertools import combinations, pairwise

from hypothesis import assume, given
from hypothesis import strategies as st

from railbook.geometry.division import Room, Treads, choose_treads, tread_sections
from tests.properties.draws import THOROUGH, sizes

HAIR = 1e-6


@st.composite
def rooms(draw: st.DrawFn) -> tuple[Room, Treads]:
    """A flight between two supports, and what its railing allows."""
    face, tread, treads = draw(sizes(3.0, 5.5)), draw(sizes(9.0, 12.0)), draw(st.integers(2, 14))
    low, high = draw(sizes(0.0, 9.0)), draw(sizes(-1.0, 9.0))
    room = Room(
        span=low + treads * tread + high,
        from_extra=0.0,
        to_extra=0.0,
        post_face=face,
        from_half=draw(st.sampled_from((0.0, face / 2))),
        to_half=draw(st.sampled_from((0.0, face / 2))),
        spacing=draw(sizes(30.0, 100.0)),
        rail_clear=draw(sizes(30.0, 120.0)),
    )
    return room, Treads(low, tread, draw(sizes(1.5, 3.0)), treads)


def is_legal(chosen: tuple[int, ...], room: Room, treads: Treads) -> bool:
    """Whether sections between the supports and posts on those treads are all within the limits."""
    downhill = [treads.lower_setback + tread * treads.tread + treads.behind for tread in chosen]
    clears = [high - low for low, high in pairwise((0.0, *downhill))]
    first = downhill[0] <= room.from_most + HAIR
    last = room.span - downhill[-1] - room.post_face <= room.to_most + HAIR
    middle = all(clear - room.post_face <= room.middle_most + HAIR for clear in clears[1:])
    return first and last and middle


@THOROUGH
@given(rooms())
def test_chosen_treads_are_among_the_legal_ones(drawn: tuple[Room, Treads]) -> None:
    room, treads = drawn
    assume(not room.fits_whole)
    try:
        sections = tread_sections(room, treads)
    except ValueError:  # no section of whole treads fits: building the job reports it
        for number in range(1, 4):
            assert not any(is_legal(each, room, treads) for each in combinations(range(treads.treads), number))
        return
    legal = [each for each in combinations(range(treads.treads), sections - 1) if is_legal(each, room, treads)]
    assume(legal)  # a flight that nothing can divide is told apart in the law of fewest sections

    assert choose_treads(sections, room, treads) in legal
