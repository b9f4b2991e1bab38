"""The evaluating program and what railbook puts before it: a look-up is quicker, and the same."""

from itertools import product
from typing import Any

import formulas
import pytest

from railbook import referee

COLUMN: list[list[Any]] = [[1.5], [None], ["abc"], [""], [7]]
TABLE: list[list[Any]] = [[1, 2], [3, 4]]
COMPUTING = False  # the program asks its functions at compile time too
ROWS: tuple[Any, ...] = (
    -1,
    0,
    1,
    2,
    5,
    6,
    2.0,
    2.5,
    "x",
    True,
    None,
    *(referee.given([[row]]) for row in (2, 2.0, None, "")),
)
MORE = ((), (0,), (1,), (2,), (3,), (None,), (None, 1), (1, 1), (1, 2))


@pytest.mark.parametrize("area", [COLUMN, TABLE, [[1, 2, 3]], [[5]], [[None]]])
def test_index_of_one_row_gives_what_index_of_the_whole_column_gives(area: list[list[Any]]) -> None:
    """Place and value of the cell, blank or not, or the same error."""
    whole = _program_s_own("INDEX")
    for row, more in product(ROWS, MORE):
        cells = referee.given(area)
        assert repr(referee.in_one_row(whole)(COMPUTING, cells, row, *more)) == repr(
            whole(COMPUTING, cells, row, *more)
        )


def _program_s_own(name: str) -> Any:
    """A function of the program, whatever was put in its place before."""
    from formulas.functions import wrap_func, wrap_impure_func
    from formulas.functions.look import xindex

    assert name in formulas.get_functions()
    return wrap_impure_func(wrap_func(xindex, ranges=True))


@pytest.mark.parametrize(
    ("formula", "cells", "result"),
    [
        ("=A1+B1", [2, 3], 5),
        ("=A1&B1", ["x", None], "x"),
        ('=IF(A1="","blank",B1)', [None, 3], "blank"),
        ("=1/A1", [0], "#DIV/0!"),
        ("=A1>1", [2], True),
    ],
)
def test_a_formula_gives_a_plain_value(formula: str, cells: list[Any], result: object) -> None:
    evaluate = referee.ready(formula)

    assert referee.plain(evaluate(*map(_one, cells))) == result


def _one(value: object) -> Any:
    return referee.given([[value]])


def test_cells_are_told_apart_by_value_and_areas_by_themselves() -> None:
    one, area = _one(1), referee.given(COLUMN)

    assert referee.told_apart(one) == referee.told_apart(_one(1))
    assert referee.told_apart(one) != referee.told_apart(_one(value=True))
    assert referee.told_apart(one) != referee.told_apart(_one("1"))
    assert referee.told_apart(area) != referee.told_apart(referee.given(COLUMN))
