"""Tab Rules: an amendment is used, or it is said that it is not, whatever stands in the Limit column."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from railbook.basics.problem import LEFT_OUT, LOOK
from railbook.estimate import Estimate, estimate

FIRST = 8  # row of the first limit, guard_drop
Typing = Callable[..., Estimate]


@pytest.fixture
def typing(porch_form: Path, tmp_path: Path) -> Typing:
    """Types into cells of tab Rules and computes."""

    def typed(**cells: Any) -> Estimate:
        book = openpyxl.load_workbook(porch_form)
        assert [book["Rules"][f"{column}5"].value for column in "AD"] == ["Limit", "Local amendment"]
        assert book["Rules"][f"A{FIRST}"].value == "guard_drop"
        for address, value in cells.items():
            book["Rules"][address] = value
        book.save(tmp_path / "job.xlsx")
        return estimate(tmp_path / "job.xlsx")

    return typed


def in_force(computed: Estimate, limit: str) -> float:
    (value,) = [row.in_force for row in computed.rows["rules"] if row.limit == limit]
    return float(value)


def told(computed: Estimate) -> list[tuple[str, str, str]]:
    return [(each.severity, each.where, each.what) for each in computed.problems]


def test_an_amendment_of_a_row_without_a_limit_is_told(typing: Typing) -> None:
    computed = typing(A9=None, D9=35)

    assert told(computed) == [
        (LOOK, "Rules!A9", "a row without the word of a limit: the amendment of 35 in this row is not used")
    ]
    assert in_force(computed, "level_guard_height") == 36


@pytest.mark.parametrize("word", ["guard_drop", "GUARD_DROP", " Guard_drop "])
def test_the_second_amendment_of_a_limit_is_told_and_the_first_is_in_force(typing: Typing, word: str) -> None:
    computed = typing(D8=29, A9=word, D9=28)

    assert told(computed) == [
        (LOOK, "Rules!A9", "guard_drop has a row above already: the amendment of 28 in this row is not used")
    ]
    assert in_force(computed, "guard_drop") == 29


def test_an_amendment_in_a_copied_row_alone_is_told_too(typing: Typing) -> None:
    """Somebody copied the row so as to keep the printed one."""
    computed = typing(A9="guard_drop", D9=28)

    assert [each.severity for each in computed.problems] == [LOOK]
    assert in_force(computed, "guard_drop") == 30


def test_a_copied_row_without_an_amendment_is_told_as_any_row_without_a_mark_of_its_own(typing: Typing) -> None:
    """And one whose word was deleted holds nothing that anybody typed."""
    computed = typing(A9="guard_drop", A10=None)

    assert [(severity, where) for severity, where, _ in told(computed)] == [(LEFT_OUT, "Rules!A9")]


def test_a_word_that_cannot_be_read_is_told_once(typing: Typing) -> None:
    computed = typing(A9="guard*", D9=28)

    assert [(severity, where) for severity, where, _ in told(computed)] == [(LEFT_OUT, "Rules!A9")]
    assert "* ? ~" in computed.problems[0].what


def test_an_unknown_word_is_told(typing: Typing) -> None:
    computed = typing(A9="guard_height", D9=35)

    assert told(computed) == [
        (LOOK, "Rules!A9",
         "GUARD_HEIGHT is no limit of US residential 2021: the amendment of 35 in this row is not used"),
    ]  # fmt: skip
