"""Adding records: numbers without a gap, moments that only rise, a leaf for each.

Names and words are given as plain text and put aside under a commitment; the record keeps only
that. Everything one command writes is one transaction.
"""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Callable
from typing import Any, TypeVar

import sqlalchemy as sa

from fleetcare import chance, clock
from fleetcare.errors import DatabaseFault
from fleetcare.merkle import leaf_hash, pushed, root_of
from fleetcare.records.fields import SECRET, fields_of
from fleetcare.records.kinds import KIND_OF
from fleetcare.records.leaf import commitment, leaf_bytes, utc_text
from fleetcare.store import tables
from fleetcare.store.insert import insert

_TICK = dt.timedelta(microseconds=1)
R = TypeVar("R")


def _composed(value: Any) -> Any:
    """Text in the one form a leaf has it in (Unicode form C), so that what is kept is what was
    hashed."""
    if isinstance(value, str):
        return value if value.isascii() else unicodedata.normalize("NFC", value)
    if isinstance(value, tuple) and not hasattr(value, "_fields"):
        return tuple(
            one._make(map(_composed, one)) if hasattr(one, "_make") else _composed(one)
            for one in value
        )
    return value


class Writer:
    """One write transaction on the ledger: what it appends and by whom."""

    def __init__(
        self,
        connection: sa.Connection,
        by: str,
        now: Callable[[], dt.datetime] = clock.now,
        salt: Callable[[], str] = chance.salt,
    ) -> None:
        self._connection = connection
        self._now = now
        self._salt = salt
        size, last, frontier = connection.execute(
            sa.select(tables.head.c.size, tables.head.c.recorded_at, tables.head.c.frontier)
        ).one()
        self.size: int = size
        self.sent: int = size  # as far as the tables hold it
        try:
            self._frontier = tuple(bytes.fromhex(one) for one in frontier.split())
            self._last = dt.datetime.fromisoformat(last)
        except ValueError as fault:
            raise DatabaseFault(
                f"the head of the ledger cannot be read: {fault}. Nothing was written; see what is "
                "wrong with: fleetcare verify"
            ) from None
        self._began = (size, frontier)
        self._rows: dict[sa.Table, list[dict[str, Any]]] = {}
        self._by = by
        self._recorded_by: str | None = None

    def commit_to(self, text: str) -> str:
        """Put words aside and give what stands for them."""
        salt = self._salt()
        made = commitment(salt, text)
        self._add(tables.said, {"commitment": made, "salt": salt, "text": text})
        return made

    def _add(self, table: sa.Table, row: dict[str, Any]) -> None:
        self._rows.setdefault(table, []).append(row)

    def append(self, record: R, keep: frozenset[str] = frozenset()) -> R:
        """Add a record; its number is given here, its names and words become commitments.

        The fields named by `keep` hold commitments already, taken over from another record.
        Returns the record as it stands in the book.
        """
        if self._recorded_by is None:
            self._recorded_by = self.commit_to(self._by)
        record_class: Any = type(record)
        values = dict(zip(record_class._fields, record, strict=True))  # type: ignore[call-overload]
        for field in fields_of(record_class):
            if field.holds in SECRET and values[field.name] and field.name not in keep:
                values[field.name] = self.commit_to(values[field.name])
        values = {name: _composed(value) for name, value in values.items()}
        self.size += 1
        values["number"] = self.size
        made = record_class(**values)
        self._last = max(self._now(), self._last + _TICK)
        leaf = leaf_hash(leaf_bytes(made, self._last, self._recorded_by))
        self._frontier = pushed(self._frontier, self.size - 1, bytes.fromhex(leaf))
        self._add(
            tables.record,
            {
                "number": self.size,
                "kind": KIND_OF[record_class],
                "van": values.get("van"),
                "recorded_at": utc_text(self._last),
                "recorded_by": self._recorded_by,
                "leaf": leaf,
            },
        )
        for line, reading in enumerate(values.pop("readings", ()), 1):
            self._add(
                tables.readings,
                {"van": made.van, "number": self.size, "line": line, **reading._asdict()},
            )
        self._add(tables.TABLES[record_class], values)
        return made  # type: ignore[no-any-return]

    def sent_through(self, other: Writer) -> bool:
        """Let what was made here, in a book that others may write to, be sent in the transaction of
        one where nobody does; False where it is no longer what comes next there."""
        if (other._began, other.size) != (self._began, self._began[0]):
            return False
        self._connection = other._connection
        return True

    def keep_rulebook(self, digest: str, text: str) -> None:
        """Keep a rulebook's text under its digest, once."""
        found = self._connection.execute(
            sa.select(tables.rulebook.c.digest).where(tables.rulebook.c.digest == digest)
        ).first()
        if found is None:
            self._add(tables.rulebook, {"digest": digest, "text": text})

    def flush(self) -> None:
        """Send what was appended so far, in the order in which one table rests on another."""
        for table in tables.in_order():
            rows = self._rows.pop(table, None)
            if rows:
                insert(self._connection, table, rows)
        self.sent = self.size
        self._connection.execute(
            sa.update(tables.head).values(
                size=self.size,
                recorded_at=utc_text(self._last),
                root=root_of(self._frontier).hex(),
                frontier=" ".join(one.hex() for one in self._frontier),
            )
        )
