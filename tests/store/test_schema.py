"""The migrated database and the spelling of the records say the same, text by text."""

from __future__ import annotations

import re

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from fleetcare import shipped
from fleetcare.errors import DatabaseFault
from fleetcare.store import migrate, tables
from fleetcare.store.engine import engine_for, reading, writing


def _schema(connection: sa.Connection) -> dict[str, str]:
    """Every table, index, constraint and trigger as text, spaces and quotes evened out."""
    if connection.dialect.name == "sqlite":
        rows = connection.exec_driver_sql(
            "SELECT type || ' ' || name, sql FROM sqlite_master"
            " WHERE sql IS NOT NULL AND name NOT LIKE 'alembic%'"
        ).all()
    else:
        rows = connection.exec_driver_sql(
            "SELECT 'column ' || table_name || '.' || column_name, data_type || ' '"
            " || is_nullable || ' ' || coalesce(collation_name, '') || ' '"
            " || coalesce(column_default, '') || ' ' || ordinal_position"
            " FROM information_schema.columns WHERE table_schema = 'public'"
            " AND table_name <> 'alembic_version'"
            " UNION ALL SELECT 'constraint ' || conrelid::regclass || '.' || conname,"
            " pg_get_constraintdef(oid) FROM pg_constraint"
            " WHERE connamespace = 'public'::regnamespace"
            " AND conrelid::regclass::text <> 'alembic_version'"
            " UNION ALL SELECT 'trigger ' || tgrelid::regclass || '.' || tgname,"
            " pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal"
            " UNION ALL SELECT 'index ' || indexname, indexdef FROM pg_indexes"
            " WHERE schemaname = 'public' AND tablename <> 'alembic_version'"
            " UNION ALL SELECT 'function ' || proname, prosrc FROM pg_proc"
            " WHERE pronamespace = 'public'::regnamespace"
        ).all()
    return {
        name: re.sub(r"\s+", " ", re.sub(r'["\n\t]', " ", text))
        .replace("( ", "(")
        .replace(" )", ")")
        .replace(" ,", ",")
        .strip()
        for name, text in rows
    }


def test_migrations_make_what_the_records_spell(place: str, tmp_path, request) -> None:
    """Tables, checks, indexes and triggers are the same text, made either way."""
    with reading(place) as connection:
        migrated = _schema(connection)
        dialect = connection.dialect.name
    if dialect == "sqlite":
        engine = engine_for(str(tmp_path / "made.db"), create=True)
    else:
        engine = sa.create_engine(place, poolclass=NullPool)
        with engine.begin() as connection:
            connection.exec_driver_sql("DROP SCHEMA public CASCADE")
            connection.exec_driver_sql("CREATE SCHEMA public")
    with engine.begin() as connection:
        tables.metadata.create_all(connection)
        made = _schema(connection)
    engine.dispose()

    assert migrated == made
    assert len(migrated) > 60


def test_alembic_finds_nothing_to_add(place: str) -> None:
    """Alembic's own comparison is clean on both engines."""
    migrate.check(place)


def test_the_newest_migration_is_the_schema_we_ask_for() -> None:
    """The literal read on opening is the newest file in the folder."""
    newest = max(path.name for path in (shipped.folder("migrations") / "versions").glob("0*.py"))

    assert newest[:4] == tables.SCHEMA


@pytest.mark.parametrize("table", sorted(tables.metadata.tables))
@pytest.mark.parametrize("act", ["UPDATE", "DELETE"])
def test_what_is_written_stays(place: str, table: str, act: str) -> None:
    """Every table refuses to be changed or emptied, but for the head's size and erased words."""
    with writing(place) as connection:
        fill(connection)
    found = tables.metadata.tables[table]
    column = next(iter(found.c)).name
    statement = (
        f'DELETE FROM "{table}"'
        if act == "DELETE"
        else f'UPDATE "{table}" SET "{column}" = "{column}"'
    )
    if table == "ledger_head" and act == "UPDATE":
        statement = "UPDATE ledger_head SET one = 2"

    with pytest.raises(DatabaseFault) as fault, writing(place) as connection:
        connection.exec_driver_sql(statement)

    assert "only added" in str(fault.value) or "ck_ledger_head_single" in str(fault.value)


def fill(connection: sa.Connection) -> None:
    """At least one row in every table, straight into them, with foreign keys held."""
    said = "ab" * 32
    connection.execute(sa.insert(tables.said).values(commitment=said, salt="00", text="words"))
    number = 0
    for record, table in tables.TABLES.items():
        number += 1
        connection.execute(
            sa.insert(tables.record).values(
                number=number, kind="x", van="V01", recorded_at="t", recorded_by=said, leaf="l"
            )
        )
        connection.exec_driver_sql(_insert(table, number, said))
        assert record
    connection.execute(
        sa.insert(tables.readings).values(
            van="V01", number=1, line=1, what="damp", place=None, figure="12"
        )
    )
    connection.execute(sa.insert(tables.rulebook).values(digest="d", text="t"))


def _insert(table: sa.Table, number: int, said: str) -> str:
    values = []
    for column in table.c:
        if column.name == "number":
            values.append(str(number))
        elif column.nullable:
            values.append("NULL")
        elif any(key.column.table.name == "said" for key in column.foreign_keys):
            values.append(f"'{said}'")
        elif column.foreign_keys or isinstance(column.type, sa.Integer):
            values.append("1")
        else:
            values.append("'2026-01-01'")
    return f'INSERT INTO "{table.name}" VALUES ({", ".join(values)})'


def test_an_odd_day_or_flag_is_refused_by_the_table_itself(place: str) -> None:
    """Whoever writes past the program is still held to ten characters a day and to 0 or 1."""
    for column, value in (("on", "'1 May'"), ("lpg", "7")):
        with pytest.raises(DatabaseFault), writing(place) as connection:
            fill(connection)
            connection.exec_driver_sql(
                f"INSERT INTO vans (number, van, \"{column}\") VALUES (1, 'V02', {value})"
            )


def test_a_failed_migration_leaves_the_old_schema_whole(tmp_path, monkeypatch) -> None:
    """SQLite by itself would keep the tables made before the failing statement."""
    place = str(tmp_path / "half.db")
    monkeypatch.setattr("fleetcare.store.migrate.APPLICATION_ID", "no number")

    with pytest.raises(DatabaseFault):
        migrate.upgrade(place)

    engine = engine_for(place)
    with engine.connect() as connection:
        assert sa.inspect(connection).get_table_names() == []
    engine.dispose()


def test_foreign_keys_sync_and_wal_are_on(empty_place: str) -> None:
    """The settings that keep a committed record through a power cut hold on every connection."""
    with reading(empty_place) as connection:
        found = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("foreign_keys", "synchronous", "journal_mode", "secure_delete")
        ]

    assert found == [1, 2, "wal", 1]


def test_a_foreign_or_newer_database_gives_no_answer(tmp_path, empty_place: str) -> None:
    """What is not ours, or newer than we are, is refused with what to do."""
    foreign = tmp_path / "foreign.db"
    engine = engine_for(str(foreign), create=True)
    with engine.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE other (a)")
    engine.dispose()
    text = tmp_path / "text.db"
    text.write_text("not a database at all, only words" * 50)
    missing = tmp_path / "none.db"
    newer = engine_for(empty_place)
    with newer.connect().execution_options(writes=True) as connection, connection.begin():
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    newer.dispose()

    messages = []
    for one in (foreign, text, missing, empty_place):
        with pytest.raises(DatabaseFault) as fault, reading(str(one)):
            pass
        messages.append(str(fault.value))

    assert messages == [
        f'"{foreign}" is not a fleetcare database. Name another with --db.',
        f'"{text}" is not a fleetcare database. Name another with --db.',
        f'there is no database at "{missing}". Make one with: fleetcare --db "{missing}" init',
        f'"{empty_place}" (schema 9999) is newer than this program. Use a newer fleetcare.',
    ]
    assert not missing.exists()
    with pytest.raises(DatabaseFault) as fault:
        migrate.upgrade(str(foreign))
    assert str(fault.value) == (
        f'"{foreign}" already holds something else (table "other"). Name another with --db.'
    )


def test_driver_errors_never_pass_as_ours() -> None:
    """What a driver raises is a DBAPIError, so the one place that tells it catches all of it."""
    assert issubclass(sa.exc.OperationalError, DBAPIError)


def test_no_sequence_no_serial_no_floating_point(place: str) -> None:
    """Numbers come from the ledger's head alone, and no figure is kept as a float."""
    with reading(place) as connection:
        if connection.dialect.name == "sqlite":
            names = connection.exec_driver_sql("SELECT name FROM sqlite_master").scalars().all()
            text = " ".join(
                connection.exec_driver_sql(
                    "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL"
                ).scalars()
            ).upper()
            assert "sqlite_sequence" not in names
            assert "AUTOINCREMENT" not in text
            assert not re.search(r"\b(REAL|FLOAT|DOUBLE|NUMERIC)\b", text)
            return
        sequences = "SELECT count(*) FROM pg_class WHERE relkind = 'S'"
        kinds = (
            "SELECT DISTINCT data_type FROM information_schema.columns"
            " WHERE table_schema = 'public' AND table_name <> 'alembic_version'"
        )
        assert connection.exec_driver_sql(sequences).scalar() == 0
        assert set(connection.exec_driver_sql(kinds).scalars()) == {"integer", "text"}
