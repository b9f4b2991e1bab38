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
