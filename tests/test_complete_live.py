"""What the total lacks after an edit and where a cell could not be read, as a spreadsheet computes it."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from railbook import estimate
from railbook.basics.double_entry import RUN_AGAIN
from railbook.basics.problem import Origin
from railbook.estimate import write
from railbook.job.assemblies import ON_SURFACE
from railbook.job.build import build
from railbook.job.supports import Support
from tests.everything import (
    CAPPED,
    FASTENINGS,
    PRICES,
    PROUD,
    RATES,
    RUNS,
    SETTINGS,
    Rows,
    job,
    lacks,
    typed,
    whole,
    without,
)
from tests.recalculation import LibreOffice, differences, formula_cells
from tests.small_jobs import level

WITHOUT = "incomplete, without: "


def _refused(row: Any, text: str, *columns: str) -> Any:
    """A row with cells that could not be read: the result shows what was typed."""
    origin = Origin(faulty=frozenset(columns), texts=dict.fromkeys(columns, text))
    return replace(without(row, *columns), origin=origin)


def _edits() -> dict[str, Rows]:
    """Changes that are typed into the result of the job with everything known."""
    rows = typed()
    swapped: list[Any] = list(PRICES)
    swapped[3] = replace(swapped[3], price=None)
    halves = {"every other figure": [*SETTINGS][::2], "the figures between": [*SETTINGS][1::2]}
    rates = {what: without(RATES, *names) for what, names in halves.items()}
    new = level(60.0, run="B", assembly="CAPPED", from_support="P6", to_support="P7")
    return {
        **{what: {**rows, "job": (rate,)} for what, rate in rates.items()},
        "no price": {**rows, "prices": tuple(swapped)},
        "two runs added": {**rows, "runs": (*RUNS, new, replace(new, run="C"))},
        "wall becomes post": {**rows, "supports": (Support(support="W1"),)},
        "skirts after all": {**rows, "assemblies": (replace(CAPPED, skirt_item="SKIRT"), PROUD)},
        "posts on the surface": {**rows, "assemblies": (replace(CAPPED, mount=ON_SURFACE), PROUD)},
    }


def _laid_out(edited: Rows) -> Rows:
    """What the engine makes of the edited job with the choices of old."""
    made = whole()
    now, _ = build(edited)
    assert now is not None
    assert made.choices is not None
    return estimate.lay_out(now, made.choices)


def test_the_workbook_says_the_same_after_an_edit(libreoffice: LibreOffice, tmp_path: Path) -> None:
    """In two books every other figure lacks, so that each is told where it lacks and is not told where it stands."""
    books, sentences = [], []
    for number, edited in enumerate(_edits().values()):
        book = tmp_path / f"edit {number}.xlsx"
        write(replace(whole(), rows={**whole().rows, **edited, "rules": whole().rows["rules"]}), book)
        books.append(book)
        page = _laid_out(edited)["cost"][0]
        sentences.append((page.total_says, page.lengths_say))
    made = [formula_cells(book)["Cost"] for book in libreoffice.recalculated(books)]
    shown = [{cell.value for cell in cells.values()} for cells in made]

    assert all(set(both) <= cells for both, cells in zip(sentences, shown, strict=True))
    told = [says.removeprefix(WITHOUT).split(", ") for says, _ in sentences[:2]]
    assert list(map(sorted, told)) == [sorted([*SETTINGS.values()][start::2]) for start in (0, 1)]
    assert {says for says, _ in sentences[2:]} == {
        f"{WITHOUT}prices", f"{WITHOUT}2 runs added since", f"{WITHOUT}fasteners of CAPPED", RUN_AGAIN,
    }  # fmt: skip


def test_a_refused_figure_is_missing_in_the_workbook_too(libreoffice: LibreOffice, tmp_path: Path) -> None:
    """It stands there as text, as it was typed, so that the cell is not blank."""
    settings = _refused(RATES, "about 5", *SETTINGS)
    prices = [_refused(each, "$3", "price") for each in PRICES]
    fastenings = [_refused(each, "Rail endd", "joint") for each in FASTENINGS]
    made = job(settings=settings, prices=prices, fastenings=fastenings)
    book = tmp_path / "refused.xlsx"
    write(made, book)
    (again,) = libreoffice.recalculated([book])
    ours, theirs = formula_cells(book), formula_cells(again)

    told = [cell.value for cell in theirs["Cost"].values() if str(cell.value).startswith(WITHOUT)]
    assert told == [made.rows["cost"][0].total_says]
    assert differences(ours, theirs) == []
    assert lacks(made)[:3] == ["prices", "fasteners of CAPPED", "fasteners of PROUD"]
