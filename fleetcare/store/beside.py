"""What stands beside the records: names and words, and the texts of the rules adopted. Each is what
was committed to, and some record points to it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator

import sqlalchemy as sa

from fleetcare.records.kept import Erasure
from fleetcare.records.kinds import Adoption
from fleetcare.records.leaf import commitment
from fleetcare.store import tables
from fleetcare.store.erase import uses_of, word_columns

_SALT = re.compile(r"[0-9a-f]{32}")


def faults(connection: sa.Connection) -> Iterator[str]:
    """Everything wrong with them, a sentence each."""
    yield from _words(connection)
    yield from _rulebooks(connection)
    yield from _stray(connection)


def _words(connection: sa.Connection) -> Iterator[str]:
    """Names and words are those that were committed to; the empty ones were erased."""
    said = tables.said.c
    query = sa.select(said.commitment, said.salt, said.text)
    empty, changed = 0, []
    for made, salt, text in connection.execute(query):
        if text is None:
            empty += 1
        elif not _SALT.fullmatch(salt) or commitment(salt, text) != made:
            changed.append(made)
    if changed:
        used = {use.number for use in uses_of(connection, changed)}
        listed = ", ".join(f"#{number}" for number in sorted(used)) or "no record"
        yield f"a name or words of {listed} were changed: they are not those committed to"
    for table, name in word_columns():
        held = sa.select(table.c.number).join(
            tables.said, table.c[name] == said.commitment, isouter=True
        )
        query_lost = held.where(table.c[name].is_not(None), said.commitment.is_(None))
        for number in connection.execute(query_lost).scalars():
            yield f"#{number}: a name or words of it are missing"
    erased = tables.TABLES[Erasure].c.emptied
    told = connection.execute(sa.select(sa.func.coalesce(sa.func.sum(erased), 0))).scalar_one()
    if empty != told:
        yield f"{empty:,} names or words are empty, and erasures tell of {told:,}"


def _rulebooks(connection: sa.Connection) -> Iterator[str]:
    """Every rulebook adopted is there, and is that of its digest."""
    adoption, rulebook = tables.TABLES[Adoption].c, tables.rulebook.c
    query = sa.select(adoption.number, adoption.digest, rulebook.text).join_from(
        tables.TABLES[Adoption], tables.rulebook, adoption.digest == rulebook.digest, isouter=True
    )
    for number, digest, text in connection.execute(query.order_by(adoption.number)):
        if text is None:
            yield f"#{number} (adoption): the text of its rules is missing"
        elif hashlib.sha256(text.encode()).hexdigest() != digest:
            yield f"#{number} (adoption): the text of its rules was changed"


def _stray(connection: sa.Connection) -> Iterator[str]:
    """Rows that no record points to: nothing of ours writes one without the other."""
    pointed = sa.union(*(sa.select(held.c[name]) for held, name in word_columns()))
    said = sa.select(tables.said.c.commitment).except_(sa.select(pointed.subquery()))
    adopted = sa.select(tables.TABLES[Adoption].c.digest)
    texts = sa.select(tables.rulebook.c.digest).except_(adopted)
    for query, table in ((said, "said"), (texts, "rulebook")):
        for key in sorted(connection.execute(query).scalars()):
            yield f'"{table}" holds a row that no record points to: {key[:8]}'
