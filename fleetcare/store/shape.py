"""The shape of a book: its tables, indexes and triggers held to those the migrations make.

What is expected is what `tables.py` spells, which a test holds to the migrations text by text.
Nothing is made in a database, so a book that can only be read is looked at too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.store import tables


class Thing(NamedTuple):
    """A table, an index, a trigger, or what else a database may hold under a name."""

    sort: str
    name: str

    def __str__(self) -> str:
        return f'{self.sort} "{self.name}"'


Shape = dict[Thing, str]  # of each its text, evened out

_FILE, _SERVER = "sqlite://", "postgresql+psycopg://"
_OFF = "switched off"
_VERSION = Thing("table", "alembic_version")
_ENGINES_OWN = ("sqlite_stat1", "sqlite_stat4")  # what SQLite counted for itself
_NAMED = re.compile(r'create (?:unique )?(\w+) "?(\w+)"?')
# Which of two writings of one thing is meant: neither quotes, brackets, spaces nor capitals say.
_SAME = str.maketrans('"()\n\t,', "      ")


def faults(connection: sa.Connection) -> Iterator[str]:
    """Everything dropped, changed or foreign, a sentence each."""
    postgres = connection.dialect.name == "postgresql"
    found = _on_server(connection) if postgres else _in_file(connection)
    expected = _expected_on_server() if postgres else _expected_in_file()
    for thing in sorted(expected.keys() | found.keys()):
        if thing not in found:
            yield f"the {thing} was dropped"
        elif thing not in expected:
            yield f"the {thing} is foreign: this program makes none of that name"
        elif found[thing] == _OFF:
            yield f"the {thing} is switched off"
        elif found[thing] != expected[thing]:
            yield f"the {thing} was changed: it is not as this program makes it"


def lacking(connection: sa.Connection) -> bool:
    """Whether a table or a column is not there, so that the records can't be read."""
    found = {
        (table, column["name"])
        for (_, table), columns in sa.inspect(connection).get_multi_columns().items()
        for column in columns
    }
    expected = {(t.name, column.name) for t in tables.metadata.tables.values() for column in t.c}
    return not expected <= found


def _even(text: str) -> str:
    return " ".join(text.translate(_SAME).lower().split())


def _statements(url: str) -> list[str]:
    """The statements that make the tables, their indexes and triggers."""
    made: list[str] = []
    dialect = _dialect(url)
    engine = sa.create_mock_engine(
        url, lambda ddl, *_: made.append(str(ddl.compile(dialect=dialect)))
    )
    tables.metadata.create_all(engine, checkfirst=False)
    return [_even(statement) for statement in made]


def _dialect(url: str) -> sa.Dialect:
    return sa.make_url(url).get_dialect()()


@lru_cache(maxsize=1)
def _expected_in_file() -> Shape:
    found = {}
    for text in _statements(_FILE):
        sort, name = _NAMED.match(text).groups()  # type: ignore[union-attr]
        found[Thing(sort, name)] = text
    return found | {
        _VERSION: _even(
            "create table alembic_version (version_num varchar(32) not null,"
            " constraint alembic_version_pkc primary key (version_num))"
        )
    }


def _in_file(connection: sa.Connection) -> Shape:
    query = "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    return {
        Thing(sort, name): _even(text)
        for sort, name, text in connection.exec_driver_sql(query)
        if name not in _ENGINES_OWN
    }


_ON_SERVER = """
SELECT 'table', c.relname::text, string_agg(a.attname || ' ' || format_type(a.atttypid, a.atttypmod)
  || CASE WHEN a.attnotnull THEN ' not null' ELSE '' END, ' ' ORDER BY a.attnum) || ' : ' ||
  (SELECT string_agg(n.conname::text, ' ' ORDER BY n.conname::text COLLATE "C")
   FROM pg_constraint n WHERE n.conrelid = c.oid AND n.contype <> 'n')
FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
WHERE c.relnamespace = current_schema()::text::regnamespace AND c.relkind IN ('r', 'p', 'f')
GROUP BY c.oid, c.relname
UNION ALL SELECT 'view', viewname::text, '' FROM pg_views WHERE schemaname = current_schema()
UNION ALL SELECT 'rule', rulename::text, '' FROM pg_rules WHERE schemaname = current_schema()
UNION ALL SELECT 'index', indexname::text, replace(indexdef, current_schema() || '.', '')
FROM pg_indexes WHERE schemaname = current_schema()
UNION ALL SELECT 'trigger', tgname::text, CASE WHEN tgenabled IN ('O', 'A')
  THEN replace(pg_get_triggerdef(t.oid), current_schema() || '.', '') ELSE :off END
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
WHERE NOT tgisinternal AND c.relnamespace = current_schema()::text::regnamespace
UNION ALL SELECT 'function', proname::text, prosrc FROM pg_proc
WHERE proname = 'refuse_change' AND pronamespace = current_schema()::text::regnamespace
"""
# What the server says of an index and a trigger, and nobody who makes one.
_SAID_BY_SERVER = re.compile(r" using btree| for each statement")


def _on_server(connection: sa.Connection) -> Shape:
    rows = connection.execute(sa.text(_ON_SERVER), {"off": _OFF})
    return {
        Thing(sort, name): _SAID_BY_SERVER.sub("", _even(text or "")) for sort, name, text in rows
    }


@lru_cache(maxsize=1)
def _expected_on_server() -> Shape:
    """A table by its columns and the names of what its rows are held to."""
    found = {
        _VERSION: "version_num character varying 32 not null : alembic_version_pkc",
        Thing("index", "alembic_version_pkc"): (
            "create unique index alembic_version_pkc on alembic_version version_num"
        ),
    }
    for text in _statements(_SERVER):
        if text.startswith("create or replace function refuse_change"):
            found[Thing("function", "refuse_change")] = text.split("$$")[1].strip()
        elif (match := _NAMED.match(text)) and match[1] != "table":
            found[Thing(match[1], match[2])] = text
    for table in tables.metadata.tables.values():
        columns = " ".join(map(_column, table.c))
        held = " ".join(sorted(str(one.name) for one in table.constraints))
        found[Thing("table", table.name)] = f"{columns} : {held}"
        key, of_key = table.primary_key.name, " ".join(c.name for c in table.primary_key)
        found[Thing("index", str(key))] = f"create unique index {key} on {table.name} {of_key}"
    return found


def _column(column: sa.Column[object]) -> str:
    sort = column.type.compile(dialect=_dialect(_SERVER)).split()[0].lower()
    return f"{column.name} {sort}" + ("" if column.nullable else " not null")
