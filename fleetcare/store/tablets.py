"""What is asked of, and written to, the tablets that a yard shares, each by the digest of its
cookie, the PINs of people, and the turns they take by PIN. Moments are texts in UTC."""

from __future__ import annotations

from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.store.doors import Row, SessionRow
from fleetcare.store.people import Connection, begun, has, person, pin, session, tablet, turn


class TabletRow(NamedTuple):
    """A tablet as kept: what it is called, who paired it and when, and when it was last used."""

    name: str
    by: str
    made_at: str
    seen_at: str


_KEPT = (tablet.c.name, tablet.c.by, tablet.c.made_at, tablet.c.seen_at)


def paired(connection: Connection, since: str) -> list[TabletRow]:
    """The tablets paired since a moment, by name."""
    if not has(connection, tablet):
        return []
    query = sa.select(*_KEPT).where(tablet.c.made_at >= since).order_by(tablet.c.name)
    return [TabletRow(*row) for row in connection.execute(query)]


def find(connection: Connection, digest: str, since: str) -> TabletRow | None:
    """The tablet of a cookie, if it was paired since a moment."""
    if not has(connection, tablet):
        return None
    query = sa.select(*_KEPT).where(tablet.c.digest == digest, tablet.c.made_at >= since)
    found = connection.execute(query).first()
    return TabletRow(*found) if found else None


def pair(connection: Connection, digest: str, row: TabletRow) -> None:
    """A tablet is the yard's."""
    connection.execute(sa.insert(tablet).values(digest=digest, **row._asdict()))


def unpair(connection: Connection, name: str) -> bool:
    """A tablet is the yard's no more, and all begun on it ends; whether there was one."""
    named = sa.select(tablet.c.digest).where(tablet.c.name == name)
    on_it = sa.select(begun.c.digest).where(begun.c.tablet.in_(named))
    connection.execute(sa.delete(session).where(session.c.digest.in_(on_it)))
    connection.execute(sa.delete(turn).where(turn.c.tablet.in_(named)))
    return connection.execute(sa.delete(tablet).where(tablet.c.name == name)).rowcount > 0


class PinRow(NamedTuple):
    """A PIN as kept, and how often in a row it was typed wrongly."""

    kept: str
    wrong: int


def pins(connection: Connection) -> dict[str, PinRow]:
    """Who has a PIN."""
    if not has(connection, pin):
        return {}
    query = sa.select(pin.c.name, pin.c.kept, pin.c.wrong).order_by(pin.c.name)
    return {name: PinRow(kept, wrong) for name, kept, wrong in connection.execute(query)}


def put_pin(connection: Connection, name: str, kept: str) -> None:
    """Another PIN of somebody; what was begun by the one before ends."""
    drop_pin(connection, name)
    connection.execute(sa.insert(pin).values(name=name, kept=kept, wrong=0))


def drop_pin(connection: Connection, name: str) -> None:
    """Somebody has no PIN any more, and what was begun by it ends."""
    for table in (turn, pin):
        connection.execute(sa.delete(table).where(table.c.name == name))


def count_try(connection: Connection, name: str, most: int) -> bool:
    """Count a try at a PIN as one in vain, before it is looked at; whether there was one left."""
    ours = sa.update(pin).where(pin.c.name == name, pin.c.wrong < most)
    return connection.execute(ours.values(wrong=pin.c.wrong + 1)).rowcount == 1


def came_true(connection: Connection, name: str, kept: str) -> bool:
    """The try was not in vain, nor those before it; whether that PIN is still the one."""
    ours = sa.update(pin).where(pin.c.name == name, pin.c.kept == kept)
    return connection.execute(ours.values(wrong=0)).rowcount == 1


def put_turn(connection: Connection, digest: str, on: str, row: SessionRow) -> None:
    """Somebody takes a turn on a tablet, which is in use by it."""
    connection.execute(sa.insert(turn).values(digest=digest, tablet=on, **row._asdict()))
    _in_use(connection, digest, row.seen_at)


def find_turn(connection: Connection, digest: str, since: str) -> tuple[SessionRow, Row] | None:
    """The turn of a cookie, and whose it is, on a tablet that was paired since a moment."""
    if not has(connection, turn):
        return None
    kept = (turn.c.name, turn.c.token, turn.c.began_at, turn.c.seen_at)
    whose = (person.c.name, person.c.roles, person.c.password)
    joined = turn.join(person, person.c.name == turn.c.name)
    joined = joined.join(tablet, tablet.c.digest == turn.c.tablet)
    query = sa.select(*kept, *whose).select_from(joined)
    found = connection.execute(
        query.where(turn.c.digest == digest, tablet.c.made_at >= since)
    ).first()
    return (SessionRow(*found[: len(kept)]), Row(*found[len(kept) :])) if found else None


def touch_turn(connection: Connection, digest: str, at: str) -> None:
    """A turn is in use, and its tablet with it."""
    connection.execute(sa.update(turn).where(turn.c.digest == digest).values(seen_at=at))
    _in_use(connection, digest, at)


def _in_use(connection: Connection, digest: str, at: str) -> None:
    on = sa.select(turn.c.tablet).where(turn.c.digest == digest).scalar_subquery()
    connection.execute(sa.update(tablet).where(tablet.c.digest == on).values(seen_at=at))


def drop_turn(connection: Connection, digest: str) -> None:
    """A turn ends."""
    connection.execute(sa.delete(turn).where(turn.c.digest == digest))


def put_begun(connection: Connection, digest: str, on: str) -> None:
    """A session was begun on a tablet, and ends with it."""
    connection.execute(sa.insert(begun).values(digest=digest, tablet=on))


def forget_before(connection: Connection, seen: str, made: str) -> None:
    """Let go of turns seen too long ago, of tablets paired too long ago, and of what was begun on
    them that is over."""
    connection.execute(sa.delete(turn).where(turn.c.seen_at < seen))
    connection.execute(sa.delete(tablet).where(tablet.c.made_at < made))
    connection.execute(sa.delete(begun).where(begun.c.digest.not_in(sa.select(session.c.digest))))
