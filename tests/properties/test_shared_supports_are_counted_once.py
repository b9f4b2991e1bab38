"""Law: one mark is one post, however many runs meet there: a ring of n runs has n posts and its line posts."""

from hypothesis import given
from hypothesis import strategies as st

from railbook.job.assemblies import Assembly
from tests.properties.draws import LAW, railings, sizes
from tests.small_jobs import Worked, level, work


def ring(clears: list[float], assembly: Assembly) -> Worked:
    """Level runs from post to post, the last one back to the first."""
    n = len(clears)
    return work(
        *(
            level(
                clear,
                run=f"R{each}",
                from_support=f"P{each}",
                to_support=f"P{(each + 1) % n}",
                direction=360.0 * each / n,
            )
            for each, clear in enumerate(clears)
        ),
        assemblies=(assembly,),
    )


@LAW
@given(st.lists(sizes(18.0, 250.0), min_size=3, max_size=7), railings())
def test_ring_has_as_many_posts_as_runs_and_line_posts(clears: list[float], assembly: Assembly) -> None:
    worked = ring(clears, assembly)
    between = sum(line.sections - 1 for line in worked.rows["lines"])
    posts = [row.post for row in worked.rows["posts"]]

    assert len(posts) == len(set(posts)) == len(clears) + between
    assert worked.only("summary").posts_total == len(posts)
    assert sum(row.quantity for row in worked.rows["cut_list"] if row.part == "Post") == len(posts)


@LAW
@given(st.lists(sizes(18.0, 250.0), min_size=3, max_size=7), railings())
def test_line_cut_open_has_one_post_more(clears: list[float], assembly: Assembly) -> None:
    """Taking one run out of the ring takes its own line posts and no other."""
    whole, opened = ring(clears, assembly), ring(clears, assembly).job.runs[:-1]
    rest = work(*opened, assemblies=(assembly,))
    last = whole.rows["lines"][-1].sections - 1

    assert len(rest.rows["posts"]) == len(whole.rows["posts"]) - last
