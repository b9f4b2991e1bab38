"""Verifying a workbook: agreement, planted faults named by cell, and what cannot be verified."""

import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from railbook import cli, estimate, verify
from railbook.basics.problem import STOPS, Problem
from tests.recalculation import LibreOffice
from tests.steep_stairs import STAIRS_JOB


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The steep stairs, computed."""
    folder = tmp_path_factory.mktemp("stairs")
    STAIRS_JOB.draw(folder / "stairs.xlsx")
    made = estimate.compute(folder / "stairs.xlsx").result
    assert made is not None
    return made


def planted(result: Path, place: Path, was: str, becomes: str) -> Path:
    """A copy with the value of one cell changed; the formula stays."""
    with zipfile.ZipFile(result) as old, zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            text = old.read(part)
            if part == "xl/worksheets/sheet3.xml":
                changed = re.subn(was.encode(), becomes.encode(), text, count=1)
                assert changed[1] == 1
                text = changed[0]
            new.writestr(part, text)
    return place


def test_a_fresh_result_agrees_and_says_how_much_was_evaluated(result: Path) -> None:
    """Never "all" when it was a sample: evaluated cells and those proven alike add up to the formula cells."""
    verdict = verify.verify(result)
    assert isinstance(verdict, verify.Verdict)

    assert verdict.differences == ()
    assert verdict.shapes <= verdict.evaluated < verdict.formulas
    assert str(verdict).startswith(f"{verdict.formulas} formula cells, {verdict.shapes} formulas; ")
    assert f"{verdict.formulas - verdict.evaluated} more proven alike" in str(verdict)


def test_every_cell_is_evaluated_when_asked(result: Path) -> None:
    progress: list[tuple[int, int]] = []
    verdict = verify.verify(result, every=True, progress=lambda done, of: progress.append((done, of)))
    assert isinstance(verdict, verify.Verdict)

    assert verdict.evaluated == verdict.formulas
    assert progress[-1] == (verdict.shapes, verdict.shapes)
    assert "alike" not in str(verdict)


def test_a_planted_fault_is_named_by_its_cell(result: Path, tmp_path: Path) -> None:
    """Balusters of the cut list: 9, made 10."""
    faulty = planted(result, tmp_path / "faulty.xlsx", r'(<c r="E11"[^>]*><f>[^<]*</f><v>)9(</v>)', r"\g<1>10\2")
    verdict = verify.verify(faulty)
    assert isinstance(verdict, verify.Verdict)

    assert "Cut list!E11: shows 10, its formula gives 9" in [str(each) for each in verdict.differences]
    assert CliRunner().invoke(cli.main, ["verify", str(faulty)]).exit_code == cli.ATTENTION


def test_a_formula_that_was_replaced_by_another_is_found(result: Path, tmp_path: Path) -> None:
    """A formula that no longer gives the value beside it; it is a shape of its own, so the sample holds it."""
    faulty = planted(result, tmp_path / "faulty.xlsx", r'(<c r="E12"[^>]*><f>)[^<]*(</f>)', r"\g<1>1+41\2")
    verdict = verify.verify(faulty)
    assert isinstance(verdict, verify.Verdict)

    assert [each.cell for each in verdict.differences] == ["Cut list!E12"]


def test_libreoffice_agrees_too(result: Path, libreoffice: LibreOffice) -> None:
    del libreoffice  # skips where the program is missing
    said = CliRunner().invoke(cli.main, ["verify", "--libreoffice", str(result)])

    assert said.exit_code == cli.DONE, said.output
    assert said.output.strip().endswith("0 differ")


def test_a_workbook_whose_values_were_lost_is_one_sentence(result: Path, tmp_path: Path) -> None:
    """A program that does not calculate saves formulas without values."""
    openpyxl.load_workbook(result).save(tmp_path / "hollow.xlsx")
    said = CliRunner().invoke(cli.main, ["verify", str(tmp_path / "hollow.xlsx")])

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert said.output.count("\n") == 1
    assert "formulas without values" in said.output


def test_what_is_no_workbook_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "notes.xlsx").write_text("clear 90 3/8", encoding="utf-8")
    problem = verify.verify(tmp_path / "notes.xlsx")

    assert isinstance(problem, Problem)
    assert problem.severity == STOPS


def test_a_form_without_results_has_nothing_to_verify(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.save(tmp_path / "plain.xlsx")
    problem = verify.verify(tmp_path / "plain.xlsx")

    assert isinstance(problem, Problem)
    assert "no formula" in problem.what


def test_the_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch, result: Path) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    said = CliRunner().invoke(cli.main, ["verify", str(result)])

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert 'pip install "railbook[verify]"' in said.output
