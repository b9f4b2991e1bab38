"""A written workbook taken apart: every cell with what it shows and how it looks, and the rest of each part."""

import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple
from xml.etree.ElementTree import Element, fromstring, tostring

SHEET = re.compile(r"xl/worksheets/sheet\d+\.xml")
TEXTS, STYLES, SEAL = "xl/sharedStrings.xml", "xl/styles.xml", "docProps/custom.xml"
CELLS = re.compile(r"<c [^>]*?(?:/>|>.*?</c>)", re.DOTALL)
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
POOLS = {"fontId": "fonts", "fillId": "fills", "borderId": "borders"}


class Cell(NamedTuple):
    """One cell, as the workbook's XML has it.

    Attributes:
        type: of its value; empty for a number, a blank and an empty result.
        formula: without the equals sign; None when it has none.
        value: as it is written, a shared text as its own XML; None when it has none.
        look: everything that its format says.
    """

    type: str
    formula: str | None
    value: str | None
    look: str


class Drawn(NamedTuple):
    """A workbook: cells by part and address, and every part without what is numbered as it comes along."""

    cells: dict[str, dict[str, Cell]]
    rest: dict[str, str]


def taken_apart(path: Path) -> Drawn:
    """The cells of a workbook and the rest of it.

    Formats are numbered in the order in which a writer comes upon them, so a cell has its look in words. Of the
    styles the rest is what conditional formats use; the seal is told from the other parts.
    """
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name).decode() for name in book.namelist() if name != SEAL}
    looks, texts = list(_looks(fromstring(parts[STYLES]))), _texts(parts.get(TEXTS, ""))
    sheets = {name: text for name, text in parts.items() if SHEET.fullmatch(name)}
    cells = {name: dict(_cells(fromstring(text), looks, texts)) for name, text in sheets.items()}
    rest = {name: CELLS.sub("", text) if name in sheets else text for name, text in parts.items()}
    rest[STYLES] = "".join(_xml(each) for each in fromstring(parts[STYLES]).findall(f"{MAIN}dxfs"))
    return Drawn(cells, rest)


def _cells(sheet: Element, looks: list[str], texts: list[str]) -> Iterator[tuple[str, Cell]]:
    for cell in sheet.iter(f"{MAIN}c"):
        kind, formula, value = cell.get("t", ""), cell.find(f"{MAIN}f"), cell.find(f"{MAIN}v")
        told = None if value is None else value.text or ""
        shown = texts[int(told or "")] if kind == "s" else told
        yield (
            cell.attrib["r"],
            Cell(kind, None if formula is None else formula.text, shown, looks[int(cell.get("s", 0))]),
        )


def _texts(part: str) -> list[str]:
    return [_xml(each) for each in fromstring(part)] if part else []


def _looks(styles: Element) -> Iterator[str]:
    """Every cell format in words: its own XML, with fonts, fills, borders and number format put for their numbers."""
    pools = {name: [_xml(each) for each in styles.find(f"{MAIN}{pool}") or ()] for name, pool in POOLS.items()}
    numbers = {each.attrib["numFmtId"]: each.attrib["formatCode"] for each in styles.iter(f"{MAIN}numFmt")}
    for xf in styles.find(f"{MAIN}cellXfs") or ():
        named = "".join(pool[int(xf.attrib.pop(name))] for name, pool in pools.items())
        number = xf.attrib.pop("numFmtId")
        yield f"{numbers.get(number, number)} {named} {_xml(xf)}"


def _xml(element: Element) -> str:
    return re.sub(r'ns\d+:| xmlns:ns\d+="[^"]*"| (?=/>)', "", tostring(element, "unicode"))
