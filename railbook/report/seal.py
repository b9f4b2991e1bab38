"""The seal of a result: told from its contents, so that one which nobody has touched is known again.

A workbook is a zip, whose directory has a checksum of every part. The seal is a digest of that directory, kept
in a part of its own. Whatever saves the workbook writes its parts anew, and the seal no longer fits or is gone.
"""

import hashlib
import os
import zipfile
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path
from typing import IO

NAME = "railbook seal"  # of the property, as the spreadsheet shows it
PART = "docProps/custom.xml"
MOST_DIRECTORY = 1_000_000  # bytes; some 10,000 parts
_END, _END_LENGTH = b"PK\5\6", 22  # the record that closes a zip without a comment
_WHEN = (1980, 1, 1, 0, 0, 0)  # as the library dates its parts
_PROPERTIES = (
    '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    '<Properties xmlns="http://schemas.openxmlformats.org/officeDocument/2006/custom-properties" '
    'xmlns:vt="http://schemas.openxmlformats.org/officeDocument/2006/docPropsVTypes">'
    '<property fmtid="{{D5CDD505-2E9C-101B-9397-08002B2CF9AE}}" pid="2" name="{name}">'
    "<vt:lpwstr>{digest}</vt:lpwstr></property></Properties>"
)


def seal(book: BytesIO) -> None:
    """Put the seal into a workbook that is whole otherwise."""
    with zipfile.ZipFile(book, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(zipfile.ZipInfo(PART, _WHEN), _sealing(archive.infolist()))


def is_untouched(path: Path) -> bool:
    """Whether this is a result of ours that no program has written to since.

    Only the zip's directory and one small part are read, whatever the file says about its size.
    What cannot be read may be anything, so it is not.
    """
    try:
        with path.open("rb") as file:
            return _has_short_directory(file) and _fits(file)
    except (OSError, zipfile.BadZipFile, ValueError, NotImplementedError, RuntimeError, EOFError):
        return False


def _has_short_directory(file: IO[bytes]) -> bool:
    """Whether the file ends like a zip whose directory may be read."""
    if file.seek(0, os.SEEK_END) < _END_LENGTH:
        return False
    file.seek(-_END_LENGTH, os.SEEK_END)
    end = file.read(_END_LENGTH)
    return end.startswith(_END) and int.from_bytes(end[12:16], "little") <= MOST_DIRECTORY


def _fits(file: IO[bytes]) -> bool:
    """Whether the seal is the one that these parts call for."""
    with zipfile.ZipFile(file) as archive:
        parts = archive.infolist()
        wanted = _sealing(part for part in parts if part.filename != PART)
        found = [part for part in parts if part.filename == PART]
        if [(part.file_size, part.compress_type) for part in found] != [(len(wanted), zipfile.ZIP_STORED)]:
            return False
        with archive.open(found[0]) as part:
            return part.read(len(wanted)) == wanted


def _sealing(parts: Iterable[zipfile.ZipInfo]) -> bytes:
    """The part that seals these."""
    digest = hashlib.sha256()
    for part in parts:
        digest.update(f"{part.filename}\n{part.file_size} {part.CRC}\n".encode())
    return _PROPERTIES.format(name=NAME, digest=digest.hexdigest()).encode()
