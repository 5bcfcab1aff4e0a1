"""The witness: a file away from the book that is told now and then how it stands, and bears it out
later, or does not."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

from fleetcare import clock
from fleetcare.desk.tally import Held
from fleetcare.desk.witness_file import Witness, read
from fleetcare.errors import Problem, Refused, UsageFault, stays
from fleetcare.store import ledger
from fleetcare.store import witness as store
from fleetcare.store.engine import Connection, reading
from fleetcare.words.days import day_words

STALE = dt.timedelta(days=8)
"""How old the newest line may grow before it is spoken of: a Monday's, and a day more."""
_LOST = "bring it back, or begin another with fleetcare witness --to FILE"


def add(place: str, to: str | None) -> list[str]:
    """Tell a file how the book stands, or the one that was told last, which is remembered.

    Refused, and nothing is added, where the book is not the one that the file saw.
    """
    name = name_of(place, to)
    witness = read(name) if os.path.lexists(name) else _begun(name, place, to)
    with reading(place) as connection:
        leaves = store.sound_leaves(connection)
    unlike = _unlike(witness, leaves)
    if unlike:
        words = "nothing was added to it. Where it is of another book, name another with --to"
        raise Refused([unlike, words])
    line = store.line_of(leaves, witness.last)
    store.put(name, [*witness.entries.values(), line])
    grew = f", grown from {witness.last.size:,} by added records alone" if witness.last else ""
    lines = [
        f'Line {len(witness.entries) + 1} of "{name}": {line.size:,} records, tally '
        f"{ledger.short_of(line.root)}{grew}."
    ]
    try:
        store.remember(place, name)
    except OSError as fault:
        lines.append(f"Caution: which file it is could not be noted by the book: {fault.strerror}")
    return stays(lines)


def name_of(place: str, to: str | None) -> str:
    """The file that is named, or remembered. UsageFault where neither is."""
    name = to or store.remembered(place)
    if not name:
        raise UsageFault(
            "say which file is the witness: add --to FILE, one that lies away from the book, on a "
            "share or a stick"
        )
    return name


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


def told(name: str) -> Witness:
    """A witness that was told something. Refused for an empty file."""
    witness = read(name)
    if not witness.lines:
        raise Refused([Problem(name, 'holds no line: give what "fleetcare witness" wrote')])
    return witness


def hold(connection: Connection, found: Held, witness: Witness) -> None:
    """Hold the book to every line of a witness. Raises ValueError for a leaf that is no hash."""
    unlike = _unlike(witness, ledger.leaves_of(connection))
    if unlike:
        found.faults.append(unlike)
        return
    first, *_, last = [*witness.lines.values()] * 2
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
        last = read(name).last
    except Refused as fault:
        return [f"the witness {problem}" for problem in fault.problems]
    if last and clock.now() - dt.datetime.fromisoformat(last.at) > STALE:
        return [
            f'the newest line of the witness "{name}" is more than {STALE.days} days old: add one '
            "with fleetcare witness"
        ]
    return []


def _unlike(witness: Witness, leaves: list[bytes]) -> str | None:
    """What tells a book that is not the one it saw, with its line; None of the one it saw."""
    numbers, lines = list(witness.lines), list(witness.lines.values())
    place = store.first_unlike(leaves, lines)
    if place is None:
        return None
    line, where = lines[place], f'"{witness.name}", line {numbers[place]}'
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
