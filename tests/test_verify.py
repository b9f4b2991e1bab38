"""Verifying a workbook: agreement, planted faults named by cell, and what cannot be verified."""

import random
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from railbook import cli, verify
from railbook.basics.problem import STOPS, Problem
from railbook.intake.written import address, shapes_of, written
from railbook.tabs import WORKING_TABS
from tests.changed_cells import ONE_MORE, TYPED, changed
from tests.recalculation import LibreOffice, formula_cells

BALUSTERS = "Cut list!E10"


def verified(path: Path, *, sample: bool = False) -> verify.Verdict:
    verdict = verify.verify(path, sample=sample)
    assert isinstance(verdict, verify.Verdict)
    return verdict


def test_a_fresh_result_agrees_in_every_cell(stairs_result: Path) -> None:
    progress: list[tuple[int, int]] = []
    verdict = verify.verify(stairs_result, progress=lambda done, of: progress.append((done, of)))
    assert isinstance(verdict, verify.Verdict)

    assert verdict.agrees
    assert verdict.evaluated == verdict.formulas == sum(map(len, formula_cells(stairs_result).values()))
    assert progress[-1] == (verdict.shapes, verdict.shapes)
    assert str(verdict) == (
        f"{verdict.formulas} formula cells, {verdict.shapes} formulas; every cell evaluated; "
        "0 calculated cells without a formula; 0 differ"
    )


def test_a_sample_says_how_much_it_did_not_evaluate(stairs_result: Path) -> None:
    verdict = verified(stairs_result, sample=True)

    assert verdict.agrees
    assert verdict.shapes <= verdict.evaluated < verdict.formulas
    assert f"; {verdict.evaluated} evaluated, {verdict.formulas - verdict.evaluated} NOT evaluated; " in str(verdict)


def between(stairs_result: Path) -> Iterator[str]:
    """Cells with a figure that are neither the first nor the middle nor the last of their formula."""
    book = written(stairs_result)
    assert not isinstance(book, Problem)
    for shape in shapes_of(book):
        places = shape.places
        for at in set(range(len(places))) - {0, len(places) // 2, len(places) - 1}:
            if isinstance(book.values[shape.title].get(places[at]), int | float):
                yield f"{shape.title}!{address(*places[at])}"


@pytest.fixture(scope="module")
def cells(stairs_result: Path) -> list[str]:
    """A dozen of them."""
    return random.Random(12).sample(sorted(set(between(stairs_result)) - {BALUSTERS}), 12)


@pytest.fixture(scope="module")
def faulty(cells: list[str], stairs_result: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy in which these and one more show other values."""
    place = tmp_path_factory.mktemp("faulty") / "faulty.xlsx"
    return changed(stairs_result, place, dict.fromkeys([*cells, BALUSTERS], ONE_MORE))


@pytest.fixture(scope="module")
def verdict(faulty: Path) -> verify.Verdict:
    """What is found there."""
    return verified(faulty)


@pytest.fixture(scope="module")
def sampled(faulty: Path) -> verify.Verdict:
    """What a sample finds there."""
    return verified(faulty, sample=True)


def test_a_dozen_changed_values_are_all_named(
    cells: list[str], verdict: verify.Verdict, sampled: verify.Verdict
) -> None:
    """A sample sees none of them itself, only cells that rest on them."""
    assert {each.cell for each in verdict.differences} >= set(cells)
    assert not {each.cell for each in sampled.differences} & set(cells)


def test_a_changed_value_is_told_with_what_the_formula_gives(verdict: verify.Verdict) -> None:
    """Balusters of the cut list: 9, made 91."""
    assert f"{BALUSTERS}: shows 91, its formula gives 9" in [str(each) for each in verdict.differences]


def test_hidden_tabs_are_verified(cells: list[str], verdict: verify.Verdict, faulty: Path) -> None:
    """Wrong values there are found, and their formulas are among those counted."""
    titles = {tab.title for tab in WORKING_TABS}
    hidden = {cell for cell in cells if cell.partition("!")[0] in titles}

    assert hidden
    assert {each.cell for each in verdict.differences} >= hidden
    assert verdict.formulas == sum(map(len, formula_cells(faulty).values()))


def test_a_replaced_formula_and_one_that_is_lost_are_told(stairs_result: Path, tmp_path: Path) -> None:
    """One no longer gives the value beside it. The other is typed over with the very number that it showed: nothing
    differs, and yet nothing follows an edit any more."""
    faults = {"Cut list!E12": r"\1><f>1+41</f><v>\3</v></c>", BALUSTERS: TYPED}
    said = CliRunner().invoke(
        cli.main, ["verify", "--sample", str(changed(stairs_result, tmp_path / "f.xlsx", faults))]
    )

    assert said.exit_code == cli.ATTENTION
    assert f"  {BALUSTERS}: a calculated cell holds no formula\n" in said.output
    assert "  Cut list!E12: shows 1, its formula gives 42\n" in said.output
    assert "; 1 calculated cells without a formula; 1 differ" in said.output


def test_several_processes_find_what_one_does(
    faulty: Path, sampled: verify.Verdict, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verify, "WORTH_A_PROCESS", 0)

    assert sampled.differences
    assert verify.verify(faulty, sample=True, processes=2) == sampled


def test_libreoffice_agrees_too(stairs_result: Path, libreoffice: LibreOffice) -> None:
    del libreoffice  # skips where the program is missing
    said = CliRunner().invoke(cli.main, ["verify", "--libreoffice", str(stairs_result)])

    assert said.exit_code == cli.DONE, said.output
    assert said.output.strip().endswith("0 differ")


def test_a_workbook_whose_values_were_lost_is_one_sentence(stairs_result: Path, tmp_path: Path) -> None:
    """A program that does not calculate saves formulas without values."""
    openpyxl.load_workbook(stairs_result).save(tmp_path / "hollow.xlsx")
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


def test_the_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch, stairs_result: Path) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    said = CliRunner().invoke(cli.main, ["verify", str(stairs_result)])

    assert said.exit_code == cli.NOTHING_WRITTEN
    assert 'pip install "railbook[verify]"' in said.output
