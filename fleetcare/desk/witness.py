"""The witness: a file away from the book that is told now and then how it stands, and bears it out
later, or does not."""

from __future__ import annotations

import datetime as dt
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk.tally import Held, is_hash
from fleetcare.errors import Problem, Refused, UsageFault, stays
from fleetcare.store import ledger
from fleetcare.store import witness as store
from fleetcare.store.engine import Connection, reading
from fleetcare.store.witness import Line
from fleetcare.words.days import day_words

STALE = dt.timedelta(days=8)
"""How old the newest line may grow before it is spoken of: a Monday's, and a day more."""
_MOST = 100_000_000  # octets of a file that is looked at
_LOST = "bring it back, or begin another with fleetcare witness --to FILE"
_WHOLE = "take a copy of it from where else one lies"


class Witness(NamedTuple):
    """A file and its lines, by their number in it; each follows the one before."""

    name: str
    lines: dict[int, Line]

    @property
    def last(self) -> Line | None:
        """The newest line."""
        return next(reversed(self.lines.values()), None)

    def unlike(self, leaves: list[bytes]) -> str | None:
        """What tells a book that is not the one it saw, with its line; None of the one it saw."""
        numbers, lines = list(self.lines), list(self.lines.values())
        place = store.first_unlike(leaves, lines)
        if place is None:
            return None
        line, where = lines[place], f'"{self.name}", line {numbers[place]}'
        seen = f"on {day_words(dt.datetime.fromisoformat(line.at).date())}"
        if place == 0 and line.size <= len(leaves):
            return (
                f"{where}: the first {line.size:,} records are not those it saw {seen}: it is the "
                "witness of another book, or this one was written anew from its beginning"
            )
        if line.size > len(leaves):
            return (
                f"{where}: the book held {line.size:,} records {seen} and holds {len(leaves):,}: "
                "an old copy was put in its place, or its end was cut off"
            )
        return (
            f"{where}: the first {line.size:,} records are not those it saw {seen}. Line "
            f"{numbers[place - 1]} holds, so what was changed stands among "
            f"#{lines[place - 1].size + 1} to #{line.size}"
        )


def add(place: str, to: str | None) -> list[str]:
    """Tell a file how the book stands, or the one that was told last, which is remembered.

    Refused, and nothing is added, where the book is not the one that the file saw.
    """
    name = to or store.remembered(place)
    if not name:
        raise UsageFault(
            "say which file is the witness: add --to FILE, one that lies away from the book, on a "
            "share or a stick"
        )
    witness = _read(name) if os.path.lexists(name) else _begun(name, place, to)
    with reading(place) as connection:
        leaves = store.sound_leaves(connection)
    unlike = witness.unlike(leaves)
    if unlike:
        words = "nothing was added to it. Where it is of another book, name another with --to"
        raise Refused([unlike, words])
    line = store.line_of(leaves, witness.last)
    store.put(name, [*witness.lines.values(), line])
    grew = f", grown from {witness.last.size:,} by added records alone" if witness.last else ""
    lines = [
        f'Line {len(witness.lines) + 1} of "{name}": {line.size:,} records, tally '
        f"{ledger.short_of(line.root)}{grew}."
    ]
    try:
        store.remember(place, name)
    except OSError as fault:
        lines.append(f"Caution: which file it is could not be noted by the book: {fault.strerror}")
    return stays(lines)


def told_again(place: str) -> tuple[list[str], Path | None]:
    """Tell the witness that is remembered how the book stands: what to say of it, and the file
    where it was told. What goes wrong with it stops nothing else."""
    name = store.remembered(place)
    if name is None:
        return [], None
    try:
        return add(place, None), Path(name)
    except Refused as fault:
        words = "Caution: the witness was not told how the book stands"
        return [f"{words}: {problem}" for problem in fault.problems], None


def _begun(name: str, place: str, to: str | None) -> Witness:
    """A new file; Refused for the one that was told last, which is gone then."""
    last = store.remembered(place)
    noted = "://" not in place  # a setting may name a file before it is begun
    if to is None or (noted and last and os.path.realpath(name) == os.path.realpath(last)):
        raise Refused([Problem(name, f"is gone since it was told last: {_LOST}")])
    return Witness(name, {})


def hold(connection: Connection, found: Held, witness: Witness) -> None:
    """Hold the book to every line of a witness. Raises ValueError for a leaf that is no hash."""
    unlike = witness.unlike(ledger.leaves_of(connection))
    if unlike:
        found.faults.append(unlike)
        return
    first, *_ = witness.lines.values()
    last = witness.last or first
    found.held.append(
        f'"{witness.name}" bears the book out line by line, from {first.size:,} records to '
        f"{last.size:,}: what it saw is there unchanged."
    )


def wanted(place: str) -> list[str]:
    """What to say where the witness of a book is not found, is damaged or was not told for long."""
    name = store.remembered(place)
    if name is None:
        return []
    if not os.path.exists(name):
        return [f'the witness "{name}" is not found: {_LOST}']
    try:
        last = _read(name).last
    except Refused as fault:
        return [f"the witness {problem}" for problem in fault.problems]
    if last and clock.now() - dt.datetime.fromisoformat(last.at) > STALE:
        return [
            f'the newest line of the witness "{name}" is more than {STALE.days} days old: add one '
            "with fleetcare witness"
        ]
    return []


def read(name: str) -> Witness:
    """A witness from its file. Refused, with its line, where one was not written here or does not
    follow from the one before."""
    witness = _read(name)
    if not witness.lines:
        raise Refused([Problem(name, 'holds no line: give what "fleetcare witness" wrote')])
    return witness


def _read(name: str) -> Witness:
    try:
        with Path(name).open("rb") as file:
            data = file.read(_MOST + 1)
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    if len(data) > _MOST:
        raise Refused([Problem(name, f"is larger than any witness: {_WHOLE}")])
    return Witness(name, dict(_lines(name, data)))


def _lines(name: str, data: bytes) -> Iterator[tuple[int, Line]]:
    before = None
    for number, raw in enumerate(data.splitlines(), 1):
        line = _line(raw)
        if line is None:
            raise Refused([Problem(f"{name}:{number}", f"is no line of a witness: {_WHOLE}")])
        if not line.follows(before):
            words = f"does not follow from the line before it, so one was changed: {_WHOLE}"
            raise Refused([Problem(f"{name}:{number}", words)])
        yield number, line
        before = line


def _line(raw: bytes) -> Line | None:
    """A line as it was written; None of what is none."""
    try:
        said: Any = json.loads(raw)
        line = Line(*(said[field] for field in Line._fields))
        told = dt.datetime.fromisoformat(line.at).tzinfo
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    known = (
        told is not None
        and type(line.size) is int
        and line.size > 0
        and isinstance(line.consistency, list)
        and all(map(is_hash, (line.root, *line.consistency)))
        and line.as_text().encode() == raw + b"\n"
    )
    return line if known else None
