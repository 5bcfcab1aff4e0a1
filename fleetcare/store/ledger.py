"""The ledger checked against itself: every record is the leaf it was, and the leaves are the tree.

Nothing here repairs. What is found names the record at fault. Someone who holds the database can
write all of it anew; what shows that is a tally kept elsewhere (a printed report, a workbook sent).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple

import sqlalchemy as sa

from fleetcare.merkle import frontier_of, inclusion_path, leaf_hash, root_of
from fleetcare.records.kinds import KINDS, Check, Reading
from fleetcare.records.leaf import commitment, leaf_bytes
from fleetcare.store import tables
from fleetcare.store.facts import make_check


class Head(NamedTuple):
    """A tree head (RFC 9162): how many records, the root over them, when the last was written."""

    size: int
    root: str
    recorded_at: str

    @property
    def short(self) -> str:
        """The root in eight digits, for paper: 7F3A-91C0."""
        return f"{self.root[:4]}-{self.root[4:8]}".upper()


def head_of(connection: sa.Connection) -> Head:
    """The head as it stands: one row."""
    head = tables.head.c
    return Head(*connection.execute(sa.select(head.size, head.root, head.recorded_at)).one())


def leaves_of(connection: sa.Connection, size: int | None = None) -> list[bytes]:
    """Every leaf hash in order, or those of the first `size` records."""
    query = sa.select(tables.record.c.leaf).order_by(tables.record.c.number)
    if size is not None:
        query = query.where(tables.record.c.number <= size)
    return [bytes.fromhex(leaf) for leaf in connection.execute(query).scalars()]


def root_at(connection: sa.Connection, size: int) -> str:
    """The root the tree had at an earlier size."""
    return root_of(frontier_of(leaves_of(connection, size))).hex()


def faults(connection: sa.Connection) -> Iterator[str]:
    """Everything wrong with the book, a sentence each; nothing where all holds."""
    yield from _structure(connection)
    yield from _order(connection)
    for kind, record in KINDS.items():
        try:
            yield from _records(connection, kind, record)
        except ValueError as fault:
            yield f"a row of the kind {kind} cannot be read: {fault}"
    yield from _words(connection)
    yield from _tree(connection)


def _tree(connection: sa.Connection) -> Iterator[str]:
    """The head is that of the leaves."""
    size, root, _ = head_of(connection)
    try:
        leaves = leaves_of(connection)
    except ValueError:
        yield "a leaf is no hash"
        return
    if len(leaves) != size:
        yield f"the head says {size:,} records and the book holds {len(leaves):,}"
    if root_of(frontier_of(leaves)).hex() != root:
        yield "the root at the head is not that of the leaves"


def _structure(connection: sa.Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    for (word,) in connection.exec_driver_sql("PRAGMA integrity_check").all():
        if word != "ok":
            yield f"the database file is damaged: {word}"
    for table, *_ in connection.exec_driver_sql("PRAGMA foreign_key_check").all():
        yield f'a row of "{table}" points to what is not there'


def _order(connection: sa.Connection) -> Iterator[str]:
    """Numbers without a gap, moments that only rise."""
    query = sa.select(tables.record.c.number, tables.record.c.recorded_at)
    expected, last = 1, ""
    for number, recorded_at in connection.execute(query.order_by(tables.record.c.number)):
        if number != expected:
            yield f"#{expected} is missing"
        if recorded_at <= last:
            yield f"#{number} was written down no later than the record before it"
        expected, last = number + 1, recorded_at


def _records(connection: sa.Connection, kind: str, record: Any) -> Iterator[str]:
    """Every record of a kind is its leaf, and every row of its table is a record."""
    table, ledger = tables.TABLES[record], tables.record
    on = table.c.number == ledger.c.number
    if "van" in table.c and "van" in table.primary_key.columns:
        on &= table.c.van == ledger.c.van
    query = (
        sa.select(ledger.c.number, ledger.c.recorded_at, ledger.c.recorded_by, ledger.c.leaf, table)
        .select_from(sa.join(ledger, table, on, isouter=True))
        .where(ledger.c.kind == kind)
        .order_by(ledger.c.number)
    )
    readings = _readings(connection) if record is Check else {}
    seen = 0
    for number, recorded_at, recorded_by, leaf, *fields in connection.execute(query):
        if fields[0] is None:
            yield f"#{number} ({kind}): its fields are missing"
            continue
        seen += 1
        if record is Check:
            made = make_check((*fields, tuple(readings.get(number, ()))))
        else:
            made = record._make(fields)
        moment = dt.datetime.fromisoformat(recorded_at)
        if leaf_hash(leaf_bytes(made, moment, recorded_by)) != leaf:
            yield f"#{number} ({kind}): its fields are not those it was written down with"
    rows = connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()
    if rows != seen:
        yield f'"{table.name}" holds {rows - seen} rows that are no record'


def _readings(connection: sa.Connection) -> dict[int, list[Reading]]:
    found: dict[int, list[Reading]] = {}
    columns = tables.readings.c
    query = sa.select(columns.number, columns.what, columns.place, columns.figure)
    for number, *fields in connection.execute(query.order_by(columns.number, columns.line)):
        found.setdefault(number, []).append(Reading(*fields))
    return found


def _words(connection: sa.Connection) -> Iterator[str]:
    """Names and words are those that were committed to; the erased are left alone."""
    said = tables.said.c
    query = sa.select(said.commitment, said.salt, said.text).where(said.text.is_not(None))
    for made, salt, text in connection.execute(query):
        if commitment(salt, text) != made:
            yield f"a name or words were changed: they are not those committed to ({made[:8]})"


def proof_of(connection: sa.Connection, number: int) -> dict[str, Any]:
    """What proves to another program that a record is in the book, by RFC 9162 2.1.3.

    The leaf text hashed with a zero byte before it gives the leaf hash. Raises IndexError for a
    record that is not there.
    """
    leaves, head = leaves_of(connection), head_of(connection)
    path = inclusion_path(leaves, number - 1)
    return {
        "record": number,
        "leaf_hash": leaves[number - 1].hex(),
        "leaf_index": number - 1,
        "tree_size": head.size,
        "root_hash": head.root,
        "inclusion_path": [one.hex() for one in path],
    }
