"""What proves to anybody that a record is in the book: made here, and checked by RFC 9162 alone."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
from collections.abc import Iterator
from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.errors import Problem, Refused
from fleetcare.merkle import frontier_of, includes, inclusion_path, leaf_hash, root_of
from fleetcare.records.leaf import leaf_bytes
from fleetcare.store import tables
from fleetcare.store.facts import find_record
from fleetcare.store.ledger import leaves_of


class Proof(NamedTuple):
    """That a record is one of so many under a root (RFC 9162 2.1.3). The text of its leaf, hashed
    with a zero byte before it, gives the leaf hash."""

    record: int
    leaf: str
    leaf_hash: str
    leaf_index: int
    tree_size: int
    root_hash: str
    inclusion_path: list[str]

    def faults(self) -> Iterator[str]:
        """Everything in it that does not hold, a sentence each."""
        leaf, root, *path = map(
            bytes.fromhex, (self.leaf_hash, self.root_hash, *self.inclusion_path)
        )
        in_place = self.record == self.leaf_index + 1
        if not in_place or not includes(leaf, self.leaf_index, self.tree_size, path, root):
            yield f"the proof does not lead from #{self.record} to the root it names"
        if leaf_hash(self.leaf.encode()) != self.leaf_hash or not self._tells_of_its_record():
            yield f"the text in the proof is not what #{self.record} was written down as"

    def _tells_of_its_record(self) -> bool:
        try:
            said = json.loads(self.leaf)
        except (ValueError, RecursionError):
            return False
        return isinstance(said, dict) and said.get("number") == self.record


def proof_of(connection: sa.Connection, number: int, size: int | None = None) -> Proof:
    """The proof of a record under the tally of now, or the one the book had at an earlier size.

    Refused for a record or a size that is not there, and for a record that is not as it was written
    down.
    """
    leaves = leaves_of(connection, size)
    if size is not None and size != len(leaves):
        words = f"the book holds {len(leaves):,} records: {size:,} is a size it never had"
        raise Refused([Problem("--size", words)])
    if number > len(leaves):
        among = "" if size is None else f" among the first {size:,}"
        raise Refused([Problem("", f"there is no record #{number}{among}")])
    index = number - 1
    leaf = leaves[index].hex()
    root, path = root_of(frontier_of(leaves)), inclusion_path(leaves, index)
    return Proof(
        number, _text_of(connection, number, leaf), leaf, index, len(leaves), root.hex(),
        [one.hex() for one in path],
    )  # fmt: skip


def _text_of(connection: sa.Connection, number: int, digest: str) -> str:
    """The text of a record's leaf; Refused where it is not the one that was hashed."""
    record = tables.record.c
    query = sa.select(record.recorded_at, record.recorded_by).where(record.number == number)
    at, by = connection.execute(query).one()
    found = find_record(connection, number)
    with contextlib.suppress(ValueError):  # a moment that can't be read
        leaf = leaf_bytes(found[2], dt.datetime.fromisoformat(at), by) if found else b""
        if leaf_hash(leaf) == digest:
            return leaf.decode()
    words = f"#{number} is not as it was written down. See what else is not with: fleetcare verify"
    raise Refused([Problem("", words)])
