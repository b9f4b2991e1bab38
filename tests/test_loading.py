"""What is slow to load is loaded when it is needed: in a process of its own, what a command has loaded."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HEAVY = ("formulas", "highspy", "numpy", "openpyxl", "pandas")


def loaded(code: str, *words: str | Path) -> set[str]:
    """Which of the heavy libraries are there after some code."""
    says = f"import sys\n{code}\nprint(*(name for name in {HEAVY} if name in sys.modules))"
    command = [sys.executable, "-c", says, *map(str, words)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, text=True)
    return set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize(
    "words", [("--help",), ("compute", "--help"), ("new", "blank.xlsx"), ("new", "--unit", "mm", "a.xlsx")]
)
def test_a_command_that_computes_nothing_loads_nothing_heavy(words: tuple[str, ...], tmp_path: Path) -> None:
    *options, last = words
    place = tmp_path / last if last.endswith(".xlsx") else last
    command = "from railbook.cli import main\nmain(standalone_mode=False)"

    assert loaded(command, *options, place) == set()
    assert len(list(tmp_path.iterdir())) == (last != "--help")


def test_reading_loads_no_solver(porch_form: Path) -> None:
    """numpy comes with openpyxl, which asks for its kinds of numbers."""
    read = "from pathlib import Path\nfrom railbook import estimate\njob, _ = estimate.read(Path(sys.argv[1]))"

    assert loaded(f"{read}\nassert job is not None", porch_form) == {"numpy", "openpyxl"}
    assert loaded(f"{read}\nestimate.choose(job)", porch_form) == {"highspy", "numpy", "openpyxl"}
