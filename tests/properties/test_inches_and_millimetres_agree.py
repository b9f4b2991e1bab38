"""Law: geometry knows no unit: an inch job told in millimetres, tape step and limits alike, is the same job."""

from dataclasses import fields, replace
from typing import Any, TypeVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from railbook.basics.kinds import FIGURE, INCH, MILLIMETRE, TEXT, Kind
from railbook.job.assemblies import TAB as ASSEMBLIES
from railbook.job.assemblies import Assembly
from railbook.job.flights import TAB as FLIGHTS
from railbook.job.flights import Flight
from railbook.job.limits import published
from railbook.job.runs import TAB as RUNS
from railbook.job.runs import Run
from railbook.job.settings import TAB as JOB
from railbook.job.settings import Settings
from railbook.tabs import RESULT_TABS
from tests.properties.draws import LAW, any_runs, railings, shops, sizes
from tests.small_jobs import PLAIN, Worked, work

MILLIMETRES = 25.4  # in an inch, exactly (international yard agreement of 1959)
METRES = 0.3048  # in a foot, by the same agreement
SCALES = {MILLIMETRE: MILLIMETRES, "m": METRES, "per m": 1 / METRES}
T = TypeVar("T", Run, Flight, Assembly, Settings)


def in_millimetres(row: T) -> T:
    """Every length of a typed row times 25.4."""
    tab = next(tab for tab in (RUNS, FLIGHTS, ASSEMBLIES, JOB) if tab.row is type(row))
    lengths = {column.name for column in tab.columns if column.kind.units[MILLIMETRE] == MILLIMETRE}
    changes: dict[str, Any] = {
        each.name: getattr(row, each.name) * MILLIMETRES
        for each in fields(row)
        if each.name in lengths and getattr(row, each.name) is not None
    }
    return replace(row, **changes)


def limits_in_millimetres() -> dict[str, float]:
    """The inch limits as amendments of a millimetre job."""
    return {
        row.limit: row.in_force * MILLIMETRES for row in published(PLAIN.rule_set, INCH) if row.unit == INCH
    }  # fmt: skip


def assert_alike(inch: Worked, metric: Worked) -> None:
    """Every figure of every result tab, lengths times 25.4."""
    for tab in RESULT_TABS:
        rows = zip(inch.rows[tab.name], metric.rows[tab.name], strict=True)
        for each, told in rows:
            for column in tab.columns:
                here, there = column.value(each), column.value(told)
                if column.kind.numeric:
                    assert_scaled(here, there, scale_of(each, column.kind), f"{tab.name}.{column.name}")
                elif column.kind is not TEXT and column.name != "unit":
                    assert here == there, f"{tab.name}.{column.name}"


def scale_of(row: Any, kind: Kind) -> float:
    """What a length is multiplied by; a figure has its unit in its row, or in the check that it comes from."""
    if kind is FIGURE:
        return MILLIMETRES if getattr(getattr(row, "check", None), "unit", getattr(row, "unit", "")) == INCH else 1.0
    return SCALES.get(kind.units[MILLIMETRE], 1.0)


def assert_scaled(here: Any, there: Any, scale: float, name: str) -> None:
    """A number, a blank, a word such as "run again", or several of them."""
    if isinstance(here, tuple):
        for one, other in zip(here, there, strict=True):
            assert_scaled(one, other, scale, name)
    elif isinstance(here, str) or here is None:
        assert here == there, name
    else:
        assert there == pytest.approx(here * scale, rel=1e-9, abs=1e-6), name


@LAW
@given(any_runs(), railings(greatest_rail=94.0), shops(), st.one_of(st.none(), sizes(20.0, 60.0)))
def test_job_told_in_millimetres_is_the_same_job(
    drawn: tuple[Run, tuple[Flight, ...]], assembly: Assembly, settings: Settings, drop: float | None
) -> None:
    run, flights = replace(drawn[0], drop=drop), drawn[1]
    inch = work(run, flights=flights, assemblies=(assembly,), settings=settings)
    metric = work(
        in_millimetres(run),
        flights=tuple(in_millimetres(each) for each in flights),
        assemblies=(in_millimetres(assembly),),
        settings=replace(in_millimetres(settings), unit=MILLIMETRE),
        amendments=limits_in_millimetres(),
    )

    assert_alike(inch, metric)
