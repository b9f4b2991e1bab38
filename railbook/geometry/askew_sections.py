"""Ends of sections that come to their supports askew: both sides of a rail, its corners, and how the saw is set.

Seen from the lower or left end the walking side is on the right: a run's From support is the left one, seen from there.
At a post, the end of a rail lies flat on its face. Turned clockwise off that face, a rail's walking side is longer at
its upper end and shorter at its lower one, by half its width times the tangent of the angle. On its side, a raked rail
is cut with the saw turned to the slope and the blade tilted by that angle; `tests/test_turned_posts.py` draws both.
"""

from functools import cached_property

from railbook.basics.double_entry import Column
from railbook.basics.joins import Join, written
from railbook.basics.kinds import COUNT, CUT, LENGTH
from railbook.basics.rounding import PLACES
from railbook.geometry import lines
from railbook.geometry.askew_rails import BOTTOM_WIDE, TOP_WIDE, tangent
from railbook.geometry.section_clears import SectionClear
from railbook.job import assemblies
from railbook.job.assemblies import USUAL_BRACKET_SKEW
from railbook.job.runs import LEVEL

_JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
}

_LOWER_CUT = written("{line.slope_angle}-IF({number}=1,{line.from_lean},0)", _JOINS, {})
_UPPER_CUT = written("{line.slope_angle}+IF({number}={of},{line.to_lean},0)", _JOINS, {})
_TANGENTS = "(TAN(RADIANS(ABS({lower_skew})))+TAN(RADIANS(ABS({upper_skew}))))*{secant}"
_POINTS = {
    "top_wide": "+" + written(f"{TOP_WIDE}/2*{_TANGENTS}", _JOINS, {}),
    "cap_wide": "+" + written("{assembly.cap_width}/2*" + _TANGENTS, _JOINS, {}),
    "bottom_wide": "+" + written(f"{BOTTOM_WIDE}/2*{_TANGENTS}", _JOINS, {}),
}


class AskewSection(SectionClear):
    """A section with what it has where it comes to a support askew; every figure is 0 where it does not."""

    @property
    def lower_side(self) -> int:
        """To which side it is askew at its lower end, as found; a line post stands square to it."""
        return self.line.measures.from_side if self.is_first else 0

    @property
    def upper_side(self) -> int:
        """The same at its upper end."""
        return self.line.measures.to_side if self.is_last else 0

    @property
    def is_askew(self) -> bool:
        """Whether an end of it is askew."""
        return bool(self.lower_side or self.upper_side)

    @property
    def is_splayed(self) -> bool:
        """Whether its rails end askew and lean besides, which no saw stop here tells."""
        return self.is_askew and bool(self.lower_spread or self.upper_spread)

    @property
    def askew_at(self) -> tuple[str, ...]:
        """Marks of the supports that it comes to askew."""
        typed = self.line.measures.typed
        ends = (self.lower_side, typed.from_support), (self.upper_side, typed.to_support)
        return tuple(mark or "" for side, mark in ends if side)

    @cached_property
    def lower_skew(self) -> float:
        """How far it is turned off its lower face, clockwise positive [degrees]."""
        return self.line.measures.from_skew if self.lower_side else 0.0

    @cached_property
    def upper_skew(self) -> float:
        """The same at its upper face."""
        return self.line.measures.to_skew if self.upper_side else 0.0

    @cached_property
    def top_across(self) -> float:
        """What the walking side of the top rail is longer than its middle; the far side is shorter by as much."""
        return self._across(self.assembly.top_wide(self.line.unit))

    @cached_property
    def bottom_across(self) -> float:
        """The same of the bottom rail."""
        return self._across(self.assembly.bottom_wide(self.line.unit))

    @cached_property
    def cap_across(self) -> float:
        """The same of its cap between posts that stand proud."""
        return self._across(self.assembly.cap_width or 0.0)

    @property
    def cap_long(self) -> float | None:
        """Cap between posts, the longer of its two sides; None where both ends are square."""
        return self.cap_edge + abs(self.cap_across) if self.is_askew else None

    @property
    def cap_short(self) -> float | None:
        """The shorter one."""
        return self.cap_edge - abs(self.cap_across) if self.is_askew else None

    def _across(self, wide: float) -> float:
        return wide / 2 * (tangent(self.upper_skew) - tangent(self.lower_skew)) * self.secant

    @property
    def top_long(self) -> float | None:
        """Top rail, the longer of its two sides; None where both ends are square."""
        return self.top_edge + abs(self.top_across) if self.is_askew else None

    @property
    def top_short(self) -> float | None:
        """The shorter one."""
        return self.top_edge - abs(self.top_across) if self.is_askew else None

    @property
    def bottom_long(self) -> float | None:
        """Bottom rail, the longer of its two sides; None where both ends are square."""
        return self.bottom_edge + abs(self.bottom_across) if self.is_askew else None

    @property
    def bottom_short(self) -> float | None:
        """The shorter one."""
        return self.bottom_edge - abs(self.bottom_across) if self.is_askew else None

    @cached_property
    def top_corner(self) -> float:
        """Level, from the lower end of the top rail's middle to its corner on the walking side; - beyond it."""
        return self.assembly.top_wide(self.line.unit) / 2 * tangent(self.lower_skew)

    @cached_property
    def bottom_corner(self) -> float:
        """The same of the bottom rail."""
        return self.assembly.bottom_wide(self.line.unit) / 2 * tangent(self.lower_skew)

    def points(self, wide: float) -> float:
        """What the points of a rail of that width stand out past its middle, along it."""
        return wide / 2 * (abs(tangent(self.lower_skew)) + abs(tangent(self.upper_skew))) * self.secant

    @property
    def top_points_excel(self) -> str:
        """Formula part: the same of the top rail."""
        return self._points_excel("top_wide")

    @property
    def cap_points_excel(self) -> str:
        """Formula part: the same of its cap between posts."""
        return self._points_excel("cap_wide")

    @property
    def bottom_points_excel(self) -> str:
        """Formula part: the same of the bottom rail."""
        return self._points_excel("bottom_wide")

    def _points_excel(self, wide: str) -> str:
        return _POINTS[wide] if self.is_askew else ""

    @property
    def lower_tilt(self) -> float:
        """Raked rail on its side: tilt of the blade at its lower end, where the turn makes it plumb [degrees]."""
        return -self.lower_skew if self.is_compound else 0.0

    @property
    def upper_tilt(self) -> float:
        """The same at its upper end."""
        return -self.upper_skew if self.is_compound else 0.0

    @property
    def angled_brackets(self) -> int:
        """Rail ends that come further off square than their brackets go: two rails at each such support."""
        return 2 * sum(self.assembly.turns_too_far(skew) for skew in (self.lower_skew, self.upper_skew))

    @property
    def is_compound(self) -> bool:
        """Whether its rails are cut to the rake and askew."""
        return self.is_askew and self.line.kind != LEVEL

    @property
    def lower_cut_excel(self) -> str:
        """Formula part of `lower_cut`."""
        return "-{lower_skew}" if self.lower_side and self.line.kind == LEVEL else _LOWER_CUT

    @property
    def upper_cut_excel(self) -> str:
        """Formula part of `upper_cut`."""
        return "-{upper_skew}" if self.upper_side and self.line.kind == LEVEL else _UPPER_CUT


ASKEW_TERMS = {
    "top_wide": TOP_WIDE,
    "bottom_wide": BOTTOM_WIDE,
    "bracket_turns": f'IF({{assembly.bracket_skew}}="",{USUAL_BRACKET_SKEW:g},{{assembly.bracket_skew}})',
    "lower_askew": "TAN(RADIANS({lower_skew}))",
    "askew": "(TAN(RADIANS({upper_skew}))-{lower_askew})*{secant}",
}
ASKEW = (
    Column("lower_skew", "Askew, lower", CUT, "={line.from_skew}", when="lower_side"),
    Column("upper_skew", "Askew, upper", CUT, "={line.to_skew}", when="upper_side"),
    Column("top_across", "Top rail, walking side more", LENGTH, "={top_wide}/2*{askew}", when="is_askew"),
    Column("bottom_across", "Bottom rail, walking side more", LENGTH, "={bottom_wide}/2*{askew}", when="is_askew"),
    Column("top_long", "Top rail, longer side", LENGTH, "={top_edge}+ABS({top_across})", when="is_askew"),
    Column("top_short", "Top rail, shorter side", LENGTH, "={top_edge}-ABS({top_across})", when="is_askew"),
    Column("bottom_long", "Bottom rail, longer side", LENGTH, "={bottom_edge}+ABS({bottom_across})", when="is_askew"),
    Column("bottom_short", "Bottom rail, shorter side", LENGTH, "={bottom_edge}-ABS({bottom_across})", when="is_askew"),
    Column("cap_across", "Cap, walking side more", LENGTH, "={assembly.cap_width}/2*{askew}", when="is_askew"),
    Column("cap_long", "Cap, longer side", LENGTH, "={cap_edge}+ABS({cap_across})", when="is_askew"),
    Column("cap_short", "Cap, shorter side", LENGTH, "={cap_edge}-ABS({cap_across})", when="is_askew"),
    Column("top_corner", "Top rail, corner past its middle", LENGTH, "={top_wide}/2*{lower_askew}", when="lower_side"),
    Column(
        "bottom_corner",
        "Bottom rail, corner past its middle",
        LENGTH,
        "={bottom_wide}/2*{lower_askew}",
        when="lower_side",
    ),
    Column(
        "angled_brackets",
        "Brackets to be angled",
        COUNT,
        f"=2*(IF(ROUND(ABS({{lower_skew}})-{{bracket_turns}},{PLACES})>0,1,0)"
        f"+IF(ROUND(ABS({{upper_skew}})-{{bracket_turns}},{PLACES})>0,1,0))",
        when="is_askew",
    ),
    Column("lower_tilt", "Tilt, lower", CUT, "=-{lower_skew}", when="is_compound"),
    Column("upper_tilt", "Tilt, upper", CUT, "=-{upper_skew}", when="is_compound"),
)
