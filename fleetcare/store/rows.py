"""Rows of the tables: which query reads them, van by van, and a van's facts made of them.

Nothing asked of the book crosses vans, so a fleet is read through one cursor a table, all in the
order of van and number, and a van's rows are let go before the next are taken up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import chain, groupby
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from fleetcare.records.facts import Facts, Known, Shared
from fleetcare.records.kinds import FIELD_OF, Check, Reading, SignOff
from fleetcare.store import tables

_BATCH = 1000


def maker(record: type) -> Callable[[Any], Any]:
    """Makes records of a kind from rows of its columns, in a third of the time of `_make`."""
    return partial(tuple.__new__, record)


make_check: Callable[[Any], Check] = maker(Check)
_SIGNED = (Check, SignOff)  # what an inspector's card is asked for
_MAKERS = [(record, field, maker(record)) for record, field in FIELD_OF.items()]


def queries(van: str | None, known: bool = False) -> list[tuple[type, sa.Select[Any]]]:
    """One query a table, of one van or of all; `known`: only records up to a number."""
    found: list[tuple[type, sa.Select[Any]]] = []
    for record in (*FIELD_OF, Reading):
        table = tables.readings if record is Reading else tables.TABLES[record]
        columns = list(table.c)
        if record is Reading:
            columns = [table.c[name] for name in ("number", "van", "what", "place", "figure")]
        query = sa.select(*columns)
        if van is not None:
            query = query.where(table.c.van == sa.bindparam("van"))
        if known:
            query = query.where(table.c.number <= sa.bindparam("known_at"))
        order = [table.c.van, table.c.number]
        if record is Reading:
            order.append(table.c.line)
        found.append((record, query.order_by(*order)))
    return found


def streamed(
    connection: sa.Connection, query: sa.Select[Any], asked: dict[str, Any]
) -> Iterator[Any]:
    """The rows of a query one after the other, by the batch.

    From SQLite they come off the driver's own cursor: half a working book's time was SQLAlchemy's
    row objects. A day or a list is read column by column by the same types.
    """
    if connection.dialect.name != "sqlite":
        # Said of the query alone, for a connection keeps what is said of it.
        batched = query.execution_options(yield_per=_BATCH)
        return chain.from_iterable(connection.execute(batched, asked).partitions(_BATCH))
    compiled = query.compile(dialect=connection.dialect)
    given = compiled.construct_params(asked)
    readers = [
        (at, reader)
        for at, column in enumerate(query.selected_columns)
        if (reader := column.type.result_processor(connection.dialect, None))
    ]
    cursor = connection.connection.cursor()
    cursor.execute(str(compiled), [given[name] for name in compiled.positiontup or ()])
    return chain.from_iterable(
        _read(batch, readers) for batch in iter(partial(cursor.fetchmany, _BATCH), [])
    )


def _read(
    batch: Sequence[Any], readers: Sequence[tuple[int, Callable[[Any], Any]]]
) -> Iterator[tuple[Any, ...]]:
    columns: list[Any] = list(zip(*batch, strict=True))
    for at, reader in readers:
        columns[at] = map(reader, columns[at])
    return zip(*columns, strict=True)


class Stream:
    """Rows of one table in order of van; gives up those of one van at a time."""

    def __init__(self, rows: Iterator[Any]) -> None:
        self._vans = groupby(rows, key=itemgetter(1))
        self.van: str | None
        self._rows: Iterator[Any]
        self._stand()

    def _stand(self) -> None:
        """At the next van; its name is None at the end."""
        self.van, self._rows = next(self._vans, (None, iter(())))

    def take(self, van: str) -> list[Any]:
        """The rows of a van; the stream must stand at that van or past it."""
        if self.van != van:
            return []
        found = list(self._rows)
        self._stand()
        return found


def made(
    van: str, rows: dict[type, list[Any]], known: Known, shared: Shared, corrected: dict[int, int]
) -> Facts:
    """A van's facts from its rows, those taken back left out."""
    read: dict[int, list[Reading]] = {}
    for number, _, what, place, figure in rows[Reading]:
        read.setdefault(number, []).append(Reading(what, place, figure))
    fields: dict[str, Any] = {}
    for record, field, make in _MAKERS:
        if record is Check:
            listed = [make_check((*row, tuple(read.get(row[0], ())))) for row in rows[record]]
        else:
            listed = list(map(make, rows[record]))
        if record in _SIGNED:
            listed = known.signed(listed, shared)
        fields[field] = known.standing(listed) if known.withdrawn else listed
    return Facts(van, **fields, shared=shared, corrected=corrected)
