"""A hard recalculation of a whole workbook by LibreOffice, without touching the file."""

import shutil
import subprocess
import tempfile
from pathlib import Path

from railbook.basics.problem import STOPS, Problem
from railbook.intake.written import Written, written

_ALWAYS = (  # a setting of the program: compute every formula afresh when a workbook is opened
    '<?xml version="1.0" encoding="UTF-8"?><oor:items xmlns:oor="http://openoffice.org/2001/registry">'
    '<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">'
    "<value>0</value></prop></item></oor:items>"
)
MINUTES = 10


def recalculated(path: Path) -> Written | Problem:
    """The workbook as LibreOffice computes it, or why it could not."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    if program is None:
        return Problem("verify", "LibreOffice is not installed", "install it, or verify without --libreoffice", STOPS)
    with tempfile.TemporaryDirectory() as folder:
        profile, made = Path(folder) / "profile", Path(folder) / "made"
        (profile / "user").mkdir(parents=True)
        (profile / "user" / "registrymodifications.xcu").write_text(_ALWAYS, encoding="utf-8")
        command = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "xlsx"]
        command += ["--outdir", str(made), str(path.resolve())]
        try:
            subprocess.run(command, capture_output=True, check=False, timeout=60 * MINUTES)
        except subprocess.TimeoutExpired:
            return Problem(path.name, f"LibreOffice took longer than {MINUTES} minutes", "verify a smaller job", STOPS)
        result = made / f"{path.stem}.xlsx"
        if not result.exists():  # the program reports success even when it fails
            return Problem(path.name, "LibreOffice could not open it", "see whether it opens there by hand", STOPS)
        return written(result)
