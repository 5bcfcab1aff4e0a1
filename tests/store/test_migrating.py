"""A book of the schema before, with rows in it, brought up: every row, trigger and check is kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic import command
from sqlalchemy.pool import NullPool

from fleetcare.errors import DatabaseFault
from fleetcare.store import migrate
from fleetcare.store.engine import engine_for, reading, writing
from fleetcare.store.tables import APPLICATION_ID
from tests import served
from tests.conftest import ENGINES

_OLD = {
    "defects": """(number, van, "on", grade, words) VALUES (2, 'V01', '2026-01-02', 'minor', 'c')""",
    "repairs": """(number, van, defect, "on", by) VALUES (3, 'V01', 2, '2026-01-03', 'c')""",
    "holds": """(number, van, from_on, words) VALUES (4, 'V01', '2026-01-04', 'c')""",
    "hires": """(number, van, ref, from_on, through_on, bikes, electric_bikes)
        VALUES (5, 'V01', 'H1', '2026-01-05', '2026-01-06', 1, 0)""",
    "adoptions": "(number, digest, origin) VALUES (6, 'd', 'package')",
}


@pytest.fixture(params=ENGINES)
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A book of schema 0001 with a row in every table that 0002 makes wider."""
    if request.param == "sqlite":
        place = str(tmp_path / "old.db")
        _to_0001(place)
        yield place
        return
    uri = request.getfixturevalue("postgres")
    served.told(uri, 'CREATE DATABASE old_book TEMPLATE template0 LOCALE "C" ENCODING "UTF8"')
    _to_0001(served.named(uri, "old_book"))
    yield served.named(uri, "old_book")
    served.told(uri, "DROP DATABASE old_book WITH (FORCE)")


def _to_0001(place: str) -> None:
    engine = engine_for(place, create=True)
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        command.upgrade(migrate._config(connection), "0001")
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.exec_driver_sql("INSERT INTO said VALUES ('c', NULL, NULL)")
        for number in range(1, 7):
            connection.exec_driver_sql(
                "INSERT INTO record (number, kind, van, recorded_at, recorded_by, leaf)"
                f" VALUES ({number}, 'x', 'V01', 't', 'c', '{number:064x}')"
            )
        for table, row in _OLD.items():
            connection.exec_driver_sql(f"INSERT INTO {table} {row}")
    engine.dispose()


def _rows(place: str) -> dict[str, list[tuple[object, ...]]]:
    engine = (
        engine_for(place) if "://" not in place else sa.create_engine(place, poolclass=NullPool)
    )
    with engine.connect() as connection:
        found = {
            table: [tuple(r) for r in connection.exec_driver_sql(f"SELECT * FROM {table}")]
            for table in _OLD
        }
    engine.dispose()
    return found


def test_an_older_book_is_refused_until_it_is_brought_up_and_loses_nothing(old: str) -> None:
    """The same rows, with the new columns empty behind them; still nothing may be changed."""
    with pytest.raises(DatabaseFault), reading(old):
        pass
    before = _rows(old)
    migrate.upgrade(old)
    after = _rows(old)

    assert all(
        new[: len(was)] == was and set(new[len(was) :]) == {None}
        for table in _OLD
        for was, new in zip(before[table], after[table], strict=True)
    )
    for table in _OLD:
        with pytest.raises(DatabaseFault, match="only added"), writing(old) as connection:
            connection.exec_driver_sql(f"DELETE FROM {table}")
    with pytest.raises(DatabaseFault), writing(old) as connection:
        connection.exec_driver_sql(
            "INSERT INTO holds (number, van, from_on, words, workshop)"
            " VALUES (1, 'V02', '2026-01-01', 'c', 7)"
        )


def test_going_back_loses_nothing_or_does_not_go(old: str) -> None:
    """Back to 0001 while nothing new is said; refused, and nothing changed, once something is."""
    before = _rows(old)
    migrate.upgrade(old)
    _down(old)
    assert _rows(old) == before
    migrate.upgrade(old)
    with writing(old) as connection:
        connection.exec_driver_sql(
            "INSERT INTO gone (number, van, \"on\", words) VALUES (1, 'V01', '2026-01-01', 'c')"
        )
    with pytest.raises(RuntimeError, match=r'^going back would lose the rows of "gone"'):
        _down(old)

    with reading(old) as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM gone").scalar() == 1


def _down(place: str) -> None:
    engine = engine_for(place)
    try:
        with engine.connect().execution_options(writes=True) as connection, connection.begin():
            command.downgrade(migrate._config(connection), "0001")
    finally:
        engine.dispose()


@pytest.mark.parametrize("old", ["postgresql"], indirect=True)
def test_a_migration_stopped_at_any_statement_leaves_a_server_as_it_was(old: str) -> None:
    """PostgreSQL takes back the making of tables too: each statement in turn is the one that fails.
    For SQLite tests/store/test_hard.py fails every call of the driver."""
    before, counted = _rows(old), [0]
    stop = [1]

    def count(*_: object) -> None:
        counted[0] += 1
        if counted[0] == stop[0]:
            raise KeyError("pulled the plug")

    sa.event.listen(sa.Engine, "before_cursor_execute", count)
    try:
        while True:
            counted[0] = 0
            try:
                migrate.upgrade(old)
                break
            except KeyError:
                counted[0] = -10_000
                engine = sa.create_engine(old, poolclass=NullPool)
                with engine.connect() as connection:
                    names = sa.inspect(connection).get_table_names()
                    version = "SELECT version_num FROM alembic_version"
                    assert connection.exec_driver_sql(version).scalar() == "0001"
                engine.dispose()
                assert "answers" not in names
                assert _rows(old) == before
                stop[0] += 1 + stop[0] // 12  # every statement at first, then ever more apart
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", count)

    assert stop[0] > 60
