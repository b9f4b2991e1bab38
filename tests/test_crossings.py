"""Where cap boards run over line posts, by hand."""

from dataclasses import replace

import pytest

from tests.small_jobs import WOOD, level, work


def test_a_cap_tells_where_it_crosses_the_line_posts_of_its_run() -> None:
    """Three sections in 187 in: (187 - 7) / 3 = 60. The cap reaches 3.5 + 1 past the face; posts of 3.5 in, so their
    middles lie at 4.5 + 60 + 1.75 = 66.25 and 63.5 further."""
    wood = replace(WOOD, cap_overhang=1.0, cap_thickness=1.0, cap_item="CAP")
    worked = work(level(187.0, sections=3), assemblies=(wood,))
    cap = worked.row("cut_list", part="Cap board")

    assert [each.before for each in cap.crossings] == ["A.2", "A.3"]
    assert [each.middle for each in cap.crossings] == pytest.approx([66.25, 129.75])
    assert [each.lower_face for each in cap.crossings] == pytest.approx([63.5, 127.0])
    assert [worked.rows["sections"][each.section_row - 1].of.section for each in cap.crossings] == ["A.2", "A.3"]


def test_other_pieces_cross_nothing() -> None:
    worked = work(level(187.0, sections=3), assemblies=(WOOD,))

    assert {each.part: each.crossings for each in worked.rows["cut_list"] if each.part != "Cap board"} == {
        "Post": (), "Both rails": (), "Baluster": (), "Block": (),
    }  # fmt: skip
