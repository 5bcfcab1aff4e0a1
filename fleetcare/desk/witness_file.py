"""A witness's file: its lines, and the time-stamps kept among them."""

from __future__ import annotations

import base64
import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from fleetcare.desk.tally import is_hash
from fleetcare.errors import Problem, Refused
from fleetcare.store.witness import Line, Stamp

_MOST = 100_000_000  # octets of a file that is looked at
_WHOLE = "take a copy of it from where else one lies"


class Witness(NamedTuple):
    """A file and what stands in it, by the number of its line; each line follows the one before,
    and each time-stamp is of one before it."""

    name: str
    entries: dict[int, Line | Stamp]

    @property
    def lines(self) -> dict[int, Line]:
        """What it was told, without the time-stamps."""
        return {n: one for n, one in self.entries.items() if isinstance(one, Line)}

    @property
    def stamps(self) -> dict[int, Stamp]:
        """The time-stamps alone."""
        return {n: one for n, one in self.entries.items() if isinstance(one, Stamp)}

    @property
    def last(self) -> Line | None:
        """The newest line."""
        return next(reversed(self.lines.values()), None)

    @property
    def numbers(self) -> dict[str, int]:
        """The number of each line by its SHA-256."""
        return {line.digest: number for number, line in self.lines.items()}


def read(name: str) -> Witness:
    """A witness from its file, which may hold no line yet. Refused, with its number, where a line
    was not written here or does not follow from those before."""
    return Witness(name, dict(_entries(name, octets_of(name, _MOST))))


def _entries(name: str, data: bytes) -> Iterator[tuple[int, Line | Stamp]]:
    before, digests = None, set()
    for number, raw in enumerate(data.splitlines(), 1):
        entry = _line(raw) or _stamp(raw)
        if entry is None:
            raise Refused([Problem(f"{name}:{number}", f"is no line of a witness: {_WHOLE}")])
        if isinstance(entry, Stamp):
            follows = entry.of in digests
        else:
            follows = entry.follows(before)
            before = entry
            digests.add(entry.digest)
        if not follows:
            words = f"does not follow from those before it, so one was changed: {_WHOLE}"
            raise Refused([Problem(f"{name}:{number}", words)])
        yield number, entry


def _said(raw: bytes) -> dict[str, Any]:
    """The object in a line; an empty one where there is none."""
    try:
        said = json.loads(raw)
    except (ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def _line(raw: bytes) -> Line | None:
    """A line as it was written; None of what is none."""
    try:
        line = Line(*map(_said(raw).__getitem__, Line._fields))
        zone = dt.datetime.fromisoformat(line.at).tzinfo
    except (ValueError, KeyError, TypeError):
        return None
    known = (
        zone is not None
        and type(line.size) is int
        and line.size > 0
        and isinstance(line.consistency, list)
        and all(map(is_hash, (line.root, *line.consistency)))
        and line.as_text().encode() == raw + b"\n"
    )
    return line if known else None


def _stamp(raw: bytes) -> Stamp | None:
    """A time-stamp as it was kept; None of what is none."""
    try:
        stamp = Stamp(*map(_said(raw).__getitem__, Stamp._fields))
        base64.b64decode(stamp.reply, validate=True)
    except (ValueError, KeyError, TypeError):
        return None
    return stamp if is_hash(stamp.of) and stamp.as_text().encode() == raw + b"\n" else None


def octets_of(name: str, most: int) -> bytes:
    """What a file holds. Refused where it can't be read, or holds more than such files do."""
    try:
        with Path(name).open("rb") as file:
            data = file.read(most + 1)
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    if len(data) > most:
        words = f"holds more than {most:,} octets, which no such file does: look what it is"
        raise Refused([Problem(name, words)])
    return data
