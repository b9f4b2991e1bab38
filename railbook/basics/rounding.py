"""Rounding, in one place: where the saw rounds, and before a count is taken.

Counts come from quotients such as 4.000000001; both sides of the double entry therefore round the
quotient to six places before they take a ceiling or a floor of it.
"""

import math

PLACES = 6


def half_up(number: float) -> float:
    """Nearest whole number, halves away from zero, as a spreadsheet's ROUND does.

    >>> half_up(2.5), half_up(-2.5), half_up(2.4999999)
    (3.0, -3.0, 3.0)
    """
    settled = round(abs(number), PLACES)
    return math.copysign(math.floor(settled + 0.5), number) if settled >= 0.5 else 0.0


def round_to(step: float, length: float) -> float:
    """Nearest multiple of a tape step, halves up [unit of the length].

    >>> round_to(1 / 16, 3.8846), round_to(1 / 16, 3.96875), round_to(1.0, 2.5)
    (3.875, 4.0, 3.0)
    """
    return half_up(length / step) * step


def ceiling(number: float) -> int:
    """Least whole number not below it, after settling at six places.

    >>> ceiling(4.0000000001), ceiling(4.001), ceiling(-0.5)
    (4, 5, 0)
    """
    return math.ceil(round(number, PLACES))


def floor(number: float) -> int:
    """Greatest whole number not above it, after settling at six places.

    >>> floor(3.9999999999), floor(3.999)
    (4, 3)
    """
    return math.floor(round(number, PLACES))


def tape_steps_excel(place: str) -> str:
    """Formula part: a place in whole tape steps, halves up; the twin of `half_up`.

    >>> tape_steps_excel("{first}")
    'ROUND(ROUND(({first})/{tape_step},6),0)'
    """
    return f"ROUND(ROUND(({place})/{{tape_step}},{PLACES}),0)"


def round_to_excel(place: str) -> str:
    """Formula part: a length rounded to the tape; the twin of `round_to`.

    >>> round_to_excel("{first}")
    'ROUND(ROUND(({first})/{tape_step},6),0)*{tape_step}'
    """
    return f"{tape_steps_excel(place)}*{{tape_step}}"


def ceiling_excel(quotient: str) -> str:
    """Formula part: least whole number not below it; the twin of `ceiling`.

    >>> ceiling_excel("{rise}/{riser}")
    '-INT(-ROUND({rise}/{riser},6))'
    """
    return f"-INT(-ROUND({quotient},{PLACES}))"


def floor_excel(quotient: str) -> str:
    """Formula part: greatest whole number not above it; the twin of `floor`.

    >>> floor_excel("{clear}/{pitch}")
    'INT(ROUND({clear}/{pitch},6))'
    """
    return f"INT(ROUND({quotient},{PLACES}))"


def same(left: float | None, right: float | None) -> bool:
    """Whether two figures agree to six places; two blanks agree.

    >>> same(1.0, 1.0000000001), same(None, None), same(None, 0.0)
    (True, True, False)
    """
    if left is None or right is None:
        return left is right
    return abs(left - right) < 10.0**-PLACES
