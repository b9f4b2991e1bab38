"""Formulas computed afresh by other programs: one at a time by `formulas`, whole workbooks by two more.

A workbook's formula cells are read from its XML: what they hold, and nothing that a library makes of it.
"""

import os
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree.ElementTree import Element, fromstring

from pypdf import PdfReader
from xlsxwriter.utility import xl_col_to_name

from railbook.basics.double_entry import RUN_AGAIN, STATUS, Tab
from railbook.checks.check import Check
from railbook.job.build import Job
from railbook.report.layout import VALUES, Sheet, first_row, rows_down
from railbook.tabs import TABS, Rows

Value = str | float | bool | None
RESTS_ON = {  # tabs whose figures are as good as all rows of those tabs; none: of every tab
    "summary": (), "cost": (), "places": ("lines", "posts", "sections", "baluster_layout"),
    "run_shares": ("materials", "needs", "cutting_plan"), "plans": ("planned",), "offers": ("cutting_plan",),
}  # fmt: skip
SAME, STALE, WRONG = "same", "stale", "wrong"
TOLERANCE = 1e-9  # relative; LibreOffice writes 15 digits

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINKED = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_TITLES = re.compile(rb'<definedName name="_xlnm.Print_Titles"[^>]*>[^<]*</definedName>')
_ALWAYS = (  # a program's own setting: compute every formula afresh when a workbook is opened
    '<?xml version="1.0" encoding="UTF-8"?><oor:items xmlns:oor="http://openoffice.org/2001/registry">'
    '<item oor:path="/org.openoffice.Office.Calc/Formula/Load">'
    '<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item></oor:items>'
)


class Formula(NamedTuple):
    """A formula cell: its formula, and the value that stands in it."""

    formula: str
    value: Value


Book = Mapping[str, Mapping[str, Formula]]  # title -> address -> formula cell


def same(left: Value, right: Value) -> bool:
    """Whether two cells show the same; nothing and an empty text do.

    >>> same(None, ""), same(0.1 + 0.2, 0.3), same(0.0, None), same("1", 1.0), same("#N/A", "")
    (True, True, False, False, False)
    """
    if left in (None, "") or right in (None, ""):
        return left in (None, "") and right in (None, "")
    if isinstance(left, str) or isinstance(right, str):
        return left == right
    assert left is not None
    assert right is not None
    return abs(left - right) <= TOLERANCE * max(1.0, abs(left), abs(right))


def formula_cells(path: Path) -> Book:
    """Every formula cell of a workbook, by title and address."""
    with zipfile.ZipFile(path) as book:
        texts = _shared_texts(book)
        return {title: dict(_cells(fromstring(book.read(part)), texts)) for title, part in parts(book)}


def _shared_texts(book: zipfile.ZipFile) -> list[str]:
    """Texts that cells name by number: Gnumeric keeps the results of formulas there too."""
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    found = fromstring(book.read("xl/sharedStrings.xml")).iter(f"{_MAIN}si")
    return ["".join(text.text or "" for text in each.iter(f"{_MAIN}t")) for each in found]


def parts(book: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Title and part of every sheet."""
    links = {link.get("Id"): link.get("Target", "") for link in fromstring(book.read("xl/_rels/workbook.xml.rels"))}
    for sheet in fromstring(book.read("xl/workbook.xml")).iter(f"{_MAIN}sheet"):
        target = links[sheet.get(_LINKED)]
        yield sheet.get("name", ""), target.removeprefix("/") if target.startswith("/") else f"xl/{target}"


def _cells(sheet: Element, texts: Sequence[str]) -> Iterator[tuple[str, Formula]]:
    """Addresses and formula cells of one sheet."""
    for cell in sheet.iter(f"{_MAIN}c"):
        formula = cell.find(f"{_MAIN}f")
        if formula is not None:
            yield cell.get("r", ""), Formula(f"={formula.text or ''}", _value(cell, texts))


def _value(cell: Element, texts: Sequence[str]) -> Value:
    """What a formula cell shows; an error as its name."""
    shown = cell.find(f"{_MAIN}v")
    text = "" if shown is None else shown.text or ""
    match cell.get("t", "n"):
        case "str" | "e":
            return text
        case "s":
            return texts[int(text)]
        case "b":
            return text == "1"
        case _:
            return float(text) if text else None


class LibreOffice:
    """LibreOffice with profiles of its own, one for each processor, so that a running one is left alone."""

    called = "LibreOffice (soffice)"

    def __init__(self, place: Path) -> None:
        self.place = place
        self.profiles = [place / f"profile {number}" for number in range(os.cpu_count() or 1)]
        for profile in self.profiles:
            (profile / "user").mkdir(parents=True)
            (profile / "user" / "registrymodifications.xcu").write_text(_ALWAYS, encoding="utf-8")

    @staticmethod
    def is_missing() -> bool:
        return shutil.which("soffice") is None

    def recalculated(self, books: Sequence[Path]) -> list[Path]:
        """Copies of the workbooks, every formula computed afresh, by one call of the program for each profile."""
        place = self._new_folder("given")
        return self.converted([_not_to_be_printed(book, place / book.name) for book in books], "xlsx")

    def printed(self, book: Path) -> PdfReader:
        """The workbook as it comes out of the printer."""
        return PdfReader(self.converted([book], "pdf")[0])

    def converted(self, books: Sequence[Path], kind: str) -> list[Path]:
        """Copies of the workbooks as files of another kind, such as "pdf"."""
        results = self._new_folder("results")
        shares = [books[start :: len(self.profiles)] for start in range(len(self.profiles))]
        calls = [
            self._call(profile, results, share, kind)
            for profile, share in zip(self.profiles, shares, strict=True)
            if share
        ]
        said = [call.communicate() for call in calls]
        made = [results / f"{book.stem}.{kind}" for book in books]
        missing = [book.name for book in made if not book.exists()]  # its exit status is 0 all the same
        assert not missing, f"LibreOffice made nothing of {missing}: {said}"
        return made

    def _new_folder(self, what: str) -> Path:
        """A folder of its own."""
        folder = self.place / f"{what} {len(list(self.place.iterdir()))}"
        folder.mkdir()
        return folder

    @staticmethod
    def _call(profile: Path, results: Path, books: Sequence[Path], kind: str) -> subprocess.Popen[str]:
        """The program at work on those books."""
        call = [
            "soffice", f"-env:UserInstallation={profile.as_uri()}", "--headless",
            "--convert-to", kind, "--outdir", str(results), *map(str, books),
        ]  # fmt: skip
        return subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def _not_to_be_printed(book: Path, place: Path) -> Path:
    """A copy without rows and columns to repeat on every page, for which LibreOffice takes longer than for all else."""
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(place, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, _TITLES.sub(b"", part) if name == "xl/workbook.xml" else part)
    return place


class Gnumeric:
    """Gnumeric, which was written apart from the other two and is stricter about blanks and whole columns."""

    called = "Gnumeric (ssconvert)"

    def __init__(self, place: Path) -> None:
        self.place = place

    @staticmethod
    def is_missing() -> bool:
        return shutil.which("ssconvert") is None

    def recalculated(self, books: Sequence[Path]) -> list[Path]:
        """Copies of the workbooks, every formula computed afresh."""
        results = self.place / f"results {len(list(self.place.iterdir()))}"
        results.mkdir()
        for book in books:
            made = results / book.name
            call = ["ssconvert", "--recalc", str(book), str(made)]
            said = subprocess.run(call, capture_output=True, text=True, check=False)
            assert made.exists(), f"Gnumeric made nothing of {book.name}: {said.stderr}"
        return [results / book.name for book in books]


class Difference(NamedTuple):
    """A formula cell that two programs fill differently."""

    title: str
    cell: str
    ours: Value
    theirs: Value
    formula: str


def differences(ours: Book, theirs: Book) -> list[Difference]:
    """Formula cells of our workbook that the other one fills differently, or lacks."""
    return [
        Difference(title, at, cell.value, other.value, cell.formula)
        for title, cells in ours.items()
        for at, cell in cells.items()
        for other in (theirs[title].get(at, Formula("", "#missing")),)
        if not same(cell.value, other.value)
    ]


class Outcome(NamedTuple):
    """One formula cell after an edit: what the engine says, what the workbook shows, and whether that will do."""

    where: str
    engine: object
    shown: Value
    is_stale: bool

    @property
    def verdict(self) -> str:
        if not isinstance(self.engine, Missing) and same(self.engine, self.shown):  # type: ignore[arg-type]
            return SAME
        return STALE if self.is_stale else WRONG


class Missing(NamedTuple):
    """Stands for a figure that the engine cannot give any more."""

    why: str


class Shown:
    """A recalculated workbook, with the rows that it says are stale.

    Attributes:
        old: the rows that it was written from; their plain cells stand in it still.
        cells: its formula cells.
    """

    def __init__(self, old: Rows, cells: Book) -> None:
        self.old, self.cells = old, cells
        self.sheets = {tab.name: Sheet(tab, self.old[tab.name]) for tab in TABS}
        self.stale = {tab.name: self._stale_rows(tab) for tab in TABS if tab.has_status}
        self.settings_moved = self.value(_tab("chosen"), "settings_moved", 0) == 1

    def _stale_rows(self, tab: Tab) -> set[int]:
        """Rows of a tab, from 0, whose status asks for another run."""
        return {at for at in range(len(self.old[tab.name])) if self.value(tab, STATUS, at) == RUN_AGAIN}

    def value(self, tab: Tab, column: str, row: int, nth: int = 0) -> Value:
        """What a cell shows."""
        if not tab.column(column).formula(self.old[tab.name][row]):
            plain: Any = tab.column(column).value(self.old[tab.name][row])
            shown: Value = plain[nth] if tab.column(column).repeats else plain
            return shown
        if tab.down:
            return self.cells[tab.title][f"{xl_col_to_name(VALUES)}{rows_down(tab)[column]}"].value
        at = self.sheets[tab.name].span(column).first + nth
        return self.cells[tab.title][f"{xl_col_to_name(at)}{first_row(tab) + row}"].value

    def is_stale(self, tab: str, row: int, column: str = "") -> bool:
        """Whether a row, or the row that it or one of its columns looks at, asks for another run."""
        if tab in self.stale:
            return row in self.stale[tab] or self._counts_by_a_stale_layout(tab, row, column)
        if tab == "code_checks":
            check = self.old[tab][row]
            of_run = check.line_row is not None and check.line_row - 1 in self.stale["lines"]
            return of_run or self.is_stale(check.source, check.source_row - 1)
        if tab == "warnings":
            finding = self.old[tab][row]
            return finding.check is not None and self.is_stale("code_checks", finding.check.check - 1)
        if tab in ("flight_working", "stairways"):
            uncounted = tab == "stairways" and bool(self.stale["handrails"])
            return uncounted or self.settings_moved or self._names_what_is_gone(row)
        if tab in RESTS_ON:
            return any(self.stale[each] for each in RESTS_ON[tab] or self.stale)
        owner, of_owner = self._follows(tab, row)
        return bool(owner) and of_owner in self.stale[owner]

    def _counts_by_a_stale_layout(self, tab: str, row: int, column: str) -> bool:
        """Whether a column of a section rests on its layout, and that asks for another run."""
        if tab != "sections" or column not in ("balusters", "count_status"):
            return False
        return self.old[tab][row].layout_row - 1 in self.stale["baluster_layout"]

    def _follows(self, tab: str, row: int) -> tuple[str, int]:
        """The tab and the row there that a row without a status of its own is computed for."""
        if tab == "cuts":
            return "cutting_plan", self.old[tab][row].cut.plan_row - 1
        if tab == "run_fasteners":
            return "fasteners", self.old[tab][row].of.schedule_row - 1
        if tab == "cap_ends":
            return "caps", self.old[tab][row].line_row - 1
        return {"handrail_slopes": "handrails"}.get(tab, ""), row

    def _names_what_is_gone(self, flight: int) -> bool:
        """Whether a flight was renamed: its row shows an error, and the runs on it ask for another run."""
        return self.value(_tab("flight_working"), "flight_row", flight) == "#N/A" and any(self.stale.values())


def _tab(name: str) -> Tab:
    return next(tab for tab in TABS if tab.name == name)


def _held_by(check: Check, row: Any) -> Any:
    """What a check looks at: the row, or the object in it that answers for the part of the tab that it knows."""
    return row if isinstance(row, check.tab.row) else row.of


def with_old_checks(old: Rows, new: Rows, job: Job) -> Rows:
    """The new rows, with the checks and warnings that the workbook lists: their rows were chosen too."""
    lines = new["lines"]
    checks = tuple(
        replace(
            check,
            thing=_held_by(check, new[check.source][check.source_row - 1]),
            limits=job.in_force,
            tape_step=job.settings.tape_step,
            line=None if check.line_row is None else lines[check.line_row - 1],
        )
        for check in old["code_checks"]
    )
    found = tuple(
        replace(each, check=None if each.check is None else checks[each.check.check - 1]) for each in old["warnings"]
    )
    page = replace(new["summary"][0], checks=checks, warnings=found)
    return {**new, "code_checks": checks, "warnings": found, "summary": (page,)}
