"""The whole book as JSON Lines, and back into an empty one of either engine, root and all.

The first line is the head: how many records, the root over them, the schema. Then every rulebook
adopted, then every record in order, its names and words beside it with their salts, then every
paper kept. A record's line has the keys of its leaf, so the leaf is made again from the line alone.
"""

from __future__ import annotations

import base64
import heapq
import json
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from fleetcare.errors import Problem, Refused
from fleetcare.files import new_file
from fleetcare.records.fields import SECRET, fields_of
from fleetcare.records.kinds import KINDS, Check
from fleetcare.records.leaf import plain_fields
from fleetcare.store import ledger, papers, tables
from fleetcare.store.rows import make_check

FORM = "dump/1"
_BATCH = 500


def write(connection: sa.Connection, folder: Path, target: str) -> None:
    """Write a dump to a new file. Refused where one is there, a paper is missing, or the book is
    not sound: what is lost from it would be lost from the dump without a word."""
    found = list(ledger.faults(connection))
    if found:
        raise Refused([Problem("--db", fault) for fault in found])
    with (
        new_file(target, private=True) as part,
        part.open("w", encoding="utf-8", newline="\n") as file,
    ):
        for line in lines_of(connection, folder):
            file.write(f"{line}\n")


def lines_of(connection: sa.Connection, folder: Path) -> Iterator[str]:
    """Every line of a dump; papers are read from their folder. Refused where one is missing."""
    head = ledger.head_of(connection)
    yield _line(
        {"fleetcare": FORM, "records": head.size, "root": head.root, "schema": tables.SCHEMA}
    )
    rulebook = tables.rulebook.c
    query = sa.select(rulebook.digest, rulebook.text).order_by(rulebook.digest)
    for digest, text in connection.execute(query):
        yield _line({"rulebook": digest, "text": text})
    rows = heapq.merge(
        *(_rows(connection, kind, record) for kind, record in KINDS.items()),
        key=lambda row: row["number"],
    )
    while batch := list(islice(rows, _BATCH)):
        yield from _told(connection, batch)
    seen = set()
    for one in papers.asked_for(connection):
        if one.digest not in seen:
            seen.add(one.digest)
            data = base64.b64encode(papers.read(folder, one)).decode()
            yield _line({"paper": one.digest, "sort": one.sort, "base64": data})


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _rows(connection: sa.Connection, kind: str, record: Any) -> Iterator[dict[str, Any]]:
    """The records of a kind in order of number, commitments not yet told."""
    table, of = tables.TABLES[record], tables.record.c
    query = (
        sa.select(of.recorded_at, of.recorded_by, table)
        .join(table, of.number == table.c.number)
        .order_by(table.c.number)
    )
    readings = ledger.readings_of(connection) if record is Check else {}
    for at, by, *fields in connection.execute(query.execution_options(yield_per=_BATCH)):
        made = record._make(fields) if record is not Check else make_check((*fields, ()))
        if record is Check:
            made = made._replace(readings=tuple(readings.get((made.van, made.number), ())))
        yield {
            "kind": kind, "number": made.number, "recorded_at": at, "recorded_by": by,
            **plain_fields(made),
        }  # fmt: skip


_SECRET: dict[str, tuple[str, ...]] = {
    kind: ("recorded_by", *(f.name for f in fields_of(record) if f.holds in SECRET))
    for kind, record in KINDS.items()
}


def _told(connection: sa.Connection, batch: list[dict[str, Any]]) -> Iterator[str]:
    """The lines of a batch of records, their names and words in place of what commits to them."""
    wanted = {row[name] for row in batch for name in _SECRET[row["kind"]] if name in row}
    said = tables.said.c
    query = sa.select(said.commitment, said.salt, said.text).where(said.commitment.in_(wanted))
    words = {made: (salt, text) for made, salt, text in connection.execute(query)}
    for row in batch:
        for name in _SECRET[row["kind"]]:
            if name in row:
                salt, text = words[row[name]]
                told = {"erased": row[name]} if text is None else {"salt": salt, "text": text}
                row[name] = told
        yield _line(row)
