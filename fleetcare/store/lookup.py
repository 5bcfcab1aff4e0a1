"""Looking records up by what they are, with when and by whom they were written down."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa

from fleetcare.records.kept import Answer
from fleetcare.records.kinds import KIND_OF, Check, Withdrawal
from fleetcare.store import tables
from fleetcare.store.facts import find_record, make_check


def written(connection: sa.Connection, record: type, van: str) -> list[tuple[Any, str, str]]:
    """The records of a kind of one van, withdrawn ones left out, in order: each with the moment
    (UTC) it was written down and the commitment to who wrote it."""
    table, ledger = tables.TABLES[record], tables.record
    make: Callable[[Any], Any] = record._make  # type: ignore[attr-defined]
    withdrawn = tables.TABLES[Withdrawal].c
    query = (
        sa.select(ledger.c.recorded_at, ledger.c.recorded_by, table)
        .join(ledger, ledger.c.number == table.c.number)
        .where(table.c.van == van)
        .where(table.c.number.not_in(sa.select(withdrawn.record)))
        .order_by(table.c.number)
    )
    return [(make(row), at, by) for at, by, *row in connection.execute(query)]


def checks_by(connection: sa.Connection, inspectors: set[int]) -> list[Check]:
    """The checks that inspectors of these numbers did, without their readings."""
    table = tables.TABLES[Check]
    query = sa.select(table).where(table.c.inspector.in_(inspectors)).order_by(table.c.number)
    return [make_check((*row, ())) for row in connection.execute(query)]


def touching(connection: sa.Connection, van: str) -> list[tuple[int, tuple[str, Any]]]:
    """Every record that may change how a van is judged, in order: its number, kind and fields.

    A record that only stands in another's stead counts from the withdrawal that says so; answers
    change nothing.
    """
    ledger, withdrawn = tables.record.c, tables.TABLES[Withdrawal].c
    stand_in = sa.select(withdrawn.replaced_by).where(withdrawn.replaced_by.is_not(None))
    query = (
        sa.select(ledger.number)
        .where((ledger.van == van) | ledger.van.is_(None))
        .where(ledger.kind != KIND_OF[Answer], ledger.number.not_in(stand_in))
        .order_by(ledger.number)
    )
    found = []
    for number in connection.execute(query).scalars().all():
        record = find_record(connection, number)
        if record is not None:
            found.append((number, (record[0], record[2])))
    return found
