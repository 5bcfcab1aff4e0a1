"""Photos taken on a walk round a van, kept beside the book until it is signed."""

from __future__ import annotations

from fleetcare.desk.once import Sent
from fleetcare.desk.scans import read_papers, small_copy
from fleetcare.desk.walks import Begun, Walk, line_open
from fleetcare.errors import Problem, Refused
from fleetcare.files import Given
from fleetcare.intake.paper import PaperFile, paper_of
from fleetcare.store import photos
from fleetcare.store.people import beside

# Photos of a walk, and their octets: common practice, no source. All are written at once.
MOST_PHOTOS, MOST_OCTETS = 40, 100 * 2**20


def photograph(place: str, by: str, walk: Walk, line: str, taken: Given, sent: Sent) -> None:
    """Keep a photo of a line, until the walk is signed. Refused as an answer is, and where it is no
    picture, or there are too many."""
    (read,) = read_papers((taken,))
    with line_open(place, walk, line, sent) as opened:
        if opened is None:
            return
        connection, found = opened
        fault = _no_photo(found, line, read)
        if fault:
            raise Refused([fault if fault.where else fault._replace(field=taken.field)])
        photos.put(connection, walk.sheet, line, read.data, (by, sent.moment))


def _no_photo(found: Begun, line: str, read: PaperFile) -> Problem | None:
    if line not in {one.name for one in found.form.lines}:
        return Problem(line, "is no line of this sheet")
    if read.sort == "pdf":
        return Problem("", "is no picture: take one with the camera")
    if len(found.photos) >= MOST_PHOTOS:
        return Problem("", f"is one more than the {MOST_PHOTOS} of a walk: let go of one")
    if len(read.data) + sum(one.octets for one in found.photos) > MOST_OCTETS:
        most = MOST_OCTETS // 2**20
        return Problem("", f"is more than the {most} MB that the photos of a walk may have")
    return None


def photo(place: str, walk: Walk, number: int) -> bytes | None:
    """A photo of a walk made small; None where there is none of that number."""
    with beside(place) as connection:
        data = photos.data_of(connection, walk.named, number)
    read = paper_of("", data) if data else None
    return small_copy(read) if isinstance(read, PaperFile) else None


def let_go(place: str, walk: Walk, number: int) -> None:
    """Let go of a photo that shows nothing of use, by hand."""
    with beside(place, writes=True) as connection:
        photos.drop(connection, walk.sheet, number)
