"""What kind of file it is, before anything in it is believed.

A workbook is a zip of XML parts. Whatever else bears the name is refused here, by what it really is. Only the
parts that are asked for are unpacked, each within bounds: a small file may unpack to more than memory should hold.
A part with a document type definition is refused too: spreadsheets never write one and attacks on XML readers need it.
"""

import zipfile
import zlib
from collections.abc import Sequence
from io import BytesIO, RawIOBase
from pathlib import Path
from typing import IO, Any

from railbook.basics.machine import LOW_MEMORY, remedy, said
from railbook.basics.units import Refusal

LARGEST = 200_000_000  # bytes: of the file, and of all its parts that are read, unpacked
MOST_PARTS = 20_000
MOST_BARE = 1 << 18  # bytes without a tag; the longest text of a cell stays below
CHUNK = 1 << 16
DAMAGED = Refusal("is damaged and cannot be read", "open it in your spreadsheet program and save it again as .xlsx")

_SAVE_AS = "open it in your spreadsheet program and save it as an Excel workbook (.xlsx)"
_FEWER = "copy what belongs to the job into a new form"
_LOCKED = "it is protected by a password, or is an old .xls"
_COMPOUND = bytes.fromhex("D0CF11E0")  # the container of encrypted workbooks and of .xls
_IN_DIRECTORY = b"PK\1\2"  # before each part that a zip lists
_PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # the others cannot be unpacked piece by piece
_DEFINITIONS = tuple("<!DOCTYPE".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))
_LONGEST_DEFINITION = max(map(len, _DEFINITIONS))
_STRICT = b"purl.oclc.org/ooxml"


class RefusedError(Exception):
    """Stops whoever reads a part, with the reason."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.why)
        self.refusal = refusal


class Package(zipfile.ZipFile):
    """The parts of a workbook; each is seen through to its end, piece by piece, before it can be read.

    Attributes:
        what: what is being read, as a person calls it.
        entries: how many tags may still be read.
    """

    def __init__(self, data: bytes) -> None:
        super().__init__(BytesIO(data))
        self.what, self.entries = "", 0
        self._sizes: dict[str, int] = {}

    def allow(self, entries: int, what: str) -> None:
        """How many tags the parts may have that are opened from now on, and what they are."""
        self.entries, self.what = entries, what

    def expect(self, names: Sequence[str]) -> None:
        """Say which parts will be read, so that nothing is unpacked of a file that is too large.

        Raises:
            RefusedError: it is, with what was read already.
        """
        sizes = {name: self.getinfo(name).file_size for name in names}
        if sum({**self._sizes, **sizes}.values()) > LARGEST:
            raise RefusedError(_too_large())

    def read(self, name: Any, pwd: bytes | None = None) -> bytes:
        """A whole part, as `open` gives it."""
        with self.open(name, pwd=pwd) as part:
            return part.read()

    def open(self, name: Any, *_: Any, **__: Any) -> IO[bytes]:
        """A part, to be read.

        Raises:
            RefusedError: it is too large, or no part of a sound workbook.
        """
        part = self.getinfo(name) if isinstance(name, str) else name
        if part.filename not in self._sizes:
            self._see_through(part)
        return _Part(super().open(part))  # type: ignore[return-value]

    def _see_through(self, part: zipfile.ZipInfo) -> None:
        """Unpack a part without keeping it."""
        if part.compress_type not in _PACKINGS:
            raise RefusedError(DAMAGED)
        self.expect([part.filename])
        self._sizes[part.filename] = part.file_size
        bare, before = 0, b""
        with super().open(part) as packed:
            while piece := packed.read(CHUNK):
                self.entries -= piece.count(b"<")
                first = piece.find(b"<")
                longest = bare + (len(piece) if first < 0 else first)
                bare = longest if first < 0 else len(piece) - piece.rfind(b"<")
                if refusal := self._piece_fault(longest, before + piece, is_first=not before):
                    raise RefusedError(refusal)
                before = piece[-_LONGEST_DEFINITION:]

    def _piece_fault(self, bare: int, piece: bytes, *, is_first: bool) -> Refusal | None:
        """What forbids reading on."""
        if self.entries < 0:
            return Refusal(f"has far more in {self.what} than a job needs", _FEWER)
        if any(definition in piece for definition in _DEFINITIONS):
            return Refusal("holds a document type definition, which no spreadsheet program writes", _SAVE_AS)
        if is_first and _STRICT in piece[:2000]:
            return Refusal("is saved as Strict Open XML", "save it as an Excel workbook (.xlsx), not as Strict")
        return Refusal(f"has a text in {self.what} that no cell can hold", _FEWER) if bare > MOST_BARE else None


class _Part(RawIOBase):
    """A part that unpacks no more than is asked for, whatever it says about its size."""

    def __init__(self, packed: IO[bytes]) -> None:
        super().__init__()
        self._packed = packed

    def readable(self) -> bool:
        return True

    def readinto(self, room: Any) -> int:
        """Fill the room, or less at the end."""
        piece = self._packed.read(min(len(room), CHUNK))
        room[: len(piece)] = piece
        return len(piece)


def contents(path: Path) -> bytes | Refusal:
    """The bytes of the file, or why they cannot be had."""
    try:
        if fault := _no_file(path):
            return fault
        return path.read_bytes()
    except PermissionError:
        return Refusal("may not be read", "close it in other programs, or ask for permission to read it")
    except OSError as error:
        return Refusal(f"cannot be read ({said(error)})", remedy(error, "copy it to this computer and try again"))
    except MemoryError:
        return LOW_MEMORY


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
    if data.count(_IN_DIRECTORY) > MOST_PARTS:
        return Refusal(f"holds more than {MOST_PARTS} parts", _FEWER)
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            return _zip_fault(archive.namelist())
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError):
        return DAMAGED


def _zip_fault(names: Sequence[str]) -> Refusal | None:
    """Why a zip of these parts is no workbook that may be opened."""
    if "mimetype" in names:
        return Refusal("is an OpenDocument file", _SAVE_AS)
    if any(name.endswith("workbook.bin") for name in names):
        return Refusal("is a binary workbook (.xlsb)", _SAVE_AS)
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        return Refusal("is not an Excel workbook", _SAVE_AS)
    return None


def _too_large() -> Refusal:
    return Refusal(f"holds more than {LARGEST // 1_000_000} MB", "copy the tabs you need into a new workbook")
