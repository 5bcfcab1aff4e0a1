"""Has anyone touched the book: its tally, its check, its copies."""

from __future__ import annotations

import contextlib
import datetime as dt
from pathlib import Path
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk import stamps, witness
from fleetcare.desk.asking import asking
from fleetcare.desk.clocks import clocks_ahead
from fleetcare.desk.erase import bytes_left
from fleetcare.desk.session import left_by_killed
from fleetcare.desk.tally import Held, Tally, as_kept, as_typed, is_tally
from fleetcare.errors import stays
from fleetcare.store import backup, ledger, notes, papers, shape
from fleetcare.store.engine import Connection, has_log, reading, shown
from fleetcare.store.tables import SCHEMA

STALE = dt.timedelta(days=7)
"""How old the last copy may grow before it is spoken of; common practice, no source."""

_UNREAD = "no record was read, for a table or a column is not there: restore the last good copy"


class Status(NamedTuple):
    """The book at a glance."""

    records: int
    tally: str
    root: str
    last_written: str
    rulebook: str
    last_backup_at: str | None
    database: str
    schema: str


class Verified(NamedTuple):
    """What a check of the book found, what only bears a caution, and the head."""

    found: Held
    cautions: list[str]
    head: ledger.Head

    @property
    def held(self) -> list[str]:
        """What holds."""
        return self.found.held

    @property
    def faults(self) -> list[str]:
        """Everything that is at fault."""
        return self.found.faults

    def as_data(self) -> dict[str, Any]:
        """For programs."""
        return {
            "sound": self.found.sound, "faults": self.faults, "size": self.head.size,
            "root": self.head.root, "hints": self.found.hints, "cautions": self.cautions,
        }  # fmt: skip


def status(place: str) -> Status:
    """How much the book holds, its tree head, and the rules in use."""
    with asking(place) as asked:
        head = ledger.head_of(asked.connection)
        last = backup.last_made(place)
        return Status(
            head.size, head.short, head.root, head.recorded_at, asked.book.digest, last,
            shown(place), SCHEMA,
        )  # fmt: skip


def tidied(place: str) -> list[str]:
    """Remove what killed runs left beside the book, and where its copy and its witness lie, and the
    bytes of what was erased that a reader still held."""
    kept = [note.file for what in (notes.COPY, notes.WITNESS) if (note := notes.kept(place, what))]
    beside = [left_by_killed(one) for one in (place, *kept)]
    gone = [line for lines in beside for line in lines] or ["No killed run left anything."]
    return gone + bytes_left(place)


def copy_wanted(place: str, found: Status) -> list[str]:
    """What to say when the last verified copy is old or not known of.

    Nothing of a PostgreSQL book, whose copies its server's keeper takes.
    """
    if "://" in place:
        return []
    wanted = 'take one with "fleetcare backup -o FILE" and keep it on another machine'
    if found.last_backup_at is None:
        return [f"no copy of this book is known of: {wanted}"]
    made = dt.datetime.fromisoformat(found.last_backup_at)
    if clock.now() - made > STALE:
        return [f"the last copy is more than {STALE.days} days old: {wanted}"]
    return []


def verify(
    place: str, tallies: tuple[str, ...] = (), files: tuple[str, ...] = (), ca: str | None = None
) -> Verified:
    """Check the book, and hold it to older tallies, typed or as `status --json` wrote them, and to
    witnesses, with their time-stamps where certificates to trust are given."""
    older = [*map(as_typed, tallies), *map(as_kept, filter(is_tally, files))]
    witnesses = [witness.told(name) for name in files if not is_tally(name)]
    found = Held([], [], [])
    with reading(place) as connection:
        head = ledger.head_of(connection)
        found.faults.extend([*shape.faults(connection), *_journal_faults(place)])
        if shape.lacking(connection):
            found.faults.append(_UNREAD)
            return Verified(found, [], head)
        found.faults.extend([*ledger.faults(connection), *_paper_faults(place, connection)])
        if not found.faults:
            words = f"All {head.size:,} records are as they were written down. {_line(head)}"
            found.held.append(words)
        for tally in older:
            _hold(connection, found, tally, head.size)
        for one in witnesses:
            with contextlib.suppress(ValueError):  # a leaf that is no hash, told among the faults
                witness.hold(connection, found, one)
        cautions = clocks_ahead(connection)
    for one in witnesses:
        cautions += stamps.hold(found, one, ca)
    return Verified(found, cautions, head)


def _hold(connection: Connection, found: Held, tally: Tally, size: int) -> None:
    if tally.size > size:
        words = f"fewer than the {tally.size:,} of the tally {tally.named!r}"
        found.faults.append(f"the book holds {size:,} records, {words}")
        return
    with contextlib.suppress(ValueError):  # a leaf that is no hash, told among the faults
        found.hold(tally, ledger.root_at(connection, tally.size))


def _journal_faults(place: str) -> list[str]:
    """A journal mode that this program did not set. A copy beside its manifest is in one file, so
    that it can be carried."""
    if "://" in place or backup.manifest_of(Path(place)).exists() or has_log(Path(place)):
        return []
    return [
        "the journal mode is not the one this program sets (WAL): who reads and who writes would "
        f'wait for each other. Set it again with: fleetcare --db "{place}" init'
    ]


def _paper_faults(place: str, connection: Connection) -> list[str]:
    if not papers.asked_for(connection):
        return []
    return list(papers.faults(papers.folder_of(place), connection))


def _line(head: ledger.Head) -> str:
    return f"Tally {head.size:,} records {head.short}, root {head.root}."


def back_up(place: str, target: str) -> list[str]:
    """A verified copy of the book with its manifest."""
    return stays([_copied(f'Copied to "{target}"', backup.back_up(place, target))])


def check_copy(target: str) -> list[str]:
    """Hold a copy to its manifest and read it through."""
    return [_copied(f'"{target}" is sound', backup.check(target))]


def restore(target: str, place: str) -> list[str]:
    """Bring a copy back as a book at a new path."""
    return stays([_copied(f'Restored to "{place}"', backup.restore(target, place))])


def _copied(what: str, made: dict[str, Any]) -> str:
    short = ledger.Head(made["records"], made["root"], made["last_written"]).short
    return f"{what}: {made['records']:,} records, tally {short}, SHA-256 {made['sha256'][:16]}…"
