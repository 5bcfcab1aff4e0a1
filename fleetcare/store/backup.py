"""A verified copy of an SQLite book with its manifest, checked, and brought back to a new path.

Copied by SQLite's own backup, for a file copied while it is written to loses what is still in its
log. Nothing is ever written over; a copy bears its name only once it is whole, on the disk, and has
been read through and found sound.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fleetcare.errors import Problem, Refused
from fleetcare.files import new_file
from fleetcare.store import ledger, notes, papers
from fleetcare.store.engine import called, faults_told, in_one_file, left_beside, reading, with_log
from fleetcare.store.tables import SCHEMA


def back_up(place: str, target: str) -> dict[str, Any]:
    """Copy a book to a new file beside which its manifest is put. Returns the manifest.

    Refused for a PostgreSQL book, a file that is there already, or a book that is not sound.
    """
    if "://" in place:
        words = "is a PostgreSQL book: copy it with the server's own pg_dump"
        raise Refused([Problem("--db", words)])
    with reading(place):
        pass  # ours, and of this schema
    path = Path(target)
    for taken in (manifest_of(path), *left_beside(path)):
        if taken.exists():
            raise Refused([Problem(str(taken), "is there already: name another file")])
    with (
        new_file(target, private=True) as part,
        papers.new_folder(target) as scans,
        faults_told(place, fills=target),
        called(part, target),
    ):
        # Names of files may hold "%" and "#", which mean something else in an address.
        source = sqlite3.connect(f"file:{quote(os.path.abspath(place))}?mode=ro", uri=True)
        with contextlib.closing(source), contextlib.closing(sqlite3.connect(part)) as copy:
            source.backup(copy)
        in_one_file(part)
        with reading(str(part)) as connection:
            papers.copy(connection, papers.folder_of(place), scans)
        made = _manifest(part, scans, place)
    try:
        with new_file(str(manifest_of(path))) as part:
            part.write_text(json.dumps(made, indent=2) + "\n", encoding="utf-8")
    except Refused:
        path.unlink(missing_ok=True)  # a copy without its manifest can't be told to be one
        raise
    with contextlib.suppress(OSError):  # the copy is made; a note not kept only warns too soon
        notes.keep(place, notes.COPY, str(path))
    return made


def refuse_left(place: str) -> None:
    """Refused where something lies beside a path that an SQLite book there would be read with."""
    left = left_beside(Path(place))
    if left:
        words = "was left by a book that is gone: move it away, or name another path"
        raise Refused([Problem(str(one), words) for one in left])


def last_made(place: str) -> str | None:
    """When the last verified copy of a book was made, in UTC; None where no note tells."""
    note = notes.kept(place, notes.COPY)
    return note.at if note else None


def manifest_of(path: Path) -> Path:
    """Where the manifest of a copy lies: beside it."""
    return Path(f"{path}.manifest.json")  # a folder such as "." has no name to add to


def _manifest(path: Path, scans: Path, shown: str) -> dict[str, Any]:
    """What a copy with its folder of papers is, read through; Refused, under the name it is to be
    `shown` by, when it is not sound."""
    with reading(str(path)) as connection:
        kept = papers.asked_for(connection)
        found = [*ledger.faults(connection), *papers.faults(scans, connection)]
        head = ledger.head_of(connection)
    if found:
        raise Refused([Problem(shown, fault) for fault in found])
    return {
        "records": head.size,
        "root": head.root,
        "last_written": head.recorded_at,
        "papers": len({one.digest for one in kept}),
        "schema": SCHEMA,
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
    }


def check(target: str) -> dict[str, Any]:
    """Hold a copy to its manifest and read it through. Returns the manifest.

    Refused for a copy without one, one whose bytes are others, or one that is not sound.
    """
    path = Path(target)
    try:
        kept = json.loads(manifest_of(path).read_text(encoding="utf-8"))
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as fault:
        raise Refused([Problem(str(fault.filename), f"cannot be read: {fault.strerror}")]) from None
    except ValueError:
        raise Refused([Problem(str(manifest_of(path)), "is not a manifest")]) from None
    if not isinstance(kept, dict) or kept.get("sha256") != digest:
        words = "is not the file its manifest was written for: take another copy"
        raise Refused([Problem(target, words)])
    made = _manifest(path, papers.folder_of(target), target)
    if made != kept:
        raise Refused([Problem(target, "does not hold what its manifest says: take another copy")])
    return made


def restore(target: str, place: str) -> dict[str, Any]:
    """Bring a copy back as a book at a new path, checked before and after. Returns the manifest."""
    if "://" in place:
        words = "is no path: a copy is restored to a new file. Move it on with dump and load"
        raise Refused([Problem("--into", words)])
    made = check(target)
    refuse_left(place)
    data = Path(target).read_bytes()
    with new_file(place) as part, papers.new_folder(place) as scans, called(part, place):
        part.write_bytes(data)
        with reading(str(part)) as connection:
            papers.copy(connection, papers.folder_of(target), scans)
        if _manifest(part, scans, place) != made:
            raise Refused([Problem(place, "came out other than the copy: nothing was restored")])
        with_log(part)
    return made
