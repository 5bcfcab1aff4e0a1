"""Opening a database, SQLite or PostgreSQL: ours and of this program's schema, or not at all.

SQLite runs in WAL mode with full syncs and foreign keys on. Python's own transaction handling is
switched off: left on, two writers lose updates without a word. A write begins IMMEDIATE and so
waits its turn; a read never waits for a writer.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.pool import NullPool

from fleetcare.errors import DatabaseFault
from fleetcare.store.tables import APPLICATION_ID, SCHEMA

Connection = sa.Connection  # what the desk holds without knowing SQLAlchemy
WAIT_SECONDS = 10
_SNAPSHOT = "REPEATABLE READ"


def url_of(place: str) -> sa.URL:
    """A database's address: a plain path means SQLite."""
    if "://" not in place:
        return sa.URL.create("sqlite", database=place)
    try:
        url = sa.make_url(place)
    except sa.exc.ArgumentError:
        raise DatabaseFault(
            "the database address cannot be read: give a path, or postgresql+psycopg://…"
        ) from None
    if url.get_backend_name() not in ("sqlite", "postgresql"):
        raise DatabaseFault(
            f'"{url.get_backend_name()}" is no database of ours: '
            "use a path for SQLite, or postgresql+psycopg://…"
        )
    return url


def engine_for(place: str, *, create: bool = False) -> sa.Engine:
    """An engine with one connection at a time; an SQLite file is only made when `create` says so.

    Raises DatabaseFault when the file is missing or its address cannot be read.
    """
    url = url_of(place)
    if url.get_backend_name() == "postgresql":
        return sa.create_engine(
            url,
            poolclass=NullPool,
            connect_args={
                "connect_timeout": WAIT_SECONDS,
                "options": f"-c lock_timeout={WAIT_SECONDS}s -c timezone=UTC",
            },
        )
    path = Path(url.database or "")
    if not create and not path.is_file():
        raise DatabaseFault(
            f'there is no database at "{path}". Make one with: fleetcare --db "{path}" init'
        )
    if create and not path.parent.is_dir():
        raise DatabaseFault(f'there is no folder "{path.parent}" to put a database in')
    engine = sa.create_engine(
        sa.URL.create("sqlite", database=str(path)),
        poolclass=NullPool,
        connect_args={"timeout": WAIT_SECONDS, "isolation_level": None},
    )
    sa.event.listen(engine, "connect", _set_up)
    sa.event.listen(engine, "begin", _begin)
    return engine


_unsynced: list[bool] = []


@contextlib.contextmanager
def unsynced() -> Iterator[None]:
    """Do not wait for the disk: only for a sample that can be built again."""
    _unsynced.append(True)
    try:
        yield
    finally:
        _unsynced.pop()


def _set_up(connection: sqlite3.Connection, _record: Any) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute(f"PRAGMA synchronous = {'OFF' if _unsynced else 'FULL'}")
    connection.execute("PRAGMA secure_delete = ON")


def _begin(connection: sa.Connection) -> None:
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextlib.contextmanager
def faults_told(place: str) -> Iterator[None]:
    """Turns what a driver raises into one sentence and exit code 5; no answer is given."""
    try:
        yield
    except DBAPIError as fault:
        raise DatabaseFault(_sentence(fault, shown(place))) from fault


def shown(place: str) -> str:
    """A database's address without its password."""
    return place if "://" not in place else sa.make_url(place).render_as_string(hide_password=True)


def _sentence(fault: DBAPIError, place: str) -> str:
    origin = fault.orig
    code = getattr(origin, "sqlite_errorcode", None)
    if code is not None and code & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return (
            f'"{place}" is locked by another program. Nothing was written or answered; '
            f"tried for {WAIT_SECONDS} seconds. Try again when it is done."
        )
    if code is not None and code & 0xFF == sqlite3.SQLITE_NOTADB:
        return f'"{place}" is not a fleetcare database. Name another with --db.'
    if code is not None and code & 0xFF == sqlite3.SQLITE_CORRUPT:
        return f'"{place}" is damaged. Restore the last good copy before you use it.'
    if code is not None and code & 0xFF == sqlite3.SQLITE_READONLY:
        return f'"{place}" cannot be written to. Check who owns the file and its folder.'
    if code is not None and code & 0xFF == sqlite3.SQLITE_FULL:
        return f'there is no room left to write to "{place}". Nothing was written.'
    if getattr(origin, "sqlstate", None) == "55P03":
        return (
            f'"{place}" is locked by another program. Nothing was written or answered; '
            f"tried for {WAIT_SECONDS} seconds. Try again when it is done."
        )
    if isinstance(fault, OperationalError):
        return f'"{place}" cannot be opened or read: {_first_line(origin)}'
    return f'"{place}" refused: {_first_line(origin)}'


def _first_line(origin: object) -> str:
    return str(origin).strip().splitlines()[0] if str(origin).strip() else "no reason given"


def check_ours(connection: sa.Connection, place: str) -> None:
    """Raises DatabaseFault unless the database is ours and of this program's schema."""
    name = shown(place)
    if connection.dialect.name == "sqlite":
        found = connection.exec_driver_sql("PRAGMA application_id").scalar()
        if found != APPLICATION_ID:
            raise DatabaseFault(f'"{name}" is not a fleetcare database. Name another with --db.')
    elif connection.exec_driver_sql("SELECT to_regclass('ledger_head')").scalar() is None:
        raise DatabaseFault(
            f'"{name}" holds no fleetcare book. Make one with: fleetcare --db "{name}" init'
        )
    version = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    if version != SCHEMA:
        known = isinstance(version, str) and version < SCHEMA
        what = (
            f'older than this program. Bring it up with: fleetcare --db "{name}" init'
            if known
            else "newer than this program. Use a newer fleetcare."
        )
        raise DatabaseFault(f'"{name}" (schema {version}) is {what}')


@contextlib.contextmanager
def reading(place: str) -> Iterator[sa.Connection]:
    """A connection in one read transaction: every question sees the same book."""
    with faults_told(place):
        engine = engine_for(place)
        try:
            with engine.connect() as connection:
                if engine.dialect.name == "postgresql":
                    connection = connection.execution_options(isolation_level=_SNAPSHOT)
                with connection.begin():
                    check_ours(connection, place)
                    yield connection
        finally:
            engine.dispose()


@contextlib.contextmanager
def writing(place: str) -> Iterator[sa.Connection]:
    """A connection in one write transaction that holds the ledger head: one writer at a time."""
    with faults_told(place):
        engine = engine_for(place)
        try:
            with engine.connect().execution_options(writes=True) as connection:
                transaction = connection.begin()
                try:
                    check_ours(connection, place)
                    if engine.dialect.name == "postgresql":
                        connection.exec_driver_sql("LOCK TABLE ledger_head IN EXCLUSIVE MODE")
                    yield connection
                except BaseException:
                    transaction.rollback()
                    raise
                if transaction.is_active:
                    transaction.commit()
        finally:
            engine.dispose()
