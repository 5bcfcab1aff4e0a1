"""What is asked of, and written to, the passkeys of people, each by its own id, and what browsers
were asked for one, each by the digest of its cookie. Moments are texts in UTC."""

from __future__ import annotations

from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.store.people import Connection, asked, has, passkey, person


class PasskeyRow(NamedTuple):
    """A passkey as kept: whose, what they call it, for which name of the pages, who its device
    says they are, what its signature is held to, how often it was used, since when, and last."""

    id: str
    name: str
    called: str
    host: str
    handle: str
    key: str
    uses: int
    made_at: str
    used_at: str | None


class AskedRow(NamedTuple):
    """What a browser was asked to sign, and when: for somebody to add a passkey, whose device is to
    know them by a handle, or for nobody known (both empty) to come in by one."""

    challenge: str
    name: str
    handle: str
    at: str


_KEPT = tuple(passkey.c[field] for field in PasskeyRow._fields)


def of_person(connection: Connection, name: str) -> list[PasskeyRow]:
    """The passkeys of somebody, in the order they were added."""
    if not has(connection, passkey):
        return []
    query = sa.select(*_KEPT).where(passkey.c.name == name)
    found = connection.execute(query.order_by(passkey.c.made_at, passkey.c.id))
    return [PasskeyRow(*row) for row in found]


def counts(connection: Connection) -> dict[str, int]:
    """How many passkeys each has who has some."""
    if not has(connection, passkey):
        return {}
    query = sa.select(passkey.c.name, sa.func.count()).group_by(passkey.c.name)
    return {name: int(count) for name, count in connection.execute(query)}


def find(connection: Connection, id: str) -> PasskeyRow | None:
    """A passkey of somebody who may come in."""
    if not has(connection, passkey):
        return None
    joined = passkey.join(person, person.c.name == passkey.c.name)
    query = sa.select(*_KEPT).select_from(joined).where(passkey.c.id == id)
    found = connection.execute(query).first()
    return PasskeyRow(*found) if found else None


def put(connection: Connection, row: PasskeyRow) -> None:
    """Another passkey of somebody."""
    connection.execute(sa.insert(passkey).values(**row._asdict()))


def use(connection: Connection, row: PasskeyRow, uses: int, at: str) -> bool:
    """A passkey was used; whether it is still there, and was not used meanwhile."""
    query = sa.update(passkey).where(
        passkey.c.id == row.id, passkey.c.key == row.key, passkey.c.uses == row.uses
    )
    return connection.execute(query.values(uses=uses, used_at=at)).rowcount == 1


def drop(connection: Connection, name: str, called: str | None = None) -> bool:
    """Somebody has a passkey no more, or none at all; whether there was one."""
    theirs = sa.delete(passkey).where(passkey.c.name == name)
    query = theirs if called is None else theirs.where(passkey.c.called == called)
    return connection.execute(query).rowcount > 0


def ask(connection: Connection, digest: str, row: AskedRow) -> None:
    """A browser is asked; what it was asked before holds no more."""
    connection.execute(sa.delete(asked).where(asked.c.digest == digest))
    connection.execute(sa.insert(asked).values(digest=digest, **row._asdict()))


def answered(connection: Connection, digest: str, since: str) -> AskedRow | None:
    """What a browser was asked since a moment, once: two may answer together, one is heard."""
    ours = asked.c.digest == digest
    query = sa.select(*(asked.c[field] for field in AskedRow._fields)).where(ours)
    found = connection.execute(query.where(asked.c.at >= since)).first()
    gone = connection.execute(sa.delete(asked).where(ours)).rowcount
    return AskedRow(*found) if found and gone == 1 else None


def forget_before(connection: Connection, at: str) -> None:
    """Let go of what was asked too long ago."""
    connection.execute(sa.delete(asked).where(asked.c.at < at))
