"""Opening a database, SQLite or PostgreSQL: ours and of this program's schema, or not at all.

SQLite runs in WAL mode with full syncs and foreign keys on. Python's own transaction handling is
switched off: left on, two writers lose updates without a word. A write begins IMMEDIATE and so
waits its turn; a read never waits for a writer.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.pool import NullPool

from fleetcare.errors import DatabaseFault
from fleetcare.store.tables import APPLICATION_ID, SCHEMA

Connection = sa.Connection  # what the desk holds without knowing SQLAlchemy
WAIT_SECONDS = 10
LOCK_NOT_AVAILABLE = "55P03"  # PostgreSQL's documentation, appendix A: error codes
_SNAPSHOT = "REPEATABLE READ"
_JOURNAL, _WAL = 18, 2  # the octet of a file that tells its journal mode (SQLite file format, 1.3)


def url_of(place: str) -> sa.URL:
    """A database's address: a plain path means SQLite."""
    if "://" not in place:
        return sa.URL.create("sqlite", database=place)
    try:
        url = sa.make_url(place)
    except (sa.exc.ArgumentError, ValueError):
        raise DatabaseFault(
            "the database address cannot be read: give a path, or postgresql+psycopg://…"
        ) from None
    if url.drivername != "postgresql+psycopg":
        raise DatabaseFault(
            f'"{url.drivername}" is no database of ours: '
            "use a plain path for SQLite, or postgresql+psycopg://…"
        )
    return url


def engine_for(place: str, *, create: bool = False, wait: int | None = None) -> sa.Engine:
    """An engine with one connection at a time; an SQLite file is only made when `create` says so.
    A lock is waited for `wait` seconds, or as long as anywhere.

    Raises DatabaseFault when the file is missing or its address cannot be read.
    """
    url, wait = url_of(place), WAIT_SECONDS if wait is None else wait
    if url.get_backend_name() == "postgresql":
        return _postgresql(url, wait)
    path = Path(url.database or "")
    if not create and not path.is_file():
        raise DatabaseFault(
            f'there is no database at "{path}". Make one with: fleetcare --db "{path}" init'
        )
    if create and not path.parent.is_dir():
        raise DatabaseFault(f'there is no folder "{path.parent}" to put a database in')
    plain = sa.URL.create("sqlite", database=str(path))
    return _sqlite(_immutable(path) if _sealed(path) else plain, wait)


# An engine keeps what it compiled and, with no pool, no connection: one a database is enough for a
# whole process, and a sample of seven hundred commands is built in half the time.
@lru_cache(maxsize=32)
def _postgresql(url: sa.URL, wait: int) -> sa.Engine:
    options = f"-c lock_timeout={wait}s -c timezone=UTC"
    return sa.create_engine(
        url, poolclass=NullPool, connect_args={"connect_timeout": wait, "options": options}
    )


@lru_cache(maxsize=32)
def _sqlite(url: sa.URL, wait: int) -> sa.Engine:
    engine = sa.create_engine(
        url, poolclass=NullPool, connect_args={"timeout": wait, "isolation_level": None}
    )
    sa.event.listen(engine, "connect", _set_up)
    sa.event.listen(engine, "begin", _begin)
    return engine


def _sealed(path: Path) -> bool:
    """Whether a file can only be read as it lies: nothing may be written beside it, and nothing
    lies there that belongs to it. SQLite then asks for no log of its own."""
    return path.is_file() and not os.access(path.parent, os.W_OK) and not left_beside(path)


def left_beside(path: Path) -> list[Path]:
    """What lies beside an SQLite file and belongs to it: its log, or one left by another file of
    that name. A book put there would be read together with it."""
    return [p for end in ("-wal", "-shm", "-journal") if (p := Path(f"{path}{end}")).exists()]


def _seen(path: Path) -> tuple[int, int]:
    """What tells whether a file was written to meanwhile."""
    found = path.stat()
    return found.st_mtime_ns, found.st_size


def _immutable(path: Path) -> sa.URL:
    name = f"file:{quote(str(path.absolute()))}?immutable=1"
    return sa.URL.create("sqlite", database=name, query={"uri": "true"})


def _refuse_unsealed(place: str, seen: tuple[int, int] | None) -> None:
    """A file that was read as it lay was not written to meanwhile."""
    if seen is not None and (not _sealed(Path(place)) or _seen(Path(place)) != seen):
        raise DatabaseFault(
            f'"{place}" was opened by a writer while it was read. Nothing was answered; ask again.'
        )


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


_called: dict[str, str] = {}


@contextlib.contextmanager
def called(part: Path, name: str) -> Iterator[None]:
    """What is said of a part meanwhile is said of the name that it is to bear."""
    _called[str(part)] = name
    try:
        yield
    finally:
        del _called[str(part)]


@contextlib.contextmanager
def faults_told(
    place: str, *, fills: str | None = None, waited: int | None = None
) -> Iterator[None]:
    """Turns what a driver raises into one sentence and exit code 5; no answer is given. `fills`:
    what is written meanwhile, where it is another, and lies on the disk that may be full; `waited`:
    how long a lock was waited for."""
    try:
        yield
    except DBAPIError as fault:
        operational = isinstance(fault, OperationalError)
        raise DatabaseFault(_sentence(fault.orig, shown(place), operational, waited)) from fault
    except sa.exc.NoResultFound:
        raise DatabaseFault(_DAMAGED.format(place=shown(place))) from None
    except sqlite3.Error as fault:  # a setting made outside any transaction
        full = getattr(fault, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_FULL
        where = fills if fills and full else place
        raise DatabaseFault(_sentence(fault, shown(where), True, waited)) from fault


def shown(place: str) -> str:
    """A database's address without its password; of a part, what it is to be called."""
    place = _called.get(place, place)
    return place if "://" not in place else sa.make_url(place).render_as_string(hide_password=True)


_LOCKED = (
    '"{place}" is locked by another program. Nothing was written or answered; '
    "tried for {seconds} seconds. Try again when it is done."
)
_DAMAGED = (
    '"{place}" is damaged: something is missing that every book has. Restore the last good copy, '
    "and see what is wrong with: fleetcare verify"
)
_SQLITE_SAYS = {
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_NOTADB: '"{place}" is not a fleetcare database. Name another with --db.',
    sqlite3.SQLITE_CORRUPT: ('"{place}" is damaged. Restore the last good copy before you use it.'),
    sqlite3.SQLITE_READONLY: (
        '"{place}" cannot be written to. Check who owns the file and its folder.'
    ),
    sqlite3.SQLITE_FULL: 'there is no room left to write to "{place}". Nothing was written.',
    sqlite3.SQLITE_IOERR: (
        'the disk failed or is full while "{place}" was used. Nothing was written: {why}'
    ),
}
_LOG_BESIDE = (
    '"{place}" has a log beside it ("{place}-wal") in a folder that cannot be written to: without '
    "it the book may lack its last records. Copy both files to a folder of your own, or ask "
    "whoever keeps them."
)


def _sentence(
    origin: BaseException | None, place: str, operational: bool, waited: int | None
) -> str:
    code = getattr(origin, "sqlite_errorcode", 0) & 0xFF
    says = _SQLITE_SAYS.get(code)
    if code == sqlite3.SQLITE_CANTOPEN and Path(f"{place}-wal").exists():
        says = _LOG_BESIDE
    if getattr(origin, "sqlstate", None) == LOCK_NOT_AVAILABLE:
        says = _LOCKED
    if says is None:
        verb = "cannot be opened or read" if operational else "refused"
        says = f'"{{place}}" {verb}: {{why}}'
    seconds = WAIT_SECONDS if waited is None else waited
    return says.format(place=place, why=_first_line(origin), seconds=seconds)


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
        sealed = "://" not in place and _sealed(Path(place))
        seen = _seen(Path(place)) if sealed else None
        try:
            with engine.connect() as connection:
                if engine.dialect.name == "postgresql":
                    connection = connection.execution_options(isolation_level=_SNAPSHOT)
                with connection.begin():
                    check_ours(connection, place)
                    yield connection
            _refuse_unsealed(place, seen)
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


def in_one_file(path: Path) -> None:
    """Bring an SQLite book that nobody uses into its one file, with nothing beside it."""
    _journal(path, "DELETE")


def with_log(path: Path) -> None:
    """Let an SQLite book be written while it is read, as every book of ours is."""
    _journal(path, "WAL")


def has_log(path: Path) -> bool:
    """Whether an SQLite book is kept so. Its file says it, which no connection changes."""
    with path.open("rb") as file:
        return file.read(_JOURNAL + 1)[-1] == _WAL


def _journal(path: Path, mode: str) -> None:
    with faults_told(str(path)), contextlib.closing(sqlite3.connect(path)) as connection:
        connection.execute(f"PRAGMA journal_mode = {mode}")
