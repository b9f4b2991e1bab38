"""Measures worked out: from what was taped on a run to its clear, its slope and its setbacks.

`x` runs uphill from the lower (left) support's face; a level run is a rake of tangent 0.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from railbook.basics.blank import when_known
from railbook.basics.double_entry import Column, Tab, look_up
from railbook.basics.kinds import ANGLE, CHOICE, COUNT, FACTOR, LENGTH, MARK, NUMBER, TEXT
from railbook.geometry import rake
from railbook.geometry.flights import FlightWorking
from railbook.job.assemblies import Assembly
from railbook.job.runs import BARE, LEVEL, RAMP, Run
from railbook.job.supports import POST, WALL, Support


@dataclass(frozen=True)
class Measures:
    """One run's measurements; lengths in the job's unit, None where one is missing.

    Attributes:
        run: its mark.
        run_row: its row on tab Runs, counted from 1; `assembly_row`, `from_row`, `to_row` (0: a
            standard post) and `flight_row` (on Working flights) alike.
        typed: what was measured.
        limits: word -> limit in force.
    """

    run: str
    run_row: int
    typed: Run
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

    @cached_property
    def post_face(self) -> float:
        """Outside face of the assembly's own post: its sleeve, or the bare post [job unit]."""
        return self.assembly.sleeve_width or self.assembly.post_width or 0.0

    @cached_property
    def from_face(self) -> float:
        """Width of the From support along the run; a wall has none [job unit]."""
        return self._face(self.from_typed)

    @cached_property
    def to_face(self) -> float:
        """Width of the To support along the run [job unit]."""
        return self._face(self.to_typed)

    def _face(self, support: Support | None) -> float:
        if support is None:
            return self.post_face
        if support.kind == WALL:
            return 0.0
        return self.post_face if support.face_width is None else support.face_width

    @property
    def ends(self) -> str:
        """Kinds of the two supports, in words."""
        kinds = (POST if each is None else each.kind or POST for each in (self.from_typed, self.to_typed))
        return "|".join(kinds)

    @cached_property
    def from_taken(self) -> float:
        """What a sleeve still to come takes off the clear at From [job unit]."""
        return self._taken(self.from_typed)

    @cached_property
    def to_taken(self) -> float:
        """The same at To [job unit]."""
        return self._taken(self.to_typed)

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
    def rise_taped(self) -> float | None:
        """Height gained over the clear, as taped [job unit]."""
        return self.typed.rise

    @cached_property
    def slope_taped(self) -> float | None:
        """Slope length between the faces, as taped [job unit]."""
        return self.typed.slope_length

    @cached_property
    def angle_taped(self) -> float | None:
        """Slope angle as taped [degrees]."""
        return self.typed.angle

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
            rise=self.rise_taped,
            slope_length=self.slope_taped,
            angle=self.angle_taped,
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
            rise=self.rise_taped,
            slope_length=self.slope_taped,
            angle=self.angle_taped,
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
    def rise_in_twelve(self) -> float:
        """The slope as rise in a run of 12."""
        return rake.rise_in_twelve(self.tangent)

    @cached_property
    def clear_measured(self) -> float | None:
        """Level distance between the faces that were taped [job unit]."""
        if self.clear_taped is not None:
            return self.clear_taped
        if self.slope_taped is not None:
            return self.slope_taped / self.secant
        if self.rise_taped is not None:
            return self.rise_taped / self.tangent
        return self.clear_predicted

    @property
    def clear_is_predicted(self) -> bool:
        """Whether nothing was taped that gives the clear, so that the flight predicts it."""
        return self.clear_taped is None and self.slope_taped is None and self.rise_taped is None

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

    @property
    def rake_most(self) -> float | None:
        """Steepest slope that the assembly is made for [degrees]; None: no limit of its own."""
        return self.assembly.greatest_rake


def _typed(column: str) -> str:
    """Formula: a cell of this run on tab Runs, blank when it is blank."""
    return "=" + look_up(f"runs_{column}", "run_row")


def _of_flight(column: str) -> str:
    """Formula: a figure of this run's flight, blank when it has none."""
    return f'=IF({{flight_row}}="","",INDEX({{flight_working_{column}}},{{flight_row}}))'


def _row_of(support: str) -> str:
    """Formula: row of a support on tab Supports, 0 for a standard post."""
    return f"=IFERROR(MATCH(INDEX({{runs_{support}_support}},{{run_row}}),{{supports_support}},0),0)"


def _kind(end: str) -> str:
    """Formula part: kind of the support at that end."""
    return f'IF({{{end}_row}}=0,"Post",INDEX({{supports_kind}},{{{end}_row}}))'


def _face(end: str) -> str:
    """Formula: width of the support at that end."""
    width = f"INDEX({{supports_face_width}},{{{end}_row}})"
    return (
        f"=IF({{{end}_row}}=0,{{post_face}},"
        f'IF(INDEX({{supports_kind}},{{{end}_row}})="Wall",0,IF({width}="",{{post_face}},{width})))'
    )


def _sleeve_taken(end: str) -> str:
    """Formula: what a sleeve still to come takes off that end."""
    own_face = (
        f'IF({{{end}_row}}=0,FALSE,OR(INDEX({{supports_kind}},{{{end}_row}})="Wall",'
        f'INDEX({{supports_face_width}},{{{end}_row}})<>""))'
    )
    return (
        f'=IF(OR(INDEX({{runs_measured_to}},{{run_row}})<>"Bare post",{own_face}),0,'
        "({post_face}-INDEX({assemblies_post_width},{assembly_row}))/2)"
    )


def _setback(mine: str, other: str, taken: str) -> str:
    """Formula: a setback as taped, else what the clear and the treads leave for it."""
    own, far = f"INDEX({{runs_{mine}}},{{run_row}})", f"INDEX({{runs_{other}}},{{run_row}})"
    left_over = f"{{clear_measured}}-({{risers}}-1)*{{tread}}-{far}-{{{taken}}}"
    return (
        f'=IF({own}<>"",{own}-{{{taken}}},IF({{kind}}="Ramp",0,'
        f'IF(COUNT({{clear_measured}},{{risers}},{{tread}},{far})<4,"",{left_over})))'
    )


_LOWER, _UPPER = "INDEX({runs_lower_setback},{run_row})", "INDEX({runs_upper_setback},{run_row})"

TAB = Tab(
    "measures",
    "Working measures",
    Measures,
    (
        Column("run", "Run", MARK),
        Column("run_row", "Row", COUNT, "=MATCH({run},{runs_run},0)"),
        Column("kind", "Kind", CHOICE, "=INDEX({runs_kind},{run_row})"),
        Column(
            "assembly_row", "Assembly row", COUNT,
            "=MATCH(INDEX({runs_assembly},{run_row}),{assemblies_assembly},0)",
        ),
        Column(
            "flight_row", "Flight row", COUNT,
            '=IF(INDEX({runs_flight},{run_row})="","",MATCH(INDEX({runs_flight},{run_row}),{flight_working_flight},0))',
        ),
        Column("from_row", "From row", COUNT, _row_of("from")),
        Column("to_row", "To row", COUNT, _row_of("to")),
        Column(
            "post_face", "Post face", LENGTH,
            '=IF(INDEX({assemblies_sleeve_width},{assembly_row})="",'
            "INDEX({assemblies_post_width},{assembly_row}),INDEX({assemblies_sleeve_width},{assembly_row}))",
        ),
        Column("from_face", "From face", LENGTH, _face("from")),
        Column("to_face", "To face", LENGTH, _face("to")),
        Column("ends", "Support kinds", TEXT, f'={_kind("from")}&"|"&{_kind("to")}', width=12),
        Column("from_taken", "Sleeve takes at From", LENGTH, _sleeve_taken("from")),
        Column("to_taken", "Sleeve takes at To", LENGTH, _sleeve_taken("to")),
        Column(
            "clear_taped", "Clear taped", LENGTH,
            '=IF(INDEX({runs_clear_bottom},{run_row})<>"",INDEX({runs_clear_bottom},{run_row}),'
            + look_up("runs_clear_top", "run_row") + ")",
        ),
        Column("rise_taped", "Rise taped", LENGTH, _typed("rise")),
        Column("slope_taped", "Slope taped", LENGTH, _typed("slope_length")),
        Column("angle_taped", "Angle taped", ANGLE, _typed("angle")),
        Column("riser", "Riser", LENGTH, _of_flight("riser")),
        Column("tread", "Tread", LENGTH, _of_flight("tread")),
        Column("risers", "Risers", COUNT, _of_flight("risers")),
        Column("source", "Slope taken from", TEXT, rake.SOURCE_EXCEL, width=22),
        Column("tangent", "Tangent", FACTOR, rake.TANGENT_EXCEL),
        Column("secant", "Secant", FACTOR, "=SQRT(1+{tangent}^2)"),
        Column("slope_angle", "Slope", ANGLE, "=DEGREES(ATAN({tangent}))"),
        Column("rise_in_twelve", "Rise in 12", NUMBER, "=12*{tangent}"),
        Column(
            "clear_predicted", "Clear by the flight", LENGTH,
            f'=IF(COUNT({_LOWER},{{risers}},{{tread}},{_UPPER})<4,"",{_LOWER}+({{risers}}-1)*{{tread}}+{_UPPER})',
        ),
        Column(
            "clear_measured", "Clear measured", LENGTH,
            '=IF({clear_taped}<>"",{clear_taped},IF({slope_taped}<>"",{slope_taped}/{secant},'
            'IF({rise_taped}<>"",{rise_taped}/{tangent},{clear_predicted})))',
        ),
        Column("clear", "Clear", LENGTH, "={clear_measured}-{from_taken}-{to_taken}"),
        Column(
            "clear_top", "Clear at top", LENGTH,
            '=IF(INDEX({runs_clear_top},{run_row})="",{clear},'
            "INDEX({runs_clear_top},{run_row})-{from_taken}-{to_taken})",
        ),
        Column("lower_setback", "Lower setback", LENGTH, _setback("lower_setback", "upper_setback", "from_taken")),
        Column("upper_setback", "Upper setback", LENGTH, _setback("upper_setback", "lower_setback", "to_taken")),
        Column("along", "Along the slope", LENGTH, "={clear}*{secant}"),
        Column("rake_most", "Rake allowed", ANGLE, "=" + look_up("assemblies_greatest_rake", "assembly_row")),
    ),
    purpose="Every run: from what was taped to its clear, its slope and its setbacks.",
    key="run",
)  # fmt: skip
