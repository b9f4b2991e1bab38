"""Formulas of the tops of posts, by how each was chosen: whether it leans, and which caps bend over it."""

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from railbook.basics.blank import or_zero
from railbook.basics.joins import Join, written
from railbook.geometry import cap_ends, caps, flights, leaning, lines
from railbook.geometry.joints import NEVER, SAME
from railbook.geometry.lifts import FROM, TO
from railbook.job import assemblies, supports
from railbook.job.supports import STAND_PROUD

WAYS = "cover", "bend"  # joins to the two caps that bend over a post, the downhill one first

JOINS = {
    "line": Join(lines.TAB, "line_row", "line"),
    "cover": Join(cap_ends.TAB, "cover_row", "cover", maybe=True),
    "cover_line": Join(lines.TAB, "cover_line_row", "cover.line", maybe=True),
    "cover_cap": Join(caps.TAB, "cover_line_row", "cover_cap", maybe=True),
    "bend": Join(cap_ends.TAB, "bend_row", "bend", maybe=True),
    "bend_line": Join(lines.TAB, "bend_line_row", "bend.line", maybe=True),
    "bend_cap": Join(caps.TAB, "bend_line_row", "bend_cap", maybe=True),
    "side_line": Join(lines.TAB, "side_row", "side", maybe=True),
    "support": Join(supports.TAB, "support_row", "typed", maybe=True),
    "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
    "proud_line": Join(lines.TAB, "proud_row", "proud_line"),
    "proud_assembly": Join(assemblies.TAB, "proud_line.assembly_row", "proud_line.measures.assembly"),
}
FLIGHT = {"flight": Join(flights.TAB, "line.flight_row", "line.measures.flight", maybe=True)}
PROUD_EXCEL = (
    'IF({proud_assembly.post_proud}<>"",{proud_assembly.post_proud},IF({support_row}=0,"",'
    f'IF({{support.heights}}="{STAND_PROUD}",SUM({{support.proud}}),"")))'
)
TERMS = {
    "first_step": 'IF({line.kind}<>"Stair",0,IF({line.flight_row}="","",{flight.first_riser}))',
    "proud": PROUD_EXCEL,
    "rails": 'IF({stands}="Upper end",{downhill},IF(COUNT({downhill},{uphill})=0,"",MAX({downhill},{uphill})))',
    "wide_face": f"{{face}}{leaning.wide_excel('{lean}')}",
    "plumb_cap": "{assembly.cap_thickness}*{line.secant}",
}


class BentEnd(NamedTuple):
    """One of two caps that bend over a post.

    Attributes:
        way: the join to it.
        end: of its run.
        leaning: 1 where the post leans along it.
    """

    way: str
    end: str
    leaning: int


class TopWords(NamedTuple):
    """Formula parts of one top; the last five of a post that leans only."""

    offset: str
    downhill: str
    uphill: str
    crossing: str
    crest: str
    trim_downhill: str
    trim_uphill: str
    lean: str
    swung: str
    along: str
    foot: str
    across: str


class Chosen(NamedTuple):
    """What the formulas of one top rest on.

    Attributes:
        end: of the run that sets its height; empty for a post between sections.
        leaning: 1 where the post leans along that run.
        side_end: end of the run that meets the post square and recorded a lean; empty where none did.
        bent: the two caps that bend over it; nothing where none do.
    """

    end: str
    leaning: int
    side_end: str
    bent: tuple[BentEnd, ...]

    @property
    def leans(self) -> bool:
        """Whether a lean of the post was recorded."""
        return bool(self.end) and bool(self.leaning or self.side_end)


@cache
def top_words(chosen: Chosen) -> TopWords:
    """The formula parts of a top that was chosen so."""
    parts = (*_undersides(chosen), *_trims(chosen), *_leans(chosen))
    return TopWords(*(written(part, {**JOINS, **FLIGHT}, TERMS) for part in parts))


def _undersides(chosen: Chosen) -> Sequence[str]:
    """Offset, underside at both faces, crossing and crest."""
    face, turned = ("{wide_face}", "*{swung}") if chosen.leans else ("{face}", "")
    offset = _OFFSET.replace("FACE", face)
    if chosen.bent:
        down, up = chosen.bent
        crest = f"{{downhill}}-{{crossing}}*{rise_excel(down)}"
        return offset, _face_excel(down), _face_excel(up), _crossing_excel(down, up), crest
    under = "{offset}+{line.guard_height}-{plumb_cap}" if chosen.leans else _UNDER
    downhill = f'IF(COUNT({{offset}},{{line.guard_height}})<2,"",{f"({under})" if chosen.leans else under}{turned})'
    across = f'IF(OR({{stands}}="Level",{{stands}}="Ramp"),0,{face}*{{line.tangent}}{turned})'
    return offset, downhill, f'IF({{downhill}}="","",{{downhill}}+{across})', "", ""


def _trims(chosen: Chosen) -> Sequence[str]:
    """Both faces as they are trimmed."""
    if not chosen.leans:
        ramp = 'IF({stands}="Ramp",{face}*{line.tangent},0)'
        down = f'IF({{proud}}="",{{downhill}},IF({{trim_uphill}}="","",{or_zero("{trim_uphill}")}+{ramp}))'
        up = f'IF({{proud}}="",{{uphill}},IF({{rails}}="","",{{rails}}+{_UPRIGHT_CAP}+{{proud}}))'
        return down, up
    foot = f"{{face}}*{_foot(chosen)}"
    under = 'IF({FACE}="","",{FACE}*{along})'
    top = "({rails}+{plumb_cap}*{swung})*{along}+{proud}" + (f"-{foot}" if chosen.end == TO else "")
    down = f'IF({{trim_uphill}}="","",{or_zero("{trim_uphill}")}+{foot})'
    return (
        f'IF({{proud}}="",{under.replace("FACE", "downhill")},{down})',
        f'IF({{proud}}="",{under.replace("FACE", "uphill")},IF({{rails}}="","",{top}))',
    )


def _leans(chosen: Chosen) -> Sequence[str]:
    """Lean along the run, what heights become where they meet the post, and along it, gain of its foot, cut across."""
    if not chosen.leans:
        return "", "", "", "", ""
    lean = f"{{line.{chosen.end}_lean}}" if chosen.leaning else "0"
    swung = f"1{leaning.swung_excel(leaning.rise_excel('{line.tangent}', chosen.end), '{lean}')}"
    sides = ["{lean}"] + ([f"{{side_line.{chosen.side_end}_lean}}"] if chosen.side_end else [])
    along = f"SQRT(1+{'+'.join(f'{leaning.tangent_excel(side)}^2' for side in sides)})"
    return lean, swung, along, _foot(chosen), f"ABS({sides[-1]})" if chosen.side_end else "0"


def _foot(chosen: Chosen) -> str:
    """What the foot gains across the post, uphill, for each unit of its width."""
    surface = 'IF({stands}="Ramp",{line.slope_angle},0)'
    return leaning.tangent_excel(f"{surface}{uphill_excel(chosen.end)}")


def uphill_excel(end: str) -> str:
    """Formula part: a lean with its sign, + when the top leans uphill, to be added to an angle."""
    return f"{'-' if end == FROM else '+'}{{lean}}"


def rise_excel(bent: BentEnd) -> str:
    """Formula part: what the cap of one of two runs that bend gains, walked away from the post, as the post sees it."""
    tangent, lean = f"{{{bent.way}_line.tangent}}", f"{{{bent.way}_line.{bent.end}_lean}}"
    rise = f"({'' if bent.end == FROM else '-'}{tangent})"
    return f"({rise}{leaning.swung_excel(rise, lean)})" if bent.leaning else rise


def half_excel(bent: BentEnd) -> str:
    """Formula part: from the middle of the post to the face of one of two runs that bend."""
    lean = f"{{{bent.way}_line.{bent.end}_lean}}"
    return f"{{{bent.way}_line.{bent.end}_face}}/2{leaning.wide_excel(lean) if bent.leaning else ''}"


def _face_excel(bent: BentEnd) -> str:
    """Formula part: underside of a cap at the face of its run."""
    face = f"{{{bent.way}.middle}}+{half_excel(bent)}*{rise_excel(bent)}"
    return f'IF({{{bent.way}.middle}}="","",{face})'


def _crossing_excel(down: BentEnd, up: BentEnd) -> str:
    """Formula part: the twin of `PostTop.crossing`."""
    bends = f"({rise_excel(down)}+{rise_excel(up)})"
    past = f"IF(ABS({bends})<{SAME:.6f},{NEVER:.0f},({{cover.middle}}-{{bend.middle}})/{bends})"
    return f'IF(COUNT({{cover.middle}},{{bend.middle}})<2,"",{half_excel(down)}+{past})'


_UPRIGHT_CAP = "{assembly.cap_thickness}*{line.secant}"
_UNDER = f"{{offset}}+{{line.guard_height}}-{_UPRIGHT_CAP}"
_OFFSET = (
    'IF({stands}="Tread",{assembly.line_post_setback}*{line.tangent},'
    'IF({stands}="Upper end",IF({line.upper_setback}="","",{line.upper_setback}*{line.tangent}),'
    'IF({stands}="Lower end",IF(OR({line.lower_setback}="",{first_step}=""),"",'
    "{first_step}-({line.lower_setback}+FACE)*{line.tangent}),0)))"
)
