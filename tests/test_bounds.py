"""A small file that unpacks to far more than it seems is refused at once, in little memory, with a sentence.

Every workbook is the filled-in porch with one part made huge; what it takes is measured in a process of its own.
"""

import json
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

import pytest

from railbook import estimate
from railbook.basics.problem import STOPS, Problem
from railbook.intake import package
from railbook.intake.layout import MOST_MERGES
from railbook.intake.written import Written, written

ROOT = Path(__file__).parent.parent
SECONDS, MEGABYTES = 2, 300
STRINGS, STYLES, BOOK = "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml"
MEASURE = """
import json, re, resource, sys
from pathlib import Path
from railbook.{module} import {function}
found = {function}(Path(sys.argv[1]))
used = resource.getrusage(resource.RUSAGE_SELF)
problems = getattr(found, "problems", (found,))
most = re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())  # of this program alone
print(json.dumps([str(problems[0]), used.ru_utime + used.ru_stime, int(most[1]) / 1024]))
"""


@pytest.fixture(scope="module")
def runs(porch_form: Path) -> str:
    """The part of tab Runs."""
    with zipfile.ZipFile(porch_form) as book:
        titles = re.findall(r'<sheet name="([^"]+)"', book.read(BOOK).decode())
    return f"xl/worksheets/sheet{titles.index('Runs') + 1}.xml"


class Huge(NamedTuple):
    """What makes a part huge: the text before which it goes in, what comes first, what is repeated, what comes last."""

    before: bytes
    first: bytes
    again: bytes
    times: int
    last: bytes = b""

    def pieces(self) -> Iterator[bytes]:
        """All of it, a megabyte or so at a time."""
        yield self.first
        at_once = max(1, 1_000_000 // len(self.again))
        for done in range(0, self.times, at_once):
            yield self.again * min(at_once, self.times - done)
        yield self.last


def bloated(porch_form: Path, place: Path, part: str, huge: Huge, packing: int = zipfile.ZIP_DEFLATED) -> Path:
    """A copy of the porch with one part made huge; it takes little room itself."""
    with zipfile.ZipFile(porch_form) as old, zipfile.ZipFile(place, "w", packing) as new:
        for name in old.namelist():
            xml = old.read(name)
            with new.open(name, "w", force_zip64=True) as made:
                if name != part:
                    made.write(xml)
                    continue
                assert xml.count(huge.before) == 1
                start, end = xml.split(huge.before)
                made.write(start)
                for piece in huge.pieces():
                    made.write(piece)
                made.write(huge.before + end)
    return place


def measured(place: Path, module: str = "estimate", function: str = "compute") -> tuple[str, float, float]:
    """What a process of its own says of the file, and what it took [s of work, MB]."""
    code = MEASURE.format(module=module, function=function)
    done = subprocess.run(
        [sys.executable, "-c", code, str(place)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    said, seconds, megabytes = json.loads(done.stdout)
    return said, seconds, megabytes


ENDED = b"</sheetData>"
IN_RUNS: Mapping[str, tuple[Huge, str]] = {
    "rows": (Huge(ENDED, b"", b"<row/>", 30_000_000), "far more in tab Runs than a job needs"),
    "numbered rows": (Huge(ENDED, b"", b'<row r="99"/>', 14_000_000), "far more in tab Runs than a job needs"),
    "cells of a row": (Huge(ENDED, b"<row>", b"<c/>", 30_000_000, b"</row>"), "far more in tab Runs than a job needs"),
    "parts of a cell": (Huge(ENDED, b"<row><c>", b"<v/>", 30_000_000, b"</c></row>"), "far more in tab Runs"),
    "one text": (Huge(ENDED, b'<row><c t="str"><v>', b"a", 190_000_000, b"</v></c></row>"), "that no cell can hold"),
    "one tag": (Huge(ENDED, b"<row ", b'a=""', 40_000_000, b"/>"), "that no cell can hold"),
    "widths": (Huge(b"<sheetData>", b"<cols>", b'<col min="1" max="1"/>', 2_000_000, b"</cols>"), "rules and looks"),
    "more than 200 MB": (Huge(ENDED, b"", b"<row/>", 40_000_000), "holds more than 200 MB"),
}  # fmt: skip


@pytest.mark.parametrize("name", IN_RUNS)
def test_a_tab_that_unpacks_to_too_much_is_refused_at_once(
    porch_form: Path, runs: str, tmp_path: Path, name: str
) -> None:
    huge, why = IN_RUNS[name]
    place = bloated(porch_form, tmp_path / "small.xlsx", runs, huge)
    said, seconds, megabytes = measured(place)

    assert place.stat().st_size < 1_000_000
    assert said.startswith("small.xlsx: the file h")
    assert why in said
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


OTHER_PARTS: Mapping[str, tuple[str, Huge, str]] = {
    "texts": (STRINGS, Huge(b"</sst>", b"", b"<si/>", 30_000_000), "far more in its texts"),
    "looks": (STYLES, Huge(b"</cellXfs>", b"", b"<xf/>", 30_000_000), "list of tabs, names and looks"),
    "names": (BOOK, Huge(b"</definedNames>", b"", b'<definedName name="x">A</definedName>', 3_000_000), "names"),
}  # fmt: skip


@pytest.mark.parametrize("name", OTHER_PARTS)
def test_what_every_tab_needs_is_bounded_too(porch_form: Path, tmp_path: Path, name: str) -> None:
    part, huge, why = OTHER_PARTS[name]
    said, seconds, megabytes = measured(bloated(porch_form, tmp_path / "small.xlsx", part, huge))

    assert why in said
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


MERGED: Mapping[str, Callable[[int], str]] = {  # the n-th of many areas
    "whole columns over one another": lambda _: "A1:A1048576",
    "wide areas over one another": lambda nth: f"A{nth}:DP1048576",
    "areas beside one another": lambda nth: f"A{nth}:B{nth}",
}


@pytest.mark.parametrize("name", MERGED)
def test_thousands_of_merged_areas_are_refused_at_once(porch_form: Path, runs: str, tmp_path: Path, name: str) -> None:
    areas = "".join(f'<mergeCell ref="{MERGED[name](nth)}"/>' for nth in range(1, 3001))
    huge = Huge(b"</worksheet>", b"<mergeCells>", areas.encode(), 1, b"</mergeCells>")
    said, seconds, megabytes = measured(bloated(porch_form, tmp_path / "merged.xlsx", runs, huge))

    assert f"more than {MOST_MERGES} merged areas on tab Runs - unmerge them" in said
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


def test_merged_areas_that_lie_over_one_another_are_refused(porch_form: Path, runs: str, tmp_path: Path) -> None:
    """A spreadsheet never has them: of 120 columns no more than 120 areas can take in one row."""
    huge = Huge(b"</worksheet>", b"<mergeCells>", b'<mergeCell ref="A1:A1048576"/>', 121, b"</mergeCells>")
    (problem,) = estimate.read(bloated(porch_form, tmp_path / "merged.xlsx", runs, huge))[1]

    assert "merged areas on tab Runs that lie over one another" in problem.what


def test_a_merged_column_is_told_once_for_headers_and_rows(porch_form: Path, runs: str, tmp_path: Path) -> None:
    """And not for each of its four runs."""
    huge = Huge(b"</worksheet>", b"<mergeCells>", b'<mergeCell ref="B1:B1048576"/>', 1, b"</mergeCells>")
    problems = estimate.read(bloated(porch_form, tmp_path / "merged.xlsx", runs, huge))[1]

    told = [each.where for each in problems if "cells B1:B1048576 are merged" in each.what]
    assert told == ["Runs!B5", "Runs!B8"]


def test_rows_that_do_not_follow_one_another_are_damage_and_no_loss(
    porch_form: Path, runs: str, tmp_path: Path
) -> None:
    """Whoever reads row by row would pass over the second row 9."""
    huge = Huge(ENDED, b'<row r="9">', b'<c r="A9" t="str"><v>Z</v></c>', 1, b"</row>")
    (problem,) = estimate.read(bloated(porch_form, tmp_path / "job.xlsx", runs, huge))[1]

    assert (problem.severity, problem.what) == (STOPS, "the file is damaged and cannot be read")


# what is not read does not count, and is not unpacked


def test_other_parts_may_be_as_large_as_they_like(porch_form: Path, tmp_path: Path) -> None:
    place = tmp_path / "job.xlsx"
    place.write_bytes(porch_form.read_bytes())
    with zipfile.ZipFile(place, "a", zipfile.ZIP_DEFLATED) as book:
        for name in ("xl/worksheets/sheet99.xml", "xl/media/photo.png"):
            with book.open(name, "w", force_zip64=True) as part:
                for _ in range(250):
                    part.write(bytes(1_000_000))
    job, problems = estimate.read(place)

    assert problems == ()
    assert job is not None
    assert len(job.runs) == 4


def test_a_result_is_read_however_large_its_other_tabs_are(
    porch_form: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The result of a large job is ten times its input; only the input's tabs are read again."""
    place = tmp_path / "porch.xlsx"
    place.write_bytes(porch_form.read_bytes())
    result = estimate.compute(place).result
    assert result is not None
    with zipfile.ZipFile(result) as book:
        unpacked = sum(part.file_size for part in book.infolist())
    monkeypatch.setattr(package, "LARGEST", unpacked // 2)

    job, problems = estimate.read(result)
    assert job is not None, problems
    assert len(job.runs) == 4
    verdict = written(result)
    assert isinstance(verdict, Problem)
    assert "holds more than" in verdict.what


# parts that lie about themselves


def test_a_part_that_says_it_is_small_unpacks_no_further(porch_form: Path, runs: str, tmp_path: Path) -> None:
    """Its true size, in the directory and before the part, overwritten by a small one: a megabyte for a gigabyte."""
    place = bloated(porch_form, tmp_path / "lying.xlsx", runs, Huge(b"</worksheet>", b"", b" ", 1_000_000_000))
    with zipfile.ZipFile(place) as book:
        true = book.getinfo(runs).file_size.to_bytes(4, "little")
    data = place.read_bytes()
    assert data.count(true) >= 1
    place.write_bytes(data.replace(true, (9000).to_bytes(4, "little")))
    said, seconds, megabytes = measured(place)

    assert "the file is damaged and cannot be read" in said
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


@pytest.mark.parametrize("packing", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_packing_that_no_workbook_has_is_not_unpacked(
    porch_form: Path, runs: str, tmp_path: Path, packing: int
) -> None:
    """These two cannot be unpacked piece by piece; 45 bytes of one give a megabyte."""
    place = bloated(porch_form, tmp_path / "job.xlsx", runs, Huge(ENDED, b"", b" ", 1), packing)
    (problem,) = estimate.read(place)[1]

    assert problem.what == "the file is damaged and cannot be read"


def test_a_file_of_very_many_parts_is_refused(
    porch_form: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(package, "MOST_PARTS", 10)
    (problem,) = estimate.read(porch_form)[1]

    assert problem.what == "the file holds more than 10 parts"
    assert tmp_path.exists()


# verifying reads whole workbooks


@pytest.mark.parametrize("name", ["rows", "one text", "more than 200 MB"])
def test_verifying_is_bounded_too(porch_form: Path, runs: str, tmp_path: Path, name: str) -> None:
    place = bloated(porch_form, tmp_path / "small.xlsx", runs, IN_RUNS[name][0])
    said, seconds, megabytes = measured(place, "intake.written", "written")

    assert said.startswith("small.xlsx: the file h")
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


def test_a_look_far_out_costs_verifying_nothing(porch_form: Path, runs: str, tmp_path: Path) -> None:
    far = Huge(ENDED, b'<row r="1048576">', b'<c r="XFD1048576" s="0"/>', 1, b"</row>")
    place = bloated(porch_form, tmp_path / "far.xlsx", runs, far)
    plain, found = written(porch_form), written(place)
    _, seconds, megabytes = measured(place, "intake.written", "written")

    assert isinstance(plain, Written)
    assert found == plain
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


def test_a_figure_far_out_is_refused_by_verifying(porch_form: Path, runs: str, tmp_path: Path) -> None:
    """Sixteen thousand million blank cells lie between."""
    far = Huge(ENDED, b'<row r="1048576">', b'<c r="XFD1048576"><v>1</v></c>', 1, b"</row>")
    found = written(bloated(porch_form, tmp_path / "far.xlsx", runs, far))

    assert isinstance(found, Problem)
    assert "has cells far out on tab Runs" in found.what
