"""Formula cells of a written workbook that somebody changed: other values, no formula. The rest stays as it was."""

import re
import zipfile
from collections.abc import Mapping
from pathlib import Path

from tests.recalculation import parts

CELL = r'(<c r="{cell}"[^>]*?)(?: t="[a-z]+")?>(<f>.*?</f>)<v>(.*?)</v></c>'  # its start, its formula, its value
TYPED = r"\1><v>\3</v></c>"  # the number that was shown, typed over the formula
EMPTIED = r"\1/>"
ONE_MORE = r"\1>\2<v>\g<3>1</v></c>"  # another digit


def changed(result: Path, place: Path, cells: Mapping[str, str]) -> Path:
    """A copy in which some cells stand otherwise, such as "Cut list!E11": what to put for their parts (see CELL)."""
    with zipfile.ZipFile(result) as old, zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as new:
        part_of = dict(parts(old))
        texts = {part: old.read(part).decode() for part in part_of.values()}
        for at, becomes in cells.items():
            title, _, cell = at.partition("!")
            texts[part_of[title]], number = re.subn(CELL.format(cell=cell), becomes, texts[part_of[title]])
            assert number == 1, at
        for part in old.namelist():
            new.writestr(part, texts[part] if part in texts else old.read(part))
    return place
