"""Computing again never loses what somebody has done in a result: it is kept under a dated name, and said last."""

import datetime as dt
import os
import re
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from railbook import estimate
from railbook.report.saving import save_result
from railbook.report.seal import NAME, PART, is_untouched
from tests.recalculation import LibreOffice
from tests.test_cli import draw_quiet

NOON, NEW = dt.datetime(2026, 11, 26, 14, 5), b"the new one"


@pytest.fixture
def result(porch_result: Path, tmp_path: Path) -> Path:
    """The porch's result beside its input, in a folder of its own."""
    shutil.copy(porch_result.with_name("porch.xlsx"), tmp_path)
    return Path(shutil.copy(porch_result, tmp_path))


def again(result: Path) -> estimate.Estimate:
    """The porch, computed once more."""
    return estimate.compute(result.with_name("porch.xlsx"))


def assert_kept(result: Path, old: bytes) -> Path:
    """Saving a result there keeps these bytes under a dated name."""
    saved = save_result(result, write_new, NOON)
    assert saved.problem is None
    assert saved.kept == result.with_name("porch result 2026-11-26 1405.xlsx")
    assert saved.kept.read_bytes() == old
    assert result.read_bytes() == NEW
    assert {each.name for each in result.parent.iterdir()} == {"porch.xlsx", result.name, saved.kept.name}
    return saved.kept


def write_new(path: Path) -> None:
    path.write_bytes(NEW)


# ours, and nobody has touched it


def test_our_own_untouched_result_is_replaced(result: Path) -> None:
    before = result.read_bytes()
    computed = again(result)

    assert computed.kept is None
    assert result.read_bytes() == before
    assert len(list(result.parent.iterdir())) == 2


def test_a_result_of_other_measurements_is_replaced_as_well(tmp_path: Path) -> None:
    place = draw_quiet(tmp_path / "porch.xlsx")
    first = estimate.compute(place).result
    assert first is not None
    before = first.read_bytes()
    draw_quiet(place, 62.125)

    assert estimate.compute(place).kept is None
    assert first.read_bytes() != before
    assert len(list(tmp_path.iterdir())) == 2


def test_the_same_parts_packed_otherwise_are_still_ours(result: Path) -> None:
    """As where a program that only moves files packs them anew."""
    with zipfile.ZipFile(result) as old:
        parts = [(info.filename, old.read(info)) for info in old.infolist()]
    with zipfile.ZipFile(result, "w", zipfile.ZIP_STORED) as new:
        for name, part in parts:
            new.writestr(name, part)

    assert is_untouched(result)


def test_the_seal_is_a_property_that_people_can_see(result: Path) -> None:
    """And a form, which is never replaced, has none."""
    book: Any = openpyxl.load_workbook(result)
    form: Any = openpyxl.load_workbook(result.with_name("porch.xlsx"))

    assert [each.name for each in book.custom_doc_props.props] == [NAME]
    assert re.fullmatch("[0-9a-f]{64}", book.custom_doc_props[NAME].value)
    assert form.custom_doc_props.props == []


# saved by another program


def test_a_result_that_openpyxl_has_saved_is_kept(result: Path) -> None:
    book = openpyxl.load_workbook(result)
    book["Paid"]["A8"] = "2X4 PT 8FT"
    book.save(result)

    kept = assert_kept(result, result.read_bytes())
    assert openpyxl.load_workbook(kept)["Paid"]["A8"].value == "2X4 PT 8FT"


def test_a_result_that_libreoffice_has_saved_is_kept(result: Path, libreoffice: LibreOffice) -> None:
    (saved,) = libreoffice.converted([result], "xlsx")
    shutil.copy(saved, result)

    assert_kept(result, saved.read_bytes())


# other files of that name


def with_parts(data: bytes, change: Callable[[dict[str, bytes]], Any], place: Path) -> bytes:
    """The zip with some of its parts changed."""
    place.write_bytes(data)
    with zipfile.ZipFile(place) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    change(parts)
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as new:
        for name, part in parts.items():
            new.writestr(name, part)
    return place.read_bytes()


def one_figure_more(parts: dict[str, bytes]) -> None:
    """Another figure of the same length: only the content tells."""
    sheet = next(name for name, part in parts.items() if b"<v>187.25</v>" in part)
    parts[sheet] = parts[sheet].replace(b"<v>187.25</v>", b"<v>187.75</v>", 1)


def another_property(parts: dict[str, bytes]) -> None:
    """As the property page of a file manager writes it, which leaves every other part alone."""
    parts[PART] = parts[PART].replace(b"</Properties>", b"<property/></Properties>")


def another_seal(parts: dict[str, bytes]) -> None:
    parts[PART] = re.sub(b"[0-9a-f]{64}", b"0" * 64, parts[PART])


CHANGES: dict[str, Callable[[dict[str, bytes]], Any]] = {
    "a figure": one_figure_more,
    "a comment": lambda parts: parts.update({"xl/comments1.xml": b"<comments/>"}),
    "a part less": lambda parts: parts.pop("docProps/app.xml"),
    "no seal": lambda parts: parts.pop(PART),
    "another property": another_property,
    "another seal": another_seal,
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_a_result_with_anything_changed_is_kept(
    result: Path, tmp_path_factory: pytest.TempPathFactory, change: Callable[[dict[str, bytes]], Any]
) -> None:
    old = with_parts(result.read_bytes(), change, tmp_path_factory.mktemp("zip") / "changed.xlsx")
    result.write_bytes(old)

    assert_kept(result, old)


OTHERS: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda _: b"",
    "notes": lambda _: b"15 ft 7, 5 ft 5",
    "cut short": lambda data: data[:-30],
    "longer": lambda data: data + b"\n",
    "very short": lambda data: data[:22],
}


@pytest.mark.parametrize("spoil", OTHERS.values(), ids=OTHERS)
def test_whatever_else_has_that_name_is_kept(result: Path, spoil: Callable[[bytes], bytes]) -> None:
    old = spoil(result.read_bytes())
    result.write_bytes(old)

    assert_kept(result, old)


def test_a_read_only_result_is_kept_read_only(result: Path) -> None:
    result.chmod(0o444)
    kept = assert_kept(result, result.read_bytes())

    assert kept.stat().st_mode & 0o777 == 0o444
    assert result.stat().st_mode & 0o200


@pytest.mark.parametrize("leads", [True, False], ids=["to a file", "nowhere"])
def test_a_link_is_kept_and_what_it_leads_to_stays(result: Path, *, leads: bool) -> None:
    far = result.with_name("far.xlsx")
    result.rename(far)
    before = far.read_bytes()
    result.symlink_to(far if leads else result.with_name("nowhere.xlsx"))
    kept = save_result(result, write_new, NOON).kept

    assert kept is not None
    assert kept.is_symlink()
    assert not result.is_symlink()
    assert far.read_bytes() == before


def test_a_pipe_of_that_name_is_not_waited_for(result: Path) -> None:
    result.unlink()
    os.mkfifo(result)
    kept = save_result(result, write_new, NOON).kept

    assert kept is not None
    assert kept.is_fifo()
    assert result.read_bytes() == NEW


def test_a_file_of_any_size_is_kept_unread(result: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A directory of nearly 4 GB, as the end of a zip claims it, in a file of 5 GB that takes no room on the disk."""
    directory = b"PK\5\6" + bytes(6) + b"\xff\xff" + b"\xf0\xff\xff\xff" + bytes(6)
    with result.open("r+b") as file:
        file.truncate(5_000_000_000)
        file.seek(0, os.SEEK_END)
        file.write(directory)
    monkeypatch.setattr(zipfile, "ZipFile", None)  # reading the zip would raise

    assert not is_untouched(result)


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_damage_to_a_result_raises(porch_result: Path, tmp_path: Path, data: st.DataObject) -> None:
    """Bytes of its directory overwritten, where everything is believed that is read."""
    whole = porch_result.read_bytes()
    at = len(whole) - data.draw(st.integers(0, 6000))
    place = tmp_path / "spoilt.xlsx"
    place.write_bytes(whole[:at] + data.draw(st.binary(max_size=8)) + whole[at + data.draw(st.integers(0, 8)) :])

    assert is_untouched(place) in (True, False)
