"""What the measurements were made on."""

import os
import platform
from importlib.metadata import version
from pathlib import Path


def processor() -> str:
    """The machine's name for its processor."""
    try:
        told = Path("/proc/cpuinfo").read_text(encoding="ascii").splitlines()
        return next(row.split(":", 1)[1].strip() for row in told if row.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or platform.machine()


def machine(*libraries: str) -> str:
    """Processor, cores, how busy they are, Python and those libraries, in a line."""
    told = [f"{processor()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {platform.python_version()}"]
    return ", ".join((*told, *(f"{each} {version(each)}" for each in libraries)))
