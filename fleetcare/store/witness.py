"""What a witness is told of a book: a line each time, and what proves that the book grew from the
line before by added records alone (RFC 9162 2.1.4).

Whoever holds the database can write all of it anew, or put an old copy back. A file that lies
elsewhere shows either, and the first record that was changed stands between two of its lines.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

import sqlalchemy as sa

from fleetcare import clock
from fleetcare.errors import Problem, Refused
from fleetcare.files import put_over
from fleetcare.merkle import consistency_path, consistent, frontier_of, root_of, roots_at
from fleetcare.store import notes
from fleetcare.store.ledger import head_of, leaves_of


class Line(NamedTuple):
    """When, how many records, their root, and the hashes from the size of the line before it."""

    at: str
    size: int
    root: str
    consistency: list[str]

    def follows(self, before: Line | None) -> bool:
        """Whether its proof leads from the line before it; the first needs none and has none."""
        if before is None:
            return not self.consistency
        old, new, *path = map(bytes.fromhex, (before.root, self.root, *self.consistency))
        return consistent(before.size, old, self.size, new, path)

    def as_text(self) -> str:
        """The line as it stands in the file."""
        return json.dumps(self._asdict()) + "\n"

    @property
    def digest(self) -> str:
        """The SHA-256 of the line with its end, by which a time-stamp knows it."""
        return hashlib.sha256(self.as_text().encode()).hexdigest()


class Stamp(NamedTuple):
    """The digest of a line before it, and a time-stamp reply of it (RFC 3161) in base64."""

    of: str
    reply: str

    def as_text(self) -> str:
        """The time-stamp as it stands in the file."""
        return json.dumps(self._asdict()) + "\n"


def sound_leaves(connection: sa.Connection) -> list[bytes]:
    """Every leaf hash in order. Refused for a book without records, and for one of which the head
    is not that of its leaves."""
    head = head_of(connection)
    if not head.size:
        raise Refused([Problem("--db", "the book holds no records: there is nothing to witness")])
    with contextlib.suppress(ValueError):  # a leaf that is no hash
        leaves = leaves_of(connection)
        if len(leaves) == head.size and root_of(frontier_of(leaves)).hex() == head.root:
            return leaves
    words = "the book is not sound: see what is at fault with fleetcare verify"
    raise Refused([Problem("--db", words)])


def line_of(leaves: Sequence[bytes], before: Line | None) -> Line:
    """What a book has to say now, to a witness that heard `before` last and holds it to be true."""
    path = consistency_path(leaves, before.size) if before else []
    at = clock.now().isoformat(timespec="seconds")
    root = root_of(frontier_of(leaves)).hex()
    return Line(at, len(leaves), root, [one.hex() for one in path])


def first_unlike(leaves: Sequence[bytes], lines: Sequence[Line]) -> int | None:
    """The place of the first line that a book does not bear out, of lines that each follow the one
    before; None where it bears out all. After the first none is borne out."""
    found = roots_at(leaves, [line.size for line in lines])
    for place, line in enumerate(lines):
        root = found.get(line.size)
        if root is None or root.hex() != line.root:
            return place
    return None


def put(name: str, entries: Iterable[Line | Stamp]) -> None:
    """Write a witness's file anew with all that is in it, whole or not at all. Refused where that
    can't be done."""
    text = "".join(entry.as_text() for entry in entries)
    try:
        put_over(Path(os.path.realpath(name)), text)  # a link stays one
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be written: {fault.strerror}")]) from None


def remember(place: str, name: str) -> None:
    """Note which file is the witness of an SQLite book. Raises OSError."""
    if "://" not in place:
        notes.keep(place, notes.WITNESS, os.path.abspath(name))


def remembered(place: str) -> str | None:
    """The file that is the witness of a book; for PostgreSQL, which has no beside, the one that
    FLEETCARE_WITNESS names. None where no note tells."""
    if "://" in place:
        return os.environ.get("FLEETCARE_WITNESS")
    note = notes.kept(place, notes.WITNESS)
    return note.file if note else None
