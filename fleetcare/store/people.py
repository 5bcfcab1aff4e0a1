"""Who may use the pages, beside the book and never in it: people, links, sessions, tries, and the
answers of walks that are not signed yet.

Beside an SQLite book it is a file of its own, FILE.people; on a server a schema of its own. So no
page that only asks takes the book's write lock, and no dump or pack holds a password.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from fleetcare.errors import DatabaseFault, stays
from fleetcare.store.engine import engine_for, faults_told, shown, url_of, with_log

Connection = sa.Connection
APPLICATION_ID = 0x666C6370  # "flcp"
SCHEMA = "people"
# Every page looks here first: who holds it up for long holds up all of them, and is told of.
WAIT_SECONDS = 2
metadata = sa.MetaData()

_STRICT: dict[str, Any] = {"sqlite_strict": True}
_NAME = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def _key(name: str) -> sa.Column[str]:
    return sa.Column(name, _NAME, primary_key=True)


def _words(name: str, *, empty: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=empty)


person = sa.Table(
    "person", metadata, _key("name"), _words("roles"), _words("password", empty=True), **_STRICT
)
# Of links and sessions only the digest is kept: who reads this file can't walk in with it.
link = sa.Table(
    "link", metadata, _key("digest"), _words("name"), _words("until"),
    sa.Column("enters", sa.Integer, nullable=False), **_STRICT,
)  # fmt: skip
session = sa.Table(
    "session", metadata, _key("digest"), _words("name"), _words("token"), _words("began_at"),
    _words("seen_at"), **_STRICT,
)  # fmt: skip
tried = sa.Table(
    "tried", metadata, sa.Column("number", sa.Integer, primary_key=True), _words("who"),
    _words("at"), **_STRICT,
)  # fmt: skip
walk = sa.Table(
    "walk",
    metadata,
    _key("sheet"),
    _key("line"),
    _words("answer"),
    _words("by"),
    _words("at"),
    **_STRICT,
)

# A tablet that the yard shares, known by the digest of its cookie; a PIN with the wrong ones typed
# in a row; a turn, begun by PIN on a tablet, which is no session; the sessions begun on one.
tablet = sa.Table(
    "tablet", metadata, _key("digest"), _words("name"), _words("by"), _words("made_at"),
    _words("seen_at"), **_STRICT,
)  # fmt: skip
pin = sa.Table(
    "pin", metadata, _key("name"), _words("kept"),
    sa.Column("wrong", sa.Integer, nullable=False), **_STRICT,
)  # fmt: skip
turn = sa.Table(
    "turn", metadata, _key("digest"), _words("tablet"), _words("name"), _words("token"),
    _words("began_at"), _words("seen_at"), **_STRICT,
)  # fmt: skip
begun = sa.Table("begun", metadata, _key("digest"), _words("tablet"), **_STRICT)

# A passkey of somebody, for the name that the pages are reached by: what its signature is held to,
# and how often it says it was used. What a browser was asked, by the digest of its cookie.
_UNSIGNED = sa.BigInteger().with_variant(sa.Integer, "sqlite")  # 32 bits, and no sign
passkey = sa.Table(
    "passkey", metadata, _key("id"), _words("name"), _words("called"), _words("host"),
    _words("handle"), _words("key"), sa.Column("uses", _UNSIGNED, nullable=False),
    _words("made_at"), _words("used_at", empty=True), **_STRICT,
)  # fmt: skip
asked = sa.Table(
    "asked", metadata, _key("digest"), _words("challenge"), _words("name"), _words("handle"),
    _words("at"), **_STRICT,
)  # fmt: skip

# What a phone sent by itself once it had a signal again: by its key it is taken in once.
taken = sa.Table("taken", metadata, _key("key"), _words("at"), **_STRICT)
# The address of the calendar: who has it reads what falls due without signing in.
feed = sa.Table(
    "feed", metadata, _key("digest"), _words("by"), _words("made_at"), **_STRICT
)  # fmt: skip
# What was photographed on a walk that is not signed yet, and of which line.
photo = sa.Table(
    "photo", metadata, sa.Column("number", sa.Integer, primary_key=True), _words("sheet"),
    _words("line"), sa.Column("data", sa.LargeBinary, nullable=False), _words("by"), _words("at"),
    **_STRICT,
)  # fmt: skip
# People let in before there were such tables get them with the next write.
_LATER = (taken, feed, photo, tablet, pin, turn, begun, passkey, asked)


def begins(column: sa.Column[str], beginning: str) -> sa.ColumnElement[bool]:
    """Whether a text begins so, whatever signs are in it."""
    return sa.func.substr(column, 1, len(beginning)) == beginning


def has(connection: sa.Connection, table: sa.Table) -> bool:
    """Whether there is such a table: people let in before there was one have none yet."""
    schema = SCHEMA if connection.dialect.name == "postgresql" else None
    return sa.inspect(connection).has_table(table.name, schema=schema)


@contextlib.contextmanager
def beside(place: str, *, writes: bool = False, make: bool = False) -> Iterator[sa.Connection]:
    """The people beside a book, in one transaction; made where there are none only on purpose
    (`make`), so that nobody is served an empty list in the place of one that was lost.

    Raises DatabaseFault where there are none, or what lies there is something else, is locked or
    can't be read.
    """
    url = url_of(place)
    server = url.get_backend_name() == "postgresql"
    ours = place if server else f"{place}.people"
    with faults_told(ours, waited=WAIT_SECONDS):
        engine = engine_for(ours, create=True, wait=WAIT_SECONDS)
        try:
            new = not server and not Path(ours).exists()
            if new and make:
                with_log(Path(ours))  # who looks never waits for who writes
            elif new:
                raise NobodyYet
            with engine.connect().execution_options(writes=writes or make) as connection:
                if server:
                    connection = connection.execution_options(schema_translate_map={None: SCHEMA})
                with connection.begin():
                    _stand_ready(connection, ours, server=server, make=make)
                    if writes:
                        _in_turn(connection)
                        _bring_up(connection)
                    yield connection
            if writes:
                stays([_DONE])
        finally:
            engine.dispose()


def _in_turn(connection: sa.Connection) -> None:
    """One writer at a time on a server too, as with a file: nobody is let in, or given a way in,
    while another lets them go. Readers wait for nobody."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f"LOCK TABLE {SCHEMA}.person IN EXCLUSIVE MODE")


def _bring_up(connection: sa.Connection) -> None:
    """Make the tables that there were none of when the people were first let in."""
    schema = SCHEMA if connection.dialect.name == "postgresql" else None
    there = sa.inspect(connection).get_table_names(schema=schema)
    lacking = [table for table in _LATER if table.name not in there]
    metadata.create_all(connection, lacking, checkfirst=False)


class NobodyYet(DatabaseFault):
    """Nobody was ever let in, or the list of who may was moved away."""

    def __init__(self) -> None:
        super().__init__(_NOBODY)


_NOBODY = (
    "nobody may come in yet, or the list of who may was moved away. Let the first one in with: "
    "fleetcare person add NAME --role owner"
)
_DONE = "What was asked was done."  # beside the book: a fault that follows undoes none of it


def _stand_ready(connection: sa.Connection, ours: str, *, server: bool, make: bool) -> None:
    """Make the tables where there are none; refuse a file that is not ours."""
    if server:
        if connection.exec_driver_sql(f"SELECT to_regclass('{SCHEMA}.person')").scalar() is None:
            if not make:
                raise NobodyYet
            connection.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {SCHEMA}")
            metadata.create_all(connection)
        return
    if make and connection.exec_driver_sql("SELECT count(*) FROM sqlite_schema").scalar() == 0:
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        metadata.create_all(connection)
    elif connection.exec_driver_sql("PRAGMA application_id").scalar() != APPLICATION_ID:
        raise DatabaseFault(
            f'"{shown(ours)}" does not hold the people of a book. Move it away, and add them anew '
            "with: fleetcare person add"
        )
