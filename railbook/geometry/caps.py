"""Cap boards: how far each reaches past the faces of its two supports, and how its ends are cut.

A level corner is mitred. In line with a rake both caps are cut at half of what the slopes bend; on a ridge the upper
surface is the longer one, in a valley the underside. A cap that ends at the edge of a level one, or on the face of a
post under another, is cut plumb. Where two caps can do none of these, neither is laid out.
"""

from dataclasses import dataclass, field
from functools import cache, cached_property

from railbook.basics.blank import when_known
from railbook.basics.double_entry import STATUS, Column, Tab
from railbook.basics.joins import Join, Rests, written
from railbook.basics.kinds import COUNT, CUT, LENGTH, MARK, VERDICT
from railbook.geometry import cap_ends, lines
from railbook.geometry.cap_ends import BARE, CAPPED, STANDS_PROUD, CapEnd, form_of
from railbook.geometry.cap_saws import (
    cut_of,
    leaning_excel,
    longer_at,
    tilt_of,
    tilt_words,
    tilted_by,
    tilted_tangent,
    tilts_saw,
    turned_by,
    turned_tangent,
    turns_saw,
)
from railbook.geometry.cap_words import NOTHING, past_words
from railbook.geometry.joints import NOT_LAID_OUT
from railbook.geometry.lifts import FROM, TO
from railbook.geometry.lines import Line
from railbook.job import assemblies
from railbook.job.assemblies import Assembly
from railbook.job.runs import LEVEL


@dataclass(frozen=True)
class Cap:
    """The cap board of one run; lengths in the job's unit, along the board unless said otherwise.

    Attributes:
        run: mark of its run `line`, at `line_row` of Working runs.
        from_end: how it ends at From, at `from_row` of Working cap ends; `to_end` at To.
    """

    run: str
    line: Line = field(repr=False)
    line_row: int
    from_end: CapEnd = field(repr=False)
    to_end: CapEnd = field(repr=False)

    @property
    def from_row(self) -> int:
        """Row of its From end on Working cap ends."""
        return 2 * self.line_row - 1

    @property
    def to_row(self) -> int:
        """Row of its To end."""
        return 2 * self.line_row

    @property
    def is_laid_out(self) -> bool:
        """Whether both ends can be built."""
        return not {self.from_end.kind, self.to_end.kind} & set(NOT_LAID_OUT)

    @property
    def like_row(self) -> int:
        """A cap is like itself only."""
        return self.line_row

    @property
    def assembly_row(self) -> int:
        """Row of its assembly on tab Assemblies."""
        return self.line.assembly_row

    @property
    def _assembly(self) -> Assembly:
        return self.line.measures.assembly

    @cached_property
    def from_reach(self) -> float:
        """Level distance past the From face, at the middle of the board."""
        return self.from_end.past

    @cached_property
    def to_reach(self) -> float:
        """Level distance past the To face."""
        return self.to_end.past

    @property
    def from_reach_excel(self) -> str:
        """Formula of `from_reach`; empty where it is nothing whatever is measured."""
        return _formula(past_words(self.from_end.kind, *self.from_end.ends, self.from_end.leaning), FROM)

    @property
    def to_reach_excel(self) -> str:
        """Formula of `to_reach`."""
        return _formula(past_words(self.to_end.kind, *self.to_end.ends, self.to_end.leaning), TO)

    @cached_property
    def from_cut(self) -> float:
        """Saw setting at From, from square; the sign tells which way it leans [degrees].

        Of a cap that is turned and tilted for one of its ends it is what the saw is turned to, at both.
        """
        return self._cut(self.from_end)

    @cached_property
    def to_cut(self) -> float:
        """Saw setting at To, from square [degrees]."""
        return self._cut(self.to_end)

    def _cut(self, end: CapEnd) -> float:
        return 0.0 if self.is_compound and not turns_saw(end) else end.cut

    @property
    def is_compound(self) -> bool:
        """Whether the saw is turned and tilted for one of its ends: a raked cap that ends at a face askew."""
        return any(end.is_askew for end in self._ends) and self.line.kind != LEVEL

    @cached_property
    def from_tilt(self) -> float:
        """Tilt of the blade at From, where the saw is turned besides [degrees]."""
        return tilt_of(self.from_end) if self.is_compound else 0.0

    @cached_property
    def to_tilt(self) -> float:
        """The same at To [degrees]."""
        return tilt_of(self.to_end) if self.is_compound else 0.0

    @property
    def from_tilt_excel(self) -> str:
        """Formula of `from_tilt`."""
        return self._tilt_excel(self.from_end)

    @property
    def to_tilt_excel(self) -> str:
        """Formula of `to_tilt`."""
        return self._tilt_excel(self.to_end)

    def _tilt_excel(self, end: CapEnd) -> str:
        return _formula(tilt_words(end), end.arrival.end) if self.is_compound else ""

    @property
    def from_cut_excel(self) -> str:
        """Formula of `from_cut`; empty where it is square whatever is measured."""
        return self._cut_excel(self.from_end)

    @property
    def to_cut_excel(self) -> str:
        """Formula of `to_cut`."""
        return self._cut_excel(self.to_end)

    def _cut_excel(self, end: CapEnd) -> str:
        if self.is_compound and not turns_saw(end):
            return ""
        return _formula(cut_of(end), end.arrival.end)

    @cached_property
    def middle_length(self) -> float | None:
        """Along the middle of the board; of a raked cap, along its underside; None where an end cannot be built."""
        reach = self.line.lean.cap_clear + self.from_reach + self.to_reach
        return reach * self.line.secant if self.is_laid_out else None

    @cached_property
    def mitre_gain(self) -> float:
        """Long point less middle: half the width times the tangents of both cuts that turn the saw."""
        return (self._assembly.cap_width or 0.0) / 2 * sum(abs(turned_tangent(end)) for end in self._ends)

    @property
    def _ends(self) -> tuple[CapEnd, CapEnd]:
        return self.from_end, self.to_end

    @property
    def is_turned(self) -> bool:
        """Whether an end is cut with the saw turned."""
        return any(turns_saw(end) for end in self._ends)

    @property
    def is_tilted(self) -> bool:
        """Whether an end is cut with the blade tilted."""
        return any(tilts_saw(end) for end in self._ends)

    @property
    def turned_excel(self) -> str:
        """Formula part: tangents of the cuts that turn the saw."""
        return "+".join(turned_by(end) for end in self._ends)

    @property
    def tilted_excel(self) -> str:
        """Formula part: tangents of those that tilt the blade and make the upper side longer."""
        return _in_words("+".join(tilted_by(end, tilts=self.is_compound) for end in self._ends), FROM)

    @cached_property
    def bend_gain(self) -> float:
        """What bevels and plumb cuts add above, where the upper side is longer."""
        above = sum(max(0.0, longer_at(end, tilted_tangent(end))) for end in self._ends)
        return (self._assembly.cap_thickness or 0.0) * above

    @cached_property
    def long_point(self) -> float | None:
        """What the stock must hold."""
        return when_known(lambda middle: middle + self.mitre_gain + self.bend_gain, self.middle_length)

    @property
    def is_cut_twice(self) -> bool:
        """Whether both ends are cut otherwise than square, so that its tips may lie on two edges."""
        return self.is_laid_out and all(turns_saw(end) or tilts_saw(end) for end in self._ends)

    @cached_property
    def edge(self) -> float | None:
        """The longest of its edges; None where only one end is cut, so that it is as long as tip to tip."""
        if self.middle_length is None or not self.is_cut_twice:
            return None
        width, thick = self._assembly.cap_width or 0.0, self._assembly.cap_thickness or 0.0
        turned, tilted = (
            sum(longer_at(end, tangent(end)) for end in self._ends) for tangent in (turned_tangent, tilted_tangent)
        )
        return self.middle_length + width / 2 * abs(turned) + max(0.0, thick * tilted)

    @property
    def edge_excel(self) -> str:
        """Formula part of what its longest edge has more than its middle."""
        turned, tilted = leaning_excel(self._ends, tilts=self.is_compound)
        return _in_words(f"{{assembly.cap_width}}/2*ABS({turned})+MAX(0,{{assembly.cap_thickness}}*({tilted}))", FROM)

    @property
    def refused(self) -> int:
        """1 for a cap that is not laid out, as an end clashes with another."""
        return int(self.form == CAPPED and not self.is_laid_out)

    @property
    def form(self) -> str:
        """Whether the posts of its railing stood proud, or a cap ran over them, when the ends were chosen."""
        return self.from_end.form

    @property
    def reformed(self) -> bool:
        """Whether its railing has a cap now and had none, or the other way, or lets its posts stand proud."""
        return form_of(self._assembly) != self.form

    @property
    def slipped(self) -> bool:
        """Whether a joint can no longer be built as laid out."""
        return any(end.slipped for end in self._ends)

    @property
    def turned(self) -> bool:
        """Whether a turn is another one than its joint was chosen for."""
        return any(end.turned for end in self._ends)

    @property
    def uneven(self) -> bool:
        """Whether two caps that were equally thick are no longer so, or the other way."""
        return any(end.uneven for end in self._ends)

    @property
    def slipped_excel(self) -> str:
        """Formula part of `slipped`."""
        return ",".join(_in_words(end.slipped_excel, end.arrival.end) for end in self._ends)

    @property
    def turned_away_excel(self) -> str:
        """Formula part of `turned`."""
        return ",".join(_in_words(end.turned_excel, end.arrival.end) for end in self._ends)

    @property
    def uneven_excel(self) -> str:
        """Formula part of `uneven`."""
        return ",".join(_in_words(end.uneven_excel, end.arrival.end) for end in self._ends)

    @cached_property
    def status(self) -> str:
        """Asks for another run when its own run or one that it meets does, or a joint cannot be built any more."""
        return TAB.status_of(self)


_PREFIXES = {
    "{middle}": "{END_end.middle}", "{turn}": "{END_end.turn}", "{upper}": "{END_end.upper}",
    "{margin}": "{END_end.margin}", "{met.": "{END_met_end.", "{met_line.": "{END_met.",
    "{met_assembly.": "{END_met_assembly.",
}  # fmt: skip


def _formula(words: str, end: str) -> str:
    """The formula of one end; none for nothing."""
    return f"={_in_words(words, end)}" if words != NOTHING else ""


@cache
def _in_words(formula: str, end: str) -> str:
    """What is said of one end, in the joined words of this tab."""
    for word, here in _PREFIXES.items():
        formula = formula.replace(word, here.replace("END", end))
    return written(formula, TAB.joins, TAB.terms)


_FORM = f'IF({{assembly.post_proud}}<>"","{STANDS_PROUD}",IF(SUM({{assembly.cap_thickness}})=0,"{BARE}","{CAPPED}"))'
_LENGTH = "({line.cap_clear}+{from_reach}+{to_reach})*{line.secant}"


def _joins_of(end: str) -> dict[str, Join]:
    """The end of the cap, and the run that it is held against there."""
    return {
        f"{end}_end": Join(cap_ends.TAB, f"{end}_row", f"{end}_end"),
        f"{end}_met_end": Join(cap_ends.TAB, f"{end}_end.met_row", f"{end}_end.met", maybe=True),
        f"{end}_met": Join(lines.TAB, f"{end}_end.met_line_row", f"{end}_end.met.line", maybe=True),
        f"{end}_met_assembly": Join(assemblies.TAB, f"{end}_met.assembly_row", f"{end}_end.met.assembly", maybe=True),
    }


TAB = Tab(
    "caps",
    "Working caps",
    Cap,
    (
        Column("run", "Run", MARK),
        Column("line_row", "Run row", COUNT),
        Column("like_row", "Like row", COUNT),
        Column("refused", "Not laid out", COUNT),
        Column("from_row", "From end row", COUNT),
        Column("to_row", "To end row", COUNT),
        Column("from_reach", "Past the From face", LENGTH, "[from_reach_excel]"),
        Column("to_reach", "Past the To face", LENGTH, "[to_reach_excel]"),
        Column("middle_length", "Middle length", LENGTH, f"={_LENGTH}", when="is_laid_out"),
        Column("from_cut", "Cut at From", CUT, "[from_cut_excel]"),
        Column("to_cut", "Cut at To", CUT, "[to_cut_excel]"),
        Column("from_tilt", "Tilt at From", CUT, "[from_tilt_excel]", when="is_compound"),
        Column("to_tilt", "Tilt at To", CUT, "[to_tilt_excel]", when="is_compound"),
        Column("mitre_gain", "Mitres add", LENGTH, "={assembly.cap_width}/2*([turned_excel])", when="is_turned"),
        Column("bend_gain", "Bevels add", LENGTH, "={assembly.cap_thickness}*([tilted_excel])", when="is_tilted"),
        Column("edge", "Longest edge", LENGTH, "={middle_length}+[edge_excel]", when="is_cut_twice"),
        Column(
            "long_point", "Tip to tip", LENGTH, "={middle_length}+{mitre_gain}+{bend_gain}", when="is_laid_out",
        ),
        Column(STATUS, "Status", VERDICT),
    ),
    purpose="Cap boards: how far each reaches past its supports, and how its ends are cut.",
    key="run",
    joins={
        "line": Join(lines.TAB, "line_row", "line"),
        "assembly": Join(assemblies.TAB, "line.assembly_row", "line.measures.assembly"),
        **_joins_of(FROM),
        **_joins_of(TO),
    },
    rests=Rests(
        on=("line", "from_met", "to_met"),
        unless={
            "reformed": f'{_FORM}<>"[form]"',
            "slipped": "[slipped_excel]",
            "turned": "[turned_away_excel]",
            "uneven": "[uneven_excel]",
        },
    ),
)  # fmt: skip
