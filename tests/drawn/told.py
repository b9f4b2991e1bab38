"""What Warnings tells of the joints at supports."""

from railbook.job.runs import Run
from tests.drawn.reading import CAP, Reading
from tests.drawn.turned import skews_at

CLASHES = ("caps clash", "no cap is laid out")
TURNS_BACK = "on one side of it"


def names(reading: Reading, mark: str, *words: str) -> bool:
    """Whether a warning names that support with one of these words."""
    return any(
        f"support {mark}" in f"{row.where}: {row.what} " and any(word in row.what for word in words)
        for row in reading.told
    )


def refuses(reading: Reading, mark: str) -> bool:
    """Whether Warnings tells that caps which end at a support are not laid out."""
    return names(reading, mark, *CLASHES, TURNS_BACK)


def is_askew(reading: Reading, mark: str) -> bool:
    """Whether a run comes to a support otherwise than square to its face, or two leave it on one side."""
    return bool(skews_at(reading, mark)) or names(reading, mark, TURNS_BACK)


def lacks_its_cap(reading: Reading, run: Run) -> bool:
    """Whether a cap that would run over the posts of a run is not on the cut list."""
    assembly = reading.assemblies[run.assembly or ""]
    capped = assembly.cap_thickness and assembly.cap_width and assembly.post_proud is None
    return bool(capped) and reading.piece(CAP, run.run) is None


def is_refused(reading: Reading, run: Run) -> bool:
    """Whether the cap of a run is not laid out, and Warnings says so at one of its supports."""
    ends = (run.from_support or "", run.to_support or "")
    return lacks_its_cap(reading, run) and any(refuses(reading, mark) for mark in ends)
