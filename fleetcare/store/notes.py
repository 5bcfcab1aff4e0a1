"""Notes beside an SQLite book of what was last done with it: copied, told to a witness.

Outside the book, for a copy can't hold its own; where a note is lost, nothing but a reminder is.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import NamedTuple

from fleetcare import clock
from fleetcare.files import put_over

COPY, WITNESS = "copy", "witness"  # what a note is of


class Note(NamedTuple):
    """When something was done, in UTC, and with which file."""

    at: str
    file: str


def _path_of(place: str, what: str) -> Path:
    return Path(f"{place}.last-{what}.json")


def keep(place: str, what: str, file: str) -> None:
    """Note that something was done now. Raises OSError."""
    note = Note(clock.now().isoformat(timespec="seconds"), file)
    put_over(_path_of(place, what), json.dumps(note._asdict()) + "\n")


def kept(place: str, what: str) -> Note | None:
    """What was noted last; None where no note tells."""
    try:
        said = json.loads(_path_of(place, what).read_text(encoding="utf-8"))
        note = Note(said["at"], str(said["file"]))
        return note if dt.datetime.fromisoformat(note.at).tzinfo else None
    except (OSError, ValueError, KeyError, TypeError):
        return None
