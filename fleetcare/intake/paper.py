"""A scan or photo of a paper, read from a file: its bytes, once its type and size are checked."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from fleetcare.errors import Problem

MOST_OCTETS = 20 * 1024 * 1024  # common practice, no source: a page scanned in colour is 1 to 5 MB
# How each sort of file begins: PDF by ISO 32000-1 7.5.2, PNG by its specification 5.2, JPEG by
# ITU-T T.81 B.1.1 (start of image, then a marker); all three from memory.
_BEGINS = {"pdf": b"%PDF-", "png": b"\x89PNG\r\n\x1a\n", "jpeg": b"\xff\xd8\xff"}


class PaperFile(NamedTuple):
    """A paper's bytes, and what sort of file they are: pdf, png or jpeg."""

    data: bytes
    sort: str


def read_paper(name: str) -> PaperFile | Problem:
    """The paper in a file, or what is wrong with it. What the file is called says nothing."""
    path = Path(name)
    try:
        with path.open("rb") as file:
            data = file.read(MOST_OCTETS + 1)
    except OSError as fault:
        return Problem(name, f"cannot be read: {fault.strerror}")
    if not data:
        return Problem(name, "is empty: scan it again")
    if len(data) > MOST_OCTETS:
        words = f"is larger than {MOST_OCTETS // 2**20} MB: scan it with fewer dots an inch"
        return Problem(name, words)
    for sort, begin in _BEGINS.items():
        if data.startswith(begin):
            return PaperFile(data, sort)
    return Problem(name, f"is none of {', '.join(_BEGINS)}: scan or photograph it anew")
