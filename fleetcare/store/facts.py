"""Handing out facts: one van's, what all vans rest on, and single records by their number."""

from __future__ import annotations

import datetime as dt
import hashlib
from functools import lru_cache
from typing import Any

import sqlalchemy as sa

from fleetcare import clock
from fleetcare.errors import DatabaseFault
from fleetcare.records.facts import Facts, Known, Shared
from fleetcare.records.kinds import (
    KIND_OF,
    Adoption,
    Answer,
    Attribution,
    Check,
    Competence,
    FleetPaper,
    Hire,
    Inspector,
    Reading,
    VanFacts,
    Withdrawal,
)
from fleetcare.records.leaf import utc_text
from fleetcare.store import tables
from fleetcare.store.rows import made, make_check, queries

_BATCH = 1000


def size_of(connection: sa.Connection) -> int:
    """How many records the ledger holds: what was known."""
    return int(connection.execute(sa.select(tables.head.c.size)).scalar_one())


def leaf_of(connection: sa.Connection, number: int) -> str:
    """What stands for one record; empty where there is none of that number."""
    query = sa.select(tables.record.c.leaf).where(tables.record.c.number == number)
    return str(connection.execute(query).scalar() or "")


def newest_since(connection: sa.Connection, size: int) -> list[tuple[str | None, int]]:
    """The newest record of each van of which any was written after the ledger had a size; of None
    those of no van."""
    record = tables.record.c
    query = sa.select(record.van, sa.func.max(record.number)).where(record.number > size)
    return [(van, number) for van, number in connection.execute(query.group_by(record.van))]


def known_of(
    connection: sa.Connection, van: str | None = None, known_at: int | None = None
) -> Known:
    """Which records are taken back or corrected, by records up to `known_at` where it is given;
    for one van, only what touches it."""
    table = tables.TABLES[Withdrawal]
    query = sa.select(table.c.record, table.c.replaced_by).order_by(table.c.number)
    if known_at is not None:
        query = query.where(table.c.number <= known_at)
    if van is not None:
        query = query.where((table.c.van == van) | table.c.van.is_(None))
    withdrawn: set[int] = set()
    stands_for: dict[int, int] = {}
    for number, replaced_by in connection.execute(query):
        withdrawn.add(number)
        if replaced_by is not None:
            stands_for[replaced_by] = stands_for.get(number, number)
    return Known(frozenset(withdrawn), stands_for)


def shared_of(connection: sa.Connection, known: Known, known_at: int | None = None) -> Shared:
    """People, their competence and the papers that name several vans."""

    def rows(record: type) -> list[Any]:
        table = tables.TABLES[record]
        make = record._make  # type: ignore[attr-defined]
        query = sa.select(table).order_by(table.c.number)
        if known_at is not None:
            query = query.where(table.c.number <= known_at)
        return known.standing(make(r) for r in connection.execute(query))

    competences: dict[int, tuple[Competence, ...]] = {}
    for competence in rows(Competence):
        held = competences.get(competence.inspector, ())
        competences[competence.inspector] = (*held, competence)
    people = {i.number: i for i in rows(Inspector)}
    return Shared(people, competences, tuple(rows(FleetPaper)), tuple(rows(Attribution)))


_OF_ONE = queries("")
_OF_ONE_KNOWN = queries("", known=True)


def facts_of(connection: sa.Connection, van: str, known_at: int | None = None) -> Facts | None:
    """One van's facts; None when the fleet has no such van.

    With `known_at`, as they were known when the ledger had that size: the records numbered up to
    it that none of them takes back.
    """
    queries = _OF_ONE if known_at is None else _OF_ONE_KNOWN
    asked = {"van": van} | ({} if known_at is None else {"known_at": known_at})
    rows = {record: list(connection.execute(query, asked)) for record, query in queries}
    if not rows[VanFacts]:
        return None
    known = known_of(connection, van, known_at)
    shared = shared_of(connection, known, known_at)
    facts = asked_at(connection, made(van, rows, known, shared, known.corrected), known_at)
    return facts if facts.stated else None


def asked_at(connection: sa.Connection, facts: Facts, known_at: int | None) -> Facts:
    """Facts with the hour they are asked at, where a booking lapses by it: now, or of those known
    at a size of the ledger the hour to which it had that size."""
    if not any(hire.pencilled_on for hire in facts.hires):
        return facts
    if known_at is None or known_at >= size_of(connection):
        return facts._replace(asked_at=clock.hour())
    return facts._replace(asked_at=clock.hour_of(recorded_at(connection, known_at + 1)))


def size_before(connection: sa.Connection, moment: dt.datetime) -> int:
    """How many records the ledger held before a moment, looked for by halves: number order is
    time order."""
    low, high = 0, size_of(connection)
    text = utc_text(moment)
    query = sa.select(tables.record.c.recorded_at).where(
        tables.record.c.number == sa.bindparam("number")
    )
    while low < high:
        middle = (low + high + 1) // 2
        if connection.execute(query, {"number": middle}).scalar_one() < text:
            low = middle
        else:
            high = middle - 1
    return low


def recorded_at(connection: sa.Connection, number: int) -> str:
    """The moment a record was written down, in UTC."""
    query = sa.select(tables.record.c.recorded_at).where(tables.record.c.number == number)
    return str(connection.execute(query).scalar_one())


def hires_of_ref(connection: sa.Connection, ref: str) -> list[int]:
    """The numbers of every booking of a reference that stands, on whatever van."""
    table = tables.TABLES[Hire]
    withdrawn = known_of(connection).withdrawn
    query = sa.select(table.c.number).where(table.c.ref == ref).order_by(table.c.number)
    return [n for n in connection.execute(query).scalars() if n not in withdrawn]


def adopted_at(connection: sa.Connection, size: int) -> str | None:
    """The digest of the rules in use when the ledger had a size; None before any were."""
    adoption = tables.TABLES[Adoption]
    query = sa.select(adoption.c.digest).where(adoption.c.number <= size)
    return connection.execute(query.order_by(adoption.c.number.desc()).limit(1)).scalar()


def vans_of(connection: sa.Connection) -> list[str]:
    """Every fleet number in the book, in order; one withdrawn whole is not in it."""
    table, taken = tables.TABLES[VanFacts], tables.TABLES[Withdrawal].c
    query = sa.select(table.c.van).where(table.c.number.not_in(sa.select(taken.record))).distinct()
    return list(connection.execute(query.order_by(table.c.van)).scalars())


def plates_of(connection: sa.Connection) -> list[tuple[str, str]]:
    """Every plate that stands in the book, after its van."""
    table, taken = tables.TABLES[VanFacts], tables.TABLES[Withdrawal].c
    query = sa.select(table.c.van, table.c.plate).where(table.c.plate.is_not(None))
    query = query.where(table.c.number.not_in(sa.select(taken.record)))
    return [(van, plate) for van, plate in connection.execute(query.order_by(table.c.van))]


def adopted(connection: sa.Connection) -> tuple[str, str, str]:
    """Digest, origin and text of the rules in use."""
    adoption = tables.TABLES[Adoption]
    found = connection.execute(
        sa.select(adoption.c.digest, adoption.c.origin, tables.rulebook.c.text)
        .join(tables.rulebook, tables.rulebook.c.digest == adoption.c.digest)
        .order_by(adoption.c.number.desc())
        .limit(1)
    ).one()
    return found[0], found[1], _of_digest(found[0], found[2])


def adoptions_of(
    connection: sa.Connection, known_at: int | None = None
) -> list[tuple[dt.date, str]]:
    """The day and the digest of every adoption, up to a size of the ledger where it is given; of
    those written before their day was kept, the day in UTC on which they were."""
    adoption, record = tables.TABLES[Adoption], tables.record
    query = (
        sa.select(adoption.c.on, record.c.recorded_at, adoption.c.digest)
        .join(record, record.c.number == adoption.c.number)
        .order_by(adoption.c.number)
    )
    if known_at is not None:
        query = query.where(adoption.c.number <= known_at)
    return [
        (on or dt.date.fromisoformat(recorded_at[:10]), digest)
        for on, recorded_at, digest in connection.execute(query)
    ]


def rulebook_text(connection: sa.Connection, digest: str) -> str:
    """The text kept under a digest."""
    query = sa.select(tables.rulebook.c.text).where(tables.rulebook.c.digest == digest)
    return _of_digest(digest, str(connection.execute(query).scalar_one()))


@lru_cache(maxsize=16)
def _of_digest(digest: str, text: str) -> str:
    """The text, where it is that of its digest: a book is judged by no other."""
    if hashlib.sha256(text.encode()).hexdigest() != digest:
        raise DatabaseFault(
            f"the rules kept as {digest[:8]} were changed behind the program's back: nothing is "
            "judged by them. See what else was with: fleetcare verify"
        )
    return text


def words_of(connection: sa.Connection, commitments: list[str]) -> dict[str, str | None]:
    """The names and words that commitments stand for; None for those that were erased."""
    found: dict[str, str | None] = {}
    for start in range(0, len(commitments), _BATCH // 2):
        part = commitments[start : start + _BATCH // 2]
        rows = connection.execute(
            sa.select(tables.said.c.commitment, tables.said.c.text).where(
                tables.said.c.commitment.in_(part)
            )
        )
        found.update((c, t) for c, t in rows)
    return found


def find_record(connection: sa.Connection, number: int) -> tuple[str, str | None, Any] | None:
    """A record by its number: kind, van and the record itself; None when there is none."""
    from fleetcare.records.kinds import KINDS

    found = connection.execute(
        sa.select(tables.record.c.kind, tables.record.c.van).where(tables.record.c.number == number)
    ).first()
    if found is None:
        return None
    kind, van = found
    record = KINDS[kind]
    table = tables.TABLES[record]
    query = sa.select(table).where(table.c.number == number)
    if van is not None and "van" in record._fields and kind != "withdrawal":  # type: ignore[attr-defined]
        query = query.where(table.c.van == van)
    row = connection.execute(query).one()
    if record is Check:
        read = connection.execute(
            sa.select(tables.readings.c.what, tables.readings.c.place, tables.readings.c.figure)
            .where(tables.readings.c.van == van, tables.readings.c.number == number)
            .order_by(tables.readings.c.line)
        )
        return kind, van, make_check((*row, tuple(Reading(*r) for r in read)))
    return kind, van, record._make(row)  # type: ignore[attr-defined]


def written_since(
    connection: sa.Connection, van: str, size: int, through: int
) -> list[tuple[int, str]]:
    """The numbers and kinds of what was written down of a van after the book had a size, up to
    another. Answers that were kept change nothing and are left out."""
    query = (
        sa.select(tables.record.c.number, tables.record.c.kind)
        .where(tables.record.c.number > size, tables.record.c.number <= through)
        .where(tables.record.c.van == van, tables.record.c.kind != KIND_OF[Answer])
        .order_by(tables.record.c.number)
    )
    return [(number, kind) for number, kind in connection.execute(query)]


def certificate_holders(
    connection: sa.Connection, what: str, certificate: str
) -> list[tuple[str, int]]:
    """The vans and records that bear a certificate number for a kind of check."""
    table = tables.TABLES[Check]
    return [
        (van, number)
        for van, number in connection.execute(
            sa.select(table.c.van, table.c.number)
            .where(table.c.what == what, table.c.certificate == certificate)
            .order_by(table.c.number)
        )
    ]


def hire_refs(connection: sa.Connection) -> dict[str, str]:
    """The van of each booking's reference; those taken back are left out."""
    table = tables.TABLES[Hire]
    withdrawn = known_of(connection).withdrawn
    return {
        ref: van
        for number, ref, van in connection.execute(
            sa.select(table.c.number, table.c.ref, table.c.van).order_by(table.c.number)
        )
        if number not in withdrawn
    }
