"""Emptying names and words: text and salt go, what commits to them stays, so the ledger holds.

Without its salt a commitment can't be guessed back. SQLite writes over what is emptied
(`secure_delete`) and its log is cut to nothing afterwards; PostgreSQL is told to write the table
anew, which keeps the rows that an older reader may still ask for. Copies taken earlier, and a
server's own log and archive, are not reached from here.
"""

from __future__ import annotations

import contextlib
import unicodedata
from collections.abc import Iterator
from typing import NamedTuple

import sqlalchemy as sa
from sqlalchemy.exc import OperationalError

from fleetcare.records.fields import SECRET, fields_of
from fleetcare.records.kept import Erasure
from fleetcare.store import tables
from fleetcare.store.engine import LOCK_NOT_AVAILABLE, engine_for, faults_told

_MOST = 500
# How long the table is waited for: whoever asks meanwhile stands behind us in the server's queue.
_VACUUM_SECONDS = 2
# Readers of this database whose book is older than what was emptied last: for them the server
# carries the rows of then into the table it writes anew.
_OLDER_READERS = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()
  AND age(backend_xmin) >= (SELECT min(age(xmin)) FROM said WHERE text IS NULL)
"""


class Use(NamedTuple):
    """A record that holds a commitment, in which field; `recorded_by` is who wrote it down."""

    number: int
    field: str


def commitments_to(connection: sa.Connection, text: str) -> list[str]:
    """Every commitment that stands for just this text."""
    said = tables.said.c
    wanted = unicodedata.normalize("NFC", text)
    rows = connection.execute(sa.select(said.commitment, said.text).where(said.text.is_not(None)))
    return [made for made, found in rows if unicodedata.normalize("NFC", found) == wanted]


def containing(connection: sa.Connection, text: str) -> list[str]:
    """Every commitment to words that hold a text among others."""
    said = tables.said.c
    rows = connection.execute(sa.select(said.commitment, said.text).where(said.text.is_not(None)))
    return [made for made, found in rows if text in found and found != text]


def word_columns() -> list[tuple[sa.Table, str]]:
    """Every column that holds a commitment to a name or to words."""
    return [(tables.record, "recorded_by")] + [
        (table, field.name)
        for record, table in tables.TABLES.items()
        for field in fields_of(record)
        if field.holds in SECRET
    ]


def uses_of(connection: sa.Connection, commitments: list[str]) -> list[Use]:
    """Where commitments stand, in order of record."""
    found = []
    for table, name in word_columns():
        for part in _parts(commitments):
            query = sa.select(table.c.number).where(table.c[name].in_(part))
            found += [Use(n, name) for n in connection.execute(query).scalars()]
    return sorted(found)


def _parts(commitments: list[str]) -> Iterator[list[str]]:
    """As many at a time as any driver takes in one statement."""
    for start in range(0, len(commitments), _MOST):
        yield commitments[start : start + _MOST]


def empty(connection: sa.Connection, commitments: list[str]) -> int:
    """Empty the texts and salts of commitments; gives how many held any."""
    said = tables.said
    emptied = 0
    for part in _parts(commitments):
        query = sa.update(said).values(salt=None, text=None)
        query = query.where(said.c.commitment.in_(part), said.c.text.is_not(None))
        emptied += connection.execute(query).rowcount
    return emptied


def anything_erased(connection: sa.Connection) -> bool:
    """Whether a name or words were ever emptied."""
    query = sa.select(tables.TABLES[Erasure].c.number).limit(1)
    return connection.execute(query).first() is not None


def scrub(place: str) -> bool:
    """After the commit: leave no byte of what was emptied in the log or in dead rows.

    False where another reader still holds them: it is then to be done again.
    """
    with faults_told(place):
        engine = engine_for(place)
        try:
            if engine.dialect.name == "postgresql":
                return _written_anew(engine)
            with contextlib.closing(engine.raw_connection()) as raw:
                busy = raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
            return not busy
        finally:
            engine.dispose()


def _written_anew(engine: sa.Engine) -> bool:
    """Whether the server wrote the table anew, which it skips for a role that does not own it, and
    with no older reader to keep the rows of then for."""
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        older, file = connection.exec_driver_sql(_OLDER_READERS).scalar_one(), _file(connection)
        connection.exec_driver_sql(f"SET lock_timeout = '{_VACUUM_SECONDS}s'")
        try:
            connection.exec_driver_sql("VACUUM FULL said")
        except OperationalError as fault:
            if getattr(fault.orig, "sqlstate", None) != LOCK_NOT_AVAILABLE:
                raise
            return False
        return not older and _file(connection) != file


def _file(connection: sa.Connection) -> str:
    path: str = connection.exec_driver_sql("SELECT pg_relation_filepath('said')").scalar_one()
    return path
