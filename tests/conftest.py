"""What the tests share: two programs ready to compute, and a line that says how many cells were compared."""

import os
import shutil
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from _pytest.terminal import TerminalReporter
from hypothesis import settings

from railbook import estimate
from railbook.report.book import write_book
from tests.porch import porch_sheets
from tests.recalculation import Gnumeric, LibreOffice
from tests.steep_stairs import STAIRS_JOB

# the first compilation of a formula takes longer than a usual deadline; CI draws the same cases every time
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if "CI" in os.environ else "desk")

os.environ.setdefault("TQDM_DISABLE", "1")  # the progress bar of `formulas` would stand between the results

CELLS = "cells compared"


def pytest_addoption(parser: pytest.Parser) -> None:
    """Options: of the tests of examples, which keep what they make today (see tests/kept_results.py), and of the
    witness of solids, which draws ten times as many sites when asked (see tests/test_drawn_sites.py)."""
    parser.addoption("--renew-kept", action="store_true", help="write the kept examples and results anew")
    parser.addoption("--thorough", action="store_true", help="draw 2,000 random sites instead of 200")


@pytest.fixture
def thorough(pytestconfig: pytest.Config) -> bool:
    """Whether random sites are drawn by the thousand."""
    return bool(pytestconfig.getoption("--thorough"))


@pytest.fixture
def renew_kept(pytestconfig: pytest.Config) -> bool:
    """Whether examples and their results are to be kept as they come out today."""
    return bool(pytestconfig.getoption("--renew-kept"))


@pytest.fixture(scope="session")
def libreoffice(tmp_path_factory: pytest.TempPathFactory) -> LibreOffice:
    """LibreOffice, or no test that needs it."""
    _needed(LibreOffice)
    return LibreOffice(tmp_path_factory.mktemp("libreoffice"))


@pytest.fixture(scope="session")
def gnumeric(tmp_path_factory: pytest.TempPathFactory) -> Gnumeric:
    """Gnumeric, or no test that needs it."""
    _needed(Gnumeric)
    return Gnumeric(tmp_path_factory.mktemp("gnumeric"))


@pytest.fixture(scope="session")
def porch_form(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The porch, filled in, without the page to read, which takes longest to open; tests copy it."""
    place = tmp_path_factory.mktemp("porch") / "porch.xlsx"
    write_book(place, porch_sheets(), unit="in", footer="", form=True)
    return place


@pytest.fixture(scope="session")
def porch_result(porch_form: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The result of the porch, beside its form; tests copy both."""
    return _computed(Path(shutil.copy(porch_form, tmp_path_factory.mktemp("made"))))


@pytest.fixture
def first_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each cutting plan is the first one found: for tests that look at no board, the search is most of the work."""
    monkeypatch.setattr(estimate, "choose", partial(estimate.choose, seconds=0.0))


@pytest.fixture(scope="session")
def stairs_result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The steep stairs, computed; tests change copies of it."""
    place = tmp_path_factory.mktemp("stairs") / "stairs.xlsx"
    STAIRS_JOB.draw(place)
    return _computed(place)


def _computed(place: Path) -> Path:
    """Where the result of a form is."""
    made = estimate.compute(place).result
    assert made is not None
    return made


def _needed(program: type[LibreOffice] | type[Gnumeric]) -> None:
    """Without the program a test is skipped at a desk, and fails where everything must be there."""
    if program.is_missing():
        why = f"{program.called} is not installed: whole workbooks cannot be computed afresh"
        if os.environ.get("CI"):
            pytest.fail(why)
        pytest.skip(why)


def pytest_terminal_summary(terminalreporter: TerminalReporter) -> None:
    """Say how many cells each of the comparing tests compared."""
    for report in terminalreporter.getreports("passed") + terminalreporter.getreports("failed"):
        for line in _counts(report):
            terminalreporter.write_line(line)


def _counts(report: pytest.TestReport) -> Iterator[str]:
    """A line for each count that a test recorded."""
    for name, count in report.user_properties:
        if name == CELLS and report.when == "call":
            yield f"{report.nodeid}: {count} {CELLS}"
