"""Blanks: what was not measured stays blank through every sum, on both sides of the double entry."""

from collections.abc import Callable


def when_known(equation: Callable[..., float], *figures: float | None) -> float | None:
    """The equation of the figures; None as soon as one of them is None.

    >>> when_known(lambda rise, risers: rise / risers, 45.0, 6)
    7.5
    >>> when_known(lambda rise, risers: rise / risers, None, 6) is None
    True
    """
    return None if None in figures else equation(*figures)


def most(*figures: float | None) -> float | None:
    """Largest of the known figures, as MAX does with blanks; None when none is known.

    >>> most(7.5, None, 7.75), most(None)
    (7.75, None)
    """
    known = [figure for figure in figures if figure is not None]
    return max(known) if known else None


def least(*figures: float | None) -> float | None:
    """Smallest of the known figures, as MIN does with blanks.

    >>> least(10.5, None, 10.25)
    10.25
    """
    known = [figure for figure in figures if figure is not None]
    return min(known) if known else None


def if_known(expression: str, *words: str) -> str:
    """Formula part: the expression, or a blank as soon as one of the words is blank.

    >>> if_known("{rise}/{risers}", "rise", "risers")
    'IF(COUNT({rise},{risers})<2,"",{rise}/{risers})'
    """
    cells = ",".join(f"{{{word}}}" for word in words)
    return f'IF(COUNT({cells})<{len(words)},"",{expression})'


def or_zero(cell: str) -> str:
    """Formula part: the figure in a cell, 0 for a blank or a text; the twin of `figure or 0.0`.

    Every program sums a single cell like that. N, which reads the same, is an error of a blank cell in some.

    Args:
        cell: a word, a name or an INDEX, so that it names a cell; of a computed text the sum is an error.

    >>> or_zero("{fixed_pitch}"), or_zero("INDEX({prices_on_hand},{price_row})")
    ('SUM({fixed_pitch})', 'SUM(INDEX({prices_on_hand},{price_row}))')
    """
    return f"SUM({cell})"
