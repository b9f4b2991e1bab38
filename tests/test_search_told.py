"""How long a cutting plan was looked for: asked for on the command line, told beside the plan and while it lasts."""

import io
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from railbook import cli, estimate
from railbook.boards.plans import BEST
from railbook.cutting import plan as solver
from railbook.cutting import turns
from railbook.cutting.pieces import Material
from railbook.cutting.result import Plan
from railbook.job.build import Job
from railbook.job.prices import BOARD, Price
from tests.porch import draw_porch
from tests.small_jobs import WOOD, level, work

NOTHING_WRITTEN = 2
PATIENT = "from railbook import cli\nimport sys\ncli.PATIENCE = float(sys.argv.pop(1))\ncli.main()\n"


@pytest.fixture(scope="module")
def porch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example job, not computed."""
    place = tmp_path_factory.mktemp("porch") / "porch.xlsx"
    draw_porch(place)
    return place


def railbook_says(*words: str | Path) -> Result:
    """The command, run as from the shell."""
    return CliRunner().invoke(cli.main, [str(word) for word in words])


# asked for


@pytest.mark.parametrize("seconds", ["-1", "20.5", "long"])
def test_no_search_is_longer_than_twenty_seconds(porch: Path, seconds: str) -> None:
    said = railbook_says("compute", porch, "--search", seconds)

    assert said.exit_code == NOTHING_WRITTEN
    assert "--search" in said.stderr


@pytest.mark.parametrize(("words", "seconds"), [((), None), (("--search", "20"), 20.0), (("--search", "0"), 0.0)])
def test_the_search_is_as_long_as_asked_for(
    porch: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], seconds: float | None
) -> None:
    """All materials together; what the rough lengths of posts cost is asked of theirs, with what is left of it."""
    asked: list[float | None] = []
    plan_all = solver.plan_all

    def listening(materials: Any, **more: Any) -> Any:
        asked.append(more["seconds"])
        return plan_all(materials, **more)

    monkeypatch.setattr(solver, "plan_all", listening)
    railbook_says("compute", porch, *words)

    together, of_posts = asked
    assert together == seconds
    assert of_posts is not None
    assert of_posts <= (1.0 if seconds is None else seconds)


def test_help_says_how_long_the_search_is_without_asking() -> None:
    said = " ".join(railbook_says("compute", "--help").stdout.split())

    assert "--search SECONDS" in said
    assert "at most 20" in said


# told beside the plan


def test_a_plan_that_is_not_proven_says_how_far_off_it_may_be_and_how_long_it_was_looked_for(porch: Path) -> None:
    """Without any search it is the longest first, which is all that is known then."""
    said = railbook_says("compute", porch, "--search", "0").stdout.splitlines()
    told = [line.strip() for line in said if "not proven best, after 0.0 s of search, at most " in line]

    assert told
    assert all(line.endswith(" above it") for line in told)


def test_a_proven_plan_says_no_more_than_that(porch: Path) -> None:
    said = railbook_says("compute", porch).stdout

    assert BEST in said
    assert "not proven" not in said
    assert "--search" not in said


def test_a_longer_search_is_offered_to_who_has_not_asked_for_one(porch: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "USUAL", 0.0)
    monkeypatch.setattr(turns, "USUAL_A_KIND", 0.0)

    assert railbook_says("compute", porch).stdout.count("--search 20") == 1
    assert "--search" not in railbook_says("compute", porch, "--search", "0").stdout


def test_who_asks_for_no_plan_loads_no_solver() -> None:
    code = "import sys, railbook.boards.choices; print({'numpy', 'highspy'} & set(sys.modules))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert said.stdout.strip() == "set()"


def rails(price: float | None, seconds: float | None) -> Any:
    """What is known of the plan for the rails of runs of many lengths, from boards of three lengths."""
    runs = [
        level(47.0 + 2.4375 * at, run=f"R{at}", from_support=f"P{at}", to_support=f"Q{at}", sections=1)
        for at in range(10)
    ]
    prices = [Price(item="2X4", sold_as=BOARD, length=length, price=price and price * length / 96)
              for length in (96.0, 120.0, 144.0)]  # fmt: skip
    bare = replace(WOOD, block_item=None, block_spacing=None)
    made = work(*runs, assemblies=[bare], prices=prices)
    choices, told = estimate.choose(made.job, seconds=seconds)
    return estimate.lay_out(made.job, choices, told)["plans"][0]


def test_without_prices_a_plan_says_by_how_much_board_it_may_be_too_long() -> None:
    """Length is what counts then: nothing is known in money."""
    known = rails(None, 0.0)

    assert (known.of.gap, known.of.by_hand) == (None, None)
    assert known.proof.startswith("not proven best, at most ")
    assert known.proof.endswith('" too much, after 0.0 s of search')


def test_with_prices_a_plan_says_how_far_it_may_be_in_money() -> None:
    known = rails(6.4, 0.0)

    assert known.of.gap > 0
    assert known.proof == "not proven best, after 0.0 s of search"
    assert rails(6.4, None).proof == BEST


def test_a_plan_is_proven_best_only_among_all_ways_to_splice(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cap over two line posts may be cut over either; as long as one way may still be cheaper, nobody knows."""
    job = work(level(191.0, sections=3), prices=[Price(item="5/4X6 CAP", sold_as=BOARD, length=144.0, price=20.0)]).job
    plan_all = solver.plan_all

    def told(*, changed: bool) -> Any:
        def altered(materials: tuple[Material, ...], **more: Any) -> tuple[Plan, ...]:
            first, *others = plan_all(materials, **more)
            assert len(others) == 1
            other = replace(others[0], proven=False, bound=first.cost - 3.0) if changed else others[0]
            return first, other

        monkeypatch.setattr(solver, "plan_all", altered)
        return estimate.choose(job)[0].cutting.plans[0]

    assert (told(changed=False).proven, told(changed=False).gap) == (True, 0.0)
    assert (told(changed=True).proven, told(changed=True).gap) == (False, pytest.approx(3.0))


# told while it lasts


class Terminal(io.StringIO):
    """What somebody would see."""

    def isatty(self) -> bool:
        return True


def watched(monkeypatch: pytest.MonkeyPatch, screen: io.StringIO, at: list[float]) -> cli.Progress:
    """Progress on a screen, at these times."""
    times = iter(at)
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr("railbook.cli.time.monotonic", lambda: next(times))
    return cli.Progress("job.xlsx")


def test_nothing_is_said_in_the_first_second_and_nothing_is_left_in_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    progress = watched(monkeypatch, screen, [100.0, 100.9, 101.0, 104.0])
    for words in ("reading", "planning boards", "writing"):
        progress.tell(words)
    progress.clear()

    assert screen.getvalue().split("\r") == [
        "", "job.xlsx: planning boards", "job.xlsx: writing        ", " " * len("job.xlsx: writing"), "",
    ]  # fmt: skip


def test_quick_work_leaves_the_screen_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    progress = watched(monkeypatch, screen, [0.0, 0.5])
    progress.tell("reading")
    progress.clear()

    assert screen.getvalue() == ""


def test_a_pipe_is_told_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = io.StringIO()
    progress = watched(monkeypatch, pipe, [0.0, 60.0, 70.0])
    progress.tell("planning boards")
    progress.clear()

    assert pipe.getvalue() == ""


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such terminals")
def test_on_a_terminal_long_work_says_what_it_does(porch: Path, tmp_path: Path) -> None:
    """As long work, without the second that it waits before it says anything."""
    place = tmp_path / "porch.xlsx"
    place.write_bytes(porch.read_bytes())
    ours, theirs = os.openpty()
    done = subprocess.run(
        [sys.executable, "-c", PATIENT, "0", "compute", str(place)], stdout=subprocess.PIPE, stderr=theirs, check=False
    )
    os.close(theirs)
    said = os.read(ours, 100_000).decode()
    os.close(ours)

    for words in ("reading", "laying out", "planning boards: ", "plans proven best", "writing"):
        assert words in said
    assert said.rpartition("\r")[2] == ""
    assert b"planning" not in done.stdout
    assert b"written: " in done.stdout


def test_a_job_is_planned_alike_whether_somebody_watches_or_not() -> None:
    job: Job = work(level(123.5, sections=2), prices=[Price(item="2X4", sold_as=BOARD, length=144.0, price=10.0)]).job
    said: list[str] = []

    assert estimate.choose(job, tell=said.append)[0].cutting == estimate.choose(job)[0].cutting
    assert said[0] == "laying out"
