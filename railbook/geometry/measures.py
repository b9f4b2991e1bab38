"""Measures worked out: from what was taped on a run to its clear, its slope and its setbacks.

`x` runs uphill from the lower (left) support's face; a level run is a rake of tangent 0.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import when_known
from railbook.basics.double_entry import Column, Part
from railbook.basics.joins import Join
from railbook.basics.kinds import ANGLE, CHOICE, COUNT, FACTOR, LENGTH, MARK, TEXT
from railbook.geometry import flights, rake, skews
from railbook.geometry.flights import FlightWorking
from railbook.geometry.skews import AskewEnds, cosine
from railbook.job import assemblies, runs, supports
from railbook.job.assemblies import Assembly
from railbook.job.runs import BARE, LEVEL, RAMP
from railbook.job.supports import POST, WALL, Support

BEARS = "turned"  # said of a support whose bearing was typed


@dataclass(frozen=True, kw_only=True)
class Measures(AskewEnds):
    """One run's measurements; lengths in the job's unit, None where one is missing.

    Attributes:
        run: its mark.
        run_row: its row on tab Runs, counted from 1; `assembly_row`, `from_row`, `to_row` (0: a
            standard post) and `flight_row` (on Working flights) alike.
        typed: what was measured; see `AskewEnds` for how its supports are turned.
        limits: word -> limit in force.
    """

    run: str
    run_row: int
    assembly: Assembly
    assembly_row: int
    flight: FlightWorking | None
    flight_row: int | None
    from_typed: Support | None
    from_row: int
    to_typed: Support | None
    to_row: int
    limits: Mapping[str, float]

    @cached_property
    def kind(self) -> str:
        """Level, Stair or Ramp."""
        return self.typed.kind or ""

    @property
    def is_raked(self) -> bool:
        """Whether it is no level run; another kind asks for another run."""
        return self.kind != LEVEL

    @cached_property
    def post_face(self) -> float:
        """Outside face of the assembly's own post: its sleeve, or the bare post [job unit]."""
        return self.assembly.sleeve_width or self.assembly.post_width or 0.0

    @cached_property
    def from_face(self) -> float:
        """Width of the From support along the run, wider where it is askew; a wall has none [job unit]."""
        return self._face(self.from_typed) / cosine(self.from_skew)

    @cached_property
    def to_face(self) -> float:
        """Width of the To support along the run [job unit]."""
        return self._face(self.to_typed) / cosine(self.to_skew)

    def _face(self, support: Support | None) -> float:
        if support is None:
            return self.post_face
        if support.kind == WALL:
            return 0.0
        return self.post_face if support.face_width is None else support.face_width

    @property
    def ends(self) -> str:
        """What the two supports are, and what is done there where heights differ, in words."""
        return "|".join(_support_said(each) for each in (self.from_typed, self.to_typed))

    @cached_property
    def from_taken(self) -> float:
        """What a sleeve still to come takes off the clear at From [job unit]."""
        return self._taken(self.from_typed) / cosine(self.from_skew)

    @cached_property
    def to_taken(self) -> float:
        """The same at To [job unit]."""
        return self._taken(self.to_typed) / cosine(self.to_skew)

    def _taken(self, support: Support | None) -> float:
        has_own_face = support is not None and (support.kind == WALL or support.face_width is not None)
        if self.typed.measured_to != BARE or has_own_face:
            return 0.0
        return (self.post_face - (self.assembly.post_width or 0.0)) / 2

    @cached_property
    def clear_taped(self) -> float | None:
        """Level distance as taped: low down, else high up [job unit]."""
        return self.typed.clear_top if self.typed.clear_bottom is None else self.typed.clear_bottom

    @cached_property
    def riser(self) -> float | None:
        """The flight's riser [job unit]."""
        return None if self.flight is None else self.flight.riser

    @cached_property
    def tread(self) -> float | None:
        """The flight's tread [job unit]."""
        return None if self.flight is None else self.flight.tread

    @cached_property
    def risers(self) -> float | None:
        """The flight's number of risers."""
        return None if self.flight is None else self.flight.risers

    @cached_property
    def source(self) -> str:
        """The measurements that the slope is taken from."""
        if self.kind == LEVEL:
            return rake.LEVEL_SOURCE
        return rake.source(
            clear=self.clear_taped,
            rise=self.typed.rise,
            slope_length=self.typed.slope_length,
            angle=self.typed.angle,
            pitch_known=self.riser is not None and self.tread is not None,
            short_slope=self.limits["short_slope"],
        )

    @cached_property
    def tangent(self) -> float:
        """Tangent of the slope, 0 on the level.

        Raises:
            ValueError: the run was not measured; building a job leaves such a run out.
        """
        tangent = rake.tangent_from(
            self.source,
            clear=self.clear_taped,
            rise=self.typed.rise,
            slope_length=self.typed.slope_length,
            angle=self.typed.angle,
            riser=self.riser,
            tread=self.tread,
        )
        if tangent is None:
            raise ValueError(f"run {self.run} has no slope")
        return tangent

    @cached_property
    def secant(self) -> float:
        """Length along the slope for each unit of level length."""
        return rake.secant(self.tangent)

    @cached_property
    def slope_angle(self) -> float:
        """Angle of the slope, and of plumb cuts from square [degrees]."""
        return rake.degrees(self.tangent)

    @cached_property
    def clear_measured(self) -> float | None:
        """Level distance between the faces that were taped [job unit]."""
        if self.clear_taped is not None:
            return self.clear_taped
        if self.typed.slope_length is not None:
            return self.typed.slope_length / self.secant
        if self.typed.rise is not None:
            return self.typed.rise / self.tangent
        return self.clear_predicted

    @property
    def clear_is_predicted(self) -> bool:
        """Whether nothing was taped that gives the clear, so that the flight predicts it."""
        return self.clear_taped is None and self.typed.slope_length is None and self.typed.rise is None

    @cached_property
    def clear_predicted(self) -> float | None:
        """Level distance that the flight and the setbacks predict [job unit]."""
        return when_known(
            lambda lower, risers, tread, upper: rake.clear_by_flight(
                lower_setback=lower, risers=risers, tread=tread, upper_setback=upper
            ),
            self.typed.lower_setback, self.risers, self.tread, self.typed.upper_setback,
        )  # fmt: skip

    @cached_property
    def clear(self) -> float:
        """Level distance between the finished faces, low down [job unit].

        Raises:
            ValueError: the run was not measured; building a job leaves such a run out.
        """
        if self.clear_measured is None:
            raise ValueError(f"run {self.run} has no clear")
        return self.clear_measured - self.from_taken - self.to_taken

    @cached_property
    def clear_top(self) -> float:
        """The same high up; what was taped once holds for both [job unit]."""
        if self.typed.clear_top is None:
            return self.clear
        return self.typed.clear_top - self.from_taken - self.to_taken

    @cached_property
    def lower_setback(self) -> float | None:
        """Lower support's finished uphill face to the next nosing, level [job unit].

        Where it was not taped it follows from the others; a ramp then starts at the face.
        """
        if self.typed.lower_setback is not None:
            return self.typed.lower_setback - self.from_taken
        if self.kind == RAMP:
            return 0.0
        return self._left_over(self.typed.upper_setback, self.from_taken)

    @cached_property
    def upper_setback(self) -> float | None:
        """Last nosing to the upper support's finished downhill face, level [job unit]."""
        if self.typed.upper_setback is not None:
            return self.typed.upper_setback - self.to_taken
        if self.kind == RAMP:
            return 0.0
        return self._left_over(self.typed.lower_setback, self.to_taken)

    def _left_over(self, other: float | None, taken: float) -> float | None:
        """A setback from the clear, the treads and the other setback."""
        return when_known(
            lambda clear, risers, tread, taped: clear - (risers - 1) * tread - taped - taken,
            self.clear_measured, self.risers, self.tread, other,
        )  # fmt: skip

    @cached_property
    def along(self) -> float:
        """Length of the guard along its slope [job unit]."""
        return self.clear * self.secant


def _support_said(support: Support | None) -> str:
    """What a support is, what is done there where heights differ, and whether it was said how it is turned."""
    if support is None:
        return POST
    return (support.kind or "") + (support.heights or "") + ("" if support.bearing is None else BEARS)


JOINS = {
    "typed": Join(runs.TAB, "run_row", "typed"),
    "assembly": Join(assemblies.TAB, "assembly_row", "assembly"),
    "flight": Join(flights.TAB, "flight_row", "flight", maybe=True),
    "from_support": Join(supports.TAB, "from_row", "from_typed", maybe=True),
    "to_support": Join(supports.TAB, "to_row", "to_typed", maybe=True),
    **skews.JOINS,
}
_ROW = "=IFERROR(MATCH({typed.END_support},{supports_support},0),0)"  # 0: a standard post
_KIND = (
    f'IF({{END_row}}=0,"Post",{{END_support.kind}}&{{END_support.heights}}&IF({{END_support.bearing}}="","","{BEARS}"))'
)
_FACE = (
    '=IF({END_row}=0,{post_face},IF({END_support.kind}="Wall",0,'
    'IF({END_support.face_width}="",{post_face},{END_support.face_width})))'
)
_OWN_FACE = 'IF({END_row}=0,FALSE,OR({END_support.kind}="Wall",{END_support.face_width}<>""))'
_TAKEN = f'=IF(OR({{typed.measured_to}}<>"Bare post",{_OWN_FACE}),0,({{post_face}}-{{assembly.post_width}})/2)'
# A setback as taped; else what the clear, the treads and the other setback leave for it.
_SETBACK = (
    '=IF({typed.OWN_setback}<>"",{typed.OWN_setback}-{END_taken},IF({kind}="Ramp",0,'
    'IF(COUNT({clear_measured},{risers},{tread},{typed.FAR_setback})<4,"",'
    "{clear_measured}-({risers}-1)*{tread}-{typed.FAR_setback}-{END_taken})))"
)


def _at(end: str, formula: str) -> str:
    """A formula for one end of the run."""
    own, far = ("lower", "upper") if end == "from" else ("upper", "lower")
    return formula.replace("END", end).replace("OWN", own).replace("FAR", far)


PART = Part(
    "lines",
    Measures,
    (
        Column("run", "Run", MARK),
        Column("run_row", "Row", COUNT, "=MATCH({run},{runs_run},0)"),
        Column("kind", "Kind", CHOICE, of="typed"),
        Column("assembly_row", "Assembly row", COUNT, "=MATCH({typed.assembly},{assemblies_assembly},0)"),
        Column(
            "flight_row", "Flight row", COUNT,
            '=IF({typed.flight}="","",MATCH({typed.flight},{flight_working_flight},0))',
        ),
        Column("from_row", "From row", COUNT, _at("from", _ROW)),
        Column("to_row", "To row", COUNT, _at("to", _ROW)),
        Column(
            "post_face", "Post face", LENGTH,
            '=IF({assembly.sleeve_width}="",{assembly.post_width},{assembly.sleeve_width})',
        ),
        *skews.COLUMNS,
        Column("from_face", "From face", LENGTH, _at("from", _FACE) + "[from_over_excel]"),
        Column("to_face", "To face", LENGTH, _at("to", _FACE) + "[to_over_excel]"),
        Column("ends", "Supports are", TEXT, f'={_at("from", _KIND)}&"|"&{_at("to", _KIND)}', width=12),
        Column("from_taken", "Sleeve takes at From", LENGTH, _at("from", _TAKEN) + "[from_over_excel]"),
        Column("to_taken", "Sleeve takes at To", LENGTH, _at("to", _TAKEN) + "[to_over_excel]"),
        Column(
            "clear_taped", "Clear taped", LENGTH,
            '=IF({typed.clear_bottom}<>"",{typed.clear_bottom},IF({typed.clear_top}="","",{typed.clear_top}))',
        ),
        Column("rise_taped", "Rise taped", LENGTH, of="typed.rise"),
        Column("slope_taped", "Slope taped", LENGTH, of="typed.slope_length"),
        Column("angle_taped", "Angle taped", ANGLE, of="typed.angle"),
        Column("riser", "Riser", LENGTH, of="flight"),
        Column("tread", "Tread", LENGTH, of="flight"),
        Column("risers", "Risers", COUNT, of="flight"),
        Column("source", "Slope taken from", TEXT, rake.SOURCE_EXCEL, when="is_raked", width=22),
        Column("tangent", "Tangent", FACTOR, rake.TANGENT_EXCEL, when="is_raked"),
        Column("secant", "Secant", FACTOR, "=SQRT(1+{tangent}^2)", when="is_raked"),
        Column("slope_angle", "Slope", ANGLE, "=DEGREES(ATAN({tangent}))", when="is_raked"),
        Column(
            "clear_predicted", "Clear by the flight", LENGTH,
            '=IF(COUNT({typed.lower_setback},{risers},{tread},{typed.upper_setback})<4,"",'
            "{typed.lower_setback}+({risers}-1)*{tread}+{typed.upper_setback})",
        ),
        Column(
            "clear_measured", "Clear measured", LENGTH,
            '=IF({clear_taped}<>"",{clear_taped},IF({slope_taped}<>"",{slope_taped}/{secant},'
            'IF({rise_taped}<>"",{rise_taped}/{tangent},{clear_predicted})))',
        ),
        Column("clear", "Clear", LENGTH, "={clear_measured}-{from_taken}-{to_taken}"),
        Column(
            "clear_top", "Clear at top", LENGTH,
            '=IF({typed.clear_top}="",{clear},{typed.clear_top}-{from_taken}-{to_taken})',
        ),
        Column("lower_setback", "Lower setback", LENGTH, _at("from", _SETBACK)),
        Column("upper_setback", "Upper setback", LENGTH, _at("to", _SETBACK)),
        Column("along", "Along the slope", LENGTH, "={clear}*{secant}"),
    ),
    joins=JOINS,
)  # fmt: skip
