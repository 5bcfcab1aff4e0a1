"""A table, index or trigger that somebody dropped, changed or added is named, on both engines."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa

from fleetcare.desk import trust
from fleetcare.store import migrate, shape, tables
from fleetcare.store.engine import reading, writing
from tests.store.test_old_books import SCHEMAS, unpacked
from tests.store.test_schema import _insert
from tests.typed import typed

NONE = "this program makes none of that name"
CHANGED = "it is not as this program makes it"
BOTH = [
    ("DROP INDEX ix_hires_ref", ['the index "ix_hires_ref" was dropped']),
    (
        "DROP INDEX ix_hires_ref\nCREATE INDEX ix_hires_ref ON hires (van)",
        [f'the index "ix_hires_ref" was changed: {CHANGED}'],
    ),
    ("CREATE INDEX mine ON hires (van)", [f'the index "mine" is foreign: {NONE}']),
    ("CREATE VIEW vans_today AS SELECT * FROM vans", [f'the view "vans_today" is foreign: {NONE}']),
    (
        "ALTER TABLE holds ADD COLUMN mine text",
        [f'the table "holds" was changed: {CHANGED}'],
    ),
]
IN_FILE = [
    ("DROP TRIGGER said_no_update", ['the trigger "said_no_update" was dropped']),
    (
        "DROP TRIGGER checks_no_update\nCREATE TRIGGER checks_no_update BEFORE UPDATE ON checks"
        " WHEN NEW.outcome <> 'pass' BEGIN SELECT RAISE(ABORT, 'no'); END",
        [f'the trigger "checks_no_update" was changed: {CHANGED}'],
    ),
    (
        "CREATE TRIGGER aside AFTER INSERT ON checks"
        " BEGIN UPDATE ledger_head SET recorded_at = 'x'; END",
        [f'the trigger "aside" is foreign: {NONE}'],
    ),
    ("CREATE TABLE mine (a)", [f'the table "mine" is foreign: {NONE}']),
    ("ANALYZE", []),
]
ON_SERVER = [
    (
        "DROP TRIGGER said_no_update ON said\nDROP TRIGGER said_no_truncate ON said",
        ['the trigger "said_no_truncate" was dropped', 'the trigger "said_no_update" was dropped'],
    ),
    (
        "ALTER TABLE checks DISABLE TRIGGER checks_no_update",
        ['the trigger "checks_no_update" is switched off'],
    ),
    ("ALTER TABLE checks ENABLE ALWAYS TRIGGER checks_no_update", []),
    (
        "DROP TRIGGER said_no_update ON said\nCREATE TRIGGER said_no_update BEFORE UPDATE ON said"
        " FOR EACH ROW WHEN (NEW.text IS NOT NULL) EXECUTE FUNCTION refuse_change()",
        [f'the trigger "said_no_update" was changed: {CHANGED}'],
    ),
    (
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS"
        " $$ BEGIN RETURN NEW; END $$",
        [f'the function "refuse_change" was changed: {CHANGED}'],
    ),
    (
        "CREATE TRIGGER aside AFTER INSERT ON checks EXECUTE FUNCTION refuse_change()",
        [f'the trigger "aside" is foreign: {NONE}'],
    ),
    (
        "CREATE RULE aside AS ON INSERT TO holds DO INSTEAD NOTHING",
        [f'the rule "aside" is foreign: {NONE}'],
    ),
    ("CREATE TABLE mine (a text)", [f'the table "mine" is foreign: {NONE}']),
    (
        "ALTER TABLE holds DROP CONSTRAINT fk_holds_words",
        [f'the table "holds" was changed: {CHANGED}'],
    ),
    (
        "ALTER TABLE holds ALTER COLUMN words DROP NOT NULL",
        [f'the table "holds" was changed: {CHANGED}'],
    ),
]


def _faults(place: str, statements: str) -> list[str]:
    """What is said of a book after statements, one a line, of somebody who holds it."""
    with writing(place) as connection:
        for one in statements.splitlines():
            connection.exec_driver_sql(one)
    with reading(place) as connection:
        return list(shape.faults(connection))


def test_a_book_as_it_was_made_has_its_shape(place: str) -> None:
    """Nothing is dropped, changed or foreign, and every table and column is there."""
    with reading(place) as connection:
        assert list(shape.faults(connection)) == []
        assert not shape.lacking(connection)


@pytest.mark.parametrize(("statement", "faults"), BOTH)
def test_what_was_done_to_its_shape_is_named(place: str, statement: str, faults: list[str]) -> None:
    """An index dropped, changed and added, a view, a column more: on both engines."""
    assert _faults(place, statement) == faults


@pytest.mark.parametrize(("statement", "faults"), IN_FILE)
def test_what_was_done_to_a_file_is_named(
    empty_place: str, statement: str, faults: list[str]
) -> None:
    """A trigger dropped, weakened, added; a table added. What SQLite counts for itself is its own."""
    assert _faults(empty_place, statement) == faults


@pytest.mark.parametrize("place", ["postgresql"], indirect=True)
@pytest.mark.parametrize(("statement", "faults"), ON_SERVER)
def test_what_was_done_on_a_server_is_named(place: str, statement: str, faults: list[str]) -> None:
    """A trigger dropped, switched off, weakened, its function emptied; a rule; a table held to less."""
    assert _faults(place, statement) == faults


@pytest.mark.parametrize(
    ("statement", "fault"),
    [
        ("DROP TABLE gone", 'the table "gone" was dropped'),
        (
            "ALTER TABLE backs DROP COLUMN odometer",
            f'the table "backs" was changed: {CHANGED}',
        ),
    ],
)
def test_a_table_that_is_not_there_is_named_and_no_record_read(
    place: str, statement: str, fault: str
) -> None:
    """What lacks a table or a column can't be read through: verify says so, and holds no tally."""
    with writing(place) as connection:
        connection.exec_driver_sql(statement)
    found = trust.verify(place, ("0 E3B0-C442-98FC-1C14-9AFB-F4C8-996F-B924",))

    assert fault in found.faults
    assert found.faults[-1] == (
        "no record was read, for a table or a column is not there: restore the last good copy"
    )
    assert found.held == []


@pytest.mark.parametrize("schema", SCHEMAS)
def test_old_books_brought_up_have_the_shape_of_new_ones(schema: str, tmp_path: Path) -> None:
    """Whatever made them, and whatever rebuilt their tables since."""
    place = unpacked(schema, tmp_path)
    migrate.upgrade(place)

    with reading(place) as connection:
        assert list(shape.faults(connection)) == []


def test_rows_that_no_record_points_to_are_named(place: str) -> None:
    """In every table: of a record kind by their number, words and rules by what they are kept as."""
    words, rules = "ab" * 32, "cd" * 32
    with writing(place) as connection:
        connection.execute(sa.insert(tables.said).values(commitment=words, salt="0" * 32, text="x"))
        connection.execute(sa.insert(tables.rulebook).values(digest=rules, text="x"))
    faults = trust.verify(place).faults

    assert '"said" holds a row that no record points to: abababab' in faults
    assert '"rulebook" holds a row that no record points to: cdcdcdcd' in faults


@pytest.mark.parametrize("table", sorted(table.name for table in tables.TABLES.values()))
def test_a_row_of_no_record_is_named_in_every_table(ready: str, table: str) -> None:
    """A row with a number the ledger does not give, put there behind the program's back."""
    (made,) = [one for one in tables.TABLES.values() if one.name == table]
    connection = sqlite3.connect(ready)
    connection.execute(_insert(made, 99, "ab" * 32))
    connection.commit()
    connection.close()

    assert f'"{table}" holds rows that are no record: #99' in trust.verify(ready).faults


def test_another_journal_mode_is_named_and_init_sets_it_right(good: str, tmp_path: Path) -> None:
    """A book somebody switched over; a copy beside its manifest is in one file on purpose."""
    connection = sqlite3.connect(good)
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.close()
    found = trust.verify(good)
    copy = str(tmp_path / "copy.db")
    typed(good, f"backup -o {copy}")
    typed(good, "init")

    assert found.faults == [
        "the journal mode is not the one this program sets (WAL): who reads and who writes would "
        f'wait for each other. Set it again with: fleetcare --db "{good}" init'
    ]
    assert trust.verify(good).faults == []
    assert trust.verify(copy).faults == []
