"""The tables, made from the spelling of the records, and the triggers that keep them append-only.

A table of facts about a van is clustered by (van, number), so that one van's history lies
together; the few tables that all vans share are keyed by number.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from sqlalchemy import (
    DDL,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    event,
)
from sqlalchemy.schema import ExecutableDDLElement

from fleetcare.records.fields import SECRET, Field, Is, fields_of
from fleetcare.records.kinds import FLEET_KINDS, TABLE_OF, VAN_KINDS, Check, Hire
from fleetcare.store.types import column_type, text_key

APPLICATION_ID = 0x666C6361  # "flca", in the header of an SQLite file
SCHEMA = "0007"  # the newest migration; a test holds it to the folder

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
    }
)

_SQLITE: dict[str, Any] = {"sqlite_strict": True}

head = Table(
    "ledger_head",
    metadata,
    Column("one", Integer, primary_key=True, autoincrement=False),
    Column("size", Integer, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("root", Text, nullable=False),
    Column("frontier", Text, nullable=False),
    CheckConstraint("one = 1", name="single"),
    **_SQLITE,
)
said = Table(
    "said",
    metadata,
    Column("commitment", text_key(), primary_key=True),
    Column("salt", Text),
    Column("text", Text),
    CheckConstraint("(salt IS NULL) = (text IS NULL)", name="both"),
    **_SQLITE,
)
record = Table(
    "record",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("van", text_key()),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", text_key(), ForeignKey("said.commitment"), nullable=False),
    Column("leaf", Text, nullable=False),
    **_SQLITE,
)
rulebook = Table(
    "rulebook",
    metadata,
    Column("digest", text_key(), primary_key=True),
    Column("text", Text, nullable=False),
    **_SQLITE,
)


def _column(field: Field) -> Column[Any]:
    if field.holds in SECRET:
        return Column(
            field.name, text_key(), ForeignKey("said.commitment"), nullable=field.optional
        )
    if field.holds is Is.NUMBER:
        return Column(
            field.name,
            Integer,
            ForeignKey("record.number"),
            nullable=field.optional,
            autoincrement=False,
        )
    return Column(field.name, column_type(field), nullable=field.optional)


def _checks(table: str, fields: tuple[Field, ...]) -> list[CheckConstraint]:
    """What any writer is held to: a day has ten characters, yes or no is 1 or 0."""
    found = []
    for field in fields:
        if field.holds is Is.DAY:
            found.append(CheckConstraint(f'length("{field.name}") = 10', name=field.name))
        elif field.holds is Is.FLAG:
            found.append(CheckConstraint(f'"{field.name}" IN (0, 1)', name=field.name))
    return found


def _table(kind: str, record_class: type) -> Table:
    name = TABLE_OF[record_class]
    fields = tuple(f for f in fields_of(record_class) if f.holds is not Is.PART)
    key = ("van", "number") if kind in VAN_KINDS else ("number",)
    return Table(
        name,
        metadata,
        *(_column(f) for f in fields),
        PrimaryKeyConstraint(*key),
        *_checks(name, fields),
        sqlite_with_rowid=False,
        **_SQLITE,
    )


TABLES: dict[type, Table] = {
    record_class: _table(kind, record_class)
    for kind, record_class in (VAN_KINDS | FLEET_KINDS).items()
}

Index("ix_checks_certificate", TABLES[Check].c.certificate)
Index("ix_hires_ref", TABLES[Hire].c.ref)

readings = Table(
    "readings",
    metadata,
    Column("van", text_key(), nullable=False),
    Column("number", Integer, ForeignKey("record.number"), nullable=False, autoincrement=False),
    Column("line", Integer, nullable=False, autoincrement=False),
    Column("what", Text, nullable=False),
    Column("place", Text),
    Column("figure", Text, nullable=False),
    PrimaryKeyConstraint("van", "number", "line"),
    sqlite_with_rowid=False,
    **_SQLITE,
)

_REFUSED = "records are only added: write a correction or a withdrawal"


def _ddl(text: str, dialect: str) -> ExecutableDDLElement:
    made: ExecutableDDLElement = DDL(text).execute_if(dialect=dialect)  # type: ignore[no-untyped-call]
    return made


def _guards(table: Table) -> list[ExecutableDDLElement]:
    """Triggers that refuse what may never happen to a table, on both engines."""
    name, q = table.name, '"'
    found = []
    for act in ("UPDATE", "DELETE"):
        if table is head and act == "UPDATE":
            continue
        when = ""
        if table is said and act == "UPDATE":
            when = (
                " WHEN (NEW.text IS NOT NULL OR NEW.salt IS NOT NULL"
                " OR NEW.commitment <> OLD.commitment)"
            )
        trigger = f"{q}{name}_no_{act.lower()}{q}"
        found.append(
            _ddl(
                f"CREATE TRIGGER {trigger} BEFORE {act} ON {q}{name}{q}{when}"
                f" BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END",
                "sqlite",
            )
        )
        found.append(
            _ddl(
                f"CREATE TRIGGER {trigger} BEFORE {act} ON {q}{name}{q} FOR EACH ROW"
                f"{when} EXECUTE FUNCTION refuse_change()",
                "postgresql",
            )
        )
    found.append(
        _ddl(
            f"CREATE TRIGGER {q}{name}_no_truncate{q} BEFORE TRUNCATE ON {q}{name}{q}"
            " EXECUTE FUNCTION refuse_change()",
            "postgresql",
        )
    )
    return found


event.listen(
    metadata,
    "before_create",
    _ddl(
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{_REFUSED}'; END $$",
        "postgresql",
    ),
)
for _one in metadata.tables.values():
    for _guard in _guards(_one):
        event.listen(_one, "after_create", _guard)


@cache
def in_order() -> tuple[Table, ...]:
    """The tables as one rests on another; worked out by the first write, and by no question."""
    return tuple(metadata.sorted_tables)
