"""What the tests share: two programs ready to compute, and a line that says how many cells were compared."""

import os
from collections.abc import Iterator

import pytest
from _pytest.terminal import TerminalReporter
from hypothesis import settings

from tests.recalculation import Gnumeric, LibreOffice

# the first compilation of a formula takes longer than a usual deadline; CI draws the same cases every time
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if "CI" in os.environ else "desk")

os.environ.setdefault("TQDM_DISABLE", "1")  # the progress bar of `formulas` would stand between the results

CELLS = "cells compared"


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
