"""Heights of guards whose caps meet others: how two can meet, and the formulas of it.

Where leans were recorded, a cap is met where the leaning post is; see `leaning.py`.
"""

from collections.abc import Callable
from functools import cache

from railbook.geometry.leaning import from_post_excel, over_excel, rise_excel, swung_excel, taped_excel
from railbook.geometry.lifts import FROM

IN_LINE, TO_LEVEL_CAP, TO_RAKED_CAP, TO_A_LEVEL_GUARD = "In line", "To level cap", "To raked cap", "To a level guard"

_Words = Callable[[str], str]


@cache
def height_words(how: str, end: str, other_end: str, leaning: tuple[int, int]) -> str:
    """Formula part of the guard's height, by how it meets another, and whether the posts there lean."""
    if not how:
        return "{own_height}"
    lift, gained = f"{{{end}_lift}}", f"{{met.{other_end}_lift}}"
    rise, own_plumb = "{tangent}" if end == FROM else "-{tangent}", "{assembly.cap_thickness}*{secant}"
    met_rise, met_plumb = (
        f"{'' if other_end == FROM else '-'}{{met.tangent}}",
        "{met_assembly.cap_thickness}*{met.secant}",
    )
    own, met, turned = _leaning_words(end, other_end, leaning)
    known, height = {
        TO_A_LEVEL_GUARD: (
            f"{{level_height_met}},{lift}",
            own("{level_height_met}-{assembly.cap_thickness}"),
        ),
        IN_LINE: (f"{{met.own_height}},{gained},{lift}", own(met("{met.own_height}"))),
        TO_LEVEL_CAP: (
            f"{{met.own_height}},{lift}",
            f"{own('{met.own_height}')}-({rise}*{{met_assembly.cap_width}}/2+{own_plumb})",
        ),
        TO_RAKED_CAP: (
            f"{{met.own_height}},{gained}",
            f"{met('{met.own_height}')}+({met_rise}*{{assembly.cap_width}}/2+{met_plumb}){turned}",
        ),
    }[how]
    return f'IF(COUNT({known})<{known.count(",") + 1},"",{height})'


def _leaning_words(end: str, other_end: str, leaning: tuple[int, int]) -> tuple[_Words, _Words, str]:
    """What turns formula parts: a height over the post into that of this guard, the other's into one over the post.

    The third turns a plumb height into one at the other's face.
    """
    lift, gained = f"{{{end}_lift}}", f"{{met.{other_end}_lift}}"
    rise, met_rise = rise_excel("{tangent}", end), rise_excel("{met.tangent}", other_end)
    lean, met_lean = taped_excel(f"{{{end}_taped}}"), taped_excel(f"{{met.{other_end}_taped}}")

    def own(middle: str) -> str:
        return from_post_excel(middle, lift, rise, f"{{{end}_face}}", lean) if leaning[0] else f"{middle}-{lift}"

    def met(height: str) -> str:
        face = f"{{met.{other_end}_face}}"
        return over_excel(height, gained, met_rise, face, met_lean) if leaning[1] else f"{height}+{gained}"

    return own, met, swung_excel(met_rise, met_lean) if leaning[1] else ""
