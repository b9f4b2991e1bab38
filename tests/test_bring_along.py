"""What to bring along: fasteners with spares and packs, each bit and driver once, and post trim."""

from dataclasses import replace
from typing import Any

import pytest

from railbook.estimate import Estimate, write
from railbook.fastening.bring_along import BIT, DRIVER, POST_CAP, SKIRT
from railbook.job import starter_fastenings
from railbook.job.prices import EACH, PACK, Price
from railbook.job.supports import EXISTING, POST, Support
from tests.recalculation import LibreOffice, differences, formula_cells
from tests.small_jobs import COMPOSITE, PLAIN, WOOD, level
from tests.test_fasteners import STARTERS, porch, worked


def row(job: Estimate, item: str) -> Any:
    """The one row of an item."""
    (found,) = [each for each in job.rows["bring_along"] if each.listed.item == item]
    return found


@pytest.mark.parametrize(
    ("item", "needed", "bring", "packs"),
    [
        ("#8 X 2 SCREW", 132, 139, 2),  # 132 x 1.05 = 138.6
        ("#8 X 3 SCREW", 34, 36, 1),  # 20 at rails, 8 and 6 at the cap: 34 x 1.05 = 35.7
        ("1/2 X 6 BOLT", 6, 7, None),  # 6.3
        ("HOLD-DOWN", 3, 3, None),  # no spares of what is dear
        ("2X8 BLOCKING", 6, 6, None),
    ],
)
def test_fasteners_come_with_spares_in_whole_packs(item: str, needed: int, bring: int, packs: int | None) -> None:
    """The needs are those of the small porch of tests/test_fasteners.py; spares 5 percent, packs of 100."""
    found = row(porch(prices=starter_fastenings.prices("in")), item)

    assert (found.needed, found.to_bring, found.packs) == (needed, bring, packs)


@pytest.mark.parametrize(("spares", "bring"), [(None, 132), (0.0, 132), (0.25, 165), (1.0, 264)])
def test_spares_are_the_jobs_own(spares: float | None, bring: int) -> None:
    assert row(porch(settings=replace(PLAIN, fastener_spares=spares)), "#8 X 2 SCREW").to_bring == bring


@pytest.mark.parametrize(
    ("prices", "pack_of"),
    [
        ([], None),
        ([Price(item="#8 X 2 SCREW", sold_as=PACK, pack_of=50), Price(item="#8 X 2 SCREW", sold_as=EACH)], 50),
        ([Price(item="#8 X 2 SCREW", sold_as=EACH), Price(item="#8 X 2 SCREW", sold_as=PACK, pack_of=50)], None),
        ([Price(item="#8 X 2 SCREW", sold_as=PACK, pack_of=0)], None),
        ([Price(item="#8 X 2 SCREW", sold_as=PACK)], None),
    ],
)
def test_the_first_row_on_tab_prices_says_how_it_is_sold(prices: list[Price], pack_of: int | None) -> None:
    assert row(porch(prices=prices), "#8 X 2 SCREW").pack_of == pack_of


def test_every_bit_and_driver_is_listed_once_with_what_it_is_for() -> None:
    rows = porch().rows["bring_along"]
    listed = [each.listed for each in rows]
    bits = {each.bit: each.use for each in listed if each.what == BIT}
    drivers = [each.item for each in listed if each.what == DRIVER]

    assert bits == {
        3 / 32: "Baluster end",
        7 / 64: "Rail to post, Cap to rail, Cap to post",
        3 / 16: "Block",
        1 / 2: "Block (wider hole)",
        9 / 16: "Post inside rim",
    }
    assert list(bits) == sorted(bits)
    assert sorted(drivers) == ["socket 3/4 in", "square #2", "star 25", "star 30"]
    assert all(each.needed is None and each.packs is None for each in rows if each.listed.what in (BIT, DRIVER))


def test_drivers_that_differ_in_case_are_one() -> None:
    shouted = [replace(each, driver="SQUARE #2") if each.joint == "Block" else each for each in STARTERS]
    listed = [each.listed for each in porch(given=shouted).rows["bring_along"]]
    drivers = [each.item for each in listed if each.what == DRIVER]

    assert sum(each.casefold() == "square #2" for each in drivers) == 1


def test_post_trim_is_counted_for_new_posts_and_for_old_ones_that_get_a_sleeve() -> None:
    """One section from P1 to P2; P2 stands already and gets a sleeve with the composite railing, none with wood."""
    standing = [Support(support="P2", kind=POST, state=EXISTING)]
    for assembly, posts in ((COMPOSITE, 2), (WOOD, 1)):
        trimmed = replace(assembly, skirt_item="SKIRT", post_cap_item="PYRAMID")
        job = worked(level(60.0, assembly=trimmed.assembly), assemblies=[trimmed], supports=standing)
        found = {each.listed.what: (each.listed.item, each.needed, each.to_bring) for each in job.rows["bring_along"]
                 if each.listed.what in (SKIRT, POST_CAP)}  # fmt: skip
        assert found == {SKIRT: ("SKIRT", posts, posts), POST_CAP: ("PYRAMID", posts, posts)}


def test_libreoffice_finds_no_difference_in_a_porch(libreoffice: LibreOffice, tmp_path: Any) -> None:
    job = porch(prices=starter_fastenings.prices("in"))
    path = tmp_path / "fasteners.xlsx"
    write(job, path)
    ours = formula_cells(path)
    (made,) = libreoffice.recalculated([path])

    assert not differences(ours, formula_cells(made))
    assert {len(ours[title]) > 15 for title in ("Fastener schedule", "Bring along", "Fasteners by run")} == {True}
