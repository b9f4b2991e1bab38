"""Verifying a workbook whose formulas ask for what is not there is one sentence, never a traceback."""

import re
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from railbook import cli, estimate, verify
from tests.test_cli import draw_quiet

BOOK = "xl/workbook.xml"


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One level guard, computed."""
    made = estimate.compute(draw_quiet(tmp_path_factory.mktemp("quiet") / "quiet.xlsx")).result
    assert made is not None
    return made


def changed(result: Path, place: Path, part: str, was: str, becomes: str) -> Path:
    """A copy with the first such text of one part changed."""
    with zipfile.ZipFile(result) as old, zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name).decode()
            if name == part:
                text, count = re.subn(was, becomes, text, count=1)
                assert count == 1
            new.writestr(name, text)
    return place


def said_of(place: Path) -> str:
    """The one sentence."""
    said = CliRunner().invoke(cli.main, ["verify", str(place)])
    assert isinstance(said.exception, SystemExit), said.exception
    assert said.exit_code == cli.NOTHING_WRITTEN
    assert said.stdout == ""
    assert len(said.stderr.splitlines()) == 1
    return said.stderr


NAMES = {
    "deleted": (r'<definedName name="tape_step">[^<]*</definedName>', ""),
    "points nowhere": (r'(<definedName name="tape_step">)[^<]*', r"\1#REF!"),
    "points to a lost cell": (r'(<definedName name="tape_step">)[^<]*', r"\1Job!#REF!"),
    "points to a lost tab": (r'(<definedName name="tape_step">)[^<]*', r"\1Gone!$B$5"),
}


@pytest.mark.parametrize(("was", "becomes"), NAMES.values(), ids=NAMES)
def test_a_name_that_is_lost_is_named_with_a_cell_that_asks_for_it(
    result: Path, tmp_path: Path, was: str, becomes: str
) -> None:
    said = said_of(changed(result, tmp_path / "lost.xlsx", BOOK, was, becomes))

    assert re.match(r"stops: [A-Z][\w ]+![A-Z]+\d+: its formula asks for ", said)
    assert "TAPE_STEP" in said or "Gone" in said
    assert "compute the job again" in said


FORMULAS = {
    "a lost tab": ("Gone!$A$1+1", "asks for GONE!A1, which is nowhere"),
    "a whole column": ("SUM(Runs!K:K)", "asks for RUNS!K:K, which is nowhere"),
    "every cell": ("SUM(A1:XFC1048575)", "asks for all of A1:XFC1048575 on tab "),
    "no formula": ("Table1[Going]", "is none that can be evaluated"),
    "half a formula": ("SUM('a", "is none that can be evaluated"),
    "loose brackets": (")", "is none that can be evaluated"),
}


@pytest.mark.parametrize(("formula", "fault"), FORMULAS.values(), ids=FORMULAS)
def test_a_formula_that_cannot_be_answered_is_named_by_its_cell(
    result: Path, tmp_path: Path, formula: str, fault: str
) -> None:
    """Of somebody's own, typed on the first tab."""
    cell = f'<row r="200"><c r="C200"><f>{formula}</f><v>1</v></c></row></sheetData>'
    said = said_of(changed(result, tmp_path / "own.xlsx", "xl/worksheets/sheet2.xml", "</sheetData>", cell))

    assert said.startswith("stops: ")
    assert "!C200: its formula" in said
    assert fault in said


def test_a_formula_of_one_s_own_may_look_at_other_rows(result: Path, tmp_path: Path) -> None:
    """A column of 1 and 2, and their sum below: formulas are compared as if they stood in another row."""
    rows = "".join(f'<row r="{row}"><c r="C{row}"><v>{row - 199}</v></c></row>' for row in (200, 201))
    total = '<row r="202"><c r="C202"><f>SUM(C200:C201)</f><v>3</v></c></row></sheetData>'
    place = changed(result, tmp_path / "own.xlsx", "xl/worksheets/sheet2.xml", "</sheetData>", rows + total)
    verdict = verify.verify(place)

    assert isinstance(verdict, verify.Verdict)
    assert verdict.differences == ()
