"""Joined words: what they are written out as, what is shown of a joined row, what a status rests on."""

from dataclasses import dataclass, field

import pytest

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Column, Part, Tab
from railbook.basics.joins import Join, Rests, written
from railbook.basics.kinds import COUNT, LENGTH, VERDICT


@dataclass
class Flight:
    tread: float | None
    status: str = ""


@dataclass
class Bay:
    clear: float
    flight: Flight | None
    chosen: int
    needed: int = 2
    lost: bool = False


@dataclass
class Held:
    bay: Bay
    extra: float = field(default=1.0)


FLIGHTS = Tab(
    "flights", "Flights", Flight,
    (Column("tread", "Tread", LENGTH, typed=True, hint="taped"), Column(STATUS, "Status", VERDICT)),
)  # fmt: skip
BAY = Part(
    "bays",
    Bay,
    (
        Column("clear", "Clear", LENGTH),
        Column("flight_row", "Flight row", COUNT),
        Column("chosen", "Chosen", COUNT),
        Column("needed", "Needed", COUNT),
        Column("tread", "Tread", LENGTH, of="flight"),
        Column("twice", "Twice", LENGTH, "={both}/{flight.tread}"),
    ),
    joins={"flight": Join(FLIGHTS, "flight_row", "flight", maybe=True)},
    terms={"both": "2*{clear}"},
)
RESTS = Rests(on=("bay.flight",), kept={"chosen": "needed"}, unless={"lost": "{clear}<0"})


def test_a_joined_word_looks_up_the_row_that_is_held_and_a_term_stands_in_brackets() -> None:
    assert BAY.column("twice").excel == "=(2*{clear})/INDEX({flights_tread},{flight_row})"


def test_a_shown_figure_stays_blank_where_there_is_no_row_or_nothing_was_typed() -> None:
    tread, cell = BAY.column("tread"), "INDEX({flights_tread},{flight_row})"

    assert tread.excel == f'=IF(SUM({{flight_row}})=0,"",IF({cell}="","",{cell}))'
    assert tread.value(Bay(10.0, Flight(11.0), 2)) == 11.0
    assert tread.value(Bay(10.0, None, 2)) is None


def test_a_part_is_answered_for_by_the_object_that_the_row_holds() -> None:
    tab = Tab("bays", "Bays", Held, (Column("extra", "Extra", LENGTH, "={clear}+{needed}"),), parts={"bay": BAY})
    row = Held(Bay(10.0, Flight(11.0), 2))

    assert [column.name for column in tab.columns][-2:] == ["twice", "extra"]
    assert (tab.column("clear").value(row), tab.column("tread").value(row), tab.column("extra").value(row)) == (
        10.0,
        11.0,
        1.0,
    )
    assert tab.joins["bay.flight"].way == "bay.flight"


def test_a_row_number_may_be_joined_itself() -> None:
    bays = Tab("bays", "Bays", Held, (), parts={"bay": BAY})
    joins = {"bay": Join(bays, "bay_row", "bay"), "flight": Join(FLIGHTS, "bay.flight_row", "bay.bay.flight")}

    assert written("={flight.tread}", joins, {}) == "=INDEX({flights_tread},INDEX({bays_flight_row},{bay_row}))"


@pytest.mark.parametrize(
    ("bay", "status"),
    [
        (Bay(10.0, Flight(11.0), 2), ""),
        (Bay(10.0, None, 2), ""),
        (Bay(10.0, Flight(11.0, RUN_AGAIN), 2), RUN_AGAIN),
        (Bay(10.0, Flight(11.0), 3), RUN_AGAIN),
        (Bay(10.0, Flight(11.0), 2, lost=True), RUN_AGAIN),
    ],
)
def test_a_status_rests_on_joined_rows_on_kept_choices_and_on_conditions(bay: Bay, status: str) -> None:
    tab = Tab("bays", "Bays", Bay, (*BAY.columns, Column(STATUS, "Status", VERDICT)), joins=BAY.joins, rests=_plain())

    assert tab.status_of(bay) == status


def _plain() -> Rests:
    return Rests(on=("flight",), kept=RESTS.kept, unless=RESTS.unless)


def test_the_formula_of_a_status_says_the_same() -> None:
    tab = Tab("bays", "Bays", Bay, (*BAY.columns, Column(STATUS, "Status", VERDICT)), joins=BAY.joins, rests=_plain())

    assert tab.column(STATUS).excel == (
        '=IFERROR(IF(OR(IF(SUM({flight_row})=0,"",INDEX({flights_status},{flight_row}))="run again",'
        "IF(COUNT({chosen},{needed})=2,ABS({chosen}-{needed})>=0.000001,{chosen}<>{needed}),"
        '{clear}<0),"run again",""),"run again")'
    )


def test_what_is_misspelt_stops_the_import() -> None:
    joins = {"flight": Join(FLIGHTS, "flight_row", "flight")}

    with pytest.raises(ValueError, match="nothing is called 'flights_thread'"):
        written("={flight.thread}", joins, {})
    with pytest.raises(ValueError, match="no join is called 'flihgt'"):
        written("={flihgt.tread}", joins, {})
    with pytest.raises(ValueError, match="lead back"):
        written("={here}", {}, {"here": "{there}", "there": "{here}"})
    with pytest.raises(ValueError, match="rests on nothing"):
        FLIGHTS.status_of(Flight(11.0))
