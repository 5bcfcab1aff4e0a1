"""Has anyone touched the book: its tally, its check, the proof of one record."""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.errors import Problem, Refused, stays
from fleetcare.store import backup, ledger, papers
from fleetcare.store.engine import Connection, reading, shown
from fleetcare.store.tables import SCHEMA

STALE = dt.timedelta(days=7)
"""How old the last copy may grow before it is spoken of; common practice, no source."""
_TALLY = re.compile(r"@?([\d,]+)[: ]+([0-9A-Fa-f-]{9,64})")


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
    """What a check of the book found: what holds, every fault, and the head."""

    held: list[str]
    faults: list[str]
    head: ledger.Head

    def as_data(self) -> dict[str, Any]:
        """For programs."""
        size, root, _ = self.head
        return {"sound": not self.faults, "faults": self.faults, "size": size, "root": root}


def status(place: str) -> Status:
    """How much the book holds, its tree head, and the rules in use."""
    with asking(place) as asked:
        head = ledger.head_of(asked.connection)
        last = backup.last_made(place)
        return Status(
            head.size, head.short, head.root, head.recorded_at, asked.book.digest, last,
            shown(place), SCHEMA,
        )  # fmt: skip


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


def verify(place: str, tallies: tuple[str, ...] = (), files: tuple[str, ...] = ()) -> Verified:
    """Check the book, and hold older tallies to it, typed or as `status --json` wrote them."""
    older = [*((typed, *_read(typed)) for typed in tallies), *map(_kept, files)]
    held: list[str] = []
    with reading(place) as connection:
        found = [*ledger.faults(connection), *_paper_faults(place, connection)]
        head = ledger.head_of(connection)
        if not found:
            held.append(f"All {head.size:,} records are as they were written down. {_line(head)}")
        for typed, size, root in older:
            if size > head.size:
                found.append(f"the book holds {head.size:,} records, fewer than the {size:,} of it")
            elif ledger.root_at(connection, size).startswith(root):
                held.append(f"The first {size:,} records are those of the tally {typed!r}.")
            else:
                found.append(f"the first {size:,} records are not those of the tally {typed!r}")
    return Verified(held, found, head)


def _paper_faults(place: str, connection: Connection) -> list[str]:
    if not papers.asked_for(connection):
        return []
    return list(papers.faults(papers.folder_of(place), connection))


def _line(head: ledger.Head) -> str:
    return f"Tally {head.size:,} records {head.short}, root {head.root}."


def _read(typed: str) -> tuple[int, str]:
    """A tally as printed: how many records, and its root or the beginning of it."""
    match = _TALLY.fullmatch(typed.strip())
    if not match:
        words = f'"{typed}" is not a tally: type it as printed, like "4,812 7F3A-91C0"'
        raise Refused([Problem("--tally", words)])
    return int(match[1].replace(",", "")), match[2].replace("-", "").lower()


def _kept(name: str) -> tuple[str, int, str]:
    """An older status kept in a file: its name, how many records, the root."""
    try:
        kept = json.loads(Path(name).read_text(encoding="utf-8"))
        size, root = kept["records"], kept["root"]
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    except (ValueError, KeyError, TypeError):
        size, root = None, None
    if type(size) is not int or size < 0 or not re.fullmatch(r"[0-9a-f]{64}", str(root)):
        words = 'holds no "records" and "root": give what "fleetcare status --json" wrote'
        raise Refused([Problem(name, words)])
    return name, size, root


def prove(place: str, number: int) -> dict[str, Any]:
    """The inclusion proof of a record; Refused where there is none."""
    with reading(place) as connection:
        try:
            return ledger.proof_of(connection, number)
        except IndexError:
            raise Refused([Problem("", f"there is no record #{number}")]) from None


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
