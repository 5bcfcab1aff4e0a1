"""The ledger checked against itself: every record is the leaf it was, and the leaves are the tree.

Nothing here repairs. What is found names the record at fault. Someone who holds the database can
write all of it anew; what shows that is a tally kept elsewhere (a printed report, a workbook sent).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

import sqlalchemy as sa

from fleetcare.merkle import frontier_of, leaf_hash, root_of
from fleetcare.records.kinds import KINDS, Check, Reading
from fleetcare.records.leaf import leaf_bytes, utc_text
from fleetcare.store import beside, tables
from fleetcare.store.rows import make_check

_HASH = re.compile(r"[0-9a-f]{64}")
_PRINTED = 32  # digits of a root, four bits each


class Head(NamedTuple):
    """A tree head (RFC 9162): how many records, the root over them, when the last was written."""

    size: int
    root: str
    recorded_at: str

    @property
    def short(self) -> str:
        """The root as it is printed."""
        return short_of(self.root)


def short_of(root: str) -> str:
    """A root as it is printed: the first half of it, 128 bits, in groups of four digits. A book can
    be forged until it agrees with a few digits of a root, and not with so many."""
    return "-".join(re.findall("....", root[:_PRINTED])).upper()


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
        except (ValueError, TypeError):
            yield from _unreadable(connection, kind, record)
    yield from beside.faults(connection)
    yield from _tree(connection)


def _tree(connection: sa.Connection) -> Iterator[str]:
    """The head is that of the leaves."""
    size, root, last = head_of(connection)
    leaves = []
    query = sa.select(tables.record.c.number, tables.record.c.leaf, tables.record.c.recorded_at)
    moment = last
    for number, leaf, moment in connection.execute(query.order_by(tables.record.c.number)):  # noqa: B007
        if not _HASH.fullmatch(leaf):
            yield f"#{number}: its leaf is no hash"
            return
        leaves.append(bytes.fromhex(leaf))
    if len(leaves) != size:
        yield f"the head says {size:,} records and the book holds {len(leaves):,}"
    frontier = frontier_of(leaves)
    if root_of(frontier).hex() != root:
        yield "the root at the head is not that of the leaves"
    kept = connection.execute(sa.select(tables.head.c.frontier)).scalar_one()
    if kept != " ".join(one.hex() for one in frontier):
        yield "the frontier at the head is not that of the leaves"
    if moment != last:
        yield "the head was not written down with the last record"


def _structure(connection: sa.Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    for (word,) in connection.exec_driver_sql("PRAGMA integrity_check").all():
        if word != "ok":
            yield f"the database file is damaged: {word}"
    for table, *_ in connection.exec_driver_sql("PRAGMA foreign_key_check").all():
        yield f'a row of "{table}" points to what is not there'


def _order(connection: sa.Connection) -> Iterator[str]:
    """Numbers without a gap, moments that only rise, kinds there are."""
    of = tables.record.c
    query = sa.select(of.number, of.recorded_at, of.kind).order_by(of.number)
    expected, last = 1, ""
    for number, recorded_at, kind in connection.execute(query):
        if number != expected:
            yield f"#{expected} is missing"
        if recorded_at <= last:
            yield f"#{number} was written down no later than the record before it"
        if kind not in KINDS:
            yield f'#{number} is of no kind there is: "{kind}"'
        expected, last = number + 1, recorded_at
    for number in range(expected, head_of(connection).size + 1):
        yield f"#{number} is missing"


def _records(connection: sa.Connection, kind: str, record: Any) -> Iterator[str]:
    """Every record of a kind is its leaf, and every row of its table is a record."""
    table, ledger = tables.TABLES[record], tables.record
    on = table.c.number == ledger.c.number
    if "van" in table.c and "van" in table.primary_key.columns:
        on &= table.c.van == ledger.c.van
    query = (
        sa.select(
            ledger.c.number,
            ledger.c.recorded_at,
            ledger.c.recorded_by,
            ledger.c.leaf,
            ledger.c.van.label("of_van"),
            table,
        )
        .select_from(sa.join(ledger, table, on, isouter=True))
        .where(ledger.c.kind == kind)
        .order_by(ledger.c.number)
    )
    readings = readings_of(connection) if record is Check else {}
    for number, recorded_at, recorded_by, leaf, of_van, *fields in connection.execute(query):
        if fields[0] is None:
            yield f"#{number} ({kind}): its fields are missing"
            continue
        if record is Check:
            made = make_check((*fields, tuple(readings.pop((fields[1], number), ()))))
        else:
            made = record._make(fields)
        if of_van != getattr(made, "van", None):
            yield f"#{number} ({kind}): the ledger has it under another van"
        if _leaf_of(made, recorded_at, recorded_by) != leaf:
            yield f"#{number} ({kind}): its fields are not those it was written down with"
    for van, number in readings:
        yield f"#{number}: readings stand under it that are of no check of {van}"
    of_kind = sa.select(ledger.c.number).where(on, ledger.c.kind == kind)
    stray = sa.select(table.c.number).where(~of_kind.exists()).order_by(table.c.number)
    numbers = connection.execute(stray).scalars().all()
    if numbers:
        listed = ", ".join(f"#{number}" for number in numbers)
        yield f'"{table.name}" holds rows that are no record: {listed}'


def _unreadable(connection: sa.Connection, kind: str, record: Any) -> Iterator[str]:
    """The rows of a kind of which a day or a list can't be read, one by one."""
    table = tables.TABLES[record]
    one = sa.select(table).where(table.c.number == sa.bindparam("number"))
    for number in connection.execute(sa.select(table.c.number)).scalars().all():
        try:
            connection.execute(one, {"number": number}).all()
        except (ValueError, TypeError):
            yield f"#{number} ({kind}): a day or a list of it cannot be read"


def _leaf_of(made: Any, recorded_at: str, recorded_by: str) -> str | None:
    """The leaf hash a record should have; None where its moment can't be read."""
    try:
        moment = dt.datetime.fromisoformat(recorded_at)
        if utc_text(moment) != recorded_at:
            return None
        return leaf_hash(leaf_bytes(made, moment, recorded_by))
    except ValueError:
        return None


def readings_of(connection: sa.Connection) -> dict[tuple[str, int], list[Reading]]:
    """Every check's readings by its van and number, in their order."""
    found: dict[tuple[str, int], list[Reading]] = {}
    columns = tables.readings.c
    query = sa.select(
        columns.van, columns.number, columns.line, columns.what, columns.place, columns.figure
    )
    for van, number, line, *fields in connection.execute(
        query.order_by(columns.van, columns.number, columns.line)
    ):
        listed = found.setdefault((van, number), [])
        if line != len(listed) + 1:
            listed.append(Reading("a line before this one is missing", None, ""))
        listed.append(Reading(*fields))
    return found
