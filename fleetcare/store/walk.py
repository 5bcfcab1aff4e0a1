"""A walk over the fleet: each van's rows once from the front to the back, and out of the rows in
hand its facts as known now, or as known at any earlier size of the book."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

import sqlalchemy as sa

from fleetcare.records.facts import Facts, Known, Shared
from fleetcare.records.kinds import (
    KIND_OF,
    Adoption,
    Answer,
    Attribution,
    Competence,
    Erasure,
    Expectation,
    FleetPaper,
    FleetScan,
    Hire,
    Inspector,
    VanFacts,
    Withdrawal,
)
from fleetcare.store import facts as stored
from fleetcare.store import tables
from fleetcare.store.rows import Stream, made, queries, streamed


class InHand(NamedTuple):
    """One van's rows, as far as the walk knows the book."""

    van: str
    rows: dict[type, list[Any]]
    walk: Walk

    def facts(self) -> Facts:
        """The van as known by the walk."""
        return self.walk.made(self.van, self.rows, self.walk.size, self.walk.known_at)

    def facts_at(self, size: int) -> Facts | None:
        """The van as known when the ledger had a size; None where it was not in the book then."""
        earlier = {
            record: [row for row in listed if row[0] <= size]
            for record, listed in self.rows.items()
        }
        found = self.walk.made(self.van, earlier, size, size)
        return found if found.stated else None


class InStore(NamedTuple):
    """One van whose rows are not in hand: they are read where they are asked for."""

    van: str
    connection: sa.Connection

    def facts_at(self, size: int) -> Facts | None:
        """The van as known when the ledger had a size; None where it was not in the book then."""
        return stored.facts_of(self.connection, self.van, size)


class Walk:
    """The fleet as known at one size of the book."""

    def __init__(self, connection: sa.Connection, size: int, known_at: int | None) -> None:
        self.size, self._connection, self.known_at = size, connection, known_at
        taken = tables.TABLES[Withdrawal].c
        query = sa.select(taken.van, taken.number, taken.record, taken.replaced_by)
        self._taken: dict[str | None, list[tuple[int, int, int | None]]] = {}
        for van, *row in connection.execute(query.order_by(taken.number)):
            self._taken.setdefault(van, []).append((row[0], row[1], row[2]))
        self._shared: dict[int, Shared] = {}
        self._marks = _numbers_of_shared(connection)

    def vans(self) -> Iterator[InHand]:
        """Every van in order of fleet number, one at a time."""
        known = self.known_at is not None
        asked = {"known_at": self.known_at} if known else {}
        streams = {
            record: Stream(streamed(self._connection, query, asked))
            for record, query in queries(None, known=known)
        }
        while (van := streams[VanFacts].van) is not None:
            rows = {record: stream.take(van) for record, stream in streams.items()}
            yield InHand(van, rows, self)

    def made(self, van: str, rows: dict[type, list[Any]], size: int, known_at: int | None) -> Facts:
        """A van's facts from rows up to a size of the book, those taken back by then left out;
        asked now, or at the hour of a size."""
        known = _known([*self._taken.get(van, ()), *self._taken.get(None, ())], size)
        facts = made(van, rows, known, self._shared_at(size), known.corrected)
        return stored.asked_at(self._connection, facts, known_at)

    def _shared_at(self, size: int) -> Shared:
        """What all vans rest on at a size; the same from one of its records to the next."""
        last = max((number for number in self._marks if number <= size), default=0)
        if last not in self._shared:
            known = _known(self._taken.get(None, []), size)
            self._shared[last] = stored.shared_of(self._connection, known, size)
        return self._shared[last]


_SHARED = (Inspector, Competence, FleetPaper, Attribution, Withdrawal)


def _numbers_of_shared(connection: sa.Connection) -> list[int]:
    """The numbers of the records after which what all vans rest on may be another."""
    kinds = [KIND_OF[kind] for kind in _SHARED]
    record = tables.record.c
    query = sa.select(record.number).where(record.kind.in_(kinds), record.van.is_(None))
    return list(connection.execute(query).scalars())


def _known(taken: list[tuple[int, int, int | None]], size: int) -> Known:
    withdrawn: set[int] = set()
    stands_for: dict[int, int] = {}
    for number, record, replaced_by in sorted(taken):
        if number > size:
            break
        withdrawn.add(record)
        if replaced_by is not None:
            stands_for[replaced_by] = stands_for.get(record, record)
    return Known(frozenset(withdrawn), stands_for)


def fleet_facts(connection: sa.Connection, known_at: int | None = None) -> Iterator[Facts]:
    """Every van's facts, in order of fleet number; as known at a size of the book, where given."""
    size = stored.size_of(connection) if known_at is None else known_at
    for rows in Walk(connection, size, known_at).vans():
        facts = rows.facts()
        if facts.stated:
            yield facts


class Touched(NamedTuple):
    """What records since a size of the book touch: by what, the newest number of them."""

    vans: dict[str, int]
    inspectors: dict[int, int]  # of whom a card was added
    shared: int  # what all vans rest on was taken back or put right
    rules: int  # other rules were put in force


# What changes no other record's standing: a booking, a day expected, an answer, a scan of a fleet
# paper, a person nobody's check can name yet, words emptied.
_TOUCH_NOTHING = [
    KIND_OF[kind] for kind in (Hire, Expectation, Answer, FleetScan, Inspector, Erasure)
]


def touched_since(connection: sa.Connection, size: int, upto: int) -> Touched:
    """What the records after a size of the ledger and up to another touch."""
    record = tables.record.c
    since = (record.number > size, record.number <= upto, record.kind.not_in(_TOUCH_NOTHING))
    query = sa.select(record.van, sa.func.max(record.number)).where(*since, record.van.is_not(None))
    grouped = connection.execute(query.group_by(record.van))
    vans: dict[str, int] = {row[0]: row[1] for row in grouped}
    shared = sa.select(record.number).where(*since, record.van.is_(None))
    inspectors: dict[int, int] = {}
    back, rules = 0, 0
    for number in connection.execute(shared.order_by(record.number)).scalars().all():
        found = stored.find_record(connection, number)
        one = found[2] if found else None
        if isinstance(one, Competence):
            inspectors[one.inspector] = number
        elif isinstance(one, FleetPaper):
            vans |= dict.fromkeys(one.vans, number)
        elif isinstance(one, Attribution):
            of = sa.select(record.van).where(record.number.in_([int(n) for n in one.records]))
            vans |= dict.fromkeys(connection.execute(of.distinct()).scalars(), number)
        elif isinstance(one, Adoption):
            rules = number
        else:
            back = number
    return Touched(vans, inspectors, back, rules)
