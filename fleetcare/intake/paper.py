"""A scan or photo of a paper, read from a file: its bytes, once its type and size are checked."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import NamedTuple

from fleetcare.errors import Problem
from fleetcare.intake import pdf

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
    return paper_of(name, data)


def paper_of(name: str, data: bytes) -> PaperFile | Problem:
    """The paper that bytes are, or what is wrong with them."""
    if not data:
        return Problem(name, "is empty: scan it again")
    if len(data) > MOST_OCTETS:
        words = f"is larger than {MOST_OCTETS // 2**20} MB: scan it with fewer dots an inch"
        return Problem(name, words)
    for sort, begin in _BEGINS.items():
        if data.startswith(begin):
            wrong = pdf.fault(data) if sort == "pdf" else _too_many_dots(data, sort)
            return Problem(name, wrong) if wrong else PaperFile(data, sort)
    return Problem(name, f"is none of {', '.join(_BEGINS)}: scan or photograph it anew")


def _too_many_dots(data: bytes, sort: str) -> str | None:
    """What is wrong with how wide and high a picture says it is; nothing where it does not say."""
    if sort == "jpeg":
        wide, high = _dots_of_jpeg(data)
    else:
        wide, high = struct.unpack(">II", data[16:24]) if len(data) >= 24 else (0, 0)
    return pdf.too_many_dots(wide, high) if wide * high > pdf.MOST_DOTS else None


# The markers that begin a frame, ITU-T T.81 table B.1, from memory: C4, C8 and CC are none.
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}


def _dots_of_jpeg(data: bytes) -> tuple[int, int]:
    """The size in the first frame, segment by segment (ITU-T T.81 B.2.2)."""
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == 0xFF:  # a byte that fills
            at += 1
            continue
        if marker in _FRAMES:
            high, wide = struct.unpack(">HH", data[at + 5 : at + 9])
            return wide, high
        at += 2 + length
    return 0, 0
