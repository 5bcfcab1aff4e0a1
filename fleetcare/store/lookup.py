"""Looking records up by what they are, with when and by whom they were written down."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa

from fleetcare.records.kept import Answer
from fleetcare.records.kinds import (
    KIND_OF,
    Adoption,
    Check,
    Competence,
    Inspector,
    SignOff,
    TakeOff,
    Withdrawal,
)
from fleetcare.store import tables
from fleetcare.store.facts import find_record, known_of, shared_of
from fleetcare.store.rows import make_check


def written(
    connection: sa.Connection, record: type, van: str | None = None
) -> list[tuple[Any, str, str]]:
    """The records of a kind, of one van or of all in order of van, withdrawn ones left out: each
    with the moment (UTC) it was written down and the commitment to who wrote it."""
    table, ledger = tables.TABLES[record], tables.record
    make: Callable[[Any], Any] = record._make  # type: ignore[attr-defined]
    withdrawn = tables.TABLES[Withdrawal].c
    query = (
        sa.select(ledger.c.recorded_at, ledger.c.recorded_by, table)
        .join(ledger, ledger.c.number == table.c.number)
        .where(table.c.number.not_in(sa.select(withdrawn.record)))
        .order_by(table.c.van, table.c.number)
    )
    if van is not None:
        query = query.where(table.c.van == van)
    return [(make(row), at, by) for at, by, *row in connection.execute(query)]


def writers(connection: sa.Connection, van: str) -> dict[int, str | None]:
    """Who wrote down each record of a van; None where the name was erased."""
    ledger, said = tables.record, tables.said
    query = (
        sa.select(ledger.c.number, said.c.text)
        .join(said, said.c.commitment == ledger.c.recorded_by)
        .where(ledger.c.van == van)
    )
    return {row.number: row.text for row in connection.execute(query)}


def checks_by(connection: sa.Connection, inspectors: set[int]) -> list[Check]:
    """The checks that inspectors of these numbers did, without their readings."""
    table = tables.TABLES[Check]
    query = sa.select(table).where(table.c.inspector.in_(inspectors)).order_by(table.c.number)
    return [make_check((*row, ())) for row in connection.execute(query)]


def bearing(connection: sa.Connection, name: str) -> list[Check | SignOff]:
    """The checks and sign-offs that bear a name and no inspector of the book, in order, as they
    stand; their readings are left out."""
    known = known_of(connection)
    shared = shared_of(connection, known)
    found: list[Any] = []
    for record in (Check, SignOff):
        table = tables.TABLES[record]
        query = (
            sa.select(table)
            .join(tables.said, tables.said.c.commitment == table.c.by)
            .where(sa.func.lower(tables.said.c.text) == name.lower(), table.c.inspector.is_(None))
        )
        rows = [tuple(row) for row in connection.execute(query.order_by(table.c.number))]
        made = [make_check((*r, ())) if record is Check else SignOff(*r) for r in rows]
        found += known.standing(known.signed(made, shared))
    return sorted((r for r in found if r.inspector is None), key=lambda r: r.number)


def inspectors_named(connection: sa.Connection, commitments: list[str]) -> set[int]:
    """The numbers that checks know inspectors by, of every record of them, withdrawn ones too,
    whose name is one of these."""
    stands_for = known_of(connection).stands_for
    table = tables.TABLES[Inspector].c
    query = sa.select(table.number, table.name)
    wanted = set(commitments)
    return {stands_for.get(n, n) for n, name in connection.execute(query) if name in wanted}


def register_numbers_of(connection: sa.Connection, inspectors: set[int]) -> list[str]:
    """The commitments to every register number of inspectors, on withdrawn cards too."""
    table = tables.TABLES[Competence].c
    query = sa.select(table.register_no).where(table.inspector.in_(inspectors))
    found = connection.execute(query.where(table.register_no.is_not(None))).scalars()
    return list(dict.fromkeys(found))


def taken_back(connection: sa.Connection, van: str) -> list[tuple[int, Any]]:
    """The records of a van that were withdrawn or corrected, each with what took it back."""
    table = tables.TABLES[Withdrawal].c
    query = sa.select(table.number, table.record).where(table.van == van).order_by(table.number)
    read = [(n, find_record(connection, number)) for n, number in connection.execute(query).all()]
    return [(number, found[2]) for number, found in read if found is not None]


def others_of(connection: sa.Connection, van: str, number: int) -> list[int]:
    """The numbers of a van's records that stand, besides one; withdrawals are not counted."""
    record, taken = tables.record.c, tables.TABLES[Withdrawal].c
    query = (
        sa.select(record.number)
        .where(record.van == van, record.number != number, record.kind != KIND_OF[Withdrawal])
        .where(record.number.not_in(sa.select(taken.record)))
        .order_by(record.number)
    )
    return list(connection.execute(query).scalars())


def newest_taken_back(connection: sa.Connection) -> dict[str | None, int]:
    """For each van the newest record that withdrew, corrected or took something off; under None the
    newest that is of no van, or put other rules in force."""
    record = tables.record.c
    kinds = [KIND_OF[kind] for kind in (Withdrawal, TakeOff, Adoption)]
    query = sa.select(record.van, sa.func.max(record.number)).where(record.kind.in_(kinds))
    return {row[0]: row[1] for row in connection.execute(query.group_by(record.van))}


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
