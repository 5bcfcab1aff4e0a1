"""Papers kept under their SHA-256 beside the database. The names on disk are ours alone.

A file is written whole before the record that names it; a write that fails leaves at most a file
that no record asks for.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import sqlalchemy as sa

from fleetcare.errors import DatabaseFault, Problem, Refused
from fleetcare.files import new_file, new_folder_beside
from fleetcare.records.kept import FleetScan, Scan
from fleetcare.records.kinds import Withdrawal
from fleetcare.store import tables

_SUFFIX = {"pdf": ".pdf", "png": ".png", "jpeg": ".jpg"}
_SORT = {suffix: sort for sort, suffix in _SUFFIX.items()}


class Kept(NamedTuple):
    """A paper that a record asks for: the record of it, what it is the paper of, and the file."""

    number: int
    record: int
    digest: str
    sort: str
    octets: int


def folder_of(place: str) -> Path:
    """Where the papers of a book lie: beside an SQLite file; for PostgreSQL, which has no beside,
    where FLEETCARE_PAPERS says. Raises DatabaseFault where it says nothing."""
    if "://" not in place:
        return Path(f"{place}.papers")
    named = os.environ.get("FLEETCARE_PAPERS")
    if not named:
        raise DatabaseFault(
            "a PostgreSQL book keeps its papers in a folder of their own: set FLEETCARE_PAPERS"
        )
    return Path(named)


@contextlib.contextmanager
def new_folder(place: str) -> Iterator[Path]:
    """A folder for the papers of a book being made, that takes its own name when all is there.

    Where one lies there without its book, as a run killed between the two leaves it, what is asked
    for is put by in it and nothing is taken out: a paper goes by its digest. Refused where it is no
    folder; nothing is left behind when it fails, or where it stayed empty.
    """
    folder = folder_of(place)
    if folder.exists() and not folder.is_dir():
        raise Refused([Problem(str(folder), "is there already: name another file")])
    if not folder.parent.is_dir():
        raise Refused([Problem(place, "cannot be written: No such file or directory")])
    with new_folder_beside(str(folder)) as made:
        part = made / "papers"
        part.mkdir()
        yield part
        for paper in sorted(part.glob("*/*")) if folder.exists() else ():
            keep(folder, paper.read_bytes(), _SORT[paper.suffix])
        if any(part.iterdir()) and not folder.exists():
            part.rename(folder)


def folders_beside(place: str) -> list[Path]:
    """Every folder in which a run that writes a book or its papers makes its parts."""
    beside = [] if "://" in place else [Path(place).parent]
    if "://" not in place or os.environ.get("FLEETCARE_PAPERS"):
        folder = folder_of(place)
        beside += [folder, *folder.iterdir()] if folder.is_dir() else []
    return [one for one in beside if one.is_dir()]


def path_of(folder: Path, digest: str, sort: str) -> Path:
    """Where a paper lies in a folder of papers."""
    return folder / digest[:2] / f"{digest}{_SUFFIX.get(sort, '')}"


def digest_of(data: bytes) -> str:
    """The SHA-256 a paper goes by."""
    return hashlib.sha256(data).hexdigest()


def keep(folder: Path, data: bytes, sort: str) -> None:
    """Put a paper by, once, in the place of one that was damaged. Refused where it can't be."""
    digest = digest_of(data)
    path = path_of(folder, digest, sort)
    try:
        if path.is_file() and path.read_bytes() == data:
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)  # what lay there was not what its name says
    except OSError as fault:
        raise Refused([Problem(str(path), f"cannot be kept: {fault.strerror}")]) from None
    with new_file(str(path)) as part:
        part.write_bytes(data)


def remove(path: Path) -> None:
    """Do away with a paper's file. Raises DatabaseFault where it can't be: it is to be done by
    hand."""
    try:
        path.unlink(missing_ok=True)
    except OSError as fault:
        raise DatabaseFault(f'"{path}" cannot be removed: {fault.strerror}. Remove it.') from None


def asked_for(connection: sa.Connection, van: str | None = None) -> list[Kept]:
    """Every paper that a record asks for, or one of a van, in order of record; withdrawn ones ask
    for none."""
    withdrawn = sa.select(tables.TABLES[Withdrawal].c.record)
    found = []
    for record in (Scan, FleetScan) if van is None else (Scan,):
        table: Any = tables.TABLES[record].c
        query = sa.select(table.number, table.record, table.digest, table.sort, table.octets)
        query = query.where(table.digest.is_not(None), table.number.not_in(withdrawn))
        if van is not None:
            query = query.where(table.van == van)
        found += [Kept(*row) for row in connection.execute(query)]
    return sorted(found)


def faults(folder: Path, connection: sa.Connection) -> Iterator[str]:
    """Every paper that is missing or is not the one that was kept, a sentence each."""
    for one in asked_for(connection):
        wrong = _wrong(folder, one)
        if wrong:
            yield f"#{one.number}: the paper of #{one.record} {wrong}"


def _wrong(folder: Path, one: Kept) -> str | None:
    path = path_of(folder, one.digest, one.sort)
    try:
        data = path.read_bytes()
    except OSError as fault:
        return f'cannot be read from "{path}": {fault.strerror}'
    if digest_of(data) != one.digest:
        return f'was changed: "{path}" is not the file that was kept'
    return None


def copy(connection: sa.Connection, source: Path, target: Path) -> None:
    """Copy every paper that a book asks for. Refused where one is missing or changed."""
    for one in asked_for(connection):
        keep(target, read(source, one), one.sort)


def read(folder: Path, one: Kept) -> bytes:
    """A paper's bytes. Refused where it is missing or changed."""
    wrong = _wrong(folder, one)
    if wrong:
        raise Refused([Problem("", f"#{one.number}: the paper of #{one.record} {wrong}")])
    return path_of(folder, one.digest, one.sort).read_bytes()
