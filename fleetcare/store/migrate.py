"""Making a database, or bringing an older one up: Alembic, set up in code.

A wheel has no pyproject.toml, so the configuration is made here and nowhere else. The whole way
up is one transaction: a migration that fails leaves the old schema whole.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from fleetcare import shipped
from fleetcare.errors import DatabaseFault
from fleetcare.store.engine import engine_for, faults_told, shown
from fleetcare.store.tables import APPLICATION_ID, SCHEMA

if TYPE_CHECKING:
    from alembic.config import Config


def _config(connection: sa.Connection) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(shipped.folder("migrations")).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def _refuse_foreign(connection: sa.Connection, place: str) -> None:
    names = sa.inspect(connection).get_table_names()
    if names and "ledger_head" not in names:
        raise DatabaseFault(
            f'"{shown(place)}" already holds something else '
            f'(table "{sorted(names)[0]}"). Name another with --db.'
        )
    if names:
        version = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
        if isinstance(version, str) and version > SCHEMA:
            raise DatabaseFault(
                f'"{shown(place)}" (schema {version}) is newer than this program. '
                "Use a newer fleetcare."
            )


def upgrade(place: str) -> bool:
    """Make the schema, or bring it up to this program's. True when anything was changed.

    Raises DatabaseFault for a foreign or newer database, which is left as it is.
    """
    from alembic import command

    with faults_told(place):
        engine = engine_for(place, create=True)
        try:
            with engine.connect() as connection:
                if engine.dialect.name == "sqlite":
                    # Both are set outside a transaction; WAL stays with the file.
                    with connection.begin():
                        _refuse_foreign(connection, place)
                    _driver(connection).execute("PRAGMA journal_mode = WAL")
                connection = connection.execution_options(writes=True)
                with connection.begin():
                    _refuse_foreign(connection, place)
                    before = _version(connection)
                    command.upgrade(_config(connection), "head")
                    if engine.dialect.name == "sqlite":
                        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
                    return before != _version(connection)
        finally:
            engine.dispose()


def is_made(place: str) -> bool:
    """Whether a database holds a book. Raises DatabaseFault for a foreign or newer one."""
    with faults_told(place):
        engine = engine_for(place)
        try:
            with engine.connect() as connection, connection.begin():
                _refuse_foreign(connection, place)
                return _version(connection) is not None
        finally:
            engine.dispose()


def _driver(connection: sa.Connection) -> Any:
    return connection.connection.dbapi_connection


def _version(connection: sa.Connection) -> str | None:
    if "alembic_version" not in sa.inspect(connection).get_table_names():
        return None
    return connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()


def check(place: str) -> None:
    """Raises alembic.util.CommandError when the tables and the migrations have come apart."""
    from alembic import command

    engine = engine_for(place)
    try:
        with engine.connect() as connection:
            command.check(_config(connection))
    finally:
        engine.dispose()
