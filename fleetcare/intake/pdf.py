"""PDF from others' hands: how many pages, what they unpack to, and the first of them alone.

A few thousand octets of a PDF may unpack to gigabytes, and no setter of pages bounds that: what is
shown is written anew page by page, and only once it is known what it unpacks to.
"""

from __future__ import annotations

import io
import logging
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pypdf import PdfReader

MOST_PAGES = 200  # common practice, no source: a service folder has some thirty
MOST_UNPACKED = 50 * 2**20  # of text and lines, no source: a page of them is under 1 MB
MOST_PARTS = 10_000  # of the tree of its pages, no source
# A4 at 600 dots an inch is 35 million; what is packed small may unpack past any machine.
MOST_DOTS = 100_000_000


class Pages(NamedTuple):
    """The first pages of a PDF as a PDF of their own, how many there are in it and in all."""

    data: bytes
    shown: int
    pages: int


def fault(data: bytes) -> str | None:
    """Why a PDF is not kept; None where it may be. One that cannot be read is kept as it is: it may
    be all the evidence there is, and nobody shows it."""
    found = first_pages(data, MOST_PAGES)
    return found if isinstance(found, str) else None


def first_pages(data: bytes, most: int) -> Pages | str | None:
    """The first pages of a PDF; why it is too much to be kept; None where it cannot be read."""
    from pypdf import apply_configuration
    from pypdf.errors import LimitReachedError

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # it tells of all that it mends
    try:
        with apply_configuration(
            zlib_maximum_output_length=MOST_UNPACKED, page_tree_maximum_entries=MOST_PARTS
        ):
            return _first_pages(data, most)
    except LimitReachedError:
        return _TOO_MUCH
    except Exception:  # whatever a broken file makes its reader raise
        return None


def _first_pages(data: bytes, most: int) -> Pages | str:
    """Written anew with what these pages need alone, and looked through as it then is."""
    from pypdf import PdfReader, PdfWriter

    pages = PdfReader(io.BytesIO(data)).pages
    if len(pages) > MOST_PAGES:
        return f"has {len(pages):,} pages, over {MOST_PAGES}: attach those that matter"
    writer = PdfWriter()
    for page in pages[:most]:
        writer.add_page(page)
    made = io.BytesIO()
    writer.write(made)
    wrong = _unpacked(PdfReader(made))
    return wrong or Pages(made.getvalue(), min(len(pages), most), len(pages))


def _unpacked(reader: PdfReader) -> str | None:
    """What is too much of a PDF: a picture's dots, or all its text and lines unpacked."""
    from pypdf.generic import IndirectObject, StreamObject

    unpacked = 0
    for generation, places in reader.xref.items():
        for number in places:
            part = reader.get_object(IndirectObject(number, generation, reader))
            if not isinstance(part, StreamObject):
                continue
            if part.get("/Subtype") == "/Image":
                wide, high = int(part.get("/Width", 0)), int(part.get("/Height", 0))
                if wide * high > MOST_DOTS:
                    return too_many_dots(wide, high)
                continue
            unpacked += len(part.get_data())
            if unpacked > MOST_UNPACKED:
                return _TOO_MUCH
    return None


def too_many_dots(wide: int, high: int) -> str:
    """That a picture is larger than any scan, and what to do."""
    return f"is {wide:,} by {high:,} dots, over {MOST_DOTS:,}: scan it with fewer dots an inch"


_TOO_MUCH = (
    f"unpacks to over {MOST_UNPACKED // 2**20} MB, or to more parts than a paper has: print it to "
    "a new PDF, or scan it"
)
