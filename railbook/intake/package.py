"""What kind of file it is, before anything in it is believed.

A workbook is a zip of XML parts. Whatever else bears the name is refused here, by what it really is,
and so is a workbook that would unpack to more than memory should hold or that carries a document type
definition, which spreadsheets never write and attacks on XML readers need.
"""

import zipfile
import zlib
from io import BytesIO
from pathlib import Path

from railbook.basics.units import Refusal

LARGEST = 200_000_000  # bytes, packed and unpacked
DAMAGED = Refusal("is damaged and cannot be read", "open it in your spreadsheet program and save it again as .xlsx")

_SAVE_AS = "open it in your spreadsheet program and save it as an Excel workbook (.xlsx)"
_LOCKED = "it is protected by a password, or is an old .xls"
_COMPOUND = bytes.fromhex("D0CF11E0")  # the container of encrypted workbooks and of .xls
_NO_PARTS_OF_OURS = ("xl/media/", "xl/embeddings/")  # pictures may be SVG, which does carry a definition
_DEFINITIONS = tuple("<!DOCTYPE".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))
_STRICT = b"purl.oclc.org/ooxml"


def contents(path: Path) -> bytes | Refusal:
    """The bytes of the file, or why they cannot be had."""
    try:
        if fault := _no_file(path):
            return fault
        return path.read_bytes()
    except PermissionError:
        return Refusal("may not be read", "close it in other programs, or ask for permission to read it")
    except OSError as error:
        return Refusal(f"cannot be read ({error.strerror})", "copy it to this computer and try again")


def _no_file(path: Path) -> Refusal | None:
    """Why there is no file of a fair size at that place."""
    if not path.exists():
        return Refusal("is not there", "check the name and the folder")
    if path.is_dir():
        return Refusal("is a folder", "give the workbook in it")
    if not path.is_file():
        return Refusal("is not a file", "give a workbook (.xlsx)")
    if path.stat().st_size > LARGEST:
        return _too_large()
    return None


def fault(data: bytes) -> Refusal | None:
    """Why these bytes are no workbook that may be opened; None when they are one.

    >>> fault(b"Run,Kind").why
    'is not an Excel workbook'
    """
    if not data:
        return Refusal("is empty", "use another copy of the workbook")
    if data.startswith(_COMPOUND):
        return Refusal(f"cannot be opened: {_LOCKED}", "save it as .xlsx without a password")
    if not data.startswith(b"PK"):
        return Refusal("is not an Excel workbook", _SAVE_AS)
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            return _zip_fault(archive)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError):
        return DAMAGED


def _zip_fault(archive: zipfile.ZipFile) -> Refusal | None:
    """Why this zip is no workbook that may be opened."""
    names = archive.namelist()
    if "mimetype" in names:
        return Refusal("is an OpenDocument file", _SAVE_AS)
    if any(name.endswith("workbook.bin") for name in names):
        return Refusal("is a binary workbook (.xlsb)", _SAVE_AS)
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        return Refusal("is not an Excel workbook", _SAVE_AS)
    if sum(part.file_size for part in archive.infolist()) > LARGEST:
        return _too_large()
    for name in names:
        if not name.startswith(_NO_PARTS_OF_OURS) and (found := _part_fault(archive.read(name))):
            return found
    return None


def _part_fault(part: bytes) -> Refusal | None:
    """What forbids opening one part of the workbook."""
    if any(definition in part for definition in _DEFINITIONS):
        return Refusal("holds a document type definition, which no spreadsheet program writes", _SAVE_AS)
    if _STRICT in part[:2000]:
        return Refusal("is saved as Strict Open XML", "save it as an Excel workbook (.xlsx), not as Strict")
    return None


def _too_large() -> Refusal:
    return Refusal(f"holds more than {LARGEST // 1_000_000} MB", "copy the tabs you need into a new workbook")
