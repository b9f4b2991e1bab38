"""The program that evaluates formulas afresh: formulas made ready, and cells as they are given to it.

It is asked for one cell after the other. Whole columns at once would be quicker, but its MIN, MAX, AND and OR
would then run down the column.
"""

import os
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from typing import Any


class UnansweredError(Exception):
    """A formula that cannot be evaluated: what is wrong with it."""


@lru_cache(maxsize=10_000)
def ready(formula: str) -> Any:
    """A formula ready to evaluate; its `inputs` are the cells and names that it speaks of, in order.

    Raises:
        UnansweredError: it is no formula.
    """
    os.environ["TQDM_DISABLE"] = "1"  # the program draws progress bars of its own
    import formulas

    _look_up_in_one_row()
    try:
        return formulas.Parser().ast(formula)[1].compile()
    except formulas.errors.FormulaError as fault:
        raise UnansweredError("is none that can be evaluated") from fault


def given(rows: Sequence[Sequence[Any]]) -> Any:
    """Cells as a formula is given them: a reference, with what stands there.

    Args:
        rows: of the area, blank cells as None.
    """
    import numpy as np
    import schedula
    from formulas.ranges import Ranges

    made = np.array([[schedula.EMPTY if value is None else value for value in row] for row in rows], dtype=object)
    return Ranges().push(f"A1:{_column(made.shape[1])}{made.shape[0]}", made)


def _column(number: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(number)


def told_apart(cells: Any) -> tuple[object, ...]:
    """What tells cells from others that a formula may be given: of one its value, of more which ones they are."""
    if cells.value.size > 1:
        return (id(cells),)
    value = cells.value.item()
    return type(value), value


def plain(result: Any) -> Any:
    """What a formula came to: None where it shows nothing, an error as its name."""
    import numpy as np
    import schedula

    value = np.asarray(result, object).ravel()[0]
    if value is schedula.EMPTY:
        return None
    if isinstance(value, np.generic):
        return value.item()
    return value if isinstance(value, int | float) else str(value)  # an error is a text of a kind of its own


@cache
def _look_up_in_one_row() -> None:
    """Let INDEX be given the row that is asked for alone: of a long column it makes a copy of every cell first."""
    import formulas

    functions = formulas.get_functions()
    functions["INDEX"] = {**functions["INDEX"], "function": in_one_row(functions["INDEX"]["function"])}


def in_one_row(index: Callable[..., Any]) -> Callable[..., Any]:
    """The same function, given one row of an area where that is what it looks at."""
    from formulas.ranges import Ranges

    def look_up(compiling: Any, area: Any, row: Any, *more: Any) -> Any:
        number = _number(row)
        is_one = (
            isinstance(area, Ranges) and not area.is_set and (area.value.shape[1] == 1 or more[:1] not in ((), (None,)))
        )
        if not is_one or not 1 <= number <= len(area.value):
            return index(compiling, area, row, *more)
        place = {**area.ranges[0], "r1": str(int(area.ranges[0]["r1"]) + number - 1)}
        place = Ranges.format_range(("name", "n1", "n2"), **{**place, "r2": place["r1"]})
        return index(compiling, Ranges((place,), {place["name"]: (place, area.value[number - 1 :][:1])}), 1, *more)

    return look_up


def _number(row: Any) -> int:
    """Which row; 0 for what is not the whole number of one."""
    import numpy as np

    value = np.ravel(getattr(row, "value", row))
    is_one = value.size == 1 and isinstance(value[0], int | float | np.integer) and float(value[0]).is_integer()
    return int(value[0]) if is_one else 0
